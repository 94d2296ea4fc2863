"""Where the far end is over the first sheet, against tubes drawn by hand.

The first straight runs to the right on the sheet and the first bend turns to the left,
so away from who reads it; what then turns up stands above the sheet.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from loopsolver.geometry.vectors import point
from loopsolver.workshop.far_end import far_end, far_end_words
from loopsolver.workshop.flat import flat_planes, mirrored
from tests.builders.small_build import job_through


def first_sheet(*vertices):
    """Return the job of a tube through some vertices, and its first plane."""
    job = job_through(vertices)
    return job, flat_planes(job.table)[0]


STAIRS = ((0, 0, 0), (100, 0, 0), (100, 120, 0), (100, 120, 90))
"""Right, then away, then up."""


def test_a_staircase_ends_above_its_sheet() -> None:
    job, plane = first_sheet(*STAIRS)
    there = far_end(job, plane)
    assert there is not None
    assert there.foot == pytest.approx((0.0, 120.0))
    assert there.height == pytest.approx(90.0)
    assert there.points == pytest.approx((0.0, 0.0, 1.0))
    (words,) = far_end_words(job, plane)
    assert "0.0 mm right and 120.0 mm away of where the centre lines of bend 1" in words
    assert "is 90.0 mm above this sheet" in words
    assert "the last straight points up." in words


def test_a_tube_that_goes_down_and_back_says_so() -> None:
    job, plane = first_sheet(*STAIRS[:3], (100, 120, -90), (20, 120, -90))
    (words,) = far_end_words(job, plane)
    assert "80.0 mm left and 120.0 mm away" in words
    assert "is 90.0 mm below this sheet" in words
    assert "points left." in words


def test_a_last_straight_between_ways_is_told_by_angles() -> None:
    # Up at 30 degrees over a way that is 45 degrees from right towards near.
    way = np.array([1.0, -1.0, np.sqrt(2.0) * np.tan(np.radians(30.0))])
    end = point(np.array([100.0, 150.0, 120.0]) + 100.0 * way)
    job, plane = first_sheet(*STAIRS[:2], (100, 150, 0), (100, 150, 120), end)
    (words,) = far_end_words(job, plane)
    assert "points 45° from right towards near and 30° up." in words


def test_it_is_told_on_the_first_plain_sheet_alone() -> None:
    job = job_through(STAIRS)
    first, second = flat_planes(job.table)
    assert far_end(job, first) is not None
    assert far_end(job, second) is None
    assert far_end(job, mirrored(first)) is None
    flat = job_through(STAIRS[:3])
    assert far_end(flat, flat_planes(flat.table)[0]) is None
    assert far_end_words(flat, flat_planes(flat.table)[0]) == ()


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3))
def test_it_is_the_same_however_the_tube_lies_in_the_case(turn: list[float]) -> None:
    job, plane = first_sheet(*STAIRS)
    turned = Rotation.from_rotvec(turn).apply(np.array(STAIRS, float))
    moved = turned + np.array([7.0, -3.0, 50.0])
    other = job_through(tuple(map(point, moved)))
    there, again = far_end(job, plane), far_end(other, flat_planes(other.table)[0])
    assert there is not None
    assert again is not None
    assert again.foot == pytest.approx(there.foot, abs=1e-9)
    assert again.height == pytest.approx(there.height)
    assert again.points == pytest.approx(there.points, abs=1e-9)


def test_lengths_are_in_the_unit_of_the_scene() -> None:
    job, plane = first_sheet(*STAIRS)
    (words,) = far_end_words(replace(job, units="in"), plane)
    assert re.search(r"4\.724 in away", words)  # 120 / 25.4
