"""Templates hold the tube: bent back up they give the vertices in the case again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.drafting.drawing import Arc, Circle, Line, Polygon, Text
from loopsolver.drafting.paging import PAPERS
from loopsolver.workshop.flat import flat_planes, mirrored
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.template import (
    foot_of,
    standalone,
    template,
)
from loopsolver.workshop.tube_shapes import body, outlets_in_plane
from tests.builders.small_build import RADIUS, job_through
from tests.unit.workshop.tubes_to_bend import RUNS


def turned(vector, axis, angle):
    """Rodrigues' rotation formula, right-handed about a unit axis."""
    return (
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * (axis @ vector) * (1.0 - math.cos(angle))
    )


def bent_up(planes, start, along, left):
    """Return vertices in space from flat planes and the turns between them alone."""
    at = np.asarray(start, float)
    along, left = np.asarray(along, float), np.asarray(left, float)
    vertices = [at]
    for plane in planes:
        if plane.turn_before_deg is not None:
            # The last leg of the plane before is the first leg of this one.
            left = turned(left, along, math.radians(plane.turn_before_deg))
            vertices.pop()
        origin = vertices[-1]
        x0, y0 = plane.points[0]
        vertices += [
            origin + (x - x0) * along + (y - y0) * left for x, y in plane.points[1:]
        ]
        (x1, y1), (x2, y2) = plane.points[-2:]
        length = math.hypot(x2 - x1, y2 - y1)
        dx, dy = (x2 - x1) / length, (y2 - y1) / length
        along, left = dx * along + dy * left, -dy * along + dx * left
    return np.array(vertices)


def side_of_first_bend(vertices):
    """Return start, travel and the side to which a tube first turns."""
    v = np.asarray(vertices, float)
    along = (v[1] - v[0]) / np.linalg.norm(v[1] - v[0])
    if len(v) == 2:
        left = np.cross([0.0, 0.0, 1.0], along)
    else:
        left = (v[2] - v[1]) - along * (along @ (v[2] - v[1]))
    return v[0], along, left / np.linalg.norm(left)


@pytest.mark.parametrize("vertices", RUNS.values(), ids=RUNS.keys())
def test_bent_back_up_gives_the_vertices(vertices):
    job = job_through(vertices)
    found = bent_up(flat_planes(job.table), *side_of_first_bend(vertices))
    assert found.shape == (len(vertices), 3)
    assert np.abs(found - np.asarray(vertices, float)).max() < 0.01


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.floats(80.0, 300.0),
            st.floats(20.0, 130.0),
            st.one_of(
                st.sampled_from([0.0, 45.0, 90.0, 180.0, 270.0]), st.floats(1.0, 359.0)
            ),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_any_tube_bent_back_up_gives_its_vertices(bends):
    """Vertices are laid out with numpy alone, away from the code under test."""
    at, along, left = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0])
    vertices = [at]
    for leg, angle, turn in bends:
        at = at + leg * along
        vertices.append(at)
        left = turned(left, along, math.radians(turn))
        normal = np.cross(along, left)
        along = turned(along, normal, math.radians(angle))
        left = np.cross(normal, along)
    vertices.append(at + 150.0 * along)
    job = job_through([vertex.tolist() for vertex in vertices])
    found = bent_up(flat_planes(job.table), *side_of_first_bend(vertices))
    assert np.abs(found - np.asarray(vertices)).max() < 0.01


def shapes(drawing, layer, kind):
    return [e for e in drawing.entities if isinstance(e, kind) and e.layer is layer]


def test_both_edges_lie_a_radius_from_the_centre_line():
    job = job_through(RUNS["oblique"])
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=PAPERS["a4"])
        radii = sorted(arc.radius for arc in shapes(drawing, Layers.TUBE, Arc))
        count = len(plane.bends)
        # Half of 14 mm inside and outside 28 mm.
        assert radii == pytest.approx([21.0] * count + [35.0] * count)
        for line in shapes(drawing, Layers.TUBE, Line):
            nearest = min(
                distance_to_line(line.start, *straight)
                for straight in plane.straights
                if is_parallel(line, straight)
            )
            assert nearest == pytest.approx(7.0, abs=1e-9)


def distance_to_line(point, start, end):
    (x, y), (x1, y1), (x2, y2) = point, start, end
    cross = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)
    return abs(cross) / math.dist(start, end)


def is_parallel(line, straight):
    (ax, ay), (bx, by) = line.start, line.end
    (cx, cy), (dx, dy) = straight
    sine = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    return abs(sine) < 1e-6 * math.dist(line.start, line.end) * math.dist(*straight)


def test_tangent_points_and_centres_follow_the_radius():
    """Tangent length R tan(a/2), chord 2 R sin(a/2): plane trigonometry."""
    job = job_through(RUNS["oblique"])
    for plane in flat_planes(job.table):
        for bend in plane.bends:
            half = math.radians(bend.angle_deg) / 2.0
            tangent, chord = RADIUS * math.tan(half), 2.0 * RADIUS * math.sin(half)
            assert math.dist(bend.vertex, bend.start) == pytest.approx(tangent)
            assert math.dist(bend.vertex, bend.end) == pytest.approx(tangent)
            assert math.dist(bend.start, bend.end) == pytest.approx(chord)
            assert math.dist(bend.centre, bend.start) == pytest.approx(RADIUS)
            assert math.dist(bend.centre, bend.end) == pytest.approx(RADIUS)


@pytest.mark.parametrize(
    ("units", "says"),
    [
        ("mm", "bend radius 28.0 mm; former (dashed) 21.0 mm to its groove"),
        # 28 / 25.4 and 21 / 25.4
        ("in", "bend radius 1.102 in; former (dashed) 0.827 in to its groove"),
    ],
)
def test_the_former_at_the_foot_is_the_one_drawn(units, says):
    """The groove's bottom lies a tube radius within the centre line: 28 - 14 / 2."""
    job = job_through(RUNS["staircase"], units=units)
    for plane in flat_planes(job.table):
        assert says in foot_of(job, plane, belongs="plain set").lines[1]


def test_each_bend_has_its_former_its_tangent_lines_and_its_centre_mark():
    job = job_through(RUNS["staircase"])
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=PAPERS["a4"])
        centres = {bend.centre for bend in plane.bends}
        formers = shapes(drawing, Layers.FORMER, Arc)
        assert {arc.centre for arc in formers} == centres
        for arc in formers:
            # The groove's bottom carries the inside of the bend, 28 - 14 / 2.
            assert arc.radius == pytest.approx(21.0)
            assert arc.end_deg - arc.start_deg > 90.0
        marks = shapes(drawing, Layers.BEND_CENTRE, Circle)
        assert {circle.centre for circle in marks} == centres
        from_centres = [
            line
            for line in shapes(drawing, Layers.TANGENT, Line)
            if line.start in centres
        ]
        assert len(from_centres) == 2 * len(plane.bends)


def test_first_legs_lie_along_the_grid_through_the_first_vertex():
    job = job_through(RUNS["staircase"])
    for plane in flat_planes(job.table):
        assert plane.points[0][1] == 0.0
        assert plane.points[1] == (0.0, 0.0)
        drawing = template(job, plane, paper=PAPERS["a4"])
        lines = shapes(drawing, Layers.GRID, Line) + shapes(
            drawing, Layers.GRID_STRONG, Line
        )
        upright = sorted(
            line.start[0] for line in lines if line.start[0] == line.end[0]
        )
        assert 0.0 in upright
        assert np.diff(upright) == pytest.approx(5.0)


def test_inch_scenes_have_a_quarter_inch_grid():
    job = job_through(RUNS["one bend"], units="in")
    drawing = template(job, flat_planes(job.table)[0], paper=PAPERS["letter"])
    lines = shapes(drawing, Layers.GRID, Line) + shapes(
        drawing, Layers.GRID_STRONG, Line
    )
    level = sorted(line.start[1] for line in lines if line.start[1] == line.end[1])
    assert np.diff(level) == pytest.approx(6.35)  # 25.4 / 4, the inch by definition


def test_distances_are_written_from_vertex_to_vertex():
    job = job_through(RUNS["flat and back"])
    (plane,) = flat_planes(job.table)
    drawing = template(job, plane, paper=PAPERS["a4"])
    words = [text.text for text in shapes(drawing, Layers.NOTE, Text)]
    for says in ("60.0 mm", "90.0 mm", "140.0 mm"):
        assert says in words


def test_seat_mouth_and_trim_lie_where_the_fitting_says():
    job = job_through(RUNS["one bend"])
    (plane,) = flat_planes(job.table)
    first, last = outlets_in_plane(plane, job)
    assert first.seat == plane.points[0] == (-100.0, 0.0)
    assert last.seat == plane.points[-1]
    drawing = template(job, plane, paper=PAPERS["a4"])
    cuts = [line.start[0] for line in shapes(drawing, Layers.CUT, Line)]
    assert min(cuts) == pytest.approx(-100.0)
    across = {
        round(line.start[0], 6)
        for line in shapes(drawing, Layers.FITTING, Line)
        if abs(line.start[0] - line.end[0]) < 1e-9
    }
    # Mouth 12 mm along the tube from the seat, port face 20 mm back from the mouth.
    assert {-88.0, -108.0} <= across
    trims = [line.start[0] for line in shapes(drawing, Layers.TRIM, Line)]
    assert min(trims) == pytest.approx(-130.0)


def test_lines_at_a_tube_end_reach_beyond_what_they_are_drawn_over():
    """The port's axis beyond what is trimmed off, the cut beyond the fitting's sides."""
    job = job_through(RUNS["one bend"])
    (plane,) = flat_planes(job.table)
    drawing = template(job, plane, paper=PAPERS["a4"])
    (axis,) = (
        line
        for line in shapes(drawing, Layers.PORT_AXIS, Line)
        if line.start == pytest.approx((-100.0, 0.0))
    )
    assert axis.end[0] < -130.0
    assert axis.end[1] == pytest.approx(0.0)
    (cut,) = (
        line
        for line in shapes(drawing, Layers.CUT, Line)
        if line.start[0] == pytest.approx(-100.0)
    )
    assert {math.copysign(1.0, y) for _x, y in (cut.start, cut.end)} == {1.0, -1.0}
    # The fitting is 22 mm wide, the tube 14.
    assert all(abs(y) > 11.0 for _x, y in (cut.start, cut.end))


def test_the_white_under_a_tube_is_as_large_as_the_tube():
    """Straights of 72 and 62 mm, 14 mm wide, and a quarter of a ring of 21 and 35 mm.

    Drawn by chords of 3 degrees at most, which leave out less than a thousandth.
    """
    job = job_through(RUNS["one bend"])
    (plane,) = flat_planes(job.table)
    wanted = 14.0 * (72.0 + 62.0) + math.pi * (35.0**2 - 21.0**2) / 4.0
    areas = [
        abs(
            sum(
                x0 * y1 - x1 * y0
                for (x0, y0), (x1, y1) in zip(p, (*p[1:], p[0]), strict=True)
            )
        )
        for p in (
            shape.points for shape in body(plane, job) if isinstance(shape, Polygon)
        )
    ]
    assert sum(areas) / 2.0 == pytest.approx(wanted, rel=1e-3)


def test_mirror_image_is_the_same_tube_from_its_other_side():
    job = job_through(RUNS["oblique"])
    for plane in flat_planes(job.table):
        other = mirrored(plane)
        assert other.is_mirrored
        assert tuple((x, -y) for x, y in other.points) == plane.points
        assert mirrored(other) == plane
        assert "MIRROR" in " ".join(
            text.text
            for text in standalone(
                template(job, other, paper=PAPERS["a4"]),
                foot_of(job, other, belongs="mirrored set"),
            ).entities
            if isinstance(text, Text)
        )


def test_nothing_is_drawn_outside_the_box():
    job = job_through(RUNS["oblique"])
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=PAPERS["a4"])
        for arc in shapes(drawing, Layers.TUBE, Arc):
            for step in range(101):
                part = step / 100.0
                angle = math.radians(
                    arc.start_deg + part * (arc.end_deg - arc.start_deg)
                )
                x = arc.centre[0] + arc.radius * math.cos(angle)
                y = arc.centre[1] + arc.radius * math.sin(angle)
                assert drawing.low[0] < x < drawing.high[0]
                assert drawing.low[1] < y < drawing.high[1]
