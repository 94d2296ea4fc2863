"""What tubes, fittings and parts take of the pressure at a flow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Protocol

from loopsolver.hydraulics.band import NOTHING, Band, exactly
from loopsolver.hydraulics.bends import bend_loss
from loopsolver.hydraulics.friction import friction
from loopsolver.hydraulics.liquids import LiquidState
from loopsolver.scene.water import Curve

L_MIN: Final = 60_000.0
"""Litres a minute in one cubic metre a second."""

DRAWN: Final = 0.0015
"""Roughness of drawn tube [mm]: L. F. Moody, Trans. ASME 66 (1944) 671, from memory."""

CLOSE_DIAMETERS: Final = 10.0
"""Bends with less straight between them, in inside diameters, do not simply add."""

CLOSE_BAND: Final = (0.7, 1.2)
"""What two bends that stand close may cost, against the sum of both: from memory, about
what D. S. Miller's interaction factors reach over."""


class Loss(Protocol):
    """What takes pressure from the coolant that goes through it."""

    def drop(self, flow: float, state: LiquidState) -> Band:
        """Return the pressure that is taken [kPa] at a flow above 0 [L/min]."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeBend:
    """A bend as the coolant meets it.

    Attributes
    ----------
    ratio : float
        Centre-line radius over inside diameter.
    angle : float
        [rad].
    is_close : bool
        Whether another bend is nearer than `CLOSE_DIAMETERS`.
    """

    ratio: float
    angle: float
    is_close: bool = False

    def loss(self, reynolds: float) -> Band:
        """Return its loss coefficient, the friction along its arc included."""
        band = bend_loss(reynolds, self.ratio, self.angle)
        return band.widened(*CLOSE_BAND) if self.is_close else band


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeLoss:
    """A bent tube with its two fittings.

    Attributes
    ----------
    inner_diameter, straight : float
        And the sum of its straights [mm].
    bends : tuple of TubeBend
    fittings : Band
        Loss coefficients of both fittings together, in velocity heads of the tube.
    """

    inner_diameter: float
    straight: float
    bends: tuple[TubeBend, ...] = ()
    fittings: Band = NOTHING

    def velocity(self, flow: float) -> float:
        """Return the mean velocity at a flow [L/min] [m/s]."""
        area = math.pi * (self.inner_diameter / 1000.0) ** 2 / 4.0
        return flow / L_MIN / area

    def reynolds(self, flow: float, state: LiquidState) -> float:
        """Return the Reynolds number at a flow [L/min]."""
        return self.velocity(flow) * self.inner_diameter / 1000.0 / state.kinematic

    def head(self, flow: float, state: LiquidState) -> float:
        """Return the velocity head, rho V² / 2 [kPa]."""
        return state.density * self.velocity(flow) ** 2 / 2000.0

    def friction(self, reynolds: float) -> Band:
        """Return the friction factor of its straights."""
        return friction(reynolds, DRAWN / self.inner_diameter)

    def drop(self, flow: float, state: LiquidState) -> Band:
        """Return the pressure that is taken [kPa] at a flow above 0 [L/min]."""
        reynolds = self.reynolds(flow, state)
        total = self.fittings + self.friction(reynolds).times(
            self.straight / self.inner_diameter
        )
        alike = {bend: self.bends.count(bend) for bend in self.bends}
        for bend, count in alike.items():
            total += bend.loss(reynolds).times(count)
        return total.times(self.head(flow, state))

    def bend_price(self, bend: TubeBend, flow: float, state: LiquidState) -> Band:
        """Return the length of straight tube that costs as much as a bend [mm]."""
        reynolds = self.reynolds(flow, state)
        millimetre = self.friction(reynolds).main / self.inner_diameter
        return bend.loss(reynolds).times(1.0 / millimetre)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveLoss:
    """A part by its stated points.

    Attributes
    ----------
    points : Curve
    thicker : float
        How many times the viscosity of water, with which it was measured, the coolant's
        is; 1 for water.
    heavier : float
        The same for the density.
    """

    points: Curve
    thicker: float = 1.0
    heavier: float = 1.0

    def drop(self, flow: float, state: LiquidState) -> Band:  # noqa: ARG002
        """Return the pressure that is taken [kPa] at a flow above 0 [L/min].

        Between the points a power of the flow, beyond them that of the nearest two; with
        one point its square. Parts are measured with water: where the coolant is thicker
        the least is as measured, the main line as in turbulent flow (Blasius: viscosity
        to the power of 1/4, density of 3/4), the greatest as in laminar flow.
        """
        measured = exactly(stated_drop(self.points, flow))
        turbulent = self.thicker**0.25 * self.heavier**0.75
        return Band(
            low=measured.low,
            main=measured.main * turbulent,
            high=measured.high * max(self.thicker, turbulent),
        )


def stated_drop(points: Curve, flow: float) -> float:
    """Return the pressure that stated points give at a flow above 0 [kPa].

    Examples
    --------
    >>> stated_drop(((4.0, 8.0),), 2.0)
    2.0
    """
    (q_1, p_1), *others = points
    power = 2.0
    for (left, p_left), (right, p_right) in pairwise(points):
        if flow > left or left == points[0][0]:
            q_1, p_1 = left, p_left
            power = math.log(p_right / p_left) / math.log(right / left)
    if others and not points[0][0] <= flow <= points[-1][0]:
        power = min(max(power, 1.0), 2.0)  # from laminar flow to a bored hole
        q_1, p_1 = points[0] if flow < points[0][0] else points[-1]
    return float(p_1 * (flow / q_1) ** power)


def pump_pressure(points: Curve, flow: float) -> float:
    """Return what a pump gives at a flow, straight between its points [kPa].

    Below the first point as there, beyond the last along the last stretch: that ends
    below 0, where the pump is driven by the flow.
    """
    if flow <= points[0][0]:
        return points[0][1]
    for (left, p_left), (right, p_right) in pairwise(points):
        if flow <= right or right == points[-1][0]:
            return p_left + (p_right - p_left) * (flow - left) / (right - left)
    raise AssertionError
