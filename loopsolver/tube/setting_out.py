"""The few formulas by which a bent tube is set out. Millimetres and radians.

Handbooks print them as constants for the usual angles and often round those: 6.0 for
1 / sin 10 degrees, 3/8 for tan 22.5 degrees. Here they are exact.
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np

from loopsolver.geometry.vectors import Array

OneOrMany = TypeVar("OneOrMany", float, Array)
"""One length [mm], or many."""


def take_out(radius: float, angle: float) -> float:
    """Return the length from a bend's vertex to where its arc begins [mm].

    Also called the tangent length.

    Parameters
    ----------
    radius : float
        Centre-line radius [mm].
    angle : float
        Bend angle: the change of direction, above 0 and below pi [rad].

    Notes
    -----
    ``R tan(a / 2)``: half of the kite between centre, tangent points and vertex.
    It grows without bound towards pi.

    References
    ----------
    US Navy, NAVEDTRA 14119 *Hull Maintenance Technician*, ch. 16, fig. 16-3, where a
    90 degree bend takes R off each leg.
    """
    return radius * math.tan(0.5 * angle)


def take_outs(radius: float, angles: Array) -> Array:
    """Return `take_out` of many bends of one radius at once [mm]."""
    outs: Array = radius * np.tan(0.5 * angles)
    return outs


def arc_length(radius: float, angle: float) -> float:
    """Return the length of a bend along its centre line [mm]: ``R a``.

    References
    ----------
    City & Guilds Textbook *Plumbing Book 1* (2019), p. 95: radius times 1.57 at 90
    degrees.
    """
    return radius * angle


def gain(radius: float, angle: float) -> float:
    """Return by how much the arc is shorter than the two legs it replaces [mm].

    Notes
    -----
    ``R (2 tan(a / 2) - a)``. The trade's rule of 1.5 outer diameters for 90 degrees is
    meant for one former; at a radius of four diameters the exact gain is 1.717.

    References
    ----------
    City & Guilds Textbook *Plumbing Book 1* (2019), p. 95, for the term and the rule.
    """
    return 2.0 * take_out(radius, angle) - arc_length(radius, angle)


def chord(radius: float, angle: float) -> float:
    """Return the straight distance between the two ends of an arc [mm].

    References
    ----------
    ``2 R sin(a / 2)``: Euclid, *Elements*, III.3, a radius square to a chord halves it.
    """
    return 2.0 * radius * math.sin(0.5 * angle)


def sagitta(radius: float, angle: float) -> float:
    """Return the height of an arc over its chord [mm].

    Notes
    -----
    ``R (1 - cos(a / 2))``, written as ``2 R sin^2(a / 4)``, which keeps its digits for
    small angles.

    References
    ----------
    Euclid, *Elements*, III.3, as for the chord.
    """
    return 2.0 * radius * math.sin(0.25 * angle) ** 2


def offset_travel(set_off: OneOrMany, angle: float) -> OneOrMany:
    """Return the vertex-to-vertex length between the two bends of an offset [mm].

    Parameters
    ----------
    set_off : float or array
        Distance between the two parallel lines [mm].
    angle : float
        Angle of both bends [rad].

    Notes
    -----
    ``set / sin a``, whatever the radius, since it is measured between vertices.

    References
    ----------
    US Navy, NAVEDTRA 14026 *Construction Electrician Basic*, table 5-4, which prints it
    rounded.
    """
    return set_off / math.sin(angle)


def offset_advance(set_off: OneOrMany, angle: float) -> OneOrMany:
    """Return how far an offset goes along its lines from vertex to vertex [mm].

    Also called the setback: ``set / tan a``.

    References
    ----------
    plumbinghelp.com, rolling offset formula: 0.577, 1.000, 2.414 at 60, 45, 22.5
    degrees.
    """
    return set_off / math.tan(angle)
