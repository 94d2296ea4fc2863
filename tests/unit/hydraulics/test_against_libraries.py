"""Point by point against fluids and CoolProp, where these hold.

Both are for tests alone. fluids: Colebrook and White anywhere, Ito from Re (D / R)² = 364
on (below 360 it takes another formula and jumps), Miller from Re 10 000 on. CoolProp:
water, since its glycols are the same polynomials as ours.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.hydraulics.bends import bend_loss, ito, white
from loopsolver.hydraulics.friction import colebrook
from loopsolver.hydraulics.liquids import limits_c, liquid_state, water
from loopsolver.scene.water import Coolant

REYNOLDS = (500.0, 1000.0, 2500.0, 5000.0, 1e4, 2e4, 1e5)


@pytest.mark.parametrize("reynolds", [4000.0, *REYNOLDS[3:]])
@pytest.mark.parametrize("rough", [0.0, 1.5e-4, 1e-3, 0.01])
def test_colebrook(reynolds, rough):
    library = pytest.importorskip("fluids")
    theirs = library.friction.Colebrook(reynolds, rough)
    assert colebrook(reynolds, rough) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("reynolds", REYNOLDS)
@pytest.mark.parametrize("ratio", [1.0, 2.0, 2.8, 4.0, 6.0])
def test_white(reynolds, ratio):
    library = pytest.importorskip("fluids")
    theirs = library.friction.helical_laminar_fd_White(reynolds, 0.01, 0.02 * ratio)
    ours = white(reynolds, ratio, 1.0) / ratio
    assert ours == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize(
    ("reynolds", "ratio"),
    [
        (reynolds, ratio)
        for reynolds in (1500.0, 3000.0, 6000.0, 1e4, 20e3, 50e3, 1e5)
        for ratio in (1.0, 1.5, 2.0, 2.8, 4.0, 6.0)
        if reynolds / ratio**2 > 364.0
    ],
)
@pytest.mark.parametrize("angle_deg", [20.0, 45.0, 60.0, 90.0, 135.0, 180.0])
def test_ito(reynolds, ratio, angle_deg):
    library = pytest.importorskip("fluids")
    theirs = library.bend_rounded(
        Di=0.01, rc=0.01 * ratio, angle=angle_deg, Re=reynolds, method="Ito"
    )
    ours = ito(reynolds, ratio, math.radians(angle_deg))
    assert ours == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize("reynolds", [1e4, 2e4, 5e4, 1e5])
@pytest.mark.parametrize("ratio", [1.5, 2.0, 2.8, 4.0])
def test_miller_s_bends_are_near_the_band(reynolds, ratio):
    """Another book's, from Re 10 000 on, where the library does not clip it.

    Its band is a guess of ours: a fifth to either side of it.
    """
    library = pytest.importorskip("fluids")
    theirs = library.bend_rounded(
        Di=0.01, rc=0.01 * ratio, angle=90.0, Re=reynolds, method="Miller"
    )
    band = bend_loss(reynolds, ratio, math.pi / 2)
    assert 0.8 * band.low < theirs < 1.2 * band.high


@pytest.mark.parametrize("temperature", [1, 5, 10, 15, 35, 45, 55, 70, 85, 99])
def test_water(temperature):
    library = pytest.importorskip("CoolProp.CoolProp")

    def theirs(what: str) -> float:
        kelvin = temperature + 273.15
        return float(library.PropsSI(what, "T", kelvin, "P", 101325.0, "Water"))

    ours = water(temperature)
    assert ours.density == pytest.approx(theirs("D"), rel=2e-5)
    assert ours.viscosity == pytest.approx(theirs("V"), rel=1e-4)
    assert ours.heat_capacity == pytest.approx(theirs("C"), rel=5e-4)


@pytest.mark.parametrize(
    ("liquid", "fluid"), [("ethylene glycol", "AEG"), ("propylene glycol", "APG")]
)
@pytest.mark.parametrize("volume", [0.1, 0.2, 0.3, 0.4, 0.5])
@pytest.mark.parametrize("temperature", [20, 40, 60, 78])
def test_glycols_by_volume_from_other_data(liquid, fluid, volume, temperature):
    """ASHRAE's data, as CoolProp fits them: another source than our polynomials'.

    They differ by 8 % in viscosity and 1 % in density, 2 % in heat capacity.
    """
    library = pytest.importorskip("CoolProp.CoolProp")
    pure = {"AEG": 1113.0, "APG": 1036.0}[fluid]
    share = 100.0 * volume * pure / (volume * pure + (1.0 - volume) * 998.2)
    coolant = Coolant(liquid=liquid, share=share, temperature_c=temperature)
    least, most = limits_c(coolant)
    assert least < temperature < most
    ours = liquid_state(coolant)

    def theirs(what: str) -> float:
        kelvin = temperature + 273.15
        name = f"INCOMP::{fluid}[{volume}]"
        return float(library.PropsSI(what, "T", kelvin, "P", 2e5, name))

    assert ours.density == pytest.approx(theirs("D"), rel=0.01)
    assert ours.viscosity == pytest.approx(theirs("V"), rel=0.08)
    assert ours.heat_capacity == pytest.approx(theirs("C"), rel=0.02)
