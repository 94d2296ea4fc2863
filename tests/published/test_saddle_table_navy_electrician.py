"""US Navy, NAVEDTRA 14026 *Construction Electrician Basic*, table 5-4, p. 5-26.

Three-bend saddles (fig. 5-49): 45 degrees in the middle, 22.5 at the sides, in inches.
The table takes 3/16 and 2 1/2 an inch of depth; between sharp vertices it is tan 11.25
degrees and 1 / sin 22.5 degrees, 7 % and 5 % more.
"""

from __future__ import annotations

import math

import pytest

from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import offset_travel, take_out
from tests.published.trade_words import shrink

SIDE = math.radians(22.5)

# depth, centre mark ahead, side marks each way
TABLE_5_4 = [
    (1, 3 / 16, 2.5),
    (2, 3 / 8, 5),
    (3, 9 / 16, 7.5),
    (4, 3 / 4, 10),
    (5, 15 / 16, 12.5),
    (6, 1 + 1 / 8, 15),
]


def _saddle(depth: float, to_centre: float, side: float) -> Centreline:
    """Return a saddle along x whose middle vertex is above `to_centre`."""
    half = depth / math.tan(side)
    return Centreline(
        vertices=(
            (0.0, 0.0, 0.0),
            (to_centre - half, 0.0, 0.0),
            (to_centre, depth, 0.0),
            (to_centre + half, 0.0, 0.0),
            (2 * to_centre, 0.0, 0.0),
        ),
        radius=0.5,
    )


def _vertex_stations(tube: Centreline) -> list[float]:
    """Return how far along its legs each bend's vertex lies, from the bend table."""
    stations, at, out = [], 0.0, 0.0
    for bend in bend_table(tube).bends:
        next_out = take_out(tube.radius, math.radians(bend.angle_deg))
        at += out + bend.straight + next_out
        stations.append(at)
        out = next_out
    return stations


@pytest.mark.parametrize(("depth", "ahead", "each_way"), TABLE_5_4)
def test_table(depth: float, ahead: float, each_way: float) -> None:
    assert shrink(depth, SIDE) == pytest.approx(ahead, rel=0.07)
    assert offset_travel(depth, SIDE) == pytest.approx(each_way, rel=0.05)


@pytest.mark.parametrize(("depth", "ahead", "each_way"), TABLE_5_4)
def test_table_as_a_tube(depth: float, ahead: float, each_way: float) -> None:
    tube = _saddle(depth, 40.0, SIDE)
    table = bend_table(tube)
    assert [bend.angle_deg for bend in table.bends] == pytest.approx([22.5, 45, 22.5])
    assert [bend.rotation_deg for bend in table.bends] == [0, 180, 180]
    first, centre, last = _vertex_stations(tube)
    assert centre - 40.0 == pytest.approx(ahead, rel=0.07)
    assert centre - first == pytest.approx(each_way, rel=0.05)
    assert last - centre == pytest.approx(each_way, rel=0.05)


@pytest.mark.parametrize(
    ("depth", "to_centre", "printed"),
    [
        (4, 15, (5 + 3 / 4, 15 + 3 / 4, 25 + 3 / 4)),
        (2, 20, (15 + 3 / 8, 20 + 3 / 8, 25 + 3 / 8)),
        (3, 30, (23 + 1 / 16, 30 + 9 / 16, 38 + 1 / 16)),
    ],
)
def test_printed_cases(
    depth: float, to_centre: float, printed: tuple[float, float, float]
) -> None:
    first, centre, last = _vertex_stations(_saddle(depth, to_centre, SIDE))
    assert centre == pytest.approx(printed[1], abs=0.07 * (printed[1] - to_centre))
    each_way = printed[2] - printed[1]
    assert centre - first == pytest.approx(each_way, rel=0.05)
    assert last - centre == pytest.approx(each_way, rel=0.05)


def test_saddle_of_sixty_degrees() -> None:
    """Bender sheets: 1/4 and 2 an inch with 30 degrees at the sides."""
    tube = _saddle(1.0, 20.0, math.radians(30))
    first, centre, _ = _vertex_stations(tube)
    assert [b.angle_deg for b in bend_table(tube).bends] == pytest.approx([30, 60, 30])
    assert centre - 20.0 == pytest.approx(1 / 4, rel=0.08)
    assert centre - first == pytest.approx(2.0, abs=1e-12)
