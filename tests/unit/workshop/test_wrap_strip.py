"""The wrap strip: degrees round the tube, marks along it, and which way it turns."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.drafting.drawing import Circle, Line, Picture, Polygon, Polyline, Text
from loopsolver.drafting.extent import box
from loopsolver.drafting.paging import PAPERS, room
from loopsolver.drafting.tiling import OVERLAP
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sleeve import (
    HALF,
    degree_width,
    seam_deg,
    strip_height,
    turn_lines,
)
from loopsolver.workshop.strip_parts import strip_extracts
from loopsolver.workshop.turn_card import turn_card
from loopsolver.workshop.wrap import FLAP, wrap_strip
from tests.builders.small_build import job_through
from tests.builders.tubes import bent, turned

OUTER = 14.0

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
        e
        for e in strip.entities
        if not isinstance(e, Picture | Line) and e.layer is Layers.CUT
    ]
    assert isinstance(outline, Polyline | Polygon)
    xs, ys = zip(*outline.points, strict=True)
    # Legs 60 + 90 + 140 + 120, three bends of 90 degrees with radius 28, two trims.
    blank = 410.0 - 3 * (2 * 28.0 - 28.0 * math.pi / 2.0) + 60.0
    assert max(xs) - min(xs) == pytest.approx(blank)
    assert max(ys) - min(ys) == pytest.approx(math.pi * 14.0)


def test_marks_lie_where_the_blank_is_bent():
    """The first bend of legs 60, 90: straight 32, arc 28 pi / 2, after a trim of 30."""
    strip = wrap_strip(job_through(STAIRS))
    upright = [e for e in strip.entities if isinstance(e, Line)]
    turns = sorted(e.start[0] for e in upright if e.layer is Layers.TURN)
    centres = sorted(e.start[0] for e in upright if e.layer is Layers.CENTRE)
    heated = sorted(e.start[0] for e in upright if e.layer is Layers.HEATED)
    arc = 28.0 * math.pi / 2.0
    starts = [62.0, 62.0 + arc + 34.0, 62.0 + 2 * arc + 34.0 + 84.0]
    ends = [start + arc for start in starts]
    assert turns == pytest.approx(sorted(starts + ends))
    assert centres == pytest.approx([start + arc / 2.0 for start in starts])
    wanted = sorted([x - 14.0 for x in starts] + [x + 14.0 for x in ends])
    assert heated == pytest.approx(wanted)
    cuts = sorted(e.start[0] for e in upright if e.layer is Layers.CUT)
    assert cuts == pytest.approx([30.0, ends[-1] + 92.0])


def test_every_place_along_the_blank_is_written_at_its_line():
    """Left of it, where there is room as on this tube; places as in the test above."""
    strip = wrap_strip(job_through(STAIRS))
    said = {
        e.text.removeprefix("start ").removeprefix("end "): box(e)
        for e in strip.entities
        if isinstance(e, Text)
    }
    arc = 28.0 * math.pi / 2.0
    for start in (62.0, 96.0 + arc, 180.0 + 2 * arc):
        for place in (start, start + arc / 2.0, start + arc):
            _, _, right, _ = said[f"{place:.1f} mm"]
            assert 0.0 < place - right < 1.0


def windows(strip):
    """Return what is cut out of a strip, as its points."""
    return [
        np.array(e.points)
        for e in strip.entities
        if isinstance(e, Polygon) and e.layer is Layers.WINDOW
    ]


def test_each_mark_shows_through_a_diamond_whose_corners_lie_on_its_lines():
    """STAIRS: places along the blank as above; the inside lines are drawn."""
    strip = wrap_strip(job_through(STAIRS))
    arc = 28.0 * math.pi / 2.0
    starts = (62.0, 96.0 + arc, 180.0 + 2 * arc)
    insides = [
        e.start[1]
        for e in strip.entities
        if isinstance(e, Line) and e.layer is Layers.INSIDE
    ]
    wanted = [
        (start + part * arc, y)
        for start, y in zip(starts, insides, strict=True)
        for part in (0.0, 0.5, 1.0)
    ]
    found = [
        points for points in windows(strip) if points[:, 1].max() < strip.high[1] - FLAP
    ]
    assert len(found) == len(wanted)
    for x, y in wanted:
        (one,) = (p for p in found if np.allclose(p.mean(axis=0), (x, y), atol=1e-9))
        on_mark = one[np.abs(one[:, 0] - x) < 1e-9]
        on_inside = one[np.abs(one[:, 1] - y) < 1e-9]
        assert sorted(on_mark[:, 1] - y) == pytest.approx([-HALF, HALF])
        assert sorted(on_inside[:, 0] - x) == pytest.approx([-HALF, HALF])


def test_the_flap_is_cut_out_wherever_it_lies_under_a_diamond():
    """Four insides a quarter turn apart: the seam is an eighth of a turn from two.

    14 mm of tube: pi 14 / 8 = 5.5 mm, so that the flap of 7 mm lies under one of them.
    Wrapped, a place on the flap and one the circumference lower are the same.
    """
    table = turned([0.0, 90.0, 90.0, 90.0], straight=40.0)
    strip = wrap_strip(replace(job_through(STAIRS), table=table))
    top = math.pi * OUTER
    assert strip.high[1] == pytest.approx(top + FLAP + 1.0)
    on_flap = [p - (0.0, top) for p in windows(strip) if p[:, 1].mean() > top]
    on_strip = [p for p in windows(strip) if p[:, 1].mean() < top]
    assert len(on_strip) == 12
    under = [p for p in on_strip if p[:, 1].min() < FLAP]
    assert len(under) == len(on_flap) == 3
    for one in under:
        (notch,) = (p for p in on_flap if abs(p[:, 0].mean() - one[:, 0].mean()) < 1e-6)
        inside = one[one[:, 1] <= FLAP]
        for corner in inside:
            assert np.abs(notch - corner).sum(axis=1).min() < 1e-9
        assert notch[:, 1].max() <= FLAP + 1e-9


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
        e for e in strip.entities if isinstance(e, Line) and e.layer is Layers.INSIDE
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
    table = turned(turns)
    lines = turn_lines(table)

    def least_distance(seam):
        return min(abs((line - seam + 180.0) % 360.0 - 180.0) for line in lines)

    best = max(least_distance(degree / 4.0) for degree in range(1440))
    assert least_distance(seam_deg(lines)) >= best - 1e-6
    for line in lines:
        height = strip_height(line, seam_deg=seam_deg(lines), outer_diameter=OUTER)
        assert 0.0 <= height <= math.pi * OUTER


@pytest.mark.parametrize("size", [s for p in PAPERS.values() for s in p.sizes])
def test_parts_of_the_strip_overlap_and_cover_it(size):
    strip = wrap_strip(job_through(STAIRS))
    low, high = room(size)
    blocks = [viewport for viewport, _ in strip_extracts(strip, size)]
    for one, other in pairwise(blocks):
        shared = one.high[0] - other.low[0]
        assert shared == pytest.approx(OVERLAP)
    assert blocks[0].low == strip.low
    assert blocks[-1].high == strip.high
    for block in blocks:
        assert block.high[0] - block.low[0] <= high[0] - low[0] + 1e-9
        assert block.high[1] - block.low[1] == pytest.approx(
            math.pi * OUTER + FLAP + 2.0
        )


@pytest.mark.parametrize("size", [s for p in PAPERS.values() for s in p.sizes])
def test_parts_are_joined_where_no_lettering_is_cut(size):
    """A leg of 300 mm leaves room between its bends, and as few parts are made."""
    strip = wrap_strip(job_through(((0, 0, 0), (0, 90, 0), (300, 90, 0), (300, 0, 0))))
    low, high = room(size)
    wide = high[0] - low[0]
    blocks = [viewport for viewport, _ in strip_extracts(strip, size)]
    assert len(blocks) == math.ceil((strip.width - OVERLAP) / (wide - OVERLAP))
    for one in blocks[1:]:
        x = one.low[0] + OVERLAP / 2.0
        for text in strip.entities:
            if isinstance(text, Text | Circle) or (
                isinstance(text, Polygon) and text.layer is Layers.WINDOW
            ):
                left, _, right, _ = box(text)
                assert not left < x < right, text


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.floats(15.0, 200.0), st.sampled_from([0.0, 180.0, 90.0, 1.3, -77.7])
        ),
        min_size=1,
        max_size=5,
    ),
    st.sampled_from([s for p in PAPERS.values() for s in p.sizes]),
    st.sampled_from(["mm", "in"]),
)
def test_no_joint_strikes_lettering_and_no_part_cuts_it(bends, size, units):
    """If need be in one part more than the strip's length asks for."""
    rows = (
        (straight, turn if i else 0.0, 90.0) for i, (straight, turn) in enumerate(bends)
    )
    table = bent(rows, closing=60.0)
    strip = wrap_strip(replace(job_through(STAIRS, units=units), table=table))
    low, high = room(size)
    blocks = [viewport for viewport, _ in strip_extracts(strip, size)]
    wide = high[0] - low[0]
    assert len(blocks) <= math.ceil((strip.width - OVERLAP) / (wide - OVERLAP)) + 1
    words = [e for e in strip.entities if isinstance(e, Text)]
    for one in blocks[1:]:
        x = one.low[0] + OVERLAP / 2.0
        assert not [t.text for t in words if box(t)[0] < x < box(t)[2]]
    for block in blocks:
        for text in block.drawing.entities:
            if isinstance(text, Text):
                left, _, right, _ = box(text)
                for edge in (block.low[0], block.high[0]):
                    assert not left < edge < right, text.text
    shown = [e for block in blocks for e in block.drawing.entities]
    assert all(text in shown for text in words)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.sampled_from([15.0, 20.0, 60.0]),
            st.sampled_from([0.0, 180.0, 90.0, 1.3, -77.7]),
            st.sampled_from([10.0, 30.0, 45.0, 90.0, 135.0]),
        ),
        min_size=1,
        max_size=5,
    ),
    st.sampled_from([0.0, 8.0, 15.0, 30.0]),
    st.sampled_from([6.0, 10.0, 14.0, 16.0]),
    st.sampled_from(["mm", "in"]),
)
def test_lettering_of_any_strip_overlaps_no_other(bends, trim, outer, units):
    rows = (
        (straight, turn if i else 0.0, angle)
        for i, (straight, turn, angle) in enumerate(bends)
    )
    table = bent(rows, closing=30.0, radius=2.0 * outer)
    job = job_through(STAIRS, units=units)
    tube = replace(job.tube, outer_diameter=outer, inner_diameter=outer - 2.0)
    strip = wrap_strip(replace(job, tube=tube, table=table, trim_allowance=trim))
    lettering = [e for e in strip.entities if isinstance(e, Text) and e.grey == 0.0]
    discs = [e for e in strip.entities if isinstance(e, Circle)]
    for one, other in combinations(lettering, 2):
        assert not meet(inked(one), inked(other)), (one.text, other.text)
    cut_out = [(p.min(axis=0), p.max(axis=0)) for p in windows(strip)]
    for text in lettering:
        assert not any(covers(disc, inked(text)) for disc in discs), text.text
        for low, high in cut_out:
            assert not meet(inked(text), (*low, *high)), text.text
    for disc in discs:
        for low, high in cut_out:
            middle = (low + high) / 2.0
            assert math.dist(disc.centre, middle) >= disc.radius + HALF - 1e-9
    for one, other in combinations(windows(strip), 2):
        apart = np.abs(one.mean(axis=0) - other.mean(axis=0)).sum()
        assert apart > 2.0 * HALF
    assert {e.text for e in strip.entities if isinstance(e, Text) and e.grey} == {
        str(number) for number in range(1, len(bends) + 1)
    }


def inked(text):
    """Return the box round a line of lettering less its descenders."""
    left, bottom, right, top = box(text)
    below = 0.33 * text.size
    if text.angle_deg:
        return left, bottom, right - below, top
    return left, bottom + below, right, top


def meet(one, other):
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide > 0.1 and high > 0.1


def covers(disc, one):
    x, y = disc.centre
    left, bottom, right, top = one
    away = math.hypot(max(left - x, x - right, 0.0), max(bottom - y, y - top, 0.0))
    return away < disc.radius - 0.1


@settings(derandomize=True, deadline=None, max_examples=60)
@given(rotations)
def test_numbers_on_the_card_stand_apart_and_in_order(turns):
    table = turned(turns)
    card = turn_card(replace(job_through(STAIRS), table=table))
    discs = [
        e for e in card.entities if isinstance(e, Circle) and e.layer is Layers.NOTE
    ]
    assert len(discs) == len(turns)
    for one, other in combinations(discs, 2):
        assert math.dist(one.centre, other.centre) > one.radius + other.radius


def test_card_has_a_hole_for_the_tube_and_clockwise_marks():
    """Seen from the first end a positive rotation goes as a clock's hand does."""
    card = turn_card(job_through(((0, 0, 0), (80, 0, 0), (80, 90, 0), (80, 90, 90))))
    cuts = [e for e in card.entities if isinstance(e, Circle) and e.layer is Layers.CUT]
    hole = min(cuts, key=lambda circle: circle.radius)
    assert hole.radius == 7.0
    cx, cy = hole.centre
    marks = [
        e
        for e in card.entities
        if isinstance(e, Line) and e.layer is Layers.INSIDE
        if math.hypot(e.start[0] - cx, e.start[1] - cy) == pytest.approx(7.0)
    ]
    bearings = sorted(
        math.degrees(math.atan2(e.end[0] - cx, e.end[1] - cy)) for e in marks
    )
    # x, then y, then z: the staircase that climbs to the right; +90 by the right-hand
    # rule, a quarter past the full hour.
    assert bearings == pytest.approx([0.0, 90.0])


@pytest.mark.parametrize("units", ["mm", "in"])
def test_card_says_where_bends_point_and_which_way_to_turn(units):
    """A positive rotation is clockwise, and a tube is turned against it.

    The first two turns are of tests/unit/workshop/test_turn_words.py, in whose words.
    """
    turns = (0.0, 90.0, 0.0, 180.0, -175.3, *[90.0] * 9)
    table = turned(turns)
    card = turn_card(replace(job_through(STAIRS, units=units), table=table))
    words = " ".join(e.text for e in card.entities if isinstance(e, Text))
    for says in (
        "Bend 2: points 90° clockwise of bend 1 before it: turn the tube 90° anticlock",
        "Bend 3: same plane, to the same side as bend 2 before it: no turn",
        "Bend 4: same plane, to the side opposite to bend 3 before it: turn the tube by "
        "180°",
        "Bend 5: points 175.3° anticlockwise of bend 4 before it: turn the tube 175.3° "
        "clockwise",
        "Clockwise is as seen along the tube from its first end.",
    ):
        assert says in words
    (left, bottom), (right, top) = card.low, card.high
    for entity in card.entities:
        one = box(entity)
        assert left <= one[0]
        assert bottom <= one[1]
        assert one[2] <= right
        assert one[3] <= top
