"""What test bends say: against least squares of numpy, printed values and plain trials."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.tube.springback import (
    BendTest,
    OddTest,
    Springback,
    odd_angles,
    odd_lengths,
    springback,
    take_up,
    taken_up,
)

USUAL = (3.0, 0.03)
"""Prior 0 ± 3 degrees and 0 ± 0.03 of the angle: common practice, no source."""


def bends_of(*pairs: tuple[float, float]) -> list[BendTest]:
    return [BendTest(bent_deg=bent, got_deg=got) for bent, got in pairs]


def by_lstsq(tests: list[BendTest], sigma: float) -> tuple[np.ndarray, np.ndarray]:
    """Return constant and share with the prior as two rows more, and their covariance."""
    rows = [[1.0 / sigma, test.got_deg / sigma] for test in tests]
    right = [(test.bent_deg - test.got_deg) / sigma for test in tests]
    rows += [[1.0 / USUAL[0], 0.0], [0.0, 1.0 / USUAL[1]]]
    matrix, wanted = np.array(rows), np.array([*right, 0.0, 0.0])
    solution = np.linalg.lstsq(matrix, wanted, rcond=None)[0]
    # Birge's ratio, from memory: chi squared by degrees of freedom, where above 1
    ratio = max(1.0, float(np.sum((matrix @ solution - wanted) ** 2)) / len(tests))
    return solution, ratio * np.linalg.inv(matrix.T @ matrix)


@pytest.mark.parametrize(
    ("pairs", "sigma"),
    [
        ([(90, 86.5)], 1.0),
        ([(90, 86.5), (30, 27.5)], 1.0),
        ([(90, 86.5), (30, 27.5)], 0.25),
        ([(120, 112), (20, 18), (60, 57), (90, 85), (90, 86)], 2.0),
        ([(45, 46)], 0.5),
        ([(90, 87), (30, 28.5), (60, 40)], 1.0),
    ],
)
def test_constant_and_share_are_least_squares_with_what_is_usual(
    pairs: list[tuple[float, float]], sigma: float
) -> None:
    tests = bends_of(*pairs)
    found = springback(tests, spread_deg=sigma)
    assert found is not None
    (constant, share), covariance = by_lstsq(tests, sigma)
    assert found.constant_deg == pytest.approx(constant, abs=1e-9)
    assert found.share == pytest.approx(share, abs=1e-11)
    assert found.tests == len(pairs)
    for wanted in (10.0, 90.0, 150.0):
        row = np.array([1.0, wanted])
        assert found.held_deg(wanted) == pytest.approx(wanted + row @ (constant, share))
        assert found.spread_deg(wanted) == pytest.approx(
            math.sqrt(row @ covariance @ row), abs=1e-9
        )


def test_a_machine_builders_printed_example() -> None:
    """1.5 degrees fixed, 0.05 degrees a degree, 90 wanted: bend to 96 (an article)."""
    printed = Springback(constant_deg=1.5, share=0.05)
    assert printed.held_deg(90.0) == pytest.approx(96.0, abs=1e-12)


@pytest.mark.parametrize("held", [(20.0, 120.0), (30.0, 90.0)])
def test_what_springs_back_by_a_share_of_the_held_angle_is_met_exactly(
    held: tuple[float, float],
) -> None:
    """The article's two test bends; (90 + 1.5) / (1 - 0.05) = 96.3158 is the inverse.

    So many that they outweigh what is usual.
    """
    pairs = [(bent, bent - 1.5 - 0.05 * bent) for bent in held]
    found = springback(bends_of(*pairs) * 20_000, spread_deg=0.5)
    assert found is not None
    assert found.held_deg(90.0) == pytest.approx(96.3158, abs=1e-3)
    assert found.spread_deg(90.0) < 0.01


def test_the_held_angle_springs_back_to_the_wanted_one() -> None:
    """Trials by hand: 2 degrees and 3 % of what is got; held as told, each is got."""
    truth = [(got + 2.0 + 0.03 * got, got) for got in (15.0, 45.0, 90.0, 120.0)]
    found = springback(bends_of(*truth) * 5_000, spread_deg=1.0)
    assert found is not None
    for held, got in truth:
        assert found.held_deg(got) == pytest.approx(held, abs=0.01)


def test_without_a_test_bend_nothing_is_known() -> None:
    assert springback([], spread_deg=1.0) is None


def test_more_test_bends_leave_less_doubt() -> None:
    few = springback(bends_of((90, 86)), spread_deg=1.0)
    more = springback(bends_of((90, 86), (90, 86), (30, 28)), spread_deg=1.0)
    assert few is not None
    assert more is not None
    assert more.spread_deg(60.0) < few.spread_deg(60.0) < math.hypot(3.0, 60 * 0.03)


def bent_round(radius: float, got_deg: float, legs: float, share: float) -> BendTest:
    """Return a test bend whose arc took up a share of its length, drawn by hand.

    From the ends the straights are ``legs - R tan(a / 2)``.
    """
    angle = math.radians(got_deg)
    straights = 2.0 * (legs - radius * math.tan(angle / 2.0))
    return BendTest(
        bent_deg=got_deg + 3.0,
        got_deg=got_deg,
        blank=straights + share * radius * angle,
        legs=(legs, legs),
    )


def test_a_square_bend_takes_up_what_is_left_of_its_blank() -> None:
    """Radius 28: legs of 100 lose 28 each, so of a blank of 188 the bend took 44."""
    test = BendTest(bent_deg=93, got_deg=90, blank=188.0, legs=(100.0, 100.0))
    bare = BendTest(bent_deg=93, got_deg=90)
    taken = taken_up(test, radius=28.0, reading=0.5, spread_deg=1.0)
    assert taken is not None
    assert taken.length == pytest.approx(44.0)
    assert taken.arc == pytest.approx(43.98, abs=0.01)
    assert taken_up(bare, radius=28.0, reading=0.5, spread_deg=1.0) is None


@pytest.mark.parametrize("share", [0.94, 1.0, 1.07])
@pytest.mark.parametrize("got_deg", [30.0, 86.5, 120.0])
def test_many_measured_bends_tell_what_a_bend_takes_up(
    share: float, got_deg: float
) -> None:
    tests = [bent_round(28.0, got_deg, 100.0, share)] * 20_000
    found = take_up(tests, radius=28.0, reading=0.5, spread_deg=1.0)
    assert found.share == pytest.approx(share, abs=1e-3)


def test_what_a_bend_takes_up_is_least_squares_with_what_is_usual() -> None:
    """Prior 1 ± 0.1, common practice; three lengths read to 0.5 mm, the angle to 1°."""
    tests = [
        bent_round(28.0, 90.0, 100.0, 1.06),
        bent_round(28.0, 30.0, 100.0, 0.97),
        BendTest(bent_deg=60.0, got_deg=57.0),
    ]
    rows, right = [10.0], [10.0]
    for got_deg, share in ((90.0, 1.06), (30.0, 0.97)):
        arc = 28.0 * math.radians(got_deg)
        # by hand: d/da of 2 R tan(a / 2) - R a, at one degree off
        slope = 28.0 * (1.0 / math.cos(math.radians(got_deg / 2.0)) ** 2 - 1.0)
        sigma = math.hypot(math.sqrt(3.0) * 0.5, slope * math.radians(1.0))
        rows.append(arc / sigma)
        right.append(share * arc / sigma)
    matrix = np.array(rows).reshape(-1, 1)
    wanted = np.linalg.lstsq(matrix, np.array(right), rcond=None)[0][0]
    found = take_up(tests, radius=28.0, reading=0.5, spread_deg=1.0)
    assert found.share == pytest.approx(wanted, abs=1e-12)
    assert found.spread == pytest.approx(1.0 / np.linalg.norm(matrix), abs=1e-12)


def test_without_lengths_a_bend_takes_up_its_arc() -> None:
    found = take_up(bends_of((90, 86)), radius=28.0, reading=0.5, spread_deg=1.0)
    assert found.share == 1.0
    assert found.spread == pytest.approx(0.1)


def worst(tests: list[BendTest]) -> OddTest:
    return max(odd_angles(tests, spread_deg=1.0), key=lambda one: one.score)


def test_the_test_bend_that_contradicts_the_others_is_found() -> None:
    odd = worst(bends_of((90, 86), (30, 27.5), (90, 75), (60, 57)))
    assert odd.number == 3
    assert odd.score > 5.0
    assert worst(bends_of((90, 86), (30, 27.5), (90, 87), (60, 57))).score < 2.0


def test_a_single_test_bend_is_held_against_what_is_usual() -> None:
    """From 75 degrees: 0 ± 3, ± 0.03 of 75, ± 1 for the bend: 15 degrees are 3.9 off."""
    odd = worst(bends_of((90, 75)))
    by_hand = math.sqrt(3.0**2 + (0.03 * 75.0) ** 2 + 1.0**2)
    assert (odd.expected, odd.found) == (0.0, 15.0)
    assert odd.score == pytest.approx(15.0 / by_hand)
    assert list(odd_angles([], spread_deg=1.0)) == []


def test_a_blank_that_contradicts_the_others_is_found() -> None:
    """Two bends that took up their arcs, one that took half as much again, one bare."""
    tests = [
        bent_round(28.0, 90.0, 100.0, 1.0),
        bent_round(28.0, 60.0, 100.0, 1.5),
        BendTest(bent_deg=60.0, got_deg=57.0),
        bent_round(28.0, 90.0, 100.0, 1.01),
    ]
    found = list(odd_lengths(tests, radius=28.0, reading=0.5, spread_deg=1.0))
    assert [one.number for one in found] == [1, 2, 4]
    odd = max(found, key=lambda one: one.score)
    assert odd.number == 2
    assert odd.found == pytest.approx(1.5 * 28.0 * math.pi / 3.0)
    assert odd.expected == pytest.approx(28.0 * math.pi / 3.0, rel=0.01)
    assert odd.score > 5.0


def test_how_far_a_length_taken_up_lies_off() -> None:
    """Three readings of 0.5 mm are 0.87 mm; at 90° one degree moves 28 mm by 0.49 mm."""
    taken = taken_up(
        bent_round(28.0, 90.0, 100.0, 1.0), radius=28.0, reading=0.5, spread_deg=1.0
    )
    assert taken is not None
    assert taken.spread == pytest.approx(math.hypot(0.8660, 0.4887), abs=1e-4)
