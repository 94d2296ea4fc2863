"""What helps a run at all, before it is known how little of it is enough."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from loopsolver.clearance.gap import is_clear
from loopsolver.routing.diagnosis.no_route import Shortfall
from loopsolver.routing.diagnosis.probes import Probes
from loopsolver.routing.diagnosis.relaxations import Help, Relaxation, least_relaxed
from loopsolver.routing.diagnosis.room import Front
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.stretch import whole_tube
from loopsolver.routing.problem import Candidate, RouteProblem


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """Something that helps, and how to find out how little of it is enough."""

    helps: Help
    refined: Callable[[], Help | None]


def lead_of(probes: Probes, route: Candidate, *changes: Change) -> Lead:
    """Return changes that have no less of them as a lead."""
    helps = Help(changes=changes, route=route)
    return Lead(helps=helps, refined=partial(as_routed, probes, *changes))


def as_routed(probes: Probes, *changes: Change) -> Help | None:
    """Return changes with the tube that `route` finds best after them, if any."""
    route = probes.best_with(*changes)
    return None if route is None else Help(changes=changes, route=route)


def widest_lead(probes: Probes, relaxation: Relaxation) -> Iterator[Lead]:
    """Yield a rule's most generous value as a lead if it gives a route."""
    route = probes.route_with(relaxation.widest) if probes.may_lead else None
    if route is not None:
        yield Lead(
            helps=Help(changes=(relaxation.widest,), route=route),
            refined=partial(least_relaxed, probes, relaxation),
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
