"""What a bend costs the coolant, at the Reynolds numbers of such loops (500 to 20,000).

Every function here returns a loss coefficient, in velocity heads, of the whole bend, the
friction along its arc included. `ratio` is the centre-line radius over the INSIDE
diameter, `angle` is in radians. Formulas for large pipes at high Reynolds numbers are
left out: at 10 mm they are off by a factor of three.
"""

from __future__ import annotations

import math
from typing import Final

from loopsolver.hydraulics.band import Band, around
from loopsolver.hydraulics.friction import friction, laminar

_BLEND: Final = 1.1
"""Where two stretches of Idelchik's diagram 6-2 meet they differ by a tenth; from this
factor below to this factor above they go over into each other."""

_STRETCHES: Final = ((20.0, 0.65), (10.4, 0.55), (5.0, 0.45))
_MEETINGS: Final = (600.0, 1400.0)
_GENTLE_MOST: Final = 5000.0
"""Diagram 6-2 by x = Re √(D / 2R): factor and power of each stretch, where they meet,
and how far the last one goes."""


def bend_loss(reynolds: float, ratio: float, angle: float) -> Band:
    """Return the loss of a bend of smooth tube.

    The main line is Idelchik's diagram 6-2, made for gentle bends at these Reynolds
    numbers; beyond its end it goes over into the middle of the others. The band reaches
    over the other formulas that hold at this Reynolds number: 6-1 with its arc, White,
    and Ito. They spread by up to a factor of two, and so do measurements.
    """
    others = [sharp_bend(reynolds, ratio, angle)]
    if reynolds < critical_reynolds(ratio):
        others.append(white(reynolds, ratio, angle))
    if reynolds / ratio**2 > _ITO_LEAST:
        others.append(ito(reynolds, ratio, angle))
    main = gentle_bend(reynolds, ratio, angle)
    beyond = reynolds / math.sqrt(2.0 * ratio) / _GENTLE_MOST
    if beyond > 1.0:
        middle = math.sqrt(min(others) * max(others))
        share = min(math.log2(beyond), 1.0)
        main = main ** (1.0 - share) * middle**share
    return around(main, others)


def gentle_bend(reynolds: float, ratio: float, angle: float) -> float:
    """Return the loss by Idelchik's diagram 6-2.

    Notes
    -----
    I. E. Idelchik, Handbook of hydraulic resistance, diagram 6-2, smooth tube:
    lambda * angle * R / D with lambda = 20 Re^-0.65 q^0.175, 10.4 Re^-0.55 q^0.225 or
    5 Re^-0.45 q^0.275 for Re √q of 50 to 600, to 1400, to 5000, where q = D / 2R. In slow
    flow it is never less than that of a straight tube.
    """
    q = 1.0 / (2.0 * ratio)
    x = reynolds * math.sqrt(q)
    logs = [
        math.log(factor) - power * math.log(x) + 0.5 * math.log(q)
        for factor, power in _STRETCHES
    ]
    told = logs[0]
    for meeting, further in zip(_MEETINGS, logs[1:], strict=True):
        at = (math.log(x / meeting) / math.log(_BLEND) + 1.0) / 2.0
        share = min(max(at, 0.0), 1.0)
        told += share * (further - told)
    return max(math.exp(told), laminar(reynolds)) * angle * ratio


def sharp_bend(reynolds: float, ratio: float, angle: float) -> float:
    """Return the loss by Idelchik's diagram 6-1, and the friction along the arc.

    Notes
    -----
    Handbook of hydraulic resistance, diagram 6-1, as it is coded in an open library for
    Modelica: A1 B1 + A2 / Re up to Re = 6 500, k_Re A1 B1 from 40 000; between them the
    one goes over into the other, straight over the logarithm. A2 knows no angle, so it
    is much for small bends.
    """
    base = angle_factor(angle) * _radius_factor(ratio)
    share = math.log(max(reynolds, _SLOW_MOST) / _SLOW_MOST)
    share = min(share / math.log(_FAST_LEAST / _SLOW_MOST), 1.0)
    fast = _fast_factor(max(reynolds, _FAST_LEAST), ratio)
    slow = (1.0 - share) * _slow_term(ratio) / reynolds
    local = base * (1.0 + share * (fast - 1.0)) + slow
    return local + friction(reynolds).main * angle * ratio


def angle_factor(angle: float) -> float:
    """Return A1 of diagram 6-1: 0.9 sin to 70°, 1 at 90°, 0.7 + 0.35 share from 100°."""
    first, middle, last = (math.radians(one) for one in (70.0, 90.0, 100.0))
    if angle <= first:
        return 0.9 * math.sin(angle)
    if angle >= last:
        return 0.7 + 0.35 * angle / middle
    if angle <= middle:
        least = 0.9 * math.sin(first)
        return least + (1.0 - least) * (angle - first) / (middle - first)
    most = 0.7 + 0.35 * last / middle
    return 1.0 + (most - 1.0) * (angle - middle) / (last - middle)


def _radius_factor(ratio: float) -> float:
    """Return B1 of diagram 6-1."""
    return 0.21 * math.pow(ratio, -0.5 if ratio >= 1.0 else -2.5)


def _slow_term(ratio: float) -> float:
    """Return A2 of diagram 6-1."""
    for least, term in ((2.0, 600.0), (1.0, 1000.0), (0.7, 3000.0), (0.55, 6000.0)):
        if ratio > least:
            return term
    return 4000.0


def _fast_factor(reynolds: float, ratio: float) -> float:
    """Return k_Re of diagram 6-1 from 40 000 on."""
    if reynolds > _FASTEST:
        return 1.0
    if ratio >= 0.7:
        return 11.5 * math.pow(reynolds, -0.19)
    if ratio >= 0.55:
        return 5.45 * math.pow(reynolds, -0.118)
    return 1.0 + 4400.0 / reynolds


_SLOW_MOST: Final = 6500.0
_FAST_LEAST: Final = 40_000.0
_FASTEST: Final = 300_000.0


def white(reynolds: float, ratio: float, angle: float) -> float:
    """Return the loss by White's friction of curved tubes in laminar flow.

    Notes
    -----
    C. M. White, Proc. Royal Society A 123 (1929) 645: the friction factor is that of a
    straight tube over 1 - (1 - (11.6 / De)^0.45)^(1 / 0.45), De = Re √(D / 2R) > 11.6, as
    the library fluids gives it; the last power is printed as 2.2, too.
    """
    dean = reynolds / math.sqrt(2.0 * ratio)
    straight = laminar(reynolds) * angle * ratio
    if dean <= _DEAN_LEAST:
        return straight
    within = 1.0 - math.pow(_DEAN_LEAST / dean, 0.45)
    return straight / (1.0 - math.pow(within, 1.0 / 0.45))


_DEAN_LEAST: Final = 11.6


def critical_reynolds(ratio: float) -> float:
    """Return the Reynolds number up to which flow in a long coil is laminar.

    Notes
    -----
    H. Ito, J. Basic Eng. 81 (1959) 123: 20 000 (D / 2R)^0.32. A single bend after a
    straight is too short to make flow laminar: it is a bound.
    """
    return 20_000.0 * math.pow(2.0 * ratio, -0.32)


def ito(reynolds: float, ratio: float, angle: float) -> float:
    """Return the loss of a bend in turbulent flow, for Re (D / R)² above 364.

    Notes
    -----
    H. Ito, J. Basic Eng. 82 (1960) 131: 0.00431 alpha theta Re^-0.17 (R / D)^0.84, theta
    in degrees, with alpha for 45°, 90° and 180°; straight between these, below 45° as at
    45°. Measured from Re = 20 000 on.
    """
    theta = math.degrees(angle)
    at_45 = 1.0 + 5.13 * ratio**-1.47
    at_90 = 0.95 + 4.42 * ratio**-1.96 if ratio < 9.85 else 1.0
    at_180 = 1.0 + 5.06 * ratio**-4.52
    if theta <= 90.0:
        alpha = at_45 + (at_90 - at_45) * max(theta - 45.0, 0.0) / 45.0
    else:
        alpha = at_90 + (at_180 - at_90) * min(theta - 90.0, 90.0) / 90.0
    powers = math.pow(reynolds, -0.17) * math.pow(ratio, 0.84)
    return float(0.00431 * alpha * theta * powers)


_ITO_LEAST: Final = 364.0


def mitre_loss(angle: float) -> Band:
    """Return the loss of a corner without a radius, as bored elbow fittings have it.

    Notes
    -----
    At 90° the main value is D. S. Miller's, 1.42, the band reaches from D. C. Rennels's,
    1.20, to R. D. Blevins's, 2.00. Other angles stand to that as in Crane's TP-410: 4, 8,
    15, 25, 40 and 60 friction factors for 15° to 90°; more than 90° in proportion.
    """
    shares = (0.0, 4.0, 8.0, 15.0, 25.0, 40.0, 60.0)
    place = math.degrees(angle) / 15.0
    step = min(int(place), len(shares) - 2)
    share = shares[step] + (place - step) * (shares[step + 1] - shares[step])
    return Band(low=1.2021, main=1.4225, high=2.0026).times(share / shares[-1])
