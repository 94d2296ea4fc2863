"""Published figures of air in pipes: Wisner 1975, Bretherton 1961, Lamstaes & Eggers 2016.

Wisner, Mohsen, Kouwen, Journal of the Hydraulics Division, ASCE, 101 HY2, as quoted after
Sanks, Pumping Station Design. Bretherton, Journal of Fluid Mechanics 10, 166-188.
Lamstaes, Eggers, Journal of Statistical Physics (2016), abstract.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.hydraulics.carried_air import (
    BOND_LEAST,
    CAPILLARY,
    GRAVITY,
    PUBLISHED_LEAST,
    STICKING,
    clearing_speed,
    flow_of,
)
from loopsolver.hydraulics.volumes import bore_ml


@pytest.mark.parametrize(
    ("slope_deg", "froude", "speed", "flow"),
    [
        (0.0, 0.825, 0.258, 1.22),
        (30.0, 1.0018, 0.314, 1.48),
        (90.0, 1.075, 0.337, 1.59),
    ],
)
def test_wisner_in_a_bore_of_ten_millimetres(slope_deg, froude, speed, flow) -> None:
    """Speeds and flows by hand from the printed 0.825 + 0.25 sqrt(sin(slope))."""
    found = clearing_speed(10.0, math.radians(slope_deg))
    assert found / math.sqrt(9.80665 * 0.010) == pytest.approx(froude, abs=5e-5)
    assert found == pytest.approx(speed, abs=5e-4)
    assert flow_of(found, 10.0) == pytest.approx(flow, abs=0.005)


@pytest.mark.parametrize(
    ("flow", "speed", "froude"),
    [(1.0, 0.212, 0.68), (2.0, 0.424, 1.36), (4.0, 0.849, 2.71)],
)
def test_speeds_in_a_bore_of_ten_millimetres(flow, speed, froude) -> None:
    """Flow over area, and over sqrt(g D), by hand; air is cleared where it is 0.825."""
    assert flow_of(speed, 10.0) == pytest.approx(flow, rel=2e-3)
    clearing = flow_of(clearing_speed(10.0, 0.0), 10.0)
    assert 0.825 * flow / clearing == pytest.approx(froude, abs=0.0051)


def test_bubbles_stick_below_bretherton_s_limit() -> None:
    """Lamstaes & Eggers print 0.918 capillary lengths for Bretherton's 0.842."""
    assert math.sqrt(BOND_LEAST) == pytest.approx(0.918, abs=5e-4)
    radius = STICKING / 2.0
    assert radius == pytest.approx(0.918 * CAPILLARY, rel=1e-3)
    assert radius == pytest.approx(2.49, abs=0.01)
    # sqrt(sigma / (rho g)) of water at 25 °C: 71.97 mN/m (IAPWS R1-76, from memory).
    assert pytest.approx(1e3 * math.sqrt(71.97e-3 / (997.05 * GRAVITY)), abs=0.005) == (
        CAPILLARY
    )


def test_nothing_published_is_as_thin_as_these_tubes() -> None:
    """May, Allen, Nelson 2018 measured 25 and 38 mm."""
    assert PUBLISHED_LEAST == 25.0


@pytest.mark.parametrize(
    ("inner", "per_metre"),
    [(9.5, 70.88), (10.0, 78.54), (12.0, 113.10), (13.0, 132.73)],
)
def test_millilitres_in_a_metre(inner, per_metre) -> None:
    """Closed form, pi d^2 / 4 times a metre, printed to a hundredth."""
    assert bore_ml(inner, 1000.0) == pytest.approx(per_metre, abs=0.005)
