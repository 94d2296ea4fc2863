"""The whole loop at once: one candidate for each run, so that all of them fit.

Every run is routed alone first. Where the best routes of all runs keep clear of each
other, they are the answer, and none can be better. Otherwise an integer programme
chooses among all routes, and rounds of routing again bring new ones to choose from.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from loopsolver.routing.loop.choice import Cost
from loopsolver.routing.loop.desk import Desk
from loopsolver.routing.loop.hindrance import InTheWay, hindrance
from loopsolver.routing.loop.joint import Key, Selection
from loopsolver.routing.loop.orders import Orders, possible_links, with_sure_fittings
from loopsolver.routing.loop.pool import Way
from loopsolver.routing.loop.rounds import Rounds, Settled
from loopsolver.routing.problem import Candidate
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
    request : RunRequest
        What was asked for.
    alone : tuple of Way
        What was found with other tubes left out, in the order in which it was.
    beside : tuple of Way
        What was found beside other tubes.
    chosen : Way or None
        None where no way was found, or where it is left out.
    why : str or None
        Why there is no way, or none that fits beside the others, and what would help.
    in_the_way : tuple of InTheWay
        Where it is left out though it has ways: the runs in the way.
    refused : int
        Routes of the search that failed the independent check.
    """

    request: RunRequest
    alone: tuple[Way, ...]
    beside: tuple[Way, ...]
    chosen: Way | None
    why: str | None = None
    in_the_way: tuple[InTheWay, ...] = ()
    refused: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """The choice for the whole loop.

    Attributes
    ----------
    runs : tuple of LoopRun
        Where the order was free, in the order of the circuit.
    total : Cost
        Sum over the chosen ways, part by part.
    bound : Cost
        The same if tubes could pass through each other: no choice can be better.
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
class Telling:
    """Who is told of the progress."""

    started: Started = lambda _name, _number, _count: None
    improved: Improved = lambda _number, _total, _runs: None


NOBODY: Final = Telling()


def solve_loop(
    scene: Scene,
    runs: Sequence[RunRequest],
    *,
    key: Key,
    seconds: float = SECONDS,
    kept: Mapping[str, Candidate] = MappingProxyType({}),
    telling: Telling = NOBODY,
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
    kept : mapping of run names to Candidates
        What is settled already.
    telling : Telling
    """
    desk = _filled_desk(scene, runs, key, kept, telling)
    until = time.monotonic() + seconds
    every = range(len(runs))
    result = _settled(desk, every, until, telling)
    bound = desk.chooser.regardless(desk.open_ways(every))
    return _loop(desk, every, result, bound)


def solve_any_order(
    scene: Scene,
    parts: Sequence[str],
    *,
    key: Key,
    seconds: float = SECONDS,
    kept: Mapping[str, Candidate] = MappingProxyType({}),
    telling: Telling = NOBODY,
) -> Loop:
    """Return the best closed loop over parts in any order, and the scene's other runs.

    Runs that the scene lists between two of the parts belong to the loop; its other
    runs are laid beside it. The other parameters are those of `solve_loop`.

    Parameters
    ----------
    parts : sequence of str
        Names of the components that the loop passes, each once.
    """
    links = possible_links(scene, parts, scene.runs, kept=kept)
    linked = {link.run.name for link in links}
    others = [run for run in scene.runs if run.name not in linked]
    runs = [*(link.run for link in links), *others]
    desk = _filled_desk(with_sure_fittings(scene, parts), runs, key, kept, telling)
    orders = Orders(desk.chooser, links, parts)
    beside = range(len(links), len(runs))
    until = time.monotonic() + seconds
    bound = ideal = orders.next(desk.open_ways(range(len(runs))))
    best: Settled | None = None
    rounds = 0
    while True:
        linked_runs = desk.runs_of(ideal) - set(beside)
        found = _settled(desk, linked_runs | set(beside), until, telling)
        rounds += found.rounds
        if best is None or found.selection.worth < best.selection.worth:
            best = found
        orders.done(linked_runs)
        if found.is_cut_short or len(linked_runs) < len(parts):
            break
        ideal = orders.next(desk.open_ways(range(len(runs))))
        if ideal.worth >= best.selection.worth:
            break
    best = replace(best, rounds=rounds, is_cut_short=found.is_cut_short)
    chosen = desk.runs_of(best.selection) - set(beside)
    return _loop(desk, (*orders.in_order(chosen), *beside), best, bound)


def _filled_desk(
    scene: Scene,
    runs: Sequence[RunRequest],
    key: Key,
    kept: Mapping[str, Candidate],
    telling: Telling,
) -> Desk:
    """Return a desk with every run routed alone."""
    desk = Desk(scene, runs, key)
    for number, run in enumerate(runs):
        telling.started(run.name, number + 1, len(runs))
        desk.route_alone(number)
        if run.name in kept:
            desk.keep(number, kept[run.name])
    return desk


def _settled(
    desk: Desk, runs: Collection[int], until: float, telling: Telling
) -> Settled:
    """Return what rounds of routing some of the runs lead to."""
    rounds = Rounds(
        desk.router, desk.chooser, among=lambda: desk.open_ways(frozenset(runs))
    )
    return rounds.settle(
        left=lambda: until - time.monotonic(),
        told=lambda number, best: telling.improved(number, best.total, len(best.ways)),
    )


def _loop(desk: Desk, runs: Sequence[int], result: Settled, bound: Selection) -> Loop:
    ways = result.selection.ways
    return Loop(
        runs=tuple(_loop_run(desk, run, ways) for run in runs),
        total=result.selection.total,
        bound=bound.total,
        rounds=result.rounds,
        pool=len(desk.pool.ways),
        is_proven=result.selection.is_proven,
        is_cut_short=result.is_cut_short,
    )


def _loop_run(desk: Desk, run: int, chosen: Sequence[int]) -> LoopRun:
    alone = desk.alone[run]
    known = {way.key for way in alone.ways}
    ways = [desk.pool.ways[way] for way in desk.pool.of_run(run)]
    own = [desk.pool.ways[way] for way in chosen if desk.pool.ways[way].run == run]
    kept_out = None
    if ways and not own:
        kept_out = hindrance(desk, run, chosen)
    return LoopRun(
        request=desk.router.runs[run],
        alone=alone.ways,
        beside=tuple(way for way in ways if way.key not in known),
        chosen=own[0] if own else None,
        why=desk.why_none(run) if kept_out is None else kept_out.sentence,
        in_the_way=() if kept_out is None else kept_out.in_the_way,
        refused=alone.refused,
    )
