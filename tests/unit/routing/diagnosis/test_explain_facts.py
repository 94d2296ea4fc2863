"""The formulas and measures behind reasons, held to laid tubes and to brute force."""

import math
from itertools import product

import numpy as np
import pytest

from loopsolver.routing.diagnosis.facts import (
    can_turn,
    least_advance,
    least_return,
    least_set,
    simple_tube_facts,
)
from loopsolver.routing.diagnosis.no_route import FacingTooNear
from loopsolver.routing.diagnosis.room import in_front_of
from loopsolver.routing.solve import problems_of
from tests.builders.scenes import COLLAR, box
from tests.builders.tubes import bent, laid_along_x
from tests.unit.routing.explain_scenes import (
    REACH,
    At,
    build,
)
from tests.unit.routing.touching import clipped_distance

ALONG, UP = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])


def laid(angles_deg: list[float], straights: list[float], radius: float) -> np.ndarray:
    """Vertices of a flat tube whose second bend turns back (or on, below zero)."""
    rows = (
        (straight, 0.0 if number == 0 or angle < 0.0 else 180.0, abs(angle))
        for number, (angle, straight) in enumerate(
            zip(angles_deg, straights[:-1], strict=True)
        )
    )
    table = bent(rows, closing=straights[-1], radius=radius)
    return np.array(laid_along_x(table, towards=(0.0, 0.0, 1.0)).vertices)


@pytest.mark.parametrize("angle_deg", [10.0, 22.5, 30.0, 45.0, 60.0, 90.0, 120.0])
@pytest.mark.parametrize(
    ("radius", "between"), [(28.0, 15.0), (21.0, 0.5), (42.0, 60.0)]
)
def test_least_set_and_advance_are_those_of_the_tube_laid_out(
    angle_deg: float, radius: float, between: float
) -> None:
    # [M] Two arcs of R (1 - cos a) and a straight of s sin a to the side.
    ends = (17.0, 22.0)
    at = laid([angle_deg, angle_deg], [ends[0], between, ends[1]], radius)
    angle = math.radians(angle_deg)
    aside = least_set(radius, angle, between)
    assert at[-1] @ UP == pytest.approx(aside)
    assert least_advance(radius, angle, aside, ends) == pytest.approx(at[-1] @ ALONG)


def test_least_set_of_square_bends_is_two_radii_and_the_straight() -> None:
    assert least_set(28.0, math.pi / 2.0, 15.0) == pytest.approx(71.0)


def test_least_set_at_published_multipliers() -> None:
    # NAVEDTRA 14026, table 5-4: the travel of an offset is its set times 1.414 at 45
    # and 2.000 at 30 degrees, vertex to vertex. The least set is where that travel is
    # two tangent lengths and the straight between.
    for angle_deg, multiplier in ((45.0, 1.414), (30.0, 2.000)):
        angle = math.radians(angle_deg)
        travel = multiplier * least_set(28.0, angle, 15.0)
        assert travel == pytest.approx(
            2.0 * 28.0 * math.tan(angle / 2) + 15.0, abs=0.01
        )


@pytest.mark.parametrize("first_deg", [45.0, 60.0, 90.0, 120.0])
def test_least_return_is_that_of_the_tube_laid_out(first_deg: float) -> None:
    at = laid([first_deg, first_deg - 180.0], [10.0, 15.0, 10.0], 28.0)
    assert (at[-1] - at[-2]) @ ALONG < 0.0
    assert at[-1] @ UP == pytest.approx(
        least_return(28.0, math.radians(first_deg), 15.0)
    )


# ----------------------------------------------------------------------- what can turn


def turns_reached(angles_deg: tuple[float, ...], bends: int) -> np.ndarray:
    """Angles off the start after so many bends, rolled every way a degree apart."""
    rolls = np.radians(np.arange(0.0, 181.0))
    found = []
    for chosen in product(angles_deg, repeat=bends):
        turned = np.array([0.0])
        for angle in map(math.radians, chosen):
            # Spherical law of cosines: one side known, the next bend rolled about it.
            cosine = np.cos(turned)[:, None] * math.cos(angle) + np.sin(turned)[
                :, None
            ] * math.sin(angle) * np.cos(rolls)
            turned = np.unique(np.round(np.arccos(np.clip(cosine, -1.0, 1.0)), 4))
        found.append(turned)
    return np.concatenate([*found, [0.0] if bends == 0 else []])


@pytest.mark.parametrize(
    ("angles_deg", "bends"),
    [
        ((90.0,), 1),
        ((90.0,), 2),
        ((45.0,), 2),
        ((45.0,), 3),
        ((20.0, 75.0), 2),
        ((30.0, 60.0), 3),
        ((120.0,), 2),
        ((10.0,), 4),
    ],
)
def test_what_angles_bends_can_turn_through(
    angles_deg: tuple[float, ...], bends: int
) -> None:
    # Fewer bends are allowed as well.
    reached = np.concatenate(
        [turns_reached(angles_deg, count) for count in range(bends + 1)]
    )
    angles = [math.radians(angle) for angle in angles_deg]
    for through_deg in np.arange(0.0, 180.5, 0.5):
        through = math.radians(float(through_deg))
        nearest = float(np.degrees(np.abs(reached - through).min()))
        if can_turn(angles, through=through, bends=bends):
            assert nearest < 1.2, through_deg
        else:
            assert nearest > 0.005, through_deg


def test_many_angles_and_bends_take_no_time() -> None:
    angles = [math.radians(angle) for angle in range(1, 8)]
    assert can_turn(angles, through=math.radians(140.0), bends=20)
    assert not can_turn(angles, through=math.radians(140.5), bends=20)


# --------------------------------------------------------------------- before the ports


def random_front(seed: int):
    """A scene with a few bodies about the first bends of one port."""
    rng = np.random.default_rng(seed)
    bodies = []
    for number in range(4):
        middle = np.array([95.0, 150.0, 150.0]) + rng.uniform(-25.0, 25.0, 3)
        half = rng.uniform(3.0, 14.0, 3)
        bodies.append(box(f"body {number}", tuple(middle - half), tuple(middle + half)))
    scene = build(
        At((60.0, 150.0, 150.0), "+x"), At((260.0, 60.0, 60.0), "-x"), *bodies
    )
    return problems_of(scene, scene.runs[0])[0]


@pytest.mark.parametrize("seed", range(40))
def test_what_is_too_near_to_the_first_straight_is_exact(seed: int) -> None:
    problem = random_front(seed)
    along = np.linspace(COLLAR.depth, COLLAR.depth + COLLAR.straight_beyond, 2001)
    points = np.array(problem.start.seat) + along[:, None] * ALONG
    distance = {
        o.name: clipped_distance(o.solid, points).min() for o in problem.obstacles
    }
    name = min(distance, key=lambda one: distance[one])
    lacking = REACH - distance[name]
    fronts = [f for f in in_front_of(problem, ("pump.out", "gpu.in")) if f.is_straight]
    if lacking <= 0.05:
        assert not fronts
        return
    (front,) = fronts
    if distance[name] > 0.0:
        assert front.fact.near.name == name
        assert front.fact.near.by == pytest.approx(lacking, abs=1e-3)
    else:
        assert front.fact.near.by >= REACH
    assert front.fact.port == "pump.out"
    assert front.fact.length == COLLAR.depth + COLLAR.straight_beyond


def free_first_bend(problem) -> bool:
    """Whether samples find a free square bend after some straight out of the start."""
    radius = problem.bend_radius
    seat = np.array(problem.start.seat)
    quarter = np.linspace(0.0, math.pi / 2.0, 40)
    for straight in np.arange(17.0, 250.0, 2.0):
        line = seat + np.arange(COLLAR.depth, straight, 1.0)[:, None] * ALONG
        if any(
            (clipped_distance(o.solid, line) < REACH).any() for o in problem.obstacles
        ):
            return False
        for roll in np.radians(np.arange(0.0, 360.0, 15.0)):
            side = np.array([0.0, math.cos(roll), math.sin(roll)])
            arc = (
                seat
                + straight * ALONG
                + radius * np.sin(quarter)[:, None] * ALONG
                + radius * (1.0 - np.cos(quarter))[:, None] * side
            )
            if all(
                (clipped_distance(o.solid, arc) >= REACH - 0.04).all()
                for o in problem.obstacles
            ):
                return True
    return False


@pytest.mark.parametrize("seed", range(40))
def test_a_first_bend_is_called_impossible_only_where_samples_find_none(
    seed: int,
) -> None:
    problem = random_front(seed)
    fronts = in_front_of(problem, ("pump.out", "gpu.in"))
    if any(front.is_straight for front in fronts):
        return
    assert bool(fronts) != free_first_bend(problem)


def test_the_random_fronts_are_of_every_kind() -> None:
    kinds = {
        tuple(f.is_straight for f in in_front_of(random_front(seed), ("a", "b")))
        for seed in range(40)
    }
    assert {(), (True,), (False,)} <= kinds


def test_a_short_tube_between_ports_in_line_is_told_its_least() -> None:
    scene = build(
        At((100.0, 150.0, 150.0), "+x"), At((112.0, 150.0, 150.0), "-x"), max_bends=0
    )
    problem = problems_of(scene, scene.runs[0])[0]
    ports = ("pump.out", "gpu.in")
    (told,) = simple_tube_facts(problem, ports)
    assert isinstance(told, FacingTooNear)
    assert told.ports == ports
    assert (told.needed, told.there_is) == pytest.approx((17.0, 12.0))
