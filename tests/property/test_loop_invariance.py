"""What must not matter to a whole loop does not: order, turns, mirrors, what is kept.

Loops are laid first, so that each surely has a solution (`known_loops`); in most of
them the best routes of the runs are in each other's way. By default a few are solved;
thirty with ``LOOPSOLVER_FULL=1``.
"""

from dataclasses import fields, replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import Point, point
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.solving import Loop, LoopRun, solve_loop
from loopsolver.scene.model import Body, Component, Port, Scene
from tests.full import few_or_all
from tests.property.laid_tubes import points_on, tube_of
from tests.unit.routing.known_loops import CLEARANCE, TUBE_RADIUS, random_loop

KEY = RANKINGS["bends"]

SEEDS = few_or_all((1, 5, 9), range(30))
"""By default entangled loops of four and of five runs, and three runs that are not."""

AS_LONG = 0.5
"""Lengths of equal loops may differ by this: less than a saw and a file leave [mm]."""

NO_LIMIT = float("inf")
"""Seconds: what ends the rounds must not be how busy the machine is."""


@cache
def scene_of(seed: int) -> Scene:
    runs = 3 + seed % 3
    scene, _ = random_loop(
        seed, side=120.0 + 10.0 * runs, runs=runs, bodies=2 * runs + 4, stretch=0.5
    )
    return scene


@cache
def solved(seed: int) -> Loop:
    scene = scene_of(seed)
    return solve_loop(scene, scene.runs, key=KEY, seconds=NO_LIMIT)


def figures(loop: Loop) -> tuple[int, float, float]:
    """Runs laid, bends and length."""
    laid = sum(run.chosen is not None for run in loop.runs)
    return laid, loop.total[0], loop.total[1]


def assert_as_good(one: Loop, other: Loop) -> None:
    assert figures(one)[:2] == figures(other)[:2]
    assert figures(one)[2] == pytest.approx(figures(other)[2], abs=AS_LONG)


def assert_no_better(one: Loop, other: Loop) -> None:
    (laid, bends, length), (most, least, shortest) = figures(one), figures(other)
    assert (-laid, bends) >= (-most, least)
    if (laid, bends) == (most, least):
        assert length >= shortest - AS_LONG


@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_input_gives_the_same_output_bit_for_bit(seed: int) -> None:
    scene = scene_of(seed)
    again = solve_loop(scene, scene.runs, key=KEY, seconds=NO_LIMIT)
    assert _plain(again) == _plain(solved(seed))


def _plain(loop: Loop) -> list[object]:
    """All of a loop that can be compared; routes are told apart by identity."""
    told: list[object] = [
        getattr(loop, field.name) for field in fields(loop) if field.name != "runs"
    ]
    for run in loop.runs:
        told += [run.request, run.why, run.refused]
        told += [_told(route) for route in (*run.alone, *run.beside, run.chosen)]
    return told


def _told(route: object) -> object:
    return None if route is None else (route.ports, route.candidate)  # type: ignore[attr-defined]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_order_of_the_runs_does_not_matter(seed: int) -> None:
    scene = scene_of(seed)
    for runs in (scene.runs[::-1], (*scene.runs[1:], scene.runs[0])):
        turned = replace(scene, runs=runs)
        assert_as_good(
            solve_loop(turned, runs, key=KEY, seconds=NO_LIMIT), solved(seed)
        )


# ---------------------------------------------------------------- turns and mirrors

QUARTER = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
TIPPED = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
MIRROR = np.diag([-1.0, 1.0, 1.0])

MOVES = {"quarter turn": QUARTER, "axes go round": TIPPED, "mirror": MIRROR}


def moved(scene: Scene, matrix: np.ndarray) -> Scene:
    """A scene of boxes along the axes, turned or mirrored into a case at the datum."""
    inner = np.array(scene.case_inner)
    low = np.minimum(matrix @ inner, 0.0)

    def place(at: Point) -> Point:
        return point(matrix @ np.array(at) - low)

    def body(of: Body) -> Body:
        assert isinstance(of.solid, Box)
        assert of.solid.frame == Frame(origin=of.solid.frame.origin)
        frame = Frame(origin=place(of.solid.frame.origin))
        size = point(np.abs(matrix @ np.array(of.solid.size)))
        return Body(name=of.name, solid=Box(frame=frame, size=size))

    def port(of: Port) -> Port:
        along = matrix @ np.array(of.direction) + 0.0
        return replace(of, position=place(of.position), direction=point(along))

    def part(of: Component) -> Component:
        return Component(
            name=of.name,
            bodies=tuple(body(one) for one in of.bodies),
            ports=tuple(port(one) for one in of.ports),
        )

    return replace(
        scene,
        case_inner=point(np.abs(matrix @ inner)),
        up=point(matrix @ np.array(scene.up) + 0.0),
        components=tuple(part(one) for one in scene.components),
        keep_outs=tuple(body(one) for one in scene.keep_outs),
    )


@pytest.mark.parametrize("name", MOVES)
@pytest.mark.parametrize("seed", SEEDS)
def test_a_scene_turned_or_mirrored_has_as_good_a_loop(seed: int, name: str) -> None:
    scene = moved(scene_of(seed), MOVES[name])
    assert_as_good(
        solve_loop(scene, scene.runs, key=KEY, seconds=NO_LIMIT), solved(seed)
    )


def test_four_quarter_turns_are_none() -> None:
    """The turning itself: a scene turned all the way round is the same scene."""
    scene = turned = scene_of(0)
    for _ in range(4):
        turned = moved(turned, QUARTER)
    for one, two in zip(scene.components, turned.components, strict=True):
        assert one.ports[0].direction == two.ports[0].direction
        assert one.ports[0].position == pytest.approx(two.ports[0].position, abs=1e-9)
    assert turned.case_inner == pytest.approx(scene.case_inner)


# ---------------------------------------------------------------- what is kept


@pytest.mark.parametrize("seed", SEEDS)
def test_keeping_all_that_was_chosen_changes_nothing(seed: int) -> None:
    scene, free = scene_of(seed), solved(seed)
    kept = {run.request.name: run.chosen.candidate for run in free.runs if run.chosen}
    loop = solve_loop(scene, scene.runs, key=KEY, seconds=NO_LIMIT, kept=kept)
    assert figures(loop) == pytest.approx(figures(free), abs=1e-9)
    assert {r.request.name: r.chosen.candidate for r in loop.runs if r.chosen} == kept


@pytest.mark.parametrize("seed", few_or_all((9,), SEEDS))
def test_a_kept_candidate_is_chosen_and_never_makes_the_loop_better(seed: int) -> None:
    scene, free = scene_of(seed), solved(seed)
    for run in _entangled(free)[:2]:
        assert run.chosen is not None
        others = [route for route in run.alone if route.key != run.chosen.key]
        kept = (others or [run.chosen])[0]
        loop = solve_loop(
            scene,
            scene.runs,
            key=KEY,
            seconds=NO_LIMIT,
            kept={run.request.name: kept.candidate},
        )
        (own,) = (one for one in loop.runs if one.request.name == run.request.name)
        assert own.chosen is not None
        assert own.chosen.candidate == kept.candidate
        assert_no_better(loop, free)
        assert _are_clear(loop)


def _entangled(loop: Loop) -> list[LoopRun]:
    """The runs whose chosen route is not the best of their own first, then the others."""

    def lacking(run: LoopRun) -> bool:
        assert run.chosen is not None
        best = min(KEY(route.candidate) for route in run.alone)
        return KEY(run.chosen.candidate) > best

    laid = [run for run in loop.runs if run.chosen is not None and run.alone]
    return sorted(laid, key=lacking, reverse=True)


def _are_clear(loop: Loop) -> bool:
    """Whether points on the chosen tubes are as far apart as they must be."""
    rows = [
        points_on(tube_of(run.chosen.candidate), apart=1.0, covered=(0.0, 0.0))
        for run in loop.runs
        if run.chosen is not None
    ]
    return all(
        np.linalg.norm(one[:, None] - two[None], axis=2).min()
        >= 2.0 * TUBE_RADIUS + CLEARANCE - 2e-4
        for one, two in combinations(rows, 2)
    )
