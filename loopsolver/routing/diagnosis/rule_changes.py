"""One rule of a scene changed, so that a run may be tried without it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

from loopsolver.geometry.solids import HalfSpace, Solid
from loopsolver.geometry.vectors import AXES, Point, offset
from loopsolver.scene.model import (
    BendAngles,
    Body,
    Component,
    Fitting,
    Port,
    RunRequest,
    Scene,
    TurnStep,
)
from loopsolver.scene.walls import room

Rule = Literal[
    "clearance",
    "straight at an end",
    "straight between bends",
    "bend radius",
    "bends",
    "bend angles",
    "turn step",
    "sharpest bend",
    "slightest bend",
    "body",
    "case wall",
    "stock length",
    "trim allowance",
]

EVERY_RULE: Final = frozenset[Rule](get_args(Rule))

Value = float | BendAngles | TurnStep | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One rule with another value than the scene's.

    Attributes
    ----------
    rule : Rule
    subject : str
        The port, the body or the case wall that it is about; else empty.
    before, after : Value
        Lengths in millimetres, angles in degrees, bends as a count. A straight at an
        end is what the fitting asks for beyond its mouth. Of a body and a case wall it
        is how far they are moved; None where the body is taken away altogether.
    towards : str
        Where a body is moved to, '+x' ... '-z'.
    """

    rule: Rule
    subject: str = ""
    before: Value
    after: Value
    towards: str = ""


def changed(scene: Scene, run: RunRequest, change: Change) -> tuple[Scene, RunRequest]:
    """Return a scene and its run as they are after a change."""
    return _CHANGES[change.rule](scene, run, change)


_Changed = tuple[Scene, RunRequest]


def _clearance(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    rules = replace(scene.rules, clearance=number_after(change))
    return replace(scene, rules=rules), run


def _straight_between(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    rules = replace(scene.rules, straight_between_bends=number_after(change))
    return replace(scene, rules=rules), run


def _straight_at_end(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    beyond = number_after(change)

    def of_fitting(fitting: Fitting) -> Fitting:
        return replace(fitting, straight_beyond=min(fitting.straight_beyond, beyond))

    fittings = map(of_fitting, scene.port(change.subject).fittings)
    return with_fittings(scene, change.subject, tuple(fittings)), run


def with_fittings(scene: Scene, port: str, fittings: tuple[Fitting, ...]) -> Scene:
    """Return a scene with other fittings to choose from on one of its ports."""

    def changed(of: Port) -> Port:
        return replace(of, fittings=fittings) if of.name == port else of

    parts = tuple(
        replace(part, ports=tuple(changed(of) for of in part.ports))
        for part in scene.components
    )
    return replace(scene, components=parts)


def _radius(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    return scene, replace(run, bend_radii=(number_after(change),))


def _bends(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    return scene, replace(run, max_bends=round(number_after(change)))


def _angles(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    after = change.after
    if after is None or isinstance(after, float):
        msg = f"bend angles are a list or 'any', found {after!r}"
        raise TypeError(msg)
    return scene, replace(run, bend_angles_deg=after)


def _turns(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    after = change.after
    if after is None or isinstance(after, tuple):
        msg = f"a turn step is a number or 'any', found {after!r}"
        raise TypeError(msg)
    return replace(scene, rules=replace(scene.rules, turn_step_deg=after)), run


def _sharpest(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    within = (scene.rules.bend_range[0], number_after(change))
    return replace(scene, rules=replace(scene.rules, bend_range=within)), run


def _slightest(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    within = (number_after(change), scene.rules.bend_range[1])
    return replace(scene, rules=replace(scene.rules, bend_range=within)), run


def _stock(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    tube = replace(scene.tube, stock_length=number_after(change))
    return replace(scene, tube=tube), run


def _trim(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    tube = replace(scene.tube, trim_allowance=number_after(change))
    return replace(scene, tube=tube), run


def _body(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    """Move a body, or leave it out."""

    def kept(bodies: tuple[Body, ...]) -> tuple[Body, ...]:
        if change.after is None:
            return tuple(body for body in bodies if body.name != change.subject)
        by = _scaled(AXES[change.towards], number_after(change))
        return tuple(
            replace(body, solid=shifted(body.solid, by))
            if body.name == change.subject
            else body
            for body in bodies
        )

    parts = tuple(replace(part, bodies=kept(part.bodies)) for part in scene.components)
    return replace(scene, components=parts, keep_outs=kept(scene.keep_outs)), run


def _wall(scene: Scene, run: RunRequest, change: Change) -> _Changed:
    """Move a case wall out; where it bears the datum, everything else moves in."""
    side, by = change.subject[-2:], number_after(change)
    inner = _added(room(scene)[1], _scaled(AXES["+" + side[1]], by))
    if side[0] == "-":
        scene = _all_shifted(scene, _scaled(AXES["+" + side[1]], by))
    return replace(scene, case_inner=inner), run


def _all_shifted(scene: Scene, by: Point) -> Scene:
    """Return a scene with all parts and keep-outs moved, the case left where it is."""

    def bodies(of: tuple[Body, ...]) -> tuple[Body, ...]:
        return tuple(replace(body, solid=shifted(body.solid, by)) for body in of)

    def part(of: Component) -> Component:
        ports = tuple(
            replace(port, position=_added(port.position, by)) for port in of.ports
        )
        return replace(of, bodies=bodies(of.bodies), ports=ports)

    return replace(
        scene,
        components=tuple(part(one) for one in scene.components),
        keep_outs=bodies(scene.keep_outs),
    )


def shifted(solid: Solid, by: Point) -> Solid:
    """Return a solid moved by a vector [mm]."""
    if isinstance(solid, HalfSpace):
        return replace(solid, point=_added(solid.point, by))
    frame = replace(solid.frame, origin=_added(solid.frame.origin, by))
    return replace(solid, frame=frame)


def number_after(change: Change) -> float:
    """Return the value after a change that has a number there."""
    if not isinstance(change.after, int | float):
        msg = f"the rule {change.rule!r} takes a number, found {change.after!r}"
        raise TypeError(msg)
    return float(change.after)


def _scaled(direction: Point, by: float) -> Point:
    return offset((0.0, 0.0, 0.0), direction, by)


def _added(start: Point, by: Point) -> Point:
    return offset(start, by, 1.0)


_CHANGES: Final[dict[Rule, Callable[[Scene, RunRequest, Change], _Changed]]] = {
    "clearance": _clearance,
    "straight at an end": _straight_at_end,
    "straight between bends": _straight_between,
    "bend radius": _radius,
    "bends": _bends,
    "bend angles": _angles,
    "turn step": _turns,
    "sharpest bend": _sharpest,
    "slightest bend": _slightest,
    "body": _body,
    "case wall": _wall,
    "stock length": _stock,
    "trim allowance": _trim,
}
