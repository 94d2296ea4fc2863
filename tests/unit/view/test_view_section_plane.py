"""The plane that cuts the build open: where it is, what it leaves, what it cuts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.tube.centreline import Centreline
from loopsolver.view import cut_open, palette
from loopsolver.view.section_plane import SectionPlane, cut_sight, moved, next_plane
from loopsolver.view.sight import Sight
from tests.builders import demo_build

ROOM = ((0.0, 0.0, 0.0), (200.0, 440.0, 410.0))


def test_a_key_leads_across_x_y_and_z_and_out_again_the_eye_s_side_cut_away() -> None:
    plane, seen = None, []
    for _ in range(4):
        plane = next_plane(plane, room=ROOM, towards_eye=(0.5, -0.7, 0.5))
        seen.append(None if plane is None else (plane.axis, plane.at, plane.keeps))
    assert seen == [(0, 100.0, -1), (1, 220.0, 1), (2, 205.0, -1), None]


def test_it_moves_within_the_case() -> None:
    plane = SectionPlane(axis=0, at=198.0, keeps=-1)
    assert moved(plane, by=5.0, room=ROOM).at == 200.0
    assert moved(plane, by=-500.0, room=ROOM).at == 0.0
    assert moved(plane, by=-5.0, room=ROOM).at == 193.0


def test_what_is_shown_is_on_one_side() -> None:
    points = np.array([(99.0, 0, 0), (100.0, 5, 5), (101.0, 9, 9)])
    less = SectionPlane(axis=0, at=100.0, keeps=-1)
    assert less.is_shown(points).tolist() == [True, True, False]
    more = SectionPlane(axis=0, at=100.0, keeps=1)
    assert more.is_shown(points).tolist() == [False, True, True]
    assert (less.normal, more.normal) == ((-1.0, 0.0, 0.0), (1.0, 0.0, 0.0))


@pytest.mark.parametrize(
    ("keeps", "along", "reach"),
    [
        (1, (0.0, 1.0, 0.0), (150.0, 400.0)),  # begins at the plane, 150 further on
        (-1, (0.0, 1.0, 0.0), (0.0, 150.0)),  # ends there
        (-1, (0.6, 0.8, 0.0), (0.0, 187.5)),  # 150 / 0.8
        (1, (1.0, 0.0, 0.0), (0.0, -1.0)),  # all of it lies in what is cut away
        (-1, (1.0, 0.0, 0.0), (0.0, 400.0)),
    ],
)
def test_a_ray_is_followed_through_what_is_shown(keeps, along, reach) -> None:
    sight = Sight(
        start=(0.0, 50.0, 0.0),
        along=along,
        near=0.0,
        far=400.0,
        pixel=1.0,
        widening=0.0,
    )
    cut = cut_sight(sight, SectionPlane(axis=1, at=200.0, keeps=keeps))
    assert (cut.near, cut.far) == pytest.approx(reach)
    assert cut_sight(sight, None) is sight


def test_a_cut_through_a_cylinder_is_drawn_where_it_is_cut() -> None:
    """A cylinder of 20 mm along z, cut 6 mm off its axis: 16 mm wide there."""
    solid = Cylinder(
        frame=axis_frame((100.0, 200.0, 100.0), (0.0, 0.0, 1.0)),
        diameter=20.0,
        height=50.0,
    )
    plane = SectionPlane(axis=0, at=106.0, keeps=-1)
    *_, edges = cut_open.plane_drawings(plane, [solid], room=ROOM)
    low, high = np.array(edges.mesh.bounds).reshape(3, 2).T
    assert (low[0], high[0]) == pytest.approx((106.0, 106.0), abs=1e-3)
    assert high[1] - low[1] == pytest.approx(16.0, abs=0.1)
    assert high[2] - low[2] == pytest.approx(50.0, abs=1e-3)


UPRIGHT = Centreline(vertices=((50.0, 60.0, 0.0), (50.0, 60.0, 100.0)), radius=28.0)
COLLAR = Cylinder(
    frame=axis_frame((50.0, 60.0, 10.0), (0.0, 0.0, 1.0)), diameter=22.0, height=20.0
)


def areas(plane) -> dict[palette.Colour, float]:
    """The cut faces of a tube of 14 mm with a bore of 10, and of its collar."""
    drawn = cut_open.cut_faces(plane, [UPRIGHT], [COLLAR], tube=demo_build.scene().tube)
    for one in drawn:
        places = np.array(one.mesh.points)[:, plane.axis]
        assert np.ptp(places) < 1e-6
        assert abs(places[0] - plane.at) < 0.2
    return {one.look.colour: float(one.mesh.area) for one in drawn}


def test_a_tube_cut_across_shows_its_wall_round_its_bore() -> None:
    """Circles of 7, 5 and 11 mm; 48 corners take 0.3 % off."""
    wall, whole, collar = (math.pi * n for n in (7.0**2 - 5.0**2, 7.0**2, 11.0**2))
    above = areas(SectionPlane(axis=2, at=60.0, keeps=-1))
    assert above == pytest.approx(
        {palette.TUBE_END: whole, palette.CUT: wall}, rel=0.005
    )
    at_the_collar = areas(SectionPlane(axis=2, at=10.0, keeps=1))
    assert at_the_collar[palette.FITTING] == pytest.approx(collar, rel=0.005)


def test_a_tube_cut_along_shows_two_strips_of_wall() -> None:
    """Through its axis: 2 mm on either side of 10 mm of bore, over 100 mm."""
    along = areas(SectionPlane(axis=0, at=50.0, keeps=1))
    assert along[palette.CUT] == pytest.approx(2 * 2.0 * 100.0, rel=0.005)
    assert along[palette.TUBE_END] == pytest.approx(14.0 * 100.0, rel=0.005)
    assert along[palette.FITTING] == pytest.approx(22.0 * 20.0, rel=0.005)


@pytest.mark.parametrize("at", [30.0, 70.0])
def test_a_plane_beside_the_tube_cuts_nothing(at) -> None:
    assert areas(SectionPlane(axis=0, at=at, keeps=1)) == {}
