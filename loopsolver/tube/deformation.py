"""What bending and warmth do to a tube: its wall, how flat it may be, how far it grows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from loopsolver.tube.stock import MATERIAL_FACTS, Tube
from loopsolver.units import MM_PER

LEAST_ACROSS: Final = 0.75
"""The narrowest a tube may be across a bend, as a share of its outer diameter.

FAA, *Aviation Maintenance Technician Handbook: General*, fluid lines: a bend whose small
diameter is less is not used. Read in a school's copy.
"""

_IN: Final = MM_PER["in"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandbookBend:
    """The least radius of a handbook for one size of copper tube, in a bender [mm].

    `least` is that of annealed tube, which bends tighter than drawn one.
    """

    outer_diameter: float
    least: float


_COPPER_BENDS: Final = tuple(
    HandbookBend(outer_diameter=outer * _IN, least=least * _IN)
    for outer, least in (
        (0.375, 0.75),
        (0.5, 1.5),
        (0.625, 2.25),
        (0.875, 3.0),
        (1.125, 4.0),
        (1.375, 9.0),
    )
)
"""Copper Development Association, *Copper Tube Handbook*, table 4.1: mechanical benders.

Types K and L, annealed; its sizes are nominal, outer diameters from ASTM B88.
"""


def handbook_bend(tube: Tube) -> HandbookBend | None:
    """Return the handbook's row for a size of copper tube, or the nearest one's.

    None for other materials, and for tube a quarter thinner or thicker than any row.
    """
    if tube.material != "copper":
        return None
    outer = tube.outer_diameter
    row = min(_COPPER_BENDS, key=lambda one: abs(one.outer_diameter - outer))
    return row if abs(row.outer_diameter - outer) <= 0.25 * outer else None


def least_radius(tube: Tube) -> float:
    """Return the tightest centre-line radius worth trying, by the material [mm]."""
    least = MATERIAL_FACTS[tube.material].least_radius_diameters
    return least * tube.outer_diameter


def outer_wall(tube: Tube, radius: float) -> tuple[float, float]:
    """Return how thin the wall outside a bend gets, and how thin if all goes well [mm].

    Parameters
    ----------
    tube : Tube
    radius : float
        Of the bend's centre line [mm].

    Notes
    -----
    With wall t and outer diameter D, ``t R / (R + D / 2)`` as if it stretched along the
    tube alone and kept its volume, and ``t / (1 + D / (4 R))``, in which some is drawn in
    from beside it. How flat the tube gets cannot be told from these.

    References
    ----------
    The second: TEMA, RCB-2.31, for U-tubes of metal in heat exchangers. For plastic tube
    no source was found.
    """
    wall = 0.5 * (tube.outer_diameter - tube.inner_diameter)
    alone = wall * radius / (radius + 0.5 * tube.outer_diameter)
    drawn_in = wall / (1.0 + tube.outer_diameter / (4.0 * radius))
    return alone, drawn_in


def least_across(tube: Tube) -> float:
    """Return the narrowest that the tube may be across a bend [mm]."""
    return LEAST_ACROSS * tube.outer_diameter


def growth(tube: Tube, apart: float) -> tuple[float, float] | None:
    """Return how much longer than its ends are apart a tube gets, least and most [mm].

    From when it is built in to its warmest, if both ends hold it and the parts stay where
    they are; None where the temperatures are not stated.

    Parameters
    ----------
    tube : Tube
    apart : float
        From end to end, straight through the air [mm]: what is warmed evenly keeps its
        shape, so bends make no difference.
    """
    if tube.temperatures_c is None:
        return None
    built, warmest = tube.temperatures_c
    low, high = MATERIAL_FACTS[tube.material].expansion_ppm
    warmed = apart * (warmest - built) / 1_000_000.0
    return low * warmed, high * warmed
