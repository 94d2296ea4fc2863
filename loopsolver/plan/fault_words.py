"""What disagrees in a plan file, in words: its figures in the unit of its scene."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from loopsolver.geometry.vectors import Point
from loopsolver.lengths import Lengths
from loopsolver.plan.document import rounded
from loopsolver.routing.rules import Breach, BrokenRule
from loopsolver.tube.centreline import straight_name
from loopsolver.words import listed

_COUNTS: Final = ("bends", "planes")
_ANGLES: Final = ("rotation", "angle", "departures")
"""Keys of a candidate that hold no lengths."""

_LENGTHS_IN: Final[Mapping[str, tuple[int, ...]]] = MappingProxyType(
    {
        "bends": (1,),
        "length": (0,),
        "gap": (0, 2),
        "planes": (2,),
        "blank": (0,),
        "parallel": (1,),
    }
)
"""Which parts of a total are lengths, by ranking; the others are counts."""


def figure(key: str, value: float, lengths: Lengths) -> str:
    """Return a figure of a candidate with the unit of its key.

    >>> from loopsolver.lengths import INCHES
    >>> figure("bends", 2, INCHES), figure("angle", 89.5, INCHES)
    ('2', '89.5 degrees')
    >>> figure("length", 50.8, INCHES)
    '2 in (50.8 mm)'
    """
    if key in _COUNTS:
        return str(value)
    return degrees(value) if key in _ANGLES else lengths.exact(value)


def total_words(total: Sequence[float], by: str, lengths: Lengths) -> str:
    """Return a loop's total, part by part, as the ranking adds them up.

    >>> from loopsolver.lengths import MILLIMETRES
    >>> total_words((4, 50.8, 0), "bends", MILLIMETRES)
    '[4, 50.8 mm, 0]'
    """
    parts = [
        lengths.exact(part) if index in _LENGTHS_IN[by] else f"{part:g}"
        for index, part in enumerate(total)
    ]
    return f"[{', '.join(parts)}]"


def degrees(value: float) -> str:
    """Return an angle [degrees] with its unit."""
    return f"{rounded(value):.10g} degrees"


def direction(along: Point) -> str:
    """Return a direction, which has no unit."""
    return str([rounded(one) for one in along])


_FOUND: Final[Mapping[BrokenRule, str]] = MappingProxyType(
    {
        "leg": "leg {number} of {length}, which has no direction",
        "turn": "bend {number} of {angle}",
        "bends": "{count} bends",
        "straight": "{straight} of {length}, {short} too short",
        "bend angle": "bend {number} of {angle}",
        "bend range": "bend {number} of {angle}",
        "turn between bends": "a turn of {angle} after bend {number}",
        "clearance": "a gap of {length} to {at!r}",
        "into": "a tube that goes {length} deep into {at!r}, its axis at {place}",
        "own fitting": "a tube that runs through its own {at}",
        "itself": "a tube that runs through itself",
        "seat": "a tube that ends {length} off its seat on {at}",
        "mouth": "a mouth {length} off that of the fitting on {at}",
        "outlet": "an outlet on {at} that turns by {angle} too much or too little",
        "direction": "a tube that leaves {at} {angle} askew",
        "far seat": "a tube whose bend table misses the far seat by {length}",
        "arrival": "a tube whose bend table arrives {angle} askew",
        "vertices": "a tube whose bend table misses its vertices by {length}",
        "claimed gap": "a least gap of {length}, to {at!r}",
        "nearest place": "a gap of {length} to {at!r}, but not where it was measured",
    }
)
"""What is found of a tube, rule by rule."""

_WANTED: Final[Mapping[BrokenRule, str]] = MappingProxyType(
    {
        "leg": "vertices that lie apart: leave one of the two out",
        "turn": "a bend above 0 and below 180 degrees: leave its vertex out, or put two "
        "bends in its place",
        "bends": "at most {limit}, as in the scene",
        "straight": "at least {least}, as in the scene",
        "bend angle": "{allowed} degrees, as in the scene",
        "bend range": "{range} degrees, as in the scene",
        "turn between bends": "a multiple of {limit} degrees, as in the scene",
        "clearance": "at least {least}, the clearance",
        "into": "a gap of at least {least}, the clearance",
        "claimed gap": "{least}, as it was measured before",
    }
)
"""What is wanted instead, where that is not just a tube that keeps to the scene."""


def breach_words(breach: Breach, lengths: Lengths) -> tuple[str, str]:
    """Return what is found of a tube that breaks a rule, and what is wanted."""
    limit = breach.limits[0] if breach.limits else 0.0
    words = {
        "number": breach.number,
        "at": breach.at,
        "place": lengths.place(breach.place),
        "count": f"{breach.found:g}",
        "limit": f"{limit:g}",
        "length": lengths.exact(breach.found),
        "least": lengths.exact(limit),
        "short": lengths.exact(limit - breach.found),
        "angle": degrees(breach.found),
        "allowed": listed([f"{one:g}" for one in sorted(breach.limits)], last="or"),
        "range": " to ".join(f"{one:g}" for one in breach.limits),
        "straight": straight_name(breach.number - 1, breach.count),
    }
    wanted = _WANTED.get(breach.rule, "a tube that keeps to the scene")
    return _FOUND[breach.rule].format_map(words), wanted.format_map(words)
