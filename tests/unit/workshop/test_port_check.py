"""Two distances to hold a rule to: lengths, which two, what is between, what is said."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.plan import Plan
from loopsolver.scene.model import Body, Component, Port
from loopsolver.workshop.bench_sheet import bench_sheet
from loopsolver.workshop.job import SheetEnd
from loopsolver.workshop.port_check import (
    Mouth,
    PortCheck,
    direction_words,
    nearest_of_rims,
    port_check,
)
from tests.builders.scenes import COLLAR, elbow
from tests.unit.workshop.tidy import said

MakePlan = Callable[..., Plan]

UP = (0.0, 0.0, 1.0)
WIDE = COLLAR.diameter  # 22 mm over a rim
DEEP = COLLAR.depth  # 12 mm from mouth to seat
ELBOW = elbow(height=17.0, reach=24.0)


def mouth(centre, outlet, radius=WIDE / 2.0) -> Mouth:
    length = math.sqrt(sum(part * part for part in outlet))
    return Mouth(
        end=SheetEnd(port="part.port", fitting=COLLAR),
        centre=tuple(centre),
        outlet=tuple(part / length for part in outlet),
        radius=radius,
    )


def on_rim(one: Mouth, angle: float) -> np.ndarray:
    """Return a point of a rim, its frame from numpy's null space."""
    _, _, rows = np.linalg.svd(np.array([one.outlet]))
    return np.array(one.centre) + one.radius * (
        math.cos(angle) * rows[1] + math.sin(angle) * rows[2]
    )


def least(first: Mouth, second: Mouth) -> float:
    """Return the least distance of two rims: scipy's Nelder-Mead from 64 starts."""

    def apart(angles):
        return float(
            np.linalg.norm(on_rim(first, angles[0]) - on_rim(second, angles[1]))
        )

    turns = np.linspace(0.0, 2.0 * math.pi, 8, endpoint=False)
    starts = sorted(((a, b) for a in turns for b in turns), key=apart)[:3]
    return min(
        minimize(apart, start, method="Nelder-Mead", options={"xatol": 1e-7}).fun
        for start in starts
    )


def over_all(mouths: tuple[Mouth, Mouth], axis: int) -> float:
    """Return the length over both rims along an axis: a thousand points of each."""
    angles = np.linspace(0.0, 2.0 * math.pi, 2001)
    places = [on_rim(one, angle)[axis] for one in mouths for angle in angles]
    return max(places) - min(places)


def axes(check: PortCheck) -> list[str | None]:
    return [held.axis for held in check.held]


def lengths(check: PortCheck) -> list[float]:
    return [held.length for held in check.held]


@pytest.mark.parametrize("seed", range(12))
def test_nearest_points_of_two_rims_are_as_near_as_scipy_finds(seed: int) -> None:
    draw = np.random.default_rng(seed)
    first = mouth(draw.uniform(0, 80, 3), draw.normal(size=3), draw.uniform(4, 14))
    second = mouth(draw.uniform(120, 300, 3), draw.normal(size=3), draw.uniform(4, 14))
    near, far = nearest_of_rims(first, second)
    assert math.dist(near, far) == pytest.approx(least(first, second), abs=0.01)
    for one, found in ((first, near), (second, far)):
        away = np.array(found) - one.centre
        assert np.linalg.norm(away) == pytest.approx(one.radius)
        assert away @ one.outlet == pytest.approx(0.0, abs=1e-9)


def test_rims_that_face_each_other_are_as_far_apart_as_their_middles() -> None:
    near, far = nearest_of_rims(
        mouth((0, 0, 0), (0, 0, 1)), mouth((0, 0, 90), (0, 0, -1))
    )
    assert math.dist(near, far) == pytest.approx(90.0)


def test_square_bend_by_pythagoras(make_plan: MakePlan) -> None:
    """Mouths 12 mm in front of the seats, one up, one to the rear, in a plane x = 75.

    From (y, z) = (95 + 11, 94 + 2) to (308 - 12, 149 - 11), the collars 22 mm wide.
    """
    route = ((75.0, 95.0, 84.0), (75.0, 95.0, 149.0), (75.0, 308.0, 149.0))
    plan = bare(make_plan(routes=[route]))
    check = port_check(plan, plan.runs[0])
    straight, across = lengths(check)
    wanted = math.hypot(296.0 - 106.0, 138.0 - 96.0)
    assert axes(check) == [None, "x"]
    assert straight == pytest.approx(wanted, abs=0.001)
    assert across == pytest.approx(WIDE)
    assert check.in_the_way == ""
    # Straight it goes 42 up for 190 to the rear: up is seen by less than 0.4.
    assert check.unseen is not None
    assert check.unseen.axis == "z"
    assert check.unseen.length == pytest.approx(149.0 + 11.0 - 96.0)


def bare(plan: Plan) -> Plan:
    """Return a plan without bodies in its case."""
    parts = tuple(replace(one, bodies=()) for one in plan.scene.components)
    return replace(plan, scene=replace(plan.scene, components=parts))


def plans(make_plan: MakePlan) -> list[Plan]:
    """Return plans with tubes of several directions, nothing between their mouths."""
    draw = np.random.default_rng(5)
    found = []
    for _ in range(3):
        spread = draw.uniform(70, 130, 6).round(1)
        at = np.array([20.0, 20.0, 20.0])
        steps = draw.permutation(3)
        vertices = [tuple(at)]
        for number, length in enumerate(spread[: draw.integers(2, 6)]):
            at = at + length * np.eye(3)[steps[number % 3]]
            vertices.append(tuple(float(v) for v in at))
        found.append(bare(make_plan(routes=[vertices])))
    return found


def test_lengths_and_the_choice_of_axis_against_points_tried(
    make_plan: MakePlan,
) -> None:
    """What shifts of 5 mm of the last port change, by scipy and by points on the rims.

    Of the three axes the second distance takes the one with which the worst of the
    three shifts shows most.
    """
    for plan in plans(make_plan):
        check = port_check(plan, plan.runs[0])
        first, second = check.mouths
        (axis, straight), (across, over) = zip(axes(check), lengths(check), strict=True)
        assert axis is None
        assert straight == pytest.approx(least(first, second), abs=0.01)
        assert over == pytest.approx(
            over_all(check.mouths, "xyz".index(across or "")), abs=0.01
        )
        shown = []
        for shift in 5.0 * np.eye(3):
            moved = replace(second, centre=tuple(np.array(second.centre) + shift))
            shown.append(abs(least(first, moved) - straight))
        worst = {
            name: min(
                5.0 if other == name else shown["xyz".index(other)] for other in "xyz"
            )
            for name in "xyz"
        }
        assert worst[across or ""] >= max(worst.values()) - 0.3
        # What shows by less than 2 mm of 5 in both is said, with a third distance.
        hidden = [
            name for name in "xyz" if name != across and shown["xyz".index(name)] < 1.7
        ]
        if hidden:
            assert check.unseen is not None
            assert [check.unseen.axis] == hidden
            wanted = over_all(check.mouths, "xyz".index(hidden[0]))
            assert check.unseen.length == pytest.approx(wanted, abs=0.01)


def blocked(plan: Plan, *, centre, size) -> Plan:
    """Return a plan with one body more in its case."""
    wall = Component(
        name="fans",
        bodies=(Body(name="fans", solid=Box(frame=Frame(origin=centre), size=size)),),
        ports=(),
    )
    scene = plan.scene
    return replace(plan, scene=replace(scene, components=(*scene.components, wall)))


OVER = (
    (20.0, 60.0, 20.0),
    (20.0, 60.0, 150.0),
    (20.0, 200.0, 150.0),
    (20.0, 200.0, 35.0),
)
"""Up, to the rear, and down again."""


def test_a_body_between_the_mouths_is_named_and_both_distances_go_round_it(
    make_plan: MakePlan,
) -> None:
    free = make_plan(routes=[OVER])
    assert port_check(free, free.runs[0]).in_the_way == ""
    plan = blocked(free, centre=(20.0, 130.0, 40.0), size=(40.0, 20.0, 70.0))
    check = port_check(plan, plan.runs[0])
    assert check.in_the_way == "fans"
    # Mouths at y 60 and 200, z 32 and 47, both upright: 140 and 15 apart, rims 22 wide.
    assert axes(check) == ["y", "z"]
    assert lengths(check) == pytest.approx([140.0 + WIDE, 15.0])
    assert check.unseen is not None
    assert check.unseen.axis == "x"
    assert check.unseen.length == pytest.approx(WIDE)
    words = " ".join(sheet_words(plan))
    assert "fans is between" in words
    assert "along x alone may show in neither: along it, 22.0 mm" in words
    assert "Mouth to mouth. " not in words


def test_a_body_beside_the_line_is_not_in_the_way(make_plan: MakePlan) -> None:
    # The rims' nearest points lie at x = 20: a body that ends at x = 10 leaves it free.
    plan = blocked(
        make_plan(routes=[OVER]), centre=(0.0, 130.0, 40.0), size=(20.0, 20.0, 70.0)
    )
    assert port_check(plan, plan.runs[0]).in_the_way == ""


def test_another_runs_fitting_can_be_in_the_way(make_plan: MakePlan) -> None:
    # Run 2's first collar stands upright at y = 130, its mouth 12 mm above the seat.
    other = ((20.0, 130.0, 30.0), (20.0, 130.0, 290.0))
    plan = make_plan(routes=[OVER, other])
    ports = tuple(
        replace(port, position=(20.0, 130.0, 22.0))
        if port.name == "part2.out"
        else port
        for port in plan.scene.components[0].ports
    )
    parts = (replace(plan.scene.components[0], ports=ports),)
    plan = replace(plan, scene=replace(plan.scene, components=parts))
    assert port_check(plan, plan.runs[0]).in_the_way == "fitting on part2.out"


def with_elbow(make_plan: MakePlan, outlet) -> Plan:
    """Return a plan whose tube begins in an elbow on a port that points up.

    The elbow's axis is 17 mm above the port's face, its mouth 24 mm from the port's
    axis, and the tube's end 12 mm inside: 12 mm from the port's axis.
    """
    along = np.array(outlet) / np.linalg.norm(outlet)
    face = np.array([100.0, 60.0, 40.0])
    seat = face + 17.0 * np.array(UP) + 12.0 * along
    corner = seat + 90.0 * along
    vertices = [tuple(seat), tuple(corner), tuple(corner + 80.0 * np.array(UP))]
    plan = make_plan(routes=[vertices])
    port = Port(name="part1.out", position=tuple(face), direction=UP, fittings=(ELBOW,))
    part = plan.scene.components[0]
    ports = (port, *(p for p in part.ports if p.name != port.name))
    parts = (replace(part, bodies=(), ports=ports),)
    return replace(plan, scene=replace(plan.scene, components=parts))


def test_an_elbow_is_measured_at_its_outlet_turned_as_the_tube_needs_it(
    make_plan: MakePlan,
) -> None:
    plan = with_elbow(make_plan, (0.0, 1.0, 0.0))
    check = port_check(plan, plan.runs[0])
    # Mouth at y = 60 + 24, z = 40 + 17; the other at y = 162, z = 57 + 80 - 12, up.
    first, second = check.mouths
    assert first.centre == pytest.approx((100.0, 84.0, 57.0))
    assert first.outlet == pytest.approx((0.0, 1.0, 0.0))
    assert second.centre == pytest.approx((100.0, 162.0, 125.0))
    wanted = math.hypot(162.0 - 11.0 - 84.0, 125.0 - 57.0 - 11.0)
    assert axes(check)[0] is None
    assert lengths(check)[0] == pytest.approx(wanted, abs=0.001)
    words = " ".join(sheet_words(plan))
    assert "turn the elbow on part1.out so that its mouth points along +y" in words
    assert "elbow" not in " ".join(sheet_words(make_plan()))


def test_an_elbow_half_way_between_two_axes_is_said_so(make_plan: MakePlan) -> None:
    plan = with_elbow(make_plan, (-1.0, 1.0, 0.0))
    words = " ".join(sheet_words(plan))
    assert "its mouth points half way between -x and +y" in words
    check = port_check(plan, plan.runs[0])
    for axis, length in zip(axes(check)[1:], lengths(check)[1:], strict=True):
        wanted = over_all(check.mouths, "xyz".index(axis or ""))
        assert length == pytest.approx(wanted, abs=0.01)


@pytest.mark.parametrize(
    ("direction", "words"),
    [
        ((1.0, 0.0, 0.0), "along +x"),
        ((0.0, 0.0, -1.0), "along -z"),
        # cos 30 and cos 60 degrees.
        ((0.0, math.sqrt(0.75), -0.5), "30° off +y, 60° off -z"),
    ],
)
def test_directions_in_words(direction, words: str) -> None:
    assert direction_words(direction) == words


def sheet_words(plan: Plan) -> list[str]:
    return said(bench_sheet(plan, plan.runs[0], width=186.0, height=256.0))


def test_the_sheet_begins_with_both_distances(make_plan: MakePlan) -> None:
    """The first run of the small build: 60, 60, 80 up to 160, 200, 200 to the rear."""
    plan = make_plan()
    straight = least(
        mouth((60.0, 60.0, 80.0), UP), mouth((160.0, 200.0, 200.0), (0.0, -1.0, 0.0))
    )
    shown = sheet_words(plan)
    # x is 100 apart, y 140, z 120: along x the straight distance tells least.
    for value in (f"{straight:.1f} mm", f"{100.0 + WIDE:.1f} mm"):
        assert shown.index(value) < shown.index("Cut the blank")
    words = " ".join(shown)
    assert f"Not within 2.0 mm of {straight:.1f} mm and {100.0 + WIDE:.1f} mm" in words
    assert "stop" in words


def test_inches_are_said_in_an_inch_scene(make_plan: MakePlan) -> None:
    shown = sheet_words(make_plan(units="in"))
    assert f"{(100.0 + WIDE) / 25.4:.3f} in" in shown
    assert "Not within 0.079 in of" in " ".join(shown)


def test_tube_without_a_fitting_is_measured_at_its_end(make_plan: MakePlan) -> None:
    plan = make_plan(routes=[((20.0, 20.0, 60.0), (20.0, 20.0, 260.0))])
    part = plan.scene.components[0]
    ports = tuple(replace(port, fittings=()) for port in part.ports)
    parts = (replace(part, ports=ports),)
    plan = replace(plan, scene=replace(plan.scene, components=parts))
    check = port_check(plan, plan.runs[0])
    assert axes(check) == [None, "x"]
    assert lengths(check) == pytest.approx([200.0, 14.0])
