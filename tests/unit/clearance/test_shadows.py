"""Shadows against dense sampling of the distance along the lattice's lines."""

import numpy as np
import pytest

from loopsolver.clearance.shadows import (
    Coordinates,
    Shadow,
    cast_shadow,
    cast_shadows,
    cross_axes,
    index_window,
)
from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solids import Box, Convex, Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import AXES, point
from loopsolver.tolerances import GAP_RESOLUTION, TOUCH
from tests.builders.small_runs import random_frame
from tests.unit.routing.touching import clipped_distance

CASES = 400
SPACING = 0.1
"""Step of the samples along a line [mm]."""


def random_box(rng: np.random.Generator, *, square: float) -> Box:
    frame = random_frame(rng, point(rng.uniform(-30, 30, 3)), square=square)
    return Box(frame=frame, size=point(rng.uniform(0.5, 40.0, 3)))


def random_cylinder(rng: np.random.Generator, *, square: float) -> Cylinder:
    frame = random_frame(rng, point(rng.uniform(-30, 30, 3)), square=square)
    diameter, height = rng.uniform(0.5, 40.0, 2)
    return Cylinder(frame=frame, diameter=float(diameter), height=float(height))


def random_wall(rng: np.random.Generator, *, square: float) -> HalfSpace:
    normal = rng.normal(size=3)
    if rng.random() < square:
        normal = np.array(AXES[str(rng.choice(sorted(AXES)))])
    normal /= np.linalg.norm(normal)
    return HalfSpace(point=point(rng.uniform(-30, 30, 3)), normal=point(normal))


def random_case(seed: int) -> tuple[Convex | HalfSpace, Coordinates, float]:
    """A solid of every kind in turn, coordinates at random, and what to keep from it."""
    rng = np.random.default_rng(seed)
    make = (random_box, random_cylinder, random_wall)[seed % 3]
    solid = make(rng, square=0.5)
    x, y, z = (
        np.sort(rng.uniform(-70.0, 70.0, int(rng.integers(2, 9)))) for _ in range(3)
    )
    return solid, (x, y, z), float(rng.uniform(0.5, 12.0))


def covered_on(shadow: Shadow | None, row: int, col: int) -> tuple[float, float]:
    """The stretch of a line that a shadow covers; (inf, -inf) where none."""
    if shadow is None:
        return np.inf, -np.inf
    i, j = row - shadow.first[0], col - shadow.first[1]
    if not (0 <= i < shadow.low.shape[0] and 0 <= j < shadow.low.shape[1]):
        return np.inf, -np.inf
    return float(shadow.low[i, j]), float(shadow.high[i, j])


@pytest.mark.parametrize("part", range(8))
def test_shadow_is_just_what_dense_samples_find_too_near(part: int) -> None:
    samples = np.arange(-110.0, 110.0, SPACING)
    covered_lines = 0
    for seed in range(part, CASES, 8):
        solid, coordinates, reach = random_case(seed)
        for axis in range(3):
            shadow = cast_shadow(solid, coordinates, axis=axis, reach=reach)
            first, second = cross_axes(axis)
            for row, u in enumerate(coordinates[first]):
                for col, v in enumerate(coordinates[second]):
                    line = np.empty((len(samples), 3))
                    line[:, first], line[:, second] = u, v
                    line[:, axis] = samples
                    near = clipped_distance(solid, line) < reach
                    low, high = covered_on(shadow, row, col)
                    sure = (np.abs(samples - low) > 2 * TOUCH) & (
                        np.abs(samples - high) > 2 * TOUCH
                    )
                    inside = (samples > low) & (samples < high)
                    assert (inside == near)[sure].all(), f"seed {seed}, axis {axis}"
                    covered_lines += bool(near.any())
    assert covered_lines > 300


@pytest.mark.parametrize("part", range(4))
def test_ends_of_every_stretch_keep_exactly_the_reach(part: int) -> None:
    checked = 0
    for seed in range(part, CASES, 4):
        solid, coordinates, reach = random_case(seed)
        for axis in range(3):
            shadow = cast_shadow(solid, coordinates, axis=axis, reach=reach)
            if shadow is None:
                continue
            first, second = cross_axes(axis)
            rows, cols = np.nonzero(shadow.low < shadow.high)
            for ends, outward in ((shadow.low, -1.0), (shadow.high, 1.0)):
                at = np.empty((len(rows), 3))
                at[:, first] = coordinates[first][rows + shadow.first[0]]
                at[:, second] = coordinates[second][cols + shadow.first[1]]
                # Stretches are drawn in by TOUCH; the edge itself lies that far out.
                at[:, axis] = ends[rows, cols] + outward * TOUCH
                finite = np.isfinite(at).all(axis=1)
                distance = clipped_distance(solid, at[finite])
                assert distance == pytest.approx(reach, abs=1e-7), f"seed {seed}"
                checked += int(finite.sum())
    assert checked > 300


def least_along(solid: Solid, axis: int, u: float, v: float) -> float:
    """The least distance of a line to a solid, from ever closer samples about it."""
    first, second = cross_axes(axis)
    low, high = -110.0, 110.0
    for _ in range(3):
        line = np.empty((2001, 3))
        line[:, first], line[:, second] = u, v
        line[:, axis] = np.linspace(low, high, 2001)
        distance = clipped_distance(solid, line)
        middle, step = line[distance.argmin(), axis], (high - low) / 1000.0
        low, high = middle - step, middle + step
    return float(distance.min())


def test_lines_that_graze_are_told_truly_a_ten_thousandth_from_the_limit() -> None:
    checked = 0
    for seed in range(1200):
        rng = np.random.default_rng(seed)
        make = (random_box, random_cylinder)[seed % 2]
        solid, axis = make(rng, square=0.2), int(rng.integers(3))
        first, second = cross_axes(axis)
        u, v = rng.uniform(-60.0, 60.0, 2)
        least = least_along(solid, axis, u, v)
        if not 0.5 < least < 15.0:
            continue
        checked += 1
        lines = [np.array([0.0])] * 3
        lines[first], lines[second] = np.array([u]), np.array([v])
        here = (lines[0], lines[1], lines[2])
        met = cast_shadow(solid, here, axis=axis, reach=least + GAP_RESOLUTION)
        assert met is not None, f"seed {seed}"
        missed = cast_shadow(solid, here, axis=axis, reach=least - GAP_RESOLUTION)
        assert missed is None, f"seed {seed}"
    assert checked > 100


def grid(*values: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    one = np.array(values)
    return one, one, one


def test_thin_plate_between_two_coordinates_casts_its_stretch() -> None:
    """0.5 mm of plate and 0.1 mm of reach, far from the coordinates at 0 and 60."""
    plate = Box(frame=Frame(origin=(30.0, 0.0, 0.0)), size=(0.5, 200.0, 200.0))
    shadow = cast_shadow(plate, grid(0.0, 60.0), axis=0, reach=0.1)
    assert shadow is not None
    assert shadow.low == pytest.approx(np.full((2, 2), 29.65), abs=2 * TOUCH)
    assert shadow.high == pytest.approx(np.full((2, 2), 30.35), abs=2 * TOUCH)


def test_thin_plate_askew_casts_its_stretch() -> None:
    """A plate turned by 30 degrees: 2 (0.25 + 0.1) / cos 30 along a line through it."""
    frame = Frame.from_rotation((30.0, 0.0, 0.0), rotation_matrix((0.0, 0.0, 30.0)))
    plate = Box(frame=frame, size=(0.5, 200.0, 200.0))
    lines = (np.array([0.0, 60.0]), np.array([0.0]), np.array([0.0]))
    shadow = cast_shadow(plate, lines, axis=0, reach=0.1)
    assert shadow is not None
    half = 0.35 / np.cos(np.radians(30.0))
    assert shadow.low[0, 0] == pytest.approx(30.0 - half, abs=2 * TOUCH)
    assert shadow.high[0, 0] == pytest.approx(30.0 + half, abs=2 * TOUCH)


def test_needle_askew_beside_few_lines_is_not_missed() -> None:
    """A rod of 0.2 mm and 300 mm, nearly along the line: seeking has little to go by."""
    for tilt in (0.02, 0.1, 0.5, 2.0):
        along = (np.cos(np.radians(tilt)), np.sin(np.radians(tilt)), 0.0)
        rod = Cylinder(
            frame=axis_frame((137.3, 0.0, 0.0), along), diameter=0.2, height=300.0
        )
        lines = (np.array([0.0]), np.array([0.0]), np.array([0.0, 0.15]))
        shadow = cast_shadow(rod, lines, axis=0, reach=0.2)
        assert shadow is not None
        sampled = np.column_stack(
            [np.linspace(-20, 300, 64001), np.zeros(64001), np.zeros(64001)]
        )
        near = sampled[clipped_distance(rod, sampled) < 0.2, 0]
        assert shadow.low[0, 0] == pytest.approx(near[0], abs=0.01)
        assert shadow.high[0, 0] == pytest.approx(near[-1], abs=0.01)


def test_touching_is_not_covered() -> None:
    """A line exactly at the reach from a box's face, and one a hundredth nearer."""
    box = Box(frame=Frame(), size=(20.0, 20.0, 20.0))
    touching = (np.array([0.0]), np.array([14.0]), np.array([0.0]))
    nearer = (np.array([0.0]), np.array([13.99]), np.array([0.0]))
    assert cast_shadow(box, touching, axis=0, reach=4.0) is None
    shadow = cast_shadow(box, nearer, axis=0, reach=4.0)
    assert shadow is not None
    # Beyond the edge the grown box is round: sqrt(4^2 - 3.99^2) further.
    assert shadow.high[0, 0] == pytest.approx(10.0 + np.sqrt(16 - 3.99**2), abs=1e-5)


def test_wall_covers_all_behind_it_and_its_reach() -> None:
    wall = HalfSpace(point=(5.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))
    along = cast_shadow(wall, grid(0.0, 9.0), axis=0, reach=3.0)
    assert along is not None
    assert (along.low == -np.inf).all()
    assert along.high == pytest.approx(np.full((2, 2), 8.0), abs=2 * TOUCH)
    beside = cast_shadow(wall, grid(0.0, 9.0), axis=1, reach=3.0)
    assert beside is not None
    # Only lines at x = 0 lie behind; axis 1's lines are counted along x, then z.
    assert beside.first == (0, 0)
    assert (beside.low[0] == -np.inf).all()
    assert (beside.high[0] == np.inf).all()


def test_shadows_of_solids_that_meet_no_line_are_left_out() -> None:
    here = Box(frame=Frame(), size=(2.0, 2.0, 2.0))
    far = Box(frame=Frame(origin=(0.0, 500.0, 0.0)), size=(2.0, 2.0, 2.0))
    assert len(cast_shadows([here, far], grid(0.0), axis=0, reach=1.0)) == 1


def test_index_window_takes_both_ends_in() -> None:
    assert index_window(np.array([0.0, 1.0, 2.0, 3.0]), 1.0, 2.0) == (1, 3)
