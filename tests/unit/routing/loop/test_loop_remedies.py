"""What would let a whole loop fit: done to the scene by hand, all runs are laid.

Of the cases it is seen by hand what helps first and, where tubes are straight, what it
comes to: seats are 6 mm in front of the ports.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from loopsolver.cli.comparing import plan_document
from loopsolver.plan.ranking import RANKINGS
from loopsolver.report.loop import loop_sentences
from loopsolver.report.planning import route_scene
from loopsolver.routing.control import Control, Event, Explaining
from loopsolver.routing.diagnosis.no_route import (
    OtherFitting,
    OtherPort,
)
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.whole_loop import (
    LoopChange,
    LoopRemedies,
    LoopRemedy,
    OtherOrder,
)
from loopsolver.routing.loop.changes import clearances, formers, offering, offers
from loopsolver.routing.loop.remedies import loop_remedies
from loopsolver.routing.loop.solving import Loop, solve_any_order, solve_loop
from loopsolver.scene.circuit import loop_parts, runs_in_order
from loopsolver.scene.model import LoopRequest, Scene
from loopsolver.view.figures import loop_section
from tests.builders import hindered_cases as cases
from tests.builders import remedied_loops as lone
from tests.builders.remedied_loops import Remedied
from tests.full import few_or_all, only_in_full

KEY = RANKINGS["bends"]


def solve(scene: Scene, control: Control) -> Loop:
    if scene.loop is not None and scene.loop.order == "any":
        return solve_any_order(scene, loop_parts(scene), key=KEY, control=control)
    return solve_loop(scene, scene.runs, key=KEY, control=control)


def left_out(loop: Loop) -> int:
    return sum(run.chosen is None for run in loop.runs)


class Unexplained:
    """Who asks for a loop and not for reasons: it is stopped when these are sought."""

    def __init__(self) -> None:
        self.asked = False

    def tell(self, event: Event) -> None:
        self.asked = self.asked or isinstance(event, Explaining)

    def solved(self, scene: Scene) -> Loop:
        return solve(scene, Control(tell=self.tell, stopped=lambda: self.asked))


@cache
def remedies(case: Callable[[], Scene]) -> LoopRemedies:
    scene = case()
    loop = Unexplained().solved(scene)
    assert left_out(loop)
    return loop_remedies(scene, loop, solve, control=Control())


def by_hand(scene: Scene, change: LoopChange, *, less: float = 0.0) -> Scene:
    """The scene after a change for all runs, or after less of it [mm]."""
    match change:
        case Change(rule="bend angles", after=tuple() | str() as angles):
            rules = replace(scene.rules, bend_angles_deg=angles)
            return replace(scene, rules=rules)
        case Change(rule="clearance", after=float() as after):
            rules = replace(scene.rules, clearance=after + less)
            return replace(scene, rules=rules)
        case Change(rule="bend radius", after=float() as after):
            tube = replace(scene.tube, bend_radii=(after + less,))
            return replace(scene, tube=tube)
        case OtherPort(end=end, port=port, run=name):
            runs = []
            for run in scene.runs:
                if run.name == name and end == "from":
                    runs.append(replace(run, from_ports=(port,)))
                elif run.name == name:
                    runs.append(replace(run, to_ports=(port,)))
                else:
                    runs.append(run)
            return replace(scene, runs=tuple(runs))
        case OtherFitting(port=name, fitting=called):
            every = [port for part in scene.components for port in part.ports]
            (kind, *_) = [f for p in every for f in p.fittings if f.name == called]
            parts = [
                replace(
                    part,
                    ports=tuple(
                        replace(port, fittings=(*port.fittings, kind))
                        if port.name == name
                        else port
                        for port in part.ports
                    ),
                )
                for part in scene.components
            ]
            return replace(scene, components=tuple(parts))
        case OtherOrder(parts=order):
            open_scene = replace(scene, runs=(), loop=LoopRequest(order=order))
            return replace(open_scene, runs=runs_in_order(open_scene, order))
    raise AssertionError(change)


def check(scene: Scene, found: LoopRemedy) -> None:
    """Check that all runs are laid after what was found, and not after 1 mm less."""
    changed = scene
    for change in found.changes:
        changed = by_hand(changed, change)
    again = Unexplained().solved(changed)
    assert left_out(again) == 0
    chosen = [run.chosen.candidate for run in again.runs if run.chosen]
    assert found.runs == len(chosen) == len(scene.runs)
    assert found.bends == sum(one.bends for one in chosen)
    assert found.elbows == sum(one.elbows for one in chosen)
    assert found.length == pytest.approx(sum(one.length for one in chosen))
    for change in found.changes:
        if isinstance(change, Change) and isinstance(change.after, float):
            less = by_hand(scene, change, less=1.0)
            assert left_out(Unexplained().solved(less))


def over() -> Scene:
    """Tubes 2 mm apart that cross, straight as they are: 228 and 288 mm."""
    return cases.over_each_other(2.0)


def nearly_touching() -> Scene:
    """The same tubes only 0.2 mm apart."""
    return cases.over_each_other(0.2)


def of_kind(change: LoopChange) -> str:
    return change.rule if isinstance(change, Change) else type(change).__name__


KINDS = {
    lone.with_a_spare_port: 3,
    lone.with_offsets: 4,
    lone.with_returns: 3,
    lone.with_little_between: 4,
    lone.with_an_elbow: 3,
    lone.with_an_order: 3,
}
"""Random loops by what lays all runs of them, and how many of each."""

CASES = [(kind, seed) for kind, most in KINDS.items() for seed in range(most)]
FEW = [(lone.with_offsets, 1), (lone.with_returns, 0)]


@pytest.mark.parametrize(("kind", "seed"), few_or_all(FEW, CASES))
def test_the_one_thing_that_lays_all_is_found_and_is_the_least(
    kind: Callable[[int], Remedied], seed: int
) -> None:
    case = kind(seed)
    loop = Unexplained().solved(case.scene)
    assert left_out(loop)
    found = loop_remedies(case.scene, loop, solve, control=Control()).found
    assert found is not None
    assert found.changes == (case.change,)
    check(case.scene, found)


@only_in_full
@pytest.mark.parametrize(("kind", "seed"), CASES)
def test_nothing_else_lays_all(kind: Callable[[int], Remedied], seed: int) -> None:
    """What is offered of any other kind is not enough, however much of it."""
    case = kind(seed)
    loop = Unexplained().solved(case.scene)
    widest = (formers(case.scene)[:1], clearances(case.scene)[:1])
    for offered in (*offers(case.scene, loop), *widest):
        if offered and of_kind(offered[0]) != of_kind(case.change):
            assert left_out(Unexplained().solved(offering(case.scene, offered)))


def test_the_figures_of_tubes_that_rub_are_seen_by_hand() -> None:
    found = remedies(over).found
    assert found is not None
    assert found.changes == (Change(rule="clearance", before=3.0, after=2.0),)
    assert (found.runs, found.bends, found.elbows) == (2, 0, 0)
    assert found.length == pytest.approx(228.0 + 288.0)


def test_where_nothing_helps_all_is_tried_and_told() -> None:
    """No tube rubs for half a millimetre, and straight ones have no other way."""
    told = remedies(nearly_touching)
    assert (told.found, told.is_all_tried) == (None, True)
    assert [of_kind(change) for change in told.tried] == [
        "bend angles",
        "bend angles",
        "bend radius",
        "clearance",
    ]


@pytest.mark.parametrize("most", [0, 1, 2])
def test_who_stops_it_has_what_was_tried_by_then(most: int) -> None:
    """After so many loops; nothing helps in this one."""
    scene = nearly_touching()
    loop = Unexplained().solved(scene)
    asked: list[Scene] = []

    def counted(scene: Scene, control: Control) -> Loop:
        asked.append(scene)
        return loop

    told = loop_remedies(
        scene, loop, counted, control=Control(stopped=lambda: len(asked) >= most)
    )
    assert (told.found, told.is_all_tried) == (None, False)
    assert len(asked) == most
    assert len(told.tried) == max(most - 1, 0)


def test_a_plan_says_with_what_its_loop_would_fit() -> None:
    plan = route_scene(over(), seconds=3600.0)
    assert plan.loop is not None
    fits = plan.loop.would_fit
    assert fits is not None
    assert (fits.changes, fits.runs, fits.bends, fits.elbows) == (
        "a clearance of 2 mm",
        2,
        0,
        0,
    )
    assert fits.length == pytest.approx(228.0 + 288.0)
    words = "with a clearance of 2 mm, all 2 would fit: 0 bends, 516.0 mm of tube"
    assert words in loop_sentences(plan)
    panel = " ".join(line.text.strip() for line in loop_section(plan).lines)
    assert words in " ".join(panel.split())
    assert plan_document(plan, plan.runs, Path("a.json"))["loop"]["would_fit"] == {
        "changes": "a clearance of 2 mm",
        "runs": 2,
        "bends": 0,
        "elbows": 0,
        "length": pytest.approx(516.0),
    }
