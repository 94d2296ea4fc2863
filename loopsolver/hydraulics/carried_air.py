"""Air that the flow itself carries along a tube: from which flow on, and what is known."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.geometry.vectors import Point, dot
from loopsolver.hydraulics.insides import Insides, tangent
from loopsolver.tube.centreline import BendArc, Straight

PUBLISHED_LEAST: Final = 25.0
"""Inside diameter of the thinnest pipe of which it is published when flow clears air [mm].

May, Allen, Nelson, International Journal of Hydraulic Engineering 7(3), 2018, 51-57.
"""

BOND_LEAST: Final = 0.842
"""Bubbles as wide as an upright tube stick below this ``rho g r^2 / sigma``.

F. P. Bretherton, Journal of Fluid Mechanics 10 (1961), 166-188.
"""

CAPILLARY: Final = 2.71
"""Capillary length of water at 25 °C, ``sqrt(sigma / (rho g))`` [mm]: 72.0 mN/m."""

STICKING: Final = 2.0 * math.sqrt(BOND_LEAST) * CAPILLARY
"""Inside diameter below which bubbles stick even in an upright tube [mm]."""

GRAVITY: Final = 9.80665
"""Standard acceleration of free fall [m/s2] (ISO 80000-3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """From which flow on a tube carries its air down with the coolant.

    Attributes
    ----------
    run : str
    slope_deg : float
        Of its steepest way down, the way it is written.
    flow_l_min : float
    """

    run: str
    slope_deg: float
    flow_l_min: float


def clearing_speed(inner_diameter: float, slope_rad: float) -> float:
    """Return the speed from which coolant carries air down a slope [m/s].

    Parameters
    ----------
    inner_diameter : float
        [mm]
    slope_rad : float
        Below level [rad].

    Notes
    -----
    ``V / sqrt(g D) = 0.825 + 0.25 sqrt(sin(slope))`` (Wisner, Mohsen, Kouwen, Journal
    of the Hydraulics Division, ASCE, 101 HY2, 1975), from pipes of 25 mm and more.
    """
    froude = 0.825 + 0.25 * math.sqrt(math.sin(slope_rad))
    return froude * math.sqrt(GRAVITY * inner_diameter / 1000.0)


def flow_of(speed: float, inner_diameter: float) -> float:
    """Return the flow [L/min] of a speed [m/s] in a bore [mm]."""
    return speed * 0.25 * math.pi * (inner_diameter / 1000.0) ** 2 * 60_000.0


def carrying(inside: Insides, up: Point) -> Iterator[Carried]:
    """Yield of each tube from which flow on it carries air down its steepest way."""
    for bore in inside.bores:
        steepest = max(
            -dot(tangent(one, share), up)
            for one in bore.pieces
            for share in _shares(one)
        )
        slope = math.asin(min(1.0, max(0.0, steepest)))
        diameter = 2.0 * inside.radius
        yield Carried(
            run=bore.name,
            slope_deg=math.degrees(slope),
            flow_l_min=flow_of(clearing_speed(diameter, slope), diameter),
        )


def _shares(piece: Straight | BendArc) -> Sequence[float]:
    return (0.0,) if isinstance(piece, Straight) else (0.0, 0.25, 0.5, 0.75, 1.0)
