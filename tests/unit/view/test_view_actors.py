"""What is drawn, measured on the meshes: places and sizes worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import pyvista as pv

from loopsolver.scene.model import Port, Scene
from loopsolver.tube.centreline import Centreline
from loopsolver.view import palette
from loopsolver.view.actors import (
    OTHER_TUBE,
    SHOWN_TUBE,
    Look,
    StyledMesh,
    case_outline,
    datum_arrow_length,
    datum_arrows,
    datum_points,
    fitting_drawings,
    floor,
    floor_axis,
    joined,
    port_arrow,
    port_rim,
    tube_drawings,
    wanted_line,
)
from loopsolver.view.ends import run_ends
from tests.builders import demo_build
from tests.builders.short_runs import scene_of

RED, GREEN = Look(colour=(255, 0, 0)), Look(colour=(0, 255, 0))


def scene(**changes: object) -> Scene:
    """Return a scene with a case of 320 x 220 x 130 mm."""
    given = {"case_inner": (320.0, 220.0, 130.0), **changes}
    return replace(scene_of(), **given)  # type: ignore[arg-type]


def low_high(mesh: pv.PolyData) -> tuple[list[float], list[float]]:
    low, high = np.array(mesh.bounds).reshape(3, 2).T
    return low.tolist(), high.tolist()


def test_things_of_one_look_are_one_thing_and_nothing_is_left_out() -> None:
    boxes = [pv.Box((x, x + 1, 0, 1, 0, 1)) for x in (0, 5, 9)]
    drawings = [
        StyledMesh(mesh=boxes[0], look=RED),
        StyledMesh(mesh=boxes[1], look=GREEN),
        StyledMesh(mesh=pv.PolyData(), look=Look(colour=(1, 1, 1))),
        StyledMesh(mesh=boxes[2], look=RED),
    ]
    red, green = joined(drawings)
    assert (red.look, green.look) == (RED, GREEN)
    assert (red.mesh.n_cells, green.mesh.n_cells) == (12, 6)
    assert low_high(red.mesh) == ([0, 0, 0], [10, 1, 1])
    assert low_high(green.mesh) == ([5, 0, 0], [6, 1, 1])


def test_a_look_is_that_of_a_solid_dull_thing_unless_it_says_otherwise() -> None:
    assert (RED.kind, RED.opacity, RED.line_width, RED.shine) == ("surface", 1, 1, 0)


def test_the_outline_is_the_inside_of_the_case() -> None:
    drawn = case_outline(scene())
    assert (drawn.look.kind, drawn.look.colour) == ("lines", palette.CASE)
    assert 1.0 < drawn.look.line_width < 2.0
    assert drawn.mesh.n_cells == 12
    assert low_high(drawn.mesh) == ([0, 0, 0], [320, 220, 130])


@pytest.mark.parametrize(
    ("up", "wanted"),
    [
        ((0.0, 0.0, 1.0), (2, 1)),
        ((0.0, -1.0, 0.0), (1, -1)),
        ((1.0, 0.0, 0.0), (0, 1)),
        ((-0.8, 0.6, 0.0), (0, -1)),
    ],
)
def test_the_floor_is_square_to_the_axis_nearest_to_up(up, wanted) -> None:
    assert floor_axis(up) == wanted


@pytest.mark.parametrize(
    ("up", "axis", "level"),
    [
        ((0.0, 0.0, 1.0), 2, 0.0),
        ((0.0, 0.0, -1.0), 2, 130.0),
        ((0.0, 1.0, 0.0), 1, 0.0),
        ((-1.0, 0.0, 0.0), 0, 320.0),
    ],
)
def test_the_floor_is_the_lowest_wall_with_lines_every_50_mm(
    up: tuple[float, float, float], axis: int, level: float
) -> None:
    face, lines = floor(scene(up=up))
    inner = [320.0, 220.0, 130.0]
    low, high = [0.0] * 3, list(inner)
    low[axis] = high[axis] = level
    assert low_high(face.mesh) == (low, high)
    assert face.mesh.n_cells == 1
    normals = np.asarray(face.mesh.point_data.active_normals)
    assert normals == pytest.approx(np.tile(np.sign(up), (4, 1)))
    assert face.look.colour == palette.FLOOR
    assert 0.0 < face.look.opacity < 1.0
    assert (lines.look.kind, lines.look.colour) == ("lines", palette.FLOOR_GRID)
    ends = np.asarray(lines.mesh.points, float).reshape(-1, 2, 3)
    found = {tuple(map(tuple, one)) for one in ends.tolist()}
    wanted = set()
    for along in {0, 1, 2} - {axis}:
        (across,) = {0, 1, 2} - {axis, along}
        for place in np.arange(50.0, inner[across], 50.0):
            start = [0.0, 0.0, 0.0]
            start[axis], start[across] = level, float(place)
            end = list(start)
            end[along] = inner[along]
            wanted.add((tuple(start), tuple(end)))
    assert found == wanted
    assert len(ends) == len(wanted)


def test_datum_arrows_are_16_hundredths_of_the_least_side_long() -> None:
    """0.16 x 130 mm = 20.8 mm; heads are 1.25 shafts of 2.2 mm to either side."""
    assert datum_arrow_length(scene()) == pytest.approx(20.8)
    drawn = datum_arrows(scene())
    low, high = low_high(drawn.mesh)
    assert high == pytest.approx([20.8] * 3, abs=1e-4)
    assert low == pytest.approx([-2.75] * 3, abs=0.05)
    assert drawn.look.colour == palette.DATUM
    spots = datum_points(scene())
    assert spots.shape == (18, 3)
    for axis in range(3):
        mine = spots[6 * axis : 6 * axis + 6]
        assert mine[:, axis] == pytest.approx(np.linspace(4.16, 20.8, 6))
        assert np.delete(mine, axis, axis=1) == pytest.approx(0.0)


def port_at(direction: tuple[float, float, float]) -> Port:
    port = scene().components[0].ports[0]
    return replace(port, position=(50.0, 60.0, 70.0), direction=direction)


def test_the_rim_of_a_port_lies_a_little_off_its_face() -> None:
    """1.2 mm thick about a place 1 mm out; 1.25 x 16 mm = 20 mm across."""
    low, high = low_high(port_rim(port_at((0.0, -1.0, 0.0)), tube_diameter=16.0).mesh)
    assert (low[1], high[1]) == pytest.approx((60.0 - 1.6, 60.0 - 0.4))
    assert (low[0], high[0]) == pytest.approx((40.0, 60.0), abs=0.05)
    assert (low[2], high[2]) == pytest.approx((60.0, 80.0), abs=0.05)


def test_the_arrow_of_a_port_points_out_of_it() -> None:
    """2.2 x 10 mm long; the shaft is 3.6 mm thick, its head 1.25 of that to a side."""
    drawn = port_arrow((0.0, 0.0, -1.0), (50.0, 60.0, 70.0), tube_diameter=10.0)
    low, high = low_high(drawn.mesh)
    assert (low[2], high[2]) == pytest.approx((48.0, 70.0), abs=1e-4)
    assert (low[0], high[0]) == pytest.approx((45.5, 54.5), abs=0.1)
    assert drawn.look.colour == palette.PORT
    assert 0.0 <= drawn.look.shine <= 1.0


def test_a_fitting_has_a_lip_round_its_mouth() -> None:
    plan = demo_build.plan()
    (start,), _goal = run_ends(plan.scene, plan.runs[0], plan.runs[0].chosen_candidate)
    body, lip = fitting_drawings(start)
    assert {body.look, lip.look} == {Look(colour=palette.FITTING, shine=0.35)}
    (solid,) = start.fitting
    radius = solid.diameter / 2.0  # type: ignore[union-attr]
    away = np.asarray(lip.mesh.points, float) - start.mouth
    along = away @ np.asarray(start.outlet)
    # A wire 1.6 mm thick, its outside flush with the fitting's.
    assert np.abs(along).max() == pytest.approx(0.8, abs=0.01)
    across = np.linalg.norm(away - np.outer(along, start.outlet), axis=1)
    assert (across.min(), across.max()) == pytest.approx(
        (radius - 1.6, radius), abs=0.01
    )
    assert fitting_drawings(replace(start, bodies=())) == ()


@pytest.mark.parametrize(("length", "dashes"), [(120.0, 10), (5.0, 1), (31.0, 3)])
def test_what_is_wanted_is_a_dashed_line(length: float, dashes: int) -> None:
    """A dash every 12 mm or so, 0.55 of that long."""
    drawn = wanted_line((10.0, 20.0, 30.0), (10.0, 20.0 + length, 30.0))
    ends = np.asarray(drawn.mesh.points, float).reshape(-1, 2, 3)
    pitch = length / dashes
    starts = 20.0 + pitch * np.arange(dashes)
    assert ends[:, 0, 1] == pytest.approx(starts, abs=1e-4)
    assert ends[:, 1, 1] == pytest.approx(starts + 0.55 * pitch, abs=1e-4)
    assert ends[:, :, 0] == pytest.approx(10.0)
    assert ends[:, :, 2] == pytest.approx(30.0)
    assert (drawn.look.kind, drawn.look.colour) == ("lines", palette.WANTED)
    assert 1.0 < drawn.look.line_width < 3.0


LINE = Centreline(
    vertices=((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 80.0, 0.0)), radius=28.0
)


def test_a_tube_is_its_straights_its_bends_and_its_ends() -> None:
    """Straights of 72 and 52 mm, a bend between, and two flat ends; 7 mm of radius."""
    straights, bends, ends = tube_drawings(LINE, radius=7.0, colours=SHOWN_TUBE)
    assert straights.look == Look(colour=palette.STRAIGHT, shine=0.4)
    assert bends.look == Look(colour=palette.BEND, shine=0.4)
    assert ends.look == Look(colour=palette.TUBE_END, shine=0.4)
    low, high = low_high(bends.mesh)
    assert (low[0], high[1]) == pytest.approx((72.0, 28.0), abs=0.01)
    points = np.asarray(straights.mesh.points, float)
    assert not ((points[:, 0] > 72.01) & (points[:, 1] < 27.99)).any()
    points = np.asarray(ends.mesh.points, float)
    first, last = points[np.abs(points[:, 0]) < 1e-4], points[points[:, 1] > 79.9]
    assert len(first) == len(last) == len(points) / 2
    normals = np.asarray(ends.mesh.point_data.active_normals, float)
    assert {tuple(one) for one in np.round(normals, 6) + 0.0} == {(-1, 0, 0), (0, 1, 0)}


def test_a_straight_tube_has_no_bends_and_a_pale_one_other_colours() -> None:
    line = Centreline(vertices=((0.0, 0.0, 0.0), (100.0, 0.0, 0.0)), radius=28.0)
    straight, ends = tube_drawings(line, radius=7.0, colours=OTHER_TUBE)
    assert straight.look.colour == palette.OTHER_STRAIGHT
    assert ends.look.colour == palette.TUBE_END
    _straights, bends, _ends = tube_drawings(LINE, radius=7.0, colours=OTHER_TUBE)
    assert bends.look.colour == palette.OTHER_BEND


def test_bends_that_follow_each_other_at_once_leave_no_straight_between() -> None:
    """A hoop of two quarters with 56 mm between their corners: 2 x 28 mm of radius."""
    hoop = Centreline(
        vertices=((0, 0, 0), (100, 0, 0), (100, 56, 0), (0, 56, 0)), radius=28.0
    )
    straights, *_rest = tube_drawings(hoop, radius=7.0, colours=SHOWN_TUBE)
    points = np.asarray(straights.mesh.points, float)
    assert points[:, 0].max() == pytest.approx(72.0)
