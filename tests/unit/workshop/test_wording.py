"""How sheets word lengths and materials: an inch is 25.4 mm."""

from __future__ import annotations

import pytest

from loopsolver.workshop.wording import (
    length_words,
    material_words,
    number_words,
    paper_unit,
    size_words,
    tube_sizes,
    unit_words,
)
from tests.builders.scenes import tube


def test_only_who_measures_in_inches_reads_inches() -> None:
    assert [paper_unit(unit) for unit in ("mm", "cm", "in")] == ["mm", "mm", "in"]
    assert (unit_words("mm"), unit_words("in")) == ("millimetres", "inches")


def test_lengths_and_sizes() -> None:
    assert (number_words(412.66, "mm"), number_words(88.9, "in")) == ("412.7", "3.500")
    assert number_words(-0.01, "mm") == "0.0"
    assert (length_words(412.66, "mm"), length_words(88.9, "in")) == (
        "412.7 mm",
        "3.500 in",
    )
    assert (size_words(14.0, "mm"), size_words(9.525, "in")) == ("14.0 mm", "0.375 in")


def test_a_tube_says_its_unit_once() -> None:
    inch = tube(outer_diameter=12.7, inner_diameter=9.525)
    assert tube_sizes(tube(), "mm") == "14.0 / 10.0 mm"
    assert tube_sizes(inch, "in") == "0.5 / 0.375 in"


@pytest.mark.parametrize("material", ["acrylic", "petg", "copper"])
def test_materials_are_words_but_for_what_is_an_abbreviation(material) -> None:
    told = material_words(material)
    assert told == ("PETG" if material == "petg" else material)
