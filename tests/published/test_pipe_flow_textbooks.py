"""Worked examples of pipe flow, each named with its book."""

from __future__ import annotations

import math

import pytest

from loopsolver.hydraulics.bends import bend_loss
from loopsolver.hydraulics.friction import colebrook, laminar
from loopsolver.hydraulics.liquids import LiquidState, water
from loopsolver.hydraulics.losses import L_MIN, TubeLoss


def test_oil_in_cast_iron():
    """F. M. White, Fluid mechanics, example 6.7: V 6.4 m/s, Re 128 000, f 0.0225.

    Oil of 900 kg/m³ and 1e-5 m²/s, 0.2 m³/s through 500 m of 200 mm, roughness 0.26 mm;
    117 m of head (from memory). f was read off a chart: 1 % off.
    """
    pipe = TubeLoss(inner_diameter=200.0, straight=500_000.0)
    oil = LiquidState(density=900.0, viscosity=900.0e-5, heat_capacity=2000.0)
    assert pipe.velocity(0.2 * L_MIN) == pytest.approx(6.4, abs=0.05)
    assert pipe.reynolds(0.2 * L_MIN, oil) == pytest.approx(128_000, rel=0.006)
    factor = colebrook(128_000.0, 0.0013)
    assert factor == pytest.approx(0.0225, rel=0.012)
    assert factor * 500.0 / 0.2 * 6.4**2 / (2 * 9.81) == pytest.approx(117.0, rel=0.02)
    # 10° down, 265 kPa (from memory): it took whole metres of head, 8.8 kPa each.
    velocity = pipe.velocity(0.2 * L_MIN)
    metres = factor * 2500.0 * velocity**2 / (2 * 9.81) - 500.0 * math.sin(math.pi / 18)
    assert metres * 900.0 * 9.81 / 1000.0 == pytest.approx(265.0, abs=8.8)


def test_velocity_from_head():
    """White, examples 6.6 and 6.9: V 6.046 ft/s, Re 274 900, f 0.01982.

    4.5 ft of head over 200 ft of 0.5 ft, relative roughness 0.0008, 1.1e-5 ft²/s.
    """
    factor = colebrook(274_900.0, 0.0008)
    assert factor == pytest.approx(0.01982, abs=6e-6)
    velocity = math.sqrt(4.5 * 2 * 32.2 * 0.5 / (200.0 * factor))
    assert velocity == pytest.approx(6.046, abs=0.002)


def test_plastic_pipe():
    """Crane TP-410M, example 7.1: water of 30 °C, 200 L/min, 50 mm: Re 100 600, f 0.0179.

    Its viscosity is rounded: 0.4 % and one in the last place.
    """
    pipe = TubeLoss(inner_diameter=50.0, straight=20_000.0)
    reynolds = pipe.reynolds(200.0, water(30.0))
    assert reynolds == pytest.approx(100_600, rel=0.055)
    assert colebrook(100_600.0) == pytest.approx(0.0179, abs=1e-4)


def test_water_in_stainless_steel():
    """Cengel and Cimbala, Fluid mechanics, from memory: f 0.0174, 11.8 psi, 461 W.

    Re 126 400.

    Water of 60 °F through 200 ft of 2 in, 0.2 ft³/s, relative roughness 4.2e-5.
    """
    factor = colebrook(126_400.0, 4.2e-5)
    assert factor == pytest.approx(0.0174, abs=5e-5)
    velocity = 0.2 / (math.pi / 4 * (2 / 12) ** 2)
    pounds = factor * 200 / (2 / 12) * 62.36 * velocity**2 / (2 * 32.2) / 144
    assert pounds == pytest.approx(11.8, abs=0.06)
    watts = pounds * 6894.757 * 0.2 * 0.3048**3
    assert watts == pytest.approx(461.0, abs=2.0)


def test_laminar_head_loss():
    """An examination's answer page: Re 800, 100 mm, 0.01 m³/s: f 0.08, 66.1 m a km."""
    velocity = 0.01 / (math.pi / 4 * 0.1**2)
    head = laminar(800.0) * 1000.0 / 0.1 * velocity**2 / (2 * 9.81)
    assert head == pytest.approx(66.1, abs=0.06)


def test_elbow_of_half_an_inch():
    """A university's solution page: K 0.81 at 6.6 m/s costs 17.5 kPa (water)."""
    assert pytest.approx(17.5, abs=0.1) == 0.81 * 997.0 * 6.6**2 / 2000.0
    inner = 15.8  # half inch pipe of schedule 40 [mm]
    area = math.pi / 4 * (inner / 1000.0) ** 2
    from loopsolver.hydraulics.band import exactly

    elbow = TubeLoss(inner_diameter=inner, straight=0.0, fittings=exactly(0.81))
    taken = elbow.drop(6.6 * area * L_MIN, water(25.0))
    assert taken.main == pytest.approx(17.5, abs=0.1)


def test_flat_coil():
    """Crane 7.11: water of 80 °C, 60 L/min, 26.64 mm: 19 609 Pa.

    Nine metres of straight and seven return bends of R/D 4, friction factor 0.024, that
    of steel: taken along straights and arcs. Our bends are of smooth tube: 11 % off.
    """
    hot, inner = water(80.0), 26.64
    coil = TubeLoss(inner_diameter=inner, straight=9000.0)
    reynolds = coil.reynolds(60.0, hot)
    bend = bend_loss(reynolds, 4.0, math.pi).main - colebrook(reynolds) * 4.0 * math.pi
    heads = 0.024 * (9000.0 / inner + 7 * 4.0 * math.pi) + 7 * bend
    taken = 1000.0 * heads * coil.head(60.0, hot)
    assert taken == pytest.approx(19_609.0, rel=0.11)


def test_a_large_bend():
    """Miller, Internal flow systems 9.12, as the suite of fluids has it: K 0.150.

    0.6 m, R/D 2, 90°, 4 m/s, 1.14e-6 m²/s, a long tube behind it: far beyond the
    diagram for such tubes, where the main line is the middle of the others.
    """
    reynolds = 4.0 * 0.6 / 1.14e-6
    assert bend_loss(reynolds, 2.0, math.pi / 2).main == pytest.approx(0.150, abs=0.005)


@pytest.mark.parametrize("flow", [2.0, 4.0, 8.0])
def test_a_bore_a_twentieth_smaller_costs_a_quarter_more(flow):
    """By hand from Blasius's law, pressure as D^-4.75: 27 to 28 %."""
    wide, narrow = (
        TubeLoss(inner_diameter=inner, straight=1000.0).drop(flow, water(25.0)).main
        for inner in (10.0, 9.5)
    )
    assert narrow / wide == pytest.approx(1.276, abs=0.005)


@pytest.mark.parametrize(
    ("flow", "velocity", "reynolds"),
    [(1.0, 0.2122, 2377), (2.0, 0.4244, 4754), (4.0, 0.8488, 9509)],
)
def test_own_regimes_by_hand(flow, velocity, reynolds):
    """Water of 25 °C in 10 mm: V = Q / A, nu 0.89266 mm²/s (CoolProp 8.0.0)."""
    tube = TubeLoss(inner_diameter=10.0, straight=1000.0)
    assert tube.velocity(flow) == pytest.approx(velocity, abs=6e-5)
    assert tube.reynolds(flow, water(25.0)) == pytest.approx(reynolds, abs=1.0)


def test_a_metre_of_smooth_tube_by_hand():
    """The same at 4 L/min: f 0.03130, 1124 Pa; drawn tube is rough by 0.0015 mm."""
    tube = TubeLoss(inner_diameter=10.0, straight=1000.0)
    assert colebrook(9509.0) == pytest.approx(0.03130, abs=6e-6)
    taken = tube.drop(4.0, water(25.0)).main
    assert 1.124 <= taken <= 1.124 * 1.02


def test_slow_glycol_by_hand():
    """30 % propylene glycol of 20 °C, 0.5 L/min in 10 mm: Re 366, 100.7 Pa/m.

    Poiseuille: 128 mu L Q / (pi D^4), 1023.78 kg/m³ and 2.9650 mPa s (CoolProp 8.0.0).
    """
    tube = TubeLoss(inner_diameter=10.0, straight=1000.0)
    state = LiquidState(density=1023.78, viscosity=2.9650e-3, heat_capacity=3857.0)
    assert tube.reynolds(0.5, state) == pytest.approx(366.0, abs=0.5)
    assert tube.drop(0.5, state).main == pytest.approx(0.1007, abs=6e-5)
