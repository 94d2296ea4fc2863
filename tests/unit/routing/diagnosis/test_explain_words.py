"""How reasons write numbers, lists and changes."""

import pytest
from loopsolver.routing.diagnosis.telling import (
    change_in_words,
    tried_in_words,
    way_in_words,
)
from loopsolver.routing.diagnosis.words import mm

from loopsolver.routing.diagnosis.explain import Reason
from loopsolver.routing.diagnosis.rule_changes import Change, changed
from loopsolver.routing.diagnosis.suggestions import Suggestion
from loopsolver.scene.model import BendAngles
from tests.unit.routing.explain_scenes import At, block, build

Value = float | BendAngles | None


def change(rule: str, after: Value, subject: str = "", towards: str = "") -> Change:
    return Change(
        rule=rule,  # type: ignore[arg-type]
        subject=subject,
        before=0.0,
        after=after,
        towards=towards,
    )


def suggested(*changes: Change, **figures: object) -> Suggestion:
    known = {"bends": 2, "length": 300.0, "angles_deg": (90.0, 90.0)} | figures
    return Suggestion(changes=changes, **known)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (change("clearance", 1.6), "a clearance of 1.6 mm"),
        (
            change("straight at an end", 2.0, "gpu.in"),
            "2 mm of straight beyond the fitting on gpu.in",
        ),
        (
            change("straight between bends", 9.5),
            "9.5 mm of straight between bends",
        ),
        (change("bend radius", 22.0), "a former of 22 mm radius"),
        (change("bends", 1.0), "1 bend"),
        (change("bends", 6.0), "6 bends"),
        (change("bend angles", (30.0, 45.0, 90.0)), "bends of 30, 45 or 90 degrees"),
        (change("bend angles", "any"), "bends of any angle"),
        (change("body", None, "memory"), "memory out of the way"),
        (change("body", 3.5, "memory", "-x"), "memory 3.5 mm further towards -x"),
        (
            change("case wall", 4.5, "case wall +y"),
            "case wall +y 4.5 mm further out",
        ),
        (change("stock length", 540.5), "stock 540.5 mm long"),
        (change("trim allowance", 20.0), "a trim allowance of 20 mm at each end"),
    ],
)
def test_each_change_has_its_words(one: Change, words: str) -> None:
    assert change_in_words(one) == words
    assert way_in_words(suggested(one)).startswith(f"with {words}")


def test_a_clearance_names_what_is_in_the_way_and_no_more_than_three() -> None:
    one = change("clearance", 1.0)
    assert way_in_words(suggested(one, near=("a", "b"))) == (
        "with a clearance of 1 mm (a and b in the way)"
    )
    assert "(a, b, c and 2 more in the way)" in way_in_words(
        suggested(one, near=("a", "b", "c", "d", "e"))
    )


def test_other_angles_tell_those_that_are_used() -> None:
    one = change("bend angles", "any")
    assert way_in_words(suggested(one, angles_deg=(52.0, 52.04))) == (
        "with bends of any angle (2 of 52 degrees)"
    )
    assert "(30.5 and 90 degrees)" in way_in_words(
        suggested(one, angles_deg=(30.5, 90.0))
    )
    assert way_in_words(suggested(one, bends=0, angles_deg=())) == (
        "with bends of any angle"
    )


def test_a_sentence_joins_facts_and_ways_out() -> None:
    first = suggested(change("bend radius", 22.0))
    second = suggested(change("bends", 4.0))
    both = suggested(change("bends", 4.0), change("clearance", 1.0))
    found = Reason(
        facts=("this stands here", "that there"), suggestions=(first, second)
    )
    assert found.sentence == (
        "this stands here; that there; possible with a former of 22 mm radius or with "
        "4 bends"
    )
    assert Reason(facts=("f",), suggestions=(both,)).sentence == (
        "f; possible with 4 bends and a clearance of 1 mm together"
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
    assert tried_in_words(tried) == (
        "a clearance of 0.5 mm, 0 mm of straight beyond the fittings on pump.out and "
        "gpu.in, memory or card out of the way and case walls 60 mm further out"
    )
    found = Reason(facts=("f",), suggestions=(), tried=tried[:1])
    assert found.sentence == "f; no change that was tried helps: a clearance of 0.5 mm"


@pytest.mark.parametrize(
    ("length", "text"),
    [(71.0, "71 mm"), (4.06, "4.1 mm"), (0.04, "0 mm"), (100, "100 mm")],
)
def test_lengths_are_told_to_a_tenth(length: float, text: str) -> None:
    assert mm(length) == text


def test_a_body_moves_and_nothing_else_does() -> None:
    scene = build(
        At((60.0, 100.0, 100.0), "+x"),
        At((240.0, 100.0, 100.0), "-x"),
        block("memory", (100.0, 0.0, 0.0), (110.0, 50.0, 50.0)),
        block("card", (150.0, 0.0, 0.0), (160.0, 50.0, 50.0)),
    )
    moved, run = changed(scene, scene.runs[0], change("body", 4.0, "memory", "-y"))
    assert run == scene.runs[0]
    assert moved.components[2].bodies[0].solid.frame.origin == (105.0, 21.0, 25.0)
    assert moved.components[3] == scene.components[3]
    gone, _ = changed(scene, scene.runs[0], change("body", None, "memory"))
    assert gone.components[2].bodies == ()


def test_a_change_of_the_wrong_kind_is_refused() -> None:
    scene = build(At((60.0, 100.0, 100.0), "+x"), At((240.0, 100.0, 100.0), "-x"))
    with pytest.raises(TypeError, match="takes a number"):
        changed(scene, scene.runs[0], change("clearance", "any"))
    with pytest.raises(TypeError, match="a list or 'any'"):
        changed(scene, scene.runs[0], change("bend angles", 45.0))
