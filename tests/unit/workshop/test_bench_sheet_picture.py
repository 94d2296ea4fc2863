"""The drawn view of a run in its case: true to its projection, honest about hiding."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest

from loopsolver.drafting.drawing import Line, Polyline, Text
from loopsolver.drafting.extent import box as extent_box
from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, Solid, signed_distance
from loopsolver.geometry.vectors import AXES, Array, point
from loopsolver.plan import Plan
from loopsolver.scene.axes import Axes, sides_of
from loopsolver.scene.model import Body, Component
from loopsolver.tube.centreline import Centreline
from loopsolver.workshop.case_picture import case_picture
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.projection import (
    CORNERS_DEG,
    is_hidden,
    isometric,
    painted_order,
    seen_faces,
)
from tests.unit.scene.case_in_frames import (
    AWAY,
    RIGHT_HANDED,
    WAYS,
    matrix,
)
from tests.unit.scene.case_in_frames import UP as UPWARDS

MakePlan = Callable[..., Plan]

UPRIGHT = sides_of(axes=None, up=(0.0, 0.0, 1.0))
VIEWS = [isometric(UPRIGHT, azimuth_deg=corner) for corner in CORNERS_DEG]


def random_boxes(seed: int, count: int) -> list[Solid]:
    rng = np.random.default_rng(seed)
    return [
        Box(
            frame=Frame.from_rotation(
                point(rng.uniform(20.0, 180.0, 3)),
                rotation_matrix(point(rng.uniform(0.0, 90.0, 3))),
            ),
            size=tuple(rng.uniform(10.0, 60.0, 3)),
        )
        for _ in range(count)
    ]


@pytest.mark.parametrize("up", list(AXES.values()))
def test_isometric_shortens_all_axes_equally(up: tuple[float, float, float]) -> None:
    # ISO 5456-3 isometric axonometry: every axis at sqrt(2/3) of its length.
    view = isometric(sides_of(axes=None, up=up), azimuth_deg=45.0)
    for axis in AXES.values():
        assert math.hypot(*view.place(axis)) == pytest.approx(math.sqrt(2 / 3))
    assert view.place(up) == pytest.approx((0.0, math.sqrt(2 / 3)))
    assert np.dot(view.towards, up) > 0.0  # from above


# Where ways of the case run on the paper for who walks round it and looks down on it.
# What points to the viewer runs down the paper, what points from them up; at the front
# left somebody has the front on the right hand and sees the right side beyond it.
WALK = {
    "front left": {"near": "down right", "right": "up right"},
    "front right": {"near": "down left", "right": "down right"},
    "rear left": {"away": "down left", "right": "up left"},
    "rear right": {"away": "down right", "right": "down left"},
}


@pytest.mark.parametrize("corner", CORNERS_DEG)
@pytest.mark.parametrize("axes", RIGHT_HANDED[::5], ids=" ".join)
def test_axes_are_named_as_they_point_from_where_the_picture_says_it_looks(
    make_plan: MakePlan,
    monkeypatch: pytest.MonkeyPatch,
    axes: Axes,
    corner: float,
) -> None:
    monkeypatch.setattr("loopsolver.workshop.case_picture.CORNERS_DEG", (corner,))
    plan = make_plan()
    up = tuple(matrix(axes)[:, UPWARDS].tolist())
    drawing = case_picture(
        replace(plan.scene, axes=axes, up=up),
        plan.runs[0].candidates[0].centreline,
        tags=("one", "two"),
        width=120.0,
        height=100.0,
    )
    at = drawing.entities.index
    lines = {
        text.text: drawing.entities[at(text) - 1]
        for text in drawing.entities
        if isinstance(text, Text) and text.text[:2] in {"x ", "y ", "z "}
    }
    assert sorted(lines) == [f"{a} {b}" for a, b in zip("xyz", axes, strict=True)]
    (said,) = (
        text.text.removeprefix("seen from the ")
        for text in drawing.entities
        if isinstance(text, Text) and text.text.startswith("seen from")
    )
    for name, line in lines.items():
        assert isinstance(line, Line)
        along = np.subtract(line.end, line.start)
        way, sign = WAYS[name[2:]]
        if way == UPWARDS:
            assert along * sign == pytest.approx((0.0, np.hypot(*along)))
            continue
        plain = "away" if "away" in WALK[said] else "near"
        told = WALK[said][plain if way == AWAY else "right"]
        sign *= -1 if (way == AWAY and plain == "near") else 1
        aside, height = along * sign
        assert ("right" in told) == (aside > 0.0)
        assert ("up" in told) == (height > 0.0)


def test_where_nothing_hides_the_tube_it_is_looked_at_from_the_front_left(
    make_plan: MakePlan,
) -> None:
    scene = replace(make_plan().scene, components=())
    line = Centreline(vertices=((60.0, 60.0, 60.0), (60.0, 60.0, 160.0)), radius=28.0)
    tags = ("one", "two")
    drawing = case_picture(scene, line, tags=tags, width=120.0, height=100.0)
    said = [entity.text for entity in drawing.entities if isinstance(entity, Text)]
    assert "seen from the front left" in said


def test_four_corners_are_four_different_views() -> None:
    for first, second in combinations(VIEWS, 2):
        assert np.dot(first.towards, second.towards) < 0.9


@pytest.mark.parametrize("seed", range(5))
def test_hidden_points_are_those_with_a_box_on_the_way(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    (solid,) = random_boxes(seed, 1)
    points = rng.uniform(0.0, 200.0, (120, 3))
    for view in VIEWS:
        steps = np.linspace(0.0, 400.0, 1601)[:, None] * np.asarray(view.towards)
        near = np.array(
            [signed_distance(solid, point + steps).min() for point in points]
        )
        found = is_hidden(solid, points, view) > 0.0
        sure = np.abs(near) > 0.2  # a quarter of a millimetre between the steps
        assert (found == (near < 0.0))[sure].all()
        assert sure.sum() > 100


def test_faces_turn_to_the_viewer_and_outline_the_box() -> None:
    (solid,) = random_boxes(3, 1)
    assert isinstance(solid, Box)
    for view in VIEWS:
        faces = seen_faces(solid, view)
        assert len(faces) == 3
        for face in faces:
            out = face.mean(axis=0) - np.asarray(solid.frame.origin)
            assert np.dot(out, view.towards) > 0.0
            across = np.cross(face[1] - face[0], face[2] - face[1])
            assert (
                np.linalg.norm(np.cross(across, out))
                < 1e-6 * np.linalg.norm(across) * 60.0
            )


def test_cylinder_outline_lies_on_it_and_reaches_as_far_as_it_does() -> None:
    cylinder = Cylinder(
        frame=axis_frame((50.0, 60.0, 70.0), (1.0, 2.0, 0.5)),
        diameter=30.0,
        height=80.0,
    )
    around = np.linspace(0.0, 2 * math.pi, 721)[:, None]
    x, y, z = (np.asarray(axis) for axis in cylinder.frame.axes)
    rims = [
        np.asarray(cylinder.frame.origin)
        + 15.0 * (np.cos(around) * x + np.sin(around) * y)
        + side * z
        for side in (-40.0, 40.0)
    ]
    for view in VIEWS:
        outline = seen_faces(cylinder, view)[0]
        assert np.abs(signed_distance(cylinder, outline)).max() < 1e-9
        for turn in np.linspace(0.0, math.pi, 13):
            way = np.array([math.cos(turn), math.sin(turn)])
            reach = (np.array(view.places(np.vstack(rims))) @ way).max()
            found = (np.array(view.places(outline)) @ way).max()
            assert found == pytest.approx(reach, abs=0.1)


def test_near_boxes_are_painted_after_those_they_cover() -> None:
    board = Box(frame=Frame(origin=(100.0, 100.0, 1.0)), size=(200.0, 200.0, 2.0))
    block = Box(frame=Frame(origin=(20.0, 20.0, 32.0)), size=(30.0, 30.0, 60.0))
    for (
        view
    ) in VIEWS:  # the block stands on the board, often further off than its middle
        assert painted_order([block, board], view) == (1, 0)
        assert painted_order([board, block], view) == (0, 1)
    assert painted_order([], VIEWS[0]) == ()


def tube_edges(plan: Plan) -> tuple[list[Array], float]:
    drawing = case_picture(
        plan.scene,
        plan.runs[0].candidates[0].centreline,
        tags=("first", "last"),
        width=110.0,
        height=100.0,
    )
    edges = [
        np.array(e.points)
        for e in drawing.entities
        if isinstance(e, Polyline) and e.layer is Layers.TUBE
    ]
    case = plan.scene.case_inner
    assert case is not None
    corners = np.array(
        [[x, y, z] for x in (0, case[0]) for y in (0, case[1]) for z in (0, case[2])]
    )
    flat = np.array(VIEWS[0].places(corners))
    scale = min(100.0 / np.ptp(flat[:, 0]), 90.0 / np.ptp(flat[:, 1]))
    return edges, scale


def test_tube_is_as_wide_as_its_diameter_at_the_picture_s_scale(
    make_plan: MakePlan,
) -> None:
    edges, scale = tube_edges(make_plan())
    assert edges
    for left, right in zip(edges[::2], edges[1::2], strict=True):
        wide = np.linalg.norm(left - right, axis=1)
        assert wide == pytest.approx(14.0 * scale, rel=1e-6)


def test_picture_stays_in_its_box_and_names_both_ends(make_plan: MakePlan) -> None:
    plan = make_plan()
    for run in plan.runs:
        line = run.candidates[0].centreline
        drawing = case_picture(
            plan.scene, line, tags=("one", "two"), width=90.0, height=70.0
        )
        for entity in drawing.entities:
            left, bottom, right, top = extent_box(entity)
            assert left >= -1e-6
            assert bottom >= -1e-6
            assert right <= 90.0 + 1e-6
            assert top <= 70.0 + 1e-6
        said = [e.text for e in drawing.entities if isinstance(e, Text)]
        bends = len(line.vertices) - 2
        assert said[:2] == ["one", "two"]
        assert said[2 : 2 + bends] == [str(n) for n in range(1, bends + 1)]
        *axes, seen_from = said[2 + bends :]
        assert axes == ["x right", "y away", "z up"]
        assert seen_from.startswith("seen from the ")


def test_what_a_body_hides_is_dashed(make_plan: MakePlan) -> None:
    plan = make_plan()
    line = plan.runs[0].candidates[0].centreline
    lid = Body(
        name="lid/body 1",
        solid=Box(frame=Frame(origin=(100.0, 160.0, 290.0)), size=(900.0, 900.0, 4.0)),
    )

    def strong_and_dashed(*bodies: Body) -> tuple[float, int]:
        part = Component(name="part", bodies=bodies, ports=())
        scene = replace(plan.scene, components=(part,))
        tags = ("one", "two")
        drawn = case_picture(scene, line, tags=tags, width=110.0, height=100.0).entities
        strong = sum(
            math.dist(a, b)
            for e in drawn
            if isinstance(e, Polyline) and e.layer is Layers.TUBE
            for a, b in pairwise(e.points)
        )
        return strong, sum(
            isinstance(e, Line) and e.layer is Layers.CASE for e in drawn
        )

    open_strong, open_lines = strong_and_dashed()
    assert open_strong > 100.0
    assert open_lines == 12 - 3  # the case's edges but those next to the viewer
    covered_strong, covered_lines = strong_and_dashed(lid)
    assert covered_strong == 0.0  # a lid far wider than the case hides all from above
    assert covered_lines > 9 + 20
