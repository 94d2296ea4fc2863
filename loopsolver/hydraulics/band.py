"""A value with what it may as well be: the least, the main one, the greatest."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from operator import attrgetter
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """The least, the main and the greatest of a value that formulas differ on."""

    low: float
    main: float
    high: float

    def __add__(self, other: Band) -> Band:
        """Return the sum, least to least and greatest to greatest."""
        return Band(
            low=self.low + other.low,
            main=self.main + other.main,
            high=self.high + other.high,
        )

    def times(self, factor: float) -> Band:
        """Return so many times the band; `factor` is not negative."""
        return Band(
            low=self.low * factor, main=self.main * factor, high=self.high * factor
        )

    def widened(self, least: float, most: float) -> Band:
        """Return the band with its least and its greatest value times a factor each."""
        return Band(low=self.low * least, main=self.main, high=self.high * most)


def exactly(value: float) -> Band:
    """Return a value that nothing differs on."""
    return Band(low=value, main=value, high=value)


def around(main: float, others: Iterable[float]) -> Band:
    """Return the band from the least to the greatest of some values, `main` its main."""
    every = (main, *others)
    return Band(low=min(every), main=main, high=max(every))


NOTHING: Final = exactly(0.0)

MAIN: Final[Callable[[Band], float]] = attrgetter("main")
LEAST: Final[Callable[[Band], float]] = attrgetter("low")
GREATEST: Final[Callable[[Band], float]] = attrgetter("high")
