"""The wrap strip: degrees round the tube, marks along it, and which way it turns."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.tube.bend_table import Bend, BendTable, bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Tube
from loopsolver.workshop.drawing import Circle, Layer, Line
from loopsolver.workshop.job import End, Job
from loopsolver.workshop.paging import PAPERS, room
from loopsolver.workshop.tiling import OVERLAP
from loopsolver.workshop.turn_card import turn_card
from loopsolver.workshop.wrap import (
    FLAP,
    degree_width,
    seam_deg,
    strip_blocks,
    strip_height,
    turn_lines,
    wrap_strip,
)

RADIUS = 28.0
OUTER = 14.0


def job_through(vertices):
    line = Centreline(
        vertices=tuple(tuple(map(float, v)) for v in vertices), radius=RADIUS
    )
    tube = Tube(
        material="petg",
        outer_diameter=OUTER,
        inner_diameter=10.0,
        bend_radii=(RADIUS,),
        stock_length=500.0,
        trim_allowance=30.0,
    )
    return Job(
        title="Moss",
        name="pump to card",
        units="mm",
        tube=tube,
        trim_allowance=30.0,
        centreline=line,
        table=bend_table(line),
        first=End(port="pump.out", fitting=None),
        last=End(port="card.in", fitting=None),
    )


STAIRS = ((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0), (90, -200, 120))


@pytest.mark.parametrize(
    ("outer", "spacing"), [(12.0, 0.10472), (14.0, 0.12217), (16.0, 0.13963)]
)
def test_degree_spacing(outer, spacing):
    """pi D / 360, rounded to five places by hand for the three usual tubes."""
    assert round(degree_width(outer), 5) == spacing


def test_strip_is_as_wide_as_the_circumference_and_as_long_as_the_blank():
    strip = wrap_strip(job_through(STAIRS))
    (outline,) = [
        e for e in strip.entities if e.layer is Layer.CUT and not isinstance(e, Line)
    ]
    xs, ys = zip(*outline.points, strict=True)
    # Legs 60 + 90 + 140 + 120, three bends of 90 degrees with radius 28, two trims.
    blank = 410.0 - 3 * (2 * 28.0 - 28.0 * math.pi / 2.0) + 60.0
    assert max(xs) - min(xs) == pytest.approx(blank)
    assert max(ys) - min(ys) == pytest.approx(math.pi * 14.0)


def test_marks_lie_where_the_blank_is_bent():
    """The first bend of legs 60, 90: straight 32, arc 28 pi / 2, after a trim of 30."""
    strip = wrap_strip(job_through(STAIRS))
    upright = [e for e in strip.entities if isinstance(e, Line)]
    turns = sorted(e.start[0] for e in upright if e.layer is Layer.TURN)
    centres = sorted(e.start[0] for e in upright if e.layer is Layer.CENTRE)
    heated = sorted(e.start[0] for e in upright if e.layer is Layer.HEATED)
    arc = 28.0 * math.pi / 2.0
    starts = [62.0, 62.0 + arc + 34.0, 62.0 + 2 * arc + 34.0 + 84.0]
    ends = [start + arc for start in starts]
    assert turns == pytest.approx(sorted(starts + ends))
    assert centres == pytest.approx([start + arc / 2.0 for start in starts])
    wanted = sorted([x - 14.0 for x in starts] + [x + 14.0 for x in ends])
    assert heated == pytest.approx(wanted)
    cuts = sorted(e.start[0] for e in upright if e.layer is Layer.CUT)
    assert cuts == pytest.approx([30.0, ends[-1] + 92.0])


def inside_on_the_blank(vertices):
    """Return the direction of each bend's inside round the straight blank.

    Independent of the bend table: the tube is unbent from its last bend to its first,
    each bend turned straight about its own axis, and what became of the directions
    towards the bends' centres is read off.
    """
    v = np.asarray(vertices, float)
    legs = np.diff(v, axis=0)
    legs /= np.linalg.norm(legs, axis=1)[:, None]
    insides = []
    for number in range(1, len(v) - 1):
        before, after = legs[number - 1], legs[number]
        inside = after - before * (before @ after)
        inside /= np.linalg.norm(inside)
        for earlier in range(number - 1, 0, -1):
            a, b = legs[earlier - 1], legs[earlier]
            axis = np.cross(b, a)
            sine, cosine = np.linalg.norm(axis), a @ b
            axis /= sine
            inside = (
                inside * cosine
                + np.cross(axis, inside) * sine
                + axis * (axis @ inside) * (1.0 - cosine)
            )
        insides.append(inside)
    return legs[0], insides


def wrapped_directions(strip, travel, first_inside):
    """Return where the strip's lines come to lie when it is wrapped round the blank.

    Printed side out, x along the travel. Seen from outside with x to the right, y goes
    up, so that outward, x and y are right-handed: y = outward x travel.
    """
    lines = [
        e for e in strip.entities if isinstance(e, Line) and e.layer is Layer.INSIDE
    ]
    heights = [line.start[1] for line in lines]
    across = np.cross(first_inside, travel)
    return [
        math.cos(angle) * first_inside + math.sin(angle) * across
        for angle in ((h - heights[0]) / (OUTER / 2.0) for h in heights)
    ]


@pytest.mark.parametrize(
    "vertices",
    [
        STAIRS,
        ((0, 0, 0), (100, 0, 0), (100, 80, 0), (20, 80, 0)),
        ((0, 0, 0), (80, 0, 0), (80, 90, 0), (80, 90, 90), (180, 90, 90)),
        ((0, 0, 0), (80, 0, 0), (80, 90, 0), (80, 90, -90), (180, 190, -90)),
        ((0, 0, 0), (0, 80, 0), (60, 160, 30), (160, 160, 80), (160, 300, 0)),
    ],
)
def test_wrapped_round_the_blank_the_lines_lie_inside_the_bends(vertices):
    travel, insides = inside_on_the_blank(vertices)
    strip = wrap_strip(job_through(vertices))
    found = wrapped_directions(strip, travel, insides[0])
    for line, inside in zip(found, insides, strict=True):
        assert line == pytest.approx(inside, abs=1e-9)


rotations = st.lists(
    st.one_of(
        st.sampled_from([0.0, 90.0, -90.0, 180.0, 45.0]), st.floats(-179.0, 180.0)
    ),
    min_size=1,
    max_size=6,
)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(rotations)
def test_the_seam_is_as_far_from_every_line_as_can_be(turns):
    table = BendTable(
        bends=tuple(Bend(straight=60.0, rotation_deg=t, angle_deg=90.0) for t in turns),
        closing_straight=60.0,
        radius=RADIUS,
    )
    lines = turn_lines(table)

    def least_distance(seam):
        return min(
            abs((line.turned_deg - seam + 180.0) % 360.0 - 180.0) for line in lines
        )

    best = max(least_distance(degree / 4.0) for degree in range(1440))
    assert least_distance(seam_deg(lines)) >= best - 1e-6
    for line in lines:
        height = strip_height(
            line.turned_deg, seam=seam_deg(lines), outer_diameter=OUTER
        )
        assert 0.0 <= height <= math.pi * OUTER


@pytest.mark.parametrize("size", [s for p in PAPERS.values() for s in p.sizes])
def test_parts_of_the_strip_overlap_and_cover_it(size):
    strip = wrap_strip(job_through(STAIRS))
    low, high = room(size)
    blocks = strip_blocks(strip, size)
    for one, other in pairwise(blocks):
        shared = one.window.high[0] - other.window.low[0]
        assert shared == pytest.approx(OVERLAP)
    assert blocks[0].window.low == strip.low
    assert blocks[-1].window.high == strip.high
    for block in blocks:
        assert block.size[0] <= high[0] - low[0] + 1e-9
        assert block.size[1] == pytest.approx(math.pi * OUTER + FLAP + 2.0)


def test_a_straight_tube_has_a_strip_with_its_cuts_alone():
    strip = wrap_strip(job_through(((0, 0, 0), (300, 0, 0))))
    lines = [e for e in strip.entities if isinstance(e, Line)]
    assert sorted(e.start[0] for e in lines if e.layer is Layer.CUT) == [30.0, 330.0]
    assert not [e for e in lines if e.layer is Layer.TURN]


def test_card_has_a_hole_for_the_tube_and_clockwise_marks():
    """Seen from the first end a positive rotation goes as a clock's hand does."""
    card = turn_card(job_through(((0, 0, 0), (80, 0, 0), (80, 90, 0), (80, 90, 90))))
    cuts = [e for e in card.entities if isinstance(e, Circle) and e.layer is Layer.CUT]
    hole = min(cuts, key=lambda circle: circle.radius)
    assert hole.radius == 7.0
    cx, cy = hole.centre
    marks = [
        e
        for e in card.entities
        if isinstance(e, Line) and e.layer is Layer.INSIDE
        if math.hypot(e.start[0] - cx, e.start[1] - cy) == pytest.approx(7.0)
    ]
    bearings = sorted(
        math.degrees(math.atan2(e.end[0] - cx, e.end[1] - cy)) for e in marks
    )
    # x, then y, then z: the staircase that climbs to the right; +90 by the right-hand
    # rule, a quarter past the full hour.
    assert bearings == pytest.approx([0.0, 90.0])
