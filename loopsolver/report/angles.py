"""Angles and turns in words: how much, and which way round.

A rotation is right-handed about the direction of travel, and a right-handed turn about
a direction that points away from the eye is clockwise. So "clockwise" is always meant
as seen along the tube from its first end, and has to be said so beside it.
"""

from __future__ import annotations

from collections.abc import Sequence

from loopsolver.lengths import fixed
from loopsolver.words import listed


def short(angle_deg: float) -> str:
    """Return an angle as a bare number, to a tenth of a degree where it is not whole.

    >>> short(90.0), short(88.46), short(-0.01)
    ('90', '88.5', '0')
    """
    return fixed(angle_deg, 1).removesuffix(".0")


def degrees(angle_deg: float) -> str:
    """Return an angle with its unit in full, for a sentence on a screen.

    >>> degrees(90.0), degrees(37.25), degrees(1.0)
    ('90 degrees', '37.2 degrees', '1 degree')
    """
    amount = short(angle_deg)
    return f"{amount} degree" if amount == "1" else f"{amount} degrees"


def degree_sign(angle_deg: float) -> str:
    """Return an angle with the sign of its unit, for a sheet.

    >>> degree_sign(90.0), degree_sign(-33.68), degree_sign(-0.01)
    ('90°', '-33.7°', '0°')
    """
    return f"{short(angle_deg)}°"


def settable(angle_deg: float) -> str:
    """Return an angle as a hand can set it by a template: to half a degree, bare.

    Common practice, no source.

    >>> settable(93.35), settable(96.3158), settable(90.0)
    ('93.5', '96.5', '90')
    """
    return short(0.5 * round(2.0 * angle_deg))


def angles(angles_deg: Sequence[float]) -> str:
    """Return a list of angles to choose from.

    >>> angles((45.0, 90.0))
    '45 or 90 degrees'
    """
    return (
        f"{listed([short(angle_deg) for angle_deg in angles_deg], last='or')} degrees"
    )


def any_angle(range_deg: tuple[float, float]) -> str:
    """Return any angle there is between two.

    >>> any_angle((5.0, 120.0)), any_angle((0.0, 90.0))
    ('any angle from 5 to 120 degrees', 'any angle up to 90 degrees')
    """
    least_deg, greatest_deg = range_deg
    if not least_deg:
        return f"any angle up to {degrees(greatest_deg)}"
    return f"any angle from {short(least_deg)} to {degrees(greatest_deg)}"


def departure(angle_deg: float) -> str:
    """Return how far an angle is from a standard one; nought has no sign.

    >>> departure(3.21), departure(-7.5), departure(-0.01)
    ('+3.2', '-7.5', '0.0')
    """
    tenths = round(angle_deg, 1)
    return f"{tenths:+.1f}" if tenths else "0.0"


def rotation(angle_deg: float) -> str:
    """Return a rotation as a bare number in (-180, 180].

    >>> rotation(-90.0), rotation(-179.99)
    ('-90.0', '180.0')
    """
    words = fixed(angle_deg, 1)
    return "180.0" if words == "-180.0" else words


def clock_sense(rotation_deg: float) -> str:
    """Return which way a rotation goes, seen along the tube from its first end."""
    return "clockwise" if rotation_deg > 0.0 else "anticlockwise"


def clock(rotation_deg: float) -> str:
    """Return a rotation for a sheet, seen along the tube from its first end.

    >>> clock(90.0), clock(-77.7), clock(180.0)
    ('90° clockwise', '77.7° anticlockwise', '180°, half a turn')
    """
    amount = degree_sign(abs(rotation_deg))
    if amount == "180°":
        return f"{amount}, half a turn"
    return f"{amount} {clock_sense(rotation_deg)}"
