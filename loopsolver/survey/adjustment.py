"""Where all points stand, from all observations at once, and how surely.

Weighted least squares by Gauss and Newton: the sum of ((f(x) - l) / s)^2 is least, with f
the length that the places x give, l the one observed and s its spread. Several values of
one observation count as their mean, whose spread is s / sqrt(n); what they differ among
themselves joins the misfit and its freedom. See P. R. Wolf and C. D. Ghilani, Adjustment
Computations, chapters 11 and 14 (from memory), and JCGM 100:2008 for what is propagated.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Point, point
from loopsolver.survey.least_squares import Layout, inverse, settled
from loopsolver.survey.network import Network, Observation
from loopsolver.tolerances import HELD_SHARE, TIDY_DECIMALS

_NUDGE: Final = 1.0  # [mm] out of a place where a straight distance has no slope


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """What no observation holds.

    Attributes
    ----------
    point : str
        The station of which one coordinate is taken as it was to begin with.
    axis : int
        Which, 0 to 2.
    moves : tuple of (str, int)
        All coordinates, this one first, that would move with it, by station and axis.
    """

    point: str
    axis: int
    moves: tuple[tuple[str, int], ...]


@dataclass(frozen=True, kw_only=True)
class Adjustment:
    """The adjusted places, with all that tests and forecasts need.

    Attributes
    ----------
    network : Network
    taken : tuple of Observation
        The observations with values, a row each of what follows.
    places : ndarray, (stations, 3)
        Adjusted places [mm].
    covariance : ndarray, (unknowns, unknowns)
        Of the unknowns, from the stated spreads [mm^2]; nothing for what is loose.
    adrift : ndarray, (loose, unknowns)
        How the unknowns move where a coordinate that nothing holds moves by 1.
    """

    network: Network
    taken: tuple[Observation, ...] = field(repr=False)
    places: Array = field(repr=False)
    covariance: Array = field(repr=False)
    adrift: Array = field(repr=False)
    _layout: Layout = field(repr=False)

    @property
    def unknowns(self) -> tuple[tuple[str, int], ...]:
        """Station and axis of every coordinate sought."""
        return self._layout.unknowns

    @property
    def loose(self) -> tuple[Loose, ...]:
        """What no observation holds; empty where all is held."""
        return tuple(_loose(vector, self.unknowns) for vector in self.adrift)

    @property
    def spreads(self) -> Array:
        """The spread of each row's mean: s / sqrt(n) [mm]."""
        return self._layout.spreads

    @cached_property
    def design(self) -> Array:
        """How each row's length changes with each unknown, (rows, unknowns)."""
        return self._layout.design(self.places)

    @cached_property
    def residuals(self) -> Array:
        """Adjusted length less the observed mean, of each row [mm]."""
        return self._layout.lengths(self.places) - self._layout.observed

    @cached_property
    def redundancies(self) -> Array:
        """The share of each row that the other rows check, from 0 to 1.

        r = 1 - (A Q A')_ii / s_i^2. Their sum is rows less unknowns held.
        """
        variances = self._layout.variances(self.places, self.covariance)
        shares: Array = np.clip(1.0 - variances / self.spreads**2, 0.0, 1.0)
        return shares

    @cached_property
    def freedom(self) -> int:
        """How many values there are more than are needed, repeats included."""
        values = sum(len(one.values) for one in self.taken)
        return values - len(self.unknowns) + len(self.adrift)

    @cached_property
    def misfit(self) -> float:
        """The sum of ((adjusted - observed) / spread)^2 over all values."""
        between = float(np.sum((self.residuals / self.spreads) ** 2))
        return between + math.fsum(_within(one) for one in self.taken)

    @property
    def scatter(self) -> float:
        """How many times the stated spread the values scatter; 1 where none is to spare."""
        return math.sqrt(self.misfit / self.freedom) if self.freedom else 1.0

    def position(self, point_name: str) -> Point:
        """Return where a point stands, without the last bits that sums leave [mm]."""
        station, offset = self.network.stand(point_name)
        place = self.places[station] + offset
        return point(round(value, TIDY_DECIMALS) + 0.0 for value in place)

    def position_covariance(self, point_name: str) -> Array:
        """Return the covariance of a point's place, (3, 3) [mm^2].

        Infinite along an axis along which nothing holds it.
        """
        return self._spread_of(self._rows(point_name))

    def relative_covariance(self, start: str, goal: str) -> Array:
        """Return the covariance of goal's place less start's, (3, 3) [mm^2].

        What a tube between them feels. Infinite as for `position_covariance`, though
        not where both are loose alike.
        """
        return self._spread_of(self.slopes_between(start, goal))

    def slopes_between(self, start: str | None, goal: str) -> Array:
        """Return how goal's place, less start's, changes with the unknowns."""
        rows = self._rows(goal)
        return rows if start is None else rows - self._rows(start)

    def slopes(self, observations: Sequence[Observation]) -> Array:
        """Return how lengths, taken or not, change with the unknowns, a row each."""
        return Layout.of(self.network, tuple(observations)).design(self.places)

    def lengths(self, observations: Sequence[Observation]) -> Array:
        """Return what observations' lengths are between the adjusted places [mm]."""
        return Layout.of(self.network, tuple(observations)).lengths(self.places)

    def _rows(self, point_name: str) -> Array:
        """Return how a point's place changes with the unknowns, (3, unknowns)."""
        station = self.network.stations[self.network.stand(point_name)[0]].name
        places = [(station, axis) for axis in range(3)]
        return np.array(
            [[float(one == place) for one in self.unknowns] for place in places]
        ).reshape(3, -1)

    def _spread_of(self, rows: Array) -> Array:
        spread = rows @ self.covariance @ rows.T
        moves = np.abs(rows @ self.adrift.T) > math.sqrt(HELD_SHARE)
        adrift = np.any(moves, axis=1)
        spread[adrift, adrift] = math.inf
        return spread


def adjust(network: Network) -> Adjustment:
    """Return the places that all observations together make most likely.

    What no observation holds stays where its station starts, and is told in `loose`.
    """
    taken = tuple(one for one in network.observations if one.is_taken)
    layout = Layout.of(network, taken)
    places = settled(layout, layout.starts)
    normal = layout.normal(places)
    covariance, null = inverse(normal)
    if null.size and not all(one.along for one in taken):
        moved = layout.moved(places, _NUDGE * np.sum(null, axis=0))
        places = settled(layout, moved)
        covariance, null = inverse(layout.normal(places))
    return Adjustment(
        network=network,
        taken=taken,
        places=places,
        covariance=covariance,
        adrift=null,
        _layout=layout,
    )


def _loose(vector: Array, unknowns: tuple[tuple[str, int], ...]) -> Loose:
    own = unknowns[int(np.flatnonzero(vector == 1.0)[-1])]
    moving = np.flatnonzero(np.abs(vector) > math.sqrt(HELD_SHARE))
    others = (unknowns[number] for number in moving if unknowns[number] != own)
    return Loose(point=own[0], axis=own[1], moves=(own, *others))


def _within(one: Observation) -> float:
    """Return the squares that repeated values differ by from their own mean."""
    mean = one.length + one.zero
    return math.fsum(((value - mean) / one.spread) ** 2 for value in one.values)
