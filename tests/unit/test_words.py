"""Counts and lists in words, as a person would write them."""

from __future__ import annotations

from loopsolver.words import (
    by_number,
    counted,
    in_commas,
    listed,
    numbered,
    quoted,
    some_of,
    tallied,
)


def test_one_and_many() -> None:
    assert counted(1, "bend") == "1 bend"
    assert counted(0, "bend") == "0 bends"
    assert counted(2, "body", "bodies") == "2 bodies"


def test_lists() -> None:
    assert listed([]) == ""
    assert listed(["a", "b", "c"], last="or") == "a, b or c"
    assert some_of(["a", "b"], most=3) == "a and b"
    assert some_of(["a", "b", "c"], most=2) == "a, b and 1 more"
    assert in_commas(["a", "b", "c"], most=3) == "a, b, c"
    assert in_commas(["a", "b", "c"], most=2) == "a, b and 1 more"
    assert quoted(["a", "it's"]) == "'a', \"it's\""


def test_ranks_in_words() -> None:
    assert by_number("candidate", [2]) == "candidate 2"
    assert by_number("candidate", [2, 3]) == "candidates 2 and 3"
    assert by_number("candidate", [2, 4, 5]) == "candidates 2, 4 and 5"


def test_what_is_numbered_from_one() -> None:
    assert numbered(0, "candidate") == "none"
    assert numbered(1, "candidate") == "only candidate 1"
    assert numbered(6, "candidate") == "candidates 1 to 6"


def test_tallies_stand_in_the_order_of_names() -> None:
    assert tallied({"short": 2, "collar": 12}) == "collar: 12, short: 2"
