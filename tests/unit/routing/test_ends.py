"""How a tube leaves a collar and an elbow: places, straights and room, by hand.

The port points up from (100, 100, 100). Tube of 14 mm, clearance 3 mm: its axis keeps
10 mm from everything. The collar is 20 mm high and 22 mm across and holds 12 mm of the
tube; the elbow's outlet is 18 mm above the face and its mouth 20 mm from there.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.solids import Cylinder, bounds
from loopsolver.geometry.vectors import Point
from loopsolver.routing.effort import USUAL
from loopsolver.routing.ends import (
    EndChoice,
    end_choice,
    end_choices,
    has_room,
    outlets,
    problem_between,
    runs_through,
)
from loopsolver.scene.model import Fitting
from loopsolver.tolerances import OVERLAP_DOUBT
from loopsolver.tube.centreline import Centreline
from tests.builders import scenes
from tests.builders.problems import case_walls
from tests.builders.scenes import COLLAR, box, elbow, part, port, wanted

AT, UP, ASIDE = (100.0, 100.0, 100.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
PUMP = port("pump.out", AT, "+z", fittings=(elbow(), COLLAR))
GOAL = port("card.in", (30.0, 100.0, 110.0), "+x")
SCENE = scenes.scene(
    part("pump", PUMP, box("pump", (80.0, 80.0, 60.0), (120.0, 120.0, 100.0))),
    part("card", GOAL),
    inner=(300.0, 300.0, 300.0),
    runs=[wanted("one", "pump.out", "card.in")],
)
RUN = SCENE.runs[0]


def straight(**changes: Any) -> EndChoice:
    return end_choice(SCENE, PUMP, replace(COLLAR, **changes), UP)


def turned(**changes: Any) -> EndChoice:
    return end_choice(SCENE, PUMP, elbow(**changes), ASIDE)


def test_out_of_a_collar_the_tube_goes_on_as_the_port_points() -> None:
    choice = straight()
    assert choice.end.seat == (100.0, 100.0, 108.0)
    assert choice.end.direction == UP
    assert (choice.end.straight, choice.end.covered) == (17.0, 12.0)
    told = choice.fitting
    assert (told.port, told.fitting, told.outlet) == ("pump.out", "collar", UP)
    assert (told.mouth, told.is_elbow) == ((100.0, 100.0, 120.0), False)
    assert [one.name for one in choice.bodies] == ["fitting on pump.out"]


@pytest.mark.parametrize(
    ("height", "beyond", "covered"), [(10, 5, 4), (6, 5, 8), (6, 2, 6), (20, 0, 4)]
)
def test_before_a_low_collar_the_tube_is_covered_until_it_is_off_the_face(
    height: float, beyond: float, covered: float
) -> None:
    """4 mm in the collar, and 10 mm less its height; never past the straight."""
    choice = straight(height=height, depth=4.0, straight_beyond=beyond)
    assert choice.end.covered == covered
    assert choice.end.straight == 4.0 + beyond


def only_body(bodies: tuple[Obstacle, ...]) -> np.ndarray:
    (body,) = bodies
    assert body.name.endswith("on pump.out")
    return bounds(body.solid)


def test_the_core_of_a_collar_is_smaller_by_the_clearance() -> None:
    """From 3 mm above the face to 10 mm below the mouth, 3 mm less all round."""
    wanted_core = [[92.0, 92.0, 103.0], [108.0, 108.0, 110.0]]
    np.testing.assert_allclose(only_body(straight().core), wanted_core, atol=1e-9)
    assert straight(height=13.0).core == ()
    assert len(straight(height=13.1).core) == 1
    assert straight(diameter=6.0).core == ()


def test_out_of_an_elbow_the_tube_goes_aside() -> None:
    choice = turned()
    assert choice.end.seat == (108.0, 100.0, 118.0)
    assert choice.end.direction == ASIDE
    assert (choice.end.straight, choice.end.covered) == (17.0, 12.0)
    told = choice.fitting
    assert (told.port, told.fitting, told.outlet) == ("pump.out", "elbow", ASIDE)
    assert (told.mouth, told.is_elbow) == ((120.0, 100.0, 118.0), True)
    assert [one.name for one in choice.bodies] == ["elbow on pump.out"] * 2


def test_the_core_of_an_elbow_is_its_stem_less_the_clearance() -> None:
    """The stem ends 11 mm above the outlet's axis: 29 mm, of which 23 are left."""
    wanted_core = [[92.0, 92.0, 103.0], [108.0, 108.0, 126.0]]
    np.testing.assert_allclose(only_body(turned().core), wanted_core, atol=1e-9)
    # The tube's end at the mouth is `reach` less 8 mm from it, and its radius is 7.
    assert turned(reach=17.9).core == ()
    assert len(turned(reach=18.1).core) == 1
    assert turned(diameter=6.0).core == ()


def test_an_elbow_has_eight_outlets_evenly_round_the_port_a_collar_one() -> None:
    assert outlets(PUMP, COLLAR) == (UP,)
    flat = outlets(PUMP, elbow())
    for axis in [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0)]:
        assert axis in flat  # to the last bit
    for turn_deg in (90.0, 45.0, 60.0):
        found = np.array(outlets(PUMP, elbow(turn_deg=turn_deg)))
        assert len(found) == 8
        turn = math.radians(turn_deg)
        assert found @ UP == pytest.approx(np.full(8, math.cos(turn)), abs=1e-12)
        flat_part = found[:, :2] / math.sin(turn)
        neighbours = (flat_part * np.roll(flat_part, 1, axis=0)).sum(axis=1)
        assert neighbours == pytest.approx(np.full(8, math.sqrt(0.5)))


def room(
    low: Point, high: Point, *, name: str = "box", fitting: Fitting | None = None
) -> bool:
    """Whether the elbow that looks along +x has room beside a box."""
    body = box(name, low, high)
    around = (Obstacle(name=name, solid=body.solid),)
    return has_room(SCENE, PUMP, fitting or elbow(), ASIDE, around)


@pytest.mark.parametrize(("apart", "wanted_room"), [(3.1, True), (2.9, False)])
def test_arm_and_head_keep_the_clearance(apart: float, wanted_room: bool) -> None:
    """The arm ends at x = 120; the head, of 22 mm, at 89; both reach up to z = 129."""
    for low, high in (
        ((120 + apart, 90, 110), (150, 110, 126)),
        ((60, 90, 110), (89 - apart, 110, 126)),
        ((90, 90, 129 + apart), (99, 110, 150)),
        ((105, 90, 129 + apart), (115, 110, 150)),
    ):
        assert room(low, high) is wanted_room, (low, high)


@pytest.mark.parametrize(("into", "wanted_room"), [(-0.1, True), (0.1, False)])
def test_the_foot_may_stand_beside_a_body_not_in_it(
    into: float, wanted_room: bool
) -> None:
    """What is seen as measured wrong is no less."""
    edge = 89.0 + OVERLAP_DOUBT + into
    assert room((60.0, 90.0, 95.0), (edge, 110.0, 103.0)) is wanted_room


@pytest.mark.parametrize(("start", "wanted_room"), [(120.1, True), (119.9, False)])
def test_of_its_own_part_only_the_arm_keeps_out(
    start: float, wanted_room: bool
) -> None:
    own = room((start, 90.0, 110.0), (150.0, 110.0, 126.0), name="pump")
    assert own is wanted_room
    assert room((60.0, 90.0, 80.0), (99.9, 110.0, 126.0), name="pump")


def test_a_straight_fitting_stands_where_the_scene_puts_it() -> None:
    assert room((0.0, 0.0, 0.0), (200.0, 200.0, 200.0), fitting=COLLAR)


def test_straight_ways_out_come_first_and_elbows_only_where_there_is_room() -> None:
    found = end_choices(SCENE, RUN, PUMP)
    assert [one.fitting.is_elbow for one in found] == [False] + [True] * 8
    shut = box("plate", (60.0, 60.0, 105.0), (88.0, 140.0, 140.0))
    some = replace(SCENE, keep_outs=(shut,))
    ways = [one.fitting.outlet for one in end_choices(some, RUN, PUMP)]
    assert UP in ways
    assert ASIDE not in ways  # its head is 1 mm away
    clear = replace(some, keep_outs=(box("plate", (60, 60, 105), (85, 140, 140)),))
    ways = [one.fitting.outlet for one in end_choices(clear, RUN, PUMP)]
    assert ASIDE in ways
    assert (-1.0, 0.0, 0.0) not in ways


def test_a_run_between_two_ends_has_the_rules_of_its_scene_or_its_own() -> None:
    first, last = straight(), end_choice(SCENE, GOAL, COLLAR, ASIDE)
    around = tuple(case_walls((300.0, 300.0, 300.0)))
    effort = USUAL.times(2)
    found = problem_between(SCENE, RUN, first, last, 25.0, around, effort=effort)
    assert (found.start, found.goal) == (first.end, last.end)
    assert (found.bend_radius, found.tube_radius, found.clearance) == (25.0, 7.0, 3.0)
    assert (found.straight_between_bends, found.trim_allowance) == (15.0, 30.0)
    assert (found.bend_angles_deg, found.max_bends, found.candidates) == ((90.0,), 5, 6)
    assert (found.room, found.obstacles) == (((0, 0, 0), SCENE.case_inner), around)
    assert found.own_fittings == (*first.bodies, *last.bodies)
    assert found.effort == effort
    own = replace(RUN, bend_angles_deg="any", max_bends=0)
    found = problem_between(SCENE, own, first, last, 25.0, around)
    assert (found.bend_angles_deg, found.max_bends, found.effort) == ("any", 0, USUAL)


SEAT, FAR = (100, 100, 108), (38, 100, 110)


def through(*vertices: Point) -> set[bool]:
    """Whether a tube runs through a fitting, told from either end."""
    tube = Centreline(vertices=vertices, radius=28.0)
    back = replace(tube, vertices=vertices[::-1])
    first, last = straight(), end_choice(SCENE, GOAL, COLLAR, ASIDE)
    return {
        runs_through((first, last), tube, tube_radius=7.0),
        runs_through((last, first), back, tube_radius=7.0),
    }


@pytest.mark.parametrize(("aside", "is_through"), [(0, True), (17, True), (19, False)])
def test_a_tube_that_comes_back_through_its_collar_is_told(
    aside: float, is_through: bool
) -> None:
    """Of 22 mm, and the tube of 14 mm: 18 mm beside its axis it is passed."""
    y = 100 + aside
    back = ((200, 100, 200), (200, y, 110), (-60, y, 110), (-60, y, 200))
    assert through(SEAT, (100, 100, 200), *back) == {is_through}


def test_what_leaves_a_collar_does_not_run_through_it() -> None:
    assert through(SEAT, (100, 100, 300)) == {False}
    # A bend of one degree right after the least straight of 17 mm.
    slight = (100 + 150 * math.sin(math.radians(1.0)), 100, 275.0)
    assert through(SEAT, (100, 100, 125.25), slight) == {False}


def test_a_fitting_is_a_cylinder_along_its_port() -> None:
    (body,) = straight().bodies
    assert isinstance(body.solid, Cylinder)
    assert (body.solid.diameter, body.solid.height) == (22.0, 20.0)
