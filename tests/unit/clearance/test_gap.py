"""The least gap of tubes against dense sampling and python-fcl."""

from __future__ import annotations

import math
from functools import lru_cache

import fcl
import numpy as np
import pytest
from scipy.spatial import cKDTree

from loopsolver.clearance.gap import (
    curves_of,
    least_gap,
    least_gaps,
    prepare,
    tube_gap,
)
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.errors import GeometryError
from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, signed_distance
from loopsolver.geometry.vectors import Array, point
from loopsolver.tolerances import GAP_RESOLUTION
from loopsolver.tube.centreline import Centreline, sample, straights
from tests.builders.fcl_bodies import in_fcl

SPACING = 0.01
"""Of the points on a centre line that stand for all of it [mm]."""

RADIUS = 7.0
"""Outer radius of the tubes [mm]."""

CASE = 240.0
"""Edge of the cube that everything is in [mm]."""

RIGHT = Centreline(
    vertices=((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 100.0, 0.0)), radius=28.0
)
"""One right bend in z = 0: the arc is about (72, 28), between (72, 0) and (100, 28)."""


def _tube(rng: np.random.Generator) -> Centreline:
    """Return a random tube of up to five bends, square or not, with room for them."""
    while True:
        count = int(rng.integers(2, 8))
        if rng.random() < 0.5:
            corners = rng.uniform(0.0, CASE, (count, 3))
        else:  # from corner to corner along the axes
            corners = np.repeat(rng.uniform(0.0, CASE, (1, 3)), count, axis=0)
            axes = np.cumsum(rng.integers(1, 3, count)) % 3
            for index in range(1, count):
                corners[index:, axes[index]] = rng.uniform(0.0, CASE)
        tube = Centreline(
            vertices=tuple(point(corner) for corner in corners), radius=28.0
        )
        try:
            if min(straights(tube)) > 0.0:
                return tube
        except GeometryError:
            continue


def _solid(rng: np.random.Generator) -> Box | Cylinder:
    """Return a box or a cylinder, every third one square to the axes."""
    angles = (
        point(rng.uniform(0.0, 360.0, 3)) if rng.random() < 0.67 else (0.0, 90.0, 0.0)
    )
    frame = Frame.from_rotation(
        point(rng.uniform(0.0, CASE, 3)), rotation_matrix(angles)
    )
    if rng.random() < 0.6:
        return Box(frame=frame, size=point(rng.uniform(3.0, 50.0, 3)))
    diameter, height = rng.uniform(3.0, 50.0, 2)
    return Cylinder(frame=frame, diameter=float(diameter), height=float(height))


def _obstacles(rng: np.random.Generator, count: int) -> list[Obstacle]:
    """Return random solids and one slanting wall."""
    wall = HalfSpace(point=(0.0, 0.0, -20.0), normal=(0.0, 0.6, 0.8))
    solids = [*(_solid(rng) for _ in range(count)), wall]
    return [Obstacle(name=f"thing {i}", solid=s) for i, s in enumerate(solids)]


def _sampled(obstacles: list[Obstacle], line: Array) -> dict[str, float]:
    """Return the least gap to each obstacle over points of the centre line."""
    return {
        obstacle.name: float(signed_distance(obstacle.solid, line).min()) - RADIUS
        for obstacle in obstacles
    }


def _agrees(gap: Gap, sampled: float) -> bool:
    """Whether a gap is as near a sampled one as both can be.

    The gap may be above the truth by its resolution. The samples may be by half their
    spacing where the line runs straight at a surface, and never are below.
    """
    return gap.distance - GAP_RESOLUTION <= sampled <= gap.distance + SPACING / 2


@lru_cache(maxsize=1)
def _free_cases() -> list[tuple[Centreline, list[Obstacle], Array]]:
    """Return fifty tubes, each with ten solids that it mostly keeps clear of."""
    rng = np.random.default_rng(77)
    cases = []
    for _ in range(50):
        tube = _tube(rng)
        line = sample(tube, spacing=SPACING)
        coarse = line[::100]
        kept: list[Obstacle] = []
        while len(kept) < 10:
            solid = _solid(rng)
            if signed_distance(solid, coarse).min() > RADIUS:
                kept.append(Obstacle(name=f"thing {len(kept)}", solid=solid))
        cases.append((tube, kept, line))
    return cases


@pytest.mark.parametrize("seed", range(160))
def test_least_gap_among_random_solids(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tube, obstacles = _tube(rng), _obstacles(rng, int(rng.integers(1, 6)))
    line = sample(tube, spacing=SPACING)
    by_sampling = _sampled(obstacles, line)
    gap = least_gap(tube, obstacles, tube_radius=RADIUS)
    assert _agrees(gap, min(by_sampling.values()))
    assert _agrees(gap, by_sampling[gap.name])
    assert cKDTree(line).query(gap.at)[0] <= SPACING
    (solid,) = (o.solid for o in obstacles if o.name == gap.name)
    there = signed_distance(solid, np.array([gap.at]))[0] - RADIUS
    assert there == pytest.approx(gap.distance, abs=1e-9)


def test_least_gap_of_tubes_that_keep_clear() -> None:
    for tube, obstacles, line in _free_cases():
        gap = least_gap(tube, obstacles, tube_radius=RADIUS)
        assert _agrees(gap, min(_sampled(obstacles, line).values()))


def test_gap_to_every_obstacle() -> None:
    for tube, obstacles, line in _free_cases()[:15]:
        by_sampling = _sampled(obstacles, line)
        gaps = least_gaps(tube, prepare(obstacles), tube_radius=RADIUS)
        assert set(gaps) == set(by_sampling)
        for name, gap in gaps.items():
            assert gap.name == name
            assert _agrees(gap, by_sampling[name])
        in_order = [gap.distance for gap in gaps.values()]
        assert in_order == sorted(in_order)


def test_least_gap_against_fcl() -> None:
    """The tube as spheres along its centre line, 0.05 mm apart, in fcl's hands."""
    checked = 0
    for tube, obstacles, line in _free_cases()[:8]:
        gap = least_gap(tube, obstacles, tube_radius=RADIUS)
        if gap.distance < 0.0:
            continue
        near = line[np.linalg.norm(line - gap.at, axis=1) < 15.0][::5]
        spheres = fcl.DynamicAABBTreeCollisionManager()
        spheres.registerObjects(
            [
                fcl.CollisionObject(fcl.Sphere(RADIUS), fcl.Transform(position))
                for position in near
            ]
        )
        spheres.setup()
        distances = []
        for obstacle in obstacles:
            solid = obstacle.solid
            assert isinstance(solid, Box | Cylinder)
            data = fcl.DistanceData()
            spheres.distance(in_fcl(solid), data, fcl.defaultDistanceCallback)
            distances.append(data.result.min_distance)
        assert min(distances) == pytest.approx(gap.distance, abs=0.025)
        checked += 1
    assert checked >= 5


def _about_the_bend(diameter: float, height: float, level: float = 0.0) -> Obstacle:
    """Return a cylinder about the axis of RIGHT's bend."""
    frame = axis_frame((72.0, 28.0, level), (0.0, 0.0, 1.0))
    solid = Cylinder(frame=frame, diameter=diameter, height=height)
    return Obstacle(name="post", solid=solid)


@pytest.mark.parametrize(
    ("obstacle", "by_hand"),
    [
        # The centre line is 28 from the axis all along the bend.
        (_about_the_bend(30.0, 40.0), 28.0 - 15.0 - 7.0),
        # The rim is 28 - 25 across and 24 - 20 up from the bend: 5 altogether.
        (_about_the_bend(50.0, 40.0, level=24.0), 5.0 - 7.0),
        # All of the bend runs 8 under the wall of a wide cylinder.
        (_about_the_bend(72.0, 100.0), -8.0 - 7.0),
    ],
)
def test_bend_round_a_post(obstacle: Obstacle, by_hand: float) -> None:
    gap = least_gap(
        RIGHT, [obstacle], tube_radius=RADIUS, skip_start=72.0, skip_end=72.0
    )
    assert gap.distance == pytest.approx(by_hand, abs=GAP_RESOLUTION)


def test_tube_along_a_face() -> None:
    """All of a flat tube runs 20 above a slab, however the slab is turned in plane."""
    for angle in (0.0, 33.0, 90.0):
        frame = Frame.from_rotation(
            (50.0, 50.0, -25.0), rotation_matrix((0.0, 0.0, angle))
        )
        slab = Obstacle(name="slab", solid=Box(frame=frame, size=(400.0, 300.0, 10.0)))
        gap = least_gap(RIGHT, [slab], tube_radius=RADIUS)
        assert gap.distance == pytest.approx(20.0 - 7.0, abs=1e-9)


def test_wall_behind_the_tube() -> None:
    wall = Obstacle(
        name="case wall +x",
        solid=HalfSpace(point=(104.0, 0.0, 0.0), normal=(-1.0, 0.0, 0.0)),
    )
    gap = least_gap(RIGHT, [wall], tube_radius=RADIUS)
    assert gap.distance == pytest.approx(4.0 - 7.0, abs=1e-9)
    assert gap.name == "case wall +x"


def _pin(x: float, y: float) -> Obstacle:
    """Return a thin post of radius 1 square to RIGHT's plane."""
    frame = axis_frame((x, y, 0.0), (0.0, 0.0, 1.0))
    return Obstacle(name="pin", solid=Cylinder(frame=frame, diameter=2.0, height=50.0))


@pytest.mark.parametrize(
    ("skip_start", "skip_end", "nearest"),
    [
        (0.0, 0.0, (0.0, 0.0, 0.0)),
        (30.0, 0.0, (30.0, 0.0, 0.0)),  # within the first straight
        (72.0, 0.0, (72.0, 0.0, 0.0)),  # all of it
        # 45 degrees into the bend, whose length is 28 pi / 2 in all.
        (
            72.0 + 28.0 * math.pi / 4.0,
            0.0,
            (72.0 + 28.0 / math.sqrt(2.0), 28.0 - 28.0 / math.sqrt(2.0), 0.0),
        ),
        (72.0 + 28.0 * math.pi / 2.0 + 10.0, 20.0, (100.0, 38.0, 0.0)),
    ],
)
def test_skipped_start(
    skip_start: float, skip_end: float, nearest: tuple[float, float, float]
) -> None:
    """From a pin far behind the start, the nearest point is where looking begins."""
    pin = _pin(-200.0, -100.0)
    gap = least_gap(
        RIGHT, [pin], tube_radius=RADIUS, skip_start=skip_start, skip_end=skip_end
    )
    assert gap.at == pytest.approx(nearest, abs=1e-3)
    away = math.hypot(nearest[0] + 200.0, nearest[1] + 100.0) - 1.0 - RADIUS
    assert gap.distance == pytest.approx(away, abs=GAP_RESOLUTION)


def test_skipped_end() -> None:
    pin = _pin(100.0, 300.0)
    gap = least_gap(RIGHT, [pin], tube_radius=RADIUS, skip_end=12.5)
    assert gap.at == pytest.approx((100.0, 87.5, 0.0), abs=1e-9)


def test_skipping_everything_leaves_the_point_where_the_skips_meet() -> None:
    straight = Centreline(vertices=((0.0, 0.0, 0.0), (40.0, 0.0, 0.0)), radius=28.0)
    pin = _pin(10.0, 20.0)
    for skips, meeting in (((15.0, 25.0), 15.0), ((30.0, 30.0), 20.0)):
        gap = least_gap(
            straight, [pin], tube_radius=RADIUS, skip_start=skips[0], skip_end=skips[1]
        )
        assert gap.at == pytest.approx((meeting, 0.0, 0.0), abs=1e-9)


def test_prepared_obstacles_give_the_same() -> None:
    tube, obstacles, _ = _free_cases()[0]
    plain = least_gap(tube, obstacles, tube_radius=RADIUS)
    assert least_gap(tube, prepare(obstacles), tube_radius=RADIUS) == plain


def test_obstacles_of_one_name_are_one_thing() -> None:
    twins = [_pin(50.0, 30.0), _pin(50.0, 20.0)]
    gaps = least_gaps(RIGHT, twins, tube_radius=RADIUS)
    assert list(gaps) == ["pin"]
    assert gaps["pin"].distance == pytest.approx(20.0 - 1.0 - 7.0, abs=GAP_RESOLUTION)


def test_no_obstacles_is_an_error() -> None:
    with pytest.raises(GeometryError, match="at least one obstacle"):
        least_gap(RIGHT, [], tube_radius=RADIUS)


def test_curves_cover_the_centre_line() -> None:
    line = sample(RIGHT, spacing=1.0)
    curves = curves_of(RIGHT)
    share = np.linspace(0.0, 1.0, 200)
    points = np.concatenate(
        [
            curves.points(
                np.full(200, index),
                curves.start[index]
                + share * (curves.stop[index] - curves.start[index]),
            )
            for index in range(len(curves))
        ]
    )
    assert cKDTree(points).query(line)[0].max() < 0.5


@pytest.mark.parametrize("seed", range(60))
def test_tube_gap_among_random_tubes(seed: int) -> None:
    rng = np.random.default_rng(1000 + seed)
    first, second = _tube(rng), _tube(rng)
    gap, on_first, on_second = tube_gap(
        first, second, first_radius=RADIUS, second_radius=6.0
    )
    lines = [sample(tube, spacing=0.05) for tube in (first, second)]
    sampled = cKDTree(lines[0]).query(lines[1])[0].min() - RADIUS - 6.0
    # Half a step of either line is the most that sampling can add.
    assert gap - GAP_RESOLUTION <= sampled <= gap + 0.05
    assert math.dist(on_first, on_second) - 13.0 == pytest.approx(gap, abs=1e-9)
    assert cKDTree(lines[0]).query(on_first)[0] <= 0.03
    assert cKDTree(lines[1]).query(on_second)[0] <= 0.03


def _moved(tube: Centreline, by: tuple[float, float, float]) -> Centreline:
    moved = tuple(point(np.add(vertex, by)) for vertex in tube.vertices)
    return Centreline(vertices=moved, radius=tube.radius)


@pytest.mark.parametrize(
    ("other", "by_hand"),
    [
        # Stacked: 20 above each other all along.
        (_moved(RIGHT, (0.0, 0.0, 20.0)), 20.0),
        # Nested round one axis: radii 28 and 48.
        (
            Centreline(
                vertices=((0.0, -20.0, 0.0), (120.0, -20.0, 0.0), (120.0, 100.0, 0.0)),
                radius=48.0,
            ),
            20.0,
        ),
        # Side by side by 20 along x, with equal radii: the straights along x, which
        # are 0 apart where they overlap, are one line.
        (_moved(RIGHT, (20.0, 0.0, 0.0)), 0.0),
        # Itself.
        (RIGHT, 0.0),
        # A straight square to the plane through (100, 0), outside of the bend: 28
        # times the square root of 2 from the bend's axis.
        (
            Centreline(vertices=((100.0, 0.0, -50.0), (100.0, 0.0, 50.0)), radius=28.0),
            28.0 * (math.sqrt(2.0) - 1.0),
        ),
    ],
)
def test_tube_gap_by_hand(other: Centreline, by_hand: float) -> None:
    gap, _, _ = tube_gap(RIGHT, other, first_radius=RADIUS, second_radius=RADIUS)
    assert gap == pytest.approx(by_hand - 2.0 * RADIUS, abs=GAP_RESOLUTION)


def test_tube_gap_does_not_depend_on_the_order() -> None:
    rng = np.random.default_rng(5)
    for _ in range(20):
        first, second = _tube(rng), _tube(rng)
        one, _, _ = tube_gap(first, second, first_radius=7.0, second_radius=5.0)
        two, _, _ = tube_gap(second, first, first_radius=5.0, second_radius=7.0)
        assert one == pytest.approx(two, abs=GAP_RESOLUTION)
