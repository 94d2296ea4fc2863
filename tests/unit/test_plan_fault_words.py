"""What of a plan's tube breaks a rule, in words: each rule, in either unit."""

from __future__ import annotations

from typing import get_args

import pytest

from loopsolver.clearance.obstacles import Gap
from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.plan.fault_words import breach_words, figure, total_words
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.problem import Candidate
from loopsolver.routing.rules import Breach, BrokenRule
from loopsolver.tube.centreline import Centreline
from tests.contract.inches import alone


@pytest.mark.parametrize("rule", get_args(BrokenRule))
def test_every_rule_has_words_in_the_scenes_unit(rule: BrokenRule) -> None:
    breach = Breach(rule=rule, found=12.7, limits=(25.4,), at="tank", number=2, count=3)
    for lengths in (MILLIMETRES, INCHES):
        found, wanted = breach_words(breach, lengths)
        assert found
        assert wanted
        assert "{" not in found + wanted
    assert alone(f"{found}; {wanted}") == []


@pytest.mark.parametrize(
    ("breach", "found", "wanted"),
    # 25.4 mm an inch.
    [
        (
            Breach(rule="clearance", found=2.54, limits=(3.175,), at="tank"),
            "a gap of 0.1 in (2.54 mm) to 'tank'",
            "at least 0.125 in (3.175 mm), the clearance",
        ),
        (
            Breach(
                rule="into", found=5.08, limits=(2.54,), at="tank", place=(0, 254, 0)
            ),
            "a tube that goes 0.2 in (5.08 mm) deep into 'tank', its axis at [0, 10, 0] "
            "in ([0, 254, 0] mm)",
            "a gap of at least 0.1 in (2.54 mm), the clearance",
        ),
        (
            Breach(rule="straight", found=12.7, limits=(25.4,), number=2, count=3),
            "straight 2 (between bend 1 and bend 2) of 0.5 in (12.7 mm), 0.5 in (12.7 "
            "mm) too short",
            "at least 1 in (25.4 mm), as in the scene",
        ),
        (
            Breach(rule="bends", found=5, limits=(4,)),
            "5 bends",
            "at most 4, as in the scene",
        ),
        (
            Breach(rule="bend angle", found=60.0, limits=(90.0, 45.0), number=3),
            "bend 3 of 60 degrees",
            "45 or 90 degrees, as in the scene",
        ),
        (
            Breach(rule="bend range", found=3.0, limits=(5.0, 120.0), number=2),
            "bend 2 of 3 degrees",
            "5 to 120 degrees, as in the scene",
        ),
        (
            Breach(rule="far seat", found=0.0254),
            "a tube whose bend table misses the far seat by 0.001 in (0.0254 mm)",
            "a tube that keeps to the scene",
        ),
        (
            Breach(rule="own fitting", at="fitting on pump.out"),
            "a tube that runs through its own fitting on pump.out",
            "a tube that keeps to the scene",
        ),
    ],
)
def test_words_of_a_breach(breach: Breach, found: str, wanted: str) -> None:
    assert breach_words(breach, INCHES) == (found, wanted)


def test_figures_have_the_unit_of_their_key() -> None:
    assert figure("planes", 2, INCHES) == "2"
    assert figure("rotation", -0.0, INCHES) == "0 degrees"
    assert figure("straight", 254.0, INCHES) == "10 in (254 mm)"
    assert figure("straight", 254.0000007, MILLIMETRES) == "254.000001 mm"


@pytest.mark.parametrize("by", RANKINGS)
def test_a_total_has_a_unit_where_a_part_is_a_length(by: str, one: Candidate) -> None:
    words = total_words(RANKINGS[by](one), by, MILLIMETRES)
    parts = words.strip("[]").split(", ")
    assert [part.endswith(" mm") for part in parts] == [
        not float(part.removesuffix(" mm")).is_integer() for part in parts
    ]


@pytest.fixture
def one() -> Candidate:
    """No length of it is a whole number of millimetres; counts always are whole."""
    return Candidate(
        centreline=Centreline(
            vertices=((0, 0, 0), (60.3, 0, 0), (60.3, 140.2, 0)), radius=28.0
        ),
        gap=Gap(distance=3.3, name="tank", at=(0.0, 0.0, 0.0)),
        trim_allowance=30.1,
    )
