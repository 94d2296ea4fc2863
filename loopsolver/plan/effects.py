"""What choosing another candidate of one run would do to the other runs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Final

from loopsolver.plan.model import Plan, PlannedRun
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene

if TYPE_CHECKING:
    from loopsolver.routing.loop.choice import Cost
    from loopsolver.routing.loop.pool import Pool

MOST_STEPS: Final = 2000
"""Settled ways after which an integer programme takes over: it may be quicker then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What choosing one candidate would do, the others' listed candidates given.

    Attributes
    ----------
    run, rank : str, int
        The candidate.
    moved : tuple of (str, int), or None
        Other runs that would have to take another candidate, and which; empty where all
        can stay as they are chosen; None where no candidates of theirs fit beside it.
    """

    run: str
    rank: int
    moved: tuple[tuple[str, int], ...] | None


def effects(plan: Plan) -> tuple[Effect, ...]:
    """Return what choosing each candidate of each run would do to the others.

    As few other runs move as possible; runs without a chosen candidate take no part.
    """
    runs = [run for run in plan.runs if run.chosen is not None]
    if any(len(one.ends) != 2 for run in runs for one in run.candidates):
        return ()
    pool, places = _pool(plan.scene, runs)
    stay = {
        places[way][0]: way
        for way in places
        if places[way][1] == runs[places[way][0]].chosen
    }
    mover = _Mover(pool, stay)
    found = []
    for tried, (number, rank) in places.items():
        ways = mover.beside(tried)
        moved = None
        if ways is not None:
            moved = tuple(
                (runs[run].name, places[way][1])
                for run, way in sorted(ways.items())
                if run != number and way != stay[run]
            )
        found.append(Effect(run=runs[number].name, rank=rank, moved=moved))
    return tuple(found)


def _pool(
    scene: Scene, runs: Sequence[PlannedRun]
) -> tuple[Pool, dict[int, tuple[int, int]]]:
    """Return all candidates as ways, and of each way the number of its run and rank."""
    from loopsolver.routing.loop.laying import Router, way_of
    from loopsolver.routing.loop.pool import Pool
    from loopsolver.scene.model import RunRequest

    requests = [
        RunRequest(name=run.name, from_ports=(run.from_port,), to_ports=(run.to_port,))
        for run in runs
    ]
    router = Router(scene, requests)
    pool = Pool(tube_radius=scene.tube.radius, clearance=scene.rules.clearance)
    places: dict[int, tuple[int, int]] = {}
    for number, run in enumerate(runs):
        for rank, candidate in enumerate(run.candidates, start=1):
            way = way_of(router, number, candidate)
            pool.add([way])
            places.setdefault(pool.number_of(way), (number, rank))
    return pool, places


class _Mover:
    """Finds for each way the choice beside it in which the fewest other runs move."""

    def __init__(self, pool: Pool, stay: Mapping[int, int]) -> None:
        """Make a mover; `stay` has the chosen way of each run."""
        from loopsolver.routing.loop.joint import Chooser

        by_bends = RANKINGS["bends"]
        staying = {id(pool.ways[way].candidate) for way in stay.values()}

        def cost(candidate: Candidate) -> tuple[float, ...]:
            moves = 0.0 if id(candidate) in staying else 1.0
            return (moves, *by_bends(candidate))

        self._pool, self._stay = pool, stay
        self._chooser = Chooser(pool, cost)
        self._clashes = {
            pair for runs in combinations(pool.runs, 2) for pair in pool.clashing(*runs)
        }
        self._steps = 0

    def beside(self, tried: int) -> dict[int, int] | None:
        """Return a way for each run, one of them given; None where none fit."""
        own = self._pool.ways[tried].run
        open_ways = {
            run: sorted(self._pool.of_run(run), key=self._chooser.cost)
            for run in self._stay
            if run != own
        }
        self._steps = MOST_STEPS
        found = self._completed({own: tried}, self._left(open_ways, tried), None)
        return found if self._steps > 0 else self._chosen(tried)

    def _completed(
        self,
        settled: dict[int, int],
        open_ways: Mapping[int, Sequence[int]],
        best: dict[int, int] | None,
    ) -> dict[int, int] | None:
        """Return the best way to settle the other runs as well, if better than `best`.

        The ways that are open keep clear of what is settled, the cheapest first. If all
        of these cost no less than the best, no choice among them does.
        """
        self._steps -= 1
        if self._steps <= 0 or not all(open_ways.values()):
            return best
        least = [*settled.values(), *(ways[0] for ways in open_ways.values())]
        if best is not None and self._total(least) >= self._total(best.values()):
            return best
        if not open_ways:
            return settled
        run = min(open_ways, key=lambda run: (len(open_ways[run]), run))
        others = {other: ways for other, ways in open_ways.items() if other != run}
        for way in open_ways[run]:
            best = self._completed({**settled, run: way}, self._left(others, way), best)
        return best

    def _left(
        self, open_ways: Mapping[int, Sequence[int]], beside: int
    ) -> dict[int, list[int]]:
        """Return the ways that stay open beside one more."""
        return {
            run: [way for way in ways if self._is_free(way, beside)]
            for run, ways in open_ways.items()
        }

    def _chosen(self, tried: int) -> dict[int, int] | None:
        """Return the best choice of all; None where not every run has a place."""
        own = self._pool.ways[tried].run
        among = [
            way
            for way in range(len(self._pool.ways))
            if way == tried or self._pool.ways[way].run != own
        ]
        best = self._chooser.best(among)
        found = {self._pool.ways[way].run: way for way in best.ways}
        return found if len(found) == len(self._stay) else None

    def _is_free(self, way: int, other: int) -> bool:
        """Return whether a way keeps clear of another and of its ports."""
        ports = self._pool.ways[way].ports
        if any(port in ports for port in self._pool.ways[other].ports):
            return False
        return not {(way, other), (other, way)} & self._clashes

    def _total(self, ways: Iterable[int]) -> Cost:
        from loopsolver.routing.loop.joint import total_of

        return total_of(self._chooser.cost(way) for way in ways)
