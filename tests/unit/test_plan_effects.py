"""What another choice does to the other runs, against trying every choice there is."""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache
from itertools import combinations, product

import pytest

from loopsolver.clearance.gap import tube_gap
from loopsolver.plan import RANKINGS, Effect, Plan, effects
from loopsolver.report.planning import route_scene
from loopsolver.routing.problem import Candidate
from loopsolver.scene.reader import load_scene
from loopsolver.tolerances import GAP_RESOLUTION
from tests.commands import SCENES


@cache
def plan_of(name: str) -> Plan:
    return route_scene(load_scene(SCENES / f"{name}.toml"))


def too_near(one: Candidate, two: Candidate, plan: Plan) -> bool:
    radius = plan.scene.tube.radius
    gap, _, _ = tube_gap(
        one.centreline, two.centreline, first_radius=radius, second_radius=radius
    )
    return gap < plan.scene.rules.clearance - GAP_RESOLUTION


Cost = tuple[float, ...]


def best_of_all(plan: Plan) -> dict[tuple[str, int], Cost | None]:
    """What the best choice of all costs with each candidate in it; None without one.

    How many others move, then what all cost together by bends.
    """
    runs = plan.runs
    near = {
        (first, i, second, j)
        for first, second in combinations(range(len(runs)), 2)
        for i, one in enumerate(runs[first].candidates, start=1)
        for j, two in enumerate(runs[second].candidates, start=1)
        if too_near(one, two, plan)
    }
    best: dict[tuple[str, int], Cost | None] = {
        (run.name, rank): None
        for run in runs
        for rank in range(1, len(run.candidates) + 1)
    }
    for ranks in product(*(range(1, len(run.candidates) + 1) for run in runs)):
        if any(
            (first, ranks[first], second, ranks[second]) in near
            for first, second in combinations(range(len(runs)), 2)
        ):
            continue
        changed = [rank != run.chosen for run, rank in zip(runs, ranks, strict=True)]
        bends = summed(plan, ranks)
        for place, rank in enumerate(ranks):
            key = (runs[place].name, rank)
            moves = sum(changed) - changed[place]
            here = (float(moves), *bends)
            known = best[key]
            if known is None or here < known:
                best[key] = here
    return best


def summed(plan: Plan, ranks: tuple[int, ...]) -> Cost:
    costs = [
        RANKINGS["bends"](run.candidate(rank))
        for run, rank in zip(plan.runs, ranks, strict=True)
    ]
    return tuple(round(sum(parts), 3) for parts in zip(*costs, strict=True))


def cost_of(effect: Effect, plan: Plan) -> Cost | None:
    if effect.moved is None:
        return None
    moved = {**dict(effect.moved), effect.run: effect.rank}
    ranks = tuple(moved.get(run.name, run.chosen or 0) for run in plan.runs)
    return (float(len(effect.moved)), *summed(plan, ranks))


@pytest.mark.parametrize("name", ["heron", "robin", "wren"])
@pytest.mark.parametrize("steps", [None, 0], ids=["step by step", "programme"])
def test_as_few_as_possible_move_and_to_the_best_they_can(
    name: str, steps: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    if steps is not None:
        module = sys.modules["loopsolver.plan.effects"]
        monkeypatch.setattr(module, "MOST_STEPS", steps)
    plan = plan_of(name)
    found = {(one.run, one.rank): cost_of(one, plan) for one in effects(plan)}
    assert found == best_of_all(plan)


def test_the_scenes_have_effects_of_every_kind() -> None:
    kinds = {
        None if one.moved is None else min(len(one.moved), 1)
        for one in effects(plan_of("heron"))
    }
    assert kinds == {None, 0, 1}


def test_a_run_that_is_left_out_moves_nobody() -> None:
    plan = plan_of("wren")
    out = replace(plan.runs[0], chosen=None, why="invented")
    found = effects(replace(plan, runs=(out, *plan.runs[1:])))
    assert {one.run for one in found} == {plan.runs[1].name}
    assert all(one.moved == () for one in found)
