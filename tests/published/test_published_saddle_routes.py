"""Published saddles, reached through whole routes: a pipe in the way, on a wall.

US Navy, NAVEDTRA 14026 *Construction Electrician Basic*, table 5-4 and fig. 5-49,
p. 5-26: 45 degrees in the middle, 22.5 at the sides; 2 1/2 inches to each side mark and
3/16 of shrink an inch of depth. Hand-bender sheets print 2 and 1/4 for 60 and 30 degrees.
Between vertices the exact figures are 1 / sin a and tan(a / 2); trade tables round them.
"""

from __future__ import annotations

import math

import pytest

from tests.published.route_scenes import legs, routed, vertices

RADIUS, DIAMETER, CLEARANCE = 2.0, 0.375, 0.125
REACH = DIAMETER / 2 + CLEARANCE

PIPE = """
[[components.near.bodies]]
cylinder = {{ diameter = {diameter}, height = 40 }}
centre = [{x}, 0, {z}]
axis = "+y"

[[components.near.bodies]]
box = [0.4, 40, {z}]
centre = [{x}, 0, {half}]
"""


def saddle(depth: float, to_centre: float, side_deg: float) -> list[list[float]]:
    """The legs of a saddle `depth` deep over a pipe `to_centre` from the near end.

    The pipe lies about the centre of the middle bend's arc and fills it up to the
    clearance, so that no shallower saddle passes; a wall stands under it.
    """
    middle = math.radians(2 * side_deg)
    height = depth - RADIUS / math.cos(middle / 2)
    radius = RADIUS - REACH
    found = routed(
        units="in",
        inner=(2 * to_centre + 2, 30.0, depth + 12.0),
        start=(1.0, 15.0, REACH),
        out="+x",
        goal=(1.0 + 2 * to_centre, 15.0, REACH),
        home="-x",
        radius=RADIUS,
        angles=[side_deg, 2 * side_deg],
        diameter=DIAMETER,
        max_bends=3,
        clearance=CLEARANCE,
        bodies=PIPE.format(diameter=2 * radius, x=to_centre, z=height, half=height / 2),
    )
    assert found.refused == 0
    best = found.candidates[0]
    assert best.bends == 3
    table = best.table
    assert [bend.angle_deg for bend in table.bends] == pytest.approx(
        [side_deg, 2 * side_deg, side_deg]
    )
    assert [bend.rotation_deg for bend in table.bends] == pytest.approx([0, 180, 180])
    # vertex heights over the line, in the unit of the table
    top = vertices(best, "in")[2]
    assert top[2] - REACH == pytest.approx(depth, abs=2e-3)
    assert top[0] - 1.0 == pytest.approx(to_centre, abs=0.02)
    return [list(legs(best, "in")), list(vertices(best, "in")[:, 0] - 1.0)]


# depth, centre mark ahead, side marks each way; depth 2 and up: below that the pipe
# would be no thicker than the tube
TABLE_5_4 = [(3, 9 / 16, 7.5), (4, 3 / 4, 10.0), (6, 1 + 1 / 8, 15.0)]


@pytest.mark.parametrize(("depth", "ahead", "each_way"), TABLE_5_4)
def test_saddle_of_three_bends(depth: float, ahead: float, each_way: float) -> None:
    (first, up, down, _), _ = saddle(depth, to_centre=24.0, side_deg=22.5)
    assert up == pytest.approx(each_way, rel=0.05)
    assert up == pytest.approx(depth / math.sin(math.radians(22.5)), abs=0.03)
    assert down == pytest.approx(up, abs=0.03)
    # The centre's station along the tube lies ahead of the pipe's by the shrink.
    assert first + up - 24.0 == pytest.approx(ahead, abs=0.07 * ahead + 0.03)


# to the pipe, depth, printed centre mark and marks at the sides
PRINTED = [
    (15.0, 4.0, 15.75, (5.75, 25.75)),
    (20.0, 2.5, 20.0 + 2.5 * 3 / 16, (20.46875 - 6.25, 20.46875 + 6.25)),
    (30.0, 3.0, 30 + 9 / 16, (30.5625 - 7.5, 30.5625 + 7.5)),
]


@pytest.mark.parametrize(("to_pipe", "depth", "centre", "sides"), PRINTED)
def test_marks_of_the_printed_cases(
    to_pipe: float, depth: float, centre: float, sides: tuple[float, float]
) -> None:
    """Fig. 5-49's case and two more worked by its table; inches from the near end."""
    (first, up, down, _), _ = saddle(depth, to_centre=to_pipe, side_deg=22.5)
    assert first + up == pytest.approx(centre, abs=0.02 * depth)
    # 2 1/2 for 1 / sin 22.5 is 0.113 an inch of depth short.
    assert first == pytest.approx(sides[0], abs=0.12 * depth + 0.05)
    assert first + up + down == pytest.approx(sides[1], abs=0.14 * depth + 0.05)


def test_saddle_of_60_degrees() -> None:
    """Hand-bender sheets: 2 inches an inch of depth to each side, 1/4 of shrink."""
    (first, up, down, _), _ = saddle(4.0, to_centre=20.0, side_deg=30.0)
    assert (up, down) == pytest.approx((8.0, 8.0), abs=0.03)
    assert first + up - 20.0 == pytest.approx(4 * math.tan(math.radians(15)), abs=0.03)
    assert first + up - 20.0 == pytest.approx(1.0, abs=0.1)
