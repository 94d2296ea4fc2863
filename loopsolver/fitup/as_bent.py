"""A bent tube as it must be, from what was measured of it.

Angles, turns and straights that were measured are taken as they were read. What was not
measured is as planned, but for what the miss of the far end says: the least errors, each
weighed by how far it usually lies off, that bring the far end where it was found. That is
the estimate of Gauss and Markov, ``S J' (J S J')^-1 m``, taken again about the tube that
it gives until it meets the miss exactly. A miss is five numbers and a tube has more
errors: which bend is wrong it does not tell, only which far end has to be cured.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Point
from loopsolver.scene.model import Spread
from loopsolver.tube.chain import Chain, end_jacobian, end_poses

_ROUNDS: Final = 6
_NO_WAY: Final = 1e-9  # share of the greatest below which a way cannot be met at all


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBent:
    """What was measured of a bent tube; None for what was not.

    Lengths in millimetres, angles in radians. The miss is counted with the first straight
    and the first bend lying on their sheet: along the first straight, to the side of the
    first bend, and up from the sheet.

    Attributes
    ----------
    straights : tuple of float or None
        One more than there are bends; those at the ends from the bend to the tube's end.
    turns : tuple of float or None
        Before each bend but the first, clockwise above 0.
    angles : tuple of float or None
    miss : Point or None
        How far the far end is off where it is drawn.
    leans : Point or None
        By how much the last straight points off its drawn direction, out of the tube.
    """

    straights: tuple[float | None, ...]
    turns: tuple[float | None, ...]
    angles: tuple[float | None, ...]
    miss: Point | None = None
    leans: Point | None = None

    @property
    def is_known(self) -> bool:
        """Whether the whole shape was measured, but for the lengths of both ends."""
        return None not in (*self.angles, *self.turns, *self.straights[1:-1])

    @property
    def is_miss_alone(self) -> bool:
        """Whether the miss is all that is known of the shape."""
        values = (*self.angles, *self.turns, *self.straights[1:-1])
        return self.miss is not None and not any(one is not None for one in values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Believed:
    """A tube as it must be.

    Attributes
    ----------
    chain : Chain
    strain : float
        The most that any measured value had to be changed to meet the miss, in spreads of
        a reading: above 3 the readings do not go together.
    """

    chain: Chain
    strain: float = 0.0


def as_measured(planned: Chain, measured: AsBent, spread: Spread) -> Believed:
    """Return a tube as it must be, from the one that was planned and what was measured."""
    read = _read(planned, measured)
    if measured.miss is None:
        return Believed(chain=read)
    wanted = _far_end(planned) + _as_found(planned, measured)
    spreads = _covariance(measured, spread)
    rows = slice(0, 6 if measured.leans is not None else 3)
    errors = np.zeros(len(spreads))
    chain = read
    for _ in range(_ROUNDS):
        slopes = _slopes(chain)[rows]
        missing = (wanted - _far_end(chain))[rows] + slopes @ errors
        gain = spreads @ slopes.T
        errors = gain @ np.linalg.pinv(slopes @ gain, rcond=_NO_WAY) @ missing
        chain = _with_errors(read, errors)
    return Believed(chain=chain, strain=_strain(measured, errors, spreads))


def _read(planned: Chain, measured: AsBent) -> Chain:
    """Return the planned tube with the values that were measured."""

    def told(read: Sequence[float | None], drawn: Sequence[float]) -> tuple[float, ...]:
        pairs = zip(read, drawn, strict=True)
        return tuple(other if one is None else one for one, other in pairs)

    return replace(
        planned,
        straights=told(measured.straights, planned.straights),
        turns=told((None, *measured.turns)[: len(planned.turns)], planned.turns),
        angles=told(measured.angles, planned.angles),
    )


def _as_found(planned: Chain, measured: AsBent) -> Array:
    """Return how far place and direction of the far end are off, in the chain's frame.

    On a sheet the first straight runs to the right, the chain's z, and the first bend
    turns to the left, the chain's x: what stands up from it is along the chain's y.
    """
    along, aside, up = measured.miss or (0.0, 0.0, 0.0)
    miss = [aside, up, along]
    ahead, left, high = (math.tan(one) for one in measured.leans or (0.0, 0.0, 0.0))
    drawn = _far_end(planned)[3:]
    found = drawn + np.array([left, high, ahead])
    return np.array([*miss, *(found / np.linalg.norm(found) - drawn)])


def _far_end(chain: Chain) -> Array:
    """Return where a tube's far end is from where its first bend begins, and points."""
    end = end_poses([chain.straights], [chain.turns], [chain.angles], chain.radius)
    place = end.positions[0] - [0.0, 0.0, chain.straights[0]]
    return np.concatenate([place, end.rotations[0, :, 2]])


def _slopes(chain: Chain) -> Array:
    """Return how `_far_end` changes with straights, turns and angles, (6, 3 bends + 1)."""
    slopes = end_jacobian(chain)
    every = np.concatenate([slopes.straights, slopes.turns, slopes.angles], axis=1)
    every[:, 0] = 0.0  # nothing: it is counted from behind the first straight
    every[:, len(chain.straights)] = 0.0  # the first turn: the first bend lies flat
    points = np.cross(every[:3], _far_end(chain)[3:], axis=0)
    return np.concatenate([every[3:], points])


def _covariance(measured: AsBent, spread: Spread) -> Array:
    """Return the covariance of straights, turns and angles before the miss is known."""
    bends = len(measured.angles)
    turns: tuple[float | None, ...] = (0.0, *measured.turns)[:bends]
    spreads = [
        *_spreads(measured.straights, spread.straight, spread.reading),
        *_spreads(turns, spread.turn, spread.square),
        *_spreads(measured.angles, spread.angle, spread.square),
    ]
    covariance = np.diag(np.square(spreads))
    open_ones = np.array([one is None for one in measured.angles], dtype=float)
    angles = slice(len(spreads) - bends, None)
    covariance[angles, angles] += spread.bias**2 * np.outer(open_ones, open_ones)
    return covariance


def _spreads(
    values: Sequence[float | None], of_bending: float, of_reading: float
) -> list[float]:
    return [of_bending if one is None else of_reading for one in values]


def _with_errors(read: Chain, errors: Array) -> Chain:
    straights, turns, angles = np.split(
        errors, np.cumsum([len(read.straights), len(read.turns)])
    )
    return replace(
        read,
        straights=tuple((read.straights + straights).tolist()),
        turns=tuple((read.turns + turns).tolist()),
        angles=tuple((read.angles + angles).tolist()),
    )


def _strain(measured: AsBent, errors: Array, covariance: Array) -> float:
    """Return the most that a measured value was changed, in spreads of a reading."""
    bends = len(measured.angles)
    read = [*measured.straights, *((None, *measured.turns)[:bends]), *measured.angles]
    taken = np.array([one is not None for one in read])
    shares = np.abs(errors) / np.sqrt(np.diag(covariance))
    return float(shares[taken].max(initial=0.0))
