"""Scene files of a case so flat that no tube passes over another.

Tubes from one wall to the opposite one whose ends stand in opposite orders must cross
there, whatever way they take: of any two of them only one can be laid.
"""

from collections.abc import Iterable

DIAMETER = 10.0
MIDDLE = 11.0
"""Height of the ports, in a case twice as high: two tubes on top of each other with
clearance would need 23 mm and clearance to the walls [mm]."""

_HEAD = """\
format = 1
title = "Invented: a flat case"

[case]
inner = [{width}, 300, 22]

[tube]
material = "acrylic"
outer_diameter = 10
inner_diameter = 7
bend_radius = 18
stock_length = 2000
trim_allowance = 30

[rules]
clearance = 3
straight_between_bends = 8
max_bends = 4

[fittings.collar]
height = 14
depth = 8
diameter = 16
straight_beyond = 4

[components.pump]
position = [0, 0, 0]
[components.front]
position = [0, 300, 0]
"""


def flat_case(
    runs: Iterable[tuple[str, float, float]],
    *,
    width: float,
    spare: Iterable[float] = (),
) -> str:
    """Return a scene's text: runs by name, from x at the pump's wall to x at the front.

    Ports are called after the run, spare ones at the front's wall after their number.
    """
    parts = [_HEAD.format(width=width)]
    for number, x in enumerate(spare):
        parts.append(_port("front", f"spare{number}", x, "-y"))
    for name, start, goal in runs:
        key = name.replace(" ", "_")
        parts += [_port("pump", key, start, "+y"), _port("front", key, goal, "-y")]
        parts.append(f'[[runs]]\nname = "{name}"')
        parts.append(f'from = "pump.{key}"\nto = "front.{key}"')
    return "\n".join(parts) + "\n"


def _port(part: str, key: str, x: float, direction: str) -> str:
    return (
        f"[components.{part}.ports.{key}]\n"
        f'position = [{x}, 0, {MIDDLE}]\ndirection = "{direction}"'
    )


CROSSING = flat_case(
    [("left to right", 40.0, 120.0), ("right to left", 200.0, 60.0)],
    width=240.0,
    spare=(215.0,),
)
"""Two runs that cross; with the spare port instead of its own, the second would not."""


ONE_ACROSS_TWO = flat_case(
    [
        ("one", 40.0, 220.0),
        ("two", 160.0, 160.0),
        ("three", 100.0, 280.0),
    ],
    width=320.0,
)
"""The second crosses both others, which keep clear of each other."""


def tangled(count: int) -> str:
    """Return a scene of runs of which every two cross."""
    places = [50.0 + 44.0 * number for number in range(count)]
    return flat_case(
        [
            (f"run {number}", start, goal)
            for number, (start, goal) in enumerate(
                zip(places, reversed(places), strict=True)
            )
        ],
        width=60.0 + 44.0 * count,
    )
