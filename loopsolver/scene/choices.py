"""The kinds of value in a scene file that are no lengths: numbers, words and such."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final, TypeVar, cast

from loopsolver.amounts import TEMPERATURE, AmountError, Quantity
from loopsolver.geometry.vectors import AXES, Point, unit
from loopsolver.letters import is_visible
from loopsolver.scene import limits
from loopsolver.scene.axes import RIGHT_HANDED, SIDES, Axes, is_each_once
from loopsolver.scene.findings import nearest_name, shown
from loopsolver.scene.quantities import JsonSchema, Kind, Reading, each, found
from loopsolver.words import in_commas

T = TypeVar("T")

_LARGEST_NUMBER: Final = 1e12
"""Larger plain numbers are no number of anything in a case."""

_WANTED_AXES: Final = (
    "where x, y and z point as seen from before the case's front, one each of "
    '"right" or "left", "away" or "near", "up" or "down", such as '
    '["left", "near", "up"]'
)

_WANTED_DIRECTION: Final = (
    f"a direction: {in_commas(shown(name) for name in AXES)}, or three numbers that are "
    "not all zero"
)


AMOUNT_JSON: Final[JsonSchema] = {"anyOf": [{"type": "number"}, {"type": "string"}]}
"""How an amount is written: a plain number, or a text with its unit."""


def _is_number(value: object) -> bool:
    """Whether a value is a finite number, and no yes or no."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) <= _LARGEST_NUMBER  # false for nan and infinity as well


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _text(value: Any, wanted: str) -> str:
    if not isinstance(value, str):
        found(value, wanted)
    return str(value)


def number(what: str, *, least: float, most: float) -> Kind:
    """Return the kind of plain numbers in a range; `what` names them with their unit."""

    def read(value: Any, _: Reading) -> float:
        if not _is_number(value) or not least <= value <= most:
            found(value, f"{what} from {least:g} to {most:g}")
        return float(value)

    return Kind(read, {"type": "number", "minimum": least, "maximum": most})


def whole_number(*, least: int, most: int) -> Kind:
    """Return the kind of whole numbers from `least` to `most`."""

    def read(value: Any, _: Reading) -> int:
        if not _is_whole(value) or not least <= value <= most:
            found(value, f"a whole number from {least} to {most}")
        return int(value)

    return Kind(read, {"type": "integer", "minimum": least, "maximum": most})


def one_of(words: Sequence[str]) -> Kind:
    """Return the kind of a few words."""

    def read(value: Any, _: Reading) -> str:
        if not isinstance(value, str) or value not in words:
            wanted = " or ".join(shown(word) for word in words)
            found(value, wanted, nearest=nearest_name(value, words))
        return str(value)

    return Kind(read, {"enum": list(words)})


def plain_text(*, most: int) -> Kind:
    """Return the kind of texts of one line that are not empty, blanks round them cut."""

    def read(value: Any, _: Reading) -> str:
        is_text = isinstance(value, str) and is_visible(value)
        if not is_text or not 1 <= len(value.strip()) <= most:
            found(value, f"a text of 1 to {most} visible characters on one line")
        return str(value).strip()

    return Kind(read, {"type": "string", "minLength": 1, "maxLength": most})


def names(what: str) -> Kind:
    """Return the kind of a name, or a list of names to choose from; `what` says of what.

    Each once, in the order written.
    """

    def read(value: Any, _: Reading) -> tuple[str, ...]:
        if isinstance(value, str):
            return (value,)
        if not isinstance(value, list) or not 1 <= len(value) <= limits.LIST_MOST:
            found(value, f"{what}, or a list of 1 to {limits.LIST_MOST} of them")
        return tuple(dict.fromkeys(each(value, lambda one: _text(one, what))))

    several = {"type": "array", "items": {"type": "string"}, "minItems": 1}
    return Kind(read, {"anyOf": [{"type": "string"}, several]})


def read_amount(value: Any, quantity: Quantity, *, least: float, most: float) -> float:
    """Return an amount in the quantity's unit; refuse what is none, or out of range."""
    span = f"from {least:g} to {most:g} {quantity.unit}"
    wanted = (
        f"{quantity.name} {span}: a plain number in {quantity.unit}, or a text with its "
        f"unit, {quantity.units}"
    )
    try:
        amount = quantity.read(value)
    except AmountError as error:
        found(value, f"{wanted} ({error.trouble})")
    if not least <= amount <= most:
        found(value, wanted)
    return amount


def amount(quantity: Quantity, *, least: float, most: float) -> Kind:
    """Return the kind of an amount from `least` to `most`, in the quantity's unit."""

    def read(value: Any, _: Reading) -> float:
        return read_amount(value, quantity, least=least, most=most)

    return Kind(read, AMOUNT_JSON)


def some_names(what: str) -> Kind:
    """Return the kind of a list of names, or of none; `what` says of what.

    Each once, in the order written.
    """

    def read(value: Any, _: Reading) -> tuple[str, ...]:
        if not isinstance(value, list) or len(value) > limits.LIST_MOST:
            found(value, f"a list of up to {limits.LIST_MOST} names of {what}")
        return tuple(dict.fromkeys(each(value, lambda one: _text(one, what))))

    return Kind(read, {"type": "array", "items": {"type": "string"}})


def _format_number(value: Any, _: Reading) -> int:
    if not _is_whole(value) or value != 1:
        found(value, "1, the only scene format that this loopsolver reads")
    return 1


def _direction(value: Any, _: Reading) -> Point:
    if isinstance(value, str):
        if value not in AXES:
            found(value, _WANTED_DIRECTION, nearest=nearest_name(value, AXES))
        return AXES[value]
    if not isinstance(value, list) or len(value) != 3:
        found(value, _WANTED_DIRECTION)
    if not all(_is_number(part) for part in value) or not any(value):
        found(value, _WANTED_DIRECTION)
    largest = max(abs(part) for part in value)
    return unit([part / largest for part in value])


def case_axes(value: Any, reading: Reading) -> Axes:
    """Return three of the words right, left, away, near, up and down, one of each pair.

    Whether they are right-handed is told elsewhere, with what would make them so.
    """
    if not isinstance(value, list) or len(value) != 3:
        found(value, _WANTED_AXES)
    axes = cast("Axes", each(value, lambda side: one_of(SIDES).read(side, reading)))
    if not is_each_once(axes):
        found(value, _WANTED_AXES)
    return axes


def _any_or_list(
    wanted: str,
    *,
    least: int,
    most: int,
    read_one: Callable[[Any], T],
    settled: Callable[[tuple[T, ...]], tuple[T, ...]] = tuple,
    json: JsonSchema,
) -> Kind:
    """Return the kind of a list, or the word "any"; `wanted` says of what."""

    def read(value: Any, _: Reading) -> tuple[T, ...] | str:
        if value == "any":
            return "any"
        if not isinstance(value, list) or not least <= len(value) <= most:
            told = f'a list of {least} to {most} {wanted}, or "any"'
            found(value, told, nearest=nearest_name(value, ["any"]))
        return settled(each(value, read_one))

    return Kind(read, {"anyOf": [{"const": "any"}, {"type": "array", **json}]})


def _bend_angle(value: Any) -> float:
    if not _is_number(value) or not 0.0 < value < 180.0:
        found(value, "an angle above 0 and below 180 degrees")
    return float(value)


def _turn_step(value: Any, _: Reading) -> float | str:
    if value == "any":
        return "any"
    if not _is_number(value) or value not in limits.TURN_STEPS:
        steps = in_commas(f"{step:g}" for step in limits.TURN_STEPS)
        found(value, f'{steps} or "any"', nearest=nearest_name(value, ["any"]))
    return float(value)


def _bend_range(value: Any, _: Reading) -> tuple[float, float]:
    wanted = (
        "the least and the greatest bend, two angles from 0 to below 180 degrees, such as "
        "[5, 120]"
    )
    if (
        not isinstance(value, list)
        or len(value) != 2
        or not all(map(_is_number, value))
    ):
        found(value, wanted)
    least, greatest = map(float, value)
    if not 0.0 <= least < greatest < 180.0:
        found(value, wanted)
    return least, greatest


def _angle(value: Any, _: Reading) -> float:
    return _bend_angle(value)


def _temperatures(value: Any, _: Reading) -> tuple[float, float]:
    wanted = "two temperatures in °C: when built, and at the warmest, such as [20, 45]"
    least, most = limits.TEMPERATURE_LEAST, limits.TEMPERATURE_MOST
    if not isinstance(value, list) or len(value) != 2:
        found(value, wanted)
    built, warmest = each(
        value, lambda one: read_amount(one, TEMPERATURE, least=least, most=most)
    )
    if warmest < built:
        found(value, f"{wanted}; the warmest is not below the other")
    return built, warmest


BEND_ANGLE: Final = Kind(
    _angle, {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 180}
)
"""The angle of one bend [degrees]."""

TEMPERATURES: Final = Kind(
    _temperatures,
    {"type": "array", "items": AMOUNT_JSON, "minItems": 2, "maxItems": 2},
)
"""When built, and at the warmest [°C]."""

TURN_STEP: Final = Kind(_turn_step, {"enum": ["any", *map(int, limits.TURN_STEPS)]})
"""What turns are multiples of, in degrees; or "any"."""

BEND_RANGE: Final = Kind(
    _bend_range,
    {
        "type": "array",
        "items": {"type": "number", "minimum": 0, "exclusiveMaximum": 180},
        "minItems": 2,
        "maxItems": 2,
    },
)
"""The least and the greatest of some bend angles, in degrees."""

FORMAT_NUMBER: Final = Kind(_format_number, {"const": 1})
"""The number of the scene format: 1, the only one there is."""

_NUMBERS: Final = {"type": "array", "items": {"type": "number"}}

DIRECTION: Final = Kind(
    _direction,
    {"anyOf": [{"enum": list(AXES)}, {**_NUMBERS, "minItems": 3, "maxItems": 3}]},
)
"""One of the six axis names, or a vector of any length above zero; of length 1."""

CASE_AXES: Final = Kind(case_axes, {"enum": [list(axes) for axes in RIGHT_HANDED]})

BEND_ANGLES: Final = _any_or_list(
    "angles such as [90] or [45, 90]",
    least=1,
    most=limits.LIST_MOST,
    read_one=_bend_angle,
    settled=lambda angles: tuple(sorted(set(angles))),
    json={
        "items": {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 180},
        "minItems": 1,
    },
)
"""Bend angles, each once, smallest first; or "any"."""

PARTS_IN_ORDER: Final = _any_or_list(
    'component names such as ["pump", "card"], the way the coolant goes',
    least=limits.LOOP_LEAST,
    most=limits.LOOP_MOST,
    read_one=lambda value: _text(value, "a component's name"),
    json={
        "items": {"type": "string"},
        "uniqueItems": True,
        "minItems": limits.LOOP_LEAST,
        "maxItems": limits.LOOP_MOST,
    },
)
"""Names of components in the order written; or "any"."""
