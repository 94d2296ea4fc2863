"""At ten times the effort, how much better do routes get? (`pytest -m bench -s`).

Nothing is asserted of time. Best is what a builder would take: the fewest bends, then the
shortest tube, a departure from a standard angle counted as so much more of it.
"""

import sys
import time
from dataclasses import dataclass, replace

import numpy as np
import pytest

from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.effort import Effort
from loopsolver.scene.model import BendAngles
from tests.full import few_or_all
from tests.unit.routing.full_cases import random_problem

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


def best(seed: int, bend_angles: BendAngles, times: float) -> Result:
    effort = Effort().times(times)
    problem = replace(random_problem(seed), bend_angles=bend_angles, effort=effort)
    begin = time.process_time()
    candidates = find_candidates(problem).candidates
    taken = time.process_time() - begin
    return Result(cost=min(one.cost for one in candidates), seconds=taken)


def row(name: str, results: list[Result]) -> str:
    bends, lengths = np.array([one.cost[:2] for one in results]).mean(axis=0)
    seconds = np.median([one.seconds for one in results])
    return f"{name:14} {bends:6.2f} {lengths:9.1f} {seconds:9.2f}\n"


@pytest.mark.parametrize("bend_angles", few_or_all(MODES[:1], MODES), ids=str)
def test_ten_times_the_effort(
    bend_angles: BendAngles, capsys: pytest.CaptureFixture[str]
) -> None:
    usual = [best(seed, bend_angles, 1) for seed in SEEDS]
    more = [best(seed, bend_angles, 10) for seed in SEEDS]
    pairs = list(zip(usual, more, strict=True))
    fewer = sum(b.cost[0] < a.cost[0] for a, b in pairs)
    gains = [1.0 - b.cost[1] / a.cost[1] for a, b in pairs if b.cost[0] == a.cost[0]]
    shorter = sum(gain > 0.001 for gain in gains)
    most, mean = 100.0 * max(gains, default=0.0), 100.0 * np.mean(gains or [0.0])
    with capsys.disabled():
        sys.stdout.write(
            f"\n{len(SEEDS)} cases, {bend_angles}\n"
            f"{'effort':14} {'bends':>6} {'mm':>9} {'s':>9}\n"
            f"{row('usual', usual)}{row('ten times', more)}"
            f"fewer bends in {fewer}; of as many bends shorter by 0.1 % or more in "
            f"{shorter}, by {most:.1f} % at most, by {mean:.1f} % on the mean\n"
        )
    # What is tried at the usual effort is tried at the tenfold too, or something near it.
    assert sum(b.cost[0] for b in more) <= sum(a.cost[0] for a in usual)
