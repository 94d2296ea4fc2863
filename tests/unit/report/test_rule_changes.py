"""Changes of rules in words, each written out as a person would read it."""

from __future__ import annotations

import pytest

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.report.rule_changes import change_in_words, tried_in_words
from loopsolver.routing.diagnosis.rule_changes import Change


def change(rule: str, after, subject: str = "", towards: str = "") -> Change:
    return Change(
        rule=rule,  # type: ignore[arg-type]
        subject=subject,
        before=0.0,
        after=after,
        towards=towards,
    )


CHANGES = [
    (change("clearance", 2.5), "a clearance of 2.5 mm"),
    (
        change("straight at an end", 12.0, "pump.out"),
        "12 mm of straight beyond the fitting on pump.out",
    ),
    (change("straight between bends", 9.0), "9 mm of straight between bends"),
    (change("bend radius", 20.5), "a former of 20.5 mm radius"),
    (change("bends", 1), "1 bend"),
    (change("bends", 4.0), "4 bends"),
    (change("bend angles", (45.0, 90.0)), "bends of 45 or 90 degrees"),
    (change("bend angles", "any"), "bends of any angle"),
    (change("body", None, "memory"), "memory out of the way"),
    (change("body", 4.0, "memory", "-y"), "memory 4 mm further towards -y"),
    (change("case wall", 15.0, "the wall at +x"), "the wall at +x 15 mm further out"),
    (change("stock length", 600.0), "stock 600 mm long"),
    (change("trim allowance", 3.0), "a trim allowance of 3 mm at each end"),
]


@pytest.mark.parametrize(("changed", "words"), CHANGES)
def test_a_change_says_what_the_rule_would_be(changed: Change, words: str) -> None:
    assert change_in_words(changed, MILLIMETRES) == words


def test_a_change_is_in_the_unit_of_the_scene() -> None:
    """An inch is 25.4 mm."""
    told = change_in_words(change("clearance", 6.35), INCHES)
    assert told == "a clearance of 0.250 in (6.3 mm)"


def test_one_change_of_a_kind_is_told_as_it_is_by_itself() -> None:
    """A case wall has no other words then, and a body is never tried a little away."""
    for changed, words in CHANGES:
        if changed.rule != "case wall" and not changed.towards:
            assert tried_in_words([changed], MILLIMETRES) == words


def test_changes_of_one_rule_are_one_item_of_the_list() -> None:
    tried = [
        change("clearance", 2.0),
        change("straight at an end", 8.0, "pump.out"),
        change("body", None, "memory"),
        change("straight at an end", 8.0, "card.in"),
        change("case wall", 15.0, "+x"),
        change("body", None, "card"),
        change("case wall", 15.0, "-x"),
    ]
    assert tried_in_words(tried, MILLIMETRES) == (
        "a clearance of 2 mm, "
        "8 mm of straight beyond the fittings on pump.out and card.in, "
        "memory or card out of the way "
        "and case walls 15 mm further out"
    )
