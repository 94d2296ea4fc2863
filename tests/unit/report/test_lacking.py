"""What a plan lacks, in words."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.plan import Plan
from loopsolver.report.lacking import missing_words, unchosen_words, why_lines
from loopsolver.scene.model import RunRequest
from tests.builders.short_runs import STRAIGHT, made, run_of, scene_of


def wanting(*names: str) -> Plan:
    """Return a plan without runs, of a scene that asks for these."""
    asked = tuple(
        RunRequest(name=name, from_ports=("a.out",), to_ports=("b.in",))
        for name in names
    )
    return Plan(scene=replace(scene_of(), runs=asked), runs=())


def test_runs_of_the_scene_that_the_plan_leaves_out_are_named() -> None:
    assert list(missing_words(wanting())) == []
    assert list(missing_words(wanting("a"))) == ["leaves out run 'a' of the scene"]
    assert list(missing_words(wanting("a", "b"))) == [
        "leaves out runs 'a', 'b' of the scene"
    ]


def test_a_run_without_candidates_has_no_route_and_another_is_not_chosen() -> None:
    bare = replace(run_of(), chosen=None, why="too near;\nmove it,\nor the other")
    assert why_lines(bare) == ("no route: too near;", "move it,", "or the other")
    full = replace(run_of(made(STRAIGHT)), chosen=None)
    assert why_lines(full) == ("not chosen: no reason was kept",)
    assert unchosen_words(bare) == "no tube is chosen for run 'a to b': too near"
