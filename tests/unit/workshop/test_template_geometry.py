"""Templates hold the tube: bent back up they give the vertices in the case again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.scene.model import Fitting
from loopsolver.tube.bend_table import Bend, BendTable, bend_table, lay_forward
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Tube
from loopsolver.workshop.drawing import Arc, Circle, Layer, Line, Text
from loopsolver.workshop.flat import flat_planes, mirrored
from loopsolver.workshop.job import End, Job
from loopsolver.workshop.lettering import text_width
from loopsolver.workshop.paging import PAPERS
from loopsolver.workshop.template import (
    heights_before,
    standalone,
    template,
    words_before,
)
from loopsolver.workshop.tube_shapes import outlets

RADIUS = 28.0
COLLAR = Fitting(name="collar", height=20, depth=12, diameter=22, straight_beyond=5)
TUBE = Tube(
    material="acrylic",
    outer_diameter=14.0,
    inner_diameter=10.0,
    bend_radii=(RADIUS,),
    stock_length=500.0,
    trim_allowance=30.0,
)


def job_through(vertices, *, units="mm", name="pump to card", title="Moss"):
    line = Centreline(
        vertices=tuple(tuple(map(float, v)) for v in vertices), radius=RADIUS
    )
    return Job(
        title=title,
        name=name,
        units=units,
        tube=TUBE,
        trim_allowance=30.0,
        centreline=line,
        table=bend_table(line),
        first=End(port="pump.out", fitting=COLLAR),
        last=End(port="card.in", fitting=COLLAR),
    )


RUNS = {
    "straight": ((0, 0, 0), (300, 0, 0)),
    "one bend": ((0, 0, 0), (100, 0, 0), (100, 90, 0)),
    "flat and back": ((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0)),
    "staircase": ((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0), (90, -200, 120)),
    "oblique": (
        (0, 0, 0),
        (80, 0, 0),
        (130, 50, 0),
        (130, 50, 100),
        (130, 150, 100),
        (230, 150, 100),
        (230, -250, 100),
    ),
}


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
    job = job_through(vertices)
    found = bent_up(flat_planes(job.table), *side_of_first_bend(vertices))
    assert np.abs(found - np.asarray(vertices)).max() < 0.01


def shapes(drawing, layer, kind):
    return [e for e in drawing.entities if isinstance(e, kind) and e.layer is layer]


def test_both_edges_lie_a_radius_from_the_centre_line():
    job = job_through(RUNS["oblique"])
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=PAPERS["a4"])
        radii = sorted(arc.radius for arc in shapes(drawing, Layer.TUBE, Arc))
        count = len(plane.bends)
        # Half of 14 mm inside and outside 28 mm.
        assert radii == pytest.approx([21.0] * count + [35.0] * count)
        for line in shapes(drawing, Layer.TUBE, Line):
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


def test_each_bend_has_its_former_its_tangent_lines_and_its_centre_mark():
    job = job_through(RUNS["staircase"])
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=PAPERS["a4"])
        centres = {bend.centre for bend in plane.bends}
        formers = shapes(drawing, Layer.FORMER, Arc)
        assert {arc.centre for arc in formers} == centres
        for arc in formers:
            # The groove's bottom carries the inside of the bend, 28 - 14 / 2.
            assert arc.radius == pytest.approx(21.0)
            assert arc.end_deg - arc.start_deg > 90.0
        marks = shapes(drawing, Layer.BEND_CENTRE, Circle)
        assert {circle.centre for circle in marks} == centres
        from_centres = [
            line
            for line in shapes(drawing, Layer.TANGENT, Line)
            if line.start in centres
        ]
        assert len(from_centres) == 2 * len(plane.bends)


def test_first_legs_lie_along_the_grid_through_the_first_vertex():
    job = job_through(RUNS["staircase"])
    for plane in flat_planes(job.table):
        assert plane.points[0][1] == 0.0
        assert plane.points[1] == (0.0, 0.0)
        drawing = template(job, plane, paper=PAPERS["a4"])
        lines = shapes(drawing, Layer.GRID, Line) + shapes(
            drawing, Layer.GRID_STRONG, Line
        )
        upright = sorted(
            line.start[0] for line in lines if line.start[0] == line.end[0]
        )
        assert 0.0 in upright
        assert np.diff(upright) == pytest.approx(5.0)


def test_inch_scenes_have_a_quarter_inch_grid():
    job = job_through(RUNS["one bend"], units="in")
    drawing = template(job, flat_planes(job.table)[0], paper=PAPERS["letter"])
    lines = shapes(drawing, Layer.GRID, Line) + shapes(drawing, Layer.GRID_STRONG, Line)
    level = sorted(line.start[1] for line in lines if line.start[1] == line.end[1])
    assert np.diff(level) == pytest.approx(6.35)  # 25.4 / 4, the inch by definition


def test_distances_are_written_from_vertex_to_vertex():
    job = job_through(RUNS["flat and back"])
    (plane,) = flat_planes(job.table)
    drawing = template(job, plane, paper=PAPERS["a4"])
    words = [text.text for text in shapes(drawing, Layer.NOTE, Text)]
    for says in ("60.0 mm", "90.0 mm", "140.0 mm"):
        assert says in words


def test_seat_mouth_and_trim_lie_where_the_fitting_says():
    job = job_through(RUNS["one bend"])
    (plane,) = flat_planes(job.table)
    first, last = outlets(plane, job)
    assert first.seat == plane.points[0] == (-100.0, 0.0)
    assert last.seat == plane.points[-1]
    drawing = template(job, plane, paper=PAPERS["a4"])
    cuts = [line.start[0] for line in shapes(drawing, Layer.CUT, Line)]
    assert min(cuts) == pytest.approx(-100.0)
    across = {
        round(line.start[0], 6)
        for line in shapes(drawing, Layer.FITTING, Line)
        if abs(line.start[0] - line.end[0]) < 1e-9
    }
    # Mouth 12 mm along the tube from the seat, port face 20 mm back from the mouth.
    assert {-88.0, -108.0} <= across
    trims = [line.start[0] for line in shapes(drawing, Layer.TRIM, Line)]
    assert min(trims) == pytest.approx(-130.0)


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
                job, other, template(job, other, paper=PAPERS["a4"])
            ).entities
            if isinstance(text, Text)
        )


def test_what_was_bent_before_stands_up_or_hangs_down():
    """Bend 3 of the staircase turns up; seen from there bend 1 and 2 lie below."""
    vertices = np.asarray(RUNS["staircase"], float)
    job = job_through(vertices)
    plane = flat_planes(job.table)[1]
    # The sheet of bend 3 holds -y (the shared leg) and +z (where bend 3 turns to).
    # Bend 2 turned right on its sheet, so bend 3 does on this one: right of -y on the
    # sheet is +z, which makes up, being travel x left, (-y) x (-z) = +x.
    up = np.cross([0.0, -1.0, 0.0], [0.0, 0.0, -1.0])
    wanted = [(v - vertices[3]) @ up for v in vertices[:3]]
    assert plane.bends[0].side == -1
    assert heights_before(job, plane) == pytest.approx(wanted)
    assert min(wanted) == -90.0
    (says,) = words_before(job, plane)
    assert "hangs below" in says
    assert "with --mirror" in says
    (says,) = words_before(job, mirrored(plane))
    assert "stands up" in says


def test_nothing_is_drawn_outside_the_box():
    job = job_through(RUNS["oblique"])
    for plane in flat_planes(job.table):
        drawing = template(job, plane, paper=PAPERS["a4"])
        for arc in shapes(drawing, Layer.TUBE, Arc):
            for step in range(101):
                part = step / 100.0
                angle = math.radians(
                    arc.start_deg + part * (arc.end_deg - arc.start_deg)
                )
                x = arc.centre[0] + arc.radius * math.cos(angle)
                y = arc.centre[1] + arc.radius * math.sin(angle)
                assert drawing.low[0] < x < drawing.high[0]
                assert drawing.low[1] < y < drawing.high[1]


def text_boxes(drawing):
    from loopsolver.workshop.extent import box

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
    table = BendTable(
        bends=tuple(
            Bend(
                straight=straight + (12.0 if number == 0 else 0.0),
                rotation_deg=turn if number else 0.0,
                angle_deg=angle,
            )
            for number, (straight, angle, turn) in enumerate(bends)
        ),
        closing_straight=closing,
        radius=RADIUS,
    )
    line = lay_forward(
        table,
        start=(0.0, 0.0, 0.0),
        direction=(1.0, 0.0, 0.0),
        first_bend_towards=(0.0, 1.0, 0.0),
    )
    job = job_through(line.vertices)
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
