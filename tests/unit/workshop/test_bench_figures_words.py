"""How sheets word tubes and materials: an inch is 25.4 mm."""

from __future__ import annotations

import pytest

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.workshop.bench_figures import material_words, tube_sizes, unit_words
from tests.builders.scenes import tube


def test_a_unit_in_full() -> None:
    assert (unit_words(MILLIMETRES), unit_words(INCHES)) == ("millimetres", "inches")


def test_a_tube_says_its_unit_once() -> None:
    inch = tube(outer_diameter=12.7, inner_diameter=9.525)
    assert tube_sizes(tube(), MILLIMETRES) == "14.0 / 10.0 mm"
    assert tube_sizes(inch, INCHES) == "0.5 / 0.375 in"


@pytest.mark.parametrize("material", ["acrylic", "petg", "copper"])
def test_materials_are_words_but_for_what_is_an_abbreviation(material) -> None:
    told = material_words(material)
    assert told == ("PETG" if material == "petg" else material)
