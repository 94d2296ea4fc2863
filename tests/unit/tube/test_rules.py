"""What broken_rules says of centre lines whose figures are known by hand."""

from __future__ import annotations

from typing import Any

import pytest

from loopsolver.tube.bend_table import Bend, BendTable, lay_forward
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.rules import broken_rules, wrong_turns

# Straights of 32, 34 and 112 mm, two bends of 90 degrees.
Z_TUBE = Centreline(
    vertices=((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0)), radius=28.0
)
KEPT: dict[str, Any] = {
    "start_straight": 32.0,
    "end_straight": 112.0,
    "straight_between": 34.0,
    "bend_angles": (90.0,),
    "max_bends": 2,
}


def test_rules_that_are_just_kept() -> None:
    assert broken_rules(Z_TUBE, **KEPT) == ()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (
            {"start_straight": 33.5},
            ["straight 1 ", "tube's start", "32.000 mm", "33.500 mm", "1.5 mm"],
        ),
        (
            {"straight_between": 40.0},
            ["straight 2 ", "bend 1 and bend 2", "34.000 mm", "40.000 mm", "6 mm"],
        ),
        (
            {"end_straight": 112.25},
            ["straight 3 ", "tube's end", "112.000 mm", "112.250 mm", "0.25 mm"],
        ),
        ({"max_bends": 1}, ["2 bends", "at most 1"]),
    ],
)
def test_one_broken_rule_is_one_sentence(
    changed: dict[str, Any], words: list[str]
) -> None:
    (sentence,) = broken_rules(Z_TUBE, **{**KEPT, **changed})
    for word in words:
        assert word in sentence


def test_every_wrong_angle_is_named() -> None:
    first, second = broken_rules(Z_TUBE, **{**KEPT, "bend_angles": (60.0, 45.0)})
    assert "bend 1 is of 90.000000 degrees; allowed: 45, 60 degrees" in first
    assert "bend 2" in second


def test_all_broken_rules_are_told_at_once() -> None:
    broken = broken_rules(
        Z_TUBE,
        start_straight=100.0,
        end_straight=200.0,
        straight_between=100.0,
        bend_angles=(45.0,),
        max_bends=0,
    )
    assert len(broken) == 1 + 3 + 2


@pytest.mark.parametrize(
    ("slack", "count"), [(0.9e-6, 0), (1.1e-6, 1), (-0.1, 0), (0.1, 1)]
)
def test_slack_of_a_millionth_of_a_millimetre(slack: float, count: int) -> None:
    rules = {**KEPT, "straight_between": 34.0 + slack}
    assert len(broken_rules(Z_TUBE, **rules)) == count


def test_angles_have_their_slack() -> None:
    # One leg runs off square by 1 part in 100 million: 0.6 millionths of a degree.
    barely = Centreline(
        vertices=((0, 0, 0), (100, 0, 0), (100 + 1e-6, 100, 0)), radius=28.0
    )
    clearly = Centreline(
        vertices=((0, 0, 0), (100, 0, 0), (100 + 1e-5, 100, 0)), radius=28.0
    )
    rules = {**KEPT, "end_straight": 10.0}
    assert broken_rules(barely, **rules) == ()
    (sentence,) = broken_rules(clearly, **rules)
    assert "bend 1 is of 89.99999" in sentence


def test_any_angle() -> None:
    slanted = Centreline(vertices=((0, 0, 0), (90, 0, 0), (200, 70, 40)), radius=28.0)
    rules = {**KEPT, "bend_angles": "any", "end_straight": 50.0}
    assert broken_rules(slanted, **rules) == ()


def test_tube_without_bends_serves_both_ends() -> None:
    tube = Centreline(vertices=((0, 0, 0), (0, 0, 40)), radius=28.0)
    rules = {**KEPT, "start_straight": 40.0, "end_straight": 25.0, "max_bends": 0}
    assert broken_rules(tube, **rules) == ()
    for name in ("start_straight", "end_straight"):
        (sentence,) = broken_rules(tube, **{**rules, name: 41.0})
        assert "straight 1 (the whole tube) is of 40.000 mm" in sentence


def test_a_shape_that_cannot_be_is_a_reason_too() -> None:
    tube = Centreline(vertices=((0, 0, 0), (50, 0, 0), (90, 0, 0)), radius=28.0)
    (sentence,) = broken_rules(tube, **KEPT)
    assert "vertex 2 of 3" in sentence
    assert "leave this vertex out" in sentence


def turned(*rotations_deg: float, angle_deg: float = 90.0) -> Centreline:
    """A tube laid with these turns between its bends, all of one angle."""
    bends = [Bend(straight=40.0, rotation_deg=0.0, angle_deg=angle_deg)]
    bends += [
        Bend(straight=40.0, rotation_deg=turn, angle_deg=angle_deg)
        for turn in rotations_deg
    ]
    table = BendTable(bends=tuple(bends), closing_straight=40.0, radius=28.0)
    return lay_forward(
        table, start=(1, 2, 3), direction=(3, 4, 12), first_bend_towards=(1, 0, 0)
    )


@pytest.mark.parametrize(
    ("turns", "step", "wrong"),
    [
        ((90.0, -90.0, 180.0, 0.0), 90.0, []),
        ((45.0, -135.0, 90.0), 45.0, []),
        ((45.0, 90.0), 90.0, ["bend 1 and bend 2"]),
        ((37.0, -90.0, 100.0), 45.0, ["bend 1 and bend 2", "bend 3 and bend 4"]),
        ((37.0, 12.0), "any", []),
        ((), 90.0, []),
    ],
)
def test_turns_are_held_to_the_step_they_were_laid_with(
    turns: tuple[float, ...], step: Any, wrong: list[str]
) -> None:
    found = wrong_turns(turned(*turns), step_deg=step)
    assert len(found) == len(wrong)
    for sentence, between in zip(found, wrong, strict=True):
        assert between in sentence
        assert f"multiples of {step:g} degrees" in sentence


def test_the_plane_of_a_slight_bend_is_known_less() -> None:
    """A thousandth of a degree beside bends of 0.05: planes off by a millionth."""
    for angle, count in ((0.05, 0), (60.0, 1)):
        tube = turned(90.001, angle_deg=angle)
        assert len(wrong_turns(tube, step_deg=90.0)) == count
