"""What makes one candidate better than another."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Final

from loopsolver.geometry.vectors import Point
from loopsolver.routing.problem import Candidate, CostOf, by_bends
from loopsolver.tolerances import WRITTEN_DECIMALS

RankKey = tuple[float, ...]


def _figure(value: float) -> float:
    """Return a figure without its accidental last digits: equals compare equal."""
    return round(value, WRITTEN_DECIMALS)


RANKINGS: Final[Mapping[str, Callable[[Candidate], RankKey]]] = MappingProxyType(
    {
        "bends": CostOf(lambda one: one.cost, by_bends),
        "length": CostOf(
            lambda one: (_figure(one.length), one.bends), lambda below, *_: below[0]
        ),
        "gap": lambda one: (-_figure(one.gap.distance), *one.cost),
        "planes": lambda one: (one.planes, *one.cost),
        "blank": lambda one: (_figure(one.blank), one.bends),
        "parallel": CostOf(lambda one: one.cost, by_bends),
    }
)
"""Sort keys by name, least first: the largest gap is best, of the others the least.

By bends: bends and elbows together, then length; where any bend angle is allowed, a
departure from standard angles counts as so much more tube. By parallel: a candidate
alone as by bends; it is the choice for the loop that differs.
"""

FOR_PARALLEL: Final[Mapping[str, tuple[float, int]]] = MappingProxyType(
    {"bends": (0.03, 1), "gap": (0.03, 2), "planes": (0.03, 2), "parallel": (0.10, 1)}
)
"""What the choice for a loop may give for tubes that run parallel, by ranking.

As a share of the length of all its tubes, and the part of the ranking that may grow with
it: bends and what ranks before them are held. Nothing by length and by blank, where the
builder asked for the least. Common practice, no source: a builder hardly notices 3 % of
tube, and spends 10 % where looks come first.
"""


def ranked(candidates: Iterable[Candidate], *, by: str) -> tuple[Candidate, ...]:
    """Return candidates best first.

    Where the figures of the key are equal, the larger gap comes first, then the
    vertices decide, so that the order never depends on the order of the search.

    Parameters
    ----------
    candidates : iterable of Candidate
    by : str
        A name in `RANKINGS`.
    """
    key = RANKINGS[by]

    def full_key(candidate: Candidate) -> tuple[RankKey, float, tuple[Point, ...]]:
        gap = _figure(candidate.gap.distance)
        return (key(candidate), -gap, candidate.centreline.vertices)

    return tuple(sorted(candidates, key=full_key))
