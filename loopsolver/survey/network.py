"""What was measured: stations, marks that stand firm on them, and observations.

The words are those of land surveying. Lengths in millimetres, in one common frame; along
its axes, turned by nothing: how a part is turned is as written, never an unknown.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import Point, unit

ALL_FREE = (0, 1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A point with coordinates of its own: a part's origin, a port, a wall, the datum.

    Attributes
    ----------
    name : str
    start : Point
        Where it stands; along axes that are free, about where, to begin with [mm].
    free : tuple of int
        The axes, 0 to 2, along which its place is unknown: all of a part's origin, none
        of the datum's, and a wall's own axis alone if the case was measured too.
    """

    name: str
    start: Point
    free: tuple[int, ...] = ALL_FREE


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A point that stands firm on a station: what moves the one moves the other.

    Attributes
    ----------
    name, station : str
    offset : Point
        From the station, along the common axes; taken as exact [mm].
    """

    name: str
    station: str
    offset: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """A length between two points, read once or several times.

    A coordinate as it is written is one too: from the point it counts from.

    Attributes
    ----------
    name : str
        What messages call it.
    start, goal : str
        Names of stations or marks.
    along : Point or None
        Unit vector: the coordinate difference from start to goal along it. None: the
        straight distance.
    values : tuple of float
        As read, `zero` included [mm]; none where it was not taken yet.
    spread : float
        Standard deviation of one value [mm].
    zero : float
        What the rule shows at its own end; taken off every value [mm].
    """

    name: str
    start: str
    goal: str
    along: Point | None
    values: tuple[float, ...]
    spread: float
    zero: float = 0.0

    def __post_init__(self) -> None:
        """Hold the direction to length 1."""
        if self.along is not None:
            object.__setattr__(self, "along", unit(self.along))

    @property
    def is_taken(self) -> bool:
        """Whether there is at least one value."""
        return bool(self.values)

    @property
    def length(self) -> float:
        """The mean of the values, less the rule's zero [mm]."""
        return math.fsum(self.values) / len(self.values) - self.zero


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """All stations, marks and observations of a case.

    Raises
    ------
    GeometryError
        If a name stands twice or is not there, a spread is not above zero, or a number
        is not finite.
    """

    stations: tuple[Station, ...]
    marks: tuple[Mark, ...] = ()
    observations: tuple[Observation, ...] = ()
    _stands: dict[str, tuple[int, Point]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Note on which station every point stands, and refuse what cannot be meant."""
        names = [one.name for one in self.stations]
        numbers = {name: number for number, name in enumerate(names)}
        stands = {name: (number, (0.0, 0.0, 0.0)) for name, number in numbers.items()}
        marks = (one.name for one in self.marks)
        for name, count in Counter([*names, *marks]).items():
            if count > 1:
                _refuse(f"{count} points of the name {name!r}")
        for mark in self.marks:
            if mark.station not in numbers:
                _refuse(
                    f"{mark.name!r} stands on {mark.station!r}, which is no station"
                )
            stands[mark.name] = (numbers[mark.station], mark.offset)
        object.__setattr__(self, "_stands", stands)
        for one in self.observations:
            self._check(one)
        _finite("a place", (place for one in self.stations for place in one.start))
        _finite("an offset", (place for one in self.marks for place in one.offset))

    def _check(self, one: Observation) -> None:
        for end in (one.start, one.goal):
            if end not in self._stands:
                _refuse(f"{one.name!r} is measured at {end!r}, which is no point")
        _finite(one.name, (*one.values, one.spread, one.zero))
        if one.spread <= 0.0:
            _refuse(f"{one.name!r} has a spread of {one.spread:g}, wanted above 0")

    def stand(self, point_name: str) -> tuple[int, Point]:
        """Return the number of the station on which a point stands, and its offset [mm].

        Raises
        ------
        GeometryError
            If there is no such point.
        """
        if point_name not in self._stands:
            _refuse(f"no point {point_name!r}")
        return self._stands[point_name]


def _finite(what: str, numbers: Iterable[float]) -> None:
    if not all(map(math.isfinite, numbers)):
        _refuse(f"{what} is not a finite number")


def _refuse(message: str) -> None:
    raise GeometryError(message)
