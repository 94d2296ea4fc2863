"""Constants for offsets as the trade prints them, and to full length.

Sources: instruction sheets of hand benders (makers not named; reproduced on two manual
collections), a trade page with cosecants from 1 to 36 degrees, and plumbinghelp.com's
page on the rolling offset formula.

The trade's tables take corners for sharp and round hard, so every angle carries its own
tolerance: at 10 degrees the multiplier is 4.2 % off and the shrink 29 %.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline, straights
from loopsolver.tube.setting_out import (
    arc_length,
    gain,
    offset_advance,
    offset_travel,
    take_out,
)
from tests.builders.tubes import bent, laid_along_x
from tests.published.trade_words import shrink

# angle, 1 / sin a, cot a, tan(a / 2), a in radians, 2 tan(a / 2) - a: the mathematical
# functions, printed to four places and more.
EXACT = [
    (5, 11.4737, 11.4301, 0.04366, 0.087266, 0.000055),
    (10, 5.7588, 5.6713, 0.08749, 0.174533, 0.000444),
    (11.25, 5.1258, 5.0273, 0.09849, 0.196350, 0.000633),
    (15, 3.8637, 3.7321, 0.13165, 0.261799, 0.001506),
    (22.5, 2.6131, 2.4142, 0.19891, 0.392699, 0.005126),
    (30, 2.0000, 1.7321, 0.26795, 0.523599, 0.012300),
    (45, 1.4142, 1.0000, 0.41421, 0.785398, 0.043029),
    (60, 1.1547, 0.5774, 0.57735, 1.047198, 0.107503),
    (90, 1.0, 0.0, 1.0, 1.570796, 0.429204),
]


@pytest.mark.parametrize(("angle_deg", "csc", "cot", "tan", "arc", "saved"), EXACT)
def test_exact_constants(
    angle_deg: float, csc: float, cot: float, tan: float, arc: float, saved: float
) -> None:
    angle = math.radians(angle_deg)
    assert offset_travel(1.0, angle) == pytest.approx(csc, abs=1e-4)
    assert offset_advance(1.0, angle) == pytest.approx(cot, abs=1e-4)
    assert shrink(1.0, angle) == pytest.approx(tan, abs=1e-5)
    assert take_out(1.0, angle) == pytest.approx(tan, abs=1e-5)
    assert arc_length(1.0, angle) == pytest.approx(arc, abs=1e-6)
    assert gain(1.0, angle) == pytest.approx(saved, abs=1e-6)


@pytest.mark.parametrize(
    ("angle_deg", "multiplier", "within"),
    [
        # Bender sheets.
        (5, 11.4, 0.01),
        (10, 6.0, 0.045),
        (10, 5.76, 0.001),
        (10, 5.8, 0.01),
        (15, 3.86, 0.001),
        (15, 3.9, 0.01),
        (22.5, 2.6, 0.006),
        (22.5, 2.613, 0.001),
        (30, 2.0, 1e-12),
        (45, 1.4, 0.011),
        (45, 1.414, 0.001),
        (60, 1.2, 0.04),
        (60, 1.155, 0.001),
        # The page of cosecants, printed to two places.
        (1, 57.30, 0.001),
        (2, 28.65, 0.001),
        (5, 11.47, 0.001),
        (25, 2.37, 0.002),
        (36, 1.70, 0.001),
    ],
)
def test_multipliers(angle_deg: float, multiplier: float, within: float) -> None:
    """The length from vertex to vertex of an offset tube is set times multiplier."""
    assert offset_travel(1.0, math.radians(angle_deg)) == pytest.approx(
        multiplier, rel=within
    )
    tube = _offset_tube(angle_deg, set_off=100.0, radius=20.0)
    table = bend_table(tube)
    outs = 2 * take_out(20.0, math.radians(angle_deg))
    assert table.bends[1].straight + outs == pytest.approx(
        100.0 * multiplier, rel=within
    )


@pytest.mark.parametrize(
    ("angle_deg", "advance"), [(60, 0.577), (45, 1.0), (22.5, 2.414)]
)
def test_setback_constants(angle_deg: float, advance: float) -> None:
    """plumbinghelp.com, rolling offset formula."""
    assert offset_advance(1.0, math.radians(angle_deg)) == pytest.approx(
        advance, abs=0.0005
    )


@pytest.mark.parametrize(
    ("angle_deg", "printed", "within"),
    [
        (10, 1 / 16, 0.29),
        (15, 1 / 8, 0.052),
        (22.5, 3 / 16, 0.06),
        (30, 1 / 4, 0.07),
        (45, 3 / 8, 0.096),
        (60, 1 / 2, 0.135),
    ],
)
def test_shrink_constants(angle_deg: float, printed: float, within: float) -> None:
    """Bender sheets, inch an inch: all too small, none beyond its tolerance."""
    exact = shrink(1.0, math.radians(angle_deg))
    assert exact > printed
    assert exact == pytest.approx(printed, rel=within, abs=within * exact)


def test_how_far_the_ten_degree_row_is_off() -> None:
    ten = math.radians(10)
    assert 6.0 / offset_travel(1.0, ten) - 1 == pytest.approx(0.042, abs=0.0005)
    assert 1 - (1 / 16) / shrink(1.0, ten) == pytest.approx(0.29, abs=0.005)


@pytest.mark.parametrize("radius", [10.0, 28.0, 60.0])
def test_shrink_is_no_change_in_cut_length(radius: float) -> None:
    """Shrink compares vertices; real arcs take two gains off the cut length."""
    angle = math.radians(30)
    tube = _offset_tube(30, set_off=100.0, radius=radius)
    straight_on = tube.vertices[-1][0]
    longer = bend_table(tube).length - straight_on
    assert longer == pytest.approx(shrink(100.0, angle) - 2 * gain(radius, angle))
    assert abs(longer - shrink(100.0, angle)) > 0.02 * radius


@pytest.mark.parametrize("angle_deg", [row[0] for row in EXACT])
def test_an_offset_laid_from_the_constants_is_offset_by_its_set(
    angle_deg: float,
) -> None:
    csc = next(row[1] for row in EXACT if row[0] == angle_deg)
    radius, set_off = 10.0, 100.0
    out = radius * math.tan(math.radians(angle_deg) / 2)
    travel = set_off * csc - 2 * out
    table = bent(
        [(50.0, 0.0, angle_deg), (travel, 180.0, angle_deg)],
        closing=50.0,
        radius=radius,
    )
    tube = laid_along_x(table)
    assert tube.vertices[-1][1] == pytest.approx(set_off, abs=1e-4 * set_off)
    assert tube.vertices[-1][2] == pytest.approx(0.0, abs=1e-12)
    assert straights(tube)[-1] == pytest.approx(50.0)


def _offset_tube(angle_deg: float, *, set_off: float, radius: float) -> Centreline:
    """Return a flat tube that runs along x, then `set_off` higher along x again."""
    advance = set_off / math.tan(math.radians(angle_deg))
    return Centreline(
        vertices=(
            (0.0, 0.0, 0.0),
            (200.0, 0.0, 0.0),
            (200.0 + advance, set_off, 0.0),
            (400.0 + advance, set_off, 0.0),
        ),
        radius=radius,
    )
