"""Reasons worked by hand, from a scene's text to its text with what was suggested.

What a person would do: read the reason, change the one figure, and route again.
"""

import math

import pytest

from loopsolver.routing.diagnosis.no_route import (
    CornerTooNear,
    NoneFound,
    OffsetTooNarrow,
    Reason,
    StockTooShort,
    StraightBlocked,
)
from loopsolver.routing.solve import Outcome, solve_run
from loopsolver.scene.model import Scene
from tests.builders.port_texts import box, port, run, scene, seated
from tests.builders.texts import COLLAR, table
from tests.unit.routing.explain_scenes import (
    first_fact,
    only,
    only_fact,
    rules_of,
    suggested,
)


def solved(of: Scene) -> Outcome:
    outcome = solve_run(of, of.runs[0])
    assert outcome.refused == 0
    return outcome


def why(of: Scene) -> Reason:
    outcome = solved(of)
    assert outcome.candidates == ()
    assert isinstance(outcome.why, Reason)
    return outcome.why


def has_route(of: Scene) -> bool:
    return bool(solved(of).candidates)


# -------------------------------------------------- two bends need more room than there is


def offset(aside: float = 60.0, own: str = "", **rules: object) -> Scene:
    """Ports that face each other, `aside` between their axes; two bends at most."""
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (240.0, 100.0 + aside, 100.0), (-1, 0, 0)),
        run("pump", "card") + own,
        **{"max_bends": 2, **rules},
    )


def test_two_square_bends_need_71_mm_and_there_are_60() -> None:
    """2 R + s is 2 28 + 15 = 71. 2 R + 15 <= 60 holds up to R = 22.5: whole are 22."""
    found = why(offset())
    fact = only_fact(found, OffsetTooNarrow)
    told = (fact.angle_deg, fact.needed, fact.there_is)
    assert told == pytest.approx((90.0, 71.0, 60.0))
    assert only(found, "bend radius").after == 22.0
    assert only(found, "bend angles").after == (45.0, 90.0)
    assert has_route(offset(bend_radius=22))
    assert not has_route(offset(bend_radius=23))
    assert has_route(offset(bend_angles=[45, 90]))


def test_the_reason_is_about_the_runs_own_former_and_changes_that() -> None:
    """The scene's former would do, the run's own of 28 does not."""
    found = why(offset(own="bend_radius = 28\n", bend_radius=21))
    assert first_fact(found, OffsetTooNarrow).needed == pytest.approx(71.0)
    assert only(found, "bend radius").after == 22.0
    assert has_route(offset(own="bend_radius = 22\n", bend_radius=21))


def test_the_reason_is_about_the_runs_own_angles() -> None:
    found = why(offset(own="bend_angles = [90]\n", bend_angles="any"))
    assert only(found, "bend angles").after == (45.0, 90.0)
    assert has_route(offset(own="bend_angles = [45, 90]\n", bend_angles="any"))


def test_of_several_formers_the_smallest_is_reckoned_with() -> None:
    """2 21 + 15 = 57, and there are 56: the straight between may be 56 - 42 = 14."""
    found = why(offset(56.0, bend_radius=[28, 21]))
    assert first_fact(found, OffsetTooNarrow).needed == pytest.approx(57.0)
    assert only(found, "straight between bends").after == 14.0


# ------------------------------------------------------------- the number of bends


def aslant(own: str, **rules: object) -> Scene:
    """Two ports square to each other whose axes pass 120 mm apart: two bends, or more."""
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (220.0, 230.0, 220.0), (0, -1, 0)),
        run("pump", "card") + own,
        **rules,
    )


def test_one_bend_more_is_offered_to_the_run_that_has_its_own() -> None:
    found = why(aslant("max_bends = 1\n", max_bends=5))
    assert only(found, "bends").after == 2.0
    assert has_route(aslant("max_bends = 2\n", max_bends=5))


# -------------------------------------------------- something stands in front of a port


def in_front(gap: float, **rules: object) -> Scene:
    """Memory beside the first straight of pump.a, `gap` from the tube."""
    face = 100.0 + 7.0 + gap
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (240.0, 230.0, 100.0), (0, -1, 0)),
        box("memory", (60.0, face, 60.0), (110.0, face + 12.0, 140.0)),
        run("pump", "card"),
        **{"max_bends": 1, **rules},
    )


def test_what_stands_in_front_of_a_port_is_named_with_how_much() -> None:
    """12 mm of depth and 5 beyond make 17; memory leaves 1 mm of 3, and overlaps by 2."""
    found = why(in_front(1.0))
    fact = first_fact(found, StraightBlocked)
    assert (fact.port, fact.near.name) == ("pump.a", "memory")
    assert (fact.length, fact.near.by) == pytest.approx((17.0, 2.0), abs=1e-3)
    moved = only(found, "body", "memory")
    assert (moved.towards, moved.after) == ("+y", 2.0)
    nearer = suggested(found, "clearance")
    assert (nearer.changes[0].after, nearer.near) == (1.0, ("memory",))
    assert has_route(in_front(3.0))
    assert not has_route(in_front(2.5))
    assert has_route(in_front(1.0, clearance=1))
    assert not has_route(in_front(1.0, clearance=1.1))


def test_a_body_in_the_way_of_the_tube_itself() -> None:
    found = why(in_front(-4.0))
    near = first_fact(found, StraightBlocked).near
    assert near.name == "memory"
    assert near.by == pytest.approx(7.0, abs=1e-3)
    moved = only(found, "body", "memory")
    assert (moved.towards, moved.after) == ("+y", 7.0)
    assert "clearance" not in rules_of(found)


# ------------------------------------------------------------------------- the clearance


def gate(gap: float, **rules: object) -> Scene:
    """Two plates across the case with a slot: the tube has `gap` to either."""
    half = 7.0 + gap
    return scene(
        seated("pump", (50.0, 150.0, 150.0), (1, 0, 0)),
        seated("card", (250.0, 150.0, 150.0), (-1, 0, 0)),
        box("memory", (140.0, 0.0, 0.0), (160.0, 150.0 - half, 300.0)),
        box("card_guard", (140.0, 150.0 + half, 0.0), (160, 300, 300)),
        run("pump", "card"),
        **{"max_bends": 0, **rules},
    )


@pytest.mark.parametrize("angles", [[90], [45, 90]], ids=str)
def test_possible_with_a_clearance_of_1_6_mm(angles: list[float]) -> None:
    one = why(gate(1.6, bend_angles=angles)).suggestions[0]
    assert [(c.rule, c.after) for c in one.changes] == [("clearance", 1.6)]
    assert sorted(one.near) == ["card_guard", "memory"]
    assert has_route(gate(1.6, bend_angles=angles, clearance=1.6))
    assert not has_route(gate(1.6, bend_angles=angles, clearance=1.7))


# ------------------------------------------------------------ straights, walls and stock


def corner(first: float, *, beyond: float = 5.0) -> Scene:
    """One bend where the axes cross, `first` from the one tube end, 120 from the other.

    The pump has a collar of its own.
    """
    own = table("[fittings.own]", {**COLLAR, "straight_beyond": beyond})
    return scene(
        own,
        seated("pump", (100.0, 100.0, 100.0), (1, 0, 0)).replace("collar", "own"),
        seated("card", (100.0 + first, 220.0, 100.0), (0, -1, 0)),
        run("pump", "card"),
        max_bends=1,
    )


def test_a_least_straight_at_an_end_is_offered_and_is_enough() -> None:
    """17 + 28 = 45 are needed and 42 there: 2 of the 5 mm beyond the mouth are left."""
    found = why(corner(42.0))
    fact = first_fact(found, CornerTooNear)
    assert fact.port == "pump.a"
    assert (fact.needed, fact.there_is) == pytest.approx((45.0, 42.0))
    assert only(found, "straight at an end", "pump.a").after == 2.0
    assert has_route(corner(42.0, beyond=2.0))
    assert not has_route(corner(42.0, beyond=2.5))


@pytest.mark.parametrize("angles", [[90], [45, 90], "any"], ids=str)
def test_a_case_wall_is_offered_by_as_much_as_lacks(angles: list[float] | str) -> None:
    """A tube straight along a wall 8.2 mm from its axis, which wants 10."""

    def along(z: float) -> Scene:
        return scene(
            seated("pump", (50.0, 150.0, z), (1, 0, 0)),
            seated("card", (250.0, 150.0, z), (-1, 0, 0)),
            run("pump", "card"),
            bend_angles=angles,
            max_bends=0,
        )

    found = why(along(8.2))
    near = next(
        fact.near if isinstance(fact, NoneFound) else (fact.near,)
        for fact in found.facts
        if isinstance(fact, NoneFound | StraightBlocked)
    )
    assert [one.name for one in near] == ["case wall -z"]
    assert near[0].by == pytest.approx(1.8, abs=1e-3)
    assert only(found, "case wall", "case wall -z").after == 2.0
    nearer = suggested(found, "clearance")
    assert (nearer.changes[0].after, nearer.near) == (1.2, ("case wall -z",))
    # The wall 2 mm further out: what is in the case lies 2 mm further up.
    assert has_route(along(10.2))
    assert not has_route(along(9.7))


@pytest.mark.parametrize("own", ["", "bend_angles = [45, 90]\n"])
def test_stock_that_is_too_short_is_told_by_how_much(own: str) -> None:
    """One bend of 28 mm radius between legs of 120 mm: 240 less 56, and a quarter circle.

    That is 227.98 mm, 287.98 with 30 at both ends. Of 280 mm 7.98 are missing: 26 at
    both ends would do, 26.5 would not.
    """

    def bent(stock: float, trim: float) -> Scene:
        return scene(
            seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
            seated("card", (180.0, 220.0, 100.0), (0, -1, 0)),
            run("pump", "card") + own,
            stock_length=stock,
            trim_allowance=trim,
            max_bends=1,
        )

    length = 240.0 - 2.0 * 28.0 + 28.0 * math.pi / 2.0
    assert length == pytest.approx(227.98, abs=0.005)
    short = solved(bent(280.0, 30.0))
    assert short.candidates
    assert isinstance(short.why, Reason)
    fact = only_fact(short.why, StockTooShort)
    assert fact.blank == pytest.approx(length + 60.0)
    assert fact.stock_length == 280.0
    assert only(short.why, "trim allowance").after == 26.0
    assert only(short.why, "stock length").after == 288.0
    assert solved(bent(288.0, 30.0)).why is None
    assert solved(bent(287.5, 30.0)).why is not None
    assert solved(bent(280.0, 26.0)).why is None
    assert solved(bent(280.0, 26.5)).why is not None


# --------------------------------------------------------------------------------- elbows


def beside_a_wall(**rules: object) -> Scene:
    """A port with nothing but an elbow, 30 mm from case wall +x; the goal lies along +y.

    Turned to +x no bend has room before the wall, turned to -x the leg of 33 mm is too
    short for one bend's 45; turned to +y the axes are 45 mm apart.
    """
    return scene(
        port("pump", (270.0, 60.0, 40.0), "+z", "corner"),
        seated("card", (225.0, 240.0, 54.0), (0, -1, 0)),
        run("pump", "card"),
        **{"max_bends": 2, **rules},
    )


def test_of_an_elbow_it_is_told_what_lacks_where_it_looks_at_the_goal() -> None:
    """Two bends of 45 degrees need 16.4 + 10.6 = 27 mm, as worked out for offsets.

    The best tube that they give has but one of them, as is worked out below.
    """
    found = why(beside_a_wall())
    fact = first_fact(found, OffsetTooNarrow)
    told = (fact.angle_deg, fact.needed, fact.there_is)
    assert told == pytest.approx((90.0, 71.0, 45.0))
    bent = suggested(found, "bend angles")
    assert bent.changes[0].after == (45.0, 90.0)
    assert bent.angles_deg == pytest.approx((45.0,))
    most = only(found, "bends").after
    assert isinstance(most, float)
    assert has_route(beside_a_wall(max_bends=round(most)))
    # Half way between -x and +y the elbow spares one of them: it meets the goal's axis
    # 45 - 12 sin 45 = 36.5 mm aside, after 51.6 of which 17 + 28 tan 22.5 are needed.
    first = solved(beside_a_wall(bend_angles=[45, 90])).candidates[0]
    half = math.sqrt(0.5)
    assert first.ends[0].outlet == pytest.approx((-half, half, 0.0))
    assert [bend.angle_deg for bend in first.table.bends] == pytest.approx([45.0])
