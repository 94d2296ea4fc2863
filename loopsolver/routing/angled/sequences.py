"""Routes whose bend angles and turns are all from a list: sequences of directions.

A bend count has finitely many sequences angle, turn, angle, ... Each gives the tube's
directions against its first leg. It can serve only where its last direction stands to
the first as the ports do, and that settles to which side its first bend goes, unless the
ports are parallel: then several sides are tried. The legs that close it on the ports
solve a linear system; all but as many as it has rows are free, and several lengths of
these are tried.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import combinations, product

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.routing.angled.closed_routes import one_bend_routes, shortest
from loopsolver.routing.angled.partial_routes import AngledRun, sides
from loopsolver.routing.effort.angled import LayingOutEffort
from loopsolver.routing.worth import DIAGONAL_TURN_WORTH
from loopsolver.tolerances import (
    COINCIDENT,
    FLAT,
    NO_SHORTER,
    OUT_OF_PLANE,
    ROUNDING,
    SAME_ANGLE,
)
from loopsolver.tube.setting_out import gain, take_outs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sequences:
    """Sequences laid out in the case, their legs left open.

    Attributes
    ----------
    angles : array (n, bends) [rad]
    directions : array (n, bends + 1, 3)
        From the start's direction to the one in which the tube arrives.
    """

    angles: Array
    directions: Array

    def pick(self, which: Flags) -> _Sequences:
        """Return some of the sequences."""
        return _Sequences(angles=self.angles[which], directions=self.directions[which])


def sequence_routes(
    run: AngledRun, *, step_deg: float, bends: int, below: float = math.inf
) -> tuple[Array, Array]:
    """Return routes of one bend count with the run's angles and turns, and their lengths.

    Turns are multiples of a step. Routes are left out that no shortening makes shorter
    than `below` [mm]: with these directions no tube is, or this is longer by too much.

    Returns
    -------
    vertices : array (n, bends + 2, 3) [mm]
    lengths : array (n,) [mm]
        Developed; the shortest first.
    """
    if bends == 1:
        return one_bend_routes(run)
    problem, most = run.problem, below + run.problem.effort.shortlist.gained
    every = _sequences(run, step_deg, bends)
    if most < math.inf:
        every = every.pick(_least_lengths(run, every) < below - NO_SHORTER)
    begin, end = np.asarray(problem.start.seat), np.asarray(problem.goal.seat)
    least = _least_legs(run, every.angles)
    left = _left(run, every.directions, least)
    saved = _gains(problem.bend_radius, every.angles)
    rows, added = [np.empty(0, dtype=np.intp)], [np.empty((0, bends + 1))]
    for row, longer in _closing(every.directions, left, partial(_tried, run.effort)):
        kept = longer.sum(axis=1) + (least.sum(axis=1) - saved)[row] <= most
        rows.append(row[kept])
        added.append(longer[kept])
    row = np.concatenate(rows)
    legs = least[row] + np.concatenate(added)
    lengths = legs.sum(axis=1) - saved[row]
    best = shortest(lengths, run.effort.most_routes)
    steps = legs[best, :, None] * every.directions[row[best]]
    seats = np.broadcast_to(begin, (len(best), 1, 3))
    routes = np.concatenate([seats, begin + steps.cumsum(axis=1)], axis=1)
    routes[:, -1] = end
    return routes, lengths[best]


def least_worth(run: AngledRun, *, bends: int) -> float:
    """Return the least worth of tubes of a run with turns of a step, room not looked at.

    The length [mm], and what odd turns are worth. Infinite where there are none; of ports
    that are not parallel.
    """
    every = _sequences(run, float(run.problem.turn_step_deg), bends)
    normals = np.cross(every.directions[:, :-1], every.directions[:, 1:])
    normals /= np.linalg.norm(normals, axis=2, keepdims=True)
    cosines = np.einsum("nkc,nkc->nk", normals[:, :-1], normals[:, 1:])
    odd = np.abs(np.abs(cosines) - 0.5) < 0.4  # neither 0 nor 1: of 45 degrees
    worths = _least_lengths(run, every) + DIAGONAL_TURN_WORTH * odd.sum(axis=1)
    return float(worths.min(initial=math.inf))


def _least_lengths(run: AngledRun, every: _Sequences) -> Array:
    """Return how long tubes of sequences are at least, whatever their legs, (n,) [mm].

    Infinite where no legs close one. The least sum of legs is a linear programme, and so
    has all free legs at their least for some choice of these.
    """
    legs = _least_legs(run, every.angles) + run.effort.mended_leg
    left = _left(run, every.directions, legs)
    least = np.full(len(legs), np.inf)
    for row, longer in _closing(every.directions, left, _none_longer):
        np.minimum.at(least, row, longer.sum(axis=1))
    lengths: Array = least + legs.sum(axis=1)
    return lengths - _gains(run.problem.bend_radius, every.angles)


def _left(run: AngledRun, directions: Array, legs: Array) -> Array:
    """Return from where tubes of some legs end to where they should, (n, 3) [mm]."""
    way = np.subtract(run.problem.goal.seat, run.problem.start.seat)
    left: Array = way - np.einsum("nkc,nk->nc", directions, legs)
    return left


def _gains(radius: float, angles: Array) -> Array:
    """Return by how much tubes are shorter than their legs, (n,) [mm]."""
    found, place = np.unique(angles, return_inverse=True)
    each = np.array([gain(radius, angle) for angle in found])[place]
    gains: Array = each.reshape(angles.shape).sum(axis=1)
    return gains


def _least_legs(run: AngledRun, angles: Array) -> Array:
    """Return how short legs may be, (n, bends + 1) [mm]; shortening mends the rest."""
    problem = run.problem
    outs = np.zeros((len(angles), angles.shape[1] + 2))
    outs[:, 1:-1] = take_outs(problem.bend_radius, angles)
    straights = np.full(angles.shape[1] + 1, problem.straight_between_bends)
    straights[[0, -1]] = problem.start.straight, problem.goal.straight
    legs: Array = outs[:, :-1] + straights + outs[:, 1:] - run.effort.mended_leg
    return legs


# ------------------------------------------------------------------------ directions


def _sequences(run: AngledRun, step_deg: float, bends: int) -> _Sequences:
    """Return the sequences that stand to the ports as they must, laid out."""
    start = np.asarray(run.problem.start.direction)
    home = -np.asarray(run.problem.goal.direction)
    turns = np.radians(np.arange(0.0, 360.0, step_deg))
    of_turns = turns[np.indices((len(turns),) * (bends - 1)).reshape(bends - 1, -1).T]
    through = _off_axis(np.array([[home @ start, *_aside(home, start)]]))[0]
    angles, directions = [np.empty((0, bends))], [np.empty((0, bends + 1, 3))]
    for of_angles in _angle_rows(run, bends, len(of_turns)):
        local = _directions(of_angles, of_turns)
        local = local[np.abs(_off_axis(local[:, -1]) - through) < SAME_ANGLE]
        laid = _turned_to_ports(run, local, start, home)
        directions.append(laid)
        angles.append(np.broadcast_to(of_angles, (len(laid), bends)))
    return _Sequences(
        angles=np.concatenate(angles), directions=np.concatenate(directions)
    )


def _aside(direction: Array, along: Array) -> Array:
    """Return what of a direction is square to `along`."""
    aside: Array = direction - (direction @ along) * along
    return aside


def _off_axis(directions: Array) -> Array:
    """Return how far directions are off the first of their coordinates [rad]."""
    off: Array = np.arctan2(np.linalg.norm(directions[:, 1:], axis=1), directions[:, 0])
    return off


def _angle_rows(run: AngledRun, bends: int, turns: int) -> list[tuple[float, ...]]:
    """Return the angles of a sequence's bends: all choices, or as many as will do.

    Of a long list no tube gets more different angles than leave few enough sequences.
    """
    rows: list[tuple[float, ...]] = []
    for kinds in range(1, min(bends, len(run.angles)) + 1):
        more = {
            row
            for some in combinations(run.angles, kinds)
            for row in product(some, repeat=bends)
        }
        if rows and len(more) * turns > run.effort.most_sequences:
            break
        rows = sorted(more)
    return rows


def _directions(angles: tuple[float, ...], turns: Array) -> Array:
    """Return the directions of tubes with bends of some angles, (n, bends + 1, 3).

    The first is along x, the first bend goes to y. Signs as in a bend table: a turn is
    right-handed about the direction of travel.
    """
    travel = np.tile([1.0, 0.0, 0.0], (len(turns), 1))
    normal = np.tile([0.0, 0.0, 1.0], (len(turns), 1))
    found = [travel]
    for number, angle in enumerate(angles):
        if number:
            turn = turns[:, number - 1, None]
            sideways = np.cross(travel, normal)
            normal = np.cos(turn) * normal + np.sin(turn) * sideways
        inward = np.cross(normal, travel)
        travel = math.cos(angle) * travel + math.sin(angle) * inward
        found.append(travel)
    return np.stack(found, axis=1)


def _turned_to_ports(run: AngledRun, local: Array, start: Array, home: Array) -> Array:
    """Return directions in the case, turned about the start's so that they arrive."""
    aside = _aside(home, start)
    if np.linalg.norm(aside) < COINCIDENT:
        between = np.subtract(run.problem.goal.seat, run.problem.start.seat)
        towards = sides(run, start, [between, *np.eye(3)])[0]
        laid = [_in_case(local, start, side) for side in towards]
        return np.concatenate([*laid, np.empty((0, *local.shape[1:]))])
    aside /= np.linalg.norm(aside)
    y, z = local[:, -1, 1, None], local[:, -1, 2, None]
    side = y * aside - z * np.cross(start, aside)
    return _in_case(local, start, side / np.hypot(y, z))


def _in_case(local: Array, start: Array, side: Array) -> Array:
    """Return directions whose x is `start` and whose y is `side`, of one or of each."""
    x, y, z = (local[..., axis, None] for axis in range(3))
    side = side.reshape(-1, 1, 3)
    laid: Array = x * start + y * side + z * np.cross(start, side)
    return laid


# ------------------------------------------------------------------------------ legs

_Tried = Callable[[int, int], Array]
"""From how many legs are free, and of how many systems, to what they are tried longer."""


def _closing(
    directions: Array, left: Array, tried: _Tried
) -> Iterator[tuple[Indices, Array]]:
    """Yield what legs are longer than their least, so that tubes end where they should.

    Of sequences that span space, or a plane in which what is left to close lies.

    Parameters
    ----------
    directions : array (n, legs, 3)
    left : array (n, 3) [mm]
        From where the tube ends with the least legs to where it should.
    tried : callable

    Yields
    ------
    (rows, longer)
        Rows of `directions`, (m,), and for each the lengths, (m, legs) [mm].
    """
    _, sizes, spans = np.linalg.svd(directions, full_matrices=False)
    is_flat = sizes[:, 2] ** 2 < FLAT
    off_plane = np.abs(np.einsum("nc,nc->n", spans[:, 2], left))
    for rank, some in (
        (3, np.flatnonzero(~is_flat)),
        (2, np.flatnonzero(is_flat & (off_plane < OUT_OF_PLANE))),
    ):
        span = spans[some, :rank]
        within = np.einsum("nkc,nrc->nkr", directions[some], span)
        wanted = np.einsum("nc,nrc->nr", left[some], span)
        for row, longer in _longer(within, wanted, tried):
            yield some[row], longer


def _longer(
    within: Array, wanted: Array, tried: _Tried
) -> Iterator[tuple[Indices, Array]]:
    """Yield what legs are longer: some are tried, as many as there are rows follow."""
    count, legs, rank = within.shape
    bases = list(combinations(range(legs), rank))
    trials = tried(legs - rank, max(1, count * len(bases)))
    for basis in bases if count else ():
        free = [leg for leg in range(legs) if leg not in basis]
        matrix = np.swapaxes(within[:, basis], 1, 2)
        good = np.flatnonzero(np.abs(np.linalg.det(matrix)) > FLAT)
        rest = np.concatenate(
            [wanted[good, :, None], -np.swapaxes(within[good][:, free], 1, 2)], axis=2
        )
        answer = np.linalg.solve(matrix[good], rest)
        follow = answer[:, None, :, 0] + np.einsum(
            "nrf,tf->ntr", answer[..., 1:], trials
        )
        row, trial = np.nonzero((follow >= -ROUNDING).all(axis=2))
        longer = np.zeros((len(row), legs))
        longer[:, basis] = follow[row, trial]
        longer[:, free] = trials[trial]
        yield good[row], longer


def _none_longer(free: int, _systems: int) -> Array:
    return np.zeros((1, free))


def _tried(effort: LayingOutEffort, free: int, systems: int) -> Array:
    """Return lengths that free legs are tried longer, (trials, free) [mm].

    As many as there may be, two of each leg at least.
    """
    most = effort.most_closed // systems
    values = np.array(effort.fine_outward if free == 1 else effort.outward, dtype=float)
    count = max(2, int(most ** (1.0 / free))) if free else 1
    if count < len(values):
        values = values[np.linspace(0, len(values) - 1, count).astype(np.intp)]
    return np.array(list(product(values, repeat=free)))
