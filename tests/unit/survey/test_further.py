"""What one reading more would do, against adjusting anew with it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.geometry.vectors import AXES
from loopsolver.survey.adjustment import Adjustment, adjust
from loopsolver.survey.further import (
    gains,
    holding,
    in_order,
    most_helpful,
    possible,
    settling,
)
from loopsolver.survey.network import Network, Observation, Station
from loopsolver.survey.reliability import adjust_without, judged
from tests.builders.networks import datum, levels, random_network, rise

PAIRS = [("mark 0", "mark 1"), ("mark 2", "mark 3")]


def known(found: Adjustment) -> float:
    """How far off the pairs are: root of the mean of their variances in space."""
    traces = [np.trace(found.relative_covariance(*pair)) for pair in PAIRS]
    return math.sqrt(np.mean(traces))


def added(found: Adjustment, *more: Observation) -> Adjustment:
    lengths = found.lengths(more).tolist()
    read = [replace(one, values=(length,)) for one, length in zip(more, lengths)]  # noqa: B905
    network = found.network
    return adjust(replace(network, observations=(*network.observations, *read)))


@pytest.mark.parametrize("seed", range(3))
def test_gains_are_those_of_adjusting_anew(seed: int) -> None:
    found = adjust(random_network(seed))
    candidates = list(possible(found, [f"mark {n}" for n in range(4)], spread=0.5))
    told = gains(found, candidates, pairs=PAIRS)
    assert {one.observation for one in told} == set(candidates)
    for gain in told:
        assert gain.before == pytest.approx(known(found))
        assert gain.after == pytest.approx(known(added(found, gain.observation)))
    after = [gain.after for gain in told]
    assert after == pytest.approx(sorted(after))
    best = most_helpful(found, candidates, pairs=PAIRS)
    assert best == told[0]


def test_in_order_each_helps_most_after_those_before() -> None:
    found = adjust(random_network(2))
    candidates = list(possible(found, [f"mark {n}" for n in range(4)], spread=0.5))
    told = in_order(found, candidates, pairs=PAIRS, most=4)
    for gain in told:
        left = [known(added(found, one)) for one in candidates]
        assert known(found) == pytest.approx(gain.before)
        assert min(left) == pytest.approx(gain.after)
        found = added(found, gain.observation)
        candidates.remove(gain.observation)


def test_what_can_be_measured_reads_above_nothing() -> None:
    found = adjust(random_network(3))
    names = ["datum", *(f"mark {n}" for n in range(4))]
    told = list(possible(found, names, spread=0.5))
    assert len(told) == 10 * 4
    assert np.all(found.lengths(told) >= 0.0)
    assert len({one.name for one in told}) == len(told)


def test_what_nothing_holds_comes_first_and_is_told_by_what_would_hold_it() -> None:
    """A point known along x and y: a height of it is more than any repeat of x."""
    reads = tuple(
        Observation(
            name=axis,
            start="datum",
            goal="p",
            along=AXES[axis],
            values=(10.0,),
            spread=1.0,
        )
        for axis in ("+x", "+y")
    )
    start = Station(name="p", start=(10.0, 10.0, 5.0))
    found = adjust(Network(stations=(datum(), start), observations=reads))
    candidates = list(possible(found, ["datum", "p"], spread=1.0))
    best = most_helpful(found, candidates, pairs=[("datum", "p")])
    assert best is not None
    assert math.isinf(best.before)
    assert best.observation.name == "datum to p along z"
    ((straight, height),) = holding(found, candidates)
    assert (straight.along, height.along) == (None, AXES["+z"])


@pytest.mark.parametrize("height", [160.0, 140.0])
def test_the_reading_that_settles_tells_the_suspects_apart(height: float) -> None:
    """A ring that does not close by 10, either way: the best tells most, by each left out.

    Whichever of the three is left out, the other two place a and b; what a candidate
    would read then differs most, against its own spread, for the one that is best.
    """
    last = rise("datum", "b", height, spread=0.7)
    ring = (rise("datum", "a", 100.0), rise("a", "b", 50.0), last)
    found = adjust(levels("ab", *ring))
    (suspicion,) = judged(found).suspicions
    candidates = list(possible(found, ["datum", "a", "b"], spread=1.0))
    best = settling(found, suspicion, candidates)
    assert best is not None
    apart = {}
    for one in candidates:
        reads = [
            adjust_without(found, blame).lengths([one])[0] for blame in suspicion.blames
        ]
        slope = found.slopes([one])[0]
        apart[one] = np.ptp(reads) / math.sqrt(1.0 + slope @ found.covariance @ slope)
    assert apart[best] == pytest.approx(max(apart.values()))


def test_nothing_settles_what_no_candidate_tells_apart() -> None:
    """Two repeats that differ: only a third would tell, and it is not offered."""
    found = adjust(
        levels("ab", rise("datum", "a", 100.0, 110.0), rise("datum", "b", 9.0))
    )
    (suspicion,) = judged(found).suspicions
    others = [rise("datum", "b", name="b once more")]
    assert settling(found, suspicion, others) is None
    assert settling(found, suspicion, []) is None
    again = rise("datum", "a", name="a once more")
    assert settling(found, suspicion, [*others, again]) == again
