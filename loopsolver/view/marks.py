"""What was clicked to measure from and to, and how far it is from one to the other."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.vectors import Point, point
from loopsolver.tolerances import PARALLEL_SINE


@dataclass(frozen=True, slots=True, kw_only=True)
class ClickedMark:
    """What was clicked to measure from or to.

    Attributes
    ----------
    name : str
    at : Point
        The place; of an axis the one nearest to the click [mm].
    along : Point or None
        Of an axis its direction, unit length; None of a place.
    within : float
        Radius of the tube within which it lies: it is drawn so large that it is seen [mm].
    """

    name: str
    at: Point
    along: Point | None = None
    within: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredSpan:
    """From where to where is measured [mm]."""

    start: Point
    end: Point

    @property
    def way(self) -> Point:
        """From start to end along the case's axes [mm]."""
        return point(np.subtract(self.end, self.start))

    @property
    def length(self) -> float:
        """The straight distance [mm]."""
        return math.dist(self.start, self.end)


def span(first: ClickedMark, second: ClickedMark) -> MeasuredSpan:
    """Return the least span between two marks, axes going on for ever.

    Between axes that are parallel it starts where the first was clicked.

    Notes
    -----
    Of two axes p + s u and q + t v the feet are where (q + t v) - (p + s u) is square to
    both: with w = q - p and c = u.v, ``s = (w.u - c w.v) / (1 - c c)`` and
    ``t = (c w.u - w.v) / (1 - c c)``.
    """
    p, q = np.asarray(first.at), np.asarray(second.at)
    w = q - p
    if first.along is None and second.along is None:
        return MeasuredSpan(start=first.at, end=second.at)
    if first.along is None or second.along is None:
        u = np.asarray(first.along or second.along)
        if second.along is None:
            return MeasuredSpan(start=point(p + (w @ u) * u), end=second.at)
        return MeasuredSpan(start=first.at, end=point(q - (w @ u) * u))
    u, v = np.asarray(first.along), np.asarray(second.along)
    c = float(u @ v)
    rest = float(np.sum(np.cross(u, v) ** 2))
    if rest < PARALLEL_SINE:
        return MeasuredSpan(start=first.at, end=point(q - (w @ v) * v))
    s, t = (w @ u - c * (w @ v)) / rest, (c * (w @ u) - w @ v) / rest
    return MeasuredSpan(start=point(p + s * u), end=point(q + t * v))
