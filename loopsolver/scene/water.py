"""What a scene says of its coolant: the liquid, the parts' figures, how it is filled."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import Point
from loopsolver.scene.axes import Side

Liquid = Literal["water", "ethylene glycol", "propylene glycol"]

CurvePoint = tuple[float, float]
"""A flow [L/min] and the pressure at it [kPa]."""

Curve = tuple[CurvePoint, ...]
"""Points in the order of their flows, each flow once."""

TAP_WATER: Final = 0.998207
"""Density of water at 20 °C and 101 325 Pa [g/mL], IAPWS-95."""


def rising_stretches(pump: Curve) -> tuple[tuple[CurvePoint, CurvePoint], ...]:
    """Return the stretches of a pump's curve on which its pressure grows with the flow."""
    return tuple((one, more) for one, more in pairwise(pump) if more[1] > one[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Coolant:
    """What goes round.

    Attributes
    ----------
    share : float
        Glycol by mass [per cent]; 0 for water.
    temperature_c : float
        Where it enters the pump [°C].
    flow_l_min : float or None
        Stated flow; None: it follows from the pumps.
    """

    liquid: Liquid = "water"
    share: float = 0.0
    temperature_c: float = 30.0
    flow_l_min: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPlace:
    """A port or point that is open.

    Attributes
    ----------
    name : str
        The full one, ``tank.fill``.
    position : Point
        In the case frame [mm].
    direction : Point or None
        Out of the port, unit length; None for a point, which has no width.
    """

    name: str
    position: Point
    direction: Point | None

    @property
    def component(self) -> str:
        """The name of the component that has it."""
        return self.name.split(".", 1)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """How a loop is filled and drained.

    Attributes
    ----------
    vent, drain : OpenPlace or None
        What is open to the air, and what to drain by.
    tilts : tuple of Side
        Sides that may be turned to the floor, each once, in the order written.
    """

    vent: OpenPlace | None = None
    drain: OpenPlace | None = None
    tilts: tuple[Side, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """What is known of a part as the coolant sees it; what is not stated is None.

    Attributes
    ----------
    pump : Curve
        Flow and the pressure that the part gives at it; empty: it is no pump.
    loss : Curve
        Flow and the pressure that the part takes; one point means a square law; empty:
        not known.
    stated_volume_ml : float or None
    weighed_g : pair of float or None
        Empty, and full of water.
    heat_w : float, "rest" or None
        Given to the coolant, negative: taken from it.
    limit_kpa : float or None
        The maker's greatest air pressure, above the air outside.
    spaces : tuple of Solid
        Where the coolant is, in the case frame; empty: the part's bodies.
    """

    pump: Curve = ()
    loss: Curve = ()
    stated_volume_ml: float | None = None
    weighed_g: tuple[float, float] | None = None
    heat_w: float | Literal["rest"] | None = None
    limit_kpa: float | None = None
    spaces: tuple[Solid, ...] = ()

    @property
    def volume_ml(self) -> float | None:
        """The coolant that the part holds, as stated or as weighed; None: not known."""
        if self.weighed_g is None:
            return self.stated_volume_ml
        empty, full = self.weighed_g
        return (full - empty) / TAP_WATER


NOTHING_KNOWN: Final = Water()
"""Of a part of which the scene says nothing."""
