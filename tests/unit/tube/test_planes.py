"""Plane stretches against tables made by hand."""

from __future__ import annotations

import pytest

from loopsolver.tolerances import IN_PLANE_DEG
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.planes import PlaneStretch, is_in_plane, plane_stretches
from tests.builders.tubes import turned


def _table(*rotations_deg: float) -> BendTable:
    return turned(rotations_deg, straight=40.0, closing=40.0)


@pytest.mark.parametrize(
    ("rotations", "stretches"),
    [
        ((), ()),
        ((0,), ((1, 1, 0),)),
        ((0, 0, 180, 0), ((1, 4, 0),)),
        ((0, 90), ((1, 1, 0), (2, 2, 90))),
        ((0, 180, -90, 0, 45), ((1, 2, 0), (3, 4, -90), (5, 5, 45))),
        ((0, 90, 90, 90), ((1, 1, 0), (2, 2, 90), (3, 3, 90), (4, 4, 90))),
        ((0, 0.04, -179.96, 0.06), ((1, 3, 0), (4, 4, 0.06))),
        ((30, 0), ((1, 2, 0),)),
    ],
)
def test_stretches(
    rotations: tuple[float, ...], stretches: tuple[tuple[int, int, float], ...]
) -> None:
    assert plane_stretches(_table(*rotations)) == tuple(
        PlaneStretch(first=first, last=last, turn_deg=turn)
        for first, last, turn in stretches
    )


@pytest.mark.parametrize("middle", [0.0, 180.0, -180.0])
@pytest.mark.parametrize("side", [1, -1])
def test_limit_of_a_plane(middle: float, side: int) -> None:
    assert is_in_plane(middle + side * 0.99 * IN_PLANE_DEG)
    assert not is_in_plane(middle + side * 1.01 * IN_PLANE_DEG)
