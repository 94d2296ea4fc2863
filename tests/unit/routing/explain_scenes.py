"""Small scenes that have no route, and changes made to them by hand."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from loopsolver.geometry.solids import HalfSpace
from loopsolver.geometry.vectors import AXES, Array, Point, point, unit
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.diagnosis.no_route import Reason, Suggestion
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import problems_of, solve_run
from loopsolver.scene.model import (
    BendAngles,
    Body,
    Component,
    Rules,
    Scene,
)
from loopsolver.scene.walls import room
from loopsolver.tube.stock import Tube
from tests.builders import scenes
from tests.builders.scenes import COLLAR, part, port, wanted

SEAT = COLLAR.height - COLLAR.depth
"""From a port's face to the tube end [mm]."""

TUBE, RULES = scenes.tube(), scenes.rules()
REACH = TUBE.radius + RULES.clearance
"""What a centre line keeps from everything [mm]."""


@dataclass(frozen=True)
class At:
    """A port, given by where its tube ends and how the tube leaves."""

    seat: Point
    direction: Point | str


def build(
    start: At,
    goal: At,
    *bodies: Body,
    inner: Point = (300.0, 300.0, 300.0),
    tube: Tube = TUBE,
    keep_outs: Sequence[Body] = (),
    **rules: float | BendAngles,
) -> Scene:
    """A scene of one run from pump.out to gpu.in."""
    return scenes.scene(
        _carrier("pump", "out", start),
        _carrier("gpu", "in", goal),
        *(part(body.name, body) for body in bodies),
        inner=inner,
        tube=tube,
        rules=replace(RULES, **rules),  # type: ignore[arg-type]
        keep_outs=keep_outs,
        runs=[wanted("pump to gpu", "pump.out", "gpu.in")],
    )


def _carrier(name: str, end: str, at: At) -> Component:
    direction = AXES[at.direction] if isinstance(at.direction, str) else at.direction
    face = np.array(at.seat) - SEAT * np.array(unit(direction))
    return part(name, port(f"{name}.{end}", point(face), unit(direction)))


def routes(scene: Scene) -> tuple[Candidate, ...]:
    """The candidates of the scene's run that the stock is enough for."""
    (problem,) = problems_of(scene, scene.runs[0])
    stock = scene.tube.stock_length
    return tuple(
        c for c in find_candidates(problem).candidates if c.blank <= stock + 1e-6
    )


def reason(scene: Scene) -> Reason:
    """Why the scene's run has no route from its stock; fails where it has one."""
    outcome = solve_run(scene, scene.runs[0])
    assert all(one.blank > scene.tube.stock_length for one in outcome.candidates)
    assert isinstance(outcome.why, Reason)
    return outcome.why


_Fact = TypeVar("_Fact")


def first_fact(found: Reason, kind: type[_Fact]) -> _Fact:
    """The most direct fact, which is of this kind."""
    assert isinstance(found.facts[0], kind), found.facts
    return found.facts[0]


def only_fact(found: Reason, kind: type[_Fact]) -> _Fact:
    """The one fact there is, which is of this kind."""
    assert len(found.facts) == 1, found.facts
    return first_fact(found, kind)


def suggested(found: Reason, rule: str, subject: str = "") -> Suggestion:
    """The one suggestion to change a rule (of a thing), and nothing else."""
    (one,) = [
        one
        for one in found.suggestions
        if len(one.changes) == 1
        and one.changes[0].rule == rule
        and subject in ("", one.changes[0].subject)
    ]
    return one


def only(found: Reason, rule: str, subject: str = "") -> Change:
    """The one change of a rule (and thing) that is suggested."""
    return suggested(found, rule, subject).changes[0]


def rules_of(found: Reason) -> set[str]:
    """The rules that suggestions are about."""
    return {change.rule for one in found.suggestions for change in one.changes}


def after(scene: Scene, *changes: Change, less: float = 0.0) -> Scene:
    """The scene with changes made by hand; `less` makes them so much less generous."""
    for change in changes:
        scene = _after(scene, change, less)
    return scene


def _after(scene: Scene, change: Change, less: float) -> Scene:
    value = change.after
    rules, tube, run = scene.rules, scene.tube, scene.runs[0]
    if change.rule == "bend angles":
        assert isinstance(value, tuple | str)
        return replace(scene, runs=(replace(run, bend_angles_deg=value),))
    if change.rule == "turn step":
        assert not isinstance(value, tuple | None)
        return replace(scene, rules=replace(rules, turn_step_deg=value))
    if change.rule == "body":
        return _without(scene, change, less)
    assert isinstance(value, int | float)
    if change.rule == "case wall":
        return _wall_out(scene, change.subject, value - less)
    if change.rule == "straight at an end":
        return _shorter_collar(scene, change.subject, value + less)
    changed: dict[str, dict[str, Rules | Tube]] = {
        "clearance": {"rules": replace(rules, clearance=value + less)},
        "straight between bends": {
            "rules": replace(rules, straight_between_bends=value + less)
        },
        "sharpest bend": {
            "rules": replace(rules, bend_range=(rules.bend_range[0], value - less))
        },
        "slightest bend": {
            "rules": replace(rules, bend_range=(value + less, rules.bend_range[1]))
        },
        "bends": {"rules": replace(rules, max_bends=int(value - less))},
        "bend radius": {"tube": replace(tube, bend_radii=(value + less,))},
        "stock length": {"tube": replace(tube, stock_length=value - less)},
        "trim allowance": {"tube": replace(tube, trim_allowance=value + less)},
    }
    return replace(scene, **changed[change.rule])  # type: ignore[arg-type] # by name


def _shorter_collar(scene: Scene, port_name: str, beyond: float) -> Scene:
    collar = replace(COLLAR, straight_beyond=beyond)
    parts = [
        replace(
            part,
            ports=tuple(
                replace(port, fittings=(collar,)) if port.name == port_name else port
                for port in part.ports
            ),
        )
        for part in scene.components
    ]
    return replace(scene, components=tuple(parts))


def _shifted(body: Body, by: Array) -> Body:
    assert not isinstance(body.solid, HalfSpace)
    origin = point(np.array(body.solid.frame.origin) + by)
    frame = replace(body.solid.frame, origin=origin)
    return replace(body, solid=replace(body.solid, frame=frame))


def _wall_out(scene: Scene, wall: str, by: float) -> Scene:
    """The case longer on one side: at the datum all that is in it moves up instead."""
    axis = "xyz".index(wall[-1])
    inner = list(room(scene)[1])
    inner[axis] += by
    scene = replace(scene, case_inner=point(inner))
    if wall[-2] == "+":
        return scene
    shift = by * np.eye(3)[axis]
    parts = [
        replace(
            part,
            bodies=tuple(_shifted(one, shift) for one in part.bodies),
            ports=tuple(
                replace(port, position=point(np.array(port.position) + shift))
                for port in part.ports
            ),
        )
        for part in scene.components
    ]
    keep_outs = tuple(_shifted(one, shift) for one in scene.keep_outs)
    return replace(scene, components=tuple(parts), keep_outs=keep_outs)


def _without(scene: Scene, change: Change, less: float) -> Scene:
    def kept(bodies: tuple[Body, ...]) -> tuple[Body, ...]:
        found = []
        for one in bodies:
            if one.name != change.subject:
                found.append(one)
            elif change.after is not None:
                assert isinstance(change.after, int | float)
                by = (change.after - less) * np.array(AXES[change.towards])
                found.append(_shifted(one, by))
        return tuple(found)

    parts = [replace(part, bodies=kept(part.bodies)) for part in scene.components]
    return replace(scene, components=tuple(parts), keep_outs=kept(scene.keep_outs))
