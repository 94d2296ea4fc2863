"""Tube stock and what is known of its material."""

from __future__ import annotations

from typing import get_args

from loopsolver.tube.stock import MATERIAL_FACTS, Material
from tests.builders.scenes import tube


def test_outer_radius() -> None:
    petg = tube(material="petg")
    assert petg.radius == 7.0


def test_every_material_has_facts_with_a_source() -> None:
    assert set(MATERIAL_FACTS) == set(get_args(Material))
    for facts in MATERIAL_FACTS.values():
        assert facts.radius_source
        assert facts.expansion_source
        assert bool(facts.heat_source) == (facts.forming_c is not None)
        assert bool(facts.modulus_source) == (facts.modulus_gpa is not None)
        assert bool(facts.lasting_source) == bool(facts.lasting_mpa)


def test_acrylic_is_formed_below_the_heat_at_which_it_gives_off_vapour() -> None:
    """Sheet makers: formed at 150 to 160 C; heavy vapour from 350 F."""
    facts = MATERIAL_FACTS["acrylic"]
    assert facts.forming_c == (150.0, 160.0)
    assert facts.stop_c is not None
    assert abs(facts.stop_c - (350 - 32) / 1.8) < 0.5
    assert facts.forming_c[1] < facts.stop_c


def test_copper_is_bent_cold() -> None:
    assert MATERIAL_FACTS["copper"].forming_c is None
