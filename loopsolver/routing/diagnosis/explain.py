"""Why a run has no route, and what would give it one."""

from __future__ import annotations

from collections.abc import Sequence

from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.facts import (
    direction_facts,
    out_of_line_facts,
    simple_tube_facts,
)
from loopsolver.routing.diagnosis.no_route import (
    Fact,
    NoneFound,
    NoneInEmptyCase,
    Reason,
    RulesAsked,
    StockTooShort,
)
from loopsolver.routing.diagnosis.probes import Probes, ProblemsOf
from loopsolver.routing.diagnosis.room import in_front_of
from loopsolver.routing.diagnosis.stock import stock_remedies
from loopsolver.routing.diagnosis.suggestions import (
    MOST_SUGGESTIONS,
    Hindered,
    shortfalls,
    suggestion_of,
    suggestions,
)
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.references import PortPair


def reason_of(
    scene: Scene,
    run: RunRequest,
    problems: ProblemsOf,
    *,
    too_long: Sequence[Candidate] = (),
    control: Control = UNATTENDED,
) -> Reason:
    """Return why a run has no route, and what would give it one.

    Parameters
    ----------
    scene : Scene
    run : RunRequest
        One of the scene's.
    problems : callable
        From a scene and a run to its problems, the one with the smallest radius first.
    too_long : sequence of Candidate
        Routes that exist, but whose blanks are longer than the stock.
    control : Control
        Asked before each probe; once it is stopped, no more are made.
    """
    probes = Probes(scene, run, problems, control=control)
    if too_long:
        return _too_long(probes, too_long)
    problem = probes.problem
    ports: PortPair = (run.from_ports[0], run.to_ports[0])
    fronts = in_front_of(problem, ports)
    turn = direction_facts(problem, ports)
    known = Hindered(
        fronts=fronts,
        is_turn_impossible=bool(turn),
        bare=None if turn else probes.bare_route(),
    )
    facts: tuple[Fact, ...] = (*(front.fact for front in fronts), *turn)
    return Reason(
        facts=facts or _hidden_facts(problem, ports, known.bare),
        suggestions=suggestions(probes, known),
        tried=probes.tried,
    )


def _hidden_facts(
    problem: RouteProblem, ports: PortPair, bare: Candidate | None
) -> tuple[Fact, ...]:
    """Return what is against a route where neither end is blocked.

    Parameters
    ----------
    bare : Candidate or None
        A route if nothing stood in the case.
    """
    rules = RulesAsked(
        max_bends=problem.max_bends,
        bend_angles_deg=problem.bend_angles_deg,
        bend_radius=problem.bend_radius,
        clearance=problem.clearance,
        turn_step_deg=problem.turn_step_deg,
    )
    if bare is None:
        facts = (*out_of_line_facts(problem), *simple_tube_facts(problem, ports))
        return facts or (NoneInEmptyCase(ports=ports, rules=rules),)
    facts = simple_tube_facts(problem, ports) if bare.bends > 2 else ()
    near = shortfalls(problem, bare)
    return (*facts, NoneFound(rules=rules, bends=bare.bends, near=near))


def _too_long(probes: Probes, too_long: Sequence[Candidate]) -> Reason:
    """Return the reason where the stock alone is too short."""
    tube = probes.scene.tube
    route = min(too_long, key=lambda candidate: candidate.blank)
    changes = stock_remedies(tube, route)
    found = [suggestion_of(probes, (change,), route) for change in changes]
    found += suggestions(probes, Hindered(bare=probes.bare_route()))
    return Reason(
        facts=(StockTooShort(blank=route.blank, stock_length=tube.stock_length),),
        suggestions=tuple(found[:MOST_SUGGESTIONS]),
    )
