"""What is offered of all that would help: asked for, in order, and refined.

What works is said by the test; the search is left out. Figures are counted by hand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from loopsolver.routing.diagnosis.leads import (
    Hindered,
    names_too_near,
    shortfalls,
)
from loopsolver.routing.diagnosis.no_route import (
    BendBlocked,
    Shortfall,
    StraightBlocked,
)
from loopsolver.routing.diagnosis.relaxations import Help
from loopsolver.routing.diagnosis.room import Front
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.stretch import Stretch
from loopsolver.routing.diagnosis.suggestions import (
    suggestion_of,
    suggestions,
)
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import BendAngles, Scene
from tests.builders.plans import candidate
from tests.builders.scenes import box
from tests.unit.routing.diagnosis.told_probes import (
    ROUTE,
    ToldProbes,
    Works,
    always,
    never,
    number,
)
from tests.unit.routing.explain_scenes import At, build

FREE = Hindered()
CANNOT_TURN = Hindered(is_turn_impossible=True)

STRAIGHT = candidate((60, 100, 100), (240, 100, 100))
"""The tube between both ports, through what stands in the middle."""


def straight_front(name: str) -> Front:
    """Something in front of a port that leaves no room for its straight."""
    near = Shortfall(name=name, by=1.0)
    fact = StraightBlocked(port="pump.out", length=17.0, near=near)
    return Front(fact=fact, stretch=Stretch(tube=STRAIGHT.centreline))


def bend_front(name: str) -> Front:
    """Something in front of a port that leaves no room for a bend."""
    near = Shortfall(name=name, by=1.0)
    fact = BendBlocked(
        port="pump.out",
        length=17.0,
        angles_deg=(90.0,),
        bend_radius=28.0,
        sides=24,
        near=near,
    )
    return Front(fact=fact, stretch=Stretch(tube=STRAIGHT.centreline))


END_BLOCKED = Hindered(fronts=(straight_front("case wall -x"),))
BEND_BLOCKED = Hindered(fronts=(bend_front("case wall -x"),))

BODIES = (
    box("memory", (140.0, 95.0, 95.0), (160.0, 105.0, 105.0)),
    box("card", (140.0, 108.0, 95.0), (160.0, 118.0, 105.0)),
    box("far", (140.0, 200.0, 200.0), (160.0, 210.0, 210.0)),
)


def scene(angles: BendAngles = (90.0,), bends: int = 2) -> Scene:
    return build(
        At((60.0, 100.0, 100.0), "+x"),
        At((240.0, 100.0, 100.0), "-x"),
        *BODIES,
        bend_angles_deg=angles,
        max_bends=bends,
    )


def only(rule: str, least: Callable[[Change], bool] = lambda _: True) -> Works:
    """What works are changes of one rule that are generous enough."""

    def works(*changes: Change) -> Candidate | None:
        helps = any(one.rule == rule and least(one) for one in changes)
        return ROUTE if helps else None

    return works


def rules(probes: ToldProbes, known: Hindered = FREE) -> list[tuple[str, str]]:
    found = suggestions(probes, known)
    assert all(len(one.changes) == 1 for one in found)
    return [(one.changes[0].rule, one.changes[0].subject) for one in found]


SMALL = [
    ("clearance", ""),
    ("straight at an end", "pump.out"),
    ("straight at an end", "gpu.in"),
    ("straight between bends", ""),
    ("bend radius", ""),
]


def test_small_matters_come_first_and_no_more_than_five_are_told() -> None:
    assert rules(ToldProbes(scene(), always)) == SMALL


def test_at_a_blocked_end_bends_are_not_asked_for_more_room() -> None:
    probes = ToldProbes(scene(), always)
    assert rules(probes, END_BLOCKED)[:3] == SMALL[:3]
    asked = {change.rule for changes in probes.asked for change in changes}
    assert asked.isdisjoint({"straight between bends", "bend radius", "bends"})


def test_where_small_matters_do_not_help_all_together_none_is_tried_alone() -> None:
    probes = ToldProbes(scene(), never)
    assert suggestions(probes, FREE) == ()
    tried = [changes for changes in probes.asked if changes[0].rule == "clearance"]
    assert [len(changes) for changes in tried] == [5]


def test_what_helps_is_told_as_little_of_it_as_is_enough() -> None:
    probes = ToldProbes(scene(), only("clearance", lambda one: number(one) <= 1.7))
    (found,) = suggestions(probes, FREE)
    assert found.changes[0].after == 1.7


def test_nothing_more_is_looked_for_when_the_work_for_leads_is_done() -> None:
    """One probe of all small matters, one of each: the third, of `gpu.in`, is too many."""
    for lead, wanted in ((3, SMALL[:2]), (2, SMALL[:1])):
        probes = ToldProbes(scene(), always, lead=lead)
        assert rules(probes) == wanted


@pytest.mark.parametrize("rule", ["bends", "bend angles", "body", "case wall"])
def test_no_kind_of_lead_is_looked_for_without_work(rule: str) -> None:
    probes = ToldProbes(scene(), only(rule), lead=0)
    assert suggestions(probes, Hindered(bare=STRAIGHT)) == ()
    assert all(changes[0].rule != rule for changes in probes.asked)


def test_only_together_do_they_help_and_none_is_told_that_is_not_needed() -> None:
    def works(*changes: Change) -> Candidate | None:
        told = {one.subject or one.rule for one in changes}
        return ROUTE if {"gpu.in", "bend radius"} <= told else None

    (found,) = suggestions(ToldProbes(scene(), works), FREE)
    assert [one.subject or one.rule for one in found.changes] == [
        "gpu.in",
        "bend radius",
    ]


# ------------------------------------------------------------------- bends and angles


@pytest.mark.parametrize(
    ("asked", "most"), [(0, 3), (2, 5), (3, 6), (4, 6), (5, 6), (6, 7), (9, 10)]
)
def test_three_more_bends_are_tried_but_no_more_than_six_or_one_more(
    asked: int, most: int
) -> None:
    probes = ToldProbes(scene(bends=asked), never)
    suggestions(probes, FREE)
    (change,) = [one for one in probes.asked if one[0].rule == "bends"]
    assert (change[0].before, change[0].after) == (asked, most)


def test_no_more_bends_than_a_scene_may_ask_for_are_offered() -> None:
    probes = ToldProbes(scene(bends=20), never)
    suggestions(probes, FREE)
    assert all(one[0].rule != "bends" for one in probes.asked)


FOUR_BENDS = candidate(
    (0, 0, 0), (100, 0, 0), (100, 100, 0), (200, 100, 0), (200, 200, 0), (300, 200, 0)
)


@pytest.mark.parametrize("enough", [3, 4, 5])
def test_the_fewest_bends_that_are_enough_are_told(enough: int) -> None:
    """A tube of four bends was found first; no more than these are needed."""

    def works(*changes: Change) -> Candidate | None:
        (change, *_) = changes
        if change.rule != "bends":
            return None
        return FOUR_BENDS if number(change) >= enough else None

    probes = ToldProbes(scene(), works)
    (found,) = suggestions(probes, FREE)
    assert found.changes[0].after == enough
    assert found.bends == 4
    tried = [one[0].after for one in probes.sought if one[0].rule == "bends"]
    assert tried == [enough - 1] * (enough > 3)


def test_without_work_to_refine_the_first_that_was_found_is_told() -> None:
    probes = ToldProbes(scene(), only("bends"), refine=0, search=0)
    (found,) = suggestions(probes, FREE)
    assert (found.changes[0].after, found.too_little) == (5, 2)


@pytest.mark.parametrize(
    ("asked", "offered"),
    [
        ((90.0,), [(45.0, 90.0), "any"]),
        ((30.0, 60.0), [(30.0, 45.0, 60.0, 90.0), "any"]),
        ((45.0, 90.0), ["any"]),
        ((90.0, 45.0), ["any"]),
        ("any", []),
    ],
)
def test_standard_angles_are_offered_then_any(
    asked: BendAngles, offered: list[BendAngles]
) -> None:
    probes = ToldProbes(scene(asked), never)
    suggestions(probes, CANNOT_TURN)
    changes = [one[0] for one in probes.asked if one[0].rule == "bend angles"]
    assert [one.after for one in changes] == offered
    assert all(one.before == asked for one in changes)


def test_any_angle_is_not_offered_where_standard_ones_help() -> None:
    (found,) = suggestions(ToldProbes(scene(), only("bend angles")), CANNOT_TURN)
    assert found.changes[0].after == (45.0, 90.0)


def test_where_an_end_is_blocked_no_other_bends_or_angles_are_tried() -> None:
    probes = ToldProbes(scene(), never)
    suggestions(probes, END_BLOCKED)
    asked = {one[0].rule for one in probes.asked}
    assert asked.isdisjoint({"bends", "bend angles"})
    probes = ToldProbes(scene(), never)
    suggestions(probes, BEND_BLOCKED)
    asked = {one[0].rule for one in probes.asked}
    assert "bends" not in asked
    assert "bend angles" in asked


# -------------------------------------------------------------------- bodies and walls


def test_what_a_tube_is_too_near_to_is_told_nearest_first() -> None:
    """The memory reaches to the axis and 5 mm round it, the card begins 8 mm aside.

    The tube's radius is 7 mm, the clearance 3 mm.
    """
    problem = ToldProbes(scene(), never).problem
    assert names_too_near(problem, STRAIGHT) == ("memory", "card")
    lacking = {one.name: one.by for one in shortfalls(problem, STRAIGHT)}
    assert lacking["card"] == pytest.approx(3.0 - (8.0 - 7.0))
    assert lacking["memory"] > 3.0 + 7.0 - 1e-6


def test_a_suggestion_has_its_routes_figures_and_names_what_it_comes_near_to() -> None:
    probes = ToldProbes(scene(), never)
    rubbing = Change(rule="clearance", before=3.0, after=1.0)
    change = Change(rule="bend radius", before=3.0, after=1.0)
    for one, near in ((rubbing, ("memory", "card")), (change, ())):
        found = suggestion_of(probes, Help(changes=(one,), route=STRAIGHT))
        assert (found.bends, found.length, found.angles_deg) == (0, 180.0, ())
        assert found.near == near
    square = suggestion_of(probes, Help(changes=(change,), route=ROUTE))
    assert square.angles_deg == pytest.approx((90.0,))


def gone(subject: str, *, most: float = 0.0) -> Callable[..., Candidate | None]:
    """What works is that a body is away, or moved by so much at least [mm]."""

    def works(*changes: Change) -> Candidate | None:
        (change, *_) = changes
        if change.rule != "body" or change.subject != subject:
            return None
        is_enough = change.after is None or (most and number(change) >= most)
        return STRAIGHT if is_enough else None

    return works


def test_bodies_in_the_way_are_tried_and_the_least_in_the_way_first() -> None:
    probes = ToldProbes(scene(), never)
    suggestions(probes, Hindered(bare=STRAIGHT))
    tried = [one[0] for one in probes.asked if one[0].rule == "body"]
    assert [(one.subject, one.after) for one in tried] == [
        ("card", None),
        ("memory", None),
    ]


@pytest.mark.parametrize(
    "known", [FREE, Hindered(bare=STRAIGHT, is_turn_impossible=True)]
)
def test_no_body_is_tried_where_it_is_not_known_what_is_in_the_way(
    known: Hindered,
) -> None:
    probes = ToldProbes(scene(), never)
    suggestions(probes, known)
    assert all(one[0].rule != "body" for one in probes.asked)


def test_what_stands_before_a_port_is_tried_first_and_what_carries_one_never() -> None:
    own = replace(scene().components[0], bodies=(box("pump", (0, 0, 0), (9, 9, 9)),))
    some = replace(scene(), components=(own, *scene().components[1:]))
    probes = ToldProbes(some, never)
    suggestions(
        probes,
        Hindered(
            bare=STRAIGHT, fronts=tuple(map(bend_front, ("pump", "far", "memory")))
        ),
    )
    tried = [one[0].subject for one in probes.asked if one[0].rule == "body"]
    assert tried == ["far", "memory", "card"]


def test_a_keep_out_is_tried_as_well() -> None:
    """Bodies and keep-outs: no more than the effort says."""
    some = replace(scene(), keep_outs=(box("swing", (0, 0, 0), (9, 9, 9)),))
    probes = ToldProbes(some, never)
    suggestions(
        probes, Hindered(bare=STRAIGHT, fronts=tuple(map(bend_front, ("swing",))))
    )
    assert [one[0].subject for one in probes.asked if one[0].rule == "body"] == [
        "swing",
        "card",
        "memory",
    ]


@pytest.mark.parametrize("enough", [0.5, 11.0, 15.0])
def test_a_body_that_may_stay_is_told_with_the_least_move(enough: float) -> None:
    """The memory reaches 5 mm beyond the axis: 15 mm clear the tube, to any side."""
    alone = replace(
        scene(), components=tuple(c for c in scene().components if c.name != "card")
    )
    probes = ToldProbes(alone, gone("memory", most=enough))
    (found,) = suggestions(probes, Hindered(bare=STRAIGHT))
    (change,) = found.changes
    assert (change.before, change.after) == (0.0, enough)
    assert change.towards[1:] in "yz"


@pytest.mark.parametrize("refine", [0, 100])
def test_a_body_that_no_move_helps_or_no_work_is_left_for_must_go(refine: int) -> None:
    works = gone("memory") if refine else gone("memory", most=0.5)
    (found,) = suggestions(
        ToldProbes(scene(), works, refine=refine), Hindered(bare=STRAIGHT)
    )
    assert found.changes == (
        Change(rule="body", subject="memory", before=0.0, after=None),
    )


def walled(*over: tuple[str, float]) -> Callable[..., Candidate | None]:
    """What works are walls moved out: all of them, or one by so much [mm].

    In the widened case the tube goes beyond two walls, by 20 mm and by 30.
    """
    far = candidate((60 + 60, 100 + 60, 40), (240 + 60, 100 + 60, 40))

    def works(*changes: Change) -> Candidate | None:
        if changes[0].rule != "case wall":
            return None
        if len(changes) == 6:
            return far
        (change,) = changes
        is_enough = any(
            change.subject == name and number(change) >= by for name, by in over
        )
        return far if is_enough else None

    return works


def test_the_wall_that_a_tube_would_cross_is_moved_as_far_as_it_must() -> None:
    """20 mm below the datum, and 10 mm that the axis keeps: 30 mm."""
    (found,) = suggestions(ToldProbes(scene(), walled(("case wall -z", 27.5))), FREE)
    (change,) = found.changes
    assert (change.subject, change.before) == ("case wall -z", 0.0)
    assert change.after == 27.5
    probes = ToldProbes(scene(), walled())
    assert suggestions(probes, FREE) == ()
    singles = [one[0] for one in probes.asked if one[0].rule == "case wall"]
    assert (singles[-1].subject, singles[-1].after) == ("case wall -z", 30.0)


def test_no_wall_is_moved_where_angles_cannot_turn() -> None:
    probes = ToldProbes(scene(), never)
    suggestions(probes, CANNOT_TURN)
    assert all(one[0].rule != "case wall" for one in probes.asked)


def test_of_walls_that_a_tube_crosses_the_least_crossed_is_tried_first() -> None:
    """Both go out to 60 mm, as none alone may be enough: 30 mm and 35 mm are crossed."""

    def works(*changes: Change) -> Candidate | None:
        if len(changes) == 6 and changes[0].rule == "case wall":
            return candidate((120, 35, 40), (300, 35, 40))
        return None

    probes = ToldProbes(scene(), works)
    assert suggestions(probes, FREE) == ()
    every, *walls = [one for one in probes.asked if one[0].rule == "case wall"]
    assert {change.after for change in (*every, *(one[0] for one in walls))} == {60.0}
    assert [one[0].subject for one in walls] == ["case wall -z", "case wall -y"]
