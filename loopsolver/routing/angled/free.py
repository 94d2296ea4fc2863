"""Candidates whose bends may have any angle, standard ones preferred.

There is no best of all to be had here in reasonable time, so the routes come from
several starts: bends of standard angles that close exactly; bends of whatever angle over
places spread along the ports' axes and through the case; and, where ports miss being in
line by a little, square routes between ports moved into line, then bent back on to the
true ones. What is shown is the best found.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, difference, point, points_array
from loopsolver.routing.angled.bundle import BundleFigures, lay, turns_of
from loopsolver.routing.angled.closed_routes import MOST_BENDS, shortest
from loopsolver.routing.angled.direct import corner_route, straight_route
from loopsolver.routing.angled.listed import (
    NONE_KNOWN,
    best_of,
    centreline_of,
    length_of,
    routes_below,
    shortened_line,
    verified,
)
from loopsolver.routing.angled.partial_routes import AngledRun, angled_run
from loopsolver.routing.angled.shortening import nearest_standard, nearest_turns
from loopsolver.routing.angled.shortening_task import AngleTargets
from loopsolver.routing.angled.shortlist import lacking, shortlist
from loopsolver.routing.angled.waypoint_graph import (
    FEWEST_OVER_GRAPH,
    MOST_OVER_GRAPH,
    graph_routes,
)
from loopsolver.routing.angled.waypoint_grid import grid_routes
from loopsolver.routing.effort.angled import NO_TRIES, Tries
from loopsolver.routing.judge import Judge
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square.field import lattice_field
from loopsolver.routing.square.lattice import square_run
from loopsolver.routing.square.meet import meetings, vertices
from loopsolver.routing.worth import DEGREE_WORTH, MORE_BENDS, STANDARD_DEG
from loopsolver.tolerances import (
    FIRST_DIFFERENCE,
    FLATTEST,
    NEARLY_IN_LINE,
    NEARLY_ON_STEP,
    RIGHT_ANGLE_DEG,
    TOUCH,
)
from loopsolver.tube.centreline import Centreline

STANDARD: Final = tuple(math.radians(angle_deg) for angle_deg in STANDARD_DEG)


def free_candidates(
    problem: RouteProblem, judge: Judge, *, fewest: int = NONE_KNOWN
) -> Iterator[Candidate]:
    """Yield verified candidates with bends of any angle, for each bend count.

    Among the candidates of one bend count are the best when a departure from standard
    angles costs `worth.DEGREE_WORTH`, and the shortest found whatever the angles. More
    than MORE_BENDS above the fewest are not looked for; and of five bends, where there
    are tubes of fewer, only those that are nearly square.

    Parameters
    ----------
    problem : RouteProblem
    judge : Judge
        The problem's.
    fewest : int
        Bends of the tubes that are known already; less is sought beyond these.
    """
    least, greatest = np.radians(problem.bend_range).tolist()
    standard = tuple(angle for angle in STANDARD if least <= angle <= greatest)
    run = angled_run(problem, angles=standard or (greatest,))
    found = list(verified(judge, _direct(problem)))
    yield from found
    bent_back = [route for route, _ in nearly_square(problem)]
    effort, over_graph = problem.effort.shortlist, graph_routes(problem)
    has_graph = effort.over_graph != NO_TRIES
    for bends in range(2, min(problem.max_bends, MOST_OVER_GRAPH) + 1):
        fewest = min([fewest, *(candidate.bends for candidate in found)])
        if bends > fewest + MORE_BENDS:
            break
        of_any = [route[None] for route in bent_back if len(route) == bends + 2]
        if bends < MOST_BENDS or fewest == NONE_KNOWN:
            of_any += _spread(run, bends)
        tries = effort.tries(max(0, bends - fewest))
        for one in _found(run, judge, np.concatenate(of_any), tries) if of_any else ():
            found.append(one)
            yield one
        is_none = not found and fewest == NONE_KNOWN
        if has_graph and is_none and bends >= FEWEST_OVER_GRAPH:
            found += _found(run, judge, next(over_graph), effort.over_graph)
            yield from found


def _direct(problem: RouteProblem) -> Iterator[Centreline]:
    """Yield the straight tube and the tube of one bend, where the ports allow them."""
    straight, corner = straight_route(problem), corner_route(problem)
    if straight is not None:
        yield centreline_of(straight, problem)
    if corner is not None and problem.max_bends > 0:
        yield centreline_of(corner[0], problem)


def _spread(run: AngledRun, bends: int) -> Iterator[Array]:
    """Yield routes of one bend count, with standard angles and with any."""
    if bends <= MOST_BENDS:
        yield routes_below(run, bends=bends)[0]
    if bends == 2:
        yield _over_both_axes(run.problem)
    if bends in (3, 4):
        yield grid_routes(run.problem, bends=bends)


def _found(
    run: AngledRun, judge: Judge, routes: Array, tries: Tries
) -> Iterator[Candidate]:
    """Yield the best candidates that routes of one bend count become when shortened."""
    problem, effort = run.problem, run.problem.effort.shortlist
    if problem.turn_step_deg != "any":
        routes = _on_step(problem, routes, math.radians(problem.turn_step_deg))
    laid = lay(routes, radius=problem.bend_radius)
    worth = laid.lengths + DEGREE_WORTH * np.degrees(_departures(laid))
    lacks = lacking(problem, routes, worth=worth)
    found, _ = best_of(
        judge,
        shortlist(routes, worth=worth, lacks=lacks, effort=effort),
        partial(_preferred, problem=problem),
        tries,
    )
    if not found:
        return
    yield from found
    best = min(found, key=lambda c: c.worth)
    vertices = points_array(best.centreline.vertices)
    again = [shortened_line(problem, judge, vertices, _paid(vertices, problem))]
    again += [shortened_line(problem, judge, vertices, _loose(vertices, problem))]
    more = verified(judge, again)
    yield from more
    listed = shortlist(routes, worth=laid.lengths, lacks=lacks, effort=effort)
    shortest = min(candidate.length for candidate in (*found, *more))
    for _ in range(effort.whatever_angles):
        taken = listed.next()
        if taken is None:
            break
        number, listed = taken
        route = listed.routes[number]
        if length_of(route, problem) > shortest + effort.gained_loose:
            break
        tube = shortened_line(problem, judge, route, _loose(route, problem))
        yield from verified(judge, [tube])


def _departures(laid: BundleFigures) -> Array:
    """Return how far routes' angles are off standard ones in all, (routes,) [rad]."""
    off = np.abs(laid.angles[..., None] - np.array(STANDARD)).min(axis=2)
    departures: Array = off.sum(axis=1)
    return departures


def _on_step(problem: RouteProblem, routes: Array, step: float) -> Array:
    """Return those of the best routes whose turns can be led to multiples of a step.

    Newton's least moves: of the first vertex along the start's axis, of the last along
    the goal's, of the others to any side.

    Parameters
    ----------
    step : float [rad]
    """
    laid = lay(routes, radius=problem.bend_radius)
    targets = step * np.round(turns_of(laid) / step)
    off = np.abs(turns_of(laid) - targets).sum(axis=1) + _departures(laid)
    worth = laid.lengths + DEGREE_WORTH * np.degrees(off)
    best = shortest(worth, problem.effort.laying_out.most_led)
    routes, targets = routes[best], targets[best]
    moves = np.zeros((2 + 3 * (routes.shape[1] - 4), *routes.shape[1:]))
    moves[0, 1], moves[1, -2] = problem.start.direction, problem.goal.direction
    for number, move in enumerate(moves[2:]):
        move[2 + number // 3, number % 3] = 1.0

    def off_at(some: Array) -> Array:
        turned = turns_of(lay(some, radius=problem.bend_radius)) - targets
        return (turned + math.pi) % (2.0 * math.pi) - math.pi

    for _ in range(problem.effort.shortening.holds):
        ahead = [off_at(routes + FIRST_DIFFERENCE * move) for move in moves]
        now = off_at(routes)
        slopes = (np.stack(ahead, axis=2) - now[..., None]) / FIRST_DIFFERENCE
        back = np.linalg.pinv(slopes, rcond=FLATTEST)
        routes = routes - np.einsum("nmt,nt,mvc->nvc", back, now, moves)
    laid = lay(routes, radius=problem.bend_radius)
    sharpest = np.degrees(laid.angles.max(axis=1, initial=0.0))
    is_led = np.abs(off_at(routes)).max(axis=1, initial=0.0) < NEARLY_ON_STEP
    led: Array = routes[is_led & (sharpest <= problem.bend_range[1])]
    return led


def _preferred(route: Array, problem: RouteProblem) -> AngleTargets:
    """Return the angles to hold a route to: its own where they are standard."""
    paid = _paid(route, problem)
    laid = lay(route[None], radius=problem.bend_radius)
    off = np.abs(laid.angles[0] - np.array(paid.targets)).max()
    return replace(paid, cost=None) if off < math.radians(RIGHT_ANGLE_DEG) else paid


def _paid(route: Array, problem: RouteProblem) -> AngleTargets:
    laid = lay(route[None], radius=problem.bend_radius)
    return AngleTargets(
        targets=nearest_standard(laid.angles[0], STANDARD),
        cost=DEGREE_WORTH,
        least=math.radians(problem.least_bend_deg(len(route) - 2)),
        most=math.radians(problem.bend_range[1]),
        turns=nearest_turns(laid, problem.turn_step_deg),
    )


def _loose(route: Array, problem: RouteProblem) -> AngleTargets:
    return replace(_paid(route, problem), cost=0.0)


def _over_both_axes(problem: RouteProblem) -> Array:
    """Return routes of two bends, vertices spread along both axes, (n, 4, 3) [mm]."""
    start, goal = problem.start, problem.goal
    effort = problem.effort.laying_out
    places = effort.axis_places
    shares = (np.arange(places) / (places - 1)) ** 2 * effort.axis_furthest
    out, home = (grid.ravel() for grid in np.meshgrid(shares, shares, indexing="ij"))
    p, q = np.asarray(start.seat), np.asarray(goal.seat)
    first = p + (start.straight + out)[:, None] * np.asarray(start.direction)
    second = q + (goal.straight + home)[:, None] * np.asarray(goal.direction)
    ends = [np.broadcast_to(seat, first.shape) for seat in (p, q)]
    routes = np.stack([ends[0], first, second, ends[1]], axis=1)
    laid = lay(routes, radius=problem.bend_radius)
    kept: Array = routes[laid.angles.max(axis=1) <= math.radians(problem.bend_range[1])]
    return kept


def nearly_square(problem: RouteProblem) -> Iterator[tuple[Array, AngleTargets]]:
    """Yield square routes between ports moved into line, bent back on to the true ones.

    The far port is moved in those axes in which it nearly agrees with the near one. As
    the tube comes to lie elsewhere by as much, so much less clearance is asked for.
    """
    run = square_run(problem)
    if run is None:
        return
    axes = run.frame.rotation.T
    miss = axes @ np.asarray(difference(problem.start.seat, problem.goal.seat))
    near = [a for a in range(3) if TOUCH < abs(miss[a]) <= NEARLY_IN_LINE]
    shift = sum((miss[a] * axes[a] for a in near), np.zeros(3))
    moved = replace(
        problem,
        goal=replace(problem.goal, seat=point(np.asarray(problem.goal.seat) + shift)),
        clearance=max(problem.clearance - float(np.linalg.norm(shift)), 0.0),
    )
    for route in _lattice_routes(moved):
        if len(route) > 3 or not near:
            route[-2:] -= shift
            yield route, _preferred(route, problem)


def _lattice_routes(problem: RouteProblem) -> Iterator[Array]:
    """Yield the lattice's shortest routes of every bend count, a few of each."""
    run = square_run(problem)
    if run is None:
        return
    field = lattice_field(run)
    counts: Counter[int] = Counter()
    for meeting in meetings(field, bends=problem.max_bends):
        counts[meeting.bends] += 1
        if counts[meeting.bends] <= problem.effort.laying_out.bent_back:
            route = points_array(vertices(field, meeting)) @ run.frame.rotation.T
            yield np.concatenate(
                [[problem.start.seat], route[1:-1], [problem.goal.seat]]
            )
