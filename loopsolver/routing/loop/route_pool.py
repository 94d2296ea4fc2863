"""The routes that may be chosen from, and which of them get in each other's way."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product
from typing import Final

import numpy as np

from loopsolver.clearance.gap import (
    between_fittings,
    is_clear,
    keep_clear,
    least_gap,
    tube_gap,
)
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.clearance.shadows import kept_bounds
from loopsolver.geometry.distance import segment_shares
from loopsolver.geometry.solids import Cylinder, Solid, bounds
from loopsolver.geometry.vectors import Array, Flags, Indices, Point, point
from loopsolver.routing.problem import Candidate
from loopsolver.scene.references import PortPair
from loopsolver.tolerances import GAP_RESOLUTION
from loopsolver.tube.centreline import BendArc, Centreline, pieces, points_along
from loopsolver.tube.setting_out import sagitta

CHORD: Final = math.radians(15.0)
"""Arcs are cut at least this fine to tell near tubes from far ones [rad]."""

MEASURED: Final = 20_000
"""So many gaps to fittings are remembered: some 10 MB; each is measured once."""

_BUT_ONE: Final = slice(None, -1), slice(1, None)
"""All of several points but the last, and all but the first."""

RouteKey = tuple[int, PortPair, Centreline]


@dataclass(frozen=True, kw_only=True, eq=False)
class Route:
    """One route of a run, between two ports.

    Attributes
    ----------
    run : int
        Number of the run.
    ports : PortPair
        Full names of the ports where it begins and ends.
    candidate : Candidate
    fittings : tuple of Obstacle
        Straight ones at its ends that other runs do not know of yet: those on ports
        that were chosen from several.
    elbows : tuple of Obstacle
        What the elbows at its ends take up.
    """

    run: int
    ports: PortPair
    candidate: Candidate
    fittings: tuple[Obstacle, ...] = ()
    elbows: tuple[Obstacle, ...] = ()

    @property
    def brought(self) -> tuple[Obstacle, ...]:
        """All that it brings beside its tube and that other runs do not know of."""
        return (*self.fittings, *self.elbows)

    @property
    def centreline(self) -> Centreline:
        """The centre line."""
        return self.candidate.centreline

    @property
    def key(self) -> RouteKey:
        """What tells it apart."""
        return self.run, self.ports, self.centreline

    @property
    def covered(self) -> tuple[float, float]:
        """Length at either end that lies in its own fittings [mm]."""
        return self.candidate.covered

    @cached_property
    def chords(self) -> tuple[Array, Array, Array]:
        """Where chords of it begin and end, and how far it leaves each [mm]."""
        points, rises = [], []
        for piece in pieces(self.centreline):
            cuts, rise = 1, 0.0
            if isinstance(piece, BendArc):
                cuts = max(math.ceil(piece.angle / CHORD), 1)
                rise = sagitta(piece.radius, piece.angle / cuts)
            points.append(
                np.array(points_along(piece, np.linspace(0.0, 1.0, cuts + 1)))
            )
            rises.append(np.full(cuts, rise))
        starts, ends = ([each[part] for each in points] for part in _BUT_ONE)
        return np.concatenate(starts), np.concatenate(ends), np.concatenate(rises)


class RoutePool:
    """A growing list of routes; what was found out about pairs of them is kept.

    A route keeps its number for good. Beside the routes of a run there may be some that
    are only hoped for: they have a number and a cost, and are in nobody's way.
    """

    def __init__(self, *, tube_radius: float, clearance: float) -> None:
        """Make an empty pool.

        Parameters
        ----------
        tube_radius, clearance : float [mm]
        """
        self.tube_radius = tube_radius
        self.clearance = clearance
        self.routes: list[Route] = []
        self._of_run: dict[int, list[int]] = {}
        self._hoped: dict[int, list[int]] = {}
        self._numbers: dict[RouteKey, int] = {}
        self._clashing: dict[tuple[int, int], set[tuple[int, int]]] = {}
        self._compared: dict[tuple[int, int], tuple[int, int]] = {}

    def add(self, routes: Iterable[Route]) -> list[int]:
        """Take in routes that are not there yet; return their numbers."""
        new: list[int] = []
        for route in routes:
            if route.key not in self._numbers:
                number = len(self.routes)
                # First of all, so that whoever interrupts leaves no number without a route.
                self.routes.append(route)
                self._numbers[route.key] = number
                self._of_run.setdefault(route.run, []).append(number)
                new.append(number)
        return new

    def hope_for(self, routes: Iterable[Route]) -> list[int]:
        """Take in routes that are only hoped for; return their numbers."""
        new: list[int] = []
        for route in routes:
            new.append(len(self.routes))
            self.routes.append(route)
            self._hoped.setdefault(route.run, []).append(new[-1])
        return new

    def number_of(self, route: Route) -> int:
        """Return the number of a route that was taken in."""
        return self._numbers[route.key]

    @property
    def runs(self) -> tuple[int, ...]:
        """The runs that have a route or hope for one, in order."""
        return tuple(sorted(self._of_run.keys() | self._hoped.keys()))

    def of_run(self, run: int) -> tuple[int, ...]:
        """Return the numbers of a run's routes."""
        return tuple(self._of_run.get(run, ()))

    def rivals(self, run: int) -> tuple[int, ...]:
        """Return the numbers of a run's routes and of those that it hopes for."""
        return (*self.of_run(run), *self._hoped.get(run, ()))

    def clashing(self, first: int, second: int) -> set[tuple[int, int]]:
        """Return which routes of two runs get in each other's way.

        Parameters
        ----------
        first, second : int
            Numbers of two runs, the lower one first.

        Returns
        -------
        set of (int, int)
            Numbers of a route of the first run and one of the second.
        """
        pair = (first, second)
        one, two = self._of_run.get(first, []), self._of_run.get(second, [])
        known = self._clashing.setdefault(pair, set())
        done_one, done_two = self._compared.get(pair, (0, 0))
        for some, others in (
            (one[done_one:], two),
            (one[:done_one], two[done_two:]),
        ):
            clashes = clash_table(
                [self.routes[number] for number in some],
                [self.routes[number] for number in others],
                tube_radius=self.tube_radius,
                clearance=self.clearance,
            )
            known.update(
                (some[row], others[column])
                for row, column in np.argwhere(clashes).tolist()
            )
        self._compared[pair] = (len(one), len(two))
        return known

    def clash(self, one: int, two: int) -> bool:
        """Return whether two routes of different runs get in each other's way."""
        if self.routes[one].run > self.routes[two].run:
            one, two = two, one
        return (one, two) in self.clashing(self.routes[one].run, self.routes[two].run)


def clash_table(
    some: Sequence[Route],
    others: Sequence[Route],
    *,
    tube_radius: float,
    clearance: float,
) -> Flags:
    """Return which routes get in each other's way, a row for each of `some`.

    Two do where their tubes, or one's tube and the other's fitting, are nearer than the
    clearance, or where their fittings stand in each other.
    """
    if not some or not others:
        return np.zeros((len(some), len(others)), dtype=np.bool_)
    apart = 2.0 * tube_radius + clearance - GAP_RESOLUTION
    tubes, other_tubes = _tubes(some), _tubes(others)
    least, most = _distances(tubes, other_tubes, within=apart)
    clashes: Flags = most < apart
    for row, column in np.argwhere(~clashes & (least < apart)).tolist():
        gap, _, _ = tube_gap(
            some[row].centreline,
            others[column].centreline,
            first_radius=tube_radius,
            second_radius=tube_radius,
        )
        clashes[row, column] = not is_clear(gap, clearance)
    brought, other_brought = _brought(some), _brought(others)
    beside = tube_radius + clearance
    least = np.minimum.reduce(
        [
            _distances(brought, other_brought, within=clearance)[0] + tube_radius,
            _distances(brought, other_tubes, within=beside)[0],
            _distances(tubes, other_brought, within=beside)[0],
        ]
    )
    for row, column in np.argwhere(~clashes & (least < beside)).tolist():
        clashes[row, column] = _fittings_clash(
            some[row], others[column], tube_radius=tube_radius, clearance=clearance
        )
    return clashes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Rods:
    """Stretches with round ends that hold what routes take up.

    Attributes
    ----------
    start, end : array (n, 3) [mm]
    owner : int array (n,)
        The place of the route of each.
    radius : array (n,) [mm]
    count : int
        How many routes there are.
    """

    start: Array
    end: Array
    owner: Indices
    radius: Array
    count: int


def _tubes(routes: Sequence[Route]) -> _Rods:
    """Return rods that hold the centre lines of routes."""
    start, end, rise = (
        np.concatenate(each)
        for each in zip(*(route.chords for route in routes), strict=True)
    )
    owner = np.repeat(
        np.arange(len(routes)), [len(route.chords[2]) for route in routes]
    )
    return _Rods(start=start, end=end, owner=owner, radius=rise, count=len(routes))


def _brought(routes: Sequence[Route]) -> _Rods:
    """Return rods that hold the fittings that routes bring."""
    brought = [(n, one.solid) for n, each in enumerate(routes) for one in each.brought]
    rods = [_rod_round(solid) for _, solid in brought]
    ends = np.array([ends for ends, _ in rods]).reshape(-1, 2, 3)
    return _Rods(
        start=ends[:, 0],
        end=ends[:, 1],
        owner=np.array([place for place, _ in brought], dtype=np.intp),
        radius=np.array([radius for _, radius in rods]),
        count=len(routes),
    )


def _rod_round(solid: Solid) -> tuple[Array, float]:
    """Return ends and radius of a rod that holds a solid: of a ball, if that is less."""
    low, high = bounds(solid)
    if not isinstance(solid, Cylinder):
        return np.array([(low + high) / 2.0] * 2), math.dist(low, high) / 2.0
    half, radius = solid.height / 2.0, solid.diameter / 2.0
    along = half if half > radius else 0.0
    ends = solid.frame.origin + np.outer((-along, along), solid.frame.axes[2])
    return ends, math.hypot(radius, half - along) + solid.rounding


def _distances(some: _Rods, others: _Rods, *, within: float) -> tuple[Array, Array]:
    """Return how near what is in rods of some routes and others is, (m, n) [mm].

    At least and at most. Those that are surely further apart than wanted are left out:
    both stay infinite.
    """
    least = np.full((some.count, others.count), np.inf)
    most = least.copy()
    low = np.minimum(some.start, some.end) - some.radius[:, None]
    high = np.maximum(some.start, some.end) + some.radius[:, None]
    reach = (others.radius + within)[:, None]
    other_low = np.minimum(others.start, others.end) - reach
    other_high = np.maximum(others.start, others.end) + reach
    near = np.ones((len(some.owner), len(others.owner)), dtype=np.bool_)
    for axis in range(3):
        near &= low[:, axis, None] <= other_high[None, :, axis]
        near &= high[:, axis, None] >= other_low[None, :, axis]
    rows, columns = np.nonzero(near)
    if len(rows):
        start, vector = some.start[rows], (some.end - some.start)[rows]
        other_start, other_vector = (
            others.start[columns],
            (others.end - others.start)[columns],
        )
        share, other_share = segment_shares(start, vector, other_start, other_vector)
        between = other_start + other_share[:, None] * other_vector
        between -= start + share[:, None] * vector
        apart = np.sqrt((between * between).sum(axis=1))
        radii = some.radius[rows] + others.radius[columns]
        owners = some.owner[rows], others.owner[columns]
        np.minimum.at(least, owners, apart - radii)
        np.minimum.at(most, owners, apart + radii)
    return least, most


def _fittings_clash(
    one: Route, two: Route, *, tube_radius: float, clearance: float
) -> bool:
    """Return whether a fitting of either route is in the way of the other.

    A tube keeps the clearance; of two fittings `between_fittings` says.
    """
    for route, brought in ((one, two.brought), (two, one.brought)):
        for fitting in brought:
            if _is_far_off(route, fitting, by=tube_radius + clearance):
                continue
            gap = gap_to(route.centreline, route.covered, fitting, tube_radius)
            if not is_clear(gap.distance, clearance):
                return True
    elbows = (*one.elbows, *two.elbows)
    return not all(
        are_apart(
            a.solid,
            b.solid,
            between_fittings(clearance, is_elbow=a in elbows or b in elbows),
        )
        for a, b in product(one.brought, two.brought)
    )


def _is_far_off(route: Route, fitting: Obstacle, *, by: float) -> bool:
    """Return whether a fitting's box keeps a distance from boxes of a centre line [mm]."""
    starts, ends, rises = route.chords
    low, high = kept_bounds(fitting.solid)
    beyond = np.maximum(low - np.maximum(starts, ends), np.minimum(starts, ends) - high)
    beside = np.maximum(beyond - rises[:, None], 0.0)
    return bool((beside * beside).sum(axis=1).min() >= by * by)


@lru_cache(maxsize=MEASURED)
def gap_to(
    line: Centreline,
    covered: tuple[float, float],
    fitting: Obstacle,
    tube_radius: float,
) -> Gap:
    """Return the gap of a tube, less what its own fittings cover, to another fitting."""
    return least_gap(
        line,
        (fitting,),
        tube_radius=tube_radius,
        skip_start=covered[0],
        skip_end=covered[1],
    )


@lru_cache(maxsize=MEASURED)
def are_apart(one: Solid, two: Solid, by: float) -> bool:
    """Return whether two fittings keep a distance [mm]."""
    return keep_clear(one, two, by=by)


def _to_fittings(
    one: Route, two: Route, *, tube_radius: float
) -> Iterator[tuple[float, Point]]:
    """Yield the gap of each tube to the other's fittings, and where [mm]."""
    for route, brought in ((one, two.brought), (two, one.brought)):
        if brought:
            gap = least_gap(
                route.centreline,
                brought,
                tube_radius=tube_radius,
                skip_start=route.covered[0],
                skip_end=route.covered[1],
            )
            yield gap.distance, gap.at


def approach(one: Route, two: Route, *, tube_radius: float) -> tuple[float, Point]:
    """Return the least gap between two routes [mm], and where: half way between them.

    Of tubes and of a tube and a fitting; where a fitting is nearest, where the tube is.
    """
    gap, near, far = tube_gap(
        one.centreline,
        two.centreline,
        first_radius=tube_radius,
        second_radius=tube_radius,
    )
    at = point(0.5 * (a + b) for a, b in zip(near, far, strict=True))
    return min([(gap, at), *_to_fittings(one, two, tube_radius=tube_radius)])
