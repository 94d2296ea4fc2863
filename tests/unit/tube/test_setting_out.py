"""Formulas for setting out against constructions in coordinates."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.tube.setting_out import (
    chord,
    cut_length,
    gain,
    roll_angle,
    sagitta,
    take_out,
    true_set,
)

ANGLES = [math.radians(angle) for angle in (0.5, 10, 45, 90, 120, 170)]


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("radius", [7.0, 28.0])
def test_chord_and_sagitta_of_points_on_a_circle(radius: float, angle: float) -> None:
    start = radius * np.array([math.cos(-angle / 2), math.sin(-angle / 2)])
    end = radius * np.array([math.cos(angle / 2), math.sin(angle / 2)])
    top = np.array([radius, 0.0])
    assert chord(radius, angle) == pytest.approx(np.linalg.norm(end - start))
    height = np.linalg.norm(top - (start + end) / 2)
    assert sagitta(radius, angle) == pytest.approx(height, abs=1e-14)


@pytest.mark.parametrize("angle", ANGLES)
def test_tangents_meet_a_take_out_before_the_vertex(angle: float) -> None:
    """Intersect the tangent at (0, 0) along x with that at the arc's end, by algebra."""
    radius = 28.0
    end = np.array([radius * math.sin(angle), radius - radius * math.cos(angle)])
    heading = np.array([math.cos(angle), math.sin(angle)])
    legs = np.linalg.solve(np.column_stack([(1.0, 0.0), heading]), end)
    assert take_out(radius, angle) == pytest.approx(legs[0])
    assert take_out(radius, angle) == pytest.approx(legs[1])
    assert gain(radius, angle) == pytest.approx(
        legs.sum() - radius * angle, rel=1e-6, abs=1e-12
    )


@pytest.mark.parametrize(
    ("rise", "roll", "set_off", "degrees"),
    [(3, 4, 5, 36.8699), (0, 7, 7, 0), (7, 0, 7, 90), (-5, 5, 7.0711, -45)],
)
def test_rolling_offsets(rise: float, roll: float, set_off: float, degrees: float):
    """Pythagoras, and the angles of right triangles."""
    assert true_set(rise, roll) == pytest.approx(set_off, abs=1e-4)
    assert math.degrees(roll_angle(rise, roll)) == pytest.approx(degrees, abs=1e-4)


def test_cut_length_takes_off_what_it_is_told() -> None:
    assert cut_length((100, 200, 50), gains=(10, 12), take_offs=8) == 320
