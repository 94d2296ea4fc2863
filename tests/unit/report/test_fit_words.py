"""How likely tubes go in, in words; and how a mouth is looked into."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.drafting.drawing import Text
from loopsolver.fitup.chance import Cause, Chance
from loopsolver.fitup.cloud import COUNT, Cloud
from loopsolver.fitup.socket import Socket
from loopsolver.fitup.spread import Source
from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.plan import Plan
from loopsolver.report.fit import (
    Fits,
    advice_words,
    decides_words,
    fit_basis,
    fit_words,
    fits,
    of_ten,
    source_words,
)
from loopsolver.report.fit_picture import _looked_at, fit_drawing
from loopsolver.scene.model import Acceptance
from loopsolver.tube.springback import Springback
from tests.builders.fitted_tubes import fitted
from tests.builders.plans import planned


def _chance(least: float, likely: float, most: float, *, stands: float = 1.0) -> Chance:
    return Chance(least=least, likely=likely, most=most, stands=stands, causes=())


@pytest.mark.parametrize(
    ("least", "most", "words"),
    [
        (0.86, 0.99, "9 to 10"),
        (0.86, 0.94, "9"),
        (0.0, 0.04, "0"),
        (0.449, 0.45, "4 to 5"),
        (0.96, 1.0, "10"),
    ],
)
def test_counts_of_ten_are_rounded_by_hand(least, most, words):
    assert of_ten(_chance(least, most, most)) == words


def test_every_figure_is_told_as_an_estimate():
    little = fit_words(_chance(0.5, 0.6, 0.7, stands=0.62))
    much = fit_words(_chance(0.9, 0.95, 0.99, stands=1.3))
    for words in (little, much):
        assert words.startswith("an estimate from stated spreads: ")
    assert "5 to 7 of 10 go in without force" in little
    assert little.endswith("9 of 10 would at 0.62 times these spreads")
    assert much.endswith("9 of 10 still do at 1.3 times these spreads")


SOURCES = {
    Source(kind="straight", number=2): ("straight 2 (between", "mark straight 2"),
    Source(kind="turn", number=3): ("turn before bend 3", "by the turn card"),
    Source(kind="angle", number=1): ("angle of bend 1", "hold it to its template"),
    Source(kind="bias"): ("all bends have in common", "make two bends to try"),
    Source(kind="place", number=2): (
        "where b.in from a.out is along z",
        "measure b.in",
    ),
    Source(kind="direction", number=1): ("which way b.in points", "see which way b.in"),
}


@pytest.mark.parametrize("source", SOURCES)
def test_each_source_has_a_name_and_what_to_do_about_it(source):
    one = fitted("five", inner=(300, 300, 300))
    named, advised = SOURCES[source]
    assert named in source_words(one.scene, one.candidate, source)
    cause = Cause(source=source, part=0.4)
    assert advised in advice_words(one.scene, one.candidate, cause)


def test_with_test_bends_another_one_is_asked_for():
    one = fitted("five", inner=(300, 300, 300))
    tube = replace(one.scene.tube, springback=Springback(constant_deg=3.0, share=0.01))
    words = advice_words(
        replace(one.scene, tube=tube),
        one.candidate,
        Cause(source=Source(kind="bias"), part=1.0),
    )
    assert "another bend" in words


def test_three_are_told_with_their_parts():
    one = fitted("five", inner=(300, 300, 300))
    causes = tuple(
        Cause(source=Source(kind="angle", number=n), part=part)
        for n, part in ((2, 0.4), (1, 0.3), (3, 0.2), (4, 0.1))
    )
    chance = replace(_chance(0.5, 0.6, 0.7), causes=causes)
    assert decides_words(one.scene, one.candidate, chance) == (
        "decided by the angle of bend 2 (40 %), the angle of bend 1 (30 %) and the angle "
        "of bend 3 (20 %)"
    )


def test_ranks_go_by_the_multiple_of_the_spread_those_without_last():
    one = fitted("five", inner=(300, 300, 300))
    run = planned("tube", [one.candidate] * 4)
    chances = {
        ("tube", rank): _chance(0.5, 0.6, 0.7, stands=stands)
        for rank, stands in ((1, 0.5), (2, 0.9), (4, 0.7))
    }
    assert Fits(chances=chances).best_first(run) == (2, 4, 1, 3)


def test_what_figures_rest_on_is_in_the_unit_of_the_scene():
    one = fitted("five", inner=(300, 300, 300))
    told = " ".join(fit_basis(one.scene, MILLIMETRES))
    for words in ("straights 1 mm", "bends 1 degree,", "0.5 degrees", "24 % worse"):
        assert words in told
    assert "Do not force" in told
    assert "0.039 in" in " ".join(fit_basis(one.scene, INCHES))


def test_a_tube_whose_ends_are_not_known_has_a_reason():
    one = fitted("five", inner=(300, 300, 300))
    run = planned("tube", [replace(one.candidate, ends=())])
    found = fits(Plan(scene=one.scene, runs=(run,)))
    assert not found.chances
    (remark,) = found.remarks
    assert remark.startswith("tube: no chance is told: what holds the tube's ends")


@pytest.mark.parametrize(
    ("axis", "right", "up"),
    [
        ("near", "right", "up"),
        ("away", "left", "up"),
        ("left", "near", "up"),
        ("right", "away", "up"),
        ("up", "right", "away"),
        ("down", "left", "away"),
    ],
)
def test_a_mouth_is_looked_into(axis, right, up):
    """By hand: who faces away has right at the right hand, who faces right has near."""
    sides = fitted("five", inner=(300, 300, 300)).scene.sides
    ways = {
        "right": np.array(sides.right),
        "away": np.array(sides.away),
        "up": np.array(sides.up),
    }
    ways |= {"left": -ways["right"], "near": -ways["away"], "down": -ways["up"]}
    x, y, z = ways[axis]
    socket = Socket(seat=(0, 0, 0), axis=(x, y, z), depth=12.0, holds=Acceptance())
    cloud = Cloud(socket=socket, offsets=np.zeros((1, 3)), fits=np.array([True]))
    found = _looked_at(cloud, sides)
    assert found[0] == pytest.approx(ways[right])
    assert found[1] == pytest.approx(ways[up])


def test_the_picture_counts_its_tubes():
    """As many as go in and do not are told, and drawn where the field holds them."""
    one = fitted("stairs", inner=(300, 300, 300))
    plan = Plan(scene=one.scene, runs=(planned("tube", [one.candidate]),))
    drawing = fit_drawing(plan, [("tube", 1)])
    words = [text.text for text in drawing.entities if isinstance(text, Text)]
    counts = [
        int(text.split()[0]) for text in words if " go in" in text or " do not" in text
    ]
    assert sum(counts) == COUNT
    likely = fits(plan).chances["tube", 1].likely
    assert counts[0] / COUNT == pytest.approx(
        likely, abs=3.0 * math.sqrt(likely * (1.0 - likely) / COUNT) + 0.02
    )
