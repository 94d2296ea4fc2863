"""The whole loop at once: one candidate for each run, so that all of them fit.

Every run is routed alone first. Where the best routes of all runs keep clear of each
other, they are the answer, and none can be better. Otherwise an integer programme
chooses among all routes, and rounds of routing again bring new ones to choose from.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.routing.choice import Cost
from loopsolver.routing.joint import Chooser, Key, Selection
from loopsolver.routing.laying import Router
from loopsolver.routing.pool import Pool, Way
from loopsolver.routing.ports import port_pairs
from loopsolver.routing.rounds import Rounds
from loopsolver.scene.model import RunRequest, Scene

SECONDS: Final = 20.0
"""How long the rounds may take unless the user says otherwise [s]."""

Started = Callable[[str, int, int], None]
"""Told before each run is routed alone: its name, its number from 1, how many."""

Improved = Callable[[int, Cost, int], None]
"""Told after each round: its number, the best total so far, how many runs it holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopRun:
    """What came of one run of the loop.

    Attributes
    ----------
    name : str
    ways : tuple of Way
        All that were found, in the order in which they were.
    alone : int
        How many of them, from the first on, were found with other tubes left out.
    chosen : Way or None
        None where no way was found, or where it is left out.
    why : str or None
        Why there is no way, in words.
    refused : int
        Routes of the search that failed the independent check.
    """

    name: str
    ways: tuple[Way, ...]
    alone: int
    chosen: Way | None
    why: str | None = None
    refused: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """The choice for the whole loop.

    Attributes
    ----------
    runs : tuple of LoopRun
    total : Cost
        Sum over the chosen ways, part by part.
    bound : Cost
        Sum over each run's own best way: no choice can be better.
    rounds : int
        How many rounds of routing again there were.
    pool : int
        How many ways were chosen from.
    is_proven : bool
        Whether no better choice can be made from these ways.
    is_cut_short : bool
        Whether time or the user ended the rounds before nothing more was to be gained.
    """

    runs: tuple[LoopRun, ...]
    total: Cost
    bound: Cost
    rounds: int
    pool: int
    is_proven: bool
    is_cut_short: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Alone:
    """What routing a run alone gave."""

    ways: tuple[Way, ...]
    why: str | None
    refused: int


def solve_loop(
    scene: Scene,
    runs: Sequence[RunRequest],
    *,
    key: Key,
    seconds: float = SECONDS,
    kept: Mapping[str, Way] | None = None,
    started: Started = lambda _name, _number, _count: None,
    improved: Improved = lambda _number, _total, _runs: None,
) -> Loop:
    """Return the best choice for a loop that rounds of routing lead to.

    Parameters
    ----------
    scene : Scene
    runs : sequence of RunRequest
    key : Key
        What makes a candidate good.
    seconds : float
        Guard on the time the rounds take [s]; usually they end before.
    kept : mapping from run name to Way, optional
        Ways that are settled.
    started, improved : callables, optional
        Told of the progress.
    """
    router = Router(scene, runs)
    pool = Pool(tube_radius=scene.tube.radius, clearance=scene.rules.clearance)
    settled = dict(kept or {})
    alone: list[_Alone] = []
    for number, run in enumerate(runs):
        started(run.name, number + 1, len(runs))
        found = _routed_alone(router, number)
        alone.append(found)
        pool.add(found.ways)
        if run.name in settled:
            pool.add([settled[run.name]])
    held = {way.run: _number_of(pool, way) for way in settled.values()}

    def among() -> Iterable[int]:
        return [
            number
            for number, way in enumerate(pool.ways)
            if held.get(way.run, number) == number
        ]

    chooser = Chooser(pool, key)
    rounds = Rounds(router, chooser, among=among)
    until = time.monotonic() + seconds
    result = rounds.settle(
        left=lambda: until - time.monotonic(),
        told=lambda number, best: improved(number, best.total, len(best.ways)),
    )
    return Loop(
        runs=_runs(runs, alone, pool, result.selection),
        total=result.selection.total,
        bound=chooser.regardless(among()).total,
        rounds=result.rounds,
        pool=len(pool.ways),
        is_proven=result.selection.is_proven,
        is_cut_short=result.is_cut_short,
    )


def _routed_alone(router: Router, run: int) -> _Alone:
    """Return the ways of a run between all its ports, other tubes left out."""
    pairs = port_pairs(router.scene, router.runs[run])
    laid = [router.alone(run, ports) for ports in pairs]
    reasons = [each.why for each in laid if each.why is not None]
    if not pairs:
        reasons = ["no port is left that the coolant may take this way"]
    ways = tuple(way for each in laid for way in each.ways)
    return _Alone(
        ways=ways,
        why=None if ways else reasons[0],
        refused=sum(each.refused for each in laid),
    )


def _number_of(pool: Pool, wanted: Way) -> int:
    return next(
        number
        for number, way in enumerate(pool.ways)
        if way.run == wanted.run
        and way.ports == wanted.ports
        and way.centreline == wanted.centreline
    )


def _runs(
    runs: Sequence[RunRequest],
    alone: Sequence[_Alone],
    pool: Pool,
    selection: Selection,
) -> tuple[LoopRun, ...]:
    chosen = {pool.ways[way].run: pool.ways[way] for way in selection.ways}
    return tuple(
        LoopRun(
            name=run.name,
            ways=tuple(pool.ways[way] for way in pool.of_run(number)),
            alone=len(alone[number].ways),
            chosen=chosen.get(number),
            why=alone[number].why,
            refused=alone[number].refused,
        )
        for number, run in enumerate(runs)
    )
