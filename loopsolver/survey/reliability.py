"""Which observations disagree, which are checked by others, and which by none.

An observation is held to its stated spread, never to how its own repeats scatter: of
three values none can be farther than 1.155 of their own standard deviations from their
mean (R. E. Shiffler, The American Statistician 42, 1988), so that no such test alarms.
Tests and limits are those of W. Baarda, A testing procedure for use in geodetic networks,
1968 (from memory): w = |v| / (s sqrt(r)), and r as in `Adjustment.redundancies`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.survey.adjustment import Adjustment, adjust
from loopsolver.survey.chances import (
    ALIKE,
    CRITICAL,
    LEAST_SEEN,
    chi_square_beyond,
)
from loopsolver.survey.network import Observation
from loopsolver.tolerances import FALSE_ALARM, UNCHECKED


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """How far the other observations bear one out. Lengths in millimetres.

    Attributes
    ----------
    observation : Observation
    residual : float
        Adjusted length less the one observed.
    redundancy : float
        The share of it that others check, from 0 (none) to 1.
    score : float
        Baarda's w; 0 where nothing checks it.
    least_seen : float
        The blunder, in all its values alike, that is noticed in 80 of 100 cases;
        infinite where nothing checks it.
    """

    observation: Observation
    residual: float
    redundancy: float
    score: float
    least_seen: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Blame:
    """One observation, or one of its values, that alone may be wrong.

    Attributes
    ----------
    observation : Observation
    value : int or None
        Which of its values, from 0; None: all of them alike.
    too_long : float
        How much too long it was read, if it is this one [mm].
    score : float
        Baarda's w.
    """

    observation: Observation
    value: int | None
    too_long: float
    score: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspicion:
    """A blunder: one of several that the observations cannot tell apart, likeliest first.

    A blunder elsewhere explains what is seen more than seven times less well: the
    misfit that it takes away is short of the likeliest by more than chi-square's 95 of
    100 for one degree of freedom.
    """

    blames: tuple[Blame, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What is wrong with a set of observations.

    Attributes
    ----------
    suspicions : tuple of Suspicion
        Blunders, one after the other: each is sought without those before it.
    scatter : float or None
        How many times their stated spread all others scatter, where that is more than
        chance leaves in 999 of 1000 cases; else None.
    """

    suspicions: tuple[Suspicion, ...]
    scatter: float | None


def checks(adjustment: Adjustment) -> tuple[Checked, ...]:
    """Return how far each observation taken is borne out, in the network's order."""
    rows = zip(
        adjustment.taken,
        adjustment.residuals,
        adjustment.redundancies,
        adjustment.spreads,
        strict=True,
    )
    return tuple(_checked(*row) for row in rows)


def _checked(
    observation: Observation, residual: float, redundancy: float, spread: float
) -> Checked:
    is_checked = redundancy > UNCHECKED
    share = spread * math.sqrt(redundancy)
    return Checked(
        observation=observation,
        residual=float(residual),
        redundancy=float(redundancy) if is_checked else 0.0,
        score=float(abs(residual) / share) if is_checked else 0.0,
        least_seen=float(LEAST_SEEN * spread / math.sqrt(redundancy))
        if is_checked
        else math.inf,
    )


def blames(adjustment: Adjustment) -> tuple[Blame, ...]:
    """Return every observation, and value of several, that others check: worst first."""
    found = [
        blame
        for one in checks(adjustment)
        for blame in (*_whole(one), *_single_values(one))
    ]
    return tuple(sorted(found, key=lambda one: -one.score))


def _whole(one: Checked) -> Iterator[Blame]:
    if one.redundancy:
        yield Blame(
            observation=one.observation,
            value=None,
            too_long=-one.residual / one.redundancy,
            score=one.score,
        )


def _single_values(one: Checked) -> Iterator[Blame]:
    """Yield each of several values, checked by the others and by its like."""
    values = one.observation.values
    if len(values) < 2:
        return
    share = 1.0 - (1.0 - one.redundancy) / len(values)
    adjusted = one.observation.length + one.residual
    for number, value in enumerate(values):
        off = value - one.observation.zero - adjusted
        score = abs(off) / (one.observation.spread * math.sqrt(share))
        yield Blame(
            observation=one.observation,
            value=number,
            too_long=off / share,
            score=score,
        )


def judged(adjustment: Adjustment) -> Judgement:
    """Return the blunders among all observations, and whether the others scatter more.

    At most one is laid aside a round, and all are adjusted again without it (data
    snooping). Where those that are left still scatter more than was stated, only what
    stands out of that scatter is a blunder.
    """
    found: list[Suspicion] = []
    left = adjustment
    while left.freedom and (every := blames(left)) and every[0].score > CRITICAL:
        found.append(_suspicion(every))
        left = adjust_without(left, every[0])
    chance = chi_square_beyond(left.misfit, left.freedom)
    scatter = left.scatter if chance < FALSE_ALARM else None
    beyond = CRITICAL * (scatter or 1.0)
    kept = tuple(one for one in found if one.blames[0].score > beyond)
    if scatter is not None:
        scatter = adjustment.scatter if not kept else scatter
    return Judgement(suspicions=kept, scatter=scatter)


def _suspicion(every: Sequence[Blame]) -> Suspicion:
    least = every[0].score ** 2 - ALIKE
    return Suspicion(blames=tuple(one for one in every if one.score**2 >= least))


def adjust_without(adjustment: Adjustment, blame: Blame) -> Adjustment:
    """Return the adjustment without what is blamed: a value, or an observation."""
    network, blamed = adjustment.network, blame.observation
    left = [one for one in network.observations if one is not blamed]
    if blame.value is not None:
        place = network.observations.index(blamed)
        values = blamed.values[: blame.value] + blamed.values[blame.value + 1 :]
        left.insert(place, replace(blamed, values=values))
    return adjust(replace(network, observations=tuple(left)))


def unchecked(
    adjustment: Adjustment, goal: str, *, start: str | None = None
) -> tuple[tuple[Observation, ...], ...]:
    """Return what no other observation checks in a point's place, for each axis.

    A blunder in one of these moves the point along that axis, unseen. From `start` on,
    where one is given: what a tube between the two feels.
    """
    rows = adjustment.slopes_between(start, goal)
    weights = adjustment.design / adjustment.spreads[:, None] ** 2
    gains = np.abs(rows @ adjustment.covariance @ weights.T)
    alone = adjustment.redundancies <= UNCHECKED
    return tuple(
        tuple(adjustment.taken[number] for number in np.flatnonzero(told))
        for told in (gains > UNCHECKED) & alone
    )


def correction(adjustment: Adjustment, blame: Blame) -> Array:
    """Return how the unknowns move if what is blamed is wrong, and left out [mm]."""
    number = next(
        number
        for number, one in enumerate(adjustment.taken)
        if one is blame.observation
    )
    share = 1.0 if blame.value is None else 1.0 / len(blame.observation.values)
    weight = share * blame.too_long / adjustment.spreads[number] ** 2
    moved: Array = -weight * (adjustment.covariance @ adjustment.design[number])
    return moved
