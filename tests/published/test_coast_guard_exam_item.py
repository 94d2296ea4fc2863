"""A chief engineer's examination item of the US Coast Guard, as a forum quotes it.

Thread 22717 of an engineering forum (seen in that copy only). Lengths in inches.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.setting_out import arc_length


@pytest.mark.parametrize("radius", [6.0, 13.5, 22.5, 100.0])
def test_outside_of_a_bend_less_its_inside(radius: float) -> None:
    """4.5 in pipe, wall .355, so 5.21 across: 8.184 at 90 degrees, at any radius."""
    across = 4.5 + 2 * 0.355
    outside = arc_length(radius + across / 2, math.pi / 2)
    inside = arc_length(radius - across / 2, math.pi / 2)
    assert outside - inside == pytest.approx(8.184, abs=0.0005)
