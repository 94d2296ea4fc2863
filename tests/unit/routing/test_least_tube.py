"""What no tube betters, against closed forms and against what full searches find."""

import math
from dataclasses import replace

import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.configurations import configurations
from loopsolver.routing.effort import USUAL
from loopsolver.routing.least_tube import LeastTube, least_tubes
from loopsolver.routing.loop.ports import port_pairs, with_ports
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.solve import solve_beside
from loopsolver.scene.model import Scene
from loopsolver.tolerances import NO_SHORTER
from tests.builders.port_cases import SPAN, across, plates, random_plates
from tests.builders.scenes import box
from tests.full import few_or_all
from tests.unit.routing.known_loops import BEND_RADIUS, CLEARANCE, FITTING, TUBE_RADIUS
from tests.unit.routing.loop.turned_plates import KINDS, turned

MIDDLE = (60.0, 40.0)


def problem_in(scene: Scene) -> RouteProblem:
    (run,) = scene.runs
    return next(configurations(scene, run, USUAL)).problem


def of_bends(tubes: tuple[LeastTube, ...], bends: int) -> list[float]:
    return [one.length for one in tubes if one.bends == bends]


def test_ports_in_line_leave_nothing_better_than_straight_on() -> None:
    scene = plates({"a": MIDDLE}, {"one": MIDDLE}, {"run": ("a", ("one",))})
    (only,) = least_tubes(problem_in(scene))
    assert (only.bends, only.planes) == (0, 0)
    assert only.length == pytest.approx(SPAN, abs=1e-3)


def test_ports_aside_have_two_bends_or_three_square_ones() -> None:
    aside = (60.0, 120.0)  # both legs across, square to each other: 100 mm are enough
    scene = plates({"a": MIDDLE}, {"one": aside}, {"run": ("a", ("one",))})
    tubes = least_tubes(problem_in(scene))
    assert of_bends(tubes, 2) == pytest.approx([across(2, 80.0)[1]], abs=1e-3)
    # Of legs whose squares sum up to 80 squared one is at least 44 mm long.
    least = 2.0 * BEND_RADIUS + scene.rules.straight_between_bends
    both = least + math.sqrt(80.0**2 - least**2)
    (three,) = [one for one in tubes if one.bends == 3]
    assert three.worth == pytest.approx(across(3, both)[1], abs=1e-3)


def test_three_bends_want_room_aside_for_two_legs() -> None:
    aside = (60.0, 40.0 + 60.0)  # below 44 mm times the root of two
    scene = plates({"a": MIDDLE}, {"one": aside}, {"run": ("a", ("one",))})
    tubes = least_tubes(problem_in(scene))
    assert sorted(one.bends for one in tubes) == [2, 4]


def test_a_u_turn_goes_as_far_out_as_what_stands_between_asks_for() -> None:
    far = (60.0, 140.0)
    scene = plates(
        {"a": MIDDLE, "b": far},
        {},
        {},
        box("shelf", (0.0, 10.0, 80.0), (240.0, 90.0, 100.0)),
    )
    run = replace(
        plates({"a": MIDDLE}, {"b": far}, {"run": ("a", ("b",))}).runs[0],
        to_ports=("near.b",),
    )
    tubes = least_tubes(problem_in(replace(scene, runs=(run,))))
    # Past the shelf's edge by tube and clearance, from the seats of both fittings.
    out = 90.0 + TUBE_RADIUS + CLEARANCE - 10.0 - (FITTING.height - FITTING.depth)
    saved = 2.0 * (2.0 - math.pi / 2.0) * BEND_RADIUS
    assert of_bends(tubes, 2) == pytest.approx([2.0 * out + 100.0 - saved], abs=1e-2)


def test_no_tube_is_hoped_for_where_a_port_is_shut() -> None:
    shut = box("lid", (30.0, 31.0, 10.0), (90.0, 40.0, 70.0))
    scene = plates({"a": MIDDLE}, {"one": MIDDLE}, {"run": ("a", ("one",))}, shut)
    assert least_tubes(problem_in(scene)) == ()


@pytest.mark.parametrize(
    ("kind", "seed"),
    few_or_all(
        [("square, any turn", 4)], [(kind, seed) for kind in KINDS for seed in range(6)]
    ),
)
def test_no_full_search_finds_anything_better(kind: str, seed: int) -> None:
    scene = turned(random_plates(seed), kind)
    run = scene.runs[0]
    for ports in port_pairs(scene, run):
        settled = with_ports(run, ports)
        hoped = [
            replace(one, ends=each.ends)
            for each in configurations(scene, settled, USUAL)
            for one in least_tubes(each.problem)
        ]
        for found in solve_beside(scene, settled, ()).candidates:
            for by, key in RANKINGS.items():
                assert as_good(min(map(key, hoped)), key(found)), (ports, by)


def as_good(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Whether a key is no worse than another, but for what nobody measures."""
    for here, there in zip(one, other, strict=True):
        if abs(here - there) > NO_SHORTER:
            return here < there
    return True
