"""Why there is no tube, in words: each fact, each remedy, and both in a sentence.

What is expected was written by hand: what a person at a bench should read. Of figures
the closed forms stand beside the searches (`tests/unit/routing/diagnosis`); here they
are inputs.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.report.no_route import in_words, why_in_words
from loopsolver.report.planning import route_scene
from loopsolver.report.rule_changes import change_in_words, tried_in_words
from loopsolver.routing.diagnosis.no_route import (
    Askew,
    BendBlocked,
    CannotTurn,
    CornerTooNear,
    ElbowsBlocked,
    FacingBlocked,
    FacingTooNear,
    Fact,
    InTheWay,
    NoneFound,
    NoneInEmptyCase,
    NoPlace,
    NoPortsLeft,
    NoRoute,
    NotExplained,
    NotRouted,
    OffsetTooNarrow,
    OffsetTooShort,
    OtherFitting,
    OtherPort,
    OutOfLine,
    OutOfRange,
    Reason,
    Remedy,
    ReturnTooNarrow,
    RulesAsked,
    Searched,
    Shortfall,
    StockTooShort,
    StraightBlocked,
    Suggestion,
    TakenPort,
)
from loopsolver.routing.diagnosis.rule_changes import Change, Rule
from loopsolver.routing.diagnosis.whole_loop import (
    LoopChange,
    LoopRemedies,
    LoopRemedy,
    OtherOrder,
)
from loopsolver.scene.model import BendAngles, Scene
from loopsolver.scene.port_contests import Contest
from loopsolver.scene.reader import scene_from_text
from tests.builders import texts
from tests.builders.port_texts import box, run, scene, seated

Value = float | BendAngles | None

PORTS = ("pump.out", "gpu.in")
MEMORY = Shortfall(name="memory", by=1.25)
RULES = RulesAsked(
    max_bends=5, bend_angles_deg=(90.0,), bend_radius=28.0, clearance=3.0
)
PROVEN = Searched(proven="all", bends=5)
FREE = RulesAsked(max_bends=1, bend_angles_deg="any", bend_radius=28.0, clearance=3.0)


def change(rule: Rule, after: Value, subject: str = "", towards: str = "") -> Change:
    return Change(rule=rule, subject=subject, before=0.0, after=after, towards=towards)


def suggested(*changes: Change, **figures: object) -> Suggestion:
    known = {"bends": 2, "length": 300.0, "angles_deg": (90.0, 90.0)} | figures
    return Suggestion(changes=changes, **known)  # type: ignore[arg-type]


FACTS: list[tuple[Fact, str]] = [
    (
        StraightBlocked(port="pump.out", length=17.0, near=MEMORY),
        "the first 17 mm of tube from pump.out come 1.2 mm too near to memory",
    ),
    (
        BendBlocked(
            port="pump.out",
            length=17.0,
            angles_deg=(45.0, 90.0),
            bend_radius=28.0,
            sides=24,
            near=Shortfall(name="case wall -x", by=4.2),
        ),
        "after the first 17 mm from pump.out a bend of 45 or 90 degrees and 28 mm "
        "radius comes 4.2 mm too near to case wall -x, to each of the 24 sides that were "
        "tried",
    ),
    (
        CannotTurn(ports=PORTS, through_deg=53.13, max_bends=1, angles_deg=(90.0,)),
        "from pump.out to gpu.in the tube turns through 53.1 degrees in all, which at "
        "most 1 bend of 90 degrees cannot do",
    ),
    (
        Askew(ports=PORTS, angle_deg=80.0),
        "pump.out and gpu.in stand at 80 degrees to each other, which bends of 90 "
        "degrees meet only where they are rolled out of square",
    ),
    (
        FacingTooNear(ports=PORTS, needed=17.0, there_is=12.0),
        "the tube ends in pump.out and gpu.in are 12 mm apart, and a tube needs 17 mm "
        "of straight there",
    ),
    (
        FacingBlocked(ports=PORTS, near=MEMORY),
        "the straight tube between pump.out and gpu.in comes 1.2 mm too near to memory",
    ),
    (
        OffsetTooNarrow(angle_deg=90.0, needed=71.0, there_is=60.04),
        "two 90-degree bends need 71 mm between the ports' axes, and there are 60 mm",
    ),
    (
        OffsetTooShort(angle_deg=22.5, needed=90.0, there_is=84.0),
        "two 22.5-degree bends with their straights need 90 mm along the ports' axes, "
        "and there are 84 mm between the tube ends",
    ),
    (
        ReturnTooNarrow(angles_deg=(90.0, 90.0), needed=71.0, there_is=60.0),
        "two 90-degree bends need 71 mm between the axes of two ports that point the "
        "same way, and there are 60 mm",
    ),
    (
        ReturnTooNarrow(angles_deg=(60.0, 120.0), needed=69.0, there_is=60.0),
        "bends of 60 degrees and 120 degrees need 69 mm between the axes of two ports "
        "that point the same way, and there are 60 mm",
    ),
    (
        OutOfLine(off=(("z", 1.7),), turn_step_deg=90.0, max_bends=3),
        "the ports are 1.7 mm out of line along z, which at most 3 bends with turns in "
        "multiples of 90 degrees cannot make up",
    ),
    (
        OutOfLine(off=(("x", 0.5), ("", 2.0)), turn_step_deg=45.0, max_bends=1),
        "the ports are 0.5 mm out of line along x and 2 mm out of line, which at most 1 "
        "bend with turns in multiples of 45 degrees cannot make up",
    ),
    (
        CornerTooNear(port="pump.out", angle_deg=90.0, needed=45.0, there_is=43.0),
        "one 90-degree bend needs 45 mm from the tube end in pump.out to where the "
        "ports' axes cross, and there are 43 mm",
    ),
    (
        NoneInEmptyCase(ports=PORTS, rules=FREE, searched=PROVEN),
        "even in the empty case there is no tube of at most 1 bend of any angle up to 120 "
        "degrees, 28 mm radius and 3 mm clearance from pump.out to gpu.in",
    ),
    (
        NoneInEmptyCase(
            ports=PORTS,
            rules=replace(FREE, max_bends=5),
            searched=Searched(proven="one bend", bends=3),
        ),
        "even in the empty case no tube of at most 5 bends of any angle from 5 to 120 "
        "degrees, 28 mm radius and 3 mm clearance was found from pump.out to gpu.in: none "
        "with at most 1 bend is free; of the others the likeliest with up to 3 bends, "
        "whatever their turns, were tried, and none with more",
    ),
    (
        OutOfRange(limit_deg=120.0, angle_deg=131.04),
        "bend_range allows no bend sharper than 120 degrees, and one tube has 131 degrees",
    ),
    (
        OutOfRange(limit_deg=5.0, angle_deg=3.2),
        "of three bends or more bend_range allows none slighter than 5 degrees, and one "
        "tube has 3.2 degrees",
    ),
    (
        NoneFound(
            rules=replace(RULES, max_bends=12),
            searched=Searched(proven="square", bends=10),
            bends=2,
            near=(MEMORY,),
        ),
        "no tube of at most 12 bends of 90 degrees, 28 mm radius and 3 mm clearance was "
        "found: none with square turns is free; of the others the likeliest with up to 10 "
        "bends, whatever their turns, were tried, and none with more; the simplest (2 "
        "bends) comes 1.2 mm too near to memory",
    ),
    (
        NoneFound(
            rules=replace(RULES, bend_angles_deg=(45.0, 90.0), turn_step_deg=45.0),
            searched=Searched(proven="one bend", bends=5),
            bends=2,
            near=(),
        ),
        "no tube of at most 5 bends of 45 or 90 degrees with turns in multiples of 45 "
        "degrees, 28 mm radius and 3 mm clearance was found: none with at most 1 bend is "
        "free; of the others the likeliest with up to 5 bends were tried",
    ),
    (
        NoneFound(rules=RULES, searched=PROVEN, bends=2, near=()),
        "no tube of at most 5 bends of 90 degrees, 28 mm radius and 3 mm clearance is "
        "free",
    ),
    (
        NoneFound(rules=RULES, searched=PROVEN, bends=0, near=(MEMORY,)),
        "no tube of at most 5 bends of 90 degrees, 28 mm radius and 3 mm clearance is "
        "free; the simplest (straight) comes 1.2 mm too near to memory",
    ),
    (
        NoneFound(
            rules=RULES,
            searched=PROVEN,
            bends=2,
            near=tuple(
                Shortfall(name=name, by=by)
                for name, by in {"a": 14.0, "b": 3.0, "c": 2.0, "d": 1.0}.items()
            ),
        ),
        "no tube of at most 5 bends of 90 degrees, 28 mm radius and 3 mm clearance is "
        "free; the simplest (2 bends) comes 14 mm too near to a, 3 mm to b, 2 mm to c "
        "and less to 1 more",
    ),
    (
        StockTooShort(blank=287.98, stock_length=280.0),
        "the shortest tube that was found needs a blank of 288 mm, trim allowance "
        "included, and the stock is 280 mm long: 8 mm short",
    ),
]

CHANGES: list[tuple[Change, str]] = [
    (change("clearance", 1.6), "a clearance of 1.6 mm"),
    (
        change("straight at an end", 2.0, "gpu.in"),
        "2 mm of straight beyond the fitting on gpu.in",
    ),
    (change("straight between bends", 9.5), "9.5 mm of straight between bends"),
    (change("bend radius", 22.0), "a former of 22 mm radius"),
    (change("bends", 1.0), "1 bend"),
    (change("bends", 6.0), "6 bends"),
    (change("bend angles", (30.0, 45.0, 90.0)), "bends of 30, 45 or 90 degrees"),
    (change("bend angles", "any"), "bends of any angle"),
    (change("sharpest bend", 131.0), "bends of up to 131 degrees"),
    (change("slightest bend", 3.0), "bends of 3 degrees and more"),
    (change("turn step", 45.0), "turns in multiples of 45 degrees"),
    (change("turn step", "any"), "turns of any angle"),
    (change("body", None, "memory"), "memory out of the way"),
    (change("body", 3.5, "memory", "-x"), "memory 3.5 mm further towards -x"),
    (change("case wall", 4.5, "case wall +y"), "case wall +y 4.5 mm further out"),
    (change("stock length", 540.5), "stock 540.5 mm long"),
    (change("trim allowance", 20.0), "a trim allowance of 20 mm at each end"),
]

PORT = OtherPort(end="from", port="tank.b", instead_of="tank.a")
ELBOW = OtherFitting(port="tank.a", fitting="corner")
NEARER = suggested(change("clearance", 2.0))

REMEDIES: list[tuple[Remedy, str]] = [
    (PORT, "from tank.b instead of tank.a"),
    (OtherPort(end="to", port="b", instead_of="a"), "to b instead of a"),
    (ELBOW, 'with the fitting "corner" on tank.a'),
    (NEARER, "with a clearance of 2 mm"),
    (
        suggested(change("bends", 4.0), change("clearance", 1.0)),
        "with 4 bends and a clearance of 1 mm together",
    ),
]

NEAR = InTheWay(run="pump to card", gap=1.25, at=(10.4, 20.0, 30.0))
HELD = TakenPort(port="pump.out", run="card to roof")
INTO = InTheWay(run="card to roof", gap=-14.0, at=(60.0, 150.0, 11.0))

WHYS: list[tuple[NoRoute, str]] = [
    (
        Reason(facts=(FACTS[0][0],), suggestions=(NEARER,)),
        f"{FACTS[0][1]}; possible with a clearance of 2 mm",
    ),
    (
        Reason(facts=(FACTS[0][0],), suggestions=()),
        f"{FACTS[0][1]}; no change that was tried helps: there is none to try",
    ),
    (
        ElbowsBlocked(ports=("pump.out", "gpu.in"), clearance=3.0),
        "each of the 8 positions of the elbow on pump.out and on gpu.in that were tried "
        "comes nearer than 3 mm "
        "to something; offer a straight fitting there, or a shorter elbow",
    ),
    (
        NoPortsLeft(from_ports=("near.a", "near.b"), to_ports=("far.one",)),
        "no two ports are left for a tube from near.a or near.b to far.one: the "
        "coolant goes the other way there, or other runs hold them",
    ),
    (
        NoPortsLeft(
            from_ports=("near.a",),
            to_ports=("far.one",),
            contest=Contest(
                ports=("near.a",),
                ends=(("first", "from"), ("second", "from")),
                spare=("near.b",),
            ),
        ),
        "no two ports are left for a tube from near.a to far.one: the runs 'first', "
        "'second' end at near.a, and a port holds one tube; give one of them another "
        "port, such as near.b",
    ),
    (
        NotRouted(),
        "the search was stopped before this run was routed; route again to have it",
    ),
    (
        NotExplained(),
        "none was found; the search was stopped before it was looked into what stands "
        "in the way: route again, or this run alone with --run",
    ),
    (
        NoPlace(in_the_way=(INTO, NEAR), remedies=(PORT, ELBOW, NEARER)),
        "no route of it that was found fits beside the others; its best runs 14 mm into "
        "'card to roof' at (60, 150, 11) mm and comes within 1.2 mm of "
        "'pump to card' at (10, 20, 30) mm;\n"
        "possible from tank.b instead of tank.a,\n"
        'or with the fitting "corner" on tank.a,\n'
        "or with a clearance of 2 mm",
    ),
    (
        NoPlace(in_the_way=(NEAR,), remedies=()),
        "no route of it that was found fits beside the others; its best comes within "
        "1.2 mm of 'pump to card' at (10, 20, 30) mm;\n"
        "nothing that was tried helps while they stay where they are",
    ),
    (
        NoPlace(in_the_way=(NEAR,), remedies=(), is_all_tried=False),
        "no route of it that was found fits beside the others; its best comes within "
        "1.2 mm of 'pump to card' at (10, 20, 30) mm;\n"
        "what would help was not tried: the search was stopped",
    ),
    (
        NoPlace(in_the_way=(INTO,), remedies=(), taken=(HELD,)),
        "no port is left for it: pump.out is taken by 'card to roof', and a port holds "
        "one tube;\n"
        "give one of them another port, or join them at a piece with three ports, as a "
        "component of its own",
    ),
    (
        NoPlace(
            in_the_way=(),
            remedies=(OtherPort(end="from", port="p.low", instead_of="p.out"),),
            taken=(HELD, TakenPort(port="pump.top", run="first")),
        ),
        "no port is left for it: pump.out is taken by 'card to roof' and pump.top is "
        "taken by 'first', and a port holds one tube;\n"
        "possible from p.low instead of p.out,\n"
        "or give one of them another port, or join them at a piece with three ports, "
        "as a component of its own",
    ),
]


@pytest.mark.parametrize(("one", "words"), [*FACTS, *REMEDIES, *WHYS])
def test_each_piece_has_its_words(one: Fact | Remedy | NoRoute, words: str) -> None:
    assert in_words(one, MILLIMETRES) == words


def test_there_is_an_example_of_every_piece() -> None:
    for kinds, examples in ((Fact, FACTS), (Remedy, REMEDIES), (NoRoute, WHYS)):
        assert {type(one) for one, _ in examples} == set(get_args(kinds))
    assert {one.rule for one, _ in CHANGES} == set(get_args(Rule))


@pytest.mark.parametrize(("one", "words"), CHANGES)
def test_each_change_has_its_words(one: Change, words: str) -> None:
    assert change_in_words(one, MILLIMETRES) == words
    assert in_words(suggested(one), MILLIMETRES).startswith(f"with {words}")


def test_what_nobody_has_words_for_is_our_own_fault() -> None:
    with pytest.raises(TypeError, match="no words for 'because'"):
        in_words("because", MILLIMETRES)  # type: ignore[arg-type]


def test_a_clearance_names_what_is_in_the_way_and_no_more_than_three() -> None:
    one = change("clearance", 1.0)
    assert in_words(suggested(one, near=("a", "b")), MILLIMETRES) == (
        "with a clearance of 1 mm (a and b in the way)"
    )
    assert "(a, b, c and 2 more in the way)" in in_words(
        suggested(one, near=("a", "b", "c", "d", "e")), MILLIMETRES
    )


def test_other_angles_tell_those_that_are_used() -> None:
    one = change("bend angles", "any")
    assert in_words(suggested(one, angles_deg=(52.0, 52.04)), MILLIMETRES) == (
        "with bends of any angle (2 of 52 degrees)"
    )
    assert "(30.5 and 90 degrees)" in in_words(
        suggested(one, angles_deg=(30.5, 90.0)), MILLIMETRES
    )
    assert in_words(suggested(one, bends=0, angles_deg=()), MILLIMETRES) == (
        "with bends of any angle"
    )


def test_a_sentence_joins_facts_and_ways_out() -> None:
    found = Reason(
        facts=(FACTS[4][0], FACTS[5][0]),
        suggestions=(
            suggested(change("bend radius", 22.0)),
            suggested(change("bends", 4.0)),
        ),
    )
    assert in_words(found, MILLIMETRES) == (
        f"{FACTS[4][1]}; {FACTS[5][1]}; possible with a former of 22 mm radius or with "
        "4 bends"
    )


def test_a_run_without_a_place_reads_on_where_lines_are_not_kept() -> None:
    told = in_words(NoPlace(in_the_way=(INTO,), remedies=(PORT, ELBOW)), MILLIMETRES)
    assert " ".join(told.split()).endswith(
        "mm; possible from tank.b instead of tank.a, or with the fitting "
        '"corner" on tank.a'
    )


def test_what_was_tried_in_vain_is_told_rule_by_rule() -> None:
    tried = (
        change("clearance", 0.5),
        change("straight at an end", 0.0, "pump.out"),
        change("straight at an end", 0.0, "gpu.in"),
        change("body", None, "memory"),
        change("body", None, "card"),
        change("case wall", 60.0, "case wall -x"),
        change("case wall", 60.0, "case wall +x"),
    )
    assert tried_in_words(tried, MILLIMETRES) == (
        "a clearance of 0.5 mm, 0 mm of straight beyond the fittings on pump.out and "
        "gpu.in, memory or card out of the way and case walls 60 mm further out"
    )
    found = Reason(facts=(FACTS[0][0],), suggestions=(), tried=tried[:1])
    assert in_words(found, MILLIMETRES) == (
        f"{FACTS[0][1]}; no change that was tried helps: a clearance of 0.5 mm"
    )


# ------------------------------------------------------------------- from scenes to words


def why_of(of: Scene) -> str:
    (planned,) = route_scene(of).runs
    assert planned.why is not None
    return planned.why


def offset_scene() -> Scene:
    """Axes 60 mm apart; 2 R + s is 2 28 + 15 = 71, and 2 R + 15 <= 60 up to R = 22."""
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (240.0, 160.0, 100.0), (-1, 0, 0)),
        run("pump", "card"),
        max_bends=2,
    )


def in_front_scene() -> Scene:
    """Memory 1 mm from the first straight of 12 + 5 mm, where 3 mm are asked for."""
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (240.0, 230.0, 100.0), (0, -1, 0)),
        box("memory", (60.0, 108.0, 60.0), (110.0, 120.0, 140.0)),
        run("pump", "card"),
        max_bends=1,
    )


def test_a_plan_of_millimetres_says_it_in_millimetres() -> None:
    told = why_of(offset_scene())
    assert told.startswith(
        "two 90-degree bends need 71 mm between the ports' axes, and there are 60 mm; "
        "possible with a former of 22 mm radius"
    )
    assert "with bends of 45 or 90 degrees (2 of 45 degrees)" in told
    told = why_of(in_front_scene())
    assert told.startswith(
        "the first 17 mm of tube from pump.a come 2 mm too near to memory; possible "
        "with a clearance of 1 mm (memory in the way)"
    )
    assert "with memory 2 mm further towards +y" in told


# ------------------------------------------------------------------------------ in inches

BESIDE = re.compile(r"-?[\d.]+ in \(-?[\d.]+ mm\)")
"""A length in inches with its millimetres beside it."""

IN_INCHES = "".join(
    [
        texts.head(
            first={"units": "in"},
            inner=[12, 12, 12],
            tube={
                "material": "copper",
                "outer_diameter": 0.5,
                "inner_diameter": 0.4,
                "bend_radius": 1,
            },
            rules={
                "clearance": 0.125,
                "straight_between_bends": 0.5,
                "bend_angles": [90],
                "max_bends": 2,
            },
            fittings={
                "collar": {
                    "height": 0.75,
                    "depth": 0.75,
                    "diameter": 0.75,
                    "straight_beyond": 0.25,
                }
            },
        ),
        texts.part(
            "pump", [2, 4, 4], texts.port("out", [0, 0, 0], "+x", fitting="collar")
        ),
        texts.part(
            "card", [10, 6, 4], texts.port("in", [0, 0, 0], "-x", fitting="collar")
        ),
        texts.run("pump.out", "card.in"),
    ]
)


@pytest.mark.parametrize(("one", "words"), [*FACTS, *REMEDIES, *WHYS])
def test_no_piece_has_millimetres_alone_in_inches(
    one: Fact | Remedy | NoRoute, words: str
) -> None:
    told = in_words(one, INCHES)
    assert "mm" not in BESIDE.sub("", told)
    lengths = re.findall(r"[\d.]+ mm", words)
    assert len(BESIDE.findall(told)) == len(lengths), "each length is told once"


@pytest.mark.parametrize(("one", "words"), CHANGES)
def test_no_change_has_millimetres_alone_in_inches(one: Change, words: str) -> None:
    told = change_in_words(one, INCHES)
    assert "mm" not in BESIDE.sub("", told)
    assert ("mm" in told) == ("mm" in words)


def test_a_place_is_told_in_inches() -> None:
    """25.4, 50.8 and 15.24 mm are 1, 2 and 0.6 inches."""
    met = InTheWay(run="roof", gap=-25.4, at=(25.4, 50.8, 15.24))
    told = in_words(NoPlace(in_the_way=(met,), remedies=()), INCHES)
    assert "runs 1.000 in (25.4 mm) into 'roof' at (1.0, 2.0, 0.6) in;" in told


def test_a_scene_in_inches_gets_its_reasons_in_inches() -> None:
    """Axes 2 in apart; two bends need 2 R + s = 2 1 + 0.5 = 2.5 in, 63.5 mm."""
    of = scene_from_text(IN_INCHES, file="inches.toml")
    told = why_of(of)
    assert told.startswith(
        "two 90-degree bends need 2.500 in (63.5 mm) between the ports' axes, and "
        "there are 2.000 in (50.8 mm); possible "
    )
    assert "mm" not in BESIDE.sub("", told)


def test_the_scene_says_in_which_unit() -> None:
    of = scene_from_text(IN_INCHES, file="inches.toml")
    fact = StockTooShort(blank=254.0, stock_length=203.2)
    why = Reason(facts=(fact,), suggestions=(suggested(change("stock length", 254.0)),))
    assert why_in_words(why, of).endswith(
        "a blank of 10.000 in (254.0 mm), trim allowance included, and the stock is "
        "8.000 in (203.2 mm) long: 2.000 in (50.8 mm) short; possible with stock "
        "10.000 in (254.0 mm) long"
    )


# ------------------------------------------------------------------- the loop as a whole

ANGLES = Change(rule="bend angles", before=(90.0,), after=(45.0, 90.0))
CLEARANCE = Change(rule="clearance", before=3.0, after=2.0)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ((ANGLES,), "bends of 45 or 90 degrees"),
        ((CLEARANCE,), "a clearance of 2 mm"),
        (
            (OtherPort(end="to", port="gpu.b", instead_of="gpu.a", run="pump to gpu"),),
            "'pump to gpu' to gpu.b instead of gpu.a",
        ),
        (
            (OtherFitting(port="gpu.a", fitting="bent"), CLEARANCE),
            'the fitting "bent" on gpu.a and a clearance of 2 mm',
        ),
        ((OtherOrder(parts=("pump", "gpu", "cpu")),), "the order pump, gpu, cpu"),
    ],
)
def test_what_would_let_all_runs_of_a_loop_fit(
    changes: tuple[LoopChange, ...], words: str
) -> None:
    found = LoopRemedy(changes=changes, runs=4, bends=10, elbows=0, length=1371.0)
    assert in_words(found, MILLIMETRES) == words


def test_what_was_tried_for_a_loop_in_vain() -> None:
    told = LoopRemedies(found=None, tried=(ANGLES, OtherOrder(parts=()), CLEARANCE))
    words = (
        "tried quickly for the loop as a whole, and not enough: bends of 45 or 90 "
        "degrees, another order and a clearance of 2 mm"
    )
    assert in_words(told, MILLIMETRES) == words
    cut_short = replace(told, is_all_tried=False)
    assert in_words(cut_short, MILLIMETRES) == f"{words}; then the search ended"
    none = LoopRemedies(found=None, tried=(), is_all_tried=False)
    assert in_words(none, MILLIMETRES) == (
        "what would let all runs fit was not tried: the search had ended"
    )
    hopeless = LoopRemedies(found=None, tried=())
    assert in_words(hopeless, MILLIMETRES) == (
        "no other port, bend angle, order, former or clearance can let all runs fit"
    )


def test_where_less_was_not_tried_it_is_said_down_to_what() -> None:
    """8 mm are not enough, 26.5 are; between them nothing was tried."""
    moved = Change(rule="body", subject="memory", before=0.0, after=26.5, towards="+y")
    found = replace(suggested(moved), too_little=8.0)
    assert in_words(found, MILLIMETRES) == (
        "with memory 26.5 mm further towards +y (less may do: it was not tried how "
        "little, but that memory 8 mm further towards +y is not enough)"
    )
    found = replace(found, too_little=0.0)
    assert in_words(found, MILLIMETRES) == (
        "with memory 26.5 mm further towards +y (less may do: it was not tried how "
        "little)"
    )
