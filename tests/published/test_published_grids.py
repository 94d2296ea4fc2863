"""Published grids of many nets: every net laid, as well as in the published answers.

Instances and totals of the answers: adc2018/README.md. A bend costs as much as a cell.
"""

import math

import pytest

from loopsolver.routing.loop.solving import solve_loop
from tests.full import only_in_full
from tests.published.grid_scenes import cells_and_bends, read, scene_of
from tests.unit.routing.loop.negotiations import negotiated_grid

ANSWERS = {"Q7": 43 + 19, "Q13": 28 + 16, "Q24": 48 + 8}


def test_files_are_read_as_they_are_printed() -> None:
    """Sizes, nets and end cells as a person reads them in the files."""
    seven = read("Q7")
    assert seven.size == (5, 5, 3)
    assert len(seven.nets) == 8
    assert seven.nets[0] == ((3, 2, 0), (0, 3, 1))
    assert seven.nets[-1] == ((0, 2, 0), (4, 0, 2))
    assert read("Q13").size == read("Q24").size == (8, 8, 2)
    assert read("Q24").nets[3] == ((3, 0, 0), (7, 7, 1))


def test_negotiations_alone_lay_all_nets_as_well_as_the_published_answer() -> None:
    grid = read("Q24")
    found = negotiated_grid(grid, times=5)
    assert len(found.routes) == len(grid.nets)
    assert found.total[0] <= ANSWERS["Q24"]


@only_in_full
@pytest.mark.parametrize("name", ANSWERS)
def test_all_nets_are_laid_as_well_as_in_the_published_answer(name: str) -> None:
    scene = scene_of(read(name))
    loop = solve_loop(scene, scene.runs, key=cells_and_bends, seconds=math.inf)
    assert all(run.chosen is not None for run in loop.runs)
    assert loop.total[0] <= ANSWERS[name]
