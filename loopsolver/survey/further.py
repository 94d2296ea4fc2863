"""What to measure further: what would hold, what would settle, what would help most."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.geometry.vectors import AXES
from loopsolver.survey.adjustment import Adjustment, adjust
from loopsolver.survey.chances import ALIKE
from loopsolver.survey.network import Observation
from loopsolver.survey.reliability import Suspicion, correction
from loopsolver.tolerances import HELD_SHARE, TIDY_DECIMALS

PointPairs = Sequence[tuple[str, str]]
"""Two points each, between which a tube is to fit: what a reading is to help."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What one further observation would do.

    Attributes
    ----------
    observation : Observation
        Without values.
    before, after : float
        How far off the goals of all pairs lie from their starts, as the root of the
        mean square over the pairs, without it and with it [mm]; infinite where nothing
        holds one.
    """

    observation: Observation
    before: float
    after: float


def possible(
    adjustment: Adjustment, points: Iterable[str], *, spread: float
) -> Iterator[Observation]:
    """Yield what can be measured between some points: straight, and along each axis.

    Along an axis it leads the way in which it reads above 0, as the places are.
    """
    for first, second in itertools.combinations(points, 2):
        way = np.subtract(adjustment.position(second), adjustment.position(first))
        yield _between(first, second, axis="", spread=spread)
        for axis, part in zip("xyz", way, strict=True):
            ends = (first, second) if part >= 0.0 else (second, first)
            yield _between(*ends, axis=axis, spread=spread)


def _between(start: str, goal: str, *, axis: str, spread: float) -> Observation:
    how = f" along {axis}" if axis else ""
    return Observation(
        name=f"{start} to {goal}{how}",
        start=start,
        goal=goal,
        along=AXES[f"+{axis}"] if axis else None,
        values=(),
        spread=spread,
    )


def gains(
    adjustment: Adjustment, candidates: Iterable[Observation], *, pairs: PointPairs
) -> tuple[Gain, ...]:
    """Return what each candidate would do for the pairs, the most helpful first.

    Notes
    -----
    One observation more of slope g and spread s lowers a covariance Q by
    Q g g' Q / (s^2 + g' Q g) (Sherman and Morrison, 1950).
    """
    every = tuple(candidates)
    rows = np.vstack([adjustment.slopes_between(*pair) for pair in pairs])
    moves = rows @ adjustment.adrift.T
    before = float(np.sum((rows @ adjustment.covariance) * rows))
    slopes = adjustment.slopes(every)
    shifts = slopes @ adjustment.covariance
    variances = np.array([one.spread**2 for one in every], dtype=np.float64)
    variances += np.sum(shifts * slopes, axis=1)
    lowered = np.sum((shifts @ rows.T) ** 2, axis=1) / variances
    holds = np.sum((slopes @ adjustment.adrift.T @ moves.T) ** 2, axis=1)
    order = sorted(
        range(len(every)),
        key=lambda number: (
            -round(float(holds[number]), TIDY_DECIMALS),
            -round(float(lowered[number]), TIDY_DECIMALS),
        ),
    )
    is_held = not np.any(np.abs(moves) > math.sqrt(HELD_SHARE))

    def off(variance: float) -> float:
        return math.sqrt(max(0.0, variance) / len(pairs)) if is_held else math.inf

    return tuple(
        Gain(
            observation=every[number],
            before=off(before),
            after=off(before - float(lowered[number])),
        )
        for number in order
    )


def most_helpful(
    adjustment: Adjustment, candidates: Iterable[Observation], *, pairs: PointPairs
) -> Gain | None:
    """Return the one further observation that would help the pairs most, if any does."""
    return next(iter(gains(adjustment, candidates, pairs=pairs)), None)


def in_order(
    adjustment: Adjustment,
    candidates: Sequence[Observation],
    *,
    pairs: PointPairs,
    most: int,
) -> tuple[Gain, ...]:
    """Return what to measure one after the other: each helps most after those before."""
    left, told = list(candidates), []
    for _ in range(min(most, len(left))):
        gain = most_helpful(adjustment, left, pairs=pairs)
        if gain is None:
            break
        told.append(gain)
        left.remove(gain.observation)
        (length,) = adjustment.lengths([gain.observation]).tolist()
        read = replace(gain.observation, values=(length + gain.observation.zero,))
        network = adjustment.network
        observations = (*network.observations, read)
        adjustment = adjust(replace(network, observations=observations))
    return tuple(told)


def settling(
    adjustment: Adjustment, suspicion: Suspicion, candidates: Iterable[Observation]
) -> Observation | None:
    """Return the further observation that tells best which of the blamed is wrong.

    None where none of the candidates would tell any two of them apart: what it would
    read differs by less than two spreads of that difference.
    """
    every = tuple(candidates)
    moves = np.array([correction(adjustment, one) for one in suspicion.blames])
    slopes = adjustment.slopes(every)
    variances = np.array([one.spread**2 for one in every], dtype=np.float64)
    variances += np.sum((slopes @ adjustment.covariance) * slopes, axis=1)
    told = np.ptp(slopes @ moves.T, axis=1) ** 2 / variances
    if not told.size or np.max(told) <= ALIKE:
        return None
    return every[int(np.argmax(np.round(told, TIDY_DECIMALS)))]


def holding(
    adjustment: Adjustment, candidates: Iterable[Observation]
) -> tuple[tuple[Observation, ...], ...]:
    """Return for each loose coordinate, in their order, the candidates that hold it."""
    every = tuple(candidates)
    held = np.abs(adjustment.slopes(every) @ adjustment.adrift.T) > math.sqrt(
        HELD_SHARE
    )
    return tuple(
        tuple(one for one, does in zip(every, column, strict=True) if does)
        for column in held.T
    )
