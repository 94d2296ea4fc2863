"""Turns in words, held against where things are seen on a clock face."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from loopsolver.plan import Plan
from loopsolver.report.turns import (
    turn_on_sheet,
    turn_sentences,
    way_in_plane,
    way_on_sheet,
)
from loopsolver.tube.bend_table import Bend, BendTable, bend_table
from loopsolver.tube.centreline import Centreline
from tests.builders.small_build import plan_with

Vector = np.ndarray


def clock_degrees(direction: Vector, *, along: Vector, twelve: Vector) -> float:
    """Return where a direction is on the clock face of who looks along `along`.

    0 at twelve o'clock, 90 at three. The eye's right hand is forward x up: for who
    looks along +y with +z up it is +x.
    """
    right = np.cross(along, twelve)
    return math.degrees(math.atan2(direction @ right, direction @ twelve)) % 360.0


def inside(before: Vector, after: Vector, *, square_to: Vector) -> Vector:
    """Return the direction from a bend to its centre, seen from a straight beside it."""
    towards = after - before
    towards = towards - (towards @ square_to) * square_to
    unit: Vector = towards / np.linalg.norm(towards)
    return unit


def third_direction(turn_deg: float) -> tuple[tuple[float, ...], Centreline]:
    """A tube along -z, then +y, then so many degrees clockwise of straight up."""
    turn = math.radians(turn_deg)
    last = (math.sin(turn), 0.0, math.cos(turn))  # clock hand for who looks along +y
    vertices = (
        (0.0, 0.0, 100.0),
        (0.0, 0.0, 0.0),
        (0.0, 100.0, 0.0),
        tuple(float(v) for v in np.array((0.0, 100.0, 0.0)) + 100.0 * np.array(last)),
    )
    return last, Centreline(vertices=vertices, radius=28.0)  # type: ignore[arg-type]


@pytest.mark.parametrize("clock", [30.0, 45.0, 90.0, 135.0, 225.0, 270.0, 315.0])
def test_words_say_what_the_eye_sees(clock: float) -> None:
    last, line = third_direction(clock)
    down, along = np.array((0.0, 0.0, -1.0)), np.array((0.0, 1.0, 0.0))
    first_inside = inside(down, along, square_to=along)
    second_inside = inside(along, np.array(last), square_to=along)
    seen = clock_degrees(second_inside, along=along, twelve=first_inside)
    assert seen == pytest.approx(clock)  # the tube is what it is meant to be

    words = turn_sentences(bend_table(line).bends[1].rotation_deg, number=2)
    found = re.match(r"Bend 2 points ([0-9.]+) degrees (\S+) of bend 1\.", words)
    assert found is not None
    amount, way = float(found[1]), found[2]
    assert way in {"clockwise", "anticlockwise"}
    assert amount <= 180.0
    assert (amount if way == "clockwise" else -amount) % 360.0 == pytest.approx(seen)


@pytest.mark.parametrize("clock", [30.0, 90.0, 225.0, 270.0])
def test_turned_as_told_the_next_bend_comes_where_the_last_one_was(
    clock: float,
) -> None:
    last, line = third_direction(clock)
    words = turn_sentences(bend_table(line).bends[1].rotation_deg, number=2)
    found = re.search(r"turn the tube ([0-9.]+) degrees (\S+) before", words)
    assert found is not None
    clockwise = math.radians(float(found[1])) * (1 if found[2] == "clockwise" else -1)
    # What is turned clockwise goes from up towards the right hand.
    along, up = np.array((0.0, 1.0, 0.0)), np.array((0.0, 0.0, 1.0))
    right = np.cross(along, up)
    next_inside = inside(along, np.array(last), square_to=along)
    x, y = next_inside @ right, next_inside @ up
    turned = (
        x * math.cos(clockwise) + y * math.sin(clockwise),
        y * math.cos(clockwise) - x * math.sin(clockwise),
    )
    assert turned == pytest.approx((0.0, 1.0), abs=1e-9)  # up, where bend 1 was made


@pytest.mark.parametrize(
    ("rotation_deg", "words"),
    [
        (0.0, "same way as bend 1"),
        (-0.04, "same way as bend 1"),
        (180.0, "opposite to bend 1"),
        (-179.98, "opposite to bend 1"),
    ],
)
def test_ways_in_a_plane(rotation_deg: float, words: str) -> None:
    bend = Bend(straight=30.0, rotation_deg=rotation_deg, angle_deg=90.0)
    assert way_in_plane(bend, number=2) == words


def table(plan: Plan, number: int) -> BendTable:
    """Return the bend table of a run's chosen tube."""
    chosen = plan.runs[number - 1].chosen_candidate
    assert chosen is not None
    return chosen.table


def test_bends_point_as_on_a_clock_face() -> None:
    # Up, then to +x, then to +y. Going on to the same side would turn down again; seen
    # along +x with z up, -y is to the right, so +y is at nine o'clock, down at six, and
    # from six to nine is a quarter turn clockwise.
    bend = table(plan_with(), 1).bends[1]
    assert way_on_sheet(bend, number=2).startswith("points 90° clockwise")
    there = ((60.0, 200.0, 68.0), (60.0, 200.0, 200.0), (160.0, 200.0, 200.0))
    other = plan_with(routes=[(*there, (160.0, 60.0, 200.0))])
    bend = table(other, 1).bends[1]
    assert way_on_sheet(bend, number=2).startswith("points 90° anticlockwise")


def test_bends_in_one_plane_go_to_the_same_or_the_opposite_side() -> None:
    bend = table(plan_with(), 2).bends[1]
    assert way_on_sheet(bend, number=2) == "same plane, to the side opposite to bend 1"
    hoop = ((60.0, 60.0, 68.0), (60.0, 60.0, 200.0), (160.0, 60.0, 200.0))
    bend = table(plan_with(routes=[(*hoop, (160.0, 60.0, 60.0))]), 1).bends[1]
    assert way_on_sheet(bend, number=2) == "same plane, to the same side as bend 1"
    assert way_on_sheet(bend, number=1) == ""


def test_on_the_sheet_too_the_tube_is_turned_against_what_the_next_bend_is() -> None:
    def said(rotation_deg: float) -> str:
        bend = Bend(straight=30.0, rotation_deg=rotation_deg, angle_deg=90.0)
        return turn_on_sheet(bend, number=2)

    assert said(90.0) == "turn the tube 90° anticlockwise"
    assert said(-45.0) == "turn the tube 45° clockwise"
    assert said(180.0) == "turn the tube by 180°"
    assert said(0.0) == ""
