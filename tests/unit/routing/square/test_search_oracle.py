"""The search against an exhaustive Dijkstra over the states of small random runs."""

from itertools import pairwise

import numpy as np
import pytest

from loopsolver.routing.judge import Judge, judged, make_judge
from loopsolver.routing.rules import Breach
from loopsolver.routing.square.field import Field, make_field
from loopsolver.routing.square.meet import Meeting, meetings, vertices
from loopsolver.tube.centreline import Centreline
from tests.builders.small_runs import BEND_RADIUS, random_small_run
from tests.full import few_or_all
from tests.unit.routing.state_graph import StateGraph, TooCloseError

BLOCK = 50
BLOCKS = 8
SINGLE = 1e-3
"""Sums of legs are kept in float32 by the sweeps; over a metre that is good to this."""


def least_of(found: list[Meeting], bends: int) -> float:
    return min((m.legs for m in found if m.bends == bends), default=np.inf)


@pytest.mark.parametrize("block", few_or_all(range(3), range(BLOCKS)))
def test_least_legs_and_feasibility_equal_dijkstra_over_all_states(block: int) -> None:
    skipped, routes = 0, 0
    for seed in range(block * BLOCK, (block + 1) * BLOCK):
        run, coordinates = random_small_run(np.random.default_rng(seed))
        most = 7 if seed % 5 == 0 else 5
        try:
            graph = StateGraph(run, coordinates, bends=most)
        except TooCloseError:
            skipped += 1
            continue
        wanted = graph.least_lengths()
        found = [*meetings(make_field(run, coordinates), bends=most)]
        for bends, length in enumerate(wanted, start=1):
            assert least_of(found, bends) == pytest.approx(length, abs=SINGLE), (
                f"seed {seed}, {bends} bends"
            )
        routes += sum(np.isfinite(wanted))
    assert skipped <= BLOCK // 10
    assert routes >= BLOCK, "the scenes are so full that they say nothing"


def check_trace(field: Field, judge: Judge, meeting: Meeting, seed: int) -> None:
    route = vertices(field, meeting)
    steps = np.diff(np.array(route), axis=0)
    assert len(route) == meeting.bends + 2
    assert np.abs(steps).sum() == pytest.approx(meeting.legs, abs=SINGLE)
    assert (np.count_nonzero(np.abs(steps) > 1e-9, axis=1) == 1).all()
    for before, after in pairwise(steps):
        assert before @ after == 0.0
    verdict = judged(judge, Centreline(vertices=route, radius=BEND_RADIUS))
    assert verdict.faults == (), f"seed {seed}"
    assert verdict.own_way in {None, Breach(rule="itself")}


@pytest.mark.parametrize("block", few_or_all(range(3), range(BLOCKS)))
def test_traced_routes_have_their_length_and_pass_the_judge(block: int) -> None:
    checked = 0
    for seed in range(block * BLOCK, (block + 1) * BLOCK, 2):
        run, coordinates = random_small_run(np.random.default_rng(seed))
        field, judge = make_field(run, coordinates), make_judge(run.problem)
        found = [*meetings(field, bends=5)]
        for bends in range(1, 6):
            for meeting in [m for m in found if m.bends == bends][:3]:
                check_trace(field, judge, meeting, seed)
                checked += 1
    assert checked >= BLOCK


@pytest.mark.parametrize("seed", [366, 410, 452, 842, 950])
def test_traces_of_many_bends_pass_over_starts_behind_an_obstacle(seed: int) -> None:
    """Runs in which a shorter way to some vertex would go through a solid."""
    run, coordinates = random_small_run(np.random.default_rng(seed))
    field, judge = make_field(run, coordinates), make_judge(run.problem)
    found = [m for m in meetings(field, bends=7) if m.bends >= 6]
    assert found
    for meeting in found:
        check_trace(field, judge, meeting, seed)


def test_bend_counts_are_all_met_by_the_random_scenes() -> None:
    """Guards the comparison above against scenes that only ever try a few bends."""
    seen = np.zeros(8, dtype=int)
    for seed in range(0, BLOCKS * BLOCK, 5):
        run, coordinates = random_small_run(np.random.default_rng(seed))
        found = [*meetings(make_field(run, coordinates), bends=7)]
        for bends in range(1, 8):
            seen[bends] += np.isfinite(least_of(found, bends))
    assert (seen[1:] >= 5).all()
