"""US Navy, NAVEDTRA 14119 *Hull Maintenance Technician*. Lengths in inches."""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline, developed_length, straights
from loopsolver.tube.setting_out import arc_length
from loopsolver.tube.stock import MATERIAL_FACTS

# Ch. 16, fig. 16-3: legs of 48 and 72 to the vertex, bend radius 18, 90 degrees.
ONE_BEND = Centreline(vertices=((0, 0, 0), (48, 0, 0), (48, 72, 0)), radius=18)


def test_straights_beside_one_bend() -> None:
    """Fig. 16-3 prints legs of 30 and 54."""
    assert straights(ONE_BEND) == pytest.approx((30, 54), abs=1e-12)


def test_developed_length_of_one_bend() -> None:
    """Fig. 16-3 prints 112.26, with 1.57 for half of pi."""
    assert developed_length(ONE_BEND) == pytest.approx(112.26, abs=0.02)
    assert math.fsum(straights(ONE_BEND)) + 18 * 1.57 == pytest.approx(112.26)
    assert bend_table(ONE_BEND).length == pytest.approx(112.26, abs=0.02)


@pytest.mark.parametrize(
    ("radius", "angle_deg", "printed"),
    [
        (3 + 0.25, 90, 5.10),  # ch. 13, fig. 13-49: half-inch bar, inside radius 3
        (1.0 + 0.25, 180, 3.925),  # ch. 13, fig. 13-50: U-bolt
        (18, 90, 28.26),  # ch. 16, fig. 16-3
    ],
)
def test_arc_lengths(radius: float, angle_deg: float, printed: float) -> None:
    assert arc_length(radius, math.radians(angle_deg)) == pytest.approx(
        printed, abs=0.015
    )


def test_least_radius_of_copper() -> None:
    """P. 16-11: copper and brass pipe at no less than 1.5 diameters."""
    assert MATERIAL_FACTS["copper"].least_radius_diameters == 1.5
