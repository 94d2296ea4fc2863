"""A case with three ports whose places are easily worked out by hand."""

from __future__ import annotations

from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders.texts import COLLARS, head, part, port, run

PLACES = {
    "pump.out": (100.0, 100.0, 100.0),
    "card.in": (130.0, 140.0, 100.0),
    "card.out": (130.0, 140.0, 200.0),
    "block.in": (130.0, 340.0, 200.0),
}
"""From pump.out to card.in 30 and 40 aside, so 50; from card.out to block.in 200 by y."""


def measured_case(*readings: str, units: str = "mm", runs: bool = True) -> str:
    """The text of a scene with two runs and no bodies, readings at its end."""
    parts: dict[str, list[str]] = {}
    for full in PLACES:
        parts.setdefault(full.partition(".")[0], []).append(full)
    tables = []
    for name, ports in parts.items():
        origin = PLACES[ports[0]]
        own = [
            port(
                full.partition(".")[2],
                [f"{a - b:g} mm" for a, b in zip(PLACES[full], origin, strict=True)],
                "+z",
            )
            for full in ports
        ]
        tables.append(part(name, [f"{at:g} mm" for at in origin], *own))
    wanted = [run("pump.out", "card.in"), run("card.out", "block.in")] if runs else []
    tube = {
        "material": "acrylic",
        "outer_diameter": "14 mm",
        "inner_diameter": "10 mm",
    }
    fittings = {
        name: {key: f"{value} mm" for key, value in keys.items()}
        for name, keys in COLLARS.items()
    }
    case = head(
        first={"title": "Invented: three ports", "units": units},
        inner=["300 mm", "400 mm", "350 mm"],
        case={"axes": ["left", "near", "up"]},
        tube=tube,
        fittings=fittings,
    )
    return "".join([case, *tables, *wanted, *readings])


def measured_scene(*readings: str, units: str = "mm", runs: bool = True) -> Scene:
    """The scene that `measured_case` writes."""
    text = measured_case(*readings, units=units, runs=runs)
    return scene_from_text(text, file="three.toml")
