"""The form to measure with, read back from its printed pages."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache

import pypdfium2
import pytest

from loopsolver.drafting.paging import PAPERS
from loopsolver.report.measuring import REPEATS, Measuring, ends_of, measuring
from loopsolver.workshop.measuring_form import form_drawings, measuring_form
from tests.builders.measured_case import measured_scene
from tests.builders.texts import table
from tests.unit.workshop.tidy import assert_tidy, said


@cache
def told(units: str = "mm") -> Measuring:
    scene = measured_scene(units=units)
    return measuring(scene, ends_of(scene, None))


def printed(asked: Measuring, paper: str = "a4") -> str:
    pages, content = measuring_form(asked, paper=PAPERS[paper])
    document = pypdfium2.PdfDocument(content)
    assert len(document) == pages
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_length_is_there_with_blanks_for_three_readings(paper: str) -> None:
    text = printed(told(), paper)
    count = len(told().lengths)
    for number in range(1, REPEATS + 1):
        assert text.count(f"reading {number}, mm") == count
    for one in told().lengths:
        assert f"{one.observation.start} to {one.observation.goal}" in text
    assert text.count("Straight across") == 1  # 50; the other run's lies along y
    assert text.count("Along y near alone") == 2
    assert text.count("If only one, this one.") == 1


def test_what_a_length_is_about_is_not_printed() -> None:
    """Nobody is to read what they expect: 30, 40, 50, 200 stand nowhere as lengths."""
    for length in ("30", "40", "50", "200"):
        assert not re.search(rf"\b{length}(\.0)? ?mm", printed(told()))


def test_both_points_of_each_sketch_are_named() -> None:
    """A name alone is lettering of a sketch: two each."""
    read = [one.observation for one in told().lengths]
    ends = Counter(end for one in read for end in (one.start, one.goal))
    drawings = form_drawings(told(), width=186.0, height=256.0)
    assert Counter(words for words in said(drawings) if words in ends) == ends


@pytest.mark.parametrize("units", ["mm", "in"])
def test_pages_are_tidy(units: str) -> None:
    assert_tidy(form_drawings(told(units), width=186.0, height=256.0))


def test_a_scene_in_inches_is_measured_in_inches() -> None:
    text = printed(told("in"))
    assert text.count("reading 1, in") == len(told("in").lengths)


def test_a_length_beside_a_wall_and_points_in_one_place_are_drawn() -> None:
    """All own lengths read: another is asked for. And a run between two equal places."""
    every = [
        table(
            "[[readings]]",
            {"from": a, "to": b, "value": [value] * 9, "spread": 0.1} | way,
        )
        for a, b in [("pump.out", "card.in"), ("card.out", "block.in")]
        for value, way in [
            (abs(x), {"along": f"{'+' if x >= 0 else '-'}{axis}"})
            for axis, x in zip(
                "xyz",
                (30.0, 40.0, 0.0) if a == "pump.out" else (0.0, 200.0, 0.0),
                strict=True,
            )
        ]
    ]
    scene = measured_scene(
        *every,
        table("[[readings]]", {"from": "pump.out", "to": "card.in", "value": 50}),
    )
    asked = measuring(scene, ends_of(scene, None))
    assert asked.other is not None
    assert "Besides" in printed(asked)


def test_the_same_scene_gives_the_same_bytes() -> None:
    first, second = (measuring_form(told(), paper=PAPERS["a4"])[1] for _ in range(2))
    assert first == second
