"""Separation and depth of solids: closed forms, fcl, and every direction tried."""

from __future__ import annotations

import itertools
import math

import fcl
import numpy as np
import pytest

from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace
from loopsolver.scene.overlap import overlap, separation

UNTURNED = Frame()


def box(size, centre=(0, 0, 0), angles=(0, 0, 0)) -> Box:
    frame = Frame.from_rotation(centre, rotation_matrix(angles))
    return Box(frame=frame, size=size)


def random_solid(rng: np.random.Generator) -> Box | Cylinder:
    return solid_turned(rng, rng.uniform(-180, 180, 3))


def solid_turned(rng: np.random.Generator, angles) -> Box | Cylinder:
    frame = Frame.from_rotation(rng.uniform(-45, 45, 3), rotation_matrix(angles))
    if rng.random() < 0.5:
        return Box(frame=frame, size=tuple(rng.uniform(5, 120, 3)))
    return Cylinder(
        frame=frame, diameter=rng.uniform(5, 80), height=rng.uniform(5, 120)
    )


def any_turn(rng: np.random.Generator):
    return rng.uniform(-180, 180, 3)


def quarter_turns(rng: np.random.Generator):
    return 90.0 * rng.integers(0, 4, 3)


def as_fcl(solid: Box | Cylinder) -> fcl.CollisionObject:
    shape = (
        fcl.Box(*solid.size)
        if isinstance(solid, Box)
        else fcl.Cylinder(solid.diameter / 2, solid.height)
    )
    turn = np.array(solid.frame.axes).T
    return fcl.CollisionObject(shape, fcl.Transform(turn, np.array(solid.frame.origin)))


@pytest.mark.parametrize(
    ("first", "second", "distance", "direction"),
    [
        # boxes side by side, and 4 mm into each other along y
        (box((10, 10, 10)), box((10, 10, 10), (15, 0, 0)), 5, (1, 0, 0)),
        (box((10, 10, 10)), box((20, 10, 20), (1, -6, 2)), -4, (0, -1, 0)),
        # corner to corner: the space diagonal of a cube of 3 mm
        (box((2, 2, 2)), box((2, 2, 2), (5, 5, 5)), 3 * math.sqrt(3), (1, 1, 1)),
        # a cube standing on its edge, 1 mm into a plate
        (
            box((90, 90, 10)),
            box((20, 20, 20), (0, 0, 4 + 10 * math.sqrt(2)), (45, 0, 0)),
            -1,
            (0, 0, 1),
        ),
        # crossed rods: edge against edge, along the cross product of the edges
        (
            box((100, 10, 10), angles=(45, 0, 0)),
            box((10, 100, 10), (0, 0, 10 * math.sqrt(2) - 2), (0, 45, 0)),
            -2,
            (0, 0, 1),
        ),
        # parallel cylinders side by side
        (
            Cylinder(frame=UNTURNED, diameter=20, height=90),
            Cylinder(frame=Frame(origin=(24, 7, 0)), diameter=20, height=90),
            5,
            (24 / 25, 7 / 25, 0),
        ),
        (
            Cylinder(frame=UNTURNED, diameter=20, height=90),
            Cylinder(frame=Frame(origin=(9, 12, 0)), diameter=20, height=90),
            -5,
            (3 / 5, 4 / 5, 0),
        ),
        # a rod over the upright edge of a box: 15 mm less the 10 mm of 6 and 8
        (
            box((40, 40, 90)),
            Cylinder(frame=Frame(origin=(26, 28, 0)), diameter=30, height=90),
            -5,
            (0.6, 0.8, 0),
        ),
        # a long rod across the rim of a drum: 10 mm less the root of 2 and 5 squared
        (
            Cylinder(frame=UNTURNED, diameter=20, height=20),
            Cylinder(frame=axis_frame((0, 12, 15), (1, 0, 0)), diameter=20, height=300),
            math.sqrt(29) - 10,
            (0, 2, 5),
        ),
        # one on top of the other, 2 mm sunk in
        (
            Cylinder(frame=UNTURNED, diameter=30, height=40),
            Cylinder(frame=Frame(origin=(3, 4, 38)), diameter=30, height=40),
            -2,
            (0, 0, 1),
        ),
        # a slanting wall
        (
            HalfSpace(point=(0, 0, 0), normal=(0.6, 0.8, 0)),
            Cylinder(frame=Frame(origin=(6, 8, 0)), diameter=22, height=50),
            -1,
            (0.6, 0.8, 0),
        ),
    ],
)
def test_closed_forms(first, second, distance, direction):
    apart = separation(first, second)
    assert apart.distance == pytest.approx(distance, abs=1e-3)
    wanted = np.array(direction) / np.linalg.norm(direction)
    assert apart.direction == pytest.approx(wanted, abs=5e-3)  # told to two decimals


@pytest.mark.parametrize("allowed", [0.0, 0.5, 4.0])
@pytest.mark.parametrize("turns", [any_turn, quarter_turns])
def test_an_overlap_is_told_where_it_is_deeper_than_allowed(allowed, turns):
    rng = np.random.default_rng(13)
    told = 0
    for _ in range(80):
        first, second = (solid_turned(rng, turns(rng)) for _ in range(2))
        apart = separation(first, second)
        found = overlap(first, second, allowed=allowed)
        assert found == (apart if apart.distance < -allowed else None)
        told += found is not None
    assert 10 < told < 70


def test_distance_agrees_with_fcl_where_solids_are_apart():
    rng = np.random.default_rng(7)
    checked = 0
    for _ in range(150):
        first, second = random_solid(rng), random_solid(rng)
        objects = as_fcl(first), as_fcl(second)
        distance = fcl.distance(*objects, fcl.DistanceRequest(), fcl.DistanceResult())
        if distance > 0.1:
            checked += 1
            # an iterative answer on both sides: a tenth of a millimetre is what is told
            assert separation(first, second).distance == pytest.approx(
                distance, abs=0.05
            )
    assert checked > 40


@pytest.mark.parametrize("turns", [any_turn, quarter_turns])
def test_the_way_out_is_one_and_none_is_shorter(turns):
    """Moved by the depth the solids touch; moved by less, any way, they do not part."""
    rng = np.random.default_rng(11)
    checked = 0
    for _ in range(60):
        first, second = (solid_turned(rng, turns(rng)) for _ in range(2))
        apart = separation(first, second)
        if apart.distance > -1.0:
            continue
        checked += 1
        depth, way = -apart.distance, np.array(apart.direction)
        assert not overlap_in_fcl(first, second, way * (depth + 0.05))
        ways = rng.normal(size=(60, 3))
        ways /= np.linalg.norm(ways, axis=1)[:, None]
        for shorter in (*ways, way):
            assert overlap_in_fcl(first, second, shorter * (depth - 0.1))
    assert checked > 15


@pytest.mark.parametrize("turns", [any_turn, quarter_turns])
def test_along_no_direction_do_they_stand_further_apart(turns):
    """Shadows of the solids on very many lines: each says they are at least so apart."""
    rng = np.random.default_rng(17)
    ways = rng.normal(size=(20_000, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    for _ in range(60):
        first, second = (solid_turned(rng, turns(rng)) for _ in range(2))
        between = np.subtract(second.frame.origin, first.frame.origin)
        gaps = ways @ between - reach(first, ways) - reach(second, ways)
        assert separation(first, second).distance >= gaps.max() - 1e-6


def reach(solid: Box | Cylinder, ways: np.ndarray) -> np.ndarray:
    """How far a solid reaches from its centre along unit directions."""
    own = np.abs(ways @ np.array(solid.frame.axes).T)
    if isinstance(solid, Box):
        return own @ np.array(solid.size) / 2
    across = np.sqrt(np.maximum(0.0, 1.0 - own[:, 2] ** 2))
    return own[:, 2] * solid.height / 2 + across * solid.diameter / 2


def overlap_in_fcl(first, second, shift) -> bool:
    moved = as_fcl(second)
    moved.setTranslation(np.array(second.frame.origin) + shift)
    return fcl.collide(as_fcl(first), moved) > 0


def test_depth_of_boxes_is_the_least_over_the_fifteen_axes():
    """By the separating axis theorem: three normals each, nine products of edges."""
    rng = np.random.default_rng(3)
    checked = 0
    for _ in range(80):
        first, second = (
            box(rng.uniform(5, 90, 3), rng.uniform(-25, 25, 3), rng.uniform(-90, 90, 3))
            for _ in range(2)
        )
        a, b = np.array(first.frame.axes), np.array(second.frame.axes)
        axes = [*a, *b, *(np.cross(p, q) for p, q in itertools.product(a, b))]
        gaps = [gap_along(first, second, axis / np.linalg.norm(axis)) for axis in axes]
        if max(gaps) < 0:
            checked += 1
            assert separation(first, second).distance == pytest.approx(
                max(gaps), abs=1e-6
            )
    assert checked > 30


def gap_along(first: Box, second: Box, axis: np.ndarray) -> float:
    """Return the gap between the shadows of two boxes' corners on an axis."""
    shadows = [corners(each) @ axis for each in (first, second)]
    return max(shadows[1].min() - shadows[0].max(), shadows[0].min() - shadows[1].max())


def corners(solid: Box) -> np.ndarray:
    signs = np.array(list(itertools.product((-0.5, 0.5), repeat=3)))
    return (signs * solid.size) @ np.array(solid.frame.axes) + solid.frame.origin


def test_which_is_first_does_not_matter():
    rng = np.random.default_rng(5)
    for _ in range(20):
        first, second = random_solid(rng), random_solid(rng)
        there, back = separation(first, second), separation(second, first)
        assert there.distance == pytest.approx(back.distance, abs=0.02)


def test_a_long_rod_across_another():
    across = Cylinder(frame=axis_frame((0, 0, 12), (0, 1, 0)), diameter=10, height=400)
    rod = Cylinder(frame=axis_frame((0, 0, 0), (1, 0, 0)), diameter=10, height=400)
    assert separation(rod, across).distance == pytest.approx(2, abs=1e-3)
