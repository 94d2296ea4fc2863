"""fluids 1.3.1, an open library (MIT): values that it prints, and of its test suite.

Used point by point where it holds: its Miller bends are clipped at Re 10 000, its Ito
jumps at Re (D/R)² = 360.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.hydraulics.bends import bend_loss, ito, mitre_loss
from loopsolver.hydraulics.friction import colebrook, friction, laminar
from loopsolver.hydraulics.passages import STEP


@pytest.mark.parametrize(
    ("reynolds", "roughness", "printed"),
    [
        (4000.0, 0.0, 0.03990701),
        (1e4, 0.0, 0.03088295),
        (1e5, 0.0, 0.01798977),
        (1e5, 1e-4, 0.018513866077471648),  # of the library's test suite
        (1e5, 1e-3, 0.02217454),
        (1e6, 1e-3, 0.01994347),
        (1e7, 0.02, 0.04864142),
    ],
)
def test_colebrook(reynolds, roughness, printed):
    assert colebrook(reynolds, roughness) == pytest.approx(printed, abs=6e-9)


def test_laminar_friction():
    """Printed: 0.064 at Re 1000, 0.032 at 2000; White's example page: 0.08 at 800."""
    assert [laminar(one) for one in (800.0, 1000.0, 2000.0)] == [0.08, 0.064, 0.032]
    assert friction(1000.0).main == 0.064


def test_between_laminar_and_turbulent_either_is_possible():
    """Half way, at 3000: 64 / Re; Colebrook; the mean of 0.032 and 0.03990701."""
    band = friction(3000.0)
    assert band.low == pytest.approx(64.0 / 3000.0)
    assert band.main == pytest.approx((0.032 + 0.03990701) / 2.0, abs=1e-8)
    assert band.high == colebrook(3000.0) > 0.04
    for edge, factor in ((2000.0, 0.032), (4000.0, 0.03990701)):
        assert friction(edge).low == friction(edge).high == pytest.approx(factor)


@pytest.mark.parametrize(
    ("formula", "printed", "off"),
    [
        ("Haaland", (0.040423, 0.030886, 0.017825), 0.015),
        ("Swamee and Jain", (0.040551, 0.030972, 0.017863), 0.02),
        ("Churchill", (0.04059, 0.031002, 0.017875), 0.02),
        ("Blasius", (0.039785, 0.031640, 0.017792), 0.026),
    ],
)
def test_other_formulas_of_smooth_tube_are_near(formula, printed, off):
    """At Re 4000, 10 000 and 100 000; they differ from Colebrook's by 1 to 3 %."""
    ours = [colebrook(one) for one in (4e3, 1e4, 1e5)]
    assert ours == pytest.approx(list(printed), rel=off), formula


@pytest.mark.parametrize(
    ("reynolds", "roughness", "haaland", "swamee_jain", "churchill"),
    [
        (1e5, 1e-4, 0.018265, 0.018452, 0.018463),
        (1e5, 1e-3, 0.021966, 0.022342, 0.022343),
        (1e6, 1e-3, 0.019941, 0.020029, 0.020022),
        (1e7, 0.02, 0.048739, 0.048647, 0.048619),
    ],
)
def test_other_formulas_of_rough_tube_are_near(
    reynolds, roughness, haaland, swamee_jain, churchill
):
    """They differ from Colebrook's by 1.4 % at most."""
    ours = colebrook(reynolds, roughness)
    others = (haaland, swamee_jain, churchill)
    assert others == pytest.approx([ours] * 3, rel=0.014)


@pytest.mark.parametrize(
    ("ratio", "crane", "rennels", "miller"),
    [
        (1.0, 0.5813, 0.4872, 0.5395),
        (1.5, 0.4087, 0.3361, 0.3805),
        (2.0, 0.3454, 0.2990, 0.3223),
        (3.0, 0.3523, 0.3037, 0.3099),
        (4.0, 0.4051, 0.3369, 0.3361),
    ],
)
def test_other_books_bends_lie_in_the_band_or_near_it(ratio, crane, rennels, miller):
    """Re 10 000, 90 degrees, inside diameter 10 mm, which none of them is made for.

    Rennels's lie in the band; Miller's reach 12 % beyond it, Crane's, of rough pipe, 20 %.
    """
    band = bend_loss(1e4, ratio, math.pi / 2)
    assert band.low < rennels < band.high
    assert band.low < miller < 1.12 * band.high
    assert band.low < crane < 1.2 * band.high


@pytest.mark.parametrize(
    ("angle_deg", "rennels", "miller"),
    [
        (22.5, 0.150, 0.092),
        (30, 0.176, 0.119),
        (45, 0.217, 0.166),
        (60, 0.249, 0.212),
        (90, 0.299, 0.322),
        (180, 0.394, 0.413),
    ],
)
def test_other_books_bends_of_other_angles_lie_in_the_band(angle_deg, rennels, miller):
    """Re 10 000, R/D 2, inside diameter 10 mm."""
    band = bend_loss(1e4, 2.0, math.radians(angle_deg))
    assert band.low < min(rennels, miller)
    assert max(rennels, miller) < band.high


@pytest.mark.parametrize(
    ("angle_deg", "printed", "off"),
    [
        (15, 0.070382, 0.5),
        (30, 0.106802, 0.13),
        (45, 0.138582, 0.05),
        (60, 0.169772, 0.05),
        (75, 0.201149, 0.05),
        (90, 0.232484, 0.05),
    ],
)
def test_gentle_bends_of_its_test_suite(angle_deg, printed, off):
    """Rennels's, R/D 5, friction factor 0.0163: Re 160 000 in smooth tube.

    His loss does not go to nothing with the angle; ours does.
    """
    assert colebrook(1.6e5) == pytest.approx(0.0163, abs=1e-4)
    main = bend_loss(1.6e5, 5.0, math.radians(angle_deg)).main
    assert main == pytest.approx(printed, rel=off)


def test_a_gentle_bend_of_thirty_degrees_of_its_test_suite():
    """R/D 5, Re 100 000: Rennels 0.115321, Miller 0.102765."""
    main = bend_loss(1e5, 5.0, math.radians(30.0)).main
    assert 0.102765 < main < 0.115321


@pytest.mark.parametrize(
    ("ratio", "printed"),
    [(1.0, 0.4352), (1.5, 0.3357), (2.0, 0.3026), (3.0, 0.2984), (4.0, 0.3225)],
)
def test_ito_by_radius(ratio, printed):
    """Re 10 000, 90 degrees, inside diameter 10 mm."""
    assert ito(1e4, ratio, math.pi / 2) == pytest.approx(printed, abs=6e-5)


@pytest.mark.parametrize(
    ("angle_deg", "printed"),
    [(22.5, 0.103), (30, 0.138), (45, 0.207), (60, 0.251), (90, 0.303), (180, 0.354)],
)
def test_ito_by_angle(angle_deg, printed):
    """Re 10 000, R/D 2."""
    assert ito(1e4, 2.0, math.radians(angle_deg)) == pytest.approx(printed, abs=6e-4)


def test_mitre_bends():
    """Of 90 degrees: Rennels 1.2021, Miller 1.4225, Blevins 2.0026."""
    corner = mitre_loss(math.pi / 2)
    assert (corner.low, corner.main, corner.high) == (1.2021, 1.4225, 2.0026)
    assert corner.low < 1.744 < corner.high  # Crane's


def test_a_step_of_bore_lies_in_the_band_of_a_straight_fitting():
    """Area change from 13 to 10 mm 0.2705, from 10 to 13 mm 0.1667: (1 - A1 / A2)²."""
    assert pytest.approx(0.1667, abs=6e-5) == (1.0 - (10 / 13) ** 2) ** 2
    for printed in (0.1667, 0.2705):
        assert STEP.low < printed < STEP.high


@pytest.mark.parametrize(
    ("angle_deg", "friction_factors"),
    [(15, 4), (30, 8), (45, 15), (60, 25), (75, 40), (90, 60)],
)
def test_mitre_angles_as_in_crane(angle_deg, friction_factors):
    """Crane TP-410, mitre bends, quoted by Ludwig, Applied process design 1, p. 76."""
    share = mitre_loss(math.radians(angle_deg)).main / 1.4225
    assert share == pytest.approx(friction_factors / 60)
