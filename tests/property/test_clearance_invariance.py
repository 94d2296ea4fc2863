"""Distances do not depend on where a thing stands, nor jump between neighbours."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loopsolver.clearance.gap import least_gap, tube_gap
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.errors import GeometryError
from loopsolver.geometry.frames import Frame, rotation_matrix
from loopsolver.geometry.solids import (
    Box,
    Cylinder,
    HalfSpace,
    Mesh,
    Solid,
    bounds,
    signed_distance,
)
from loopsolver.geometry.vectors import Point, point, unit
from loopsolver.tolerances import GAP_RESOLUTION
from loopsolver.tube.centreline import Centreline, straights

STEADY = settings(derandomize=True, deadline=None, max_examples=80)

coordinates = st.floats(min_value=-150.0, max_value=150.0)
positions = st.tuples(coordinates, coordinates, coordinates)
sizes = st.floats(min_value=1.0, max_value=80.0)
angles = st.one_of(
    st.sampled_from([0.0, 90.0, 180.0, 270.0]),
    st.floats(min_value=0.0, max_value=360.0),
)
frames = st.builds(
    lambda origin, turn: Frame.from_rotation(origin, rotation_matrix(turn)),
    positions,
    st.tuples(angles, angles, angles),
)
boxes = st.builds(Box, frame=frames, size=st.tuples(sizes, sizes, sizes))
cylinders = st.builds(Cylinder, frame=frames, diameter=sizes, height=sizes)
walls = st.builds(
    lambda frame: HalfSpace(point=frame.origin, normal=frame.axes[2]), frames
)
solids = st.one_of(boxes, cylinders, walls)


@st.composite
def tubes(draw: st.DrawFn) -> Centreline:
    """Return tubes of up to four bends with room for them."""
    corners = draw(st.lists(positions, min_size=2, max_size=6))
    radius = draw(st.floats(min_value=1.0, max_value=40.0))
    tube = Centreline(vertices=tuple(corners), radius=radius)
    try:
        room = min(straights(tube))
    except GeometryError:
        room = -1.0
    assume(room > 0.0)
    return tube


def _moved_solid(solid: Solid, motion: Frame) -> Solid:
    match solid:
        case Box():
            return Box(frame=solid.frame.inside(motion), size=solid.size)
        case Cylinder():
            return Cylinder(
                frame=solid.frame.inside(motion),
                diameter=solid.diameter,
                height=solid.height,
            )
        case HalfSpace():
            return HalfSpace(
                point=motion.place(solid.point), normal=motion.turn(solid.normal)
            )
        case Mesh():
            return Mesh(frame=solid.frame.inside(motion), shape=solid.shape)


def _moved_tube(tube: Centreline, motion: Frame) -> Centreline:
    moved = tuple(motion.place(vertex) for vertex in tube.vertices)
    return Centreline(vertices=moved, radius=tube.radius)


def _named(*solids_: Solid) -> list[Obstacle]:
    return [Obstacle(name=f"thing {i}", solid=s) for i, s in enumerate(solids_)]


@STEADY
@given(solid=solids, motion=frames, places=st.lists(positions, min_size=1, max_size=8))
def test_signed_distance_under_rigid_motion(
    solid: Solid, motion: Frame, places: list[Point]
) -> None:
    moved = np.array([motion.place(place) for place in places])
    np.testing.assert_allclose(
        signed_distance(_moved_solid(solid, motion), moved),
        signed_distance(solid, np.array(places)),
        rtol=0,
        atol=1e-9,
    )


@STEADY
@given(solid=solids, places=st.lists(positions, min_size=2, max_size=12))
def test_signed_distance_changes_no_faster_than_its_point_moves(
    solid: Solid, places: list[Point]
) -> None:
    points = np.array(places)
    distance = signed_distance(solid, points)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    assert np.all(np.abs(np.diff(distance)) <= steps + 1e-9)


@STEADY
@given(
    solid=solids,
    ends=st.tuples(positions, positions),
    share=st.floats(min_value=0.0, max_value=1.0),
)
def test_signed_distance_is_convex_along_straights(
    solid: Solid, ends: tuple[Point, Point], share: float
) -> None:
    start, end = np.array(ends)
    between = (1.0 - share) * start + share * end
    first, middle, last = signed_distance(solid, np.array([start, between, end]))
    assert middle <= (1.0 - share) * first + share * last + 1e-9


@STEADY
@given(solid=st.one_of(boxes, cylinders), place=positions)
def test_bounds_hold_the_solid(solid: Box | Cylinder, place: Point) -> None:
    """No point is nearer to a solid than to the bounds around it."""
    low, high = bounds(solid)
    outside = np.maximum(np.maximum(low - place, place - high), 0.0)
    distance = signed_distance(solid, np.array([place]))[0]
    assert max(distance, 0.0) >= np.linalg.norm(outside) - 1e-9


@STEADY
@given(tube=tubes(), solid=st.lists(solids, min_size=1, max_size=4), motion=frames)
def test_least_gap_under_rigid_motion(
    tube: Centreline, solid: list[Solid], motion: Frame
) -> None:
    here = least_gap(tube, _named(*solid), tube_radius=7.0)
    there = least_gap(
        _moved_tube(tube, motion),
        _named(*(_moved_solid(one, motion) for one in solid)),
        tube_radius=7.0,
    )
    assert abs(here.distance - there.distance) <= GAP_RESOLUTION + 1e-8


@STEADY
@given(tube=tubes(), solid=st.lists(solids, min_size=1, max_size=4), shift=positions)
def test_least_gap_changes_no_faster_than_the_tube_moves(
    tube: Centreline, solid: list[Solid], shift: Point
) -> None:
    small = np.array(unit((*shift[:2], 200.0))) * 3.0
    near = _moved_tube(tube, Frame(origin=point(small)))
    gaps = [
        least_gap(line, _named(*solid), tube_radius=7.0).distance
        for line in (tube, near)
    ]
    assert abs(gaps[0] - gaps[1]) <= 3.0 + GAP_RESOLUTION


@STEADY
@given(tube=tubes(), solid=solids)
def test_least_gap_of_the_tube_end_for_end(tube: Centreline, solid: Solid) -> None:
    back = Centreline(vertices=tube.vertices[::-1], radius=tube.radius)
    gaps = [
        least_gap(line, _named(solid), tube_radius=7.0).distance
        for line in (tube, back)
    ]
    assert abs(gaps[0] - gaps[1]) <= GAP_RESOLUTION + 1e-8


@STEADY
@given(first=tubes(), second=tubes(), motion=frames)
def test_tube_gap_under_rigid_motion(
    first: Centreline, second: Centreline, motion: Frame
) -> None:
    here, _, _ = tube_gap(first, second, first_radius=7.0, second_radius=5.0)
    there, _, _ = tube_gap(
        _moved_tube(first, motion),
        _moved_tube(second, motion),
        first_radius=7.0,
        second_radius=5.0,
    )
    assert abs(here - there) <= GAP_RESOLUTION + 1e-8
