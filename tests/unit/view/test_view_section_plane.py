"""The plane that cuts the build open: where it is, what it leaves, what it cuts."""

from __future__ import annotations

import numpy as np
import pytest

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.view import section_plane
from loopsolver.view.section_plane import SectionPlane, cut_sight, moved, next_plane
from loopsolver.view.sight import Sight

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
    *_, edges = section_plane.plane_drawings(plane, [solid], room=ROOM)
    low, high = np.array(edges.mesh.bounds).reshape(3, 2).T
    assert (low[0], high[0]) == pytest.approx((106.0, 106.0), abs=1e-3)
    assert high[1] - low[1] == pytest.approx(16.0, abs=0.1)
    assert high[2] - low[2] == pytest.approx(50.0, abs=1e-3)
