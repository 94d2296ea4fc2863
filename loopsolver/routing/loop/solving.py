"""The whole loop at once: one candidate for each run, so that all of them fit.

Every run is routed alone first. Where the best routes of all runs keep clear of each
other, they are the answer, and none can be better. Otherwise an integer programme
chooses among all routes, and rounds of routing again bring new ones to choose from.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from loopsolver.routing.loop.choice import Cost
from loopsolver.routing.loop.desk import Desk
from loopsolver.routing.loop.hindrance import InTheWay, hindrance, untried
from loopsolver.routing.loop.joint import Key, Selection
from loopsolver.routing.loop.orders import Orders, possible_links
from loopsolver.routing.loop.pool import Way
from loopsolver.routing.loop.ports import with_sure_fittings
from loopsolver.routing.loop.rounds import Rounds, Settled
from loopsolver.routing.loop.telling import NOBODY, Ended, Telling
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import HELD_COST

SECONDS: Final = 20.0
"""How long the rounds may take unless the user says otherwise [s]."""


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
        Why there is no way, or none that fits beside the others, and what would help:
        several lines, where several things would.
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
    ended : Ended
    """

    runs: tuple[LoopRun, ...]
    total: Cost
    bound: Cost
    rounds: int
    pool: int
    is_proven: bool
    ended: Ended = "done"

    @property
    def is_cut_short(self) -> bool:
        """Whether the search ended before nothing more was to be gained."""
        return self.ended != "done"


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
    return _loop(desk, every, result, bound.total, telling)


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
    beside = range(len(links), len(runs))
    until = time.monotonic() + seconds
    orders = Orders(desk.chooser, links, parts)
    bound = orders.next(desk.open_ways(range(len(runs))))
    best = _best_order(desk, orders, bound, beside, until, telling)
    chosen = desk.runs_of(best.selection) - set(beside)
    order = (*orders.in_order(chosen), *beside)
    return _loop(desk, order, best, bound.total, telling)


def _best_order(
    desk: Desk,
    orders: Orders,
    ideal: Selection,
    beside: Collection[int],
    until: float,
    telling: Telling,
) -> Settled:
    """Return the best choice over all orders, from the most promising one on.

    Ctrl-C ends the search; the best of the orders before is kept.
    """
    best = _settled(desk, desk.runs_of(ideal) | set(beside), until, telling)
    bound, rounds, ended = ideal, best.rounds, best.ended
    selection = best.selection
    while ended == "done":
        try:
            linked = desk.runs_of(ideal) - set(beside)
            if len(linked) < len(orders.parts):
                break
            orders.done(linked)
            ideal = orders.next(desk.open_ways(desk.every_run))
        except KeyboardInterrupt:
            ended = "stopped"
            break
        if ideal.worth >= selection.worth:
            break
        runs = desk.runs_of(ideal) | set(beside)
        found = _settled(desk, runs, until, telling, after=rounds)
        rounds, ended = rounds + found.rounds, found.ended
        if found.selection.worth < selection.worth:
            selection = found.selection
    if ended == "done":
        try:
            selection = _chosen_again(desk, orders.afresh(), selection, beside)
        except KeyboardInterrupt:
            ended = "stopped"
    is_sure = ended == "done" or _is_as_good(selection, bound)
    return Settled(
        selection=replace(selection, is_proven=selection.is_proven and is_sure),
        rounds=rounds,
        ended=ended,
    )


def _chosen_again(
    desk: Desk, orders: Orders, best: Selection, beside: Collection[int]
) -> Selection:
    """Return the best choice over all orders from all routes that there are now.

    Later orders have brought routes that earlier ones could use as well.
    """
    every = desk.open_ways(desk.every_run)
    while (ideal := orders.next(every)).worth < best.worth:
        linked = desk.runs_of(ideal) - set(beside)
        found = desk.chooser.best(desk.open_ways(linked | set(beside)))
        best = min(best, found, key=lambda selection: selection.worth)
        if len(linked) < len(orders.parts):
            break
        orders.done(linked)
    return best


def _is_as_good(selection: Selection, bound: Selection) -> bool:
    """Return whether a selection is as good as a bound, but for the digits of sums."""
    return all(
        here <= there + HELD_COST
        for here, there in zip(selection.worth, bound.worth, strict=False)
    )


def _filled_desk(
    scene: Scene,
    runs: Sequence[RunRequest],
    key: Key,
    kept: Mapping[str, Candidate],
    telling: Telling,
) -> Desk:
    """Return a desk with every run routed alone.

    After Ctrl-C with those that were routed before it; if that is none, it goes on up.
    """
    desk = Desk(scene, runs, key)
    try:
        for number, run in enumerate(runs):
            telling.started(run.name, number + 1, len(runs))
            desk.route_alone(number)
    except KeyboardInterrupt:
        if not desk.alone:
            raise
        desk.leave_the_rest()
    for number, run in enumerate(runs):
        if run.name in kept:
            desk.keep(number, kept[run.name])
    return desk


def _settled(
    desk: Desk,
    runs: Collection[int],
    until: float,
    telling: Telling,
    *,
    after: int = 0,
) -> Settled:
    """Return what rounds of routing some of the runs lead to, after so many others."""

    def among() -> list[int]:
        return desk.open_ways(frozenset(runs))

    if not desk.is_whole:
        return Settled(selection=desk.chooser.best(among()), ended="stopped early")

    def told(number: int, best: Selection) -> None:
        ways = desk.pool.ways
        telling.improved(after + number, [ways[way].candidate for way in best.ways])

    rounds = Rounds(desk.router, desk.chooser, among=among)
    return rounds.settle(left=lambda: until - time.monotonic(), told=told)


Why = tuple[str | None, tuple[InTheWay, ...]]
"""Why a run has no way or none that fits, in words, and the runs in its way."""


def _loop(
    desk: Desk, runs: Sequence[int], result: Settled, bound: Cost, telling: Telling
) -> Loop:
    """Return the choice with what is to be said of each run.

    Ctrl-C ends the search for reasons; what has been chosen stays.
    """
    ways, ended = result.selection.ways, result.ended
    why_of = _why_at_once if ended.startswith("stopped") else _why
    found: list[LoopRun] = []
    for run in runs:
        try:
            if set(desk.pool.of_run(run)).isdisjoint(ways):
                telling.explaining(desk.router.runs[run].name)
            why = why_of(desk, run, ways)
        except KeyboardInterrupt:
            if why_of is _why_at_once:
                raise
            why_of, ended = _why_at_once, "stopped"
            why = why_of(desk, run, ways)
        found.append(_loop_run(desk, run, ways, why))
    return Loop(
        runs=tuple(found),
        total=result.selection.total,
        bound=bound,
        rounds=result.rounds,
        pool=len(desk.pool.ways),
        is_proven=result.selection.is_proven,
        ended=ended,
    )


def _why(desk: Desk, run: int, chosen: Sequence[int]) -> Why:
    """Return why a run is not in the loop, and what would help; that is searched for."""
    if not _is_left_out(desk, run, chosen):
        return desk.why_none(run), ()
    kept_out = hindrance(desk, run, chosen)
    return kept_out.sentence, kept_out.in_the_way


def _why_at_once(desk: Desk, run: int, chosen: Sequence[int]) -> Why:
    """Return why a run is not in the loop, as far as it is known without a search."""
    if not _is_left_out(desk, run, chosen):
        return desk.why_unknown(run), ()
    kept_out = untried(desk, run, chosen)
    return kept_out.sentence, kept_out.in_the_way


def _is_left_out(desk: Desk, run: int, chosen: Sequence[int]) -> bool:
    """Return whether a run has ways and none of them is chosen."""
    own = set(desk.pool.of_run(run))
    return bool(own) and own.isdisjoint(chosen)


def _loop_run(desk: Desk, run: int, chosen: Sequence[int], why: Why) -> LoopRun:
    alone = desk.alone[run]
    known = {way.key for way in alone.ways}
    ways = [desk.pool.ways[way] for way in desk.pool.of_run(run)]
    own = [desk.pool.ways[way] for way in chosen if desk.pool.ways[way].run == run]
    return LoopRun(
        request=desk.router.runs[run],
        alone=alone.ways,
        beside=tuple(way for way in ways if way.key not in known),
        chosen=own[0] if own else None,
        why=why[0],
        in_the_way=why[1],
        refused=alone.refused,
    )
