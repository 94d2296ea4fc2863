"""The kinds of value in a scene file that are no lengths: numbers, words and such."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, cast

from loopsolver.geometry.vectors import AXES, Point, unit
from loopsolver.letters import is_visible
from loopsolver.scene import limits
from loopsolver.scene.axes import RIGHT_HANDED, SIDES, Axes, is_each_once
from loopsolver.scene.findings import nearest_name, shown
from loopsolver.scene.quantities import JsonSchema, Kind, Reading, each, found
from loopsolver.words import in_commas

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


class Choice(Kind):
    """A kind of value that does not depend on the rest of the file."""

    def read(self, value: Any, reading: Reading) -> Any:
        """Return the value, checked."""
        del reading
        return self.choose(value)

    def choose(self, value: Any) -> Any:
        """Return the value, checked."""
        raise NotImplementedError


@dataclass(frozen=True)
class Number(Choice):
    """A plain number from `least` to `most`; `what` names it with its unit."""

    what: str
    least: float
    most: float

    def choose(self, value: Any) -> float:
        """Return the number."""
        if not _is_number(value) or not self.least <= value <= self.most:
            found(value, f"{self.what} from {self.least:g} to {self.most:g}")
        return float(value)

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return {"type": "number", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class WholeNumber(Choice):
    """A whole number from `least` to `most`."""

    least: int
    most: int

    def choose(self, value: Any) -> int:
        """Return the number."""
        whole = isinstance(value, int) and not isinstance(value, bool)
        if not whole or not self.least <= value <= self.most:
            found(value, f"a whole number from {self.least} to {self.most}")
        return int(value)

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class FormatNumber(Choice):
    """The number of the scene format: 1, the only one there is."""

    def choose(self, value: Any) -> int:
        """Return the number."""
        if isinstance(value, bool) or not isinstance(value, int) or value != 1:
            found(value, "1, the only scene format that this loopsolver reads")
        return 1

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return {"const": 1}


@dataclass(frozen=True)
class OneOf(Choice):
    """One of a few words."""

    words: tuple[str, ...]

    def choose(self, value: Any) -> str:
        """Return the word."""
        if not isinstance(value, str) or value not in self.words:
            words = " or ".join(shown(word) for word in self.words)
            found(value, words, nearest=nearest_name(value, self.words))
        return str(value)

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return {"enum": list(self.words)}


@dataclass(frozen=True)
class PlainText(Choice):
    """A text of one line that is not empty."""

    most: int

    def choose(self, value: Any) -> str:
        """Return the text without blanks round it."""
        wanted = f"a text of 1 to {self.most} visible characters on one line"
        if not isinstance(value, str) or not is_visible(value):
            found(value, wanted)
        if not 1 <= len(value.strip()) <= self.most:
            found(value, wanted)
        return str(value).strip()

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return {"type": "string", "minLength": 1, "maxLength": self.most}


@dataclass(frozen=True)
class Direction(Choice):
    """One of the six axis names, or a vector of any length above zero."""

    def choose(self, value: Any) -> Point:
        """Return the direction, of length 1."""
        if isinstance(value, str):
            if value not in AXES:
                found(value, _WANTED_DIRECTION, nearest=nearest_name(value, AXES))
            return AXES[value]
        if not isinstance(value, list) or len(value) != 3:
            found(value, _WANTED_DIRECTION)
        if not all(_is_number(number) for number in value) or not any(value):
            found(value, _WANTED_DIRECTION)
        largest = max(abs(number) for number in value)
        return unit([number / largest for number in value])

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        numbers = {"type": "array", "items": {"type": "number"}}
        return {
            "anyOf": [{"enum": list(AXES)}, {**numbers, "minItems": 3, "maxItems": 3}]
        }


@dataclass(frozen=True)
class CaseAxes(Choice):
    """Three of the words right, left, away, near, up and down, one of each pair.

    Whether they are right-handed is told elsewhere, with what would make them so.
    """

    def choose(self, value: Any) -> Axes:
        """Return the words."""
        if not isinstance(value, list) or len(value) != 3:
            found(value, _WANTED_AXES)
        axes = cast("Axes", each(value, OneOf(words=SIDES).choose))
        if not is_each_once(axes):
            found(value, _WANTED_AXES)
        return axes

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return {"enum": [list(axes) for axes in RIGHT_HANDED]}


@dataclass(frozen=True)
class BendAngleList(Choice):
    """A list of bend angles, or the word "any"."""

    def choose(self, value: Any) -> tuple[float, ...] | str:
        """Return the angles, each once, smallest first; or "any"."""
        if value == "any":
            return "any"
        if not isinstance(value, list) or not 1 <= len(value) <= limits.LIST_MOST:
            wanted = (
                f"a list of 1 to {limits.LIST_MOST} angles such as [90] or [45, 90], "
                'or "any"'
            )
            found(value, wanted, nearest=nearest_name(value, ["any"]))
        return tuple(sorted(set(each(value, _bend_angle))))

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        angle = {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 180}
        angles = {"type": "array", "items": angle, "minItems": 1}
        return {"anyOf": [{"const": "any"}, angles]}


@dataclass(frozen=True)
class TurnStepChoice(Choice):
    """What turns are multiples of, in degrees, or the word "any"."""

    def choose(self, value: Any) -> float | str:
        """Return the step in degrees; or "any"."""
        if value == "any":
            return "any"
        if not _is_number(value) or value not in limits.TURN_STEPS:
            steps = in_commas(f"{step:g}" for step in limits.TURN_STEPS)
            found(value, f'{steps} or "any"', nearest=nearest_name(value, ["any"]))
        return float(value)

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        return {"enum": ["any", *map(int, limits.TURN_STEPS)]}


@dataclass(frozen=True)
class PartsInOrder(Choice):
    """A list of component names, or the word "any"."""

    def choose(self, value: Any) -> tuple[str, ...] | str:
        """Return the names in the order written; or "any"."""
        if value == "any":
            return "any"
        least, most = limits.LOOP_LEAST, limits.LOOP_MOST
        if not isinstance(value, list) or not least <= len(value) <= most:
            wanted = (
                f"a list of {least} to {most} component names such as "
                '["pump", "card"], the way the coolant goes, or "any"'
            )
            found(value, wanted, nearest=nearest_name(value, ["any"]))
        return each(value, _component_name)

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        names = {"type": "array", "items": {"type": "string"}, "uniqueItems": True}
        length = {"minItems": limits.LOOP_LEAST, "maxItems": limits.LOOP_MOST}
        return {"anyOf": [{"const": "any"}, {**names, **length}]}


@dataclass(frozen=True)
class Names(Choice):
    """A name, or a list of names to choose from; `what` says of what."""

    what: str

    def choose(self, value: Any) -> tuple[str, ...]:
        """Return the names, each once, in the order written."""
        if isinstance(value, str):
            return (value,)
        if not isinstance(value, list) or not 1 <= len(value) <= limits.LIST_MOST:
            found(value, f"{self.what}, or a list of 1 to {limits.LIST_MOST} of them")
        return tuple(dict.fromkeys(each(value, self._one)))

    def _one(self, value: Any) -> str:
        if not isinstance(value, str):
            found(value, self.what)
        return str(value)

    def json(self) -> JsonSchema:
        """Return how the kind is written, as JSON Schema."""
        several = {"type": "array", "items": {"type": "string"}, "minItems": 1}
        return {"anyOf": [{"type": "string"}, several]}


def _is_number(value: object) -> bool:
    """Whether a value is a finite number, and no yes or no."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) <= _LARGEST_NUMBER  # false for nan and infinity as well


def _component_name(value: Any) -> str:
    if not isinstance(value, str):
        found(value, "a component's name")
    return str(value)


def _bend_angle(value: Any) -> float:
    if not _is_number(value) or not 0.0 < value < 180.0:
        found(value, "an angle above 0 and below 180 degrees")
    return float(value)
