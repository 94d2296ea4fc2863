"""The inspector's own laying and measuring, against dense samples laid another way.

The samples come from vertices and half-angle formulas (`tests.property.laid_tubes`), which
do without the package; their distances from `geometry.solids`, which the inspector does
not use. Other figures are closed forms.
"""

import math

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid, signed_distance
from loopsolver.geometry.vectors import AXES, point
from loopsolver.routing.sampled_solids import laid_out
from loopsolver.routing.sampled_tube import (
    LaidTube,
    crosses_itself,
    cut_back,
    laid_tube,
    least_distance,
)
from loopsolver.tolerances import GAP_RESOLUTION
from loopsolver.tube.bend_table import Bend, BendTable, bend_table
from loopsolver.tube.centreline import Centreline
from tests.builders.small_runs import random_solid
from tests.builders.tubes import bent
from tests.property.laid_tubes import Tube, points_on

SPACING = 0.02
SIDE = 200.0


def laid(vertices: np.ndarray, radius: float) -> LaidTube:
    line = Centreline(vertices=tuple(map(point, vertices)), radius=radius)
    side = vertices[2] - vertices[1] if len(vertices) > 2 else np.zeros(3)
    return laid_tube(
        bend_table(line),
        start=point(vertices[0]),
        direction=point(vertices[1] - vertices[0]),
        towards=side,
    )


def random_tube(rng: np.random.Generator, bends: int) -> Tube:
    while True:
        tube = Tube(vertices=rng.uniform(0.0, SIDE, (bends + 2, 3)), radius=12.0)
        if tube.straights.min() > 0.0:
            return tube


@pytest.mark.parametrize("bends", range(6))
def test_a_laid_tube_runs_where_its_vertices_are(bends: int) -> None:
    rng = np.random.default_rng(bends)
    tube = random_tube(rng, bends)
    found = laid(tube.vertices, tube.radius)
    assert found.vertices == pytest.approx(tube.vertices, abs=1e-9)
    assert found.direction == pytest.approx(tube.ways[-1], abs=1e-12)
    # Its pieces begin one after the other where the tube's straights and arcs do.
    starts = tube.straight_stretches((0.0, 0.0))
    rows = np.arange(bends + 1)
    begins = starts.at(rows, np.zeros(bends + 1))
    assert found.pieces.start[::2] == pytest.approx(begins, abs=1e-9)
    ends = starts.at(rows[:-1], starts.lengths[:-1])
    assert found.pieces.start[1::2] == pytest.approx(ends, abs=1e-9)


def test_a_staircase_by_hand() -> None:
    """50 along x, a bend to y, 30 on, a quarter turn right-handed, a bend up, 20 on."""
    rows = (
        Bend(straight=50.0, rotation_deg=0.0, angle_deg=90.0),
        Bend(straight=30.0, rotation_deg=90.0, angle_deg=90.0),
    )
    table = BendTable(bends=rows, closing_straight=20.0, radius=10.0)
    tube = laid_tube(
        table,
        start=(0.0, 0.0, 0.0),
        direction=AXES["+x"],
        towards=np.array([0, 1.0, 0]),
    )
    by_hand = [[0, 0, 0], [60, 0, 0], [60, 50, 0], [60, 50, 30]]
    assert tube.vertices == pytest.approx(np.array(by_hand, float), abs=1e-9)


@pytest.mark.parametrize("seed", range(60))
def test_least_distance_is_that_of_dense_samples(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tube = random_tube(rng, int(rng.integers(0, 5)))
    solids: list[Solid] = [
        random_solid(rng, side=SIDE, square=0.4) for _ in range(int(rng.integers(1, 6)))
    ]
    solids.append(HalfSpace(point=(0.0, 0.0, -20.0), normal=(0.0, 0.6, 0.8)))
    cut = (float(rng.uniform(0.0, 9.0)), float(rng.uniform(0.0, 9.0)))
    if min(tube.straights[0], tube.straights[-1]) < sum(cut):
        cut = (0.0, 0.0)
    points = points_on(tube, apart=SPACING, covered=cut)
    sampled = [float(signed_distance(solid, points).min()) for solid in solids]
    around = laid_out([Obstacle(name=str(n), solid=s) for n, s in enumerate(solids)])
    pieces = cut_back(laid(tube.vertices, tube.radius).pieces, *cut)
    least, number, where = least_distance(pieces, around)
    # Both are distances that occur. The truth is no more than the resolution below the
    # one, and no more than half the spacing below the other.
    assert least - GAP_RESOLUTION <= min(sampled) + 1e-9
    assert min(sampled) <= least + SPACING / 2.0
    there = float(signed_distance(solids[number], np.array([where]))[0])
    assert there == pytest.approx(least, abs=1e-9)
    assert np.linalg.norm(points - where, axis=1).min() <= SPACING


def test_what_is_far_is_not_looked_at_closely_but_never_comes_too_near() -> None:
    rng = np.random.default_rng(4)
    for _ in range(30):
        tube = random_tube(rng, 3)
        solid = random_solid(rng, side=SIDE, square=0.5)
        around = laid_out([Obstacle(name="one", solid=solid)])
        pieces = laid(tube.vertices, tube.radius).pieces
        exact, _, _ = least_distance(pieces, around)
        for enough in (exact - 1.0, exact + 1.0):
            found, _, _ = least_distance(pieces, around, enough=enough)
            assert (found < enough) == (exact < enough)


@pytest.mark.parametrize("side", [28.0 - 10.0, 28.0 + 10.0])
def test_least_distance_along_a_whole_arc(side: float) -> None:
    """A post about the arc's own axis: every point of the arc is equally near."""
    table = bent([(80.0, 0.0, 90.0)], closing=80.0)
    tube = laid_tube(
        table,
        start=(0.0, 0.0, 0.0),
        direction=AXES["+x"],
        towards=np.array([0, 1.0, 0]),
    )
    post = Cylinder(
        frame=axis_frame((80.0, 28.0, 0.0), AXES["+z"]), diameter=2.0 * side, height=9.0
    )
    least, _, _ = least_distance(
        tube.pieces, laid_out([Obstacle(name="post", solid=post)])
    )
    # Outside it is 28 less the radius; inside, the flat end at 4.5 is nearer.
    wanted = 28.0 - side if side < 28.0 else -4.5
    assert least == pytest.approx(wanted, abs=GAP_RESOLUTION)


def test_a_corner_beside_a_straight() -> None:
    """A knife edge across the tube, 3 above it, where no sample is likely to fall."""
    edge = Box(frame=Frame(origin=(math.pi * 10.0, 0.0, 8.0)), size=(0.0, 50.0, 10.0))
    table = BendTable(bends=(), closing_straight=100.0, radius=1.0)
    tube = laid_tube(
        table, start=(0.0, 0.0, 0.0), direction=AXES["+x"], towards=np.zeros(3)
    )
    least, _, where = least_distance(
        tube.pieces, laid_out([Obstacle(name="edge", solid=edge)])
    )
    assert 3.0 <= least <= 3.0 + GAP_RESOLUTION
    assert where[0] == pytest.approx(math.pi * 10.0, abs=0.05)


@pytest.mark.parametrize(("rise", "crossing"), [(13.98, True), (14.02, False)])
def test_a_tube_over_itself(rise: float, crossing: bool) -> None:
    """Round a square of 100 mm and over its own first leg, 14 mm of tube."""
    corners = np.array([
        [0, 0, 0], [200, 0, 0], [200, 0, 90], [200, 100, 90], [100, 100, 90],
        [100, 100, rise], [100, -100, rise],
    ], float)  # fmt: skip
    pieces = laid(corners, 20.0).pieces
    assert crosses_itself(pieces, 14.0) == crossing
