"""Scene files of a few ports, in the words that a person would write them."""

import numpy as np

from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text

HEAD = """
format = 1
[case]
inner = [300, 300, 300]
[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
bend_radius = {bend_radius}
[rules]
clearance = {clearance}
straight_between_bends = 15
bend_angles = {bend_angles}
max_bends = {max_bends}
[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5
[fittings.corner]
height = {height}
depth = 12
diameter = 22
straight_beyond = 5
turn = {turn}
reach = 24
"""

DEFAULTS = {
    "bend_radius": 28,
    "clearance": 3,
    "bend_angles": "[90]",
    "max_bends": 5,
    "height": 14,
    "turn": 90,
}


def port(
    name: str,
    at: tuple[float, ...],
    direction: str | tuple[float, ...],
    fitting: str | list[str] = "collar",
) -> str:
    """A component that is nothing but a port, called a."""
    wanted = f'"{direction}"' if isinstance(direction, str) else str(list(direction))
    given = f'"{fitting}"' if isinstance(fitting, str) else str(fitting)
    return (
        f"[components.{name}]\nposition = {list(at)}\n"
        f"[components.{name}.ports.a]\nposition = [0, 0, 0]\n"
        f"direction = {wanted}\nfitting = {given}\n"
    )


def seated(name: str, seat: tuple[float, ...], direction: tuple[float, ...]) -> str:
    """A port with a collar, by where its tube ends: 20 - 12 mm in front of its face."""
    along = np.array(direction) / np.linalg.norm(direction)
    return port(name, tuple((np.array(seat) - 8.0 * along).tolist()), direction)


def box(name: str, low: tuple[float, ...], high: tuple[float, ...]) -> str:
    """A box between two corners."""
    centre = [(a + b) / 2.0 for a, b in zip(low, high, strict=True)]
    size = [b - a for a, b in zip(low, high, strict=True)]
    return (
        f"[components.{name}]\nposition = {centre}\n"
        f"[[components.{name}.bodies]]\nbox = {size}\ncentre = [0, 0, 0]\n"
    )


def run(start: str, goal: str, **own: object) -> str:
    """A run between two such ports, with rules of its own."""
    rules = "".join(f"{key} = {value}\n" for key, value in own.items())
    return (
        f'[[runs]]\nname = "{start} to {goal}"\nfrom = "{start}.a"\nto = "{goal}.a"\n'
        + rules
    )


def scene(*parts: str, **rules: object) -> Scene:
    """The scene of such parts; rules that are not given are DEFAULTS."""
    head = HEAD.format(**{**DEFAULTS, **rules})
    return scene_from_text(head + "".join(parts), file="ports.toml")
