"""What would give a run a route: one rule relaxed at a time, and the run tried again.

Whatever is offered was tried with the very value that is told, by the search that `route`
makes; and so was a value that is 1 mm or 1 degree less generous, which does not do.

References
----------
A least set of changes is what is left when each is taken out that is not needed: the
deletion filter of Chinneck and Dravnieks, ORSA Journal on Computing 3 (1991). From
memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import islice
from typing import Final

from loopsolver.geometry.solids import HalfSpace
from loopsolver.geometry.vectors import offset
from loopsolver.routing.diagnosis.leads import (
    Hindered,
    Lead,
    as_routed,
    lead_of,
    names_too_near,
    widest_lead,
)
from loopsolver.routing.diagnosis.moved_bodies import moves
from loopsolver.routing.diagnosis.no_route import Suggestion
from loopsolver.routing.diagnosis.probes import Probes
from loopsolver.routing.diagnosis.relaxations import (
    A_MILLIMETRE,
    LENGTH_STEP,
    Help,
    Relaxation,
    bend_relaxations,
    clearance_relaxation,
    end_relaxations,
    least_relaxed,
    ports_of,
    range_relaxations,
    steps,
)
from loopsolver.routing.diagnosis.rule_changes import Change, number_after
from loopsolver.routing.diagnosis.stretch import Stretch, whole_tube
from loopsolver.routing.problem import Candidate
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.scene.limits import MAX_BENDS_MOST, TURN_STEPS
from loopsolver.scene.model import BendAngles, TurnStep
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import bend_angles

MORE_BENDS_TRIED: Final = 3
"""So many more bends than allowed are tried, as long as they are not many..."""

MANY_BENDS: Final = 6
"""... in all; one more is always tried. Common practice, no source."""

FURTHEST_WALL: Final = 60.0
"""A case wall is tried no further out than this [mm]."""

MOST_SUGGESTIONS: Final = 5
"""More are not read."""


def suggestions(probes: Probes, known: Hindered) -> tuple[Suggestion, ...]:
    """Return what would give a run a route, what asks least of a builder first.

    First comes what helps at all, then how little of it is enough for the search that
    `route` makes. Once the user stops it, what helps at all is all that is known.
    """
    found = _leads(probes, known)
    least = [
        lead.refined() or (lead.helps if probes.is_stopped else None) for lead in found
    ]
    return tuple(suggestion_of(probes, one) for one in least if one is not None)


def _leads(probes: Probes, known: Hindered) -> list[Lead]:
    """Return what helps, what asks least of a builder first."""
    found: list[Lead] = []
    for rule, some in (
        ("", _wider_range),
        ("", _small_changes),
        ("bends", _more_bends),
        ("turn step", _other_turns),
        ("bend angles", _other_angles),
        ("body", _bodies),
        ("case wall", _walls),
    ):
        if rule and rule not in probes.rules:
            continue
        found += islice(some(probes, known), MOST_SUGGESTIONS - len(found))
    return found or list(_together(probes, known))


def suggestion_of(probes: Probes, helps: Help) -> Suggestion:
    """Return a suggestion with the figures of the route that it gives."""
    changes, route = helps.changes, helps.route
    angles_deg = tuple(math.degrees(a) for a in bend_angles(route.centreline))
    return Suggestion(
        changes=changes,
        bends=route.bends,
        length=route.length,
        angles_deg=angles_deg,
        near=names_too_near(probes.problem, route)
        if changes[0].rule == "clearance"
        else (),
        too_little=helps.too_little,
    )


def _wider_range(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield that sharper or slighter bends of any angle help, if they do."""
    if not known.is_end_blocked:
        yield from _each_relaxed(probes, _open(probes, range_relaxations(probes)))


def _small_changes(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield which relaxed rules help."""
    yield from _each_relaxed(probes, _relaxations(probes, known))


def _each_relaxed(probes: Probes, relaxations: Sequence[Relaxation]) -> Iterator[Lead]:
    """Yield which of some rules help; none where all of them together do not."""
    if (
        not relaxations
        or not probes.may_lead
        or probes.route_with(*(relaxation.widest for relaxation in relaxations)) is None
    ):
        return
    for relaxation in relaxations:
        yield from widest_lead(probes, relaxation)


def _relaxations(probes: Probes, known: Hindered) -> list[Relaxation]:
    """Return the rules with values that may be in the way, small matters first."""
    if known.is_turn_impossible:
        return []
    relaxations = end_relaxations(probes)
    if not known.is_end_blocked:
        relaxations += bend_relaxations(probes)
    return _open(probes, relaxations)


def _open(probes: Probes, relaxations: Sequence[Relaxation]) -> list[Relaxation]:
    """Return those of some relaxations whose rules may be changed."""
    return [one for one in relaxations if one.widest.rule in probes.rules]


def _together(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield a least set of values that only together give a route."""
    needed = _relaxations(probes, known)
    route = probes.route_with(*_widest(needed)) if needed else None
    if route is None:
        return
    for relaxation in tuple(needed):
        fewer = [other for other in needed if other is not relaxation]
        less = probes.route_with(*_widest(fewer)) if fewer else None
        needed, route = (needed, route) if less is None else (fewer, less)
    yield Lead(
        helps=Help(changes=_widest(needed), route=route),
        refined=partial(_least_together, probes, needed),
    )


def _widest(relaxations: Sequence[Relaxation]) -> tuple[Change, ...]:
    return tuple(relaxation.widest for relaxation in relaxations)


def _least_together(probes: Probes, needed: Sequence[Relaxation]) -> Help | None:
    """Return values of rules that together give a route: each as little as will do."""
    found = None
    beside = _widest(needed)
    for relaxation in needed:
        found = least_relaxed(probes, relaxation, beside=beside[1:])
        if found is None:
            return None
        beside = found.changes
    return found


# ------------------------------------------------------------------- bends and angles


def _more_bends(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield that a few more bends are enough, if they are."""
    asked = probes.problem.max_bends
    most = min(asked + MORE_BENDS_TRIED, max(asked + 1, MANY_BENDS), MAX_BENDS_MOST)
    if known.fronts or most <= asked:
        return
    bends = Relaxation(
        to=partial(_bends, asked), values=tuple(map(float, range(most, asked, -1)))
    )
    yield from widest_lead(probes, bends)


def _bends(asked: int, bends: float) -> Change:
    return Change(rule="bends", before=float(asked), after=bends)


def _other_turns(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield turns of 45 degrees if they help, else any turn."""
    asked_deg = probes.problem.turn_step_deg
    if asked_deg == "any" or known.is_end_blocked:
        return
    finer: list[TurnStep] = [step for step in TURN_STEPS if step < asked_deg]
    for step_deg in (*finer, "any"):
        change = Change(rule="turn step", before=asked_deg, after=step_deg)
        if not probes.may_lead:
            return
        route = probes.route_with(change)
        if route is not None:
            yield lead_of(probes, route, change)
            return


def wider_angles(asked_deg: BendAngles) -> tuple[BendAngles, ...]:
    """Return what bend angles may be offered: with the standard ones, then any.

    >>> wider_angles((90.0,)), wider_angles((45.0, 90.0)), wider_angles("any")
    (((45.0, 90.0), 'any'), ('any',), ())
    """
    if asked_deg == "any":
        return ()
    standard_deg = tuple(sorted({*asked_deg, *STANDARD_DEG}))
    is_new = standard_deg != tuple(sorted(asked_deg))
    return (standard_deg, "any") if is_new else ("any",)


def _other_angles(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield standard angles if they help, else any angle."""
    asked_deg = probes.problem.bend_angles_deg
    if asked_deg == "any" or known.is_end_blocked:
        return
    for angles_deg in wider_angles(asked_deg):
        change = Change(rule="bend angles", before=asked_deg, after=angles_deg)
        route = probes.route_with(change) if probes.may_lead else None
        if route is not None:
            yield lead_of(probes, route, change)
            return


# -------------------------------------------------------------------- bodies and walls


def _bodies(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield a single body that may stay, but moved, or that must go."""
    if known.bare is None or known.is_turn_impossible:
        return
    relaxation = clearance_relaxation(probes)
    near = probes.route_with(relaxation.widest) if relaxation.values else None
    hints = [front.stretch for front in known.fronts]
    hints += [whole_tube(near.centreline, probes.problem)] if near is not None else []
    names = [front.fact.near.name for front in known.fronts]
    names += reversed(names_too_near(probes.problem, known.bare))
    names += names_too_near(probes.problem, near) if near is not None else ()
    movable = _movable(probes)
    tried = [name for name in dict.fromkeys(names) if name in movable]
    for name in tried[: probes.problem.effort.diagnosis.most_bodies]:
        gone = Change(rule="body", subject=name, before=0.0, after=None)
        route = probes.route_with(gone) if probes.may_lead else None
        if route is not None:
            tubes = [*hints, whole_tube(route.centreline, probes.problem)]
            yield Lead(
                helps=Help(changes=(gone,), route=route),
                refined=partial(_moved, probes, gone, tubes),
            )


def _movable(probes: Probes) -> set[str]:
    """Return the names of bodies and keep-outs that carry neither port."""
    scene = probes.scene
    own = {port.component for port in ports_of(probes)}
    parts = (part for part in scene.components if part.name not in own)
    bodies = {body.name for part in parts for body in part.bodies}
    return bodies | {body.name for body in scene.keep_outs}


def _moved(probes: Probes, gone: Change, hints: Sequence[Stretch]) -> Help | None:
    """Return the least move of a body that is enough, or that it has to go.

    Along each axis it is tried how far it must go at most: until it clears one of the
    hints, tubes or parts of them.
    """
    name = gone.subject
    clearing: dict[str, float] = {}
    for hint in hints:
        for by, towards in moves(probes.problem, hint, name, step=LENGTH_STEP):
            clearing[towards] = min(by, clearing.get(towards, by))
    least: Help | None = None
    nearest = math.inf
    for by, towards in sorted((by, towards) for towards, by in clearing.items()):
        furthest = min(by, nearest - 1.0)
        values = steps(LENGTH_STEP, furthest + LENGTH_STEP, LENGTH_STEP)[::-1]
        move = Relaxation(
            to=partial(_move, name, towards), values=values, apart=A_MILLIMETRE
        )
        # Of two axes along which it may move the one is taken along which it moves less.
        if not (values and probes.may_refine):
            break
        if least is not None and probes.route_with(move.widest) is None:
            continue
        found = least_relaxed(probes, move)
        if found is not None:
            least, nearest = found, number_after(found.changes[0])
    return least or as_routed(probes, gone)


def _move(name: str, towards: str, by: float) -> Change:
    return Change(rule="body", subject=name, before=0.0, after=by, towards=towards)


def _walls(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield single case walls that are in the way, and by how much."""
    if known.is_turn_impossible or not probes.may_lead:
        return
    names = [o.name for o in probes.problem.obstacles if isinstance(o.solid, HalfSpace)]
    wide = tuple(_wall(name, FURTHEST_WALL) for name in names)
    route = probes.route_with(*wide)
    if route is None:
        return
    crossed = _crossed(probes, route)
    for name, by in crossed[: probes.problem.effort.diagnosis.most_walls]:
        furthest = by if len(crossed) == 1 else FURTHEST_WALL
        values = steps(LENGTH_STEP, furthest + LENGTH_STEP, LENGTH_STEP)[::-1]
        wall = Relaxation(to=partial(_wall, name), values=values, apart=A_MILLIMETRE)
        yield from widest_lead(probes, wall)


def _wall(name: str, by: float) -> Change:
    return Change(rule="case wall", subject=name, before=0.0, after=by)


def _crossed(probes: Probes, route: Candidate) -> list[tuple[str, float]]:
    """Return the walls that a route in the widened case crosses, and by how much [mm].

    The least first. In the widened case everything stands FURTHEST_WALL further in.
    """
    back = (-FURTHEST_WALL,) * 3
    problem = probes.problem
    vertices = tuple(offset(v, back, 1.0) for v in route.centreline.vertices)
    tube = whole_tube(replace(route.centreline, vertices=vertices), problem)
    walls = [o for o in problem.obstacles if isinstance(o.solid, HalfSpace)]
    gaps = tube.gaps(walls, tube_radius=problem.tube_radius)
    short = {name: problem.clearance - gap.distance for name, gap in gaps.items()}
    return sorted(
        ((name, by) for name, by in short.items() if by > TOUCH),
        key=lambda one: (one[1], one[0]),
    )
