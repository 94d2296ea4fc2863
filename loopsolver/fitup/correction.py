"""The least that mends a bent tube: first without heat, then at one bend, then at two.

A tube that does not go in is not bent anew: one bend that is opened or closed a little,
and turned if need be, most often brings it in, since trims, roll and what the fittings
take do the rest. Every set of bends is tried, of five at most ten pairs; the steps are
those that a builder can set, and the tube with these steps in it is what is placed.

Placing and changing are one second-order cone programme, whose unknowns are the move of
the tube and the changes (see `minimax`). It is solved about the tube as changed so far, a
few rounds, which makes it exact; the steps near its answer are then placed one by one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations, product
from typing import Final, NamedTuple

import numpy as np

from loopsolver.fitup.minimax import MoveLimits
from loopsolver.fitup.placement import Placements, Seating, best_moves, moved, placed
from loopsolver.fitup.socket import Lying
from loopsolver.geometry.vectors import Array, Indices
from loopsolver.tolerances import NO_BEND_DEG
from loopsolver.tube.chain import Chain, Poses, end_jacobian, end_poses

STEP_DEG: Final = 0.5
"""What a builder can set by a template [degrees]. Common practice, no source."""

MOST_CHANGE_DEG: Final = 10.0
"""More than this is no correction of a bend but another bend [degrees].

Common practice, no source.
"""

_STEP: Final = math.radians(STEP_DEG)
_MOST: Final = round(MOST_CHANGE_DEG / STEP_DEG)  # steps either way
_ROUNDS: Final = 3  # of the programme, each about the tube as changed so far
_NEAR: Final = (0, 6, 4, 2, 1)  # steps placed round its answer, by how many change
_HOPELESS: Final = 1.1  # share of the limits from which no steps nearby will do
_TOLD: Final = 2  # ways that are made less: the best, and one beside it
_LESS: Final = (1, 2, 4, 8)  # steps that a change is made less by at once
_CLEARER: Final = 0.1  # part of what fittings take that is worth a second thought


@dataclass(frozen=True, slots=True, kw_only=True)
class Workable:
    """What may be changed of a tube.

    Attributes
    ----------
    bends : tuple of int
        Those that may be heated, counted from 0.
    opens : bool
        Whether a bend may be bent back towards straight.
    turns : bool
        Whether a bend may be turned about the tube before it.
    """

    bends: tuple[int, ...]
    opens: bool = True
    turns: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class BendChange:
    """What is changed of one bend.

    Attributes
    ----------
    bend : int
        Counted from 1.
    angle_deg : float
        Above 0 it is closed, below 0 opened towards straight [degrees].
    turn_deg : float
        Of the bend and all after it about the tube before it; above 0 clockwise, seen
        along the tube from its first end [degrees].
    """

    bend: int
    angle_deg: float = 0.0
    turn_deg: float = 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Correction:
    """One way to mend a tube, and how the mended tube sits.

    Attributes
    ----------
    changes : tuple of BendChange
        A heated bend each, in order; empty where it is only placed.
    chain : Chain
        The tube with the changes in it.
    sits : Placements
        Of this one tube.
    reserve : float
        The room that is asked for, as far as there is any.
    """

    changes: tuple[BendChange, ...]
    chain: Chain
    sits: Placements
    reserve: float = 0.0

    @property
    def bends(self) -> tuple[int, ...]:
        """The bends that are heated, counted from 1."""
        return tuple(one.bend for one in self.changes)

    @property
    def room(self) -> float:
        """The part of what the fittings take that is left over; below 0: it fits not."""
        return float(self.sits.room[0])

    @property
    def order(self) -> tuple[float, ...]:
        """What comes first has least: bends, what lacks of the reserve, turns, degrees."""
        turned = sum(one.turn_deg != 0.0 for one in self.changes)
        total = sum(abs(one.angle_deg) + abs(one.turn_deg) for one in self.changes)
        lacking = max(self.reserve - self.room, 0.0)
        return (len(self.changes), lacking, turned, total, -self.room)


def as_it_is(chain: Chain, seating: Seating) -> Correction:
    """Return how a tube sits best with nothing changed, whether it fits or not."""
    ends = end_poses([chain.straights], [chain.turns], [chain.angles], chain.radius)
    return Correction(changes=(), chain=chain, sits=placed(seating, ends))


def corrections(
    chain: Chain, seating: Seating, *, workable: Workable, reserve: float = 0.0
) -> tuple[Correction, ...]:
    """Return ways to mend a tube by heat, the least first; none where none is found.

    The best one for each bend; where there is none, the best for each pair of bends.
    Every one fits as it is told, in whole steps.

    Parameters
    ----------
    chain : Chain
    seating : Seating
    workable : Workable
    reserve : float
        The part of what the fittings take that is to be left over, where the tube is not
        wholly known; ways that leave less come after those of as many bends.
    """
    bench = _Bench(chain=chain, seating=seating, workable=workable, reserve=reserve)
    one, two = ([*combinations(workable.bends, count)] for count in (1, 2))
    found = bench.of_angles()
    enough = {(one.bends[0] - 1,) for one in found if one.room >= reserve}
    if len(enough) < 2:
        found += bench.mended([bends for bends in one if bends not in enough])
    if not found:
        found = bench.mended(two, turns=False) or bench.mended(two)
    by_bends: dict[tuple[int, ...], Correction] = {}
    for way in sorted(found, key=lambda one: one.order):
        by_bends.setdefault(way.bends, way)
    return tuple(by_bends.values())


def roomier(
    best: Correction, seating: Seating, *, workable: Workable
) -> Correction | None:
    """Return the change of one angle that leaves a tube clearly more room, or None."""
    bench = _Bench(chain=best.chain, seating=seating, workable=workable)
    found = bench.of_angles(by=lambda one: (-one.room,))
    most = min(found, key=lambda one: -one.room, default=best)
    return most if most.room > best.room + _CLEARER else None


_Rank = Callable[[Correction], tuple[float, ...]]
"""What of a correction has to be least."""


class _Answer(NamedTuple):
    """What the programme says: columns of steps that change, by how many, the share."""

    knobs: Sequence[int]
    steps: Array
    share: float


@dataclass(frozen=True, kw_only=True)
class _Bench:
    """A tube, its fittings, and what may be changed.

    Changes are rows of steps: a column for the angle of each bend, then one for its turn.
    """

    chain: Chain
    seating: Seating
    workable: Workable
    reserve: float = 0.0

    @property
    def bends(self) -> int:
        return len(self.chain.angles)

    def of_angles(self, *, by: _Rank = lambda one: one.order) -> list[Correction]:
        """Return the best change of the angle of each bend alone, where there is one."""
        sizes = np.array([size for size in range(-_MOST, _MOST + 1) if size])
        rows = [self._rows([bend], sizes[:, None]) for bend in self.workable.bends]
        return self._best_of(rows, by=by)

    def mended(
        self, sets: Iterable[tuple[int, ...]], *, turns: bool = True
    ) -> list[Correction]:
        """Return the best change of angles, and turns, of each set of bends."""
        answers = self._answers([self._knobs(bends, turns=turns) for bends in sets])
        rows = [
            self._rows(one.knobs, _steps_round(one.steps, _NEAR[len(one.knobs)]))
            for one in answers
            if one.share <= _HOPELESS
        ]
        found = sorted(self._best_of(rows), key=lambda one: one.order)
        return self._made_less(found[:_TOLD])

    def _knobs(self, bends: Sequence[int], *, turns: bool) -> list[int]:
        """Return the columns of what changes; the first turn is how the tube is rolled."""
        turned = (
            [bend for bend in bends if bend] if turns and self.workable.turns else []
        )
        return [*bends, *(self.bends + bend for bend in turned)]

    def _rows(self, knobs: Sequence[int], steps: Indices) -> Indices:
        """Return changes as rows of steps, less those that may not be made."""
        rows = np.zeros((len(steps), 2 * self.bends), dtype=np.intp)
        rows[:, knobs] = steps
        angles, _ = self._amounts(rows)
        least = math.radians(NO_BEND_DEG)
        may = np.abs(rows).max(axis=1) <= _MOST
        may &= ((angles > least) & (angles < math.pi - least)).all(axis=1)
        if not self.workable.opens:
            may &= (rows[:, : self.bends] >= 0).all(axis=1)
        allowed: Indices = rows[may]
        return allowed

    def _amounts(self, rows: Array | Indices) -> tuple[Array, Array]:
        """Return angles and turns of changed tubes [rad]."""
        angles, turns = np.split(_STEP * rows, 2, axis=1)
        return np.array(self.chain.angles) + angles, np.array(self.chain.turns) + turns

    def _ends(self, rows: Array | Indices) -> Poses:
        """Return where the far ends of changed tubes are."""
        straights = np.tile(self.chain.straights, (len(rows), 1))
        angles, turns = self._amounts(rows)
        return end_poses(straights, turns, angles, self.chain.radius)

    def _best_of(
        self, sets: Sequence[Indices], *, by: _Rank = lambda one: one.order
    ) -> list[Correction]:
        """Return the best of each set of changes that bring the tube in, if any do."""
        sizes = [len(rows) for rows in sets]
        if not sum(sizes):
            return []
        every = np.concatenate(list(sets))
        sits = placed(self.seating, self._ends(every))
        found = []
        for numbers in np.split(np.arange(len(every)), np.cumsum(sizes)[:-1]):
            fitting = numbers[sits.fits[numbers]]
            ways = [self._correction(every[n], sits.of(n)) for n in fitting.tolist()]
            found += [min(ways, key=by)] if ways else []
        return found

    def _correction(self, row: Indices, sits: Placements) -> Correction:
        """Return a row of steps as a change of bends."""
        angles, turns = (tuple(one[0].tolist()) for one in self._amounts(row[None]))
        chain = replace(self.chain, angles=angles, turns=turns)
        pairs = (STEP_DEG * row).reshape(2, -1).T.tolist()
        changes = tuple(
            BendChange(bend=number, angle_deg=angle, turn_deg=turn)
            for number, (angle, turn) in enumerate(pairs, start=1)
            if angle or turn
        )
        return Correction(changes=changes, chain=chain, sits=sits, reserve=self.reserve)

    def _made_less(self, found: list[Correction]) -> list[Correction]:
        """Return corrections with their changes made less for as long as they fit."""
        while True:
            rows = [self._less(self._row(one)) for one in found]
            less = {one.bends: one for one in self._best_of(rows)}
            pairs = [(one, less.get(one.bends, one)) for one in found]
            better = [min(pair, key=lambda one: one.order) for pair in pairs]
            if better == found:
                return found
            found = better

    def _row(self, found: Correction) -> Indices:
        """Return a correction as a row of steps."""
        row = np.zeros(2 * self.bends, dtype=np.intp)
        for one in found.changes:
            row[one.bend - 1] = round(one.angle_deg / STEP_DEG)
            row[self.bends + one.bend - 1] = round(one.turn_deg / STEP_DEG)
        return row

    def _less(self, row: Indices) -> Indices:
        """Return changes of which one is less by some steps, on the same bends."""
        bends = np.abs(np.array(np.split(row, 2))).sum(axis=0)
        ways = []
        for knob, by in product(np.flatnonzero(row).tolist(), _LESS):
            few = min(by, abs(int(row[knob])), int(bends[knob % self.bends]) - 1)
            if few > 0:
                less = row.copy()
                less[knob] -= few * np.sign(row[knob])
                ways.append(less)
        return np.array(ways, dtype=np.intp).reshape(-1, len(row))

    def _answers(self, sets: Sequence[Sequence[int]]) -> list[_Answer]:
        """Return by how much each set of columns is best changed, all sets at once.

        A set of fewer columns has some that change nothing.
        """
        if not sets:
            return []
        seating, most = self.seating, max(map(len, sets))
        changes, by = np.zeros((len(sets), 2 * self.bends)), np.zeros((len(sets), most))
        firsts = seating.firsts(len(sets))
        for _ in range(_ROUNDS):
            lying = seating.lying(firsts, self._ends(changes))
            readings = seating.readings(lying, seating.rolls(firsts))
            values = np.concatenate([readings, by], axis=1)
            limits = self._limits(firsts, lying, sets, most)
            moves = best_moves(limits, values)
            firsts = moved(firsts, moves[:, :6], about=seating.drawn.origin)
            by = by + moves[:, 6:]
            for number, knobs in enumerate(sets):
                changes[number, knobs] = by[number, : len(knobs)]
        shares = limits.shares(values + limits.values(moves)).max(axis=1)
        return [
            _Answer(knobs, by[number, : len(knobs)], float(shares[number]))
            for number, knobs in enumerate(sets)
        ]

    def _limits(
        self,
        firsts: Poses,
        lying: Sequence[Lying],
        sets: Sequence[Sequence[int]],
        most: int,
    ) -> MoveLimits:
        """Return the limits of placements with steps of columns as further unknowns.

        A change moves the far end alone: readings of the far fitting change with it.
        """
        seating, count = self.seating, len(sets)
        far = lying[1].changes(seating.drawn.origin) @ self._twists(firsts, lying[1])
        rows = np.zeros((count, 11 + most, 6 + most))
        rows[:, :11, :6] = seating.changes(lying)
        for number, knobs in enumerate(sets):
            ways = slice(6, 6 + len(knobs))
            rows[number, 4:8, ways] = far[number, :4, knobs].T
            rows[number, 9, ways] = far[number, 4, knobs]
        rows[:, 11:, 6:] = np.eye(most)
        steps = np.full(most, float(_MOST))
        return MoveLimits(
            rows=rows,
            low=np.concatenate([seating.limits.low, steps]),
            high=np.concatenate([seating.limits.high, steps]),
        )

    def _twists(self, firsts: Poses, far: Lying) -> Array:
        """Return how far ends move with a step of each column, (sets, 6, columns).

        They turn about the first seat, along the axes of the case.
        """
        turns, moves = (firsts.rotations @ part for part in np.split(self._slopes, 2))
        arms = far.ends - self.seating.drawn.origin
        moves = moves - np.cross(turns, arms[:, :, None], axis=1)
        return np.concatenate([turns, moves], axis=1)

    @cached_property
    def _slopes(self) -> Array:
        """How the far end moves with a step of each column, in the frame of the first."""
        slopes = end_jacobian(self.chain)
        both: Array = _STEP * np.concatenate([slopes.angles, slopes.turns], axis=1)
        return both


def _steps_round(answer: Array, reach: int) -> Indices:
    """Return all whole steps so near to an answer, (ways, knobs)."""
    near = [
        range(middle - reach, middle + reach + 1)
        for middle in np.rint(answer).astype(int)
    ]
    return np.array(list(product(*near)), dtype=np.intp)
