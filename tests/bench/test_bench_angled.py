"""How long angles other than square ones take, and how long it takes to say why none.

Numbers are printed (`pytest -m bench -s`), in time of this process alone; what is
asserted leaves a margin, since other work on the same cores slows this one down too.
"""

import os
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.diagnosis.explain import reason_of
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.solve import problems_of
from loopsolver.scene.model import BendAngles
from tests.property.known_routes import KINDS, known_run
from tests.unit.routing.diagnosis.test_explain_crowded import crowded
from tests.unit.routing.explain_scenes import routes
from tests.unit.routing.full_cases import random_problem

pytestmark = pytest.mark.bench

SHARED = 2.0
"""By how much a machine that others use may be slower than is wanted."""

LISTED_RATIO, FREE_SECONDS, REASON_SECONDS = 5.0, 1.5, 3.0
"""Wanted: [45, 90] against square bends; a run of any angle; why there is no route."""


def seconds(work: Callable[[], object], *, repeats: int = 1) -> float:
    """The least time of several, of this process alone [s]."""
    times = []
    for _ in range(repeats):
        begin = time.process_time()
        work()
        times.append(time.process_time() - begin)
    return min(times)


def searched(problem: RouteProblem, bend_angles: BendAngles) -> Callable[[], object]:
    wanted = replace(problem, bend_angles=bend_angles)
    return lambda: find_candidates(wanted)


def told(taken: dict[str, float], unit: str) -> str:
    """Median and worst of figures, and which are the worst three."""
    values = list(taken.values())
    worst = sorted(taken, key=taken.__getitem__, reverse=True)[:3]
    names = ", ".join(f"{name}: {taken[name]:.2f}{unit}" for name in worst)
    return f"{len(values)} cases, median {np.median(values):.2f}{unit}, worst {names}"


IS_FULL = os.environ.get("LOOPSOLVER_FULL") == "1"
SQUARE_SEEDS = (6, 10, 12, 17)
if IS_FULL:
    SQUARE_SEEDS += (3, 4, 5, 8, 9, 11, 13, 16, 18, 21, 22, 23)
"""Cases with a route of square bends, the slowest two among the first."""


def test_listed_angles_against_square_ones(capsys: pytest.CaptureFixture[str]) -> None:
    """The same forty bodies, once with square bends, once with those of 45 as well."""
    ratios, taken, square_taken = {}, {}, {}
    for seed in SQUARE_SEEDS:
        problem = random_problem(seed)
        square = seconds(searched(problem, (90.0,)), repeats=3)
        listed = seconds(searched(problem, (45.0, 90.0)), repeats=2)
        ratios[f"seed {seed}"] = listed / square
        taken[f"seed {seed}"], square_taken[f"seed {seed}"] = listed, square
    with capsys.disabled():
        sys.stdout.write(
            f"\n[90]      {told(square_taken, ' s')}\n"
            f"[45, 90]  {told(taken, ' s')}\n"
            f"ratio     {told(ratios, ' times')}\n"
        )
    assert np.median(list(ratios.values())) <= LISTED_RATIO


@pytest.mark.parametrize("kind", ["crowded", "any, moved", "any, tilted"])
def test_any_angle_takes_a_second_or_so(
    kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ports along the axes of the case, moved out of line, and tilted any way."""
    taken = {}
    if kind == "crowded":
        for seed in SQUARE_SEEDS:
            taken[f"seed {seed}"] = seconds(searched(random_problem(seed), "any"))
    else:
        (shortened_line,) = (one for one in KINDS if one.name == kind)
        for seed in range(12) if IS_FULL else (3, 7, 11):
            problem = known_run(shortened_line, seed).problem
            taken[f"seed {seed}"] = seconds(searched(problem, "any"))
    with capsys.disabled():
        sys.stdout.write(f"\nany, {kind}: {told(taken, ' s')}\n")
    assert np.median(list(taken.values())) <= FREE_SECONDS
    assert max(taken.values()) <= SHARED * FREE_SECONDS


@pytest.mark.parametrize("bend_angles", [(90.0,), (45.0, 90.0), "any"])
def test_reasons_take_three_seconds_at_most(
    bend_angles: BendAngles, capsys: pytest.CaptureFixture[str]
) -> None:
    """Forty bodies and too few bends: most random cases have no route."""
    taken = {}
    for seed in range(100):
        scene = crowded(
            seed, bodies=40, bend_angles=bend_angles, max_bends=2, square=0.9
        )
        if not routes(scene):
            run = scene.runs[0]
            taken[f"seed {seed}"] = seconds(
                lambda scene=scene, run=run: reason_of(scene, run, problems_of)
            )
        if len(taken) == 5:
            break
    with capsys.disabled():
        sys.stdout.write(f"\nwhy none, {bend_angles}: {told(taken, ' s')}\n")
    assert len(taken) == 5
    assert max(taken.values()) <= SHARED * REASON_SECONDS
