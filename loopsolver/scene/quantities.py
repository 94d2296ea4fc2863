"""The kinds of length that a scene file holds, each read and checked in one place.

Each class here, and in `choices`, stands inside ``Annotated[type, ...]`` of a field of
`schema`; pydantic calls it with the raw value. What is wrong is raised as findings in
plain words.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Final, NoReturn, TypeVar

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from loopsolver.lengths import Lengths, lengths_for, written_length
from loopsolver.scene import limits
from loopsolver.scene.findings import Finding, shown
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
    """A length that was measured once or several times [mm]."""

    values: tuple[float, ...]

    @property
    def mean(self) -> float:
        """The mean of the readings [mm]."""
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


def findings_of(error: PydanticCustomError) -> tuple[Finding, ...]:
    """Return the findings that `refuse` packed into an error."""
    findings: tuple[Finding, ...] = (error.context or {})["findings"]
    return findings


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
            findings += [finding.below((index,)) for finding in findings_of(error)]
    if findings:
        refuse(findings)
    return tuple(results)


class Kind:
    """A kind of value: `read` makes it from what stands in the file."""

    def read(self, value: Any, reading: Reading) -> Any:
        """Return the value, checked."""
        raise NotImplementedError

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Return the validator that pydantic is to call."""
        del source, handler

        def validate(value: Any, info: ValidationInfo) -> Any:
            return self.read(value, reading_of(info))

        return core_schema.with_info_plain_validator_function(validate)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchema:
        """Return how the kind is written."""
        del schema, handler
        return self.json()


@dataclass(frozen=True)
class Length(Kind):
    """A length from `least` to `most` [mm]."""

    most: float
    least: float = 0.0

    def read(self, value: Any, reading: Reading) -> float:
        """Return the length in millimetres."""
        try:
            number = length_mm(value, unit=reading.unit or "mm")
        except LengthError as error:
            refuse([_no_length(value, error)])
        of_unknown_unit = reading.unit is None and not isinstance(value, str)
        inside = of_unknown_unit or self.least <= number <= self.most
        if not (inside and self._has_right_sign(number)):
            told = _as_found(value, number, reading)
            refuse([Finding(found=told, wanted=self._range(reading.lengths))])
        return number

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return _length_json()

    def _has_right_sign(self, number: float) -> bool:
        return number >= 0.0 or self.least < 0.0

    def _range(self, lengths: Lengths) -> str:
        least, most = lengths.exact(self.least), lengths.exact(self.most)
        return f"a length from {least} to {most}"


@dataclass(frozen=True)
class PositiveLength(Length):
    """A length above zero and at most `most` [mm]."""

    def _has_right_sign(self, number: float) -> bool:
        return number > 0.0

    def _range(self, lengths: Lengths) -> str:
        return f"a length above 0 and at most {lengths.exact(self.most)}"


@dataclass(frozen=True)
class MeasuredLength(Kind):
    """A length, or a list of repeated readings of it."""

    length: Length

    def read(self, value: Any, reading: Reading) -> Measured:
        """Return the readings in millimetres."""
        if not isinstance(value, list):
            return Measured(values=(self.length.read(value, reading),))
        if not 1 <= len(value) <= limits.LIST_MOST:
            found(value, f"{WANTED_LENGTH}; or 1 to {limits.LIST_MOST} readings of it")
        values = each(value, lambda item: self.length.read(item, reading))
        return Measured(values=values)

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return _lengths_json()


@dataclass(frozen=True)
class BendRadii(Kind):
    """The radius of the former, or a list of radii where there are several."""

    def read(self, value: Any, reading: Reading) -> tuple[float, ...]:
        """Return the radii in millimetres, each once, in the order written."""
        if not isinstance(value, list):
            return (_bend_radius(value, reading),)
        if not 1 <= len(value) <= limits.LIST_MOST:
            found(value, f"a length, or a list of 1 to {limits.LIST_MOST} of them")
        radii = each(value, lambda item: _bend_radius(item, reading))
        return tuple(dict.fromkeys(radii))

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return _lengths_json()


def _bend_radius(value: Any, reading: Reading) -> float:
    radius = PositiveLength(most=limits.BEND_RADIUS_MOST).read(value, reading)
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


def _no_length(value: Any, error: LengthError) -> Finding:
    trouble = f" ({error.trouble})" if isinstance(value, str) else ""
    return Finding(found=f"{shown(value)}{trouble}", wanted=WANTED_LENGTH)


def _length_json() -> JsonSchema:
    """Return a new schema each time: pydantic writes a field's default into it."""
    return {"type": ["number", "string"]}


def _lengths_json() -> JsonSchema:
    several = {"type": "array", "items": _length_json(), "minItems": 1}
    return {"anyOf": [_length_json(), several]}
