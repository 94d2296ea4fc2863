"""What a plan gives when it is asked: by rank, by name, from either end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.errors import PlanError
from loopsolver.plan import Plan, PlannedRun
from loopsolver.plan.record import is_total
from loopsolver.scene.model import RunRequest
from tests.builders.short_runs import (
    ONE_BEND,
    STRAIGHT,
    TWO_PLANES,
    made,
    run_of,
    scene_of,
)

CANDIDATES = (made(STRAIGHT), made(ONE_BEND), made(TWO_PLANES))


def wanted(name: str) -> RunRequest:
    return RunRequest(name=name, from_ports=("a.out",), to_ports=("b.in",))


def plan_of(*runs: PlannedRun) -> Plan:
    return Plan(scene=replace(scene_of(), runs=tuple(map(wanted, "xyz"))), runs=runs)


@pytest.mark.parametrize("rank", [1, 2, 3])
def test_ranks_are_counted_from_1(rank: int) -> None:
    run = run_of(*CANDIDATES, chosen=rank)
    assert run.candidate(rank) is CANDIDATES[rank - 1]
    assert run.chosen_candidate is CANDIDATES[rank - 1]


@pytest.mark.parametrize("rank", [-1, 0, 4])
def test_a_rank_that_is_not_there_is_refused(rank: int) -> None:
    with pytest.raises(PlanError, match=rf"no candidate {rank}; .*1 to 3"):
        run_of(*CANDIDATES).candidate(rank)


def test_a_run_without_a_choice_has_no_chosen_candidate() -> None:
    assert replace(run_of(*CANDIDATES), chosen=None).chosen_candidate is None


def test_runs_go_by_name_and_those_left_out_are_told() -> None:
    first, last = (replace(run_of(*CANDIDATES), name=name) for name in "xz")
    plan = plan_of(first, last)
    assert plan.run("z") is last
    assert plan.missing == ("y",)
    with pytest.raises(PlanError, match=r"no run 'y' in this plan; there are .*x.*z"):
        plan.run("y")
    with pytest.raises(PlanError, match="there are none"):
        plan_of().run("x")


def test_from_the_other_end_ports_and_vertices_are_turned() -> None:
    turned = run_of(*CANDIDATES).from_other_end()
    assert (turned.from_port, turned.to_port) == ("b.in", "a.out")
    for one, before in zip(turned.candidates, CANDIDATES, strict=True):
        assert one.centreline.vertices == before.centreline.vertices[::-1]


def test_a_total_is_another_one_only_in_all_its_parts() -> None:
    assert is_total((2.0, 100.0), (2.0, 100.0))
    assert not is_total((2.0, 100.0), (2.0, 101.0))
    assert not is_total((2.0, 100.0), (3.0, 100.0))
    assert not is_total((2.0,), (2.0, 100.0))
