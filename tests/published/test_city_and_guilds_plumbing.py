"""City & Guilds Textbook *Plumbing Book 1* (2019). Lengths in millimetres."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.geometry.vectors import point
from loopsolver.tube.centreline import Centreline, developed_length, sample
from loopsolver.tube.setting_out import arc_length, gain

QUARTER = math.pi / 2


@pytest.mark.parametrize(
    ("radius", "printed"),
    [
        (4 * 15, 94.2),  # p. 95: 60 x 1.57
        (4 * 15, 94.26),  # p. 97: 60 x 2 x 3.142 / 4
        # The exercises of p. 95; the answers are not printed there but worked out
        # with pi to full length.
        (6 * 15, 141.37),
        (4 * 22, 138.23),
        (5 * 22, 172.79),
    ],
)
def test_quarter_bends(radius: float, printed: float) -> None:
    assert arc_length(radius, QUARTER) == pytest.approx(printed, abs=0.1)


def test_gain_by_rule_and_exactly() -> None:
    """P. 95: 22 mm tube, 150 and 250 mm end to centre, 1.5 D off: 367 mm.

    The rule is no more than that: at a radius of four diameters the exact gain is
    1.717 D, and the tube 4.77 mm shorter (worked out with pi to full length).
    """
    tube = Centreline(vertices=((0, 0, 0), (150, 0, 0), (150, 250, 0)), radius=88)
    assert developed_length(tube) == pytest.approx(362.23, abs=0.005)
    assert 367.0 - developed_length(tube) == pytest.approx(4.77, abs=0.005)
    assert gain(88, QUARTER) == pytest.approx(1.717 * 22, abs=0.01)


def test_one_piece_with_four_bends_as_a_centre_line() -> None:
    """Pp. 136-137: five legs, 12, 30 and 12 mm off for fittings, 21.5 mm a bend: 2980.

    Laid in space with the radius whose gain is the book's 21.5 mm.
    """
    radius = 21.5 / gain(1.0, QUARTER)
    steps = [(900 - 12, 0), (920 - 30, 1), (350, 2), (450, 0), (500 - 12, 1)]
    corners = [np.zeros(3)]
    for length, axis in steps:
        corners.append(corners[-1] + length * np.eye(3)[axis])
    tube = Centreline(vertices=tuple(point(c) for c in corners), radius=radius)
    assert developed_length(tube) == pytest.approx(2980, abs=1e-9)


def test_two_tubes_bent_round_one_centre() -> None:
    """P. 96: 22 mm tubes at 80 mm centres, the inner at 4 D: radii 88 and 168 mm.

    The book sets the outer bend out as 168 back and 84 on, 252 mm in all; its arc is
    longer: 263.9 mm (worked out).
    """
    inner, outer = 4 * 22, 4 * 22 + 80
    assert (inner, outer) == (88, 168)
    assert arc_length(outer, QUARTER) == pytest.approx(263.9, abs=0.05)
    reach = 400.0
    lines = [
        sample(
            Centreline(
                vertices=((-reach, -r, 0), (r, -r, 0), (r, reach, 0)), radius=float(r)
            ),
            spacing=0.5,
        )
        for r in (inner, outer)
    ]
    apart = [np.linalg.norm(lines[1] - point, axis=1).min() for point in lines[0]]
    assert min(apart) == pytest.approx(80, abs=1e-3)
    assert max(apart) == pytest.approx(80, abs=1e-3)
