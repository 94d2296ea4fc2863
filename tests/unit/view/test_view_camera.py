"""Views: everything in the picture, the tubes seen, up is up."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.geometry.frames import Frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, signed_distance
from loopsolver.geometry.vectors import AXES, point
from loopsolver.scene.axes import sides_of
from loopsolver.view import camera
from tests.unit.scene.case_in_frames import (
    AWAY,
    RIGHT_HANDED,
    UP,
    WAYS,
    matrix,
    seen_way,
)

UPRIGHT = sides_of(axes=None, up=(0.0, 0.0, 1.0))

coordinates = st.floats(-500.0, 500.0)
clouds = st.lists(st.tuples(*[coordinates] * 3), min_size=2, max_size=12, unique=True)


def pinhole(points, eye, frame, *, aspect):
    """Return where points fall on the picture, -1 to 1 both ways: a plain pinhole."""
    towards = np.asarray(eye.towards_eye)
    place = np.asarray(frame.focus) + frame.distance * towards
    up = np.asarray(eye.up)
    right = np.cross(up, towards)
    rays = points - place
    depth = -(rays @ towards)
    assert (depth > 0).all()
    scale = math.tan(math.radians(camera.VIEW_ANGLE_DEG) / 2.0)
    return np.column_stack([rays @ right / aspect, rays @ up]) / depth[:, None] / scale


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    cloud=clouds,
    turn=st.floats(0.0, 360.0),
    rise=st.floats(-60.0, 60.0),
    aspect=st.floats(0.4, 3.0),
)
def test_framing_fits_all_points_tightly_between_the_margins(cloud, turn, rise, aspect):
    points = np.array(cloud)
    if np.ptp(points, axis=0).max() < 1.0:
        return
    eye = camera.three_quarter(UPRIGHT, turn_deg=turn, rise_deg=rise)
    sides = np.array([np.divide(eye.right, aspect), eye.up])  # as the picture is filled
    across = np.ptp(points @ sides.T, axis=0).max()
    if across < 0.5 * np.ptp(points @ eye.towards_eye):
        return  # seen end on, as no case is: the eye would stand among the points
    frame = camera.framing(points, eye, aspect=aspect)
    spots = pinhole(points, eye, frame, aspect=aspect)
    limit = 1.0 - 2.0 * camera.PICTURE_MARGIN
    assert np.abs(spots).max() <= limit + 1e-6
    # Tight, and centred: both sides of one direction are touched.
    low, high = spots.min(axis=0), spots.max(axis=0)
    touched = (np.abs(high - limit) < 1e-5) & (np.abs(low + limit) < 1e-5)
    assert touched.any()


@settings(derandomize=True, deadline=None, max_examples=40)
@given(cloud=clouds, aspect=st.floats(0.4, 3.0))
def test_parallel_framing_fits_all_points(cloud, aspect):
    points = np.array(cloud)
    if np.ptp(points, axis=0).max() < 1.0:
        return
    eye = camera.front(UPRIGHT)
    frame = camera.parallel_framing(points, eye, aspect=aspect)
    rays = points - np.asarray(frame.focus)
    half = frame.height / 2.0 * (1.0 - 2.0 * camera.PICTURE_MARGIN)
    assert np.abs(rays @ np.asarray(eye.up)).max() <= half + 1e-6
    assert np.abs(rays @ np.asarray(eye.right)).max() <= half * aspect + 1e-6
    assert (rays @ np.asarray(eye.towards_eye)).max() < frame.distance


@pytest.mark.parametrize("up", AXES.values(), ids=AXES.keys())
def test_standard_views_are_square_to_each_other_and_keep_up_up(up):
    sides = sides_of(axes=None, up=up)
    front, side, top = camera.front(sides), camera.side(sides), camera.top(sides)
    assert front.up == pytest.approx(up)
    assert side.up == pytest.approx(up)
    assert top.towards_eye == pytest.approx(up)
    assert top.right == pytest.approx(front.right)
    assert camera.from_behind(side).towards_eye == pytest.approx(front.right)
    views = [front, side, top]
    for first, second in pairwise([*views, front]):
        assert np.dot(first.towards_eye, second.towards_eye) == pytest.approx(0.0)


def test_front_view_has_x_to_the_right_and_z_up():
    eye = camera.front(UPRIGHT)
    assert eye.right == pytest.approx((1.0, 0.0, 0.0))
    assert eye.towards_eye == pytest.approx((0.0, -1.0, 0.0))
    assert camera.from_behind(eye).right == pytest.approx((-1.0, 0.0, 0.0))


@pytest.mark.parametrize("axes", RIGHT_HANDED, ids=" ".join)
def test_views_show_the_case_as_somebody_sees_it_who_walks_round_it(axes):
    """Which way of the case lies right and up in each picture, told by a person."""
    sides = sides_of(axes=axes, up=point(matrix(axes)[:, UP]))
    front, side, top = camera.front(sides), camera.side(sides), camera.top(sides)
    for eye, right, up in (
        (front, "right", "up"),
        (side, "near", "up"),  # from the left: the front is on the right hand
        (top, "right", "away"),  # leaning over it from the front
        (camera.from_behind(front), "left", "up"),
        (camera.from_behind(side), "away", "up"),
    ):
        assert ways(seen_way(eye.right, axes)) == right
        assert ways(seen_way(eye.up, axes)) == up
    for eye, whence in ((front, "near"), (side, "left"), (top, "up")):
        assert ways(seen_way(eye.towards_eye, axes)) == whence
    usual = camera.best_eye([], [], sides=sides)
    assert seen_way(usual.towards_eye, axes)[AWAY] < -0.5


def ways(direction: np.ndarray) -> str:
    """Name the way in which a direction points."""
    for word, (way, sign) in WAYS.items():
        if direction[way] * sign > 1.0 - 1e-9:
            return word
    return f"askew: {direction}"


TURNED = Frame.from_rotation((3.0, -4.0, 5.0), rotation_matrix((25.0, 40.0, 10.0)))


@pytest.mark.parametrize(
    "solid",
    [
        Box(frame=TURNED, size=(40.0, 20.0, 30.0)),
        Box(frame=Frame(origin=(3.0, -4.0, 5.0)), size=(40.0, 20.0, 30.0)),
        Cylinder(frame=TURNED, diameter=30.0, height=40.0),
        Cylinder(frame=Frame(), diameter=30.0, height=40.0),
    ],
)
@pytest.mark.parametrize(
    "towards", [(0.0, 0.0, 1.0), (0.6, 0.0, -0.8), (2 / 3, -2 / 3, 1 / 3)]
)
def test_hidden_points_are_those_whose_ray_meets_the_solid(solid, towards):
    """Against walking along each ray in small steps."""
    points = np.random.default_rng(7).uniform(-60.0, 60.0, size=(150, 3))
    steps = np.arange(0.0, 240.0, 0.5)
    rays = points[:, None, :] + steps[:, None] * np.asarray(towards)
    depth = signed_distance(solid, rays.reshape(-1, 3)).reshape(len(points), -1)
    nearest = depth.min(axis=1)
    # A step of 0.5 may jump over what is thinner: those rays are left undecided.
    clear = np.abs(nearest) > 0.5
    found = camera.is_hidden(points, towards, [solid])
    assert clear.sum() > 100
    assert (found == (nearest < 0.0))[clear].all()
    assert found.any()
    assert not found.all()


def test_half_space_hides_nothing():
    wall = HalfSpace(point=(0.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))
    assert not camera.is_hidden(np.zeros((3, 3)), (0.0, 0.0, 1.0), [wall]).any()


@pytest.mark.parametrize("open_side", ["+x", "-x", "+y", "-y"])
def test_best_view_looks_in_from_the_open_side(open_side):
    # Tubes in a hall of four walls, one of which is not there.
    walls = {
        "+x": Box(frame=Frame(origin=(100.0, 0.0, 0.0)), size=(4.0, 196.0, 400.0)),
        "-x": Box(frame=Frame(origin=(-100.0, 0.0, 0.0)), size=(4.0, 196.0, 400.0)),
        "+y": Box(frame=Frame(origin=(0.0, 100.0, 0.0)), size=(196.0, 4.0, 400.0)),
        "-y": Box(frame=Frame(origin=(0.0, -100.0, 0.0)), size=(196.0, 4.0, 400.0)),
    }
    del walls[open_side]
    line = np.linspace((-40.0, -40.0, -60.0), (40.0, 40.0, 60.0), 30)
    other = np.linspace((40.0, -40.0, -60.0), (-40.0, 40.0, 60.0), 30)
    eye = camera.best_eye([line, other], list(walls.values()), sides=UPRIGHT)
    assert np.dot(eye.towards_eye, AXES[open_side]) > 0.5


@pytest.mark.parametrize("up", AXES.values(), ids=AXES.keys())
def test_best_view_is_from_above_with_up_upwards(up):
    eye = camera.best_eye([], [], sides=sides_of(axes=None, up=up))
    assert 0.1 < np.dot(eye.towards_eye, up) < 0.9
    assert np.dot(eye.up, up) > 0.5
