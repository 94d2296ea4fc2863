"""How likely a tube goes into both fittings without force, and what decides that.

What its fittings are asked to take, each as a share of its limits, is least where the tube
sits best; it grows in proportion to the errors. All errors together are normal, so that
along a direction drawn evenly from their sphere the chance is that of a chi-square
distribution, and the mean over directions is the chance of the tube: importance by lines,
as in P. Bjerager, Probability integration by directional simulation, J. Eng. Mech. 114
(1988) (from memory). The directions are fixed, so that equal input gives equal chances.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Final, NamedTuple

import numpy as np

from loopsolver.fitup.minimax import Least, Limits, least_share
from loopsolver.fitup.placement import Seating
from loopsolver.fitup.seating import seating_of, with_bores
from loopsolver.fitup.spread import Errors, Source, errors_of
from loopsolver.geometry.vectors import Array
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.port_spreads import PortSpreads
from loopsolver.tolerances import NO_SHARE, ORDER_DECIMALS

WANTED: Final = 0.9
"""The chance at which a spread is as much as a tube stands."""

KNOWN_TO: Final = 0.24
"""How far a spread itself usually lies off that somebody tells of ten bends, as a share.

JCGM 100:2008, table E.1, for ten observations.
"""

_FREEDOM: Final = 6  # readings less what moves leave of them is 5; even, to be summed
_TURNS: Final = 2  # of the lines, turned at random
_SEED: Final = 20090
_SURE: Final = 500.0  # half a square of spreads beyond which nothing lies
_LEAST_TIMES: Final = 0.01
_MOST_TIMES: Final = 100.0
_HALVINGS: Final = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """What has a part in tubes that do not go in.

    Attributes
    ----------
    source : Source
    part : float
        Of what the fittings are asked for where a tube just does not go in, from 0 to 1.
    """

    source: Source
    part: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How likely a tube goes in without force, by the stated spreads.

    Attributes
    ----------
    likely : float
        As stated, 0 to 1.
    least, most : float
        Where bores are narrower and bends worse, or wider and better, by their spreads.
    stands : float
        So many times the stated spread 9 of 10 still go in.
    causes : tuple of Cause
        The greatest part first.
    """

    likely: float
    least: float
    most: float
    stands: float
    causes: tuple[Cause, ...]


def chance_of(scene: Scene, candidate: Candidate, ports: PortSpreads | None) -> Chance:
    """Return how likely a candidate's tube goes in without force.

    Parameters
    ----------
    scene : Scene
    candidate : Candidate
        With what holds its ends.
    ports : PortSpreads or None
        The scene's own; None for a scene made in Python.

    Raises
    ------
    LoopsolverError
        If what holds an end is not settled, or nothing says where a port is.
    """
    seating = seating_of(scene, candidate)
    errors = errors_of(scene, candidate, seating, ports)
    bore = scene.spread.bore
    cases = (
        _Case(seating.limits, errors),
        _case(seating, errors, wider=-bore, worse=1.0 + KNOWN_TO),
        _case(seating, errors, wider=bore, worse=1.0 - KNOWN_TO),
    )
    stated, *others = _asked(cases)
    likely = _chance(stated.shares)
    least, most = (_chance(one.shares) for one in others)
    return Chance(
        likely=likely,
        least=min(least, likely),
        most=max(most, likely),
        stands=_stands(stated.shares),
        causes=_causes(errors, stated),
    )


class _Case(NamedTuple):
    """What fittings take, and the errors that ask for it."""

    limits: Limits
    errors: Errors


def _case(seating: Seating, errors: Errors, *, wider: float, worse: float) -> _Case:
    """Return the case of other bores [mm], and bends so many times as far off."""
    bent = errors.bent(worse=worse)
    if not seating.is_bored:
        return _Case(seating.limits, bent)
    factors = seating.widths / with_bores(seating, wider=wider).widths
    rows = factors[:, None] * seating.limits.rows
    return _Case(replace(seating.limits, rows=rows), bent.measured_by(factors))


def _asked(cases: Sequence[_Case]) -> list[Least]:
    """Return what fittings are asked for along each direction, one spread off, by case.

    Where the limits are the same all is asked at once, which is quicker.
    """
    values = [_along_directions(*case) for case in cases]
    if any(case.limits is not cases[0].limits for case in cases):
        pairs = zip(cases, values, strict=True)
        return [least_share(case.limits, one) for case, one in pairs]
    every = least_share(cases[0].limits, np.concatenate(values))
    count = len(every.shares) // len(cases)
    return [
        Least(*(part[count * number : count * (number + 1)] for part in every))
        for number in range(len(cases))
    ]


def _along_directions(limits: Limits, errors: Errors) -> Array:
    """Return readings one spread off along each direction.

    Of the readings only what no move of the tube can change is left, five of them.
    """
    every = np.linalg.qr(limits.rows, mode="complete").Q
    unmoved = every[:, limits.rows.shape[1] :]
    sizes, ways = np.linalg.eigh(unmoved.T @ errors.spread @ unmoved)
    root = ways * np.sqrt(np.maximum(sizes, 0.0)) @ ways.T
    readings: Array = directions()[:, : len(sizes)] @ root @ unmoved.T
    return readings


@cache
def directions() -> Array:
    """Return directions all round, always the same: lines of the E6 lattice, turned.

    Its 36 lines through nearest neighbours are a spherical 5-design: a polynomial up to
    that degree has the mean over them that it has over the sphere. P. Delsarte,
    J. M. Goethals and J. J. Seidel, Spherical codes and designs, Geometriae Dedicata 6
    (1977) (from memory).
    """
    lines = []
    for first, second in itertools.combinations(range(_FREEDOM - 1), 2):
        for sign in (1.0, -1.0):
            line = np.zeros(_FREEDOM)
            line[[first, second]] = 1.0, sign
            lines.append(line)
    lines += [
        np.array([*signs, 0.5 * math.sqrt(3.0)])
        for signs in itertools.product((0.5, -0.5), repeat=_FREEDOM - 1)
        if signs.count(-0.5) % 2 == 0
    ]
    random = np.random.default_rng(_SEED)
    turns, _ = np.linalg.qr(random.standard_normal((_TURNS, _FREEDOM, _FREEDOM)))
    every: Array = (np.array(lines) / math.sqrt(2.0)) @ turns
    return every.reshape(-1, _FREEDOM)


def _chance(shares: Array) -> float:
    """Return the chance that no limit is passed, from shares asked at one spread off.

    Along each direction as many spreads fit in as its share goes into 1; the sum is that
    of chi-square with six degrees of freedom: Abramowitz and Stegun, Handbook of
    Mathematical Functions, 26.4.5 (from memory).
    """
    half = np.minimum(0.5 / np.maximum(shares, NO_SHARE) ** 2, _SURE)
    return float(np.mean(1.0 - np.exp(-half) * (1.0 + half + 0.5 * half**2)))


def _stands(shares: Array) -> float:
    """Return how many times the stated spread leaves the chance that is wanted."""
    low, high = _LEAST_TIMES, _MOST_TIMES
    for _ in range(_HALVINGS):
        middle = math.sqrt(low * high)
        if _chance(shares * middle) < WANTED:
            high = middle
        else:
            low = middle
    return low


def _causes(errors: Errors, asked: Least) -> tuple[Cause, ...]:
    """Return what parts all sources have where the tube just does not go in.

    Each direction counts by how likely errors reach its limit: the squares of its cosines
    are the parts, as in A. M. Hasofer and N. C. Lind, J. Eng. Mech. Div. 100 (1974) (from
    memory).
    """
    half = 0.5 / np.maximum(asked.shares, NO_SHARE) ** 2
    logs = 0.5 * _FREEDOM * np.log(half) - half
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    parts = errors.parts(asked.pulls)
    causes = [
        Cause(source=source, part=float(weights @ part))
        for source, part in parts.items()
    ]
    return tuple(sorted(causes, key=lambda one: -round(one.part, ORDER_DECIMALS)))
