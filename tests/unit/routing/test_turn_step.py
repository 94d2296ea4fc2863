"""Turns held to multiples of a step: the least tubes, and why there is none."""

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from loopsolver.report.no_route import why_in_words
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.solve import solve_run
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders.problems import (
    BEND_RADIUS,
    BETWEEN,
    STRAIGHT,
    end_at,
    run_between,
)
from tests.full import few_or_all
from tests.property.laid_tubes import candidate_complaints
from tests.unit.routing.touching import Array

ROOMY = (4000.0, 4000.0, 4000.0)


def ways_of(angles: tuple[float, ...], turns: tuple[float, ...]) -> Array:
    """The directions of a tube's legs, by scipy's rotations of a frame it carries."""
    frame = Rotation.identity()
    ways = [frame.apply([1.0, 0.0, 0.0])]
    for angle, turn in zip(angles, (0.0, *turns), strict=True):
        frame = frame * Rotation.from_euler("x", turn, degrees=True)
        frame = frame * Rotation.from_euler("z", angle, degrees=True)
        ways.append(frame.apply([1.0, 0.0, 0.0]))
    return np.array(ways)


def least_length(
    problem: RouteProblem, angles: tuple[float, ...], turns: tuple[float, ...]
) -> float:
    """The least length of tubes with these bends and turns, bodies left out.

    The last direction stands to the first as the ports do, or there is no such tube; the
    legs are a linear programme. The ports must not be parallel.
    """
    ways = ways_of(angles, turns)
    start, home = np.array(problem.start.direction), -np.array(problem.goal.direction)
    if abs(ways[-1] @ ways[0] - home @ start) > 1e-9:
        return math.inf
    turned, off = Rotation.align_vectors([start, home], [ways[0], ways[-1]])
    assert off < 1e-6
    tangents = BEND_RADIUS * np.tan(np.radians([0.0, *angles, 0.0]) / 2.0)
    least = tangents[:-1] + tangents[1:] + BETWEEN
    least[[0, -1]] += STRAIGHT - BETWEEN
    found = linprog(
        np.ones(len(ways)),
        A_eq=turned.apply(ways).T,
        b_eq=np.subtract(problem.goal.seat, problem.start.seat),
        bounds=[(one, None) for one in least],
    )
    if not found.success:
        return math.inf
    saved = 2.0 * tangents[1:-1] - BEND_RADIUS * np.radians(angles)
    return float(found.fun - saved.sum())


def drawn(seed: int, *, bends: int, step: float) -> RouteProblem:
    """A run in open space for which a tube of so many bends and such turns was drawn."""
    rng = np.random.default_rng([seed, bends, round(step)])
    while True:
        angles = tuple(rng.choice([45.0, 90.0], bends).tolist())
        turns = tuple(
            (step * rng.integers(round(360.0 / step), size=bends - 1)).tolist()
        )
        ways = Rotation.random(random_state=rng).apply(ways_of(angles, turns))
        if abs(ways[0] @ ways[-1]) < 0.99:
            break
    legs = rng.uniform(90.0, 250.0, bends + 1)
    begin = np.full(3, 2000.0)
    problem = run_between(
        end_at(begin, ways[0]),
        end_at(begin + legs @ ways, -ways[-1]),
        angles=(45.0, 90.0),
        inner=ROOMY,
        max_bends=bends,
    )
    return replace(problem, turn_step_deg=step)


@pytest.mark.parametrize("step", [45.0, 90.0])
@pytest.mark.parametrize("bends", [2, 3])
@pytest.mark.parametrize("seed", few_or_all(range(2), range(30)))
def test_open_space_has_no_shorter_tube_of_such_turns(
    seed: int, bends: int, step: float
) -> None:
    """Against every sequence of bends and turns, its legs by scipy's linear programme."""
    problem = drawn(seed, bends=bends, step=step)
    found = find_candidates(problem).candidates
    assert found
    assert not any(candidate_complaints(one, problem) for one in found)
    turns = np.arange(0.0, 360.0, step).tolist()
    fewest = found[0].bends
    least = min(
        least_length(problem, angles, of_turns)
        for angles in product((45.0, 90.0), repeat=fewest)
        for of_turns in product(turns, repeat=fewest - 1)
    )
    ours = min(one.length for one in found if one.bends == fewest)
    assert ours == pytest.approx(least, abs=0.005)


def corner(step: str, *, off: float, bends: int = 3, units: str = "mm") -> Scene:
    """Two ports at a right angle whose axes miss each other by `off` along z."""
    one = 25.4 if units == "in" else 1.0
    text = f"""
format = 1
units = "{units}"
[case]
inner = ["400 mm", "400 mm", "400 mm"]
[tube]
material = "acrylic"
outer_diameter = "14 mm"
inner_diameter = "10 mm"
bend_radius = "28 mm"
stock_length = "1000 mm"
[rules]
bend_angles = [90]
turn_step = {step}
max_bends = {bends}
clearance = "3 mm"
straight_between_bends = "15 mm"
[fittings.collar]
height = "20 mm"
depth = "12 mm"
diameter = "22 mm"
straight_beyond = "5 mm"
[components.pump]
position = ["50 mm", "200 mm", "200 mm"]
[components.pump.ports.out]
position = [0, 0, 0]
direction = "+x"
[components.card]
position = ["250 mm", "330 mm", {(200.0 + off) / one}]
[components.card.ports.in]
position = [0, 0, 0]
direction = "-y"
[[runs]]
name = "pump to card"
from = "pump.out"
to = "card.in"
"""
    return scene_from_text(text, file="corner.toml")


def told(scene: Scene) -> str:
    why = solve_run(scene, scene.runs[0]).why
    assert why is not None
    return why_in_words(why, scene)


def test_ports_out_of_line_are_told_by_how_much() -> None:
    """The far port was put 1.7 mm higher; and with any turn there is a tube."""
    why = told(corner("90", off=1.7))
    assert why.startswith(
        "the ports are 1.7 mm out of line along z, which at most 3 bends with turns in "
        "multiples of 90 degrees cannot make up; possible "
    )
    assert "with turns of any angle (3 bends)" in why
    free = corner('"any"', off=1.7)
    assert solve_run(free, free.runs[0]).candidates[0].bends == 3


def test_the_same_in_inches() -> None:
    """1.7 mm are 1.7 / 25.4 = 0.0669 inches."""
    why = told(corner("45", off=1.7, units="in"))
    assert "0.067 in (1.7 mm) out of line along z" in why
    assert "multiples of 45 degrees" in why


@pytest.mark.parametrize("off", [0.0, 30.0])
def test_ports_in_line_or_far_out_of_it_are_not_told_of(off: float) -> None:
    scene = corner("90", off=off, bends=2)
    found = solve_run(scene, scene.runs[0]).candidates
    assert found or "out of line" not in told(scene)


def test_two_square_bends_have_the_turn_that_the_ports_ask_for() -> None:
    """Two bends of 90 degrees turned by t point cos(180 - t) along the first direction.

    So ports that stand so to each other have a tube of two bends if its turn is allowed,
    and none if not: 33.69 degrees is the roll of an offset of 8 by 12 (published, see
    `tests/published/test_rolling_offset_practice.py`).
    """
    for turn, steps in (
        (math.degrees(math.atan2(8.0, 12.0)), ("any",)),
        (135.0, ("any", 45.0)),
        (90.0, ("any", 45.0, 90.0)),
    ):
        ways = ways_of((90.0, 90.0), (turn,))
        legs = np.array([120.0, 200.0, 150.0])
        begin = np.full(3, 500.0)
        for step in ("any", 45.0, 90.0):
            problem = run_between(
                end_at(begin, ways[0]),
                end_at(begin + legs @ ways, -ways[-1]),
                angles=(90.0,),
                inner=ROOMY,
                max_bends=2,
            )
            found = find_candidates(replace(problem, turn_step_deg=step)).candidates
            assert bool(found) == (step in steps), (turn, step)
            for one in found:
                assert [abs(t) for t in one.turns_deg] == pytest.approx([turn])
