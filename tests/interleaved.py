"""Two pieces of work measured in turn: what one costs against the other.

Machines differ, and so does one machine from minute to minute: no test holds a time in
seconds. What is asserted is how many times longer one piece takes than another that was
measured right before or after it, in processor time, as the median of several pairs.
"""

from __future__ import annotations

import resource
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any, Protocol

Measured = Callable[..., None]
"""Takes what was measured, the `Pair`, and as `most` what it is held to, for the table."""


class Remembered(Protocol):
    """A function that remembers its answers."""

    def cache_clear(self) -> Any: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """What two pieces of work took, each as often as the other.

    Attributes
    ----------
    names : tuple of str
        What the two are.
    seconds : tuple of tuple of float
        Processor times of each, in the order they were measured [s].
    """

    names: tuple[str, str]
    seconds: tuple[tuple[float, ...], tuple[float, ...]]

    @property
    def ratio(self) -> float:
        """How many times longer the first takes than the second: the median of pairs."""
        return statistics.median(a / b for a, b in zip(*self.seconds, strict=True))

    @property
    def medians(self) -> tuple[float, float]:
        """The median of each [s]."""
        first, second = self.seconds
        return statistics.median(first), statistics.median(second)


def in_turn(
    works: dict[str, Callable[[], object]], *, pairs: int = 5, warm: int = 0
) -> Pair:
    """Return what two named pieces of work take, done in turn `pairs` times.

    Before that each is done `warm` times unmeasured.
    """
    (first, second) = works
    for _ in range(warm):
        for work in works.values():
            work()
    taken = [[seconds_of(work) for work in works.values()] for _ in range(pairs)]
    ours, theirs = zip(*taken, strict=True)
    return Pair(names=(first, second), seconds=(ours, theirs))


def forget() -> None:
    """Let what has been searched or measured already be done again."""
    from loopsolver.routing import solve

    solve.forget()
    for remembered in _remembered():
        remembered.cache_clear()


@cache
def _remembered() -> tuple[Remembered, ...]:
    """Return what remembers what it measured, as it is before a test puts a fault in."""
    from loopsolver.clearance import distance_field
    from loopsolver.routing import judge, no_way, ways_round
    from loopsolver.routing.loop import route_pool
    from loopsolver.tube import bend_table, centreline

    return (
        route_pool.gap_to,
        route_pool.are_apart,
        judge.make_judge,
        judge.surroundings,
        judge.gap_beside,
        no_way.is_proven_none,
        ways_round.word,
        bend_table.bend_table,
        centreline.legs,
        distance_field.distance_field,
        distance_field._near,
    )


def seconds_of(work: Callable[[], object]) -> float:
    """Return the processor time of some work, of processes that it ends as well [s]."""
    forget()
    begun = _processor()
    work()
    return _processor() - begun


def _processor() -> float:
    of_children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + of_children.ru_utime + of_children.ru_stime
