"""What would give a run a route: one rule relaxed at a time, and the run tried again.

Whatever is offered was tried with the very value that is told. Values are sought from
both sides until one step less does not do any more.

References
----------
A least set of changes is what is left when each is taken out that is not needed: the
deletion filter of Chinneck and Dravnieks, ORSA Journal on Computing 3 (1991). From
memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice
from typing import Final

from loopsolver.clearance.gap import is_clear
from loopsolver.geometry.solids import HalfSpace
from loopsolver.geometry.vectors import offset
from loopsolver.routing.diagnosis.moved_bodies import least_move
from loopsolver.routing.diagnosis.no_route import Shortfall, Suggestion
from loopsolver.routing.diagnosis.probes import Probes, all_searches, quick_searches
from loopsolver.routing.diagnosis.relaxations import (
    LENGTH_STEP,
    Helps,
    Relaxation,
    bend_relaxations,
    clearance_relaxation,
    end_relaxations,
    least_relaxed,
    ports_of,
    range_relaxations,
    steps,
)
from loopsolver.routing.diagnosis.room import Front
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.stretch import Stretch, whole_tube
from loopsolver.routing.problem import Candidate, RouteProblem
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Hindered:
    """What is known of a run before it is probed.

    Attributes
    ----------
    fronts : tuple of Front
        What stands in front of a port, and what a tube needs there and does not have.
    is_turn_impossible : bool
        Whether the listed angles cannot turn the tube from one port to the other.
    bare : Candidate or None
        A route of the run if nothing stood in the case.
    """

    fronts: tuple[Front, ...] = ()
    is_turn_impossible: bool = False
    bare: Candidate | None = None

    @property
    def is_end_blocked(self) -> bool:
        """Whether the straight that a port asks for is not free."""
        return any(front.is_straight for front in self.fronts)


def suggestions(probes: Probes, known: Hindered) -> tuple[Suggestion, ...]:
    """Return what would give a run a route, what asks least of a builder first.

    First comes what helps at all, then how little of it is enough.
    """
    found: list[Lead] = []
    for some in (
        _wider_range,
        _small_changes,
        _more_bends,
        _other_turns,
        _other_angles,
        _bodies,
        _walls,
    ):
        found += islice(some(probes, known), MOST_SUGGESTIONS - len(found))
    if not found:
        found += _together(probes, known)
    return tuple(
        suggestion_of(probes, *(lead.refined() or lead.helps)) for lead in found
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """Something that helps, and how to find out how little of it is enough."""

    helps: Helps
    refined: Callable[[], Helps | None] = lambda: None


def suggestion_of(
    probes: Probes, changes: tuple[Change, ...], route: Candidate
) -> Suggestion:
    """Return a suggestion with the figures of the route that it gives."""
    angles_deg = tuple(math.degrees(a) for a in bend_angles(route.centreline))
    return Suggestion(
        changes=changes,
        bends=route.bends,
        length=route.length,
        angles_deg=angles_deg,
        near=names_too_near(probes.problem, route)
        if changes[0].rule == "clearance"
        else (),
    )


def names_too_near(problem: RouteProblem, route: Candidate) -> tuple[str, ...]:
    """Return what a route comes nearer to than the clearance, nearest first."""
    return tuple(one.name for one in shortfalls(problem, route))


def shortfalls(problem: RouteProblem, route: Candidate) -> tuple[Shortfall, ...]:
    """Return what a route comes too near to, and by how much [mm], nearest first."""
    tube = whole_tube(route.centreline, problem)
    gaps = tube.gaps(problem.obstacles, tube_radius=problem.tube_radius)
    return tuple(
        Shortfall(name=name, by=problem.clearance - gap.distance)
        for name, gap in gaps.items()
        if not is_clear(gap.distance, problem.clearance)
    )


def _wider_range(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield that sharper or slighter bends of any angle help, if they do."""
    if not known.is_end_blocked:
        yield from _each_relaxed(probes, range_relaxations(probes))


def _small_changes(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield which relaxed rules help."""
    yield from _each_relaxed(probes, _relaxations(probes, known))


def _each_relaxed(probes: Probes, relaxations: Sequence[Relaxation]) -> Iterator[Lead]:
    """Yield which of some rules help; none where all of them together do not."""
    if (
        not relaxations
        or probes.route_with(*(relaxation.widest for relaxation in relaxations)) is None
    ):
        return
    for relaxation in relaxations:
        yield from _lead(probes, relaxation)


def _lead(probes: Probes, relaxation: Relaxation) -> Iterator[Lead]:
    """Yield a rule's most generous value as a lead if it gives a route."""
    route = probes.route_with(relaxation.widest) if probes.may_lead else None
    if route is not None:
        yield Lead(
            helps=((relaxation.widest,), route),
            refined=partial(least_relaxed, probes, relaxation),
        )


def _relaxations(probes: Probes, known: Hindered) -> list[Relaxation]:
    """Return the rules with values that may be in the way, small matters first."""
    if known.is_turn_impossible:
        return []
    relaxations = end_relaxations(probes)
    return (
        relaxations if known.is_end_blocked else relaxations + bend_relaxations(probes)
    )


def _together(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield a least set of generous values that only together give a route."""
    changes = tuple(relaxation.widest for relaxation in _relaxations(probes, known))
    if not changes or probes.route_with(*changes) is None:
        return
    for change in changes:
        fewer = tuple(other for other in changes if other is not change)
        if fewer and probes.route_with(*fewer) is not None:
            changes = fewer
    route = probes.route_with(*changes)
    if route is not None:
        yield Lead(helps=(changes, route))


# ------------------------------------------------------------------- bends and angles


def _more_bends(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield that a few more bends are enough, if they are."""
    asked = probes.problem.max_bends
    most = min(asked + MORE_BENDS_TRIED, max(asked + 1, MANY_BENDS), MAX_BENDS_MOST)
    if known.fronts or most <= asked:
        return
    change = _bends(asked, most)
    # Where the ports ask for more turns than bends can give, look for many bends too.
    slow = (all_searches,) if known.is_turn_impossible else ()
    for choice in (quick_searches, *slow):
        route_with = partial(probes.route_with, choice=choice)
        route = route_with(change) if probes.may_lead else None
        if route is not None:
            fewest = partial(_fewest_bends, probes, route_with, most=route.bends)
            yield Lead(helps=((change,), route), refined=fewest)
            return


def _fewest_bends(
    probes: Probes, route_with: Callable[[Change], Candidate | None], *, most: int
) -> Helps | None:
    """Return the least number of bends that is enough, `most` being so."""
    asked = probes.problem.max_bends
    for bends in range(asked + 1, most + 1):
        change = _bends(asked, bends)
        route = route_with(change) if probes.may_refine else None
        if route is not None:
            return (change,), route
    return None


def _bends(asked: int, bends: int) -> Change:
    return Change(rule="bends", before=float(asked), after=float(bends))


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
        route = probes.route_with(change, choice=all_searches)
        if route is not None:
            yield Lead(helps=((change,), route))
            return


def _other_angles(probes: Probes, known: Hindered) -> Iterator[Lead]:
    """Yield standard angles if they help, else any angle."""
    asked_deg = probes.problem.bend_angles_deg
    if asked_deg == "any" or known.is_end_blocked:
        return
    standard_deg = tuple(sorted({*asked_deg, *STANDARD_DEG}))
    offered_deg: list[BendAngles] = (
        [standard_deg] if standard_deg != tuple(sorted(asked_deg)) else []
    )
    for angles_deg in (*offered_deg, "any"):
        change = Change(rule="bend angles", before=asked_deg, after=angles_deg)
        route = probes.route_with(change) if probes.may_lead else None
        if route is not None:
            yield Lead(helps=((change,), route))
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
                helps=((gone,), route), refined=partial(_moved, probes, name, tubes)
            )


def _movable(probes: Probes) -> set[str]:
    """Return the names of bodies and keep-outs that carry neither port."""
    scene = probes.scene
    own = {port.component for port in ports_of(probes)}
    parts = (part for part in scene.components if part.name not in own)
    bodies = {body.name for part in parts for body in part.bodies}
    return bodies | {body.name for body in scene.keep_outs}


def _moved(probes: Probes, name: str, hints: Sequence[Stretch]) -> Helps | None:
    """Return a short move of a body that is enough, or None.

    The moves that would clear the hints, tubes or parts of them, are tried.
    """
    moves = {least_move(probes.problem, hint, name, step=LENGTH_STEP) for hint in hints}
    for by, towards in sorted(move for move in moves if move is not None):
        if not probes.may_refine:
            break
        values = steps(LENGTH_STEP, by + LENGTH_STEP, LENGTH_STEP)[::-1]
        move = Relaxation(to=partial(_move, name, towards), values=values)
        found = least_relaxed(probes, move)
        if found is not None:
            return found
    return None


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
        yield from _lead(probes, Relaxation(to=partial(_wall, name), values=values))


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
