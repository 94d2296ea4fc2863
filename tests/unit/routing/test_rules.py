"""Which rules tubes break whose figures are known by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from loopsolver.routing.problem import RouteProblem, TubeEnd
from loopsolver.routing.rules import Breach, broken_rules, drawn, unbendable
from loopsolver.tolerances import RIGHT_ANGLE_DEG, TOUCH
from loopsolver.tube.bend_table import Bend, BendTable, lay_forward
from loopsolver.tube.centreline import Centreline

# Straights of 32, 34 and 112 mm, two bends of 90 degrees.
Z_TUBE = Centreline(
    vertices=((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0)), radius=28.0
)
KEPT: dict[str, Any] = {
    "start": 32.0,
    "end": 112.0,
    "between": 34.0,
    "angles": (90.0,),
    "bends": 2,
    "step": "any",
    "range": (5.0, 120.0),
}


def broken(tube: Centreline, **changed: Any) -> tuple[Breach, ...]:
    rules = {**KEPT, **changed}
    start, goal = (
        TubeEnd(seat=tube.vertices[n], direction=(1, 0, 0), straight=least, covered=0.0)
        for n, least in ((0, rules["start"]), (-1, rules["end"]))
    )
    problem = RouteProblem(
        start=start,
        goal=goal,
        bend_radius=tube.radius,
        tube_radius=7.0,
        clearance=3.0,
        straight_between_bends=rules["between"],
        bend_angles_deg=rules["angles"],
        max_bends=rules["bends"],
        turn_step_deg=rules["step"],
        bend_range=rules["range"],
        candidates=1,
        room=((0.0, 0.0, 0.0), (1.0, 1.0, 1.0)),
        obstacles=(),
    )
    return broken_rules(problem, tube, slack=TOUCH, slack_deg=RIGHT_ANGLE_DEG)


def test_rules_that_are_just_kept() -> None:
    assert broken(Z_TUBE) == ()


@pytest.mark.parametrize(
    ("changed", "breach"),
    [
        (
            {"start": 33.5},
            Breach(rule="straight", found=32.0, limits=(33.5,), number=1, count=3),
        ),
        (
            {"between": 40.0},
            Breach(rule="straight", found=34.0, limits=(40.0,), number=2, count=3),
        ),
        (
            {"end": 112.25},
            Breach(rule="straight", found=112.0, limits=(112.25,), number=3, count=3),
        ),
        ({"bends": 1}, Breach(rule="bends", found=2, limits=(1,))),
    ],
)
def test_one_broken_rule_is_one_breach(changed: dict[str, Any], breach: Breach) -> None:
    assert broken(Z_TUBE, **changed) == (breach,)


def test_one_of_several_angles_is_enough() -> None:
    assert broken(Z_TUBE, angles=(45.0, 90.0)) == ()


def test_every_wrong_angle_is_named() -> None:
    found = broken(Z_TUBE, angles=(60.0, 45.0))
    assert [(one.rule, one.number, one.limits) for one in found] == [
        ("bend angle", 1, (60.0, 45.0)),
        ("bend angle", 2, (60.0, 45.0)),
    ]
    assert [one.found for one in found] == pytest.approx([90.0, 90.0])


def test_all_broken_rules_are_told_at_once() -> None:
    found = broken(Z_TUBE, start=100, end=200, between=100, angles=(45.0,), bends=0)
    assert len(found) == 1 + 3 + 2


@pytest.mark.parametrize(
    ("slack", "count"), [(0.9e-6, 0), (1.1e-6, 1), (-0.1, 0), (0.1, 1)]
)
def test_slack_of_a_millionth_of_a_millimetre(slack: float, count: int) -> None:
    assert len(broken(Z_TUBE, between=34.0 + slack)) == count


def test_angles_have_their_slack() -> None:
    # One leg runs off square by 1 part in 100 million: 0.6 millionths of a degree.
    barely = Centreline(
        vertices=((0, 0, 0), (100, 0, 0), (100 + 1e-6, 100, 0)), radius=28.0
    )
    clearly = Centreline(
        vertices=((0, 0, 0), (100, 0, 0), (100 + 1e-5, 100, 0)), radius=28.0
    )
    assert broken(barely, end=10.0) == ()
    (breach,) = broken(clearly, end=10.0)
    assert breach.rule == "bend angle"
    assert breach.found == pytest.approx(90.0 - math.degrees(1e-7), abs=1e-9)


def test_any_angle() -> None:
    slanted = Centreline(vertices=((0, 0, 0), (90, 0, 0), (200, 70, 40)), radius=28.0)
    assert broken(slanted, angles="any", end=50.0) == ()


@pytest.mark.parametrize(
    ("angles_deg", "out_of_range"),
    [
        ((), []),
        ((119.99,), []),
        ((120.01,), [1]),
        ((45.0, 120.01), [2]),
        # Two slight bends make a small offset; among three one is a bend too many.
        ((1.0, 1.0), []),
        ((2.0,), []),
        ((90.0, 4.99, 45.0), [2]),
        ((90.0, 5.01, 45.0), []),
        ((4.99, 90.0, 90.0, 4.99), [1, 4]),
    ],
)
def test_any_angle_is_held_to_its_range(
    angles_deg: tuple[float, ...], out_of_range: list[int]
) -> None:
    bends = [Bend(straight=200, rotation_deg=90, angle_deg=one) for one in angles_deg]
    table = BendTable(bends=tuple(bends), closing_straight=200.0, radius=28.0)
    tube = lay_forward(
        table, start=(0, 0, 0), direction=(1, 0, 0), first_bend_towards=(0, 1, 0)
    )
    found = broken(tube, angles="any", bends=5)
    assert [(one.rule, one.number) for one in found] == [
        ("bend range", number) for number in out_of_range
    ]
    listed = tuple(angles_deg) or (90.0,)
    assert broken(tube, angles=listed, bends=5) == ()  # what is listed has no range
    assert broken(tube, angles="any", bends=5, range=(1.0, 121.0)) == ()


def test_tube_without_bends_serves_both_ends() -> None:
    tube = Centreline(vertices=((0, 0, 0), (0, 0, 40)), radius=28.0)
    rules = {"start": 40.0, "end": 25.0, "bends": 0}
    assert broken(tube, **rules) == ()
    for name in ("start", "end"):
        (breach,) = broken(tube, **{**rules, name: 41.0})
        assert breach == Breach(
            rule="straight", found=40.0, limits=(41.0,), number=1, count=1
        )


@pytest.mark.parametrize(
    ("vertices", "breach"),
    [
        (((0, 0, 0), (50, 0, 0), (90, 0, 0)), Breach(rule="turn", found=0, number=1)),
        (((0, 0, 0), (50, 0, 0), (9, 0, 0)), Breach(rule="turn", found=180, number=1)),
        (((0, 0, 0), (50, 0, 0), (50, 0, 0)), Breach(rule="leg", found=0, number=2)),
    ],
)
def test_a_shape_that_cannot_be_is_told_alone(
    vertices: tuple[tuple[int, int, int], ...], breach: Breach
) -> None:
    tube = Centreline(vertices=vertices, radius=28.0)
    assert unbendable(drawn(tube)) == (breach,)
    assert broken(tube) == (breach,)


@pytest.mark.parametrize("angle", [1e-3, 0.1, 0.5, 1.0, 2.0, 3.0, math.pi - 1e-3])
def test_straights_and_angles_of_a_single_bend(angle: float) -> None:
    """Legs of 400 mm, round 0.1 mm: R tan(a / 2) off either, the angle as it was laid."""
    out = (400 * math.cos(angle), 400 * math.sin(angle), 0.0)
    tube = drawn(Centreline(vertices=((-400, 0, 0), (0, 0, 0), out), radius=0.1))
    left = 400 - 0.1 * math.tan(angle / 2)
    assert tube.straights == pytest.approx([left, left], abs=1e-7)
    assert tube.angles_deg == pytest.approx([math.degrees(angle)], abs=1e-9)
    assert tube.legs == pytest.approx([400, 400], abs=1e-9)


def turned(*rotations_deg: float, angle_deg: float = 90.0) -> Centreline:
    """A tube laid with these turns between its bends, all of one angle."""
    bends = [
        Bend(straight=40.0, rotation_deg=turn_deg, angle_deg=angle_deg)
        for turn_deg in (0.0, *rotations_deg)
    ]
    table = BendTable(bends=tuple(bends), closing_straight=112.0, radius=28.0)
    return lay_forward(
        table, start=(1, 2, 3), direction=(3, 4, 12), first_bend_towards=(1, 0, 0)
    )


@pytest.mark.parametrize(
    ("turns_deg", "step_deg", "wrong"),
    [
        ((90.0, -90.0, 180.0, 0.0), 90.0, []),
        ((45.0, -135.0, 90.0), 45.0, []),
        ((45.0, 90.0), 90.0, [1]),
        ((37.0, -90.0, 100.0), 45.0, [1, 3]),
        ((37.0, 12.0), "any", []),
        ((), 90.0, []),
    ],
)
def test_turns_are_held_to_the_step_they_were_laid_with(
    turns_deg: tuple[float, ...], step_deg: Any, wrong: list[int]
) -> None:
    found = broken(turned(*turns_deg), step=step_deg, bends=5)
    assert [breach.number for breach in found] == wrong
    for breach in found:
        assert breach.rule == "turn between bends"
        assert breach.found == pytest.approx(turns_deg[breach.number - 1])
        assert breach.limits == (step_deg,)


def test_the_plane_of_a_slight_bend_is_known_less() -> None:
    """A thousandth of a degree beside bends of 0.05: planes off by a millionth."""
    for angle_deg, count in ((0.05, 0), (60.0, 1)):
        tube = turned(90.001, angle_deg=angle_deg)
        assert len(broken(tube, step=90.0, angles="any")) == count
