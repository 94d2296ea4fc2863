"""Why a run has no route, and what would give it one, in words and as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loopsolver.routing.diagnosis.facts import (
    Ports,
    direction_facts,
    simple_tube_facts,
    within,
)
from loopsolver.routing.diagnosis.probes import Probes, ProblemsOf
from loopsolver.routing.diagnosis.room import in_front_of
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.stock import stock_fact, stock_remedies
from loopsolver.routing.diagnosis.suggestions import (
    MOST_SUGGESTIONS,
    Hindered,
    Suggestion,
    shortfalls,
    suggestion_of,
    suggestions,
)
from loopsolver.routing.diagnosis.telling import (
    MOST_NAMED,
    tried_in_words,
    way_in_words,
)
from loopsolver.routing.diagnosis.words import listed, mm, several
from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.scene.model import RunRequest, Scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why a run has no route.

    Attributes
    ----------
    facts : tuple of str
        What stands against one, without a full stop; the most direct first.
    suggestions : tuple of Suggestion
        What would give one; each was tried. What is least to a builder comes first.
    tried : tuple of Change
        What was tried, whether it helped or not.
    """

    facts: tuple[str, ...]
    suggestions: tuple[Suggestion, ...]
    tried: tuple[Change, ...] = ()

    @property
    def sentence(self) -> str:
        """Facts and suggestions as one text, without a full stop."""
        told = "; ".join(self.facts)
        if not self.suggestions:
            return f"{told}; no change that was tried helps: {self._tried}"
        remedies = listed([way_in_words(one) for one in self.suggestions], last="or")
        return f"{told}; possible {remedies}"

    @property
    def _tried(self) -> str:
        return tried_in_words(self.tried) or "there is none to try"


def why_none(
    scene: Scene,
    run: RunRequest,
    problems: ProblemsOf,
    *,
    too_long: Sequence[Candidate] = (),
) -> str:
    """Return in words why a run has no route; see `reason_of`."""
    return reason_of(scene, run, problems, too_long=too_long).sentence


def reason_of(
    scene: Scene,
    run: RunRequest,
    problems: ProblemsOf,
    *,
    too_long: Sequence[Candidate] = (),
) -> Reason:
    """Return why a run has no route, and what would give it one.

    Parameters
    ----------
    scene : Scene
    run : RunRequest
        One of the scene's.
    ways : callable
        From a scene and a run to its problems, the one with the smallest radius first.
    too_long : sequence of Candidate
        Routes that exist, but whose blanks are longer than the stock.
    """
    probes = Probes(scene, run, problems)
    if too_long:
        return _too_long(probes, too_long)
    problem = probes.problem
    ports: Ports = (run.from_ports[0], run.to_ports[0])
    fronts = in_front_of(problem, ports)
    turn = direction_facts(problem, ports)
    known = Hindered(
        is_end_blocked=any(front.is_straight for front in fronts),
        is_first_bend_blocked=bool(fronts),
        is_turn_impossible=bool(turn),
        bare=None if turn else probes.bare_route(),
        culprits=tuple(front.gap.name for front in fronts),
        needed=tuple(front.stretch for front in fronts),
    )
    facts = (*(front.sentence for front in fronts), *turn)
    return Reason(
        facts=facts or _hidden_facts(problem, ports, known.bare),
        suggestions=suggestions(probes, known),
        tried=probes.tried,
    )


def _hidden_facts(
    problem: RouteProblem, ports: Ports, bare: Candidate | None
) -> tuple[str, ...]:
    """Return what is against a route where neither end is blocked.

    Parameters
    ----------
    bare : Candidate or None
        A route if nothing stood in the case.
    """
    if bare is None:
        facts = simple_tube_facts(problem, ports)
        return facts or (
            f"even in the empty case no tube of {within(problem)} was found from "
            f"{ports[0]} to {ports[1]}",
        )
    facts = simple_tube_facts(problem, ports) if bare.bends > 2 else ()
    short = shortfalls(problem, bare)
    if not short:
        return (*facts, f"no tube of {within(problem)} was found")
    first, *others = [f"{mm(by)} too near to {name}" for name, by in short[:MOST_NAMED]]
    rest = [one.replace(" too near", "") for one in others]
    more = len(short) - MOST_NAMED
    rest += [f"less to {more} more"] if more > 0 else []
    kind = several(bare.bends, "bend") if bare.bends else "straight"
    return (
        *facts,
        f"no tube of {within(problem)} is free; the simplest ({kind}) comes "
        f"{listed([first, *rest])}",
    )


def _too_long(probes: Probes, too_long: Sequence[Candidate]) -> Reason:
    """Return the reason where the stock alone is too short."""
    tube = probes.scene.tube
    found = [
        suggestion_of(probes, (change,), route)
        for change, route in stock_remedies(tube, too_long)
    ]
    found += suggestions(probes, Hindered(bare=probes.bare_route()))
    return Reason(
        facts=(stock_fact(tube, too_long),),
        suggestions=tuple(found[:MOST_SUGGESTIONS]),
    )
