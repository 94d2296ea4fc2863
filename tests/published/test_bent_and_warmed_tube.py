"""Walls, flatness, least radii and growth of tube as handbooks and data sheets print them.

Each was read on a page that quotes the standard or handbook named beside it.
"""

from __future__ import annotations

import pytest

from loopsolver.tube.deformation import (
    growth,
    handbook_bend,
    least_across,
    least_radius,
    outer_wall,
)
from loopsolver.tube.stock import MATERIAL_FACTS, Tube
from tests.builders.scenes import tube


def tube_of(outer: float, inner: float) -> Tube:
    return tube(outer_diameter=outer, inner_diameter=inner)


def test_the_wall_to_order_for_a_tube_of_a_heat_exchanger() -> None:
    """TEMA RCB-2.31, a printed run: 18 mm, radius 48 mm, 0.68 mm wanted: order 0.75."""
    _, drawn_in = outer_wall(tube_of(18.0, 18.0 - 2.0 * 0.75), 48.0)
    assert drawn_in == pytest.approx(0.68, abs=0.01)


@pytest.mark.parametrize(
    ("diameters", "left"),
    [
        (1.0, 0.667),
        (1.5, 0.750),
        (2.0, 0.800),
        (2.5, 0.833),
        (3.0, 0.857),
        (4.0, 0.889),
        (5.0, 0.909),
    ],
)
def test_the_wall_that_stretches_alone(diameters: float, left: float) -> None:
    """Closed form: the outside of the bend is (R + D / 2) / R times as long."""
    alone, drawn_in = outer_wall(tube_of(14.0, 10.0), diameters * 14.0)
    assert alone / 2.0 == pytest.approx(left, abs=5e-4)
    assert alone < drawn_in < 2.0


@pytest.mark.parametrize(("outer", "inner"), [(14.0, 10.0), (16.0, 12.0)])
def test_thinning_of_bends_over_one_and_a_half_diameters(
    outer: float, inner: float
) -> None:
    """TEMA RCB-2.31: at most 17 % where the radius is above 1.5 diameters."""
    wall = (outer - inner) / 2.0
    _, drawn_in = outer_wall(tube_of(outer, inner), 1.5 * outer)
    assert 1.0 - drawn_in / wall <= 0.17


def test_how_flat_a_bend_may_be() -> None:
    """FAA AMT Handbook, fluid lines: 75 % of the diameter, 0.75 in of a 1 in tube."""
    assert least_across(tube_of(25.4, 20.0)) == pytest.approx(0.75 * 25.4)


@pytest.mark.parametrize(
    ("outer", "least"),
    [
        (0.375, 0.75),
        (0.5, 1.5),
        (0.625, 2.25),
        (0.875, 3.0),
        (1.125, 4.0),
        (1.375, 9.0),
    ],
)
def test_radii_of_benders_for_copper(outer: float, least: float) -> None:
    """Copper Tube Handbook, table 4.1, annealed, in inches; diameters from ASTM B88."""
    copper = tube(material="copper", outer_diameter=outer * 25.4, inner_diameter=1.0)
    row = handbook_bend(copper)
    assert row is not None
    assert (row.outer_diameter, row.least) == pytest.approx(
        (outer * 25.4, least * 25.4)
    )


def test_sizes_that_the_copper_table_does_not_have() -> None:
    """Of 15 mm (EN 1057) the next is 5/8 in; of 6 and 54 mm there is none near."""
    near = handbook_bend(
        tube(material="copper", outer_diameter=15.0, inner_diameter=13.6)
    )
    assert near is not None
    assert near.least == pytest.approx(57.15)
    for outer in (6.0, 54.0):
        one = tube(material="copper", outer_diameter=outer, inner_diameter=outer - 2.0)
        assert handbook_bend(one) is None
    assert handbook_bend(tube(material="petg")) is None


def test_least_radius_by_the_material() -> None:
    """1.5 diameters: NAVEDTRA 14119, p. 16-11 for copper; common practice for plastic."""
    for material in MATERIAL_FACTS:
        assert least_radius(tube(material=material)) == pytest.approx(21.0)


def grown(apart: float, kelvin: float, **sizes: object) -> tuple[float, float]:
    found = growth(tube(temperatures_c=(20.0, 20.0 + kelvin), **sizes), apart)
    assert found is not None
    return found


def test_how_far_acrylic_grows() -> None:
    """A machinist's page prints 0.1155 mm for 100 mm and 15 K at 7.7e-5, the most.

    300 mm and 40 K at 70e-6 are 0.84 mm by hand, inside the band.
    """
    assert grown(100.0, 15.0, material="acrylic")[1] == pytest.approx(0.1155, abs=5e-5)
    low, high = grown(300.0, 40.0, material="acrylic")
    assert low < 0.84 < high


def test_how_far_petg_and_copper_grow() -> None:
    """PETG 3.8e-5 a degree Fahrenheit, ASTM D696; copper 16 to 17e-6 a kelvin, tables."""
    low, high = grown(100.0, 10.0, material="petg")
    assert low == high == pytest.approx(100.0 * 10.0 * 1.8 * 3.8e-5, rel=0.01)
    assert grown(300.0, 40.0, material="copper") == pytest.approx((0.192, 0.204))


def test_growth_is_told_only_where_temperatures_are_stated() -> None:
    assert growth(tube(material="petg"), 300.0) is None
    assert grown(300.0, 0.0, material="petg") == (0.0, 0.0)


def test_modulus_and_lasting_stress_of_acrylic() -> None:
    """470 000 psi; 1 500 psi cast and 750 psi extruded for ever: 6.894757 kPa a psi."""
    facts = MATERIAL_FACTS["acrylic"]
    assert facts.modulus_gpa == pytest.approx(470e3 * 6.894757e-6, abs=0.005)
    assert facts.lasting_mpa["cast"] == pytest.approx(1500 * 6.894757e-3, abs=0.05)
    assert facts.lasting_mpa["extruded"] == pytest.approx(750 * 6.894757e-3, abs=0.05)
