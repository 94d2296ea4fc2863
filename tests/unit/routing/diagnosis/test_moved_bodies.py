"""How far a box must move off a straight tube: faces and reaches added up by hand.

The tube runs along x at y = z = 250 mm and reaches 7 + 3 = 10 mm to each side. A box of
40 mm round (250, 260, 255) is clear of it 20 mm towards +y, 40 towards -y, 25 towards +z
and 35 towards -z.
"""

from __future__ import annotations

import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.vectors import Point
from loopsolver.routing.diagnosis.moved_bodies import moves
from loopsolver.routing.diagnosis.stretch import Stretch
from loopsolver.tube.centreline import Centreline
from tests.builders.problems import (
    BEND_RADIUS,
    INNER,
    box_at,
    end_at,
    run_between,
)

START, END = (50.0, 250.0, 250.0), (450.0, 250.0, 250.0)
BOX = box_at((250, 260, 255), (40, 40, 40))


def moved(
    *boxes: Obstacle, inner: Point = INNER, step: float = 1.0
) -> tuple[float, str] | None:
    """Return the shortest move of what is called "box"."""
    problem = run_between(
        end_at(START, (1, 0, 0)),
        end_at(END, (-1, 0, 0)),
        angles=(90.0,),
        boxes=boxes,
        inner=inner,
    )
    tube = Centreline(vertices=(START, END), radius=BEND_RADIUS)
    found = moves(problem, Stretch(tube=tube), "box", step=step)
    return min(found, default=None)


@pytest.mark.parametrize(
    ("centre", "towards", "by"),
    [
        ((250, 260, 255), "+y", 20.0),
        ((250, 240, 255), "-y", 20.0),
        ((250, 255, 262), "+z", 18.0),
        ((250, 255, 238), "-z", 18.0),
        ((445, 252, 250), "+x", 35.0),
    ],
)
def test_the_shortest_way_off_the_tube(
    centre: tuple[int, ...], towards: str, by: float
) -> None:
    """Towards +x the near face, at 425 mm, has to come 10 mm beyond the end, at 450."""
    size = (40, 40, 40) if towards != "+x" else (40, 80, 80)
    found = moved(box_at(centre, size))
    assert found == (by, towards)


def test_moves_are_of_whole_steps() -> None:
    assert moved(BOX, step=6.0) == (24.0, "+y")


def test_a_body_that_stands_in_the_way_of_the_move_bars_it() -> None:
    """It ends 10 mm beyond the box, which would come 20 mm nearer."""
    neighbour = box_at((250, 310, 255), (40, 40, 40), "neighbour")
    assert moved(BOX, neighbour) == (25.0, "+z")


def test_a_body_that_it_stands_in_already_does_not() -> None:
    neighbour = box_at((250, 295, 255), (40, 40, 40), "neighbour")
    assert moved(BOX, neighbour) == (20.0, "+y")


@pytest.mark.parametrize(
    ("height", "towards"), [(299.0, "+z"), (300.0, "+y"), (301.0, "+y")]
)
def test_no_body_is_moved_out_of_the_case(height: float, towards: str) -> None:
    """Its far face comes from 280 to 300 mm."""
    found = moved(BOX, inner=(500.0, height, 500.0))
    assert found is not None
    assert found[1] == towards


@pytest.mark.parametrize("end", [-10.0, 510.0])
def test_a_body_that_is_out_of_the_case_may_stay_so(end: float) -> None:
    """It reaches through one of the walls that lie across the move."""
    low, high = min(end, 230.0), max(end, 270.0)
    through = box_at((250, 260, (low + high) / 2.0), (40, 40, high - low))
    assert moved(through) == (20.0, "+y")


@pytest.mark.parametrize(("size", "by"), [(100, 60.0), (102, None)])
def test_beyond_60_mm_a_body_is_not_moved(size: int, by: float | None) -> None:
    """Half of it, and 10 mm."""
    found = moved(box_at((250, 250, 250), (size, size, size)))
    assert (found and found[0]) == by
