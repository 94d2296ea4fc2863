"""How likely errors of a stated spread are: the few figures that tests of them need."""

from __future__ import annotations

import math
from typing import Final

CRITICAL: Final = 3.2905267
"""A normal error is farther than so many spreads off, either way, once in 1000."""

LEAST_SEEN: Final = CRITICAL + 0.8416212
"""Baarda's delta0: what so many spreads off makes errors pass `CRITICAL` in 80 of 100."""

ALIKE: Final = 3.8414588
"""Chi-square of one degree of freedom that 5 of 100 exceed."""


def chi_square_beyond(misfit: float, freedom: int) -> float:
    """Return the chance that so many squared normal errors sum up to more.

    The finite sums for a whole number of degrees of freedom: M. Abramowitz and
    I. A. Stegun, Handbook of Mathematical Functions, 26.4.4 and 26.4.5 (from memory).

    Examples
    --------
    >>> round(chi_square_beyond(3.841459, 1), 6), round(chi_square_beyond(5.991465, 2), 6)
    (0.05, 0.05)
    """
    if misfit <= 0.0 or freedom == 0:
        return 1.0
    half = 0.5 * misfit
    logs = [
        power * math.log(half) - math.lgamma(power + 1.0) - half
        for power in (0.5 * freedom - step for step in range(1, freedom // 2 + 1))
    ]
    odd = math.erfc(math.sqrt(half)) if freedom % 2 else 0.0
    return min(1.0, odd + math.fsum(map(math.exp, logs)))
