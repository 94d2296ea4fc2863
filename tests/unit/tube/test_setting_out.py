"""Formulas for setting out against constructions in coordinates."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.tube.setting_out import (
    chord,
    gain,
    offset_advance,
    offset_travel,
    sagitta,
    take_out,
    take_outs,
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


def test_many_take_outs_are_those_of_each() -> None:
    found = take_outs(28.0, np.array(ANGLES))
    assert found == pytest.approx([take_out(28.0, angle) for angle in ANGLES])


@pytest.mark.parametrize("angle", [math.radians(a) for a in (10, 45, 90, 120)])
def test_an_offset_leads_from_line_to_line(angle: float) -> None:
    """By coordinates: on along the turned leg, its rise is the set, its run the advance."""
    sets = np.array([5.0, 20.0, 300.0])
    travel, advance = offset_travel(sets, angle), offset_advance(sets, angle)
    assert travel * math.sin(angle) == pytest.approx(sets)
    assert travel * math.cos(angle) == pytest.approx(advance, abs=1e-12)
    assert offset_travel(20.0, angle) == pytest.approx(travel[1])
    assert offset_advance(20.0, angle) == pytest.approx(advance[1], abs=1e-12)
