"""A part of a tube and what it comes near to: distances between boxes, by hand.

The tube runs along x from 50 to 450 mm at y = z = 250 mm; its radius is 7 mm.
"""

from __future__ import annotations

import pytest

from loopsolver.routing.diagnosis.stretch import Stretch, whole_tube
from loopsolver.tube.centreline import Centreline
from tests.builders.problems import box_at, end_at, run_between

TUBE = Centreline(vertices=((50, 250, 250), (450, 250, 250)), radius=28.0)
AT_START = box_at((45, 250, 250), (8, 20, 20), "at the start")
AT_END = box_at((460, 250, 250), (10, 20, 20), "at the end")
BOXES = (AT_END, AT_START)


@pytest.mark.parametrize(
    ("skipped", "start", "end"), [((0, 0), 1, 5), ((12, 0), 13, 5), ((0, 20), 1, 25)]
)
def test_what_is_skipped_at_an_end_is_near_to_nothing(
    skipped: tuple[int, int], start: float, end: float
) -> None:
    """The boxes begin 1 mm before the tube and 5 mm behind it."""
    stretch = Stretch(tube=TUBE, skip_start=skipped[0], skip_end=skipped[1])
    gaps = stretch.gaps(BOXES, tube_radius=0.0)
    assert {name: gap.distance for name, gap in gaps.items()} == pytest.approx(
        {"at the start": start, "at the end": end}
    )
    nearest = min(gaps.values(), key=lambda gap: gap.distance)
    assert list(gaps) == sorted(gaps, key=lambda name: gaps[name].distance)
    assert stretch.gap(BOXES, tube_radius=0.0) == nearest


def test_nothing_is_skipped_unless_it_is_asked_for() -> None:
    gaps = Stretch(tube=TUBE).gaps(BOXES, tube_radius=7.0)
    assert {name: gap.distance for name, gap in gaps.items()} == pytest.approx(
        {"at the start": 1.0 - 7.0, "at the end": 5.0 - 7.0}
    )


def test_of_a_whole_tube_its_fittings_hold_both_ends() -> None:
    """12 mm of each: 13 and 17 mm are left to the boxes."""
    run = run_between(
        end_at((50, 250, 250), "+x"), end_at((450, 250, 250), "-x"), angles=(90.0,)
    )
    gaps = whole_tube(TUBE, run).gaps(BOXES, tube_radius=7.0)
    assert {name: gap.distance for name, gap in gaps.items()} == pytest.approx(
        {"at the start": 13.0 - 7.0, "at the end": 17.0 - 7.0}
    )
