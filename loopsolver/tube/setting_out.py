"""The few formulas by which a bent tube is set out. Millimetres and radians.

Handbooks print them as constants for the usual angles and often round those: 6.0 for
1 / sin 10 degrees, 3/8 for tan 22.5 degrees. Here they are exact.
"""

from __future__ import annotations

import math


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


def offset_travel(set_off: float, angle: float) -> float:
    """Return the vertex-to-vertex length between the two bends of an offset [mm].

    Parameters
    ----------
    set_off : float
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


def offset_advance(set_off: float, angle: float) -> float:
    """Return how far an offset goes along its lines from vertex to vertex [mm].

    Also called the setback: ``set / tan a``.

    References
    ----------
    plumbinghelp.com, rolling offset formula: 0.577, 1.000, 2.414 at 60, 45, 22.5
    degrees.
    """
    return set_off / math.tan(angle)


def shrink(set_off: float, angle: float) -> float:
    """Return by how much an offset's vertex-to-vertex path exceeds its advance [mm].

    Notes
    -----
    ``set (1 / sin a - 1 / tan a) = set tan(a / 2)``. It compares vertices: the cut
    length of a tube with real arcs changes by this less the gains of its bends.

    References
    ----------
    Goodheart-Willcox, *Modern Residential Wiring* (2021), p. 145, which prints it
    rounded to 1/4 of the set at 30 degrees and 3/8 at 45.
    """
    return set_off * math.tan(0.5 * angle)


def true_set(rise: float, roll: float) -> float:
    """Return the distance between parallel lines that differ in two directions [mm].

    References
    ----------
    plumbinghelp.com, rolling offset formula: the square root of rise squared plus roll
    squared.
    """
    return math.hypot(rise, roll)


def roll_angle(rise: float, roll: float) -> float:
    """Return the angle of a rolling offset's plane, from roll towards rise [rad].

    In (-pi, pi]: 0 for an offset that only rolls, pi / 2 for one that only rises.

    References
    ----------
    Plane trigonometry: the tangent of the angle is rise over roll.
    """
    return math.atan2(rise, roll)


def cut_length(
    legs: tuple[float, ...], *, gains: tuple[float, ...], take_offs: float = 0.0
) -> float:
    """Return the length to cut for a tube that is known by its legs and gains [mm].

    Parameters
    ----------
    legs : tuple of float
        Vertex to vertex, the ends measured to the middle of their fittings [mm].
    gains : tuple of float
        One a bend: exact (`gain`), or measured on a test bend, which is better [mm].
    take_offs : float
        What the fittings take off both ends together [mm].

    References
    ----------
    City & Guilds Textbook *Plumbing Book 1* (2019), pp. 136-137.
    """
    return math.fsum(legs) - math.fsum(gains) - take_offs
