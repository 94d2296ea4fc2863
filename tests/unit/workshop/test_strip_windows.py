"""Diamonds cut out of a strip and its flap, by hand on squared paper."""

from __future__ import annotations

import math
from itertools import combinations

import pytest

from loopsolver.drafting.drawing import Place
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sleeve import (
    DISC,
    HALF,
    Sleeve,
    diamond,
    flap_diamond,
    sleeve_of,
    strip_marks,
)
from tests.builders.small_build import FLAT, UP, job_through


def test_a_diamond_is_4_mm_from_corner_to_corner() -> None:
    drawn = diamond((10.0, 20.0))
    assert drawn.points == ((8.0, 20.0), (10.0, 18.0), (12.0, 20.0), (10.0, 22.0))
    assert (drawn.layer, drawn.fill) == (Layers.WINDOW, 1.0)


@pytest.mark.parametrize(
    ("up", "points"),
    [
        # The flap of 8 mm goes from 44 to 52. A diamond 3 mm up lies on it whole.
        (3.0, ((8.0, 47.0), (10.0, 45.0), (12.0, 47.0), (10.0, 49.0))),
        (6.0, ((8.0, 50.0), (10.0, 48.0), (12.0, 50.0), (10.0, 52.0))),
        # 7 mm up its upper corner is cut off at the edge, which is 2 x 1 mm wide there.
        (7.0, ((8.0, 51.0), (10.0, 49.0), (12.0, 51.0), (11.0, 52.0), (9.0, 52.0))),
        # 9 mm up its lower corner is left: 1 mm deep.
        (9.0, ((10.0, 51.0), (11.0, 52.0), (9.0, 52.0))),
        # Half of it, cut at its widest.
        (8.0, ((10.0, 50.0), (12.0, 52.0), (8.0, 52.0))),
    ],
)
def test_what_of_a_diamond_is_cut_out_of_the_flap(
    up: float, points: tuple[Place, ...]
) -> None:
    drawn = flap_diamond((10.0, up), top=44.0, flap=8.0)
    assert drawn is not None
    assert drawn.points == points
    assert (drawn.layer, drawn.fill) == (Layers.WINDOW, 1.0)


@pytest.mark.parametrize("up", [10.0, 10.5, 30.0])
def test_a_diamond_beyond_the_flap_is_not_cut_out_of_it(up: float) -> None:
    assert flap_diamond((10.0, up), top=44.0, flap=8.0) is None


TUBES = {
    "offset": FLAT,
    "two planes": UP,
    "four close bends": (
        (0.0, 0.0, 0.0),
        (60.0, 0.0, 0.0),
        (60.0, 60.0, 0.0),
        (120.0, 60.0, 0.0),
        (120.0, 60.0, 60.0),
        (180.0, 60.0, 60.0),
    ),
}


def inside(sleeve: Sleeve, place: Place, reach: float) -> bool:
    x, y = place
    room = reach + 0.6 - 1e-9
    return room <= x <= sleeve.length - room and room <= y <= sleeve.top - room


@pytest.mark.parametrize("tube", TUBES)
def test_marks_neither_meet_nor_run_over_the_edge(tube: str) -> None:
    """0.6 mm of paper between diamonds; a disc covers no corner of one."""
    sleeve = sleeve_of(job_through(TUBES[tube]))
    windows, discs = strip_marks(sleeve)
    assert len(discs) == len(sleeve.bends)
    for window in windows:
        assert inside(sleeve, window, HALF)
    for (x, y), (u, v) in combinations(windows, 2):
        # Diamonds are circles of the sum of both distances.
        assert abs(x - u) + abs(y - v) >= 2.0 * HALF + 0.6 - 1e-9
    for disc in discs:
        assert inside(sleeve, disc, DISC)
        assert all(math.dist(disc, one) >= HALF + DISC for one in windows)
    for one, other in combinations(discs, 2):
        assert math.dist(one, other) > 2.0 * DISC + 0.6


@pytest.mark.parametrize("tube", ["offset", "two planes"])
def test_with_room_every_place_has_a_diamond_and_discs_stand_beside_them(
    tube: str,
) -> None:
    sleeve = sleeve_of(job_through(TUBES[tube]))
    windows, discs = strip_marks(sleeve)
    wanted = {
        (at, bend.height)
        for bend in sleeve.bends
        for at in (bend.mark.start, bend.mark.centre, bend.mark.end)
    }
    assert set(windows) == wanted
    for bend, disc in zip(sleeve.bends, discs, strict=True):
        away = math.dist(disc, (bend.mark.centre, bend.height))
        assert away == pytest.approx(HALF + DISC + 0.6)
