"""Separation and depth of solids: closed forms, fcl, and every direction tried."""

from __future__ import annotations

import itertools
import math

import fcl
import numpy as np
import pytest
from scipy.spatial import ConvexHull

from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.separation import overlap, separation, stand_apart
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, signed_distance
from loopsolver.geometry.vectors import point
from tests.builders.fcl_bodies import in_fcl
from tests.full import IS_FULL

UNTURNED = Frame()

PAIRS = 3000 if IS_FULL else 120
"""Random pairs that are looked at."""


def box(size, centre=(0, 0, 0), angles=(0, 0, 0)) -> Box:
    frame = Frame.from_rotation(centre, rotation_matrix(angles))
    return Box(frame=frame, size=size)


def random_solid(rng: np.random.Generator) -> Box | Cylinder:
    return solid_turned(rng, rng.uniform(-180, 180, 3))


def solid_turned(rng: np.random.Generator, angles) -> Box | Cylinder:
    frame = Frame.from_rotation(point(rng.uniform(-45, 45, 3)), rotation_matrix(angles))
    if rng.random() < 0.5:
        return Box(frame=frame, size=tuple(rng.uniform(5, 120, 3)))
    return Cylinder(
        frame=frame, diameter=rng.uniform(5, 80), height=rng.uniform(5, 120)
    )


def any_turn(rng: np.random.Generator):
    return rng.uniform(-180, 180, 3)


def quarter_turns(rng: np.random.Generator):
    return 90.0 * rng.integers(0, 4, 3)


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
    assert apart.distance == pytest.approx(distance, abs=1e-6)
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
    for _ in range(PAIRS):
        first, second = random_solid(rng), random_solid(rng)
        distance = fcl_distance(first, second)
        if distance > 0.1:
            checked += 1
            # The library's own answer is iterative, to about a millionth.
            apart = separation(first, second)
            assert apart.distance == pytest.approx(distance, abs=2e-4)
    assert checked > PAIRS // 5


def fcl_distance(first, second) -> float:
    request = fcl.DistanceRequest()
    return fcl.distance(in_fcl(first), in_fcl(second), request, fcl.DistanceResult())


def degenerate_solid(rng: np.random.Generator) -> Box | Cylinder:
    """Sizes of 0, 10 or 40 and places on a grid of 5: faces touch, edges run along."""
    angles = quarter_turns(rng) if rng.random() < 0.6 else 45.0 * rng.integers(0, 8, 3)
    frame = Frame.from_rotation(
        point(5.0 * rng.integers(-6, 7, 3)), rotation_matrix(point(angles))
    )
    x, y, z = (float(v) for v in rng.choice([0.0, 10.0, 40.0], 3))
    if rng.random() < 0.5:
        return Box(frame=frame, size=(x, y, z))
    return Cylinder(frame=frame, diameter=x, height=y)


def test_no_pair_that_touches_nests_or_is_flat_is_told_wrong():
    """Bracketed without the package: no direction tells more, no pair of points less."""
    rng = np.random.default_rng(29)
    ways = rng.normal(size=(4_000, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    for _ in range(PAIRS):
        first, second = degenerate_solid(rng), degenerate_solid(rng)
        apart = separation(first, second)
        between = np.subtract(second.frame.origin, first.frame.origin)
        every = np.vstack([ways, apart.direction])
        gaps = every @ between - reach(first, every) - reach(second, every)
        assert apart.distance == pytest.approx(gaps[-1], abs=1e-9)
        assert apart.distance >= gaps.max() - 1e-6
        assert np.linalg.norm(apart.direction) == pytest.approx(1.0)
        if apart.distance > 1e-3:
            # Points of both, by clipping: never nearer than what is told.
            mine = points_in(first, rng)
            assert signed_distance(second, mine).min() >= apart.distance - 1e-6


def points_in(solid: Box | Cylinder, rng: np.random.Generator) -> np.ndarray:
    own = rng.uniform(-0.5, 0.5, (400, 3))
    own[:200] = np.sign(own[:200]) * 0.5
    if isinstance(solid, Box):
        return own * solid.size @ np.array(solid.frame.axes) + solid.frame.origin
    turns = 2.0 * math.pi * own[:, 0]
    ring = np.stack([np.cos(turns), np.sin(turns)], axis=1) * solid.diameter / 2.0
    own = np.column_stack([ring, own[:, 2] * solid.height])
    return own @ np.array(solid.frame.axes) + solid.frame.origin


@pytest.mark.parametrize("turns", [any_turn, quarter_turns])
def test_nobody_stands_apart_by_more_than_the_separation(turns):
    rng = np.random.default_rng(31)
    for _ in range(40):
        first, second = (solid_turned(rng, turns(rng)) for _ in range(2))
        distance = separation(first, second).distance
        assert stand_apart(first, second, by=distance - 1e-9)
        assert not stand_apart(first, second, by=distance + 2e-6)


def test_two_walls_never_stand_apart_and_one_may_be_named_second():
    wall = HalfSpace(point=(0, 0, 0), normal=(0, 0, 1))
    assert not stand_apart(wall, wall, by=-1e6)
    rod = Cylinder(frame=Frame(origin=(0, 0, 9)), diameter=4, height=10)
    for pair in ((wall, rod), (rod, wall)):
        assert stand_apart(*pair, by=4.0)
        assert not stand_apart(*pair, by=4.001)


def test_a_rounded_rod_is_nearer_by_its_rounding():
    """Two balls of 5 and 3 mm, 9 mm between their centres; then 6 mm: 2 mm deep."""
    for between, distance in ((9.0, 1.0), (6.0, -2.0)):
        one, other = (
            Cylinder(
                frame=Frame(origin=(0, 0, at)), diameter=0, height=0, rounding=radius
            )
            for at, radius in ((0.0, 5.0), (between, 3.0))
        )
        assert separation(one, other).distance == pytest.approx(distance, abs=1e-6)


def test_hulls_of_many_directions_bracket_the_depth():
    """Minkowski difference as the hull of 2,000 of its points (scipy): its faces'
    least distance from the origin is the depth, less what the hull lacks."""
    rng = np.random.default_rng(41)
    ways = rng.normal(size=(2_000, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    checked = 0
    for _ in range(24):
        first, second = random_solid(rng), random_solid(rng)
        distance = separation(first, second).distance
        if distance > -1.0:
            continue
        checked += 1
        met = outermost(second, -ways) - outermost(first, ways)
        depth = -ConvexHull(met).equations[:, 3].max()
        # The hull is inside: its depth is no more, and less by an arc's height at most:
        # with 2,000 directions they lie within 0.15 of each other, and radii add up to 80.
        assert -distance - 80.0 * 0.15**2 / 2.0 <= depth <= -distance + 1e-6
    assert checked > 8


def outermost(solid: Box | Cylinder, ways: np.ndarray) -> np.ndarray:
    """The point of a solid furthest along each direction."""
    axes = np.array(solid.frame.axes)
    own = ways @ axes.T
    if isinstance(solid, Box):
        reached = np.sign(own) * solid.size / 2.0
    else:
        ring = own[:, :2] / np.linalg.norm(own[:, :2], axis=1)[:, None]
        tops = np.sign(own[:, 2]) * solid.height / 2.0
        reached = np.column_stack([ring * solid.diameter / 2.0, tops])
    return reached @ axes + solid.frame.origin


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
    ways = rng.normal(size=(2_000, 3))
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
    across = np.hypot(own[:, 0], own[:, 1])
    return own[:, 2] * solid.height / 2 + across * solid.diameter / 2


def overlap_in_fcl(first, second, shift) -> bool:
    moved = in_fcl(second)
    moved.setTranslation(np.array(second.frame.origin) + shift)
    return fcl.collide(in_fcl(first), moved) > 0


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
        assert there.distance == pytest.approx(back.distance, abs=2e-6)


def test_a_long_rod_across_another():
    across = Cylinder(frame=axis_frame((0, 0, 12), (0, 1, 0)), diameter=10, height=400)
    rod = Cylinder(frame=axis_frame((0, 0, 0), (1, 0, 0)), diameter=10, height=400)
    assert separation(rod, across).distance == pytest.approx(2, abs=1e-6)
