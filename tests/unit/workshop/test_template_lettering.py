"""The lettering of templates lies on nothing else, however cramped the tube."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.drafting.drawing import Polygon, Text
from loopsolver.drafting.extent import box
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.paging import PAPERS, Foot
from loopsolver.drafting.tiling import best_size, joints_of, tiled, tiles_of
from loopsolver.workshop.flat import flat_planes, mirrored
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sheets import as_bent
from loopsolver.workshop.template import template
from tests.builders.small_build import job_through
from tests.builders.tubes import bent, laid_along_x
from tests.unit.workshop.tubes_to_bend import RUNS

FOOT = Foot(what=": sheet", lines=(), units="mm", belongs="plain set")


def text_boxes(drawing):
    return [
        (e.text, box(e)) for e in drawing.entities if isinstance(e, Text) and e.text
    ]


@pytest.mark.parametrize("vertices", RUNS.values(), ids=RUNS.keys())
@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_lettering_overlaps_no_other_lettering(vertices, paper):
    job = job_through(vertices)
    for plane in flat_planes(job.table):
        boxes = text_boxes(template(job, plane, paper=paper))
        for index, (one, (l1, b1, r1, t1)) in enumerate(boxes):
            for other, (l2, b2, r2, t2) in boxes[index + 1 :]:
                wide = min(r1, r2) - max(l1, l2)
                high = min(t1, t2) - max(b1, b2)
                assert wide < 0.2 or high < 0.2, (one, other)


S_BEND = ((0, 0, 0), (60, 0, 0), (60, 186, 0), (150, 186, 0))
LONG_LEG = ((0, 0, 0), (120, 0, 0), (120, 400, 0), (200, 400, 0))


@pytest.mark.parametrize("vertices", [S_BEND, LONG_LEG, RUNS["oblique"]])
@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_no_page_cuts_lettering(vertices, paper):
    job = job_through(vertices)
    counts = []
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=paper)
        tiles = tiles_of(drawing, best_size(drawing, paper))
        counts.append(len(tiles))
        across, up = joints_of(tiles)
        for says, (left, bottom, right, top) in text_boxes(drawing):
            assert not any(left < x < right for x in across), says
            assert not any(bottom < y < top for y in up), says
    assert max(counts) > 1


CROOKED = ((0, 0, 0), (277, 0, 0), (199, -323, -92), (169, -355, 29), (362, -355, 29))
CORNER = (
    (0, 0, 0),
    (199, 0, 0),
    (199, 208, 0),
    (3, 270, 255),
    (3, 362, 255),
    (349, 362, 255),
    (349, 362, 351),
)
CRANK = ((0, 0, 0), (98, 0, 0), (98, -203, 0), (225, -203, 0), (225, -319, 0))
TALL = ((0, 0, 0), (52, 0, 0), (52, 187, 0), (52, 187, 48))
"""Tubes on whose templates a page held nothing but a note, or a bit of the former."""


@pytest.mark.parametrize("vertices", [CROOKED, CORNER, CRANK, TALL])
@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
@pytest.mark.parametrize("seen", [as_bent, mirrored])
def test_every_page_shows_some_of_the_tube(vertices, paper, seen):
    """Its edges, what is trimmed off, a leg or a dimension: not the note alone."""
    job = job_through(vertices)
    of_tube = {Layers.TUBE, Layers.TRIM, Layers.FITTING, Layers.LEG, Layers.DIMENSION}
    for plane in map(seen, flat_planes(job.table)):
        drawing = template(job, plane, paper=paper)
        notes = [
            box(e)
            for e in drawing.entities
            if isinstance(e, Polygon) and e.layer is Layers.FRAME
        ]
        shapes = [
            b
            for e in drawing.entities
            for b in [box(e)]
            if getattr(e, "layer", None) in of_tube
            and not any(
                n[0] <= b[0] and n[1] <= b[1] and b[2] <= n[2] and b[3] <= n[3]
                for n in notes
            )
        ]
        for leaf in tiled(drawing, paper=paper, foot=FOOT):
            (viewport,) = leaf.viewports
            (x0, y0), (x1, y1) = viewport.low, viewport.high
            assert any(
                b[0] < x1 and b[2] > x0 and b[1] < y1 and b[3] > y0 for b in shapes
            )


@pytest.mark.parametrize("vertices", [S_BEND, LONG_LEG, CROOKED, CORNER, CRANK])
def test_a_page_shows_lettering_whole_or_not_at_all(vertices):
    job = job_through(vertices)
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=PAPERS["a4"])
        leaves = tiled(drawing, paper=PAPERS["a4"], foot=FOOT)
        shown = []
        for leaf in leaves:
            (viewport,) = leaf.viewports
            (x0, y0), (x1, y1) = viewport.low, viewport.high
            for says, (left, bottom, right, top) in text_boxes(viewport.drawing):
                outside = right < x0 or left > x1 or top < y0 or bottom > y1
                whole = x0 <= left and right <= x1 and y0 <= bottom and top <= y1
                assert outside or whole, says
                shown += [says] if whole else []
        assert {says for says, _ in text_boxes(drawing)} == set(shown)


@pytest.mark.parametrize("vertices", [S_BEND, LONG_LEG, CROOKED, CORNER, CRANK])
@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_joints_are_named_off_the_tube_at_the_same_places_on_both_pages(
    vertices, paper
):
    job = job_through(vertices)
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=paper)
        path = centre_points(plane)
        places: dict[tuple[float, ...], int] = {}
        for leaf in tiled(drawing, paper=paper, foot=FOOT):
            (viewport,) = leaf.viewports
            by = np.subtract(viewport.low, viewport.at)
            for text in (e for e in leaf.entities if isinstance(e, Text)):
                left, bottom, right, top = box(text) + np.tile(by, 2)
                across = np.maximum(
                    np.maximum(left - path[:, 0], path[:, 0] - right), 0
                )
                up = np.maximum(np.maximum(bottom - path[:, 1], path[:, 1] - top), 0)
                assert np.hypot(across, up).min() > 7.0, text.text
                place = tuple(np.round(by + text.position, 6))
                places[place] = places.get(place, 0) + 1
        assert set(places.values()) <= {2}


@pytest.mark.parametrize("vertices", RUNS.values(), ids=RUNS.keys())
def test_lettering_stays_off_the_tube(vertices):
    """Only what is trimmed off is written between the edges."""
    job = job_through(vertices)
    for plane in flat_planes(job.table):
        path = centre_points(plane)
        boxes = text_boxes(template(job, plane, paper=PAPERS["a4"]))
        for says, (left, bottom, right, top) in boxes:
            if says.startswith("trim"):
                continue
            across = np.maximum(np.maximum(left - path[:, 0], path[:, 0] - right), 0.0)
            up = np.maximum(np.maximum(bottom - path[:, 1], path[:, 1] - top), 0.0)
            assert np.hypot(across, up).min() > 7.0, says


def centre_points(plane):
    """Return points along straights and arcs, no more than a millimetre apart."""
    points = []
    for start, end in plane.straights:
        part = np.linspace(0.0, 1.0, 400)[:, None]
        points.extend((1.0 - part) * np.asarray(start) + part * np.asarray(end))
    for bend in plane.bends:
        start = np.asarray(bend.start) - np.asarray(bend.centre)
        for part in np.linspace(0.0, 1.0, 60):
            angle = part * bend.side * math.radians(bend.angle_deg)
            cos, sin = math.cos(angle), math.sin(angle)
            turned_start = np.array(
                [start[0] * cos - start[1] * sin, start[0] * sin + start[1] * cos]
            )
            points.append(np.asarray(bend.centre) + turned_start)
    return np.array(points)


def turned_boxes(drawing):
    """Return every lettering as middle, directions, half width and half height."""
    found = []
    for text in drawing.entities:
        if isinstance(text, Text) and text.text:
            wide = text_width(text.text, text.size, text.face)
            left = -wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
            turn = math.radians(text.angle_deg)
            along = np.array([math.cos(turn), math.sin(turn)])
            up = np.array([-along[1], along[0]])
            middle = np.asarray(text.position) + along * (left + wide / 2.0)
            middle = middle + up * 0.4 * text.size
            found.append((text.text, middle, along, up, wide / 2.0, 0.6 * text.size))
    return found


def overlap(one, other):
    """Tell whether two turned boxes meet: no direction of their sides parts them."""
    _, c1, a1, u1, w1, h1 = one
    _, c2, a2, u2, w2, h2 = other
    for axis in (a1, u1, a2, u2):
        reach = w1 * abs(a1 @ axis) + h1 * abs(u1 @ axis)
        reach += w2 * abs(a2 @ axis) + h2 * abs(u2 @ axis)
        if abs((c2 - c1) @ axis) > reach - 0.2:
            return False
    return True


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    st.lists(
        st.tuples(
            st.sampled_from([15.0, 20.0, 40.0, 80.0, 150.0]),
            st.sampled_from([30.0, 45.0, 60.0, 90.0, 90.0]),
            st.sampled_from([0.0, 180.0, 90.0, -90.0, 37.0]),
        ),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from([27.0, 40.0, 150.0]),
)
def test_lettering_of_any_tube_overlaps_nothing(bends, closing):
    """Neither other lettering nor the tube; short straights leave little room."""
    rows = (
        (straight, turn, angle) if number else (straight + 12.0, 0.0, angle)
        for number, (straight, angle, turn) in enumerate(bends)
    )
    job = job_through(laid_along_x(bent(rows, closing=closing)).vertices)
    for plane in flat_planes(job.table):
        boxes = turned_boxes(template(job, plane, paper=PAPERS["a4"]))
        path = centre_points(plane)
        for index, one in enumerate(boxes):
            assert not [o[0] for o in boxes[index + 1 :] if overlap(one, o)], one[0]
            says, middle, along, up, wide, high = one
            if says.startswith("trim"):
                continue
            x = np.maximum(np.abs((path - middle) @ along) - wide, 0.0)
            y = np.maximum(np.abs((path - middle) @ up) - high, 0.0)
            assert np.hypot(x, y).min() > 7.0, says
