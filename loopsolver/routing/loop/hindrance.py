"""Why a run finds no place beside the others, and what would give it one."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.geometry.vectors import Point
from loopsolver.routing.loop.desk import Desk
from loopsolver.routing.loop.laying import Router
from loopsolver.routing.loop.pool import Meeting, Way, clash_table
from loopsolver.routing.loop.ports import held_ports, with_ports
from loopsolver.routing.reasons.explain import reason_of
from loopsolver.routing.reasons.telling import way_in_words
from loopsolver.routing.reasons.words import listed, mm
from loopsolver.routing.solve import problems_of
from loopsolver.scene.model import Body, Fitting, Flow, Port, RunRequest, Scene
from loopsolver.scene.port_contests import open_ports
from loopsolver.scene.references import End

MOST_PORTS: Final = 4
"""Other ports of a component that are tried for a run."""

SIMPLE_RULES: Final = frozenset(
    {"clearance", "straight between bends", "bend radius", "bends", "bend angles"}
)
"""Rules whose change leaves the other tubes where they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InTheWay:
    """Another run that is in the way: its name, how near, and where [mm]."""

    run: str
    gap: float
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A port that the run could end at, and the name of the run that ends there."""

    port: str
    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hindrance:
    """What keeps a run out of a loop.

    Attributes
    ----------
    in_the_way : tuple of InTheWay
        The other runs, as they are chosen, that the run would come too near to by the
        way that meets the fewest of them; the nearest first.
    helps : tuple of str
        What would give the run a place, as it follows the word "possible"; each was
        tried with the other tubes where they are.
    is_all_tried : bool
        False where the user stopped before it was tried what helps.
    taken : tuple of Taken
        Where no port is left for an end of the run: all that it could take.
    """

    in_the_way: tuple[InTheWay, ...]
    helps: tuple[str, ...]
    is_all_tried: bool = True
    taken: tuple[Taken, ...] = ()

    @property
    def sentence(self) -> str:
        """Both in words: what is in the way, then a line for each thing that helps.

        The lines read on as one sentence where they are not kept apart.
        """
        return ";\n".join((self._met, ",\n".join(self._possible())))

    @property
    def _met(self) -> str:
        """Which runs are in the way."""
        if self.taken:
            held = listed([f"{one.port} is taken by {one.run!r}" for one in self.taken])
            return f"no port is left for it: {held}, and a port holds one tube"
        told = "no route of it fits beside the others"
        if not self.in_the_way:
            return f"{told}, which hold its ports"
        met = [f"{_nearness(one)} at {_place(one.at)}" for one in self.in_the_way]
        return f"{told}; its best {listed(met)}"

    def _possible(self) -> Iterator[str]:
        """Yield what helps, in words."""
        for number, words in enumerate(self.helps):
            yield f"or {words}" if number else f"possible {words}"
        if not self.is_all_tried:
            yield "what would help was not tried: the search was stopped"
        elif self.taken:
            yield (
                f"{'or ' if self.helps else ''}give one of them another port, or join "
                "them at a piece with three ports, as a component of its own"
            )
        elif not self.helps:
            yield "nothing that was tried helps while they stay where they are"


def hindrance(desk: Desk, run: int, chosen: Sequence[int]) -> Hindrance:
    """Return what keeps a run out of a loop in which others are chosen.

    Parameters
    ----------
    desk : Desk
    run : int
        A run that has ways of its own.
    chosen : sequence of int
        The ways of the others.
    """
    return Hindrance(
        in_the_way=in_the_way(desk, run, chosen),
        helps=tuple(_helps(desk.router, run, [desk.pool.ways[way] for way in chosen])),
        taken=tuple(_taken(desk, run, chosen)),
    )


def untried(desk: Desk, run: int, chosen: Sequence[int]) -> Hindrance:
    """Return the same with nothing tried that might help."""
    return Hindrance(
        in_the_way=in_the_way(desk, run, chosen),
        helps=(),
        is_all_tried=False,
        taken=tuple(_taken(desk, run, chosen)),
    )


def _taken(desk: Desk, run: int, chosen: Sequence[int]) -> Iterator[Taken]:
    """Yield the ports of each end of a run all of whose ports chosen tubes have taken."""
    router = desk.router
    request = router.runs[run]
    ways = [desk.pool.ways[way] for way in chosen]
    holders = {port: router.runs[way.run].name for way in ways for port in way.ports}
    ends: tuple[tuple[tuple[str, ...], End], ...] = (
        (request.from_ports, "from"),
        (request.to_ports, "to"),
    )
    for names, end in ends:
        ports = open_ports(router.scene, names, end)
        if all(port in holders for port in ports):
            yield from (Taken(port=port, run=holders[port]) for port in ports)


def in_the_way(desk: Desk, run: int, chosen: Sequence[int]) -> tuple[InTheWay, ...]:
    """Return the runs met by that way of a run that meets the fewest chosen ones."""
    pool, names = desk.pool, [each.name for each in desk.router.runs]

    def met(way: int) -> list[int]:
        return [other for other in chosen if pool.clash(way, other)]

    ways = desk.open_ways((run,))
    best = min(ways, key=lambda way: (len(met(way)), desk.chooser.cost(way), way))
    meetings: list[tuple[str, Meeting]] = [
        (names[pool.ways[other].run], pool.meeting(best, other)) for other in met(best)
    ]
    return tuple(
        InTheWay(run=name, gap=meeting.gap, at=meeting.at)
        for name, meeting in sorted(meetings, key=lambda one: one[1].gap)
    )


def _helps(router: Router, run: int, laid: Sequence[Way]) -> Iterator[str]:
    """Yield what gives a run a place beside laid tubes, in words; each is tried."""
    request = router.runs[run]
    yield from _other_ports(router, run, laid)
    if {*_settled(request, laid).from_ports, *_settled(request, laid).to_ports} & {
        port for way in laid for port in way.ports
    }:
        return  # no elbow and no rule makes room in a port
    yield from _elbows(router, run, laid)
    yield from _other_rules(with_tubes(router, laid), _settled(request, laid))


def _settled(run: RunRequest, laid: Sequence[Way]) -> RunRequest:
    """Return a run on the first ports of its choice that no laid tube has taken."""
    taken = {port for way in laid for port in way.ports}
    ends = [
        next((name for name in names if name not in taken), names[0])
        for names in (run.from_ports, run.to_ports)
    ]
    return with_ports(run, (ends[0], ends[1]))


def _other_ports(router: Router, run: int, laid: Sequence[Way]) -> Iterator[str]:
    """Yield the ports of the same components that the run was not offered."""
    request, scene = router.runs[run], router.scene
    taken = {port for way in laid for port in way.ports}
    taken |= held_ports(one for one in router.runs if one.name != request.name)
    settled = _settled(request, laid)
    start, goal = settled.from_ports[0], settled.to_ports[0]
    spare = _spare_ports(scene, start, {*request.from_ports, *taken}, against="in")
    for name in spare[:MOST_PORTS]:
        if _fits(router, with_ports(request, (name, goal)), laid):
            yield f"from {name} instead of {start}"
    spare = _spare_ports(scene, goal, {*request.to_ports, *taken}, against="out")
    for name in spare[:MOST_PORTS]:
        if _fits(router, with_ports(request, (start, name)), laid):
            yield f"to {name} instead of {goal}"


def _spare_ports(
    scene: Scene, port: str, taken: Collection[str], *, against: Flow
) -> list[str]:
    """Return the other ports of a port's component that a run could use."""
    component = scene.port(port).component
    return [
        other.name
        for part in scene.components
        if part.name == component
        for other in part.ports
        if other.flow != against and other.name not in taken
    ]


def _elbows(router: Router, run: int, laid: Sequence[Way]) -> Iterator[str]:
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
            if elbow in scene.port(name).fittings:
                continue
            changed = Router(_with_fitting(scene, name, elbow), router.runs)
            if _fits(changed, settled, laid):
                yield f'with the fitting "{elbow.name}" on {name}'
                break


def _with_fitting(scene: Scene, name: str, fitting: Fitting) -> Scene:
    """Return the scene with one more fitting to choose from on a port."""

    def changed(port: Port) -> Port:
        if port.name != name:
            return port
        return replace(port, fittings=(*port.fittings, fitting))

    return replace(
        scene,
        components=tuple(
            replace(part, ports=tuple(changed(port) for port in part.ports))
            for part in scene.components
        ),
    )


def _fits(router: Router, run: RunRequest, laid: Sequence[Way]) -> bool:
    """Return whether a run, settled on its ports, finds a way beside laid tubes."""
    changed = Router(router.scene, [*router.runs, run])
    ports = (run.from_ports[0], run.to_ports[0])
    found = changed.beside(len(router.runs), ports, laid)
    clashes = clash_table(
        found.ways,
        laid,
        tube_radius=router.scene.tube.radius,
        clearance=router.scene.rules.clearance,
    )
    return bool((~clashes.any(axis=1)).any())


def with_tubes(router: Router, laid: Iterable[Way]) -> Scene:
    """Return the scene with laid tubes as things that stand in the case."""
    tubes = (
        Body(name=obstacle.name, solid=obstacle.solid)
        for way in laid
        for obstacle in router.solids_of(way)
    )
    scene = router.scene
    return replace(scene, keep_outs=(*scene.keep_outs, *tubes))


def _other_rules(scene: Scene, run: RunRequest) -> Iterator[str]:
    """Yield changes of one rule that give a run a route in a scene that has none."""
    for suggestion in reason_of(scene, run, problems_of).suggestions:
        if all(change.rule in SIMPLE_RULES for change in suggestion.changes):
            yield way_in_words(suggestion)


def _nearness(one: InTheWay) -> str:
    if one.gap >= 0.0:
        return f"comes within {mm(one.gap)} of {one.run!r}"
    return f"runs {mm(-one.gap)} into {one.run!r}"


def _place(at: Point) -> str:
    x, y, z = (f"{value:.0f}" for value in at)
    return f"({x}, {y}, {z}) mm"
