"""What a sheet says of the tube beside its plane: what stands up, what hangs below."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loopsolver.workshop.flat import flat_planes, mirrored
from loopsolver.workshop.turn_note import words_out_of_plane
from tests.builders.small_build import RADIUS, job_through
from tests.builders.tubes import bent, laid_along_x
from tests.unit.workshop.tubes_to_bend import RUNS

TUBE = 7.0
"""Radius of the tube [mm]."""

TRIM = 30.0

bends = st.lists(
    st.tuples(
        st.sampled_from([0.0, 15.0, 40.0, 150.0]),
        st.sampled_from([0.0, 180.0, 90.0, -90.0, 1.3, -33.7, 175.3]),
        st.sampled_from([30.0, 45.0, 90.0, 120.0]),
    ),
    min_size=2,
    max_size=5,
)


def job_of(turns, closing):
    """Return the job of bending a tube of those straights, turns and angles."""
    rows = (
        (straight, turn if number else 0.0, angle)
        for number, (straight, turn, angle) in enumerate(turns)
    )
    return job_through(laid_along_x(bent(rows, closing=closing)).vertices)


def unit(vector):
    return vector / np.linalg.norm(vector)


def arc_points(before, at, after):
    """Return points on the bend at a vertex, by circle and tangents, 0.1 mm apart."""
    one, two = unit(at - before), unit(after - at)
    angle = np.arccos(np.clip(one @ two, -1.0, 1.0))
    inward = unit(two - (one @ two) * one)
    start = at - RADIUS * np.tan(angle / 2.0) * one
    part = np.linspace(0.0, angle, 1200)[:, None]
    round_it = np.cos(part) * -inward + np.sin(part) * one
    return start + RADIUS * inward + RADIUS * round_it


def sides_of(job, plane):
    """Return points on the blank before and after a plane's bends, first and last.

    Trim allowance and all, from the vertices alone; straights by their ends, which
    the arcs hold.
    """
    v = np.asarray(job.centreline.vertices)
    first, last = plane.bends[0].number, plane.bends[-1].number
    tips = v[0] + TRIM * unit(v[0] - v[1]), v[-1] + TRIM * unit(v[-1] - v[-2])
    arcs = [arc_points(*v[i - 1 : i + 2]) for i in range(1, len(v) - 1)]
    return (
        np.vstack([tips[0], *arcs[: first - 1]]),
        np.vstack([*arcs[last:], tips[1]]),
    )


def heights_over(job, plane, points):
    """Return how high points stand over a sheet, by how its vertices are drawn on it.

    The sheet's x and y in space are those that take what is drawn to the vertices; up
    is square to both, right-handed, since the sheet lies with its drawn side up.
    """
    v = np.asarray(job.centreline.vertices)
    held = v[plane.bends[0].number - 1 : plane.bends[-1].number + 2]
    drawn = np.asarray(plane.points)
    axes, *_ = np.linalg.lstsq(drawn - drawn[0], held - held[0], rcond=None)
    return (points - held[0]) @ np.cross(*axes)


def assert_said(says, heights):
    """Assert that words say of heights what they are, and how far down they reach."""
    assume(abs(heights.max() - TUBE) > 0.01)
    assume(abs(heights.min() + TUBE) > 0.01)
    assert ("stands up" in says) == (heights.max() > TUBE)
    assert ("hangs below" in says) == (heights.min() < -TUBE)
    if "hangs below" in says:
        (deep,) = re.findall(r"by up to ([\d.]+) mm", says)
        assert float(deep) == pytest.approx(-heights.min(), abs=0.06)


@settings(derandomize=True, deadline=None, max_examples=80)
@given(bends, st.sampled_from([0.0, 20.0, 120.0]))
def test_it_is_said_of_what_does(turns, closing):
    job = job_of(turns, closing)
    for plane in flat_planes(job.table):
        for shown in (plane, mirrored(plane)):
            words = words_out_of_plane(job, shown)
            before, after = sides_of(job, plane)
            starts = (
                "The tube before bend",
                "With all bends made, the tube after bend",
            )
            for begins, points, turn in zip(
                starts,
                (before, after),
                (plane.turn_before_deg, plane.turn_after_deg),
                strict=True,
            ):
                says = [word for word in words if word.startswith(begins)]
                if turn is None:
                    assert says == []
                else:
                    heights = heights_over(job, shown, points)
                    assert_said(" ".join(says), heights)


def test_what_was_bent_before_hangs_below_a_worked_example():
    """Bend 3 of the staircase turns up; seen from there bend 1 and 2 lie below.

    The sheet of bend 3 holds -y (the shared leg) and +z (where bend 3 turns to). Bend
    2 turned right on its sheet, so bend 3 does on this one: right of -y on the sheet
    is +z, which makes up (-y) x (-z) = +x; and x of the first leg is 90 mm less.
    """
    job = job_through(RUNS["staircase"])
    plane = flat_planes(job.table)[1]
    (says,) = words_out_of_plane(job, plane)
    assert says == (
        "The tube before bend 3 hangs below this sheet by up to 90.0 mm: let it hang "
        "over the table's edge, or bend by the mirrored set, printed with --mirror."
    )
    (says,) = words_out_of_plane(job, mirrored(plane))
    assert says == "The tube before bend 3 stands up from this sheet."


def test_both_are_said_of_what_goes_both_ways():
    """The first end at z = 80 and 30 mm of trim more, then down to -80, then level.

    Bend 1 turns left, from -z to -y, so that sheet 1 is seen from -x; bend 3 turns from
    +z to -y, to the right there, and so does bend 4 on sheet 2, from -y to +x: up is
    -z, the first end hangs below, and what lies at -80 stands up.
    """
    job = job_through(
        (
            (0, 200, 80),
            (0, 200, -80),
            (0, 100, -80),
            (0, 100, 0),
            (0, 0, 0),
            (120, 0, 0),
        )
    )
    plane = flat_planes(job.table)[1]
    for shown, deep in ((plane, "110.0"), (mirrored(plane), "80.0")):
        assert words_out_of_plane(job, shown) == (
            "The tube before bend 4 stands up from this sheet and hangs below it by up "
            f"to {deep} mm: let it hang over the table's edge.",
        )


def test_neither_is_said_within_the_tubes_radius():
    """A turn of 1.3 degrees lifts 150 mm of tube by 3.4 mm: less than its radius."""
    job = job_of([(40.0, 0.0, 90.0), (40.0, 1.3, 90.0)], 40.0)
    for plane in flat_planes(job.table):
        assert words_out_of_plane(job, plane) == ()
        assert words_out_of_plane(job, mirrored(plane)) == ()
