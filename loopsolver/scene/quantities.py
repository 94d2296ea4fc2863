"""The kinds of length that a scene file holds, each read and checked in one place.

Each kind here, and in `choices`, stands inside ``Annotated[type, ...]`` of a field of
`schema`; pydantic calls it with the raw value. What is wrong is raised as findings in
plain words.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, Final, NoReturn, TypeVar

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from loopsolver.geometry.vectors import AXES
from loopsolver.lengths import Lengths, lengths_for, written_length
from loopsolver.scene import limits
from loopsolver.scene.findings import Finding, nearest_name, shown
from loopsolver.units import WANTED_LENGTH, LengthError, LengthUnit, length_mm

T = TypeVar("T")

JsonSchema = dict[str, Any]

FINDINGS: Final = "scene_findings"
"""Type of the pydantic error that carries findings in its context."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What has to be known of the rest of the file to read a value.

    Attributes
    ----------
    unit : LengthUnit or None
        Unit of plain numbers; None where the file's `units` is itself wrong: then
        plain numbers are held to their sign alone.
    outer_diameter : float or None
        Of the tube [mm]; None where it cannot be read.
    """

    unit: LengthUnit | None
    outer_diameter: float | None = None

    @property
    def lengths(self) -> Lengths:
        """How messages word the file's lengths."""
        return lengths_for(self.unit or "mm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A length that was measured once or several times [mm].

    Attributes
    ----------
    values : tuple of float
        What was read each time; none where it is left to other readings.
    wall : str or None
        The case wall that it is counted from, such as "+y"; None: from an origin.
    """

    values: tuple[float, ...]
    wall: str | None = None

    @property
    def mean(self) -> float:
        """The mean of the readings [mm]; not a number where there are none."""
        if not self.values:
            return math.nan
        return math.fsum(self.values) / len(self.values)


def refuse(findings: Iterable[Finding]) -> NoReturn:
    """Raise findings as an error that pydantic collects."""
    every = tuple(findings)
    raise PydanticCustomError(
        FINDINGS, "{count} found", {"count": len(every), "findings": every}
    )


def found(value: object, wanted: str, *, nearest: str | None = None) -> NoReturn:
    """Raise that `value` was found where `wanted` was."""
    refuse([Finding(found=shown(value), wanted=wanted, nearest=nearest)])


def reading_of(info: ValidationInfo) -> Reading:
    """Return the reading that a validation was given; plain millimetres without."""
    context = info.context
    return context if isinstance(context, Reading) else Reading(unit="mm")


def each(values: list[Any], read: Callable[[Any], T]) -> tuple[T, ...]:
    """Return every value of a list, read; what is wrong in it is raised all at once."""
    results: list[T] = []
    findings: list[Finding] = []
    for index, value in enumerate(values):
        try:
            results.append(read(value))
        except PydanticCustomError as error:
            told = (error.context or {})["findings"]
            findings += [finding.below((index,)) for finding in told]
    if findings:
        refuse(findings)
    return tuple(results)


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """A kind of value: what reads it from the file, and how it is written there.

    Attributes
    ----------
    read : callable
        Returns the value, checked.
    json : dict
        JSON Schema of what stands in the file.
    """

    read: Callable[[Any, Reading], Any]
    json: JsonSchema

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Return the validator that pydantic is to call."""
        return core_schema.with_info_plain_validator_function(
            lambda value, info: self.read(value, reading_of(info))
        )

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> JsonSchema:
        """Return how the kind is written; a copy, as pydantic adds defaults to it."""
        return dict(self.json)


_LENGTH_JSON: Final[JsonSchema] = {"type": ["number", "string"]}
_LENGTHS_JSON: Final[JsonSchema] = {
    "anyOf": [_LENGTH_JSON, {"type": "array", "items": _LENGTH_JSON, "minItems": 1}]
}


def length(*, most: float, least: float = 0.0) -> Kind:
    """Return the kind of a length from `least` to `most` [mm]."""
    return _length(
        least,
        most,
        has_right_sign=lambda number: number >= 0.0 or least < 0.0,
        wanted=lambda exact: f"a length from {exact(least)} to {exact(most)}",
    )


def positive_length(*, most: float) -> Kind:
    """Return the kind of a length above zero and at most `most` [mm]."""
    return _length(
        0.0,
        most,
        has_right_sign=lambda number: number > 0.0,
        wanted=lambda exact: f"a length above 0 and at most {exact(most)}",
    )


def _length(
    least: float,
    most: float,
    *,
    has_right_sign: Callable[[float], bool],
    wanted: Callable[[Callable[[float], str]], str],
) -> Kind:
    def read(value: Any, reading: Reading) -> float:
        try:
            number = length_mm(value, unit=reading.unit or "mm")
        except LengthError as error:
            trouble = f" ({error.trouble})" if isinstance(value, str) else ""
            refuse([Finding(found=f"{shown(value)}{trouble}", wanted=WANTED_LENGTH)])
        of_unknown_unit = reading.unit is None and not isinstance(value, str)
        inside = of_unknown_unit or least <= number <= most
        if not (inside and has_right_sign(number)):
            told = _as_found(value, number, reading)
            refuse([Finding(found=told, wanted=wanted(reading.lengths.exact))])
        return number

    return Kind(read, _LENGTH_JSON)


def measured(one: Kind) -> Kind:
    """Return the kind of a length, or of a list of repeated readings of it."""

    def read(value: Any, reading: Reading) -> Measured:
        wanted = f"{WANTED_LENGTH}; or 1 to {limits.LIST_MOST} readings of it"
        return Measured(
            values=_one_or_several(value, wanted, lambda item: one.read(item, reading))
        )

    return Kind(read, _LENGTHS_JSON)


def from_walls(one: Kind) -> Kind:
    """Return the kind of a length, or readings of it, that may name a wall.

    A text such as "35 from +y", in the unit of the scene, or "3 1/2 in from +y".
    """
    kind = measured(one)

    def read(value: Any, reading: Reading) -> Measured:
        several = value if isinstance(value, list) else [value]
        counted = [_counted(item) for item in several]
        walls = {wall for wall, _ in counted}
        if len(walls) > 1:
            found(value, "readings that are all counted from the same wall")
        amounts = [amount for _, amount in counted]
        length: Measured = kind.read(
            amounts if isinstance(value, list) else amounts[0], reading
        )
        return replace(length, wall=next(iter(walls), None))

    return Kind(read, kind.json)


def _counted(value: Any) -> tuple[str | None, Any]:
    """Return the wall that a length is counted from, if it is, and the length."""
    match = _FROM_WALL.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        return None, value
    amount, wall = match["amount"], match["wall"]
    if wall not in AXES:
        walls = " or ".join(shown(name) for name in AXES)
        found(
            value, f"a case wall after from: {walls}", nearest=nearest_name(wall, AXES)
        )
    return wall, float(amount) if _PLAIN_NUMBER.fullmatch(amount) else amount


def or_open(one: Kind) -> Kind:
    """Return a kind that "?" stands for as well: left to the readings."""

    def read(value: Any, reading: Reading) -> Measured:
        if value == "?":
            return Measured(values=())
        length: Measured = one.read(value, reading)
        return length

    return Kind(read, one.json)


def or_not_taken(one: Kind) -> Kind:
    """Return a kind that an empty list stands for as well: not measured yet."""

    def read(value: Any, reading: Reading) -> Measured:
        if value == []:
            return Measured(values=())
        length: Measured = one.read(value, reading)
        return length

    return Kind(read, {"anyOf": [one.json, {"type": "array", "maxItems": 0}]})


def _one_or_several(
    value: Any, wanted: str, read: Callable[[Any], float]
) -> tuple[float, ...]:
    """Return the lengths that stand in the file, by themselves or in a list."""
    if not isinstance(value, list):
        return (read(value),)
    if not 1 <= len(value) <= limits.LIST_MOST:
        found(value, wanted)
    return each(value, read)


def _bend_radii(value: Any, reading: Reading) -> tuple[float, ...]:
    wanted = f"a length, or a list of 1 to {limits.LIST_MOST} of them"
    radii = _one_or_several(value, wanted, lambda item: _bend_radius(item, reading))
    return tuple(dict.fromkeys(radii))


def _bend_radius(value: Any, reading: Reading) -> float:
    radius: float = _RADIUS.read(value, reading)
    outer = reading.outer_diameter
    if outer is not None and radius <= outer / 2.0:
        wanted = (
            "a bend radius above half the outer diameter, "
            f"{reading.lengths.exact(outer / 2.0)}, or the inside of the bend has no "
            "length"
        )
        refuse([Finding(found=_as_found(value, radius, reading), wanted=wanted)])
    return radius


def _as_found(value: Any, number: float, reading: Reading) -> str:
    """Return a length as it is written, and in millimetres; a text in inches as well.

    A text has a unit of its own; in a file in inches that may be millimetres.
    """
    if reading.unit == "in":
        if isinstance(value, str):
            return f"{shown(value)} ({written_length(number, 'in')}, {number:g} mm)"
        return f"{shown(value)} in ({number:g} mm)"
    if isinstance(value, int | float) and float(value) == number:
        return f"{shown(value)} mm"
    return f"{shown(value)} ({number:g} mm)"


_FROM_WALL: Final = re.compile(r"\s*(?P<amount>.*?)\s*\bfrom\b\s*(?P<wall>.*?)\s*")

_PLAIN_NUMBER: Final = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)")

_RADIUS: Final = positive_length(most=limits.BEND_RADIUS_MOST)

BEND_RADII: Final = Kind(_bend_radii, _LENGTHS_JSON)
"""The radius of the former, or a list of radii, each once, in the order written."""
