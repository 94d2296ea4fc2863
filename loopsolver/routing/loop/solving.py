"""The whole loop at once: one candidate for each run, so that all of them fit.

Every run is routed alone first. Where the best routes of all runs keep clear of each
other, they are the answer, and none can be better. Otherwise an integer programme
chooses among all routes, and rounds of routing again bring new ones to choose from.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType

from loopsolver.routing.control import UNATTENDED, Control, Ended, Explaining
from loopsolver.routing.diagnosis.no_route import NoRoute
from loopsolver.routing.effort import SECONDS
from loopsolver.routing.loop.hindrance import no_place, untried
from loopsolver.routing.loop.integer_programme import Cost, get_ready
from loopsolver.routing.loop.neighbourhood import NeighbourhoodSearch, SearchResult
from loopsolver.routing.loop.orders import Orders, RunSet, possible_links
from loopsolver.routing.loop.ports import with_sure_fittings
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.set_packing import CandidateCost, Selection
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import HELD_COST


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopRun:
    """What came of one run of the loop.

    Attributes
    ----------
    request : RunRequest
        What was asked for.
    alone : tuple of Route
        What was found with other tubes left out, in the order in which it was.
    beside : tuple of Route
        What was found beside other tubes.
    chosen : Route or None
        None where no route was found, or where it is left out.
    why : NoRoute or None
        Why there is no route, or none that fits beside the others, and what would help.
    refused : int
        Routes of the search that failed the independent check.
    """

    request: RunRequest
    alone: tuple[Route, ...]
    beside: tuple[Route, ...]
    chosen: Route | None
    why: NoRoute | None = None
    refused: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """The choice for the whole loop.

    Attributes
    ----------
    runs : tuple of LoopRun
        Where the order was free, in the order of the circuit.
    total : Cost
        Sum over the chosen routes, part by part.
    bound : Cost
        The same if tubes could pass through each other: no choice can be better.
    rounds : int
        How many rounds of routing again there were.
    pool : int
        How many routes were chosen from.
    is_proven : bool
        Whether no better choice can be made from these routes.
    ended : Ended
    """

    runs: tuple[LoopRun, ...]
    total: Cost
    bound: Cost
    rounds: int
    pool: int
    is_proven: bool
    ended: Ended = "done"


def solve_loop(
    scene: Scene,
    runs: Sequence[RunRequest],
    *,
    key: CandidateCost,
    seconds: float = SECONDS,
    kept: Mapping[str, Candidate] = MappingProxyType({}),
    control: Control = UNATTENDED,
) -> Loop:
    """Return the best choice for a loop that rounds of routing lead to.

    Parameters
    ----------
    scene : Scene
    runs : sequence of RunRequest
    key : CandidateCost
        What makes a candidate good.
    seconds : float
        Guard on the time that all takes [s]; usually it ends before.
    kept : mapping of run names to Candidates
        What is settled already.
    control : Control
        Asked between searches; once it is stopped, the loop is what there is by then.
    """
    control = control.within(seconds)
    routed = RoutedRuns(scene, runs, key, kept=kept, control=control)
    every = range(len(runs))
    result = _settled(routed, every, control)
    routed.look_for_list(result.selection)
    bound = routed.packing.regardless(routed.hoped_for(every))
    return _loop(routed, every, result, bound.total, control)


def solve_any_order(
    scene: Scene,
    parts: Sequence[str],
    *,
    key: CandidateCost,
    seconds: float = SECONDS,
    kept: Mapping[str, Candidate] = MappingProxyType({}),
    control: Control = UNATTENDED,
) -> Loop:
    """Return the best closed loop over parts in any order, and the scene's other runs.

    Runs that the scene lists between two of the parts belong to the loop; its other
    runs are laid beside it. The other parameters are those of `solve_loop`.

    Parameters
    ----------
    parts : sequence of str
        Names of the components that the loop passes, each once.
    """
    control = control.within(seconds)
    links = possible_links(scene, parts, scene.runs, kept=kept)
    linked = {link.run.name for link in links}
    get_ready()
    others = [run for run in scene.runs if run.name not in linked]
    runs = [*(link.run for link in links), *others]
    routed = RoutedRuns(
        with_sure_fittings(scene, parts),
        runs,
        key,
        kept=kept,
        optional=range(len(links)),
        control=control,
    )
    beside = range(len(links), len(runs))
    orders = Orders(routed.packing, links, parts)

    def choose() -> Selection:
        return orders.best(routed.hoped_for(routed.every_run))

    ideal = routed.search_further_for(choose, control)
    is_open = len(routed.runs_of(ideal) - set(beside)) < len(parts)
    if is_open and not control.is_over():
        routed.spare_none()
        every = range(len(links))
        ideal = routed.search_further_for(choose, control, runs=every)
    known = len(routed.pool.routes)
    best = _best_order(routed, orders, ideal, beside, control)
    is_new = len(routed.pool.routes) > known and not control.is_over()
    bound = choose() if is_new else _better(ideal, best.selection)
    chosen = routed.runs_of(best.selection) - set(beside)
    order = (*orders.in_order(chosen), *beside)
    return _loop(routed, order, best, bound.total, control)


def _best_order(
    routed: RoutedRuns,
    orders: Orders,
    ideal: Selection,
    beside: Collection[int],
    control: Control,
) -> SearchResult:
    """Return the best choice over all orders, the most promising ones laid first.

    What is laid brings more routes, from which one programme chooses order, ports and
    routes at once. Where the search is stopped, the best by then.
    """
    bound, rounds, in_vain = ideal, 0, 0
    best: Selection | None = None
    tried: list[RunSet] = []
    while True:
        linked = routed.runs_of(ideal) - set(beside)
        found = _settled(routed, linked | set(beside), control, after=rounds)
        rounds, ended, before = found.rounds, found.ended, best
        best = _better(found.selection, best)
        if ended == "done" and _may_be_better(bound, best):
            clear = _clear_of_all(routed, orders, best, control)
            ended = control.ending or "done"
            best = clear if ended == "done" else best
        in_vain = in_vain + 1 if best is before else 0
        is_over = ended != "done" or in_vain == routed.router.effort.orders
        if is_over or len(linked) < len(orders.parts):
            break
        tried.append(linked)
        ideal = routed.search_further_for(
            lambda: orders.best(
                routed.hoped_for(routed.every_run), besides=tried, control=control
            ),
            control,
            is_worth=partial(_is_better_hoped, routed, best),
        )
        if control.is_over() or not _may_be_better(ideal, best):
            break
    is_sure = ended == "done" or not _may_be_better(bound, best)
    return SearchResult(
        selection=replace(best, is_proven=best.is_proven and is_sure),
        rounds=rounds,
        ended=ended,
    )


def _clear_of_all(
    routed: RoutedRuns, orders: Orders, best: Selection, control: Control
) -> Selection:
    """Return the best choice of order, ports and routes at once, if it betters another."""

    def is_better(one: Selection) -> bool:
        return _may_be_better(one, best)

    clear = routed.search_further_for(
        lambda: orders.clear(routed.hoped_for(routed.every_run), control),
        control,
        is_worth=lambda one: is_better(one) or not routed.is_hoped(one),
    )
    return clear if is_better(clear) else best


def _better(one: Selection, other: Selection | None) -> Selection:
    """Return the better of two selections; the second where they are as good."""
    return one if other is None or one.worth < other.worth else other


def _may_be_better(bound: Selection, best: Selection) -> bool:
    """Return whether a bound lets anything be better, but for the digits of sums."""
    for here, there in zip(best.worth, bound.worth, strict=False):
        if abs(here - there) > HELD_COST:
            return here > there
    return False


def _is_better_hoped(routed: RoutedRuns, best: Selection, bound: Selection) -> bool:
    """Return whether a bound takes what is only hoped for, and may be better."""
    return routed.is_hoped(bound) and _may_be_better(bound, best)


def _settled(
    routed: RoutedRuns, runs: Collection[int], control: Control, *, after: int = 0
) -> SearchResult:
    """Return what the rounds find for some of the runs, after so many other rounds.

    Where a choice takes ports that were looked at but briefly, it is made again once
    these are searched in full.
    """
    if not routed.is_whole:
        selection = routed.packing.best(routed.open_routes(runs))
        ended: Ended = "time" if control.ending == "time" else "stopped early"
        return SearchResult(selection=selection, ended=ended)
    routed.look_at(runs)
    routed.search_further_for(
        lambda: routed.packing.regardless(routed.hoped_for(runs)), control, runs=runs
    )
    routed.search_further_for(
        lambda: routed.packing.best(routed.hoped_for(runs), control=control),
        control,
        is_worth=routed.is_hoped,
    )
    rounds = NeighbourhoodSearch(routed, runs, control=control)
    while True:
        found = rounds.search(after=after)
        after = found.rounds
        if not routed.search_further(found.selection, control, runs=runs):
            return found


def _loop(
    routed: RoutedRuns,
    runs: Sequence[int],
    result: SearchResult,
    bound: Cost,
    control: Control,
) -> Loop:
    """Return the choice with what is to be said of each run.

    Where the search ended early, runs that it left out may have routes that are free.
    A stop ends the search for reasons; what has been chosen stays.
    """
    selection = routed.packing.completed(result.selection, routed.open_routes(runs))
    routes, ended = selection.routes, result.ended
    out = [run for run in runs if set(routed.pool.of_run(run)).isdisjoint(routes)]
    whys: dict[int, NoRoute] = {}
    for run in out:
        has_routes = bool(routed.pool.of_run(run))
        if not control.is_over():
            control.tell(Explaining(name=routed.router.runs[run].name))
            with control.timed():
                whys[run] = (
                    no_place(routed, run, routes)
                    if has_routes
                    else routed.why_none(run)
                )
        if control.ending is not None:
            whys[run] = (
                untried(routed, run, routes) if has_routes else routed.why_unknown(run)
            )
            ended = control.ending if ended == "done" else ended
    return Loop(
        runs=tuple(_loop_run(routed, run, routes, whys.get(run)) for run in runs),
        total=selection.total,
        bound=bound,
        rounds=result.rounds,
        pool=len(routed.open_routes(routed.every_run)),
        is_proven=selection.is_proven,
        ended=ended,
    )


def _loop_run(
    routed: RoutedRuns, run: int, chosen: Sequence[int], why: NoRoute | None
) -> LoopRun:
    alone = routed.alone(run)
    known = {route.key for route in alone}
    routes = [routed.pool.routes[route] for route in routed.pool.of_run(run)]
    own = [routed.pool.routes[route] for route in chosen]
    return LoopRun(
        request=routed.router.runs[run],
        alone=alone,
        beside=tuple(route for route in routes if route.key not in known),
        chosen=next((route for route in own if route.run == run), None),
        why=why,
        refused=routed.router.refused[run],
    )
