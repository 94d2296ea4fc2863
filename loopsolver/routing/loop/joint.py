"""One way for each run, none in another's way, with the least total."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

from loopsolver.routing.loop.choice import Cost, Pack, choose
from loopsolver.routing.loop.pool import Pool
from loopsolver.routing.problem import Candidate

Key = Callable[[Candidate], Cost]
"""What makes a candidate good: the least is best, the first part before the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Ways that were chosen together.

    Attributes
    ----------
    ways : tuple of int
        Their numbers in the pool, in the order of their runs.
    total : Cost
        Sum of their costs, part by part.
    is_proven : bool
        Whether no better choice can be made from the pool.
    """

    ways: tuple[int, ...]
    total: Cost
    is_proven: bool

    @property
    def worth(self) -> tuple[float, ...]:
        """What to compare selections by: more runs first, then the total."""
        return (-float(len(self.ways)), *self.total)


class Chooser:
    """Chooses from a pool that grows; remembers which pairs of runs matter."""

    def __init__(self, pool: Pool, key: Key) -> None:
        """Make a chooser."""
        self.pool = pool
        self.key = key
        self._costs: list[Cost] = []
        self._watched: set[tuple[int, int]] = set()
        self._held: list[int] = []

    def hold(self, way: int) -> None:
        """Settle a run on a way: no way that gets in its way is chosen any more.

        Of ways held that get in each other's way the most are chosen, as of others.
        """
        self._held.append(way)

    def cost(self, way: int) -> Cost:
        """Return what a way costs."""
        for known in range(len(self._costs), len(self.pool.ways)):
            self._costs.append(self.key(self.pool.ways[known].candidate))
        return self._costs[way]

    def best(self, among: Iterable[int], *, seconds: float = math.inf) -> Selection:
        """Return the best choice among ways: the most runs, then the least total.

        Only pairs of runs whose chosen ways clash are looked into, until none does: the
        choice is then the best with all pairs looked into.
        """
        ways = [way for way in sorted(among) if self._clears_held(way)]
        while True:
            packs = [
                pack
                for first, second in sorted(self._watched)
                for pack in _clash_packs(self.pool.clashing(first, second))
            ]
            found = self.regardless(ways, packs, seconds=seconds)
            new = {
                pair
                for one, two in combinations(found.ways, 2)
                if (pair := self._runs(one, two)) not in self._watched
                and self.pool.clash(one, two)
            }
            if not new:
                return found
            self._watched |= new

    def regardless(
        self,
        among: Iterable[int],
        packs: Iterable[Pack] = (),
        *,
        seconds: float = math.inf,
    ) -> Selection:
        """Return the best choice if tubes could pass through each other.

        One way a run and one tube a port are kept to.

        Parameters
        ----------
        among : iterable of int
            The ways that may be chosen.
        packs : iterable of Pack
            What else excludes each other, by the ways' numbers.
        seconds : float
            Guard on the time for each part of the total.
        """
        ways = sorted(among)
        place = {way: index for index, way in enumerate(ways)}
        found = choose(
            [self.cost(way) for way in ways],
            [
                Pack(members=members, most=pack.most)
                for pack in (*self._packs(), *packs)
                if (members := tuple(place[w] for w in pack.members if w in place))
            ],
            seconds=seconds,
        )
        chosen = sorted(
            (ways[index] for index in found.members),
            key=lambda way: (self.pool.ways[way].run, way),
        )
        return Selection(
            ways=tuple(chosen),
            total=total_of(self.cost(way) for way in chosen),
            is_proven=found.is_proven,
        )

    def _clears_held(self, way: int) -> bool:
        """Return whether a way is held, or in the way of none that is."""
        if way in self._held:
            return True
        run = self.pool.ways[way].run
        return not any(
            self.pool.ways[held].run == run or self.pool.clash(way, held)
            for held in self._held
        )

    def _runs(self, one: int, two: int) -> tuple[int, int]:
        first, second = sorted((self.pool.ways[one].run, self.pool.ways[two].run))
        return first, second

    def _packs(self) -> Iterator[Pack]:
        for run in self.pool.runs:
            yield Pack(members=self.pool.of_run(run))
        yield from _port_packs(self.pool)


def total_of(costs: Iterable[Cost]) -> Cost:
    """Return the sum of costs, part by part; empty where there are none."""
    return tuple(sum(parts) for parts in zip(*costs, strict=True))


def _port_packs(pool: Pool) -> Iterator[Pack]:
    """Yield that a port serves one run."""
    users: dict[str, list[int]] = {}
    for number, way in enumerate(pool.ways):
        for port in way.ports:
            users.setdefault(port, []).append(number)
    for members in users.values():
        if len({pool.ways[way].run for way in members}) > 1:
            yield Pack(members=tuple(members))


def _clash_packs(clashes: Iterable[tuple[int, int]]) -> Iterator[Pack]:
    """Yield every way with all ways of another run that it clashes with.

    The ways of one run exclude each other anyway, so all of these exclude each other.
    """
    of_first: dict[int, list[int]] = {}
    of_second: dict[int, list[int]] = {}
    for one, two in sorted(clashes):
        of_first.setdefault(one, []).append(two)
        of_second.setdefault(two, []).append(one)
    for table in (of_first, of_second):
        for way, others in table.items():
            yield Pack(members=(way, *others))
