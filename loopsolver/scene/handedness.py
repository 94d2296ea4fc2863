"""Left-handed axes: which one to count from the other side, and what numbers become.

Works on the data as TOML gives it, so that it is told together with other faults.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from pydantic_core import PydanticCustomError

from loopsolver.scene.axes import OPPOSITE, Side, is_right_handed
from loopsolver.scene.choices import case_axes
from loopsolver.scene.findings import Finding, shown
from loopsolver.scene.lines import written_path
from loopsolver.scene.quantities import Measured, Reading, measured
from loopsolver.scene.references import table_in
from loopsolver.scene.shapes import SIGNED_LENGTH
from loopsolver.units import MM_PER, LengthUnit

_WALL: Final[dict[Side, str]] = {"near": "rear wall", "away": "front wall"}
"""From where an axis that points so is counted."""


def axes_findings(
    data: Mapping[str, Any], *, unit: LengthUnit | None
) -> Iterator[Finding]:
    """Return that the case's axes are left-handed, if they are, and how to mend them.

    The axis that points away or near is counted from the other side: floor and roof
    are out of the question for who thinks of heights, and a side panel is off while
    somebody measures, but front and rear wall are there.

    Parameters
    ----------
    data : mapping
    unit : LengthUnit or None
        Of plain numbers; None where it cannot be read.
    """
    try:
        axes = case_axes(table_in(data, "case").get("axes"), Reading(unit=unit))
    except PydanticCustomError:
        return
    if is_right_handed(axes):
        return
    depth = next(place for place in range(3) if axes[place] in _WALL)
    wall, letter = _WALL[OPPOSITE[axes[depth]]], "xyz"[depth]
    mended = [OPPOSITE[side] if side in _WALL else side for side in axes]
    turned = " and ".join(other for other in "xyz" if other != letter)
    rotations = f"; so do rotations about {turned}" if _has_rotation(data) else ""
    yield Finding(
        path=("case", "axes"),
        found=f"{shown(list(axes))}, which no case has: they are left-handed, and every "
        "tube in more than one plane would come out mirrored",
        wanted="right-handed axes: stand before the case's front and look again; if "
        f"these words are right, count {letter} from the {wall} instead, axes = "
        f"{shown(mended)}: {_first_position(data, depth, unit)}every {letter} in the "
        f"case is then what is left to the {wall}, and {letter} changes its sign in "
        f'directions ("+{letter}" is "-{letter}") and in what a component measures from '
        f"its own origin{rotations}",
    )


def _first_position(
    data: Mapping[str, Any], depth: int, unit: LengthUnit | None
) -> str:
    """Return what the first component's position becomes; empty if it is not known."""
    name, table = next(iter(table_in(data, "components").items()), ("", None))
    position = table.get("position") if isinstance(table, dict) else None
    inside = _coordinate(table_in(data, "case").get("inner"), depth, unit)
    counted = _coordinate(position, depth, unit)
    if unit is None or inside is None or counted is None:
        return ""
    now = [shown(value) for value in position or ()]
    now[depth], whole = _number(counted, unit), _number(inside, unit)
    then = [*now[:depth], _number(inside - counted, unit), *now[depth + 1 :]]
    return (
        f"{written_path(('components', name, 'position'))} = [{', '.join(now)}] becomes "
        f"[{', '.join(then)}] ({whole} less {now[depth]}); "
    )


def _coordinate(values: object, place: int, unit: LengthUnit | None) -> float | None:
    """Return one of three lengths [mm]; None where it cannot be read."""
    if not isinstance(values, list) or len(values) != 3:
        return None
    try:
        read: Measured = measured(SIGNED_LENGTH).read(values[place], Reading(unit=unit))
    except PydanticCustomError:
        return None
    return read.mean


def _number(mm: float, unit: LengthUnit) -> str:
    """Return a length as a plain number of the file, to a thousandth of its unit."""
    return f"{round(mm / MM_PER[unit], 3) + 0.0:.10g}"


def _has_rotation(data: object) -> bool:
    """Whether anything in the file is turned."""
    match data:
        case dict():
            return "rotation" in data or any(map(_has_rotation, data.values()))
        case list():
            return any(map(_has_rotation, data))
    return False
