"""The scene of one tube between two ports, and nothing else: written from words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from loopsolver.geometry.vectors import axis_name
from loopsolver.scene.axes import OPPOSITE, Axes, Side, direction_of
from loopsolver.scene.model import built_in_fitting
from loopsolver.scene.side_words import WrittenLength, along
from loopsolver.scene.toml_text import table_lines, value_text
from loopsolver.units import LengthUnit, unit_of

Tables = Mapping[str, Any]
"""Tables of a scene file, as TOML has them."""

FIRST: Final = "first.out"
SECOND: Final = "second.in"
"""The ports that the tube leaves and enters."""

_AXES: Final[Axes] = ("right", "away", "up")

_LENT: Final = ("units", "tube", "rules", "spread", "fittings")
"""What another scene lends: what is true of every tube that is bent for it."""

_HEAD: Final = """\
# One tube between two ports, as `loopsolver tube` routed it: no walls and no parts yet.
#
# As seen from before the case's front, the machine standing as it is used, x points
# right, y away from you and z up; all is measured from the middle of the first port's
# face. Give the parts their bodies, then:
#   loopsolver check THIS_FILE      what is wrong or doubtful
#   loopsolver route THIS_FILE      find the tube again"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoPorts:
    """What is said of two ports.

    Attributes
    ----------
    offsets : mapping of Side to WrittenLength
        How far it is from the first port's face to the second's.
    leaves, enters : Side
        Which way the tube goes where it leaves the first and enters the second.
    """

    offsets: Mapping[Side, WrittenLength]
    leaves: Side
    enters: Side


def lent_tables(path: Path) -> dict[str, Any]:
    """Return what a scene file lends to another.

    Raises
    ------
    SceneError
        If it cannot be used as a scene.
    """
    from loopsolver.scene.reader import load_scene
    from loopsolver.scene.source import parse_toml, read_source

    load_scene(path)
    text, _ = read_source(path, file=str(path))
    data = parse_toml(text, file=str(path))
    return {key: data[key] for key in _LENT if key in data}


def two_port_scene(
    ports: TwoPorts, *, tube: Tables, rules: Tables, lent: Tables
) -> str:
    """Return the text of a scene with one tube between two ports.

    Parameters
    ----------
    ports : TwoPorts
    tube, rules : mapping
        What is said of the tube and its rules, by the keys of a scene file.
    lent : mapping
        What `lent_tables` returns; what is said goes before it.
    """
    said = [*ports.offsets.values(), *tube.values()]
    units: LengthUnit = lent.get("units") or _units(said)
    bought = {**_bought(units), **lent.get("tube", {})}
    if "outer_diameter" in tube:  # a former has the groove of one diameter
        bought.pop("bend_radius", None)
    bought.update(tube)
    fittings = lent.get("fittings") or _collar(bought, units)
    straight = [name for name, one in fittings.items() if not one.get("turn")]
    choice = straight or [*fittings]
    holds = {"fitting": choice if len(choice) > 1 else choice[0]} if choice else {}
    tables: dict[tuple[str, ...], Tables] = {
        ("case",): {"axes": _AXES},
        ("tube",): bought,
        ("rules",): {**lent.get("rules", {}), **rules},
        ("spread",): lent.get("spread", {}),
        **{("fittings", name): one for name, one in fittings.items()},
        ("components", "first"): {"position": [0, 0, 0]},
        ("components", "first", "ports", "out"): {
            "position": [0, 0, 0],
            "direction": _axis(ports.leaves),
            **holds,
        },
        ("components", "second"): {
            "position": [along(side, ports.offsets) for side in _AXES]
        },
        ("components", "second", "ports", "in"): {
            "position": [0, 0, 0],
            "direction": _axis(OPPOSITE[ports.enters]),
            **holds,
        },
    }
    return "".join(f"{line}\n" for line in _lines(units, _title(ports), tables))


def _lines(
    units: LengthUnit, title: str, tables: Mapping[tuple[str, ...], Tables]
) -> Iterator[str]:
    yield _HEAD
    yield ""
    yield "format = 1"
    yield f"title = {value_text(title)}"
    yield f"units = {value_text(units)}"
    for path, table in tables.items():
        if table:
            yield from table_lines(path, table)
    yield ""
    yield "[[runs]]"
    yield f"name = {value_text('first to second')}"
    yield f"from = {value_text(FIRST)}"
    yield f"to = {value_text(SECOND)}"


def _units(said: list[Any]) -> LengthUnit:
    """Return inches where all that is said of lengths is in inches, else millimetres."""
    lengths = [unit_of(one) if isinstance(one, str) else "mm" for one in said]
    return "in" if set(lengths) - {None} == {"in"} else "mm"


def _bought(units: LengthUnit) -> Tables:
    """Return a tube of the commonest size (common practice, no source)."""
    return {
        "material": "acrylic",
        "outer_diameter": _millimetres(14.0, units),
        "inner_diameter": _millimetres(10.0, units),
    }


def _collar(tube: Tables, units: LengthUnit) -> Tables:
    """Return the fitting of a scene that gives none, as a table."""
    from loopsolver.scene.schema import reading_for

    outer = reading_for({"units": units, "tube": tube}).outer_diameter
    if outer is None:  # which is a fault of the scene, and told as such
        return {}
    collar = built_in_fitting(outer)
    sizes = ("height", "depth", "diameter", "straight_beyond")
    return {"collar": {n: _millimetres(getattr(collar, n), units) for n in sizes}}


def _millimetres(length: float, units: LengthUnit) -> WrittenLength:
    return length if units == "mm" else f"{length:.12g} mm"


def _axis(side: Side) -> str:
    return axis_name(direction_of(side, _AXES)) or ""


def _title(ports: TwoPorts) -> str:
    way = (
        f"{one if isinstance(one, str) else value_text(one)} {side}"
        for side, one in ports.offsets.items()
    )
    return f"One tube: {', '.join(way)}"
