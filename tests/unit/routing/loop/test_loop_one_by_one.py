"""Where tubes laid one by one shut each other in, the joint choice finds room."""

from collections.abc import Callable
from itertools import combinations, permutations

import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.obstruction import tube_obstacles
from loopsolver.routing.loop.solving import solve_loop
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import solve_beside
from loopsolver.scene.model import Scene
from tests.builders.windowed_cases import three_windows, two_windows
from tests.unit.routing.known_loops import nearest, sampled

CASES = (two_windows, three_windows)
KEY = RANKINGS["bends"]


def laid_one_by_one(scene: Scene, order: tuple[int, ...]) -> list[Candidate]:
    """The best route of each run beside those before it, as far as it goes."""
    laid: list[Candidate] = []
    for number in order:
        solids = [
            solid
            for tube in laid
            for solid in tube_obstacles(
                tube.centreline, tube_radius=5.0, reach=8.0, name="tube"
            )
        ]
        found = solve_beside(scene, scene.runs[number], solids)
        if not found.candidates:
            break
        laid.append(min(found.candidates, key=KEY))
    return laid


@pytest.mark.parametrize("case", CASES)
def test_one_by_one_fails_in_any_order(case: Callable[[], Scene]) -> None:
    scene = case()
    for order in permutations(range(len(scene.runs))):
        assert 0 < len(laid_one_by_one(scene, order)) < len(scene.runs), order


@pytest.mark.parametrize("case", CASES)
def test_the_joint_choice_succeeds(case: Callable[[], Scene]) -> None:
    scene = case()
    loop = solve_loop(scene, scene.runs, key=KEY)
    chosen = [run.chosen for run in loop.runs]
    tubes = [
        sampled(route.centreline.vertices) for route in chosen if route is not None
    ]
    assert len(tubes) == len(scene.runs)
    for one, two in combinations(tubes, 2):
        assert nearest(one, two) >= 2.0 * 5.0 + 3.0 - 1e-3
    assert loop.total > loop.bound
    assert loop.ended == "done"
