"""How parallel tubes run, against figures from closed forms."""

import math

import pytest

from loopsolver.routing.loop.parallels import side_by_side
from loopsolver.tube.centreline import Centreline

OD = 10.0


def tube(*vertices: tuple[float, float, float], radius: float = 15.0) -> Centreline:
    return Centreline(
        vertices=tuple((float(x), float(y), float(z)) for x, y, z in vertices),
        radius=radius,
    )


def measured(*tubes: Centreline) -> tuple[float, float]:
    found = side_by_side(tubes, outer_diameter=OD)
    return found.length, found.even


def test_two_straights_overlap_over_what_both_reach() -> None:
    one = tube((0, 0, 0), (100, 0, 0))
    two = tube((20, 30, 0), (150, 30, 0))  # beside it from 20 to 100
    assert measured(one, two) == pytest.approx((80.0, 0.0))
    assert side_by_side([one, two], outer_diameter=OD).figure == pytest.approx(40.0)


def test_the_direction_of_travel_does_not_matter() -> None:
    one = tube((0, 0, 0), (100, 0, 0))
    two = tube((150, 0, 30), (20, 0, 30))
    assert measured(one, two) == pytest.approx((80.0, 0.0))


def test_three_in_a_row_are_evenly_spaced() -> None:
    row = [tube((0, y, 0), (100, y, 0)) for y in (0, 25, 50)]
    # 0 to 25 and 25 to 50; 50 apart is more than four diameters.
    assert measured(*row) == pytest.approx((200.0, 200.0))


@pytest.mark.parametrize(
    ("second", "even"), [(25.0, 200.0), (25.9, 200.0), (27.0, 0.0)]
)
def test_spacing_is_even_within_a_millimetre(second: float, even: float) -> None:
    row = [tube((0, y, 0), (100, y, 0)) for y in (0.0, 25.0, 25.0 + second)]
    assert measured(*row) == pytest.approx((200.0, even))


def test_two_tubes_round_a_corner_count_their_straights_but_not_their_bends() -> None:
    inner = tube((0, 0, 0), (100, 0, 0), (100, 100, 0))
    outer = tube((0, -30, 0), (130, -30, 0), (130, 100, 0))
    # Straights of the inner one: 0 to 85 along x, 15 to 100 along y; the outer one's
    # reach 0 to 115 and -15 to 100: 85 side by side either way, both 30 apart.
    assert measured(inner, outer) == pytest.approx((170.0, 170.0))


@pytest.mark.parametrize(
    "other",
    [
        tube((0, 40.1, 0), (100, 40.1, 0)),  # further than four diameters
        tube((100, 20, 0), (200, 20, 0)),  # begins where the other one ends
        tube((50, -50, 20), (50, 50, 20)),  # across
        tube((0, 20, 0), (100, 20 + 100 * math.tan(math.radians(1.1)), 0)),  # askew
        tube((110, 0, 0), (200, 0, 0)),  # in line
    ],
)
def test_what_does_not_count(other: Centreline) -> None:
    assert measured(tube((0, 0, 0), (100, 0, 0)), other) == (0.0, 0.0)


def test_what_is_hardly_askew_counts_at_its_mean_spacing() -> None:
    lean = math.tan(math.radians(0.9))
    straight = tube((0, 0, 0), (100, 0, 0))
    leaning = tube((0, 20, 0), (100, 20 + 100 * lean, 0))
    # At mid length 20 + 50 * lean = 20.79: even with a pair 21.5 apart, which it is
    # not at its beginning (20.0).
    pair = [tube((0, 0, 300), (60, 0, 300)), tube((0, 21.5, 300), (60, 21.5, 300))]
    length, even = measured(straight, leaning, *pair)
    assert length == pytest.approx(160.0, abs=0.3)
    assert even == length


def test_one_tube_runs_beside_nothing() -> None:
    hairpin = tube((0, 0, 0), (100, 0, 0), (100, 30, 0), (0, 30, 0))
    assert measured(hairpin) == (0.0, 0.0)
    assert measured() == (0.0, 0.0)
