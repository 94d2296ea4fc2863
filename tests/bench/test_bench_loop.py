"""How long whole loops take that are known to have a solution.

The tubes were laid first and the case was then filled with bodies round them
(`known_loops`), once in a case as tight as it can be filled, once in a roomy one. Held
against routing each of the runs alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.solving import solve_loop
from tests.full import few_or_all
from tests.interleaved import Measured, in_turn
from tests.unit.routing.known_loops import random_loop

pytestmark = pytest.mark.bench


@dataclass(frozen=True)
class Load:
    """How many runs among how many bodies, and how many times as long as alone."""

    runs: int
    bodies: int
    side: float
    stretch: float
    most: float

    @property
    def name(self) -> str:
        return f"{self.runs} runs, {self.bodies} bodies, {self.side:.0f} mm"


TIGHT = Load(runs=6, bodies=40, side=190.0, stretch=0.5, most=20.0)
LOADS = few_or_all(
    (TIGHT,),
    (
        TIGHT,
        Load(runs=6, bodies=40, side=300.0, stretch=0.3, most=20.0),
        Load(runs=10, bodies=60, side=240.0, stretch=0.4, most=30.0),
        Load(runs=10, bodies=60, side=330.0, stretch=0.3, most=30.0),
    ),
)
SEEDS = few_or_all((0,), range(8))
NO_LIMIT = float("inf")
"""Seconds: what ends the rounds must not be how busy the machine is."""


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("load", LOADS, ids=lambda load: load.name)
def test_whole_loops_against_their_runs_alone(
    load: Load, seed: int, measured: Measured
) -> None:
    scene, _ = random_loop(
        seed, side=load.side, runs=load.runs, bodies=load.bodies, stretch=load.stretch
    )
    key = RANKINGS["bends"]
    chosen = []

    def together() -> None:
        loop = solve_loop(scene, scene.runs, key=key, seconds=NO_LIMIT)
        chosen.append(sum(run.chosen is not None for run in loop.runs))

    def alone() -> None:
        for run in scene.runs:
            solve_loop(scene, (run,), key=key, seconds=NO_LIMIT)

    pair = in_turn({"the loop": together, "each run alone": alone}, pairs=2)
    measured(f"{load.name}, seed {seed}", pair, most=load.most)
    assert set(chosen) == {load.runs}
    assert pair.ratio <= load.most
