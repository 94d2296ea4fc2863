"""Tables of water and of glycols in water, each named with its source."""

from __future__ import annotations

import pytest

from loopsolver.amounts import METRE_OF_WATER
from loopsolver.hydraulics.heat import warming
from loopsolver.hydraulics.liquids import limits_c, liquid_state, water
from loopsolver.hydraulics.losses import TubeLoss
from loopsolver.report.filling import FILL_CAUTIONS
from loopsolver.scene.water import TAP_WATER, Coolant, Liquid, Water

# CoolProp 8.0.0, water at 101 325 Pa: kg/m³, mPa s, mm²/s, kJ/(kg K).
WATER = [
    (20.0, 998.207, 1.00160, 1.00340, 4.18405),
    (25.0, 997.048, 0.89002, 0.89266, 4.18131),
    (30.0, 995.649, 0.79722, 0.80071, 4.17982),
    (40.0, 992.216, 0.65273, 0.65785, 4.17941),
    (50.0, 988.035, 0.54652, 0.55313, 4.18134),
    (60.0, 983.196, 0.46604, 0.47400, 4.18495),
]

# CoolProp 8.0.0, INCOMP::MEG and MPG by mass at 2 bar, 20 °C and 40 °C, and freezing.
GLYCOLS = [
    (
        "ethylene glycol",
        10,
        (1010.58, 1.2745, 4.0459),
        (1004.35, 0.8014, 4.0619),
        -3.36,
    ),
    (
        "ethylene glycol",
        20,
        (1024.10, 1.6624, 3.8962),
        (1016.40, 1.0133, 3.9328),
        -7.95,
    ),
    (
        "ethylene glycol",
        30,
        (1038.05, 2.1664, 3.7183),
        (1028.80, 1.2856, 3.7754),
        -14.58,
    ),
    (
        "ethylene glycol",
        50,
        (1064.93, 3.6932, 3.3120),
        (1053.44, 2.1033, 3.4127),
        -35.99,
    ),
    (
        "propylene glycol",
        10,
        (1006.20, 1.4323, 4.0763),
        (999.42, 0.8838, 4.1011),
        -2.87,
    ),
    (
        "propylene glycol",
        20,
        (1014.78, 2.0301, 3.9768),
        (1006.37, 1.1693, 4.0190),
        -7.17,
    ),
    (
        "propylene glycol",
        25,
        (1019.28, 2.4452, 3.9205),
        (1009.91, 1.3530, 3.9686),
        -9.79,
    ),
    (
        "propylene glycol",
        30,
        (1023.78, 2.9650, 3.8570),
        (1013.43, 1.5731, 3.9104),
        -12.79,
    ),
    (
        "propylene glycol",
        50,
        (1039.06, 6.3936, 3.5302),
        (1025.37, 2.9137, 3.6070),
        -32.19,
    ),
]


def coolant(liquid: Liquid, share: float, temperature_c: float) -> Coolant:
    return Coolant(liquid=liquid, share=share, temperature_c=temperature_c)


@pytest.mark.parametrize(
    ("temperature", "density", "viscosity", "kinematic", "heat"), WATER
)
def test_water(temperature, density, viscosity, kinematic, heat):
    state = water(temperature)
    assert state.density == pytest.approx(density, rel=1e-5)
    assert 1000.0 * state.viscosity == pytest.approx(viscosity, rel=1e-4)
    assert 1e6 * state.kinematic == pytest.approx(kinematic, rel=1e-4)
    assert state.heat_capacity / 1000.0 == pytest.approx(heat, rel=5e-4)


def test_coolant_grows_by_a_hundredth_from_20_to_50_degrees():
    """As the caution of filling says: 998.2 to 988.0 kg/m³ (CoolProp 8.0.0)."""
    grows = water(20.0).density / water(50.0).density - 1.0
    assert grows == pytest.approx(998.2 / 988.0 - 1.0, abs=1e-4)
    assert [words for words in FILL_CAUTIONS if "about 1 % from 20 to 50 °C" in words]


@pytest.mark.parametrize(("liquid", "share", "at_20", "at_40", "freezing"), GLYCOLS)
def test_glycols(liquid, share, at_20, at_40, freezing):
    for temperature, (density, viscosity, heat) in ((20.0, at_20), (40.0, at_40)):
        state = liquid_state(coolant(liquid, share, temperature))
        assert state.density == pytest.approx(density, abs=0.006)
        assert 1000.0 * state.viscosity == pytest.approx(viscosity, abs=6e-5)
        assert state.heat_capacity / 1000.0 == pytest.approx(heat, abs=6e-5)
    least, _ = limits_c(coolant(liquid, share, 20.0))
    assert least == pytest.approx(freezing, abs=0.006)


@pytest.mark.parametrize(
    ("volume", "pounds"),
    [(0, 62.31), (10, 63.31), (20, 64.33), (30, 65.30), (40, 66.20), (50, 67.05)],
)
def test_density_of_another_table(volume, pounds):
    """ASHRAE Fundamentals, ethylene glycol by volume at 70 °F, lb/ft³.

    Another source than the polynomials': by volume, mixed from pure glycol of
    1113 kg/m³ (20 °C, from memory); the two tables differ by up to 0.6 %.
    """
    heavy, light = volume * 1113.0, (100 - volume) * 998.0
    share = 100.0 * heavy / (heavy + light)
    temperature = (70.0 - 32.0) / 1.8
    state = liquid_state(coolant("ethylene glycol", share, temperature))
    assert state.density == pytest.approx(pounds * 16.01846, rel=7e-3)


@pytest.mark.parametrize(
    ("liquid", "pure", "density", "viscosity"),
    [
        ("ethylene glycol", 1113.0, 1045.25, 2.1564),
        ("propylene glycol", 1036.0, 1028.35, 3.0694),
    ],
)
def test_mixtures_by_volume_from_other_data(liquid, pure, density, viscosity):
    """CoolProp's AEG and APG, from ASHRAE, 30 % by volume at 20 °C.

    Densities of the pure glycols from memory. Taking 30 for a share by mass would be
    3.5 % off in the viscosity of propylene glycol.
    """
    share = 100.0 * 30 * pure / (30 * pure + 70 * 998.2)
    state = liquid_state(coolant(liquid, share, 20.0))
    assert state.density == pytest.approx(density, rel=5e-3)
    assert 1000.0 * state.viscosity == pytest.approx(viscosity, rel=0.08)


def test_water_with_no_glycol_is_water():
    assert liquid_state(coolant("ethylene glycol", 0.0, 25.0)) == water(25.0)


def test_a_hundred_watts():
    """100 W into 1 L/min of water at 25 °C: 1.4392 K, by hand from CoolProp's values."""
    assert warming(100.0, 1.0, water(25.0)) == pytest.approx(1.4392, abs=1e-3)


def test_a_metre_of_water():
    """At 20 °C 9.7891 kPa: 998.207 kg/m³ (CoolProp 8.0.0) times 9.80665 m/s²."""
    assert pytest.approx(9.7891, abs=5e-5) == METRE_OF_WATER
    assert TAP_WATER == 0.998207


def test_a_gram_of_water():
    """1.002 mL at 20 °C: what a part that was weighed holds."""
    assert Water(weighed_g=(0.0, 1.0)).volume_ml == pytest.approx(1.002, abs=5e-4)


@pytest.mark.parametrize(
    ("liquid", "share", "reynolds"),
    [
        ("water", 0, 4755),
        ("propylene glycol", 25, 2085),
        ("propylene glycol", 30, 1748),
    ],
)
def test_reynolds_number_of_thick_coolant(liquid, share, reynolds):
    """2 L/min at 25 °C in 10 mm, by hand from CoolProp 8.0.0: V D rho / mu."""
    tube = TubeLoss(inner_diameter=10.0, straight=0.0)
    state = liquid_state(coolant(liquid, share, 25.0))
    assert tube.reynolds(2.0, state) == pytest.approx(reynolds, abs=1.5)
