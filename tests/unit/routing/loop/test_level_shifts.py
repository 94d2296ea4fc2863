"""Where the level of a square tube is put beside others: places reckoned by hand.

The level is the leg across x, at 250 mm, of a tube in a case of 500 mm. It can go to
17 + 28 = 45 mm from either seat, or to 10 mm from a wall. Another tube is cleared 17 mm
from its axis, and twice what a gap is measured to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.vectors import Point
from loopsolver.routing.effort import USUAL
from loopsolver.routing.judge import make_judge
from loopsolver.routing.loop.level_shifts import level_shifted
from loopsolver.routing.problem import Candidate
from loopsolver.tolerances import GAP_RESOLUTION
from tests.builders.plans import candidate
from tests.builders.problems import box_at, end_at, run_between

APART = 7.0 + 3.0 + 7.0 + 2.0 * GAP_RESOLUTION
STEP = ((50, 200, 250), (250, 200, 250), (250, 300, 250), (450, 300, 250))
FROM_LEFT = (*STEP[:3], (50, 300, 250))
FROM_RIGHT = ((450, 200, 250), *STEP[1:])


def other_at(x: float) -> tuple[Point, ...]:
    """Another tube whose vertices all lie at one x [mm]."""
    return ((x, 100, 250), (x, 400, 250))


def shifted(
    vertices: Sequence[Point],
    *others: float,
    boxes: Sequence[Obstacle] = (),
    places: int = 10,
) -> list[Candidate]:
    ways = ["+x" if vertices[one][0] == 50 else "-x" for one in (0, -1)]
    start, goal = (
        end_at(vertices[n], way) for n, way in zip((0, -1), ways, strict=True)
    )
    run = run_between(start, goal, angles=(90.0,), boxes=boxes)
    loop = replace(USUAL.loop, level_places=places)
    judge = make_judge(replace(run, effort=replace(USUAL, loop=loop)))
    tube = candidate(*vertices, gap=1.0, name="none", radius=28.0)
    return list(level_shifted(tube, [other_at(x) for x in others], judge))


def places(found: Sequence[Candidate]) -> list[float]:
    """Where the level is; all else of the tube stays where it was."""
    for one in found:
        first, second, third, last = one.centreline.vertices
        assert second[0] == third[0]
        assert (second[1:], third[1:]) == ((200, 250), (300, 250))
        assert first[1:] == (200, 250)
        assert last[1:] == (300, 250)
    return [one.centreline.vertices[1][0] for one in found]


@pytest.mark.parametrize(
    ("vertices", "lowest", "highest"),
    [(STEP, 95.0, 405.0), (FROM_LEFT, 95.0, 490.0), (FROM_RIGHT, 10.0, 405.0)],
)
def test_a_level_goes_as_far_as_ends_and_walls_let_it(
    vertices: Sequence[Point], lowest: float, highest: float
) -> None:
    wanted = sorted([lowest, highest], key=lambda x: abs(x - 250.0))
    assert places(shifted(vertices)) == pytest.approx(wanted)


def test_other_tubes_are_just_cleared_to_either_side_the_nearest_place_first() -> None:
    found = places(shifted(STEP, 240.0, 400.0))
    wanted = [240.0 + APART, 240.0 - APART, 400.0 - APART, 95.0, 405.0]
    assert found == pytest.approx(wanted)


def test_of_places_that_are_as_good_as_one_the_nearest_is_taken() -> None:
    found = places(shifted(STEP, 240.0, 240.0 + 1e-7))
    assert found == pytest.approx([240.0 + APART, 240.0 - APART, 95.0, 405.0])
    # Where the level is now it need not be put.
    assert places(shifted(STEP, 250.0 - APART))[0] == pytest.approx(250.0 - 2.0 * APART)


@pytest.mark.parametrize("most", [1, 2])
def test_no_more_places_are_tried_than_the_effort_says(most: int) -> None:
    found = places(shifted(STEP, 240.0, places=most))
    assert found == pytest.approx([240.0 + APART, 240.0 - APART][:most])


def test_what_fails_the_check_is_left_out_and_the_rest_has_its_own_gap() -> None:
    """The box begins at 257 mm: the tube at 240 + 17 mm would go through it."""
    found = shifted(STEP, 240.0, boxes=[box_at((262, 250, 250), (10, 20, 20))])
    assert places(found) == pytest.approx([240.0 - APART, 95.0, 405.0])
    assert found[0].gap.name == "box"
    assert found[0].gap.distance == pytest.approx(257.0 - (240.0 - APART) - 7.0)


@pytest.mark.parametrize(
    "vertices",
    [
        STEP[:2],
        STEP[:3],
        ((50, 200, 250), (200, 200, 250), (300, 300, 250), (450, 300, 250)),
        ((50, 200, 250), (250, 200, 250), (250, 280, 310), (450, 280, 310)),
    ],
)
def test_tubes_with_one_bend_or_askew_have_no_levels(vertices: Sequence[Point]) -> None:
    assert shifted(vertices, 240.0) == []


def test_two_levels_are_moved_one_at_a_time_with_room_for_a_bend_between() -> None:
    """Up, across and on: from bend to bend it takes 28 + 15 + 28 = 71 mm.

    The ends go up and on by 45 mm at least.
    """
    run = run_between(
        end_at((50, 100, 250), "+x"), end_at((400, 400, 250), "-y"), angles=(90.0,)
    )
    vertices = ((50, 100, 250), (200, 100, 250), (200, 200, 250), (400, 200, 250))
    tube = candidate(*vertices, (400, 400, 250), gap=1.0, name="none", radius=28.0)
    found = [
        one.centreline.vertices for one in level_shifted(tube, [], make_judge(run))
    ]
    across = [line[1][0] for line in found if line[1][0] != 200]
    along = [line[2][1] for line in found if line[2][1] != 200]
    assert across == pytest.approx([95.0, 400.0 - 71.0])
    assert along == pytest.approx([100.0 + 71.0, 400.0 - 45.0])
    assert len(found) == 4
