"""Friction of the coolant in a straight tube: laminar, turbulent, and between."""

from __future__ import annotations

import math
from typing import Final

from loopsolver.hydraulics.band import Band, exactly

LAMINAR_MOST: Final = 2000.0
TURBULENT_LEAST: Final = 4000.0
"""Reynolds numbers between which a flow may be either: common to every textbook, and
borne out by no single number."""

_NEWTON_STEPS: Final = 6
"""From Haaland's formula, within 2 %, each step squares what is left: four will do."""


def laminar(reynolds: float) -> float:
    """Return Darcy's friction factor of laminar flow: 64 / Re (Hagen and Poiseuille)."""
    return 64.0 / reynolds


def colebrook(reynolds: float, relative_roughness: float = 0.0) -> float:
    """Return Darcy's friction factor of turbulent flow.

    Notes
    -----
    C. F. Colebrook, J. Inst. Civil Engineers 11 (1939) 133, solved for 1/√f by Newton's
    method from S. E. Haaland's approximation (J. Fluids Eng. 105, 1983, 89).

    Examples
    --------
    >>> round(colebrook(100_000, 0.0001), 6)
    0.018514
    """
    rough, smooth = relative_roughness / 3.7, 2.51 / reynolds
    inverse = -1.8 * math.log10(rough**1.11 + 6.9 / reynolds)
    for _ in range(_NEWTON_STEPS):
        inner = rough + smooth * inverse
        slope = 1.0 + 2.0 * smooth / (math.log(10.0) * inner)
        inverse -= (inverse + 2.0 * math.log10(inner)) / slope
    return inverse**-2


def friction(reynolds: float, relative_roughness: float = 0.0) -> Band:
    """Return Darcy's friction factor of a straight tube.

    Between `LAMINAR_MOST` and `TURBULENT_LEAST` either flow is possible, so the band
    reaches from laminar to turbulent; the main line goes straight from the one's end to
    the other's beginning.
    """
    if reynolds <= LAMINAR_MOST:
        return exactly(laminar(reynolds))
    if reynolds >= TURBULENT_LEAST:
        return exactly(colebrook(reynolds, relative_roughness))
    share = (reynolds - LAMINAR_MOST) / (TURBULENT_LEAST - LAMINAR_MOST)
    ends = laminar(LAMINAR_MOST), colebrook(TURBULENT_LEAST, relative_roughness)
    return Band(
        low=laminar(reynolds),
        main=ends[0] + share * (ends[1] - ends[0]),
        high=colebrook(reynolds, relative_roughness),
    )
