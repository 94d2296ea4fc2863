"""Scenes in which exactly one rule is in the way: what is said, and whether it helps.

Expected figures are closed forms: a square bend of radius R needs R on either leg, a
centre line keeps tube radius and clearance from everything, and two equal bends of angle
a with a straight s between them lie 2 R (1 - cos a) + s sin a apart.
"""

import math
from dataclasses import replace
from typing import Any

import pytest

from loopsolver.geometry.vectors import AXES, point
from loopsolver.routing.diagnosis.no_route import (
    BendBlocked,
    CannotTurn,
    CornerTooNear,
    NoneFound,
    OffsetTooNarrow,
    OffsetTooShort,
    Reason,
    ReturnTooNarrow,
    StockTooShort,
    StraightBlocked,
)
from loopsolver.scene.model import Scene
from tests.builders.scenes import COLLAR, box
from tests.full import few_or_all
from tests.unit.routing.explain_scenes import (
    REACH,
    RULES,
    TUBE,
    At,
    after,
    build,
    first_fact,
    only,
    only_fact,
    reason,
    routes,
    rules_of,
    suggested,
)

R, BETWEEN = TUBE.bend_radii[0], RULES.straight_between_bends
STRAIGHT = COLLAR.depth + COLLAR.straight_beyond

IN_FRONT = (StraightBlocked, BendBlocked)

CLEARANCE_STEP, LENGTH_STEP, RADIUS_STEP = 0.1, 0.5, 1.0
STEPS = {
    "clearance": CLEARANCE_STEP,
    "bend radius": RADIUS_STEP,
    "straight between bends": LENGTH_STEP,
    "straight at an end": LENGTH_STEP,
    "case wall": LENGTH_STEP,
    "stock length": LENGTH_STEP,
    "trim allowance": LENGTH_STEP,
    "bends": 1.0,
    "body": LENGTH_STEP,
}


def hold_true(scene: Scene, found: Reason) -> None:
    """Every suggestion gives a route in the scene; one step less gives none."""
    assert found.suggestions
    for one in found.suggestions:
        assert routes(after(scene, *one.changes)), one
        (change, *more) = one.changes
        if more or change.rule == "bend angles" or change.after is None:
            continue
        step = STEPS[change.rule]
        if change.rule == "body" and change.after == step:
            continue
        assert not routes(after(scene, change, less=step)), one


def offset(aside: float, **rules: Any) -> Scene:
    """Two ports that face each other, their axes `aside` apart."""
    return build(
        At((60.0, 100.0, 100.0), "+x"),
        At((240.0, 100.0 + aside, 100.0), "-x"),
        max_bends=2,
        **rules,
    )


def test_a_set_too_small_for_two_bends_is_told_with_what_it_takes() -> None:
    found = reason(offset(60.0))
    # 2 R + s = 71 at 90 degrees; with s = 15, 2 R + 15 <= 60 holds up to R = 22.
    fact = only_fact(found, OffsetTooNarrow)
    told = (fact.angle_deg, fact.needed, fact.there_is)
    assert told == pytest.approx((90.0, 71.0, 60.0))
    assert only(found, "bend radius").after == 22.0
    assert only(found, "bend angles").after == (45.0, 90.0)
    # 60 - 2 R leaves 4 mm between the bends: too little to be offered.
    assert "straight between bends" not in rules_of(found)
    hold_true(offset(60.0), found)


def test_the_straight_between_two_bends_is_offered_where_it_is_what_lacks() -> None:
    found = reason(offset(65.0))
    assert only(found, "straight between bends").after == 65.0 - 2.0 * R
    assert only(found, "bend radius").after == 25.0
    hold_true(offset(65.0), found)


@pytest.mark.parametrize("aside", few_or_all([8.0], [8.0, 20.0, 26.0]))
def test_a_set_too_small_for_45_degrees_asks_for_a_free_angle(aside: float) -> None:
    angles = (45.0, 90.0)
    found = reason(offset(aside, bend_angles_deg=angles))
    eighth = math.radians(45.0)
    needed = 2.0 * R * (1.0 - math.cos(eighth)) + BETWEEN * math.sin(eighth)
    fact = first_fact(found, OffsetTooNarrow)
    told = (fact.angle_deg, fact.needed, fact.there_is)
    assert told == pytest.approx((45.0, needed, aside))
    one = suggested(found, "bend angles")
    assert one.changes[0].after == "any"
    for angle in map(math.radians, one.angles_deg):
        least = 2.0 * R * (1.0 - math.cos(angle)) + BETWEEN * math.sin(angle)
        assert one.bends == 2
        assert least <= aside + 0.01
    hold_true(offset(aside, bend_angles_deg=angles), found)


def test_ports_that_face_each_other_too_near_for_two_bends() -> None:
    # Two square bends reach along the axes: both straights and two tangents.
    needed = 2.0 * STRAIGHT + 2.0 * R
    scene = build(
        At((100.0, 60.0, 100.0), "+x"),
        At((100.0 + needed - 6.0, 240.0, 100.0), "-x"),
        max_bends=2,
    )
    found = reason(scene)
    fact = first_fact(found, OffsetTooShort)
    told = (fact.angle_deg, fact.needed, fact.there_is)
    assert told == pytest.approx((90.0, needed, needed - 6.0))
    assert only(found, "bend radius").after == R - 3.0
    hold_true(scene, found)


def test_two_ports_side_by_side_too_near_for_a_return() -> None:
    scene = build(
        At((100.0, 100.0, 100.0), "+x"), At((100.0, 160.0, 100.0), "+x"), max_bends=2
    )
    found = reason(scene)
    fact = first_fact(found, ReturnTooNarrow)
    assert fact.angles_deg == pytest.approx((90.0, 90.0))
    assert (fact.needed, fact.there_is) == pytest.approx((71.0, 60.0))
    assert only(found, "bend radius").after == 22.0
    hold_true(scene, found)


def corner(first_leg: float, second_leg: float) -> Scene:
    """Two ports whose axes cross squarely, so far from the tube ends."""
    return build(
        At((100.0, 100.0, 100.0), "+x"),
        At((100.0 + first_leg, 100.0 + second_leg, 100.0), "-y"),
        max_bends=1,
    )


def test_a_leg_too_short_names_the_end_and_the_straight_that_would_do() -> None:
    scene = corner(43.0, 120.0)
    found = reason(scene)
    fact = only_fact(found, CornerTooNear)
    assert fact.port == "pump.out"
    told = (fact.angle_deg, fact.needed, fact.there_is)
    assert told == pytest.approx((90.0, 45.0, 43.0))
    # 43 - R leaves 15 mm of straight, 3 of them beyond the mouth.
    change = only(found, "straight at an end", "pump.out")
    assert (change.before, change.after) == (5.0, 3.0)
    assert only(found, "bend radius").after == 26.0
    hold_true(scene, found)


def test_the_other_end_is_named_as_well() -> None:
    found = reason(corner(120.0, 41.5))
    assert first_fact(found, CornerTooNear).port == "gpu.in"
    assert only(found, "straight at an end", "gpu.in").after == 1.5
    assert only(found, "bend radius").after == 24.0
    hold_true(corner(120.0, 41.5), found)


# ------------------------------------------------------------------ bodies and clearance


def passage(gap: float) -> Scene:
    """A straight tube between two bodies that leave this gap on either side."""
    half = TUBE.radius + gap
    return build(
        At((60.0, 150.0, 150.0), "+x"),
        At((240.0, 150.0, 150.0), "-x"),
        box("memory", (140.0, 0.0, 0.0), (160.0, 150.0 - half, 300.0)),
        box("card", (140.0, 150.0 + half, 0.0), (160.0, 300.0, 300.0)),
        max_bends=0,
    )


def test_a_clearance_is_found_to_a_tenth_and_names_the_bodies_in_the_way() -> None:
    found = reason(passage(1.6))
    one = suggested(found, "clearance")
    (change,) = one.changes
    assert (change.before, change.after) == (3.0, 1.6)
    assert sorted(one.near) == ["card", "memory"]
    fact = next(fact for fact in found.facts if isinstance(fact, NoneFound))
    assert fact.bends == 0
    lacking = {near.name: near.by for near in fact.near}
    assert lacking == pytest.approx({"card": 1.4, "memory": 1.4}, abs=1e-3)
    assert rules_of(found) == {"clearance"}
    hold_true(passage(1.6), found)


def test_no_clearance_is_offered_at_which_the_tube_would_rub() -> None:
    found = reason(passage(0.3))
    assert not found.suggestions
    clearances = [one.after for one in found.tried if one.rule == "clearance"]
    assert clearances == [0.5]


def beside(gap: float) -> Scene:
    """A body along the whole first straight, so far from the tube; room elsewhere."""
    foot = 100.0 + TUBE.radius + gap
    return build(
        At((60.0, 100.0, 100.0), "+x"),
        At((240.0, 230.0, 100.0), "-x"),
        box("memory", (60.0, foot, 60.0), (100.0, foot + 12.0, 140.0)),
        max_bends=2,
    )


def test_what_stands_in_front_of_a_port_is_named_with_what_lacks() -> None:
    found = reason(beside(1.7))
    fact = only_fact(found, StraightBlocked)
    assert (fact.port, fact.near.name) == ("pump.out", "memory")
    assert (fact.length, fact.near.by) == pytest.approx((17.0, 1.3), abs=1e-3)
    assert only(found, "clearance").after == 1.7
    moved = only(found, "body", "memory")
    assert (moved.towards, moved.after) == ("+y", 1.5)
    hold_true(beside(1.7), found)


def test_a_body_in_the_tube_has_to_move_by_all_it_overlaps() -> None:
    found = reason(beside(-2.0))
    near = first_fact(found, StraightBlocked).near
    assert near.name == "memory"
    assert near.by == pytest.approx(5.0, abs=1e-3)
    assert "clearance" not in rules_of(found)
    moved = only(found, "body", "memory")
    assert (moved.towards, moved.after) == ("+y", 5.0)
    hold_true(beside(-2.0), found)


def barrier(*, keep_out: bool = False) -> Scene:
    """A plate across the whole case, between the ports."""
    plate = box("tray", (148.0, 0.0, 0.0), (152.0, 300.0, 300.0))
    ends = At((60.0, 100.0, 100.0), "+x"), At((240.0, 200.0, 100.0), "-x")
    if keep_out:
        return build(*ends, keep_outs=[plate], max_bends=4)
    return build(*ends, plate, max_bends=4)


@pytest.mark.parametrize("keep_out", [False, True])
def test_a_plate_right_across_the_case_can_only_go(keep_out: bool) -> None:
    found = reason(barrier(keep_out=keep_out))
    assert "tray" in [near.name for near in first_fact(found, NoneFound).near]
    assert only(found, "body", "tray").after is None
    assert "clearance" not in rules_of(found)
    hold_true(barrier(keep_out=keep_out), found)


def test_bodies_that_carry_a_port_are_not_asked_to_move() -> None:
    scene = barrier()
    plate = scene.components[2].bodies[0]
    pump = replace(scene.components[0], bodies=(replace(plate, name="pump"),))
    scene = replace(scene, components=(pump, scene.components[1]))
    found = reason(scene)
    assert "pump" in [near.name for near in first_fact(found, NoneFound).near]
    assert "body" not in rules_of(found)


def test_a_fitting_of_another_run_is_named() -> None:
    scene = build(
        At((60.0, 150.0, 150.0), "+x"), At((240.0, 150.0, 150.0), "-x"), max_bends=0
    )
    other = build(At((150.0, 145.0, 150.0), "+y"), At((20.0, 20.0, 20.0), "+x"))
    fan = replace(
        other.components[0],
        name="fan",
        ports=(replace(other.components[0].ports[0], name="fan.a"),),
    )
    far = replace(
        other.components[1],
        name="far",
        ports=(replace(other.components[1].ports[0], name="far.b"),),
    )
    run = replace(
        scene.runs[0], name="fan to far", from_ports=("fan.a",), to_ports=("far.b",)
    )
    scene = replace(
        scene, components=(*scene.components, fan, far), runs=(*scene.runs, run)
    )
    fact = first_fact(reason(scene), NoneFound)
    assert [near.name for near in fact.near] == ["fitting on fan.a"]


# ------------------------------------------------------------------------------- walls


@pytest.mark.parametrize("side", few_or_all(["+x", "-y", "-z"], sorted(AXES)))
def test_a_case_wall_is_named_with_what_it_lacks(side: str) -> None:
    # From the tube end a square bend reaches out to its straight and radius.
    axis, outward = "xyz".index(side[1]), side[0] == "+"
    needed, short = STRAIGHT + R + REACH, 4.2
    seat = [150.0, 150.0, 150.0]
    seat[axis] = 300.0 - needed + short if outward else needed - short
    inner = [300.0, 300.0, 300.0]
    far = [90.0, 210.0, 150.0] if axis != 2 else [90.0, 150.0, 210.0]
    far[axis] = 150.0
    across = "+" + "xyz"[(axis + 1) % 3]
    goal = [150.0, 150.0, 150.0]
    goal[(axis + 1) % 3] = 30.0
    goal[axis] = 200.0 if not outward else 100.0
    scene = build(
        At(point(seat), side), At(point(goal), across), inner=point(inner), max_bends=3
    )
    found = reason(scene)
    fact = only_fact(found, BendBlocked)
    assert (fact.port, fact.length, fact.bend_radius) == ("pump.out", STRAIGHT, R)
    assert fact.angles_deg == (90.0,)
    assert fact.near.name == f"case wall {side}"
    assert fact.near.by == pytest.approx(short, abs=1e-3)
    assert only(found, "case wall", f"case wall {side}").after == 4.5
    assert only(found, "straight at an end", "pump.out").after == 0.5
    assert only(found, "bend radius").after == 23.0
    assert "clearance" not in rules_of(found)
    hold_true(scene, found)


# --------------------------------------------------------------------- bends and angles


def test_one_bend_more_is_offered_where_it_is_enough() -> None:
    scene = build(
        At((60.0, 100.0, 100.0), "+x"), At((220.0, 230.0, 220.0), "-y"), max_bends=1
    )
    found = reason(scene)
    assert only(found, "bends").after == 2.0
    hold_true(scene, found)


def test_a_direction_that_one_listed_bend_cannot_meet() -> None:
    scene = build(
        At((60.0, 100.0, 100.0), "+x"),
        At((240.0, 220.0, 100.0), (-0.6, -0.8, 0.0)),
        max_bends=1,
    )
    found = reason(scene)
    # The tube arrives along (0.6, 0.8, 0): acos 0.6 = 53.13 degrees off its start.
    turn = math.degrees(math.acos(0.6))
    fact = only_fact(found, CannotTurn)
    assert fact.ports == ("pump.out", "gpu.in")
    assert (fact.max_bends, fact.angles_deg) == (1, (90.0,))
    assert fact.through_deg == pytest.approx(turn)
    assert rules_of(found) <= {"bends", "bend angles"}
    one = suggested(found, "bend angles")
    assert one.changes[0].after == "any"
    # The axes cross 90 mm and 150 mm from the tube ends: one bend of 53.1 degrees.
    assert one.angles_deg == pytest.approx((turn,), abs=1e-4)
    hold_true(scene, found)


def test_three_bends_of_45_degrees_cannot_turn_a_tube_back() -> None:
    scene = build(
        At((150.0, 100.0, 100.0), "+x"),
        At((150.0, 220.0, 100.0), "+x"),
        bend_angles_deg=(45.0,),
        max_bends=3,
    )
    found = reason(scene)
    assert first_fact(found, CannotTurn).through_deg == pytest.approx(180.0)
    assert only(found, "bends").after == 4.0
    assert only(found, "bend angles").after == (45.0, 90.0)
    hold_true(scene, found)


# ------------------------------------------------------------------------------- stock


def test_stock_too_short_is_told_with_the_trim_that_would_do() -> None:
    # One bend: both legs less two tangents and plus a quarter circle.
    length = 200.0 + 180.0 - 2.0 * R + R * math.pi / 2.0
    scene = build(
        At((60.0, 60.0, 100.0), "+x"), At((260.0, 240.0, 100.0), "-y"), max_bends=1
    )
    (route,) = routes(scene)
    assert route.length == pytest.approx(length)
    stock = length + 2.0 * TUBE.trim_allowance - 10.0
    scene = replace(scene, tube=replace(TUBE, stock_length=stock))
    found = reason(scene)
    fact = only_fact(found, StockTooShort)
    assert (fact.blank, fact.stock_length) == pytest.approx((stock + 10.0, stock))
    assert only(found, "trim allowance").after == 25.0
    assert only(found, "stock length").after == math.ceil(2.0 * (stock + 10.0)) / 2.0
    hold_true(scene, found)


def test_no_trim_is_offered_that_leaves_nothing_to_hold_the_tube_by() -> None:
    scene = build(
        At((60.0, 60.0, 100.0), "+x"),
        At((260.0, 240.0, 100.0), "-y"),
        tube=replace(TUBE, stock_length=380.0),
        max_bends=1,
    )
    found = reason(scene)
    assert rules_of(found) == {"stock length"}
    hold_true(scene, found)


# -------------------------------------------------------------------------- no way out


def test_two_rules_that_only_help_together_are_offered_together() -> None:
    # The tightest former already; both straights are 2 mm too long for it.
    scene = build(
        At((100.0, 100.0, 100.0), "+x"),
        At((136.0, 136.0, 100.0), "-y"),
        tube=replace(TUBE, bend_radii=(21.0,)),
        max_bends=1,
    )
    found = reason(scene)
    (one,) = found.suggestions
    assert {change.subject for change in one.changes} == {"pump.out", "gpu.in"}
    assert {change.rule for change in one.changes} == {"straight at an end"}
    assert routes(after(scene, *one.changes))


def test_where_nothing_helps_it_is_said() -> None:
    scene = build(
        At((280.0, 100.0, 100.0), "+x"), At((20.0, 220.0, 100.0), "-x"), max_bends=5
    )
    found = reason(scene)
    near = [fact.near for fact in found.facts if isinstance(fact, IN_FRONT)]
    assert [one.name for one in near] == ["case wall +x", "case wall -x"]
    assert len(near) == len(found.facts)
    assert not found.suggestions
    walls = {one.subject: one.after for one in found.tried if one.rule == "case wall"}
    assert walls == dict.fromkeys([f"case wall {side}" for side in AXES], 60.0)


@pytest.mark.parametrize("scene", [offset(60.0), passage(1.6), beside(1.7), barrier()])
def test_the_reason_is_the_same_every_time(scene: Scene) -> None:
    assert reason(scene) == reason(scene)
