"""Levels of square routes, drawn in and eased, on gaps that are given in closed form."""

import numpy as np
import pytest

from loopsolver.routing.square.polish import (
    Vertices,
    eased,
    levels,
    polished,
    widened,
    with_level_moved,
)
from loopsolver.tolerances import DRAWN_IN

U_TURN: Vertices = (
    (0.0, 0.0, 0.0),
    (100.0, 0.0, 0.0),
    (100.0, 80.0, 0.0),
    (0.0, 80.0, 0.0),
)
"""Out along x by 100, aside by 80, and back."""

OFFSET: Vertices = (
    (0.0, 0.0, 0.0),
    (60.0, 0.0, 0.0),
    (60.0, 80.0, 0.0),
    (150.0, 80.0, 0.0),
)
"""Along x by 60, aside by 80, on along x by 90."""


def legs(route: Vertices) -> float:
    return float(np.abs(np.diff(route, axis=0)).sum())


def wide_gap(route: Vertices) -> float:
    return 1000.0


def test_level_of_a_u_turn_may_move_in_only() -> None:
    (level,) = levels(U_TURN, (45.0, 71.0, 60.0))
    assert (level.axis, level.first, level.last, level.inward) == (0, 1, 2, -1)
    assert (level.low, level.high) == (40.0, 0.0)


def test_level_of_an_offset_is_free_between_its_least_legs() -> None:
    (level,) = levels(OFFSET, (45.0, 71.0, 50.0))
    assert (level.axis, level.first, level.last, level.inward) == (0, 1, 2, 0)
    assert (level.low, level.high) == (15.0, 40.0)


def test_levels_from_the_other_end_are_the_same() -> None:
    (level,) = levels(OFFSET[::-1], (50.0, 71.0, 45.0))
    assert (level.low, level.high, level.inward) == (15.0, 40.0, 0)
    (turn,) = levels(U_TURN[::-1], (60.0, 71.0, 45.0))
    assert (turn.low, turn.high, turn.inward) == (40.0, 0.0, -1)


def test_level_entered_against_the_axis_moves_in_upwards() -> None:
    mirrored: Vertices = tuple((-x, y, z) for x, y, z in U_TURN)
    (level,) = levels(mirrored, (45.0, 71.0, 60.0))
    assert (level.low, level.high, level.inward) == (0.0, 40.0, 1)


def test_moved_takes_a_level_along_its_axis_alone() -> None:
    (level,) = levels(U_TURN, (45.0, 71.0, 60.0))
    route = with_level_moved(U_TURN, level, -12.5)
    assert route == (U_TURN[0], (87.5, 0.0, 0.0), (87.5, 80.0, 0.0), U_TURN[3])


def test_u_turn_is_drawn_in_to_its_longer_least_leg() -> None:
    route = polished(
        U_TURN, least_legs=(45.0, 71.0, 60.0), gap_of=wide_gap, clearance=3.0
    )
    assert legs(route) == pytest.approx(60.0 + 80.0 + 60.0)


@pytest.mark.parametrize("face", [66.0, 70.2, 83.33, 99.9])
def test_u_turn_is_drawn_in_to_the_touch(face: float) -> None:
    """Something whose far face is at `face`: the level may come to 3 mm beyond."""

    def gap_of(route: Vertices) -> float:
        return route[1][0] - face

    route = polished(
        U_TURN, least_legs=(45.0, 71.0, 60.0), gap_of=gap_of, clearance=3.0
    )
    level = max(min(face + 3.0, 100.0), 60.0)
    assert level - 1e-6 <= route[1][0] <= level + DRAWN_IN
    assert gap_of(route) >= 3.0 - 1e-6 or route == U_TURN


def test_thin_obstacle_is_not_jumped() -> None:
    """A sheet at 80 that asks for 1 mm either side: beyond it there would be room."""

    def gap_of(route: Vertices) -> float:
        return 2.0 + abs(route[1][0] - 80.0)

    route = polished(
        U_TURN, least_legs=(45.0, 71.0, 60.0), gap_of=gap_of, clearance=3.0
    )
    assert route[1][0] == pytest.approx(81.0, abs=DRAWN_IN)


def test_touching_elsewhere_holds_nothing_up() -> None:
    """Part of the tube that lies at its clearance, short of it by rounding."""

    def gap_of(route: Vertices) -> float:
        return 3.0 - 4e-15

    route = polished(
        U_TURN, least_legs=(45.0, 71.0, 60.0), gap_of=gap_of, clearance=3.0
    )
    assert legs(route) == pytest.approx(200.0)


def test_drawing_one_level_in_makes_room_for_another() -> None:
    """A spiral: the second level is held until the first has been drawn in."""
    spiral: Vertices = (
        (0.0, 0.0, 0.0),
        (100.0, 0.0, 0.0),
        (100.0, 100.0, 0.0),
        (20.0, 100.0, 0.0),
        (20.0, 50.0, 0.0),
    )

    def gap_of(route: Vertices) -> float:
        # Its corner (100, 100) may not be nearer to the diagonal than this.
        return 3.0 + (route[2][1] - route[2][0] + 30.0)

    least = (30.0, 20.0, 20.0, 20.0)
    route = polished(spiral, least_legs=least, gap_of=gap_of, clearance=3.0)
    # x may come down to 40 (20 + 20), y to 70 (50 + 20), and y - x stays above -30.
    assert route[1][0] == pytest.approx(40.0, abs=2 * DRAWN_IN)
    assert route[2][1] == pytest.approx(70.0, abs=2 * DRAWN_IN)


def test_free_level_goes_where_the_gap_is_larger_at_the_same_length() -> None:
    """Best at 80 of 45 to 100; eight places are compared, so within a step of it."""

    def gap_of(route: Vertices) -> float:
        return 20.0 - abs(route[1][0] - 80.0)

    route = eased(OFFSET, least_legs=(45.0, 71.0, 50.0), gap_of=gap_of, clearance=3.0)
    assert gap_of(route) > gap_of(OFFSET) + 5.0
    assert legs(route) == pytest.approx(legs(OFFSET))


def test_free_level_does_not_slide_through_what_is_in_the_way() -> None:
    """Between 65 and 75 nothing may be; beyond it the gap would be larger."""

    def gap_of(route: Vertices) -> float:
        at = route[1][0]
        return 1.0 if 65.0 < at < 75.0 else (50.0 if at >= 75.0 else 10.0)

    route = eased(OFFSET, least_legs=(45.0, 71.0, 50.0), gap_of=gap_of, clearance=3.0)
    assert route[1][0] < 65.0


def test_u_turn_is_left_alone_by_easing() -> None:
    assert (
        eased(U_TURN, least_legs=(45.0, 71.0, 60.0), gap_of=wide_gap, clearance=3.0)
        == U_TURN
    )


@pytest.mark.parametrize(
    ("route", "least_legs", "room"),
    [
        (OFFSET, (45.0, 71.0, 50.0), (61.3, 61.5)),
        (OFFSET, (45.0, 71.0, 50.0), (58.1, 58.2)),
        (U_TURN, (45.0, 71.0, 60.0), (98.0, 99.2)),
        (U_TURN, (45.0, 71.0, 60.0), (100.7, 100.8)),
    ],
)
def test_level_goes_into_a_narrow_room_to_either_side(
    route: Vertices, least_legs: tuple[float, ...], room: tuple[float, float]
) -> None:
    def gap_of(trial: Vertices) -> float:
        return 3.0 - max(room[0] - trial[1][0], trial[1][0] - room[1], 0.0)

    wide = widened(route, least_legs=least_legs, gap_of=gap_of, clearance=3.0, most=1.0)
    assert room[0] - 1e-6 <= wide[1][0] <= room[1] + 1e-6
    assert wide[1][0] == wide[2][0]


def test_level_stays_where_its_legs_are_least_though_no_room_is_there() -> None:
    def gap_of(trial: Vertices) -> float:
        return 3.0 - max(trial[1][0] - 40.0, 0.0)

    wide = widened(
        OFFSET, least_legs=(45.0, 71.0, 50.0), gap_of=gap_of, clearance=3.0, most=1.0
    )
    assert wide[1][0] == pytest.approx(45.0)
