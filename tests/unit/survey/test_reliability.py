"""Alarms, and how often: Baarda's limits, Monte Carlo and closed forms."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from loopsolver.survey.adjustment import Adjustment, adjust
from loopsolver.survey.chances import CRITICAL
from loopsolver.survey.network import Network, Observation, Station
from loopsolver.survey.reliability import (
    Suspicion,
    adjust_without,
    blames,
    checks,
    correction,
    judged,
    unchecked,
)
from tests.builders.networks import (
    at_truth,
    levels,
    random_network,
    rise,
    with_errors,
)
from tests.full import few_or_all

SEEDS = few_or_all(range(4), range(25))

DRAWS = 200
"""For each network: of 800 draws in all 80 % come out within 1.4 %, one spread."""


def names(suspicion: Suspicion) -> set[str]:
    return {one.observation.name for one in suspicion.blames}


def longer(network: Network, number: int, by: float) -> Network:
    """The network with all values of one observation longer."""
    observations = list(network.observations)
    one = observations[number]
    observations[number] = replace(one, values=tuple(v + by for v in one.values))
    return replace(network, observations=tuple(observations))


@cache
def drawn_with_a_blunder(size: float) -> list[tuple[str, Adjustment]]:
    """Draws with one blunder of `size` s / sqrt(r) each: whose it is, and what comes."""
    told = []
    for seed in SEEDS:
        network, random = random_network(seed), np.random.default_rng(1000 + seed)
        shares = adjust(network).redundancies
        able = np.flatnonzero(shares > 0.2)
        for _ in range(DRAWS):
            number = int(random.choice(able))
            one = network.observations[number]
            mean_spread = one.spread / math.sqrt(len(one.values))
            by = random.choice([-1.0, 1.0]) * size * mean_spread / shares[number] ** 0.5
            drawn = longer(with_errors(network, random), number, by)
            told.append((one.name, adjust(drawn)))
    return told


@pytest.mark.parametrize(("size", "power"), [(4.132, 0.80), (4.935, 0.95)])
def test_blunders_raise_the_alarm_as_often_as_stated(size: float, power: float) -> None:
    """Baarda's delta0 for 80 and 95 % at 0.1 %: 3.2905 + 0.8416 and + 1.6449.

    The observation's own test alarms as often as that; some other's may as well.
    """
    every = drawn_with_a_blunder(size)
    own = [
        next(one for one in checks(found) if one.observation.name == name).score
        for name, found in every
    ]
    spread = math.sqrt(power * (1.0 - power) / len(every))
    rate = float(np.mean(np.array(own) > CRITICAL))
    assert rate == pytest.approx(power, abs=4.0 * spread)
    alarmed = [bool(judged(found).suspicions) for _, found in every]
    assert np.mean(alarmed) >= rate


@pytest.mark.parametrize("size", [4.132, 4.935])
def test_a_blunder_that_alarms_stands_among_those_not_told_apart(size: float) -> None:
    """The likeliest of them is it less often: that is what the list is for."""
    first, listed, alarms = 0, 0, 0
    for name, found in drawn_with_a_blunder(size):
        suspicions = judged(found).suspicions
        if suspicions:
            alarms += 1
            first += suspicions[0].blames[0].observation.name == name
            listed += name in names(suspicions[0])
    assert listed / alarms > 0.97
    assert first < listed


def test_false_alarms_are_as_rare_as_stated() -> None:
    """One in 1000 of the observations' tests, counts within four spreads of Poisson's."""
    alarms, tests = 0, 0
    for seed in SEEDS:
        network, random = random_network(seed), np.random.default_rng(seed)
        for _ in range(DRAWS):
            told = checks(adjust(with_errors(network, random)))
            alarms += sum(one.score > CRITICAL for one in told)
            tests += len(told)
    expected = 0.001 * tests
    assert abs(alarms - expected) < 4.0 * math.sqrt(expected)


@pytest.mark.parametrize("seed", range(3))
def test_redundancy_numbers_sum_up_to_what_is_to_spare(seed: int) -> None:
    network = random_network(seed)
    found = adjust(network)
    rows, unknowns = len(network.observations), len(found.unknowns)
    assert np.sum(found.redundancies) == pytest.approx(rows - unknowns)


@pytest.mark.parametrize("seed", range(3))
def test_estimated_blunder_is_what_the_others_leave_of_it(seed: int) -> None:
    """Left out, an observation differs from what the others give by the blunder told.

    So does a single value of several. And the places go where `correction` says. With
    errors of a hundredth of a millimetre distances do not bend.
    """
    random, network = np.random.default_rng(seed), random_network(seed)
    fine = (replace(one, spread=one.spread / 100.0) for one in network.observations)
    exact = replace(network, observations=tuple(fine))
    found = adjust(with_errors(exact, random))
    every = blames(found)
    assert {one.value is None for one in every} == {True, False}
    for blame in every:
        others = adjust_without(found, blame)
        values = blame.observation.values
        read = values[blame.value] if blame.value is not None else np.mean(values)
        off = read - others.lengths([blame.observation])[0]
        assert off == pytest.approx(blame.too_long, rel=1e-3)
        free = [bool(one.free) for one in found.network.stations]
        moved = (others.places - found.places)[free].ravel()
        assert moved == pytest.approx(correction(found, blame), rel=1e-2, abs=1e-5)
        lowered = found.misfit - others.misfit
        own = values if blame.value is None else ()  # what repeats differ goes, too
        among = (
            float(np.var(own) * len(own)) / blame.observation.spread**2 if own else 0.0
        )
        assert lowered == pytest.approx(blame.score**2 + among, rel=1e-3, abs=1e-3)


def test_three_repeats_show_an_outlier_by_the_stated_spread_alone() -> None:
    """100, 100, 110: no z above 1.1547 (Shiffler 1988), so 2 spreads never alarm.

    With the stated spread of 1 mm it is w = (20 / 3) / sqrt(2 / 3) = 8.165.
    """
    values = np.array([100.0, 100.0, 110.0])
    z = (values - values.mean()) / values.std(ddof=1)
    assert max(abs(z)) == pytest.approx(1.1547, abs=5e-5)
    found = adjust(levels("a", rise("datum", "a", *values, name="height")))
    (suspicion,) = judged(found).suspicions
    (blame,) = suspicion.blames
    assert (blame.observation.name, blame.value) == ("height", 2)
    assert blame.too_long == pytest.approx(10.0)
    assert blame.score == pytest.approx(8.165, abs=5e-4)


def test_four_repeats_have_no_score_of_their_own_above_one_and_a_half() -> None:
    """(n - 1) / sqrt(n) for n = 4 (Shiffler 1988); ours is not held to it."""
    values = np.array([100.0, 100.0, 100.0, 110.0])
    z = (values - values.mean()) / values.std(ddof=1)
    assert max(abs(z)) == pytest.approx(1.5)
    found = adjust(levels("a", rise("datum", "a", *values)))
    assert judged(found).suspicions[0].blames[0].value == 3


def test_even_where_dixon_sees_nothing_the_stated_spread_does() -> None:
    """Q = gap / range = 9 / 10 is below the 5 % limit for n = 3, 0.941."""
    found = adjust(levels("a", rise("datum", "a", 100.0, 101.0, 110.0)))
    assert (110.0 - 101.0) / (110.0 - 100.0) < 0.941
    assert judged(found).suspicions[0].blames[0].value == 2


def test_two_repeats_that_differ_cannot_be_told_apart() -> None:
    found = adjust(levels("a", rise("datum", "a", 100.0, 110.0)))
    (suspicion,) = judged(found).suspicions
    assert {one.value for one in suspicion.blames} == {0, 1}


def test_a_wrong_zero_of_all_repeats_shows_in_other_readings_alone() -> None:
    often = rise("datum", "a", 95.0, 95.0, 95.0, name="often")
    assert judged(adjust(levels("a", often))).suspicions == ()
    others = [rise("datum", "a", 100.0, name=f"other {number}") for number in range(4)]
    (suspicion,) = judged(adjust(levels("a", often, *others))).suspicions
    assert suspicion.blames[0].observation is often
    assert suspicion.blames[0].value is None
    assert suspicion.blames[0].too_long == pytest.approx(-5.0)


def test_in_a_closed_ring_no_reading_can_be_told_from_another() -> None:
    """One to spare: the misclosure of 10 is anybody's (every w is the same)."""
    ring = (
        rise("datum", "a", 100.0),
        rise("a", "b", 50.0, spread=2.0),
        rise("b", "datum", -160.0),
    )
    found = adjust(levels("ab", *ring))
    scores = [one.score for one in checks(found)]
    assert scores == pytest.approx([10.0 / math.sqrt(6.0)] * 3)
    (suspicion,) = judged(found).suspicions
    assert names(suspicion) == {one.name for one in ring}
    assert {round(one.too_long, 6) for one in suspicion.blames} == {-10.0}


@pytest.mark.parametrize(("times", "alarms"), [(3.28, 0), (3.30, 1)])
def test_the_alarm_is_raised_at_one_in_a_thousand(times: float, alarms: int) -> None:
    """Two readings of 1 mm that differ by so many spreads of their difference: 3.2905."""
    off = times * math.sqrt(2.0)
    reads = (rise("datum", "a", 100.0), rise("datum", "a", 100.0 + off, name="again"))
    assert len(judged(adjust(levels("a", *reads))).suspicions) == alarms


def test_a_chain_without_redundancy_alarms_never_and_checks_nothing() -> None:
    chain = (rise("datum", "a", 100.0), rise("a", "b", 1e6))
    found = adjust(levels("ab", *chain))
    assert found.freedom == 0
    for one in checks(found):
        assert (one.redundancy, one.score) == (0.0, 0.0)
        assert math.isinf(one.least_seen)
    assert judged(found).suspicions == ()
    assert judged(found).scatter is None
    assert unchecked(found, "b") == ((), (), chain)
    assert unchecked(found, "a") == ((), (), chain[:1])
    assert unchecked(found, "b", start="a") == ((), (), chain[1:])


def test_what_two_readings_hold_is_checked() -> None:
    twice = (rise("datum", "a", 100.0), rise("datum", "a", 101.0, name="again"))
    found = adjust(levels("ab", *twice, rise("a", "b", 5.0)))
    assert unchecked(found, "a") == ((), (), ())
    assert [one.name for one in unchecked(found, "b")[2]] == ["a to b"]
    seen = [one.least_seen for one in checks(found)[:2]]
    assert seen == pytest.approx([4.132 * math.sqrt(2.0)] * 2, abs=1e-3)


def scattered(times: float, *, blunder: float = 0.0) -> Adjustment:
    """A shelf read forty times afresh, with errors of so many stated spreads."""
    errors = times * np.random.default_rng(11).normal(size=40)
    errors[7] += blunder
    reads = [
        rise("datum", "a", 100.0 + error, name=f"reading {number}")
        for number, error in enumerate(errors)
    ]
    return adjust(levels("a", *reads))


def test_readings_that_scatter_twice_as_much_are_no_blunders() -> None:
    told = judged(scattered(2.0))
    assert told.suspicions == ()
    assert told.scatter is not None
    assert 1.5 < told.scatter < 2.5


def test_readings_that_scatter_as_stated_are_not_told_of() -> None:
    told = judged(scattered(1.0))
    assert (told.suspicions, told.scatter) == ((), None)


def test_a_blunder_does_not_count_as_scatter() -> None:
    told = judged(scattered(1.0, blunder=12.0))
    assert [one.blames[0].observation.name for one in told.suspicions] == ["reading 7"]
    assert told.scatter is None


def test_a_blunder_stands_out_of_a_scatter_that_is_larger_than_stated() -> None:
    told = judged(scattered(2.0, blunder=30.0))
    assert [one.blames[0].observation.name for one in told.suspicions] == ["reading 7"]
    assert told.scatter is not None
    assert 1.5 < told.scatter < 2.5


def test_two_blunders_are_found_one_after_the_other() -> None:
    network = scattered(1.0, blunder=12.0).network
    told = judged(adjust(longer(network, 20, -15.0)))
    found = {one.blames[0].observation.name for one in told.suspicions}
    assert found == {"reading 7", "reading 20"}
    assert told.scatter is None


def test_nine_tape_distances_with_a_blunder_of_ten_millimetres() -> None:
    """Two ports, nine distances from corners of a case, 0.7 mm: f = 3.

    Such a blunder alarms in nearly every case; the likeliest is the right one less
    often, and the list holds it.
    """
    corners = [(0, 0, 0), (200, 0, 0), (0, 440, 0), (0, 0, 410)]
    ports = {"one": (60.0, 300.0, 100.0), "two": (150.0, 120.0, 300.0)}
    ends = [(f"corner {n}", port) for n in range(4) for port in ports]
    stations = [
        Station(name=f"corner {n}", start=corner, free=())
        for n, corner in enumerate(corners)
    ]
    stations += [Station(name=name, start=place) for name, place in ports.items()]
    tape = tuple(
        Observation(
            name=f"{a} to {b}", start=a, goal=b, along=None, values=(0.0,), spread=0.7
        )
        for a, b in [*ends, ("one", "two")]
    )
    network = at_truth(Network(stations=tuple(stations), observations=tape))
    assert adjust(network).freedom == 3
    random = np.random.default_rng(3)
    alarms = first = listed = 0
    for _ in range(200):
        number = int(random.integers(9))
        drawn = longer(with_errors(network, random), number, 10.0)
        suspicions = judged(adjust(drawn)).suspicions
        if suspicions:
            alarms += 1
            blamed = suspicions[0]
            first += blamed.blames[0].observation.name == tape[number].name
            listed += tape[number].name in names(blamed)
    assert alarms >= 190
    assert first < alarms
    assert listed >= 0.95 * alarms
