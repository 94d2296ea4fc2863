"""Tilted runs seen otherwise: turned, mirrored, moved, from the other end, once again.

What is held: the same fewest bends; and where these are two or one, which the ports leave
little choice in, a tube of the same length. Tubes of three bends and more are the best
found from starts on a grid that does not turn with the run: they are held to the route
laid first, and nine in ten to the same length. From the other end, or with everything
moved along, every bend count has the same length.

By default two runs of each kind are solved; forty, which takes about six minutes, with::

    LOOPSOLVER_FULL=1 pytest tests/property/test_angled_invariance.py
"""

import json
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.problem import Found, RouteProblem
from tests.full import IS_FULL
from tests.property.known_routes import (
    INNER,
    KINDS,
    THIRTY,
    TILTED_ANY,
    TILTED_LISTED,
    Kind,
    known_run,
)
from tests.property.laid_tubes import candidate_complaints
from tests.unit.routing.full_cases import moved_problem, reversed_problem
from tests.unit.routing.touching import Array

ROOT = Path(__file__).parents[2]

TILTED = (TILTED_LISTED, THIRTY, TILTED_ANY)

SEEDS = range(0, 200, 5) if IS_FULL else range(67, 200, 67)
"""By default the runs whose known routes have four bends and three."""

DRAWN = 0.5
"""Tubes that are the same when a run is turned may differ so much in length [mm].

They are drawn together from starts that differ, until rounds gain a hundredth of a
millimetre.
"""

FLAT = 3e-3
"""Of free bends the least lengths lie in valleys so flat: this share of the length."""

MOST_ALIKE = 0.9
"""Share of turned runs in which the best tube, of whatever bends, is as long."""

SAME = 0.01
"""Lengths that differ by no more than this are the same [mm]: a round's least gain."""


def runs(seeds: range) -> pytest.MarkDecorator:
    """Runs of every kind as parameters of a test."""
    return pytest.mark.parametrize(
        ("kind", "seed"),
        [
            pytest.param(kind, seed, id=f"{kind.name}-seed{seed}")
            for kind in TILTED
            for seed in seeds
        ],
    )


@cache
def solved(kind: Kind, seed: int) -> Found:
    return find_candidates(known_run(kind, seed).problem)


def shortest(found: Found) -> dict[int, float]:
    """Length of the shortest candidate of every bend count [mm]."""
    counts = sorted({c.bends for c in found.candidates})
    return {
        bends: min(c.length for c in found.candidates if c.bends == bends)
        for bends in counts
    }


def solved_elsewhere(problem: RouteProblem, matrix: Array, shift: Array) -> Found:
    """Candidates of the run seen otherwise; walls are half spaces, so any turn will do."""
    seen = moved_problem(problem, matrix, shift, inner=INNER)
    found = find_candidates(seen)
    for candidate in found.candidates:
        assert candidate_complaints(candidate, seen) == []
    return found


@cache
def turned(kind: Kind, seed: int) -> Found:
    rng = np.random.default_rng(seed)
    matrix = Rotation.random(random_state=seed).as_matrix()
    shift = rng.uniform(-200.0, 200.0, 3)
    return solved_elsewhere(known_run(kind, seed).problem, matrix, shift)


@cache
def mirrored(kind: Kind, seed: int) -> Found:
    rng = np.random.default_rng(seed)
    matrix = Rotation.random(random_state=seed + 1).as_matrix()
    shift = rng.uniform(-200.0, 200.0, 3)
    mirror = matrix @ np.diag([-1.0, 1.0, 1.0])
    return solved_elsewhere(known_run(kind, seed).problem, mirror, shift)


def best(found: Found) -> tuple[int, float]:
    """The fewest bends, and the length of the shortest such tube."""
    return min((c.bends, c.length) for c in found.candidates)


def assert_as_good(seen: Found, kind: Kind, seed: int) -> None:
    known = known_run(kind, seed)
    bends, length = best(solved(kind, seed))
    other_bends, other_length = best(seen)
    assert other_bends == bends
    if bends <= 2:
        assert other_length == pytest.approx(length, abs=DRAWN)
    if bends == known.bends:
        assert max(length, other_length) <= known.tube.length + DRAWN


@runs(SEEDS)
def test_turned_runs_have_as_few_bends(kind: Kind, seed: int) -> None:
    assert_as_good(turned(kind, seed), kind, seed)


@runs(SEEDS[::2])
def test_mirrored_runs_have_as_few_bends(kind: Kind, seed: int) -> None:
    assert_as_good(mirrored(kind, seed), kind, seed)


@pytest.mark.parametrize("kind", TILTED, ids=lambda kind: kind.name)
def test_nearly_all_runs_seen_otherwise_have_as_short_a_best(kind: Kind) -> None:
    pairs = [(solved(kind, seed), turned(kind, seed)) for seed in SEEDS]
    pairs += [(solved(kind, seed), mirrored(kind, seed)) for seed in SEEDS[::2]]
    alike = [best(a) == pytest.approx(best(b), abs=DRAWN) for a, b in pairs]
    assert np.mean(alike) >= MOST_ALIKE


@runs(SEEDS[1::2])
def test_the_other_end_first_gives_the_same_lengths(kind: Kind, seed: int) -> None:
    problem = reversed_problem(known_run(kind, seed).problem)
    found = find_candidates(problem)
    for candidate in found.candidates:
        assert candidate_complaints(candidate, problem) == []
    lengths = shortest(solved(kind, seed))
    assert shortest(found) == pytest.approx(lengths, abs=DRAWN, rel=FLAT)


@pytest.mark.parametrize(
    "kind", [TILTED_LISTED, TILTED_ANY], ids=lambda kind: kind.name
)
def test_moving_everything_along_changes_no_length(kind: Kind) -> None:
    seed = SEEDS[-1]
    problem = known_run(kind, seed).problem
    moved = solved_elsewhere(problem, np.eye(3), np.array([37.3, -91.7, 12.1]))
    assert shortest(moved) == pytest.approx(shortest(solved(kind, seed)), abs=SAME)


PRINT_VERTICES = """
import json, sys
from tests.property.test_angled_invariance import digits_of
print(json.dumps([digits_of(int(number), int(seed)) for number, seed in
                  (pair.split(",") for pair in sys.argv[1:])]))
"""


def digits_of(kind: int, seed: int) -> list[list[str]]:
    """Every digit of the vertices of a run's candidates."""
    return [
        [value.hex() for vertex in c.centreline.vertices for value in vertex]
        for c in solved(KINDS[kind], seed).candidates
    ]


def test_another_process_finds_the_same_to_the_last_digit() -> None:
    """With another seed for hashes, so that no order of sets matters."""
    cases = [(KINDS.index(kind), SEEDS[0]) for kind in (TILTED_LISTED, TILTED_ANY)]
    answer = subprocess.run(
        [sys.executable, "-c", PRINT_VERTICES, *(f"{k},{s}" for k, s in cases)],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": "7", "PYTHONPATH": str(ROOT)},
        check=True,
        capture_output=True,
        text=True,
    )
    assert json.loads(answer.stdout) == [digits_of(kind, seed) for kind, seed in cases]
