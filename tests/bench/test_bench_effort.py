"""At ten times the effort, how much better do routes, loops and reasons get?

What comes of it is printed (`pytest -m bench -s`); nothing is asserted of time. Best is
what a builder would take: all runs laid, the fewest bends, then the shortest tube, a
departure from a standard angle counted as so much more of it.
"""

import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.control import Control
from loopsolver.routing.diagnosis.explain import reason_of
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.effort import USUAL, Effort
from loopsolver.routing.loop.solving import solve_loop
from loopsolver.routing.solve import searches_of
from loopsolver.scene.model import BendAngles, Scene
from tests.full import IS_FULL, few_or_all
from tests.unit.routing.diagnosis.test_explain_crowded import crowded
from tests.unit.routing.explain_scenes import routes
from tests.unit.routing.full_cases import random_problem
from tests.unit.routing.known_loops import random_loop

pytestmark = pytest.mark.bench

SEEDS = few_or_all((6, 10), (6, 10, 12, 17, 3, 4, 5, 8))
"""Cases with forty bodies that have a route of square bends."""

MODES: tuple[BendAngles, ...] = ((90.0,), (45.0, 90.0), "any")
"""Square bends are quick; with the others ten times the effort takes minutes."""


@dataclass(frozen=True)
class Result:
    """The best of a search, its bends and what its length is worth, and the time [s]."""

    cost: tuple[float, ...]
    seconds: float


def best(seed: int, bend_angles_deg: BendAngles, times: float) -> Result:
    effort = Effort().times(times)
    problem = replace(
        random_problem(seed), bend_angles_deg=bend_angles_deg, effort=effort
    )
    begin = time.process_time()
    candidates = find_candidates(problem).candidates
    taken = time.process_time() - begin
    return Result(cost=min(one.cost for one in candidates), seconds=taken)


def row(name: str, results: list[Result]) -> str:
    bends, lengths = np.array([one.cost[:2] for one in results]).mean(axis=0)
    seconds = np.median([one.seconds for one in results])
    return f"{name:14} {bends:6.2f} {lengths:9.1f} {seconds:9.2f}\n"


@pytest.mark.parametrize("bend_angles_deg", few_or_all(MODES[:1], MODES), ids=str)
def test_ten_times_the_effort(
    bend_angles_deg: BendAngles, capsys: pytest.CaptureFixture[str]
) -> None:
    usual = [best(seed, bend_angles_deg, 1) for seed in SEEDS]
    more = [best(seed, bend_angles_deg, 10) for seed in SEEDS]
    pairs = list(zip(usual, more, strict=True))
    fewer = sum(b.cost[0] < a.cost[0] for a, b in pairs)
    gains = [1.0 - b.cost[1] / a.cost[1] for a, b in pairs if b.cost[0] == a.cost[0]]
    shorter = sum(gain > 0.001 for gain in gains)
    most, mean = 100.0 * max(gains, default=0.0), 100.0 * np.mean(gains or [0.0])
    with capsys.disabled():
        sys.stdout.write(
            f"\n{len(SEEDS)} cases, {bend_angles_deg}\n"
            f"{'effort':14} {'bends':>6} {'mm':>9} {'s':>9}\n"
            f"{row('usual', usual)}{row('ten times', more)}"
            f"fewer bends in {fewer}; of as many bends shorter by 0.1 % or more in "
            f"{shorter}, by {most:.1f} % at most, by {mean:.1f} % on the mean\n"
        )
    # What is tried at the usual effort is tried at the tenfold too, or something near it.
    assert sum(b.cost[0] for b in more) <= sum(a.cost[0] for a in usual)


# ----------------------------------------------------------------------- whole loops

ENTANGLED = few_or_all((3,), (0, 3, 4, 6, 8, 9, 11, 14, 16, 17, 20, 22))
"""Loops whose runs are in each other's way: with none that are, there is no choice."""

LOOP_EFFORTS = (USUAL, replace(USUAL, loop=USUAL.times(10).loop))
"""The choice alone tries ten times as hard: the rows above say it of a run's routes."""


def entangled(seed: int) -> Scene:
    """Tubes laid first, bodies round them; then every run goes to the next one's goal.

    Nobody knows whether all of them fit.
    """
    scene, _ = random_loop(seed, side=140.0, runs=3, bodies=6, stretch=0.5)
    goals = [run.to_ports for run in scene.runs]
    turned = zip(scene.runs, (*goals[1:], goals[0]), strict=True)
    return replace(
        scene, runs=tuple(replace(run, to_ports=goal) for run, goal in turned)
    )


def best_loop(scene: Scene, effort: Effort) -> Result:
    begin = time.process_time()
    loop = solve_loop(
        scene,
        scene.runs,
        key=RANKINGS["bends"],
        seconds=float("inf"),
        control=Control(effort=effort),
    )
    lacking = sum(run.chosen is None for run in loop.runs)
    return Result(cost=(lacking, *loop.total), seconds=time.process_time() - begin)


def test_ten_times_the_effort_for_loops(capsys: pytest.CaptureFixture[str]) -> None:
    usual, more = (
        [best_loop(entangled(seed), effort) for seed in ENTANGLED]
        for effort in LOOP_EFFORTS
    )
    pairs = list(zip(usual, more, strict=True))
    better = [pair for pair in pairs if pair[1].cost < pair[0].cost]
    with capsys.disabled():
        sys.stdout.write(f"\n{len(pairs)} loops of three runs\n")
        for name, results in (("usual", usual), ("ten times", more)):
            lacking, bends, length = np.array([one.cost[:3] for one in results]).T
            seconds = np.median([one.seconds for one in results])
            sys.stdout.write(
                f"{name:14} {3 - lacking.mean():.2f} runs laid, {bends.mean():.2f} "
                f"bends, {length.mean():.1f} mm, {seconds:.1f} s\n"
            )
        for worse, best_one in better:
            sys.stdout.write(f"better: {worse.cost} to {best_one.cost}\n")
    # What the usual choice has tried the tenfold one tries too, in another order.
    assert sum(b.cost[0] for b in more) <= sum(a.cost[0] for a in usual)


# ------------------------------------------------------------------- why there is none

WITHOUT_ROUTE = 5 if IS_FULL else 1
"""So many cases without a route, for each list of angles."""

REASON_EFFORTS = (USUAL, replace(USUAL, diagnosis=USUAL.times(10).diagnosis))


@dataclass(frozen=True)
class Remedies:
    """What would help a run, by what is changed and how much, and the time [s]."""

    by: dict[tuple[str, ...], float]
    seconds: float


def without_route(bend_angles_deg: BendAngles) -> list[Scene]:
    """The first so many crowded cases without a route."""
    found: list[Scene] = []
    seed = 0
    while len(found) < WITHOUT_ROUTE:
        scene = crowded(
            seed,
            bodies=20,
            bend_angles_deg=bend_angles_deg,
            max_bends=3 if bend_angles_deg == (90.0,) else 2,
            square=0.9,
        )
        found += [] if routes(scene) else [scene]
        seed += 1
    return found


def much(change: Change) -> float:
    """How much a change asks for; most where a body is to go or angles are added."""
    before, after = change.before, change.after
    if isinstance(before, int | float) and isinstance(after, int | float):
        return abs(after - before)
    return float("inf")


def remedies(scene: Scene, effort: Effort) -> Remedies:
    begin = time.process_time()
    why = reason_of(scene, scene.runs[0], searches_of(Control(effort=effort)))
    taken = time.process_time() - begin
    asked = {
        tuple(f"{one.rule} {one.subject}" for one in found.changes): sum(
            much(one) for one in found.changes
        )
        for found in why.suggestions
    }
    return Remedies(by=asked, seconds=taken)


@pytest.mark.parametrize("bend_angles_deg", few_or_all(MODES[:1], MODES), ids=str)
def test_ten_times_the_effort_for_reasons(
    bend_angles_deg: BendAngles, capsys: pytest.CaptureFixture[str]
) -> None:
    scenes = without_route(bend_angles_deg)
    usual, more = (
        [remedies(scene, effort) for scene in scenes] for effort in REASON_EFFORTS
    )
    both = [
        (a.by[what], b.by[what])
        for a, b in zip(usual, more, strict=True)
        for what in a.by
        if what in b.by
    ]
    with capsys.disabled():
        sys.stdout.write(f"\n{len(scenes)} cases without a route, {bend_angles_deg}\n")
        for name, found in (("usual", usual), ("ten times", more)):
            sys.stdout.write(f"{name:14} {_told(found)}\n")
        smaller = [(a, b) for a, b in both if b < a]
        sys.stdout.write(f"of {len(both)} that both found smaller: {smaller}\n")
    # Work is all that the effort bounds: nothing that was found is lost.
    assert sum(len(b.by) for b in more) >= sum(len(a.by) for a in usual)


def _told(found: Sequence[Remedies]) -> str:
    count = sum(len(one.by) for one in found)
    none = sum(not one.by for one in found)
    seconds = np.median([one.seconds for one in found])
    return f"{count} remedies, {none} cases with none, {seconds:.1f} s"
