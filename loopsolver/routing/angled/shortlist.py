"""Of many routes the few that are worth shortening."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import chain, zip_longest
from typing import Final

import numpy as np

from loopsolver.clearance.distance_field import distance_field
from loopsolver.geometry.vectors import Array
from loopsolver.routing.angled.bundle import (
    bend_points,
    lay,
    nearest,
    sampled,
    straight_points,
)
from loopsolver.routing.angled.linearised import least_straights
from loopsolver.routing.angled.two_bend_closures import Indices
from loopsolver.routing.problem import RouteProblem

FEW_SHARES: Final = np.array([0.05, 0.35, 0.65, 0.95])
"""Where on every straight it is looked first."""

CHUNK: Final = 2048
"""How many routes are sampled at a time, the best first..."""

PLENTY: Final = 400
"""... until so many seem free."""

MOST_LACKING: Final = 6.0
"""Routes that come nearer to something by more than this are left out [mm]."""

SEEMS_FREE: Final = 0.3
"""Routes that lack no more than this are held to be free until measured [mm]."""

MOST_MEASURED: Final = 300
"""Of the routes that seem free, and of those that seem to lack a little, so many are
measured exactly..."""

MEASURED: Final = 6
"""... at so many points each: the grid is wrong by two millimetres near an edge."""

LACK_WORTH: Final = 6.0
"""What missing room is held to be worth: so much, times its square [mm of tube / mm^2].

A little can nearly always be mended, a lot seldom.
"""

CLOSE: Final = 30.0
"""Routes whose vertices all lie this near to another's are the same way round [mm]."""


def apart(routes: Array, other: Array) -> Array:
    """Return how far the vertices of routes lie from those of another at most [mm].

    Of one route (vertices, 3), or of each of many (n, vertices, 3).
    """
    furthest: Array = np.abs(routes - other).max(axis=(-2, -1))
    return furthest


def _never(_route: Array) -> bool:
    return False


class Shortlist:
    """Routes of one bend count that seem free or nearly so, one after the other.

    Each is another way round: the best that seems free comes first, then the best that
    lacks a little room and may be mended, and so on by turns; after these the ways
    between them.

    Parameters
    ----------
    routes : array (n, vertices, 3) [mm]
    worth : array (n,) [mm]
        What makes one better than another: its length, for example; less is better.
    lacks : array (n,) [mm]
        As from `lacking`.
    """

    def __init__(self, routes: Array, *, worth: Array, lacks: Array) -> None:
        self._routes, self._worth, self._lacks = routes, worth, lacks
        free = np.flatnonzero(lacks <= SEEMS_FREE)
        narrow = np.flatnonzero((lacks > SEEMS_FREE) & np.isfinite(lacks))
        self._orders = (
            _best(free, worth),
            _best(narrow, worth + LACK_WORTH * lacks**2),
        )
        self._taken: list[int] = []
        self._listed: list[int] = []
        self._turns = self._by_turns()
        self._again: int | None = None

    def next(self, is_known: Callable[[Array], bool] = _never) -> Array | None:
        """Return the next route, (vertices, 3) [mm]; None where there is no other.

        Parameters
        ----------
        is_known : callable
            Whether a route leads where another has led already; it is passed over.
        """
        while True:
            index = next(self._turns, None) if self._again is None else self._again
            self._again = None
            if index is None:
                return None
            self._taken.append(index)
            route: Array = self._routes[index]
            if not is_known(route):
                self._listed.append(index)
                return route

    def failed(self) -> None:
        """Let the freest of the routes close to the last one come next.

        Of many that are close to each other the best comes first, which may be the one
        that is too good to be true.
        """
        last = self._listed[-1]
        freer = np.flatnonzero(self._lacks < self._lacks[last])
        freer = freer[~np.isin(freer, self._taken)]
        freer = freer[self._apart(freer, last) <= CLOSE]
        if len(freer):
            order = np.lexsort((np.round(self._worth[freer], 6), self._lacks[freer]))
            self._again = int(freer[order[0]])

    def between(self, *, below: float) -> Array | None:
        """Return the best that was passed over because it is close to another.

        None where none is better than `below` [mm], its lack of room reckoned in.
        """
        held = self._worth + LACK_WORTH * self._lacks**2
        order = _best(np.flatnonzero(held < below), held)
        for index in self._listed:
            order = order[self._apart(order, index) > CLOSE / 3.0]
        if not len(order):
            return None
        self._listed.append(int(order[0]))
        route: Array = self._routes[order[0]]
        return route

    def _apart(self, which: Indices, other: int) -> Array:
        return apart(self._routes[which], self._routes[other])

    def _by_turns(self) -> Iterator[int]:
        for close in (CLOSE, CLOSE / 3.0):
            in_turn = (self._apart_in(order, close) for order in self._orders)
            for index in chain.from_iterable(zip_longest(*in_turn)):
                if index is not None:
                    yield index

    def _apart_in(self, order: Indices, close: float) -> Iterator[int]:
        """Yield the next in order that is not close to one taken already."""
        seen = 0
        while True:
            for other in self._taken[seen:]:
                order = order[self._apart(order, other) > close]
            seen = len(self._taken)
            if not len(order):
                return
            yield int(order[0])


def _best(which: Indices, worth: Array) -> Indices:
    """Return some routes, the best first."""
    return which[np.argsort(np.round(worth[which], 6), kind="stable")]


def lacking(problem: RouteProblem, routes: Array, *, worth: Array) -> Array:
    """Return what routes lack in room or in a straight, (n,) [mm]; 0 where nothing.

    Above MOST_LACKING just inf, as for all that are worse than PLENTY that seem free.
    Room as the distance field tells; but of the routes that seem to have enough, and of
    those that seem to lack a little, the best are measured.
    """
    found = np.full(len(routes), np.inf)
    order = _best(np.arange(len(routes)), worth)
    for first in range(0, len(order), CHUNK):
        some = order[first : first + CHUNK]
        found[some] = _lacks_in_field(problem, routes[some])
        if np.count_nonzero(found <= SEEMS_FREE) >= PLENTY:
            break
    held = worth + LACK_WORTH * found**2
    for seems in (found <= SEEMS_FREE, (found > SEEMS_FREE) & (found <= MOST_LACKING)):
        best = _best(np.flatnonzero(seems), held)[:MOST_MEASURED]
        if len(best):
            found[best] = _measured(problem, routes[best])
    return np.where(found <= MOST_LACKING, found, np.inf)


def _measured(problem: RouteProblem, routes: Array) -> Array:
    """Return what routes lack, room measured exactly where it is least, (n,) [mm]."""
    field = distance_field(problem.obstacles)
    points = _many_points(problem, routes)
    least = field.at(points).argsort(axis=1, kind="stable")[:, :MEASURED]
    worst = np.take_along_axis(points, least[..., None], axis=1)
    reach = problem.tube_radius + problem.clearance
    lacks: Array = np.maximum(
        _short(problem, routes), reach - nearest(worst, field.solids)
    )
    return lacks


def _short(problem: RouteProblem, routes: Array) -> Array:
    """Return what the shortest straights of routes lack, (n,) [mm]; 0 where nothing."""
    laid = lay(routes, radius=problem.bend_radius)
    short = least_straights(problem, routes.shape[1] - 2) - laid.straights
    lacks: Array = np.maximum(short.max(axis=1), 0.0)
    return lacks


def _lacks_in_field(problem: RouteProblem, routes: Array) -> Array:
    """Return what routes lack as the distance field tell, (n,) [mm]."""
    field = distance_field(problem.obstacles)
    reach = problem.tube_radius + problem.clearance
    found = _short(problem, routes)
    for points_on in (_few_points, _many_points):
        some = np.flatnonzero(found <= MOST_LACKING)
        if not len(some):
            break
        room = field.at(points_on(problem, routes[some])).min(axis=1)
        found[some] = np.maximum(found[some], reach - room)
    return found


def _many_points(problem: RouteProblem, routes: Array) -> Array:
    radius = problem.bend_radius
    return sampled(
        routes, lay(routes, radius=radius), radius=radius, covered=_covered(problem)
    )


def _few_points(problem: RouteProblem, routes: Array) -> Array:
    """Return a few points of every straight and the middles of the bends."""
    radius = problem.bend_radius
    count, vertices, _ = routes.shape
    laid = lay(routes, radius=radius)
    route, leg = np.ogrid[:count, : vertices - 1]
    on_straights = straight_points(
        routes, laid, covered=_covered(problem), at=(route, leg, FEW_SHARES)
    )
    route, bend = np.ogrid[:count, : vertices - 2]
    on_bends = bend_points(
        routes, laid, radius=radius, at=(route, bend, np.array([0.5]))
    )
    parts = (on_straights.reshape(count, -1, 3), on_bends.reshape(count, -1, 3))
    return np.concatenate(parts, axis=1)


def _covered(problem: RouteProblem) -> tuple[float, float]:
    return problem.start.covered, problem.goal.covered
