"""Straight and circular pieces: points, middles and rises of quarter arcs, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.geometry.curves import Curves

QUARTER = math.pi / 2.0
HALF_ROOT = math.sqrt(0.5)

# A straight along x from 10 to 40 mm beside the origin; a quarter arc of 20 mm round
# (0, 0, 5), from +y to +z; two thirds of a half circle of 6 mm round (1, 2, 3), from +x.
PIECES = Curves(
    origin=np.array([[0.0, 7.0, 0.0], [0.0, 0.0, 5.0], [1.0, 2.0, 3.0]]),
    first=np.array([[1.0, 0.0, 0.0], [0.0, 20.0, 0.0], [6.0, 0.0, 0.0]]),
    second=np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 20.0], [0.0, 6.0, 0.0]]),
    start=np.array([10.0, 0.0, 0.0]),
    stop=np.array([40.0, QUARTER, 2.0 * math.pi / 3.0]),
    is_bent=np.array([False, True, True]),
)
ALL = np.arange(3)


def test_a_piece_begins_and_ends_where_its_parameters_say() -> None:
    begins = [[10.0, 7.0, 0.0], [0.0, 20.0, 5.0], [7.0, 2.0, 3.0]]
    ends = [[40.0, 7.0, 0.0], [0.0, 0.0, 25.0], [-2.0, 2.0 + 3.0 * math.sqrt(3.0), 3.0]]
    assert len(PIECES) == 3
    np.testing.assert_allclose(PIECES.points(ALL, PIECES.start), begins, atol=1e-12)
    np.testing.assert_allclose(PIECES.points(ALL, PIECES.stop), ends, atol=1e-12)


def test_some_pieces_are_picked_with_all_that_is_theirs() -> None:
    which = np.array([2, 0])
    picked = PIECES.pick(which)
    assert len(picked) == 2
    assert picked.is_bent.tolist() == [True, False]
    for at in ("start", "stop"):
        np.testing.assert_array_equal(
            picked.points(np.arange(2), getattr(picked, at)),
            PIECES.points(which, getattr(PIECES, at)[which]),
        )


def test_the_middle_is_half_way_and_as_far_from_both_ends() -> None:
    """A chord is twice the radius times the sine of half its angle."""
    middles = [
        [25.0, 7.0, 0.0],
        [0.0, 20.0 * HALF_ROOT, 5.0 + 20.0 * HALF_ROOT],
        [4.0, 2.0 + 3.0 * math.sqrt(3.0), 3.0],
    ]
    np.testing.assert_allclose(PIECES.middles(), middles, atol=1e-12)
    chords = [15.0, 40.0 * math.sin(math.pi / 8.0), 12.0 * math.sin(math.pi / 6.0)]
    assert PIECES.half_reach() == pytest.approx(chords)
    for at in (PIECES.start, PIECES.stop):
        far = np.linalg.norm(PIECES.points(ALL, at) - PIECES.middles(), axis=1)
        assert far == pytest.approx(chords)


@pytest.mark.parametrize("share", [1.0, 0.5, 0.25])
def test_an_arc_parts_from_its_chord_by_its_rise(share: float) -> None:
    """The rise is from the chord's middle to the arc's, r (1 - cos of half the angle)."""
    low, high = PIECES.start, PIECES.start + share * (PIECES.stop - PIECES.start)
    found = PIECES.bulges(ALL, low, high)
    ends = [PIECES.points(ALL, at) for at in (low, high)]
    arcs = PIECES.points(ALL, 0.5 * (low + high))
    np.testing.assert_allclose(found, arcs - 0.5 * (ends[0] + ends[1]), atol=1e-12)
    rises = [0.0, *(r * (1.0 - math.cos(share * a / 2.0)) for r, a in ARCS)]
    assert np.linalg.norm(found, axis=1) == pytest.approx(rises)


ARCS = ((20.0, QUARTER), (6.0, 2.0 * math.pi / 3.0))
"""Radius and angle of the two arcs."""


def test_of_single_pieces_the_rise_is_their_own() -> None:
    which = np.array([1, 0])
    found = PIECES.bulges(which, PIECES.start[which], PIECES.stop[which])
    by = 20.0 * (1.0 - HALF_ROOT) * HALF_ROOT
    np.testing.assert_allclose(found, [[0.0, by, by], [0.0, 0.0, 0.0]], atol=1e-12)
