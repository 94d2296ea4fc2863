"""Why a run finds no place beside the others, and what would give it one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from loopsolver.clearance.obstacles import settled_ports
from loopsolver.routing.control import Control
from loopsolver.routing.diagnosis.explain import reason_of
from loopsolver.routing.diagnosis.no_route import (
    InTheWay,
    NoPlace,
    OtherFitting,
    OtherPort,
    Remedy,
    Suggestion,
    TakenPort,
)
from loopsolver.routing.diagnosis.rule_changes import Rule, with_fittings
from loopsolver.routing.loop.ports import ports_along, with_ports
from loopsolver.routing.loop.route_pool import Route, approach, clash_table
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.router import Router
from loopsolver.routing.solve import searches_of
from loopsolver.scene.model import Body, Flow, RunRequest, Scene
from loopsolver.scene.port_contests import open_ports
from loopsolver.scene.references import RunSide

SIMPLE_RULES: Final = frozenset[Rule](
    {"clearance", "straight between bends", "bend radius", "bends", "bend angles"}
)
"""Rules whose change leaves the other tubes where they are."""


def no_place(routed: RoutedRuns, run: int, chosen: Sequence[int]) -> NoPlace:
    """Return what keeps a run out of a loop in which others are chosen.

    Parameters
    ----------
    routed : RoutedRuns
    run : int
        A run that has routes of its own.
    chosen : sequence of int
        The routes of the others.

    Notes
    -----
    Once the search is stopped nothing more is tried, so that remedies may be missing.
    """
    laid = [routed.pool.routes[route] for route in chosen]
    remedies = tuple(_remedies(routed.router, run, laid))
    why = untried(routed, run, chosen)
    return replace(why, remedies=remedies, is_all_tried=True)


def untried(routed: RoutedRuns, run: int, chosen: Sequence[int]) -> NoPlace:
    """Return what keeps a run out of a loop; nothing is tried that might help."""
    return NoPlace(
        in_the_way=in_the_way(routed, run, chosen),
        remedies=(),
        is_all_tried=False,
        taken=tuple(_taken(routed, run, chosen)),
    )


def _taken(routed: RoutedRuns, run: int, chosen: Sequence[int]) -> Iterator[TakenPort]:
    """Yield the ports of each end of a run where chosen tubes have taken them all."""
    router = routed.router
    request = router.runs[run]
    routes = [routed.pool.routes[route] for route in chosen]
    holders = {port: router.runs[one.run].name for one in routes for port in one.ports}
    ends: tuple[tuple[tuple[str, ...], RunSide], ...] = (
        (request.from_ports, "from"),
        (request.to_ports, "to"),
    )
    for names, end in ends:
        ports = open_ports(router.scene, names, end)
        if all(port in holders for port in ports):
            yield from (TakenPort(port=port, run=holders[port]) for port in ports)


def in_the_way(
    routed: RoutedRuns, run: int, chosen: Sequence[int]
) -> tuple[InTheWay, ...]:
    """Return the runs met by that route of a run that meets the fewest chosen ones."""
    pool, names = routed.pool, [each.name for each in routed.router.runs]

    def met(route: int) -> list[int]:
        return [other for other in chosen if pool.clash(route, other)]

    routes = routed.open_routes((run,))
    best = min(
        routes, key=lambda route: (len(met(route)), routed.packing.cost(route), route)
    )
    meetings = []
    for other in (pool.routes[number] for number in met(best)):
        gap, at = approach(pool.routes[best], other, tube_radius=pool.tube_radius)
        meetings.append(InTheWay(run=names[other.run], gap=gap, at=at))
    return tuple(sorted(meetings, key=lambda met: met.gap))


def _remedies(router: Router, run: int, laid: Sequence[Route]) -> Iterator[Remedy]:
    """Yield what gives a run a place beside laid tubes; each is tried."""
    request = router.runs[run]
    yield from _other_ports(router, run, laid)
    if {*_settled(request, laid).from_ports, *_settled(request, laid).to_ports} & {
        port for route in laid for port in route.ports
    }:
        return  # no elbow and no rule makes room in a port
    yield from _elbows(router, run, laid)
    if not router.control.is_over():
        scene = with_tubes(router, laid)
        yield from _other_rules(scene, _settled(request, laid), router.control)


def _settled(run: RunRequest, laid: Sequence[Route]) -> RunRequest:
    """Return a run on the first ports of its choice that no laid tube has taken."""
    taken = {port for route in laid for port in route.ports}
    ends = [
        next((name for name in names if name not in taken), names[0])
        for names in (run.from_ports, run.to_ports)
    ]
    return with_ports(run, (ends[0], ends[1]))


def _other_ports(
    router: Router, run: int, laid: Sequence[Route]
) -> Iterator[OtherPort]:
    """Yield the ports of the same components that the run was not offered."""
    request, scene = router.runs[run], router.scene
    taken = {port for route in laid for port in route.ports}
    taken.update(settled_ports(one for one in router.runs if one.name != request.name))
    settled = _settled(request, laid)
    ends: tuple[tuple[RunSide, tuple[str, ...], Flow], ...] = (
        ("from", request.from_ports, "in"),
        ("to", request.to_ports, "out"),
    )
    for place, (end, offered, against) in enumerate(ends):
        ports = [settled.from_ports[0], settled.to_ports[0]]
        instead_of = ports[place]
        part = scene.port(instead_of).component
        spare = ports_along(scene, part, against=against, held={*offered, *taken})
        for ports[place] in spare[: router.effort.other_ports]:
            if _fits(router, with_ports(request, (ports[0], ports[1])), laid):
                yield OtherPort(end=end, port=ports[place], instead_of=instead_of)


def _elbows(router: Router, run: int, laid: Sequence[Route]) -> Iterator[OtherFitting]:
    """Yield the elbows of the scene on ports of the run that may not have one."""
    scene, request = router.scene, router.runs[run]
    settled = _settled(request, laid)
    known = {
        fitting.name: fitting
        for part in scene.components
        for port in part.ports
        for fitting in port.fittings
        if fitting.turn_deg
    }
    for name in (settled.from_ports[0], settled.to_ports[0]):
        for elbow in known.values():
            offered = scene.port(name).fittings
            if elbow in offered:
                continue
            more = with_fittings(scene, name, (*offered, elbow))
            changed = Router(more, router.runs, control=router.control)
            if _fits(changed, settled, laid):
                yield OtherFitting(port=name, fitting=elbow.name)
                break


def _fits(router: Router, run: RunRequest, laid: Sequence[Route]) -> bool:
    """Return whether a run, settled on its ports, finds a route beside laid tubes."""
    if router.control.is_over():
        return False
    changed = Router(router.scene, [*router.runs, run], control=router.control)
    ports = (run.from_ports[0], run.to_ports[0])
    found = changed.beside(len(router.runs), ports, laid)
    clashes = clash_table(
        found,
        laid,
        tube_radius=router.scene.tube.radius,
        clearance=router.scene.rules.clearance,
    )
    return bool((~clashes.any(axis=1)).any())


def with_tubes(router: Router, laid: Iterable[Route]) -> Scene:
    """Return the scene with laid tubes as things that stand in the case."""
    tubes = (
        Body(name=obstacle.name, solid=obstacle.solid)
        for route in laid
        for obstacle in router.solids_of(route)
    )
    scene = router.scene
    return replace(scene, keep_outs=(*scene.keep_outs, *tubes))


def _other_rules(
    scene: Scene, run: RunRequest, control: Control
) -> Iterator[Suggestion]:
    """Yield changes of one rule that give a run a route in a scene that has none."""
    searches = searches_of(control)
    why = reason_of(scene, run, searches, rules=SIMPLE_RULES, control=control)
    yield from why.suggestions
