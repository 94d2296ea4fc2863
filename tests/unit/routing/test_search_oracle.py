"""The search against an exhaustive Dijkstra over the states of small random runs."""

from itertools import pairwise

import numpy as np
import pytest

from loopsolver.routing.field import make_field
from loopsolver.routing.judge import judged, make_judge
from loopsolver.routing.meet import Meeting, meetings, vertices
from loopsolver.tube.centreline import Centreline
from tests.unit.routing.small_runs import random_small_run
from tests.unit.routing.state_graph import StateGraph, TooCloseError

BLOCK = 50
BLOCKS = 8
SINGLE = 1e-3
"""Sums of legs are kept in float32 by the sweeps; over a metre that is good to this."""


def least_of(found: tuple[Meeting, ...], bends: int) -> float:
    return min((m.legs for m in found if m.bends == bends), default=np.inf)


@pytest.mark.parametrize("block", range(BLOCKS))
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
        found = meetings(make_field(run, coordinates), bends=most)
        for bends, length in enumerate(wanted, start=1):
            assert least_of(found, bends) == pytest.approx(length, abs=SINGLE), (
                f"seed {seed}, {bends} bends"
            )
        routes += sum(np.isfinite(wanted))
    assert skipped <= BLOCK // 10
    assert routes >= BLOCK, "the scenes are so full that they say nothing"


@pytest.mark.parametrize("block", range(BLOCKS))
def test_every_traced_route_has_its_length_and_passes_the_judge(block: int) -> None:
    checked = 0
    for seed in range(block * BLOCK, (block + 1) * BLOCK, 2):
        run, coordinates = random_small_run(np.random.default_rng(seed))
        field = make_field(run, coordinates)
        judge = make_judge(run.problem)
        for meeting in meetings(field, bends=5)[:12]:
            route = vertices(field, meeting)
            steps = np.diff(np.array(route), axis=0)
            assert len(route) == meeting.bends + 2
            assert np.abs(steps).sum() == pytest.approx(meeting.legs, abs=SINGLE)
            assert (np.count_nonzero(np.abs(steps) > 1e-9, axis=1) == 1).all()
            for before, after in pairwise(steps):
                assert before @ after == 0.0
            centreline = Centreline(vertices=route, radius=run.problem.bend_radius)
            verdict = judged(judge, centreline)
            assert verdict.faults == (), f"seed {seed}"
            assert verdict.own_way in {None, "the tube runs through itself"}
            checked += 1
    assert checked >= BLOCK


def test_bend_counts_are_all_met_by_the_random_scenes() -> None:
    """Guards the comparison above against scenes that only ever try a few bends."""
    seen = np.zeros(8, dtype=int)
    for seed in range(0, BLOCKS * BLOCK, 5):
        run, coordinates = random_small_run(np.random.default_rng(seed))
        found = meetings(make_field(run, coordinates), bends=7)
        for bends in range(1, 8):
            seen[bends] += np.isfinite(least_of(found, bends))
    assert (seen[1:] >= 5).all()
