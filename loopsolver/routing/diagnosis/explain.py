"""Why a run has no route, and what would give it one."""

from __future__ import annotations

from collections.abc import Sequence

from loopsolver.routing.candidates import most_bends_searched
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.diagnosis.facts import (
    direction_facts,
    out_of_line_facts,
    simple_tube_facts,
)
from loopsolver.routing.diagnosis.leads import (
    Hindered,
    shortfalls,
)
from loopsolver.routing.diagnosis.no_route import (
    Fact,
    NoneFound,
    NoneInEmptyCase,
    OutOfRange,
    Proof,
    Reason,
    RulesAsked,
    Searched,
    StockTooShort,
    Suggestion,
)
from loopsolver.routing.diagnosis.probes import Probes, Searches
from loopsolver.routing.diagnosis.relaxations import Help
from loopsolver.routing.diagnosis.room import in_front_of
from loopsolver.routing.diagnosis.rule_changes import EVERY_RULE, Rule
from loopsolver.routing.diagnosis.stock import stock_remedies
from loopsolver.routing.diagnosis.suggestions import (
    MOST_SUGGESTIONS,
    suggestion_of,
    suggestions,
)
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.routing.square.field import lattice_field
from loopsolver.routing.square.lattice import (
    least_bends,
    square_run,
)
from loopsolver.routing.square.meet import meetings
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.references import PortPair


def reason_of(
    scene: Scene,
    run: RunRequest,
    searches: Searches,
    *,
    too_long: Sequence[Candidate] = (),
    rules: frozenset[Rule] = EVERY_RULE,
    control: Control = UNATTENDED,
) -> Reason:
    """Return why a run has no route, and what would give it one.

    Parameters
    ----------
    scene : Scene
    run : RunRequest
        One of the scene's.
    searches : Searches
        Those that `route` makes.
    too_long : sequence of Candidate
        Routes that exist, but whose blanks are longer than the stock.
    rules : frozenset of Rule
        Only changes of these are tried.
    control : Control
        Asked before each probe; once it is stopped, no more are made.
    """
    probes = Probes(scene, run, searches, rules=rules, control=control)
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
    remedies = suggestions(probes, known)
    return Reason(
        facts=(facts or _hidden_facts(probes, ports, known.bare))
        + _range_facts(remedies),
        suggestions=remedies,
        tried=probes.tried,
    )


def _range_facts(remedies: Sequence[Suggestion]) -> tuple[OutOfRange, ...]:
    """Return that a wider range of free bends gives a tube, where it does."""
    facts = []
    for remedy in remedies:
        change, angles_deg = remedy.changes[0], remedy.angles_deg
        limit_deg = change.before
        if not isinstance(limit_deg, float):
            continue
        if change.rule == "sharpest bend":
            facts += [OutOfRange(limit_deg=limit_deg, angle_deg=max(angles_deg))]
        if change.rule == "slightest bend":
            facts += [OutOfRange(limit_deg=limit_deg, angle_deg=min(angles_deg))]
    return tuple(facts)


def searched(problems: Sequence[RouteProblem], *, most: int) -> Searched:
    """Return what a search has looked at that found no tube for any of some problems.

    The lattice is searched again: where it has a tube that is no good by itself, nothing
    is proven of the others.

    Parameters
    ----------
    problems : sequence of RouteProblem
        Those of one run, its ends and formers settled.
    most : int
        Tubes of more bends were not looked for where nothing is proven.
    """
    rules = problems[0]
    bends = min(rules.max_bends, most)
    if rules.max_bends <= 1:
        return Searched(proven="all", bends=bends)
    if rules.bend_angles_deg == (90.0,) and not any(map(_has_square, problems)):
        proven: Proof = "all" if rules.turn_step_deg == 90.0 else "square"
        return Searched(proven=proven, bends=bends)
    return Searched(proven="one bend", bends=bends)


def _has_square(problem: RouteProblem) -> bool:
    """Return whether the lattice has any tube of a problem."""
    run = square_run(problem)
    if run is None or least_bends(run) > problem.max_bends:
        return False
    field = lattice_field(run)
    return next(meetings(field, bends=problem.max_bends), None) is not None


def _hidden_facts(
    probes: Probes, ports: PortPair, bare: Candidate | None
) -> tuple[Fact, ...]:
    """Return what is against a route where neither end is blocked.

    Parameters
    ----------
    bare : Candidate or None
        A route if nothing stood in the case.
    """
    problem = probes.problem
    rules = RulesAsked(
        max_bends=problem.max_bends,
        bend_angles_deg=problem.bend_angles_deg,
        bend_radius=problem.bend_radius,
        clearance=problem.clearance,
        turn_step_deg=problem.turn_step_deg,
        bend_range=problem.bend_range,
    )
    if bare is None:
        facts = (*out_of_line_facts(problem), *simple_tube_facts(problem, ports))
        bare_problem = probes.bare_problem
        looked = searched([bare_problem], most=most_bends_searched(bare_problem))
        return facts or (NoneInEmptyCase(ports=ports, rules=rules, searched=looked),)
    facts = simple_tube_facts(problem, ports) if bare.bends > 2 else ()
    near = shortfalls(problem, bare)
    looked = searched(probes.problems, most=most_bends_searched(problem))
    return (
        *facts,
        NoneFound(rules=rules, searched=looked, bends=bare.bends, near=near),
    )


def _too_long(probes: Probes, too_long: Sequence[Candidate]) -> Reason:
    """Return the reason where the stock alone is too short."""
    tube = probes.scene.tube
    route = min(too_long, key=lambda candidate: candidate.blank)
    changes = stock_remedies(tube, route)
    helps = (Help(changes=(change,), route=route) for change in changes)
    found = [suggestion_of(probes, one) for one in helps]
    found += suggestions(probes, Hindered(bare=probes.bare_route()))
    return Reason(
        facts=(StockTooShort(blank=route.blank, stock_length=tube.stock_length),),
        suggestions=tuple(found[:MOST_SUGGESTIONS]),
    )
