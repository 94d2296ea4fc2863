"""What to do with a bent tube: how it sits, what mends it, and where it then lies."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from loopsolver.clearance.gap import tube_gap
from loopsolver.fitup.as_bent import AsBent, Believed, as_measured
from loopsolver.fitup.correction import (
    Correction,
    Workable,
    as_it_is,
    corrections,
    roomier,
)
from loopsolver.fitup.placement import Seating
from loopsolver.fitup.seating import seating_of
from loopsolver.geometry.vectors import point
from loopsolver.plan import Plan, PlannedRun
from loopsolver.plan.judging import built_afresh
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tolerances import SAWN, TOUCH
from loopsolver.tube.bend_table import Bend, BendTable, lay_forward
from loopsolver.tube.chain import Chain, chain_of, end_poses
from loopsolver.tube.deformation import least_radius
from loopsolver.tube.marks import heat_reach

_RESERVE: Final = 0.5
"""The part of what fittings take that is left over where a tube is not wholly known.

What is taken for its angles may be off; half the room is what they then take (tried).
"""
_FAR: Final = 1e4  # more than any tube is long: nothing to trim runs out [mm]

Why = Literal["trim", "heat", "wall", "cold", "much"]
"""Why a tube is bent anew: the trim runs out; the heat would reach what must stay cold;
the bends are tighter than the material bears; copper is not bent back; it is too far off.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """Why a bend cannot be heated by itself.

    Attributes
    ----------
    bend : int
        Counted from 1.
    other : int or None
        The bend that the heat reaches, counted from 1; None where it is a fitting's grip.
    end : int
        Which end's fitting: 0 the first, 1 the far one.
    length : float
        How far the heat goes into it [mm].
    """

    bend: int
    other: int | None
    end: int
    length: float


@dataclass(frozen=True, kw_only=True)
class Cure:
    """One way to get a tube in, and where it then lies.

    Attributes
    ----------
    correction : Correction
    tube : Candidate
        As it lies in the case, with the gap to all but tubes.
    far_end_moves : float
        How far the changes move the far end, the first end held [mm].
    nearest_tube : str
        The run whose tube is nearest; empty where there is no other tube.
    tube_gap : float
        To that tube [mm].
    """

    correction: Correction
    tube: Candidate
    far_end_moves: float
    nearest_tube: str = ""
    tube_gap: float = math.inf

    def is_clear(self, clearance: float) -> bool:
        """Return whether it keeps a clearance from everything [mm]."""
        return min(self.tube.gap.distance, self.tube_gap) >= clearance - TOUCH


@dataclass(frozen=True, kw_only=True)
class Advice:
    """What to do with a tube as it was bent.

    Attributes
    ----------
    planned : Chain
        The tube as it is drawn.
    measured : AsBent
    believed : Believed
        The tube as it must be.
    as_it_is : Cure
        How it sits best with nothing changed, whether it fits or not.
    cures : tuple of Cure
        What mends it by heat, the best first, at most two; where it fits as it is, at
        most one that leaves clearly more room.
    reached : tuple of Reached
        Bends that cannot be heated by themselves.
    whys : tuple of Why
        Why it is bent anew; empty where it fits or can be mended.
    lacking : pair of float
        How much longer either end would have to be for it to fit as it is, where nothing
        else is the matter [mm].
    """

    planned: Chain
    measured: AsBent
    believed: Believed
    as_it_is: Cure
    cures: tuple[Cure, ...]
    reached: tuple[Reached, ...]
    whys: tuple[Why, ...]
    lacking: tuple[float, float] = (0.0, 0.0)

    @property
    def fits(self) -> bool:
        """Whether it goes in with nothing changed."""
        return self.as_it_is.correction.room >= 0.0


def advice(
    plan: Plan, run: PlannedRun, candidate: Candidate, measured: AsBent
) -> Advice:
    """Return what to do with a tube that was bent after a candidate of a run.

    Raises
    ------
    LoopsolverError
        If the candidate does not say what holds its ends.
    """
    scene, planned = plan.scene, chain_of(candidate.table)
    believed = as_measured(planned, measured, scene.spread)
    chain = believed.chain
    seating = _with_ends(seating_of(scene, candidate), planned, measured)
    reached = tuple(_reached(planned, chain, scene, seating))
    workable = _workable(chain, scene, reached)
    here = as_it_is(chain, seating)
    found = _found(here, seating, workable, is_known=measured.is_known)
    drawn = _Drawn(plan=plan, run=run, candidate=candidate, seating=seating)
    cures = [drawn.cure(one, before=chain) for one in found]
    # The sort is stable: of those that are clear the least stays first.
    cures.sort(key=lambda cure: not cure.is_clear(scene.rules.clearance))
    is_lost = here.room < 0.0 and not cures
    return Advice(
        planned=planned,
        measured=measured,
        believed=believed,
        as_it_is=drawn.cure(here, before=chain),
        cures=tuple(cures[:2]),
        reached=reached,
        whys=tuple(_whys(chain, scene, seating, workable)) if is_lost else (),
        lacking=_lacking(chain, seating) if is_lost else (0.0, 0.0),
    )


def _found(
    here: Correction, seating: Seating, workable: Workable, *, is_known: bool
) -> tuple[Correction, ...]:
    """Return what mends a tube; of one that fits, what leaves it more room."""
    if here.room >= 0.0:
        more = roomier(here, seating, workable=workable)
        return () if more is None else (more,)
    reserve = 0.0 if is_known else _RESERVE
    return corrections(here.chain, seating, workable=workable, reserve=reserve)


def _with_ends(seating: Seating, planned: Chain, measured: AsBent) -> Seating:
    """Return a seating whose slides are those of the ends that were measured.

    From an end that was measured no more can be left on than there is; as much can come
    off as may come off the planned one, and what it is longer.
    """
    slides = list(seating.slides)
    for end, place in ((0, 0), (1, -1)):
        length = measured.straights[place]
        if length is not None:
            trim = slides[end][0] + length - planned.straights[place]
            slides[end] = (max(trim, SAWN), SAWN)
    first, far = slides
    return replace(seating, slides=(first, far))


def _reached(
    planned: Chain, chain: Chain, scene: Scene, seating: Seating
) -> Iterator[Reached]:
    """Yield which bends cannot be heated without another bend, or a fitting's grip.

    Heat goes one outer diameter beyond the arc, each way (common practice, no source).
    What a fitting grips is reckoned from where the ends are to be cut.
    """
    if not scene.tube.is_bent_hot:
        return
    straights = (planned.straights[0], *chain.straights[1:-1], planned.straights[-1])
    reach, bends = heat_reach(scene.tube.outer_diameter), len(straights) - 1
    for number in range(1, bends + 1):
        for end, beside, other in (
            (0, number - 1, number - 1),
            (1, number, number + 1),
        ):
            is_end = beside in {0, bends}
            depth = seating.sockets[end].depth if is_end else 0.0
            length = reach - (straights[beside] - depth)
            if length > TOUCH:
                yield Reached(
                    bend=number,
                    other=None if is_end else other,
                    end=end,
                    length=length,
                )


def _workable(chain: Chain, scene: Scene, reached: Sequence[Reached]) -> Workable:
    """Return what may be changed of a tube.

    Copper that was bent cold is hard there: it can be bent on, but neither back nor
    turned (common practice, no source). Where the former is tighter than the material
    bears, its bends are left alone.
    """
    cold = {one.bend for one in reached}
    hot = [n for n in range(len(chain.angles)) if n + 1 not in cold]
    if chain.radius < least_radius(scene.tube) - TOUCH:
        hot = []
    is_hot = scene.tube.is_bent_hot
    return Workable(bends=tuple(hot), opens=is_hot, turns=is_hot)


def _whys(
    chain: Chain, scene: Scene, seating: Seating, workable: Workable
) -> Iterator[Why]:
    """Yield what keeps a tube from being mended: each without which it could be."""
    every, endless = Workable(bends=tuple(range(len(chain.angles)))), _endless(seating)
    if not every.bends or as_it_is(chain, endless).room >= 0.0:
        yield "trim"
        return
    if chain.radius < least_radius(scene.tube) - TOUCH:
        yield "wall"
    elif workable.bends != every.bends and corrections(
        chain, seating, workable=replace(workable, bends=every.bends)
    ):
        yield "heat"
    elif not workable.opens and corrections(chain, seating, workable=every):
        yield "cold"
    elif corrections(chain, endless, workable=workable):
        yield "trim"
    else:
        yield "much"


def _endless(seating: Seating) -> Seating:
    """Return a seating in which no trim runs out."""
    return replace(seating, slides=((_FAR, _FAR), (_FAR, _FAR)))


def _lacking(chain: Chain, seating: Seating) -> tuple[float, float]:
    """Return by how much either end is too short to fit; below 0 it cannot be trimmed."""
    sits = as_it_is(chain, _endless(seating)).sits
    if sits.room[0] < 0.0:
        return 0.0, 0.0
    (in_first, out_first), (in_far, out_far) = seating.slides
    first, far = sits.slides[0].tolist()
    return (
        max(first - out_first, 0.0) + min(first + in_first, 0.0),
        max(far - out_far, 0.0) + min(far + in_far, 0.0),
    )


@dataclass(frozen=True, kw_only=True)
class _Drawn:
    """Where a tube is drawn: in which plan, run and candidate, and how it sits there."""

    plan: Plan
    run: PlannedRun
    candidate: Candidate
    seating: Seating

    def cure(self, correction: Correction, *, before: Chain) -> Cure:
        """Return a correction with the tube as it lies in the case."""
        scene, own = self.plan.scene, self.run.name
        tube = built_afresh(
            self.run, self._in_place(correction), scene, file=own, path=()
        )
        gaps = [
            (_gap(scene, tube, other), run.name)
            for run in self.plan.runs
            if run.name != own and (other := run.tube_in_place) is not None
        ]
        gap, name = min(gaps, default=(math.inf, ""))
        return Cure(
            correction=correction,
            tube=tube,
            far_end_moves=_moved(before, correction.chain),
            nearest_tube=name,
            tube_gap=gap,
        )

    def _in_place(self, correction: Correction) -> Candidate:
        """Return a tube trimmed, as far as it can be, and placed as its correction says."""
        chain, sits = correction.chain, correction.sits
        straights = list(chain.straights)
        trims = []
        for end, (within, out) in zip((0, -1), self.seating.slides, strict=True):
            slide = min(max(float(sits.slides[0, end]), -within), out)
            straights[end] += slide
            trims.append(slide)
        frame, origin = sits.firsts.rotations[0], sits.firsts.positions[0]
        line = lay_forward(
            _table(replace(chain, straights=tuple(straights))),
            start=point(origin - trims[0] * frame[:, 2]),
            direction=point(frame[:, 2]),
            first_bend_towards=point(frame[:, 0]),
        )
        return replace(
            self.candidate, centreline=line, trim_allowance=0.0, standard_deg=()
        )


def _gap(scene: Scene, tube: Candidate, other: Candidate) -> float:
    """Return the gap between two tubes [mm]."""
    radius = scene.tube.radius
    gap, _, _ = tube_gap(
        tube.centreline, other.centreline, first_radius=radius, second_radius=radius
    )
    return gap


def _table(chain: Chain) -> BendTable:
    *before, closing = chain.straights
    rows = zip(before, chain.turns, chain.angles, strict=True)
    return BendTable(
        bends=tuple(
            Bend(
                straight=straight,
                rotation_deg=math.degrees(math.remainder(turn, math.tau)),
                angle_deg=math.degrees(angle),
            )
            for straight, turn, angle in rows
        ),
        closing_straight=closing,
        radius=chain.radius,
    )


def _moved(before: Chain, after: Chain) -> float:
    """Return how far the far end of a tube moves as it is changed [mm]."""
    two = (before, after)
    ends = end_poses(
        [one.straights for one in two],
        [one.turns for one in two],
        [one.angles for one in two],
        before.radius,
    )
    return float(np.linalg.norm(np.diff(ends.positions, axis=0)))
