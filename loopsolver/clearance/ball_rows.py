"""Rows of equal balls, as a laid bend is held by them: measured together, not singly."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

import numpy as np

from loopsolver.geometry.solids import Cylinder, Solid
from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import TOUCH


@dataclass(frozen=True, kw_only=True, eq=False)
class BallRow:
    """Balls of one size.

    Attributes
    ----------
    centres : array (n, 3) [mm]
    radius : float [mm]
    """

    centres: Array
    radius: float

    @cached_property
    def bounds(self) -> Array:
        """The lowest and highest x, y, z of the row, (2, 3) [mm]: never write to it."""
        low, high = self.centres.min(axis=0), self.centres.max(axis=0)
        return np.array([low - self.radius, high + self.radius])


def with_rows(solids: Iterable[Solid]) -> tuple[Solid | BallRow, ...]:
    """Return solids, equal balls that follow each other as a row."""
    found: list[Solid | BallRow] = []
    for group in in_rows(solids):
        if len(group) == 1:
            found += group
        else:
            balls = [*map(_cylinder, group)]
            centres = np.array([one.frame.origin for one in balls])
            found.append(BallRow(centres=centres, radius=balls[0].rounding))
    return tuple(found)


def in_rows(solids: Iterable[Solid]) -> Iterator[tuple[Solid, ...]]:
    """Yield solids one by one, but equal balls that follow each other together."""
    for radius, some in groupby(solids, key=_ball_radius):
        if radius is None:
            yield from ((one,) for one in some)
        else:
            yield tuple(some)


def _ball_radius(solid: Solid) -> float | None:
    """Return the radius of a ball, a point grown all round; None of other solids."""
    is_ball = isinstance(solid, Cylinder) and solid.diameter == 0.0 == solid.height
    return _cylinder(solid).rounding if is_ball else None


def _cylinder(solid: Solid) -> Cylinder:
    assert isinstance(solid, Cylinder)
    return solid


def row_stretches(
    row: BallRow, *, axis: int, across: tuple[Array, Array], reach: float
) -> Iterator[tuple[Array, Array]]:
    """Yield the first stretches that a grown row covers on lines, then the second ones.

    They are open and drawn in by `tolerances.TOUCH`; low = inf, high = -inf where a line
    has no more. Balls that overlap on a line cover one stretch of it.

    Parameters
    ----------
    row : BallRow
    axis : int
        Along which the lines lie.
    across : array (m, 1) and array (1, n) [mm]
        The lines' coordinates along the other two axes, in ascending order.
    reach : float [mm]
        By how much the balls are grown.
    """
    first, second = (row.centres[:, other] for other in range(3) if other != axis)
    u, v = across
    apart = (u[:, :, None] - first) ** 2 + (v[:, :, None] - second) ** 2
    half = np.sqrt(np.maximum((row.radius + reach) ** 2 - apart, 0.0)) - TOUCH
    low = np.where(half > 0.0, row.centres[:, axis] - half, np.inf)
    high = np.where(half > 0.0, row.centres[:, axis] + half, -np.inf)
    order = np.argsort(low, axis=-1, kind="stable")
    low = np.take_along_axis(low, order, axis=-1)
    reached = np.maximum.accumulate(np.take_along_axis(high, order, axis=-1), axis=-1)
    begins = np.isfinite(low)
    begins[..., 1:] &= low[..., 1:] > reached[..., :-1]
    number = np.cumsum(begins, axis=-1)
    for each in range(1, int(number.max(initial=0)) + 1):
        own = (number == each) & np.isfinite(low)
        yield (
            np.where(own, low, np.inf).min(axis=-1),
            np.where(own, reached, -np.inf).max(axis=-1),
        )
