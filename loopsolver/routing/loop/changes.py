"""What may be changed for all runs of a loop, and what it makes of a scene."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from loopsolver.clearance.obstacles import settled_ports
from loopsolver.routing.diagnosis.no_route import (
    OtherFitting,
    OtherPort,
)
from loopsolver.routing.diagnosis.relaxations import (
    LEAST_CLEARANCE,
    LENGTH_STEP,
    RADIUS_STEP,
    steps,
)
from loopsolver.routing.diagnosis.rule_changes import (
    Change,
    number_after,
    with_fittings,
)
from loopsolver.routing.diagnosis.suggestions import wider_angles
from loopsolver.routing.diagnosis.whole_loop import (
    LoopChange,
    OtherOrder,
)
from loopsolver.routing.loop.ports import ports_along
from loopsolver.routing.loop.solving import Loop
from loopsolver.scene.circuit import loop_parts, possible_runs, runs_in_order
from loopsolver.scene.model import (
    BendAngles,
    Fitting,
    Flow,
    LoopRequest,
    RunRequest,
    Scene,
)
from loopsolver.scene.references import RunSide
from loopsolver.tube.stock import MATERIAL_FACTS

Changes = tuple[LoopChange, ...]


def offers(scene: Scene, loop: Loop) -> Iterator[Changes]:
    """Yield what is offered besides values of rules, one thing after the other.

    What leaves all rules and most runs as they are comes first.
    """
    is_open = scene.loop is not None and scene.loop.order == "any"
    if not is_open:  # in an open order all ports are offered already
        yield tuple(_spare_ports(scene, loop))
    asked_deg = scene.rules.bend_angles_deg
    for angles_deg in wider_angles(asked_deg):
        yield (Change(rule="bend angles", before=asked_deg, after=angles_deg),)
    yield tuple(_elbows(scene, loop))
    if scene.loop is not None and not is_open and len(loop.runs) == len(scene.runs):
        yield (OtherOrder(parts=()),)


def _spare_ports(scene: Scene, loop: Loop) -> Iterator[OtherPort]:
    """Yield the ports of the same parts that the runs of a loop were not offered."""
    held = settled_ports(scene.runs)
    for run in (one.request for one in loop.runs):
        ends: tuple[tuple[RunSide, tuple[str, ...], Flow], ...] = (
            ("from", run.from_ports, "in"),
            ("to", run.to_ports, "out"),
        )
        for end, names, against in ends:
            part = scene.port(names[0]).component
            for port in ports_along(scene, part, against=against, held={*names, *held}):
                yield OtherPort(end=end, port=port, instead_of=names[0], run=run.name)


def _elbows(scene: Scene, loop: Loop) -> Iterator[OtherFitting]:
    """Yield the scene's elbows on ports of runs left out that may not have them."""
    every = [port for part in scene.components for port in part.ports]
    known = {one.name: one for port in every for one in port.fittings if one.turn_deg}
    out = [run.request for run in loop.runs if run.chosen is None]
    names = dict.fromkeys(
        name for run in out for name in (*run.from_ports, *run.to_ports)
    )
    for name in names:
        for elbow in known.values():
            if elbow not in scene.port(name).fittings:
                yield OtherFitting(port=name, fitting=elbow.name)


def formers(scene: Scene) -> Changes:
    """Return smaller formers for all runs, the smallest first."""
    tube = scene.tube
    every = [*tube.bend_radii, *(r for run in scene.runs for r in run.bend_radii or ())]
    tightest = MATERIAL_FACTS[tube.material].least_radius_diameters
    return tuple(
        Change(rule="bend radius", before=min(every), after=radius)
        for radius in steps(tightest * tube.outer_diameter, min(every), RADIUS_STEP)
    )


def clearances(scene: Scene) -> Changes:
    """Return less clearance, the least first."""
    asked = scene.rules.clearance
    return tuple(
        Change(rule="clearance", before=asked, after=clearance)
        for clearance in steps(LEAST_CLEARANCE, asked, LENGTH_STEP)
    )


# -------------------------------------------------------------- what it makes of a scene


def with_changes(scene: Scene, changes: Iterable[LoopChange]) -> Scene:
    """Return a scene as it is after changes for all of its runs."""
    for change in changes:
        match change:
            case OtherFitting(port=name, fitting=called):
                offered = scene.port(name).fittings
                more = (*offered, _fitting(scene, called))
                scene = with_fittings(scene, name, more)
            case OtherPort():
                scene = _each_run(scene, partial(_at_port, change))
            case OtherOrder(parts=parts):
                scene = _in_order(scene, parts)
            case Change(rule="bend angles", after=tuple() | str() as angles_deg):
                rules = replace(scene.rules, bend_angles_deg=angles_deg)
                scene = _each_run(replace(scene, rules=rules), partial(_bent, change))
            case Change(rule="bend radius"):
                tube = replace(scene.tube, bend_radii=(number_after(change),))
                scene = _each_run(
                    replace(scene, tube=tube), lambda run: replace(run, bend_radii=None)
                )
            case Change():
                rules = replace(scene.rules, clearance=number_after(change))
                scene = replace(scene, rules=rules)
    return scene


def offering(scene: Scene, changes: Changes) -> Scene:
    """Return a scene in which changes may be taken: ports beside those there are."""
    others = [one for one in changes if not isinstance(one, OtherPort)]
    for port in (one for one in changes if isinstance(one, OtherPort)):
        scene = _each_run(scene, partial(_at_port_too, port))
    return with_changes(scene, others)


def as_used(change: LoopChange, loop: Loop) -> LoopChange | None:
    """Return what of an offered change a choice for a loop has used."""
    ends = [
        (run.request.name, place, end)
        for run in loop.runs
        if run.chosen is not None
        for place, end in zip(("from", "to"), run.chosen.candidate.ends, strict=True)
    ]
    match change:
        case OtherOrder():
            starts = (run.request.from_ports[0] for run in loop.runs)
            return OtherOrder(parts=tuple(one.split(".", 1)[0] for one in starts))
        case OtherPort(run=name, end=place, port=port):
            is_used = (name, place, port) in {(n, p, e.port) for n, p, e in ends}
        case OtherFitting(port=port, fitting=fitting):
            is_used = (port, fitting) in {(e.port, e.fitting) for _, _, e in ends}
        case _:
            is_used = True
    return change if is_used else None


def _each_run(scene: Scene, changed: Callable[[RunRequest], RunRequest]) -> Scene:
    return replace(scene, runs=tuple(map(changed, scene.runs)))


def _at_port(change: OtherPort, run: RunRequest) -> RunRequest:
    """Return a run with another port instead of its own, if it is the one that is meant."""
    if run.name != change.run:
        return run
    if change.end == "from":
        return replace(run, from_ports=(change.port,))
    return replace(run, to_ports=(change.port,))


def _at_port_too(change: OtherPort, run: RunRequest) -> RunRequest:
    """Return a run with a choice of its own ports and another, if it is meant."""
    other = _at_port(change, run)
    return replace(
        run,
        from_ports=tuple(dict.fromkeys((*run.from_ports, *other.from_ports))),
        to_ports=tuple(dict.fromkeys((*run.to_ports, *other.to_ports))),
    )


def _bent(change: Change, run: RunRequest) -> RunRequest:
    """Return a run whose own angles, if it has any, are those of all and its own."""
    own: BendAngles | None = run.bend_angles_deg
    if not isinstance(own, tuple) or not isinstance(change.after, tuple):
        return run if own == "any" else replace(run, bend_angles_deg=None)
    return replace(run, bend_angles_deg=tuple(sorted({*own, *change.after})))


def _fitting(scene: Scene, called: str) -> Fitting:
    every = (port for part in scene.components for port in part.ports)
    return next(one for port in every for one in port.fittings if one.name == called)


def _in_order(scene: Scene, parts: Sequence[str]) -> Scene:
    """Return a scene whose loop goes through its parts in an order, or in any."""
    around = loop_parts(scene)
    opened = replace(scene, loop=LoopRequest(order="any"))
    made = possible_runs(opened)
    own = replace(opened, runs=tuple(run for run in scene.runs if run not in made))
    if set(loop_parts(own)) != set(around):
        return scene  # other parts would come into the loop
    if not parts:
        return own
    ordered = replace(scene, runs=own.runs, loop=LoopRequest(order=tuple(parts)))
    return replace(ordered, runs=runs_in_order(ordered, parts))
