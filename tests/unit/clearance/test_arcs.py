"""Blocked bends against dense sampling of the distance along their arcs."""

import math

import numpy as np
import pytest

from loopsolver.clearance.arcs import Arm, blocked_bends
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import AXES, point
from loopsolver.tolerances import GAP_RESOLUTION
from tests.builders.small_runs import random_frame
from tests.full import few_or_all
from tests.unit.routing.touching import (
    BLOCKED,
    UNSURE,
    Stretches,
    arcs,
    clipped_distance,
    verdicts,
)

CASES = 480
ARMS = [Arm(axis, sign) for axis in range(3) for sign in (1, -1)]
PAIRS = [(a, b) for a in ARMS for b in ARMS if a.axis != b.axis]

Nodes = tuple[np.ndarray, np.ndarray, np.ndarray]


def vector_of(arm: Arm) -> np.ndarray:
    vector = np.zeros(3)
    vector[arm.axis] = arm.sign
    return vector


def all_nodes(coordinates: Nodes) -> np.ndarray:
    return np.stack(np.meshgrid(*coordinates, indexing="ij"), axis=-1).reshape(-1, 3)


def found_blocked(
    solid: Solid,
    coordinates: Nodes,
    arms: tuple[Arm, Arm],
    *,
    radius: float,
    reach: float,
) -> np.ndarray:
    """What the package says, spread out over all nodes."""
    blocked = np.zeros([len(c) for c in coordinates], dtype=bool)
    found = blocked_bends(solid, coordinates, arms=arms, radius=radius, reach=reach)
    if found is not None:
        blocked[found[0]] |= found[1]
    return blocked.ravel()


def sampled(
    solid: Solid,
    coordinates: Nodes,
    arms: tuple[Arm, Arm],
    *,
    radius: float,
    reach: float,
) -> np.ndarray:
    nodes = all_nodes(coordinates)
    first, second = (np.tile(vector_of(arm), (len(nodes), 1)) for arm in arms)
    return verdicts(arcs(nodes, first, second, radius), solid, limit=reach)


def random_solid(rng: np.random.Generator, kind: str) -> Solid:
    square = 1.0 if kind.startswith("square") else 0.0
    frame = random_frame(rng, point(rng.uniform(-25, 25, 3)), square=square)
    if kind.endswith("box"):
        return Box(frame=frame, size=point(rng.uniform(0.5, 40.0, 3)))
    diameter, height = rng.uniform(0.5, 40.0, 2)
    return Cylinder(frame=frame, diameter=float(diameter), height=float(height))


def random_nodes(rng: np.random.Generator) -> Nodes:
    x, y, z = (
        np.sort(rng.uniform(-60.0, 60.0, int(rng.integers(3, 10)))) for _ in range(3)
    )
    return x, y, z


@pytest.mark.parametrize(
    "kind", ["square box", "square cylinder", "turned box", "turned cylinder"]
)
def test_blocked_bends_are_those_whose_sampled_arc_is_too_near(kind: str) -> None:
    blocked_count, free_count, unsure_count = 0, 0, 0
    for seed in range(CASES):
        rng = np.random.default_rng(seed)
        solid, nodes = random_solid(rng, kind), random_nodes(rng)
        radius, reach = float(rng.uniform(5.0, 40.0)), float(rng.uniform(0.5, 12.0))
        arms = PAIRS[seed % len(PAIRS)]
        wanted = sampled(solid, nodes, arms, radius=radius, reach=reach)
        found = found_blocked(solid, nodes, arms, radius=radius, reach=reach)
        sure = wanted != UNSURE
        assert (found == (wanted == BLOCKED))[sure].all(), f"seed {seed}"
        blocked_count += int((wanted == BLOCKED).sum())
        free_count += int((wanted > 0).sum())
        unsure_count += int((~sure).sum())
    assert blocked_count > CASES
    assert free_count > CASES
    assert unsure_count < CASES / 20


def test_bends_near_walls_askew_are_those_whose_sampled_arc_is_too_near() -> None:
    for seed in range(CASES):
        rng = np.random.default_rng(seed)
        normal = rng.normal(size=3)
        wall = HalfSpace(
            point=point(rng.uniform(-25, 25, 3)),
            normal=point(normal / np.linalg.norm(normal)),
        )
        nodes, arms = random_nodes(rng), PAIRS[seed % len(PAIRS)]
        wanted = sampled(wall, nodes, arms, radius=20.0, reach=6.0)
        found = found_blocked(wall, nodes, arms, radius=20.0, reach=6.0)
        sure = wanted != UNSURE
        assert (found == (wanted == BLOCKED))[sure].all(), f"seed {seed}"


def test_square_walls_are_met_by_a_tangent_point_before_the_arc() -> None:
    """What is left to the straights: a bend too near has a tangent point too near."""
    for seed, (name, normal) in enumerate(sorted(AXES.items())):
        rng = np.random.default_rng(seed)
        wall = HalfSpace(point=point(rng.uniform(-25, 25, 3)), normal=normal)
        for arms in PAIRS:
            nodes = random_nodes(rng)
            wanted = sampled(wall, nodes, arms, radius=20.0, reach=6.0)
            assert not found_blocked(wall, nodes, arms, radius=20.0, reach=6.0).any()
            away = np.array(normal)
            tangent_points = np.array(
                [all_nodes(nodes) + 20.0 * vector_of(arm) for arm in arms]
            )
            least = ((tangent_points - np.array(wall.point)) @ away).min(axis=0)
            assert (least[wanted == BLOCKED] < 6.0).all(), name


def one(x: float, y: float, z: float) -> Nodes:
    return np.array([x]), np.array([y]), np.array([z])


RIGHT_UP = (Arm(0, 1), Arm(1, 1))
"""A bend at a corner from which one arm goes along +x and one along +y."""


def test_arc_cuts_inside_the_corner_by_root_two_less_one() -> None:
    """The arc passes (sqrt 2 - 1) CLR from the vertex: a closed form.

    A thin square post on the diagonal is blocked from inside that far to outside it.
    """
    radius, reach, half = 30.0, 5.0, 0.5
    cut = (math.sqrt(2.0) - 1.0) * radius
    for from_vertex, blocked in (
        # Its near corner lies half a diagonal nearer to the arc.
        (cut - reach - 0.01 - half * math.sqrt(2.0), False),
        (cut - reach + 0.01 - half * math.sqrt(2.0), True),
        (cut + reach - 0.01 + half * math.sqrt(2.0), True),
        (cut + reach + 0.01 + half * math.sqrt(2.0), False),
    ):
        place = from_vertex / math.sqrt(2.0)
        post = Box(frame=Frame(origin=(place, place, 0.0)), size=(1.0, 1.0, 50.0))
        found = found_blocked(post, one(0, 0, 0), RIGHT_UP, radius=radius, reach=reach)
        assert found[0] == blocked, from_vertex


def test_round_post_in_the_hollow_of_a_bend() -> None:
    """About the arc's centre: free while CLR - post radius is at least the reach."""
    radius, reach = 30.0, 5.0
    for diameter, blocked in ((49.98, False), (50.02, True)):
        post = Cylinder(
            frame=axis_frame((30.0, 30.0, 0.0), (0.0, 0.0, 1.0)),
            diameter=diameter,
            height=100.0,
        )
        found = found_blocked(post, one(0, 0, 0), RIGHT_UP, radius=radius, reach=reach)
        assert found[0] == blocked


def test_plate_above_a_bend_is_measured_along_the_third_axis() -> None:
    for height, blocked in ((5.01, False), (4.99, True)):
        plate = Box(frame=Frame(origin=(0, 0, height + 1.0)), size=(200.0, 200.0, 2.0))
        found = found_blocked(plate, one(0, 0, 0), RIGHT_UP, radius=30.0, reach=5.0)
        assert found[0] == blocked


def test_touching_is_free() -> None:
    """A plate exactly at the reach above the bend, and a post touching it outside."""
    plate = Box(frame=Frame(origin=(0.0, 0.0, 6.0)), size=(200.0, 200.0, 2.0))
    assert not found_blocked(plate, one(0, 0, 0), RIGHT_UP, radius=30.0, reach=5.0)[0]
    post = Cylinder(
        frame=axis_frame((30.0, 30.0, 0.0), (0.0, 0.0, 1.0)), diameter=50.0, height=9.0
    )
    assert not found_blocked(post, one(0, 0, 0), RIGHT_UP, radius=30.0, reach=5.0)[0]


def test_turned_solids_of_a_round_shape_are_as_the_square_ones() -> None:
    """A cylinder turned about its own axis is the same cylinder: sought = closed form."""
    rng = np.random.default_rng(1)
    square = Cylinder(frame=Frame(origin=(5.0, 9.0, 3.0)), diameter=18.0, height=30.0)
    turn = math.radians(31.0)
    axes = (
        (math.cos(turn), math.sin(turn), 0.0),
        (-math.sin(turn), math.cos(turn), 0.0),
        (0.0, 0.0, 1.0),
    )
    turned = Cylinder(
        frame=Frame(origin=(5.0, 9.0, 3.0), axes=axes), diameter=18.0, height=30.0
    )
    for arms in PAIRS:
        nodes = random_nodes(rng)
        closed = found_blocked(square, nodes, arms, radius=25.0, reach=7.0)
        sought = found_blocked(turned, nodes, arms, radius=25.0, reach=7.0)
        assert (closed == sought).all()


def test_far_solid_blocks_nothing() -> None:
    far = Box(frame=Frame(origin=(500.0, 0.0, 0.0)), size=(9.0, 9.0, 9.0))
    nodes = one(0, 0, 0)
    assert blocked_bends(far, nodes, arms=RIGHT_UP, radius=9.0, reach=3.0) is None


@pytest.mark.parametrize(
    "kind", ["square box", "square cylinder", "turned box", "turned cylinder"]
)
def test_bends_are_judged_truly_a_ten_thousandth_from_the_limit(kind: str) -> None:
    """As truly as the check of a finished route: what it refuses is not offered."""
    checked, seeds = 0, few_or_all(range(500), range(1500))
    for seed in seeds:
        rng = np.random.default_rng(seed)
        solid, nodes = random_solid(rng, kind), one(*rng.uniform(-60.0, 60.0, 3))
        radius, arms = float(rng.uniform(8.0, 45.0)), PAIRS[seed % len(PAIRS)]
        first, second = (vector_of(arm)[None, :] for arm in arms)
        arc = arcs(all_nodes(nodes), first, second, radius)
        least = least_sampled(solid, arc)
        if not 0.5 < least < 15.0:
            continue
        checked += 1
        for beyond, blocked in ((GAP_RESOLUTION, True), (-GAP_RESOLUTION, False)):
            found = found_blocked(
                solid, nodes, arms, radius=radius, reach=least + beyond
            )
            assert found[0] == blocked, f"seed {seed}"
    assert checked > len(seeds) / 15


def least_sampled(solid: Solid, arc: Stretches) -> float:
    """The least distance of one arc, from 4000 samples and 2000 about the least."""
    length = float(arc.lengths[0])
    low, high = 0.0, length
    for count in (4001, 2001):
        walked = np.linspace(low, high, count)
        distance = clipped_distance(solid, arc.at(np.zeros(count, dtype=int), walked))
        step = (high - low) / (count - 1)
        place = walked[distance.argmin()]
        low, high = max(place - step, 0.0), min(place + step, length)
    return float(distance.min())
