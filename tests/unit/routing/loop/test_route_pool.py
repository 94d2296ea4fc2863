"""Which tubes and fittings get in each other's way, against dense sampling."""

from collections import Counter
from itertools import product

import numpy as np
import pytest

from loopsolver.clearance.gap import least_gap
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import Point, point
from loopsolver.routing.loop import route_pool
from loopsolver.routing.loop.route_pool import (
    Route,
    RoutePool,
    clash_table,
)
from loopsolver.routing.problem import Candidate
from loopsolver.tube.centreline import Centreline
from tests.unit.routing.known_loops import (
    BEND_RADIUS,
    TUBE_RADIUS,
    nearest,
    random_route,
    sampled,
)

CLEARANCE = 3.0
SAMPLING = 0.06
"""Points a millimetre apart on two tubes 13 mm apart miss less than this [mm]."""


def route_along(
    vertices: np.ndarray | list[Point], *, run: int = 0, **brought
) -> Route:
    line = Centreline(
        vertices=tuple(point(vertex) for vertex in vertices), radius=BEND_RADIUS
    )
    candidate = Candidate(
        centreline=line,
        gap=Gap(distance=9.0, name="wall", at=(0.0, 0.0, 0.0)),
        trim_allowance=20.0,
    )
    return Route(run=run, ports=("a.1", "b.1"), candidate=candidate, **brought)


def random_lines(rng: np.random.Generator, count: int) -> list[np.ndarray]:
    routes: list[np.ndarray] = []
    while len(routes) < count:
        route = random_route(rng, 200.0, 0.4)
        if route is not None:
            routes.append(route)
    return routes


@pytest.mark.parametrize("seed", range(6))
def test_tubes_clash_where_their_samples_are_too_near(seed: int) -> None:
    rng = np.random.default_rng(seed)
    some, others = random_lines(rng, 12), random_lines(rng, 15)
    found = clash_table(
        [route_along(route) for route in some],
        [route_along(route) for route in others],
        tube_radius=TUBE_RADIUS,
        clearance=CLEARANCE,
    )
    limit = 2.0 * TUBE_RADIUS + CLEARANCE
    compared = 0
    for row, one in enumerate(some):
        for column, two in enumerate(others):
            apart = nearest(sampled(one), sampled(two))
            if not limit <= apart <= limit + SAMPLING:
                assert found[row, column] == (apart < limit)
                compared += 1
    assert compared > 150
    assert 5 < found.sum() < found.size


@pytest.mark.parametrize("turned", [0.0, 30.0, 90.0])
@pytest.mark.parametrize(("gap", "clash"), [(2.99, True), (3.01, False)])
def test_a_hundredth_of_a_millimetre_decides(
    turned: float, gap: float, clash: bool
) -> None:
    turn = np.radians(turned)
    flat = route_along([(0, 0, 0), (100, 0, 0), (100, 100, 0)])
    # Past the inside of the bend, square to its plane: 18 mm from the bend's middle
    # line to its centre, so that a post through the centre has 18 mm less two radii.
    reach = BEND_RADIUS - 2.0 * TUBE_RADIUS - gap
    out = reach * np.array([np.sin(turn), -np.cos(turn), 0.0])
    base = np.array([100.0 - BEND_RADIUS, BEND_RADIUS, 0.0]) + out
    up = np.array([0.0, 0.0, 50.0])
    post = route_along([point(base - up), point(base + up)])
    table = clash_table([flat], [post], tube_radius=TUBE_RADIUS, clearance=CLEARANCE)
    assert bool(table[0, 0]) is clash


def collar(at: Point, along: Point, name: str) -> Obstacle:
    body = Cylinder(frame=axis_frame(at, along), diameter=16.0, height=14.0)
    return Obstacle(name=name, solid=body)


@pytest.mark.parametrize(("height", "clash"), [(15.9, True), (16.1, False)])
def test_a_tube_keeps_clear_of_fittings_it_did_not_know(
    height: float, clash: bool
) -> None:
    # A tube along x over a collar that stands along y: radii of 8 and 5 mm, and 3 mm.
    over = route_along([(-50, 0, height), (50, 0, height)])
    below = route_along(
        [(0, 0, 0), (0, 90, 0)], fittings=(collar((0, 0, 0), (0, 1, 0), "collar"),)
    )
    away = route_along([(0, 20, -100), (0, 90, -100)], fittings=below.fittings)
    for one, two in ((over, away), (away, over)):
        table = clash_table([one], [two], tube_radius=5.0, clearance=3.0)
        assert bool(table[0, 0]) is clash


@pytest.mark.parametrize("apart", [15.0, 16.5, 24.0])
def test_straight_fittings_just_must_not_meet_but_elbows_keep_clear(
    apart: float,
) -> None:
    one = collar((0, 0, 0), (0, 0, 1), "one")
    two = collar((apart, 0, 0), (0, 0, 1), "two")
    lines: list[list[Point]] = [
        [(0, 0, -200), (0, 0, -150)],
        [(apart, 99, -200), (apart, 99, -150)],
    ]
    straight = [
        route_along(line, fittings=(body,))
        for line, body in zip(lines, (one, two), strict=True)
    ]
    table = clash_table(straight[:1], straight[1:], tube_radius=5.0, clearance=3.0)
    assert bool(table[0, 0]) is (apart < 16.0)
    turned = route_along(lines[1], elbows=(two,))
    table = clash_table(straight[:1], [turned], tube_radius=5.0, clearance=3.0)
    assert bool(table[0, 0]) is (apart < 19.0)


def from_collar(points: np.ndarray, at: np.ndarray, along: np.ndarray) -> float:
    """The least distance of points to the surface of a collar, 0 inside."""
    own = points - at
    up = own @ along
    across = np.linalg.norm(own - up[:, None] * along, axis=1)
    beyond = np.maximum([np.abs(up) - 7.0, across - 8.0], 0.0)
    return float(np.hypot(*beyond).min())


@pytest.mark.parametrize("seed", range(4))
def test_tubes_and_collars_clash_where_samples_are_too_near(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Far from the limit none is measured exactly; near to it each pair once."""
    rng = np.random.default_rng(seed)
    lines, collars, routes = random_lines(rng, 24), [], []
    for line in lines:
        at, along = rng.uniform(50.0, 150.0, 3), np.eye(3)[rng.integers(0, 3)]
        body = collar(point(at), point(along), "collar")
        collars.append((at, along))
        routes.append(route_along(line, fittings=(body,)))
    measured = Counter[object]()

    def counting(line: Centreline, fittings: tuple[Obstacle], **options: float) -> Gap:
        measured[line, fittings] += 1
        return least_gap(line, fittings, **options)

    monkeypatch.setattr(route_pool, "least_gap", counting)
    some, others = range(10), range(10, 24)
    for _ in range(2):
        found = clash_table(
            routes[:10], routes[10:], tube_radius=TUBE_RADIUS, clearance=CLEARANCE
        )
    of_collars = 0
    for row, column in product(some, others):
        gaps = [
            from_collar(sampled(lines[tube]), *collars[other]) - TUBE_RADIUS
            for tube, other in ((row, column), (column, row))
        ]
        apart = nearest(sampled(lines[row]), sampled(lines[column]))
        are_tubes_clear = apart > 2.0 * TUBE_RADIUS + CLEARANCE + SAMPLING
        middles = np.linalg.norm(collars[row][0] - collars[column][0])
        unsure = any(CLEARANCE - 0.001 <= gap <= CLEARANCE + 0.1 for gap in gaps)
        if are_tubes_clear and middles > 30.0 and not unsure:
            assert found[row, column - 10] == (min(gaps) < CLEARANCE)
            of_collars += min(gaps) < CLEARANCE
    assert of_collars >= 3
    assert set(measured.values()) == {1}
    assert len(measured) < 2 * len(some) * len(others) / 3


@pytest.mark.parametrize("beyond", [-0.05, 0.05])
@pytest.mark.parametrize("seed", range(4))
def test_a_plate_beside_the_outermost_place_of_a_tilted_tube(
    seed: int, beyond: float
) -> None:
    """Where that is in the middle of a bend, chords of the bend do not reach it."""
    rng = np.random.default_rng(seed)
    turned, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    wanted = TUBE_RADIUS + CLEARANCE
    for line, axis in product(random_lines(rng, 6), range(3)):
        tilted = line @ turned
        outermost = sampled(tilted)[:, axis].max()
        size, middle = np.full(3, 900.0), tilted.mean(axis=0)
        size[axis], middle[axis] = 2.0, outermost + wanted + beyond + 1.0
        plate = Box(frame=Frame(origin=point(middle)), size=point(size))
        far_away = route_along(
            tilted + 2000.0, fittings=(Obstacle(name="plate", solid=plate),)
        )
        found = clash_table(
            [route_along(tilted)],
            [far_away],
            tube_radius=TUBE_RADIUS,
            clearance=CLEARANCE,
        )
        assert found.item() == (beyond < 0.0)


def test_what_is_known_of_a_pool_grows_with_it() -> None:
    rng = np.random.default_rng(5)
    first, second = random_lines(rng, 9), random_lines(rng, 9)
    whole = RoutePool(tube_radius=TUBE_RADIUS, clearance=CLEARANCE)
    whole.add(route_along(route) for route in first)
    whole.add(route_along(route, run=1) for route in second)
    bit_by_bit = RoutePool(tube_radius=TUBE_RADIUS, clearance=CLEARANCE)
    numbers: dict[int, tuple[int, int]] = {}
    for place in range(9):
        for run, routes in enumerate((first, second)):
            (new,) = bit_by_bit.add([route_along(routes[place], run=run)])
            numbers[new] = (run, place)
        bit_by_bit.clashing(0, 1)
    found = {(numbers[a][1], numbers[b][1]) for a, b in bit_by_bit.clashing(0, 1)}
    assert found == {(a, b - 9) for a, b in whole.clashing(0, 1)}
    assert whole.add([route_along(first[0])]) == []
