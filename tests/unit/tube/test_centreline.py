"""Centre lines against closed forms, and what they refuse."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.errors import GeometryError
from loopsolver.tube.centreline import (
    BendArc,
    Centreline,
    Straight,
    bend_angles,
    developed_length,
    legs,
    piece_length,
    pieces,
    sample,
    straights,
)

# A flat Z and a quarter circle of radius 28 at each corner: all by hand.
Z_TUBE = Centreline(
    vertices=((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0)), radius=28.0
)


def test_straights_of_a_flat_z() -> None:
    assert straights(Z_TUBE) == pytest.approx((32, 34, 112), abs=1e-12)
    assert bend_angles(Z_TUBE) == (math.pi / 2, math.pi / 2)


def test_developed_length_of_a_flat_z() -> None:
    assert developed_length(Z_TUBE) == pytest.approx(32 + 34 + 112 + 28 * math.pi)


def test_tube_without_bends() -> None:
    tube = Centreline(vertices=((0, 0, 0), (3, 4, 12)), radius=28.0)
    assert bend_angles(tube) == ()
    assert straights(tube) == (13.0,)
    assert developed_length(tube) == 13.0
    assert pieces(tube) == (Straight(start=(0, 0, 0), end=(3, 4, 12)),)


def test_straights_below_zero_are_shown_as_they_are() -> None:
    tube = Centreline(
        vertices=((0, 0, 0), (40, 0, 0), (40, 50, 0), (90, 50, 0)), radius=28.0
    )
    assert straights(tube) == pytest.approx((12, -6, 22), abs=1e-12)
    assert developed_length(tube) == pytest.approx(12 - 6 + 22 + 28 * math.pi)


def test_pieces_of_a_flat_z() -> None:
    first, bend, middle, other, last = pieces(Z_TUBE)
    assert isinstance(first, Straight)
    assert first.start == (0.0, 0.0, 0.0)
    assert first.end == pytest.approx((0, -32, 0))
    assert isinstance(bend, BendArc)
    assert bend.centre == pytest.approx((28, -32, 0))
    assert bend.u == pytest.approx((-1, 0, 0))
    assert bend.v == pytest.approx((0, -1, 0))
    assert bend.angle == math.pi / 2
    assert isinstance(middle, Straight)
    assert middle.end == pytest.approx((62, -60, 0))
    assert isinstance(other, BendArc)
    assert other.centre == pytest.approx((62, -88, 0))
    assert isinstance(last, Straight)
    assert last.end == (90, -200, 0)


def test_arc_stays_tangent_to_both_legs() -> None:
    """The centre is one radius from both leg lines, and the arc ends on the second."""
    tube = Centreline(vertices=((3, 1, 4), (60, -20, 15), (80, 70, -30)), radius=17.0)
    _, arc, after = pieces(tube)
    assert isinstance(arc, BendArc)
    assert isinstance(after, Straight)
    centre = np.array(arc.centre)
    for start, direction in zip(tube.vertices[:2], legs(tube).directions, strict=True):
        away = np.cross(centre - start, direction)
        assert np.linalg.norm(away) == pytest.approx(17.0, abs=1e-12)
    u, v = np.array(arc.u), np.array(arc.v)
    end = centre + 17.0 * (math.cos(arc.angle) * u + math.sin(arc.angle) * v)
    assert end == pytest.approx(after.start, abs=1e-12)
    assert v == pytest.approx(legs(tube).directions[0], abs=1e-12)


def test_full_use_of_a_leg_keeps_straights_of_no_length() -> None:
    """Legs of just their tangent lengths: arcs meet, and every piece is still there."""
    tube = Centreline(
        vertices=((0, 0, 0), (20, 0, 0), (20, 40, 0), (40, 40, 0)), radius=20.0
    )
    found = pieces(tube)
    assert [type(piece) for piece in found] == [
        Straight,
        BendArc,
        Straight,
        BendArc,
        Straight,
    ]
    assert [piece_length(piece) for piece in found] == pytest.approx(
        [0, 10 * math.pi, 0, 10 * math.pi, 0], abs=1e-12
    )


@pytest.mark.parametrize("spacing", [0.4, 2.0, 7.3, 500.0])
def test_sample_keeps_its_spacing_and_its_landmarks(spacing: float) -> None:
    points = sample(Z_TUBE, spacing=spacing)
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).max() <= spacing * (1 + 1e-9)
    landmarks = [
        (0, 0, 0),
        (0, -32, 0),
        (28, -60, 0),
        (62, -60, 0),
        (90, -88, 0),
        (90, -200, 0),
    ]
    for landmark in landmarks:
        assert np.linalg.norm(points - landmark, axis=1).min() < 1e-9
    assert tuple(points[0]) == (0, 0, 0)
    assert tuple(points[-1]) == (90, -200, 0)


def test_sample_with_a_wide_spacing_has_the_landmarks_alone() -> None:
    assert sample(Z_TUBE, spacing=500.0).shape == (6, 3)


def test_sample_of_a_quarter_bend_lies_on_its_circle() -> None:
    tube = Centreline(vertices=((-30, 0, 0), (0, 0, 0), (0, 30, 0)), radius=30.0)
    points = sample(tube, spacing=0.5)
    assert points.shape == (math.ceil(15 * math.pi / 0.5) + 1, 3)
    assert np.hypot(points[:, 0] + 30, points[:, 1] - 30) == pytest.approx(30.0)
    assert points[:, 2] == pytest.approx(0.0)


@pytest.mark.parametrize("spacing", [0.0, -1.0, math.nan])
def test_sample_refuses_a_spacing_of_nothing(spacing: float) -> None:
    with pytest.raises(GeometryError, match="spacing is above 0 mm"):
        sample(Z_TUBE, spacing=spacing)


def test_vertex_in_line_is_named() -> None:
    tube = Centreline(
        vertices=((0, 0, 0), (0, 50, 0), (40, 50, 0), (90, 50, 0), (90, 99, 0)),
        radius=10.0,
    )
    with pytest.raises(
        GeometryError, match=r"vertex 3 of 5 at \(40\.00, 50\.00, 0\.00\) mm: bend 2"
    ):
        bend_angles(tube)


def test_vertex_that_turns_back_is_named() -> None:
    tube = Centreline(
        vertices=((0, 0, 0), (0, 50, 0), (40, 50, 0), (10, 50, 0)), radius=10.0
    )
    with pytest.raises(GeometryError, match=r"vertex 3 of 4 .* turns straight back"):
        straights(tube)


def test_coincident_vertices_are_named() -> None:
    tube = Centreline(
        vertices=((0, 0, 0), (0, 50, 0), (0, 50, 0), (40, 50, 0)), radius=10.0
    )
    with pytest.raises(GeometryError, match=r"vertex 2 of 4 .* next one coincide"):
        developed_length(tube)


def test_position_that_is_no_number_is_refused() -> None:
    tube = Centreline(vertices=((0, 0, 0), (0, math.nan, 0)), radius=10.0)
    with pytest.raises(GeometryError, match="not a finite position"):
        developed_length(tube)


def test_single_point_is_no_tube() -> None:
    with pytest.raises(GeometryError, match="two ends"):
        straights(Centreline(vertices=((0, 0, 0),), radius=10.0))


@pytest.mark.parametrize("radius", [0.0, -3.0, math.nan, math.inf])
def test_radius_has_to_be_a_length(radius: float) -> None:
    with pytest.raises(GeometryError, match="bend radius is above 0 mm"):
        bend_angles(Centreline(vertices=Z_TUBE.vertices, radius=radius))


def test_pieces_refuse_bends_that_overlap_and_say_how_much_is_missing() -> None:
    tube = Centreline(
        vertices=((0, 0, 0), (40, 0, 0), (40, 50, 0), (90, 50, 0)), radius=28.0
    )
    with pytest.raises(
        GeometryError, match=r"straight 2 \(between bend 1 and bend 2\).*6 mm too short"
    ):
        pieces(tube)
