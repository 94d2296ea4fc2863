"""Of many routes the few that are worth shortening.

References
----------
The best first, and none that is close to one before: non-maximum suppression, Neubeck
and Van Gool, ICPR 2006. From memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Indices
from loopsolver.routing.angled.bundle import (
    bend_points,
    lay,
    nearest,
    sampled,
    straight_points,
)
from loopsolver.routing.angled.shortening_task import least_straights
from loopsolver.routing.effort.angled import ShortlistEffort
from loopsolver.routing.problem import RouteProblem
from loopsolver.tolerances import ORDER_DECIMALS, SAME_WAY_ROUND

BETWEEN_ROUTES: Final = SAME_WAY_ROUND / 3.0
"""Routes further apart than this, but no other way round, are between [mm]."""


def apart(routes: Array, other: Array) -> Array:
    """Return how far routes differ from another at most, vertex by vertex [mm].

    Of one route (vertices, 3), or of each of many (n, vertices, 3).
    """
    furthest: Array = np.abs(routes - other).max(axis=(-2, -1))
    return furthest


def _never(_route: Array) -> bool:
    return False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shortlist:
    """Routes of one bend count that seem free or nearly so; see `shortlist`.

    A value: taking a route off it gives another one.

    Attributes
    ----------
    routes : array (n, vertices, 3) [mm]
    worth : array (n,) [mm]
        What makes one better than another: its length, for example; less is better.
    held : array (n,) [mm]
        The same with the lack of room reckoned in.
    lacks : array (n,) [mm]
    orders : tuple of int arrays
        Those that seem free and those that lack a little, each the best first.
    nearest : array (n,) [mm]
        How far each is apart from the nearest of those taken; less than zero for these.
    tried : tuple of int
        Those taken that lead where no other led.
    waiting : tuple of int
        What comes next, whatever is taken meanwhile.
    """

    routes: Array
    worth: Array
    held: Array
    lacks: Array
    orders: tuple[Indices, Indices]
    nearest: Array
    tried: tuple[int, ...] = ()
    waiting: tuple[int, ...] = ()

    def next(
        self, is_known: Callable[[Array], bool] = _never
    ) -> tuple[int, Shortlist] | None:
        """Return the number of the next route, and what is left; None without one.

        Parameters
        ----------
        is_known : callable
            Whether a route leads where another has led already; it is passed over.
        """
        rest = self
        while row := rest.waiting or rest._next_row():
            number = row[0]
            far = apart(rest.routes, rest.routes[number])
            nearest = np.minimum(rest.nearest, far)
            nearest[number] = -np.inf
            rest = replace(rest, nearest=nearest, waiting=row[1:])
            if not is_known(rest.routes[number]):
                return number, replace(rest, tried=(*rest.tried, number))
        return None

    def _next_row(self) -> tuple[int, ...]:
        """Return the best free and the best narrow route that are another way round.

        Where there is none, the best route between; empty where there is none either.
        """
        for close in (SAME_WAY_ROUND, BETWEEN_ROUTES):
            firsts = [o[self.nearest[o] > close][:1].tolist() for o in self.orders]
            if any(firsts):
                return (*firsts[0], *firsts[1])
        return ()

    def freer_than(self, number: int) -> Shortlist:
        """Return a shortlist that begins with the freest route close to a failed one.

        Of many that are close to each other the best comes first, which may be the one
        that is too good to be true.
        """
        freer = np.flatnonzero(
            (self.lacks < self.lacks[number]) & (self.nearest >= 0.0)
        )
        near = apart(self.routes[freer], self.routes[number]) <= SAME_WAY_ROUND
        freer = freer[near]
        if not len(freer):
            return self
        order = np.lexsort(
            (np.round(self.worth[freer], ORDER_DECIMALS), self.lacks[freer])
        )
        return replace(self, waiting=(int(freer[order[0]]), *self.waiting))

    def between(self, *, below: float) -> tuple[int, Shortlist] | None:
        """Return the best route that was passed over because it is close to another.

        None where none is better than `below` [mm], its lack of room reckoned in.
        """
        order = _best(np.flatnonzero(self.held < below), self.held)
        for index in self.tried:
            far = apart(self.routes[order], self.routes[index])
            order = order[far > BETWEEN_ROUTES]
        if not len(order):
            return None
        number = int(order[0])
        return number, replace(self, tried=(*self.tried, number))


def shortlist(
    routes: Array, *, worth: Array, lacks: Array, effort: ShortlistEffort
) -> Shortlist:
    """Return the shortlist of routes of one bend count, none of them taken yet.

    Each that is taken is another way round: the best that seems free comes first, then
    the best that lacks a little room and may be mended, and so on by turns; after these
    the routes between them.

    Parameters
    ----------
    routes : array (n, vertices, 3) [mm]
    worth : array (n,) [mm]
        What makes one better than another; less is better.
    lacks : array (n,) [mm]
        As from `lacking`.
    effort : ShortlistEffort
    """
    possible = np.isfinite(lacks)
    routes, worth, lacks = routes[possible], worth[possible], lacks[possible]
    held = worth + effort.lack_worth * lacks**2
    is_free = lacks <= effort.seems_free
    return Shortlist(
        routes=routes,
        worth=worth,
        held=held,
        lacks=lacks,
        orders=(
            _best(np.flatnonzero(is_free), worth),
            _best(np.flatnonzero(~is_free), held),
        ),
        nearest=np.full(len(routes), np.inf),
    )


def _best(which: Indices, worth: Array) -> Indices:
    """Return some routes, the best first."""
    return which[np.argsort(np.round(worth[which], ORDER_DECIMALS), kind="stable")]


def lacking(problem: RouteProblem, routes: Array, *, worth: Array) -> Array:
    """Return what routes lack in room or in a straight, (n,) [mm]; 0 where nothing.

    Above the effort's `most_lacking` just inf, as for all that are worse than `plenty`
    that seem free. Room as the distance field tells; but of the routes that seem to
    have enough, and of those that seem to lack a little, the best are measured.
    """
    effort = problem.effort.shortlist
    found = np.full(len(routes), np.inf)
    order = _best(np.arange(len(routes)), worth)
    for first in range(0, len(order), effort.chunk):
        some = order[first : first + effort.chunk]
        found[some] = _lacks_in_field(problem, routes[some])
        if np.count_nonzero(found <= effort.seems_free) >= effort.plenty:
            break
    held = worth + effort.lack_worth * found**2
    is_free, is_near = found <= effort.seems_free, found <= effort.most_lacking
    for seems in (is_free, is_near & ~is_free):
        best = _best(np.flatnonzero(seems), held)[: effort.most_measured]
        if len(best):
            found[best] = _measured(problem, routes[best])
    return np.where(found <= effort.most_lacking, found, np.inf)


def _measured(problem: RouteProblem, routes: Array) -> Array:
    """Return what routes lack, room measured exactly where it is least, (n,) [mm]."""
    field, most = problem.field, problem.effort.shortlist.measured
    points = _many_points(problem, routes)
    least = field.at(points).argsort(axis=1, kind="stable")[:, :most]
    worst = np.take_along_axis(points, least[..., None], axis=1)
    lacking_room = problem.reach - nearest(worst, field.solids)
    lacks: Array = np.maximum(_short(problem, routes), lacking_room)
    return lacks


def _short(problem: RouteProblem, routes: Array) -> Array:
    """Return what the shortest straights of routes lack, (n,) [mm]; 0 where nothing."""
    laid = lay(routes, radius=problem.bend_radius)
    short = least_straights(problem, routes.shape[1] - 2) - laid.straights
    lacks: Array = np.maximum(short.max(axis=1), 0.0)
    return lacks


def _lacks_in_field(problem: RouteProblem, routes: Array) -> Array:
    """Return what routes lack as the distance field tells, (n,) [mm]."""
    field, most = problem.field, problem.effort.shortlist.most_lacking
    found = _short(problem, routes)
    for points_on in (_few_points, _many_points):
        some = np.flatnonzero(found <= most)
        if not len(some):
            break
        room = field.at(points_on(problem, routes[some])).min(axis=1)
        found[some] = np.maximum(found[some], problem.reach - room)
    return found


def _many_points(problem: RouteProblem, routes: Array) -> Array:
    radius, effort = problem.bend_radius, problem.effort.shortlist
    return sampled(
        routes,
        lay(routes, radius=radius),
        radius=radius,
        covered=_covered(problem),
        samples=(effort.straight_samples, effort.bend_samples),
    )


def _few_points(problem: RouteProblem, routes: Array) -> Array:
    """Return a few points of every straight and the middles of the bends."""
    radius = problem.bend_radius
    count, vertices, _ = routes.shape
    laid = lay(routes, radius=radius)
    shares = np.array(problem.effort.shortlist.first_shares)
    route, leg = np.ogrid[:count, : vertices - 1]
    on_straights = straight_points(
        routes, laid, covered=_covered(problem), at=(route, leg, shares)
    )
    route, bend = np.ogrid[:count, : vertices - 2]
    on_bends = bend_points(
        routes, laid, radius=radius, at=(route, bend, np.array([0.5]))
    )
    parts = (on_straights.reshape(count, -1, 3), on_bends.reshape(count, -1, 3))
    return np.concatenate(parts, axis=1)


def _covered(problem: RouteProblem) -> tuple[float, float]:
    return problem.start.covered, problem.goal.covered
