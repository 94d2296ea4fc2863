"""Rays through spots of a picture, and what they meet: cameras and hits set by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder, HalfSpace
from loopsolver.view.sight import NEARLY, Sight, depth_of, meeting, sight_at
from tests.builders.scenes import box

SIZE = (400, 200)


def pinhole(*, near: float, far: float, slope: float) -> np.ndarray:
    """An eye at the origin that looks along -z, up is y: the usual matrix, in shares.

    From the definition of a pinhole camera: what is at (x, y, -d) is seen at x / d and
    y / d; `slope` is y / d at the upper rim; depth goes from -1 to 1, as in OpenGL.
    """
    aspect = SIZE[0] / SIZE[1]
    matrix = np.zeros((4, 4))
    matrix[0, 0], matrix[1, 1] = 1.0 / (slope * aspect), 1.0 / slope
    matrix[2, 2] = -(far + near) / (far - near)
    matrix[2, 3] = -2.0 * far * near / (far - near)
    matrix[3, 2] = -1.0
    matrix[:2] = (matrix[:2] + matrix[3]) / 2.0  # from -1 .. 1 to shares
    return matrix


def test_a_ray_goes_through_the_spot_from_the_near_plane_on() -> None:
    eye = pinhole(near=10.0, far=1000.0, slope=0.5)
    middle = sight_at((200.0, 100.0), projection=eye, size=SIZE)
    assert middle.start == pytest.approx((0.0, 0.0, -10.0))
    assert middle.along == pytest.approx((0.0, 0.0, -1.0))
    assert (middle.near, middle.far) == pytest.approx((0.0, 990.0))
    # A pixel is a 200th of the height, which is 10 mm at 10 mm and 100 mm at 100 mm.
    assert middle.pixel == pytest.approx(10.0 / 200.0)
    assert middle.pixel + 90.0 * middle.widening == pytest.approx(100.0 / 200.0)
    # The upper right corner looks 1 to the right and 0.5 up for each mm of depth.
    corner = sight_at(SIZE, projection=eye, size=SIZE)
    length = math.sqrt(1.0 + 0.25 + 1.0)
    assert corner.along == pytest.approx((1 / length, 0.5 / length, -1 / length))


def test_without_perspective_a_pixel_is_everywhere_as_large() -> None:
    """Shares of 400 mm by 200 mm seen along -z, depths 0 to 100."""
    flat = np.diag([1 / 400.0, 1 / 200.0, -2 / 100.0, 1.0])
    flat[2, 3] = -1.0
    sight = sight_at((30.0, 70.0), projection=flat, size=SIZE)
    assert sight.start == pytest.approx((30.0, 70.0, 0.0))
    assert sight.along == pytest.approx((0.0, 0.0, -1.0))
    assert (sight.pixel, sight.widening) == pytest.approx((1.0, 0.0))


def ray(x: float, y: float, *, near: float = 0.0, far: float = 500.0) -> Sight:
    """A ray along +z through x, y; a pixel is 1 mm."""
    return Sight(
        start=(x, y, 0.0),
        along=(0.0, 0.0, 1.0),
        near=near,
        far=far,
        pixel=1.0,
        widening=0.0,
    )


POINTS = np.array([(0.0, 0.0, 300.0), (3.0, 0.0, 100.0), (60.0, 0.0, 50.0)])


def test_of_what_a_ray_meets_the_nearest_to_the_eye_is_meant() -> None:
    met = meeting(ray(0.0, 0.0), POINTS, radius=5.0)
    assert met is not None
    assert (met.place, met.is_beside) == (1, False)
    assert met.depth == pytest.approx(100.0)
    # Behind where what is shown begins it is not seen.
    behind = meeting(ray(0.0, 0.0, near=150.0), POINTS, radius=5.0)
    assert behind is not None
    assert behind.place == 0
    assert meeting(ray(0.0, 0.0, far=90.0), POINTS, radius=5.0) is None


def test_a_click_a_little_beside_a_thing_means_it_and_one_further_off_does_not() -> (
    None
):
    met = meeting(ray(60.0, 5.0 + NEARLY - 0.1), POINTS, radius=5.0)
    assert met is not None
    assert (met.place, met.is_beside) == (2, True)
    assert meeting(ray(60.0, 5.0 + NEARLY + 0.1), POINTS, radius=5.0) is None
    assert meeting(ray(0.0, 0.0), np.empty((0, 3)), radius=5.0) is None


def test_what_is_met_goes_before_what_is_only_nearly_met_though_nearer() -> None:
    far = meeting(ray(0.0, 0.0), POINTS[:1], radius=2.0)
    near = meeting(ray(0.0, 0.0), POINTS[1:2], radius=2.0)
    assert far is not None
    assert near is not None
    assert far < near


def test_surfaces_are_met_where_they_are() -> None:
    """A box from z = 40 on; a cylinder of 20 mm about x at z = 100; a wall at z = 400."""
    (solid,) = (box("b", (-10.0, -10.0, 40.0), (10.0, 10.0, 60.0)).solid,)
    assert depth_of(ray(0.0, 0.0), solid) == pytest.approx(40.0, abs=0.02)
    assert depth_of(ray(0.0, 10.5), solid) is None
    across = Cylinder(
        frame=axis_frame((0.0, 0.0, 100.0), (1.0, 0.0, 0.0)), diameter=20.0, height=80.0
    )
    # 6 mm off its axis it is met 8 mm before it: 6, 8, 10.
    assert depth_of(ray(0.0, 6.0), across) == pytest.approx(92.0, abs=0.02)
    assert depth_of(ray(0.0, 6.0, near=95.0), across) == pytest.approx(95.0)
    wall = HalfSpace(point=(0.0, 0.0, 400.0), normal=(0.0, 0.0, -1.0))
    assert depth_of(ray(7.0, 7.0), wall) == pytest.approx(400.0, abs=0.02)
    assert depth_of(ray(7.0, 7.0, far=399.0), wall) is None
