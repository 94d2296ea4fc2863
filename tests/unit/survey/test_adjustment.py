"""Adjusted places against numpy's own least squares, closed forms and Monte Carlo."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loopsolver.errors import GeometryError
from loopsolver.geometry.vectors import AXES, Array
from loopsolver.survey.adjustment import Adjustment, adjust
from loopsolver.survey.network import Mark, Network, Observation, Station
from tests.builders.networks import (
    datum,
    height,
    levels,
    random_network,
    rise,
    with_errors,
)
from tests.full import few_or_all

CASES = few_or_all(range(3), range(50))

DRAWS = 40_000
"""By chance alone an entry is then off by 0.7 %, at most 1 %, of the spreads."""


def spread(found: Adjustment, name: str) -> float:
    return float(found.position_covariance(name)[2, 2] ** 0.5)


def test_each_repeat_counts() -> None:
    """Three readings of 1 mm leave 1/sqrt(3) mm (closed form); zero is taken off."""
    three = rise("datum", "shelf", 100.5, 101.5, 103.0, spread=1.0, zero=0.5)
    found = adjust(levels(["shelf"], three))
    assert found.position("shelf")[2] == pytest.approx(305.0 / 3.0 - 0.5, abs=1e-9)
    assert spread(found, "shelf") == pytest.approx(3.0**-0.5)
    assert found.freedom == 2


def test_twenty_repeats_are_as_one_reading_of_a_twentieth_of_the_variance() -> None:
    values = np.random.default_rng(5).normal(100.0, 1.0, size=20)
    other = rise("datum", "shelf", 99.0, spread=0.5, name="other")
    often = adjust(levels(["shelf"], rise("datum", "shelf", *values), other))
    once = rise("datum", "shelf", float(np.mean(values)), spread=20.0**-0.5)
    assert often.position("shelf") == pytest.approx(
        adjust(levels(["shelf"], once, other)).position("shelf")
    )
    away = np.append((values - often.position("shelf")[2]) / 1.0, 0.0)
    away[-1] = (99.0 - often.position("shelf")[2]) / 0.5
    assert often.misfit == pytest.approx(float(away @ away))
    assert often.freedom == 20


def test_port_from_port_is_known_better_than_both_from_a_corner() -> None:
    """Each from one corner: sqrt(2) s; directly: s. Both at once: s / sqrt(1.5)."""
    corner = [rise("datum", name, 0.0) for name in ("a", "b")]
    direct = rise("a", "b", 0.0)
    apart = adjust(levels("ab", *corner)).relative_covariance("a", "b")[2, 2]
    assert apart == pytest.approx(2.0)
    both = adjust(levels("ab", *corner, direct)).relative_covariance("a", "b")[2, 2]
    assert both == pytest.approx(1.0 / 1.5)


def test_a_straight_distance_and_two_coordinates_place_a_point() -> None:
    """5 from the datum, 3 along x and 0 along y: 4 up, on the side that it starts."""
    reads = [
        Observation(
            name=name, start="datum", goal="p", along=along, values=(value,), spread=1.0
        )
        for name, along, value in [
            ("x", AXES["+x"], 3.0),
            ("y", AXES["+y"], 0.0),
            ("slope", None, 5.0),
        ]
    ]
    for up in (1.0, -1.0):
        start = Station(name="p", start=(1.0, 1.0, up))
        found = adjust(Network(stations=(datum(), start), observations=tuple(reads)))
        assert found.position("p") == pytest.approx((3.0, 0.0, 4.0 * up), abs=1e-6)
        # d slope = (3 dx + 4 dz) / 5, so dz = (5 d slope - 3 dx) / 4
        assert spread(found, "p") == pytest.approx((25.0 + 9.0) ** 0.5 / 4.0)


def test_a_point_that_starts_level_with_its_only_distance_is_held_all_the_same() -> (
    None
):
    reads = (
        Observation(
            name="x",
            start="datum",
            goal="p",
            along=AXES["+x"],
            values=(3.0,),
            spread=1.0,
        ),
        Observation(
            name="slope", start="datum", goal="p", along=None, values=(5.0,), spread=1.0
        ),
    )
    start = Station(name="p", start=(3.0, 0.0, 0.0), free=(0, 2))
    found = adjust(Network(stations=(datum(), start), observations=reads))
    assert found.loose == ()
    assert abs(found.position("p")[2]) == pytest.approx(4.0, abs=1e-6)


def test_a_free_coordinate_is_named_with_all_that_moves_with_it() -> None:
    """Two shelves that only know of each other: apart they are held, together not."""
    held, pair = rise("datum", "low", 10.0), rise("mid", "high", 30.0, spread=2.0)
    found = adjust(levels(["low", "mid", "high"], held, pair))
    (loose,) = found.loose
    assert (loose.point, loose.axis) in {("mid", 2), ("high", 2)}
    assert set(loose.moves) == {("mid", 2), ("high", 2)}
    assert loose.moves[0] == (loose.point, loose.axis)
    assert spread(found, "low") == pytest.approx(1.0)
    assert np.isinf(spread(found, "mid"))
    assert np.isinf(spread(found, "high"))
    assert found.relative_covariance("mid", "high")[2, 2] == pytest.approx(4.0)
    rise_of_pair = found.position("high")[2] - found.position("mid")[2]
    assert rise_of_pair == pytest.approx(30.0)
    assert found.freedom == 0


def test_nothing_measured_at_all_leaves_everything_where_it_starts() -> None:
    found = adjust(
        Network(stations=(datum(), Station(name="p", start=(1.0, 2.0, 3.0))))
    )
    assert found.position("p") == (1.0, 2.0, 3.0)
    assert {(one.point, one.axis) for one in found.loose} == {
        ("p", n) for n in range(3)
    }
    assert found.freedom == 0
    assert found.scatter == 1.0


def test_a_reading_not_taken_yet_counts_for_nothing() -> None:
    reads = (rise("datum", "a", 10.0), rise("datum", "a", name="later"))
    found = adjust(levels("a", *reads))
    assert found.position("a")[2] == pytest.approx(10.0)
    assert [one.name for one in found.taken] == ["datum to a"]


@pytest.mark.parametrize("seed", range(5))
def test_what_is_left_of_a_network_with_loose_parts_is_held_as_before(
    seed: int,
) -> None:
    """Against the pseudo-inverse: what is estimable has the same covariance.

    Without any written x all parts can move along x together, at the least.
    """
    network = random_network(seed)
    kept = tuple(one for one in network.observations if "along 0" not in one.name)
    found = adjust(replace(network, observations=kept))
    assert len(found.adrift) > 0
    weighted = found.design / found.spreads[:, None]
    assert len(found.adrift) == len(found.unknowns) - np.linalg.matrix_rank(weighted)
    pseudo = np.linalg.pinv(weighted.T @ weighted, rcond=1e-10)
    for one in kept:  # whatever is read is estimable
        slope = found.slopes([one])[0]
        assert slope @ found.covariance @ slope == pytest.approx(
            slope @ pseudo @ slope, rel=1e-6
        )
        assert found.adrift @ slope == pytest.approx(0.0, abs=1e-9)


def monte_carlo(network: Network, random: np.random.Generator) -> Array:
    """Unknowns of many draws of errors, each solved afresh, (DRAWS, unknowns).

    Written for itself: places, lengths and slopes are laid down once more, a whole
    stack at a time; two steps from the truth leave less than a micrometre.
    """
    stands = {one.name: (one.name, np.zeros(3)) for one in network.stations}
    stands |= {one.name: (one.station, np.array(one.offset)) for one in network.marks}
    free = [one.name for one in network.stations if one.free]
    truth = np.concatenate([one.start for one in network.stations if one.free])
    found = np.tile(truth, (DRAWS, 1))
    count = np.array([len(one.values) for one in network.observations])
    sigma = np.array([one.spread for one in network.observations]) / np.sqrt(count)
    means = np.array([np.mean(one.values) for one in network.observations])
    read = means + sigma * random.normal(size=(DRAWS, len(means)))
    for _ in range(2):
        slopes = np.zeros((DRAWS, len(means), len(truth)))
        lengths = np.zeros((DRAWS, len(means)))
        for row, one in enumerate(network.observations):
            way = np.zeros((DRAWS, 3))
            columns = []
            for end, sign in ((one.start, -1.0), (one.goal, 1.0)):
                station, offset = stands[end]
                way += sign * offset
                if station in free:
                    first = 3 * free.index(station)
                    way += sign * found[:, first : first + 3]
                    columns.append((slice(first, first + 3), sign))
            if one.along is None:
                ahead = way / np.linalg.norm(way, axis=1, keepdims=True)
            else:
                ahead = np.tile(one.along, (DRAWS, 1))
            lengths[:, row] = np.sum(way * ahead, axis=1)
            for column, sign in columns:
                slopes[:, row, column] += sign * ahead
        weighted = slopes / sigma[:, None]
        turned = weighted.transpose(0, 2, 1)
        short = (turned @ ((read - lengths) / sigma)[:, :, None])[:, :, 0]
        found = found + np.linalg.solve(turned @ weighted, short[:, :, None])[:, :, 0]
    return found


@pytest.mark.parametrize("seed", CASES)
def test_stated_covariance_is_that_of_many_draws(seed: int) -> None:
    """Within 5 % of the spreads: variances, covariances, and one part from another."""
    network = random_network(seed, parts=3, more=6)
    found = adjust(network)
    drawn = np.cov(monte_carlo(network, np.random.default_rng(seed)), rowvar=False)
    scale = np.sqrt(np.diag(found.covariance))
    off = (drawn - found.covariance) / np.outer(scale, scale)
    assert np.max(np.abs(off)) < 0.05
    apart = found.relative_covariance("mark 0", "mark 1")
    rows = found.slopes_between("mark 0", "mark 1")
    apart_drawn = rows @ drawn @ rows.T
    assert np.diag(apart_drawn) ** 0.5 == pytest.approx(np.diag(apart) ** 0.5, rel=0.05)


@pytest.mark.parametrize("seed", range(8))
def test_places_are_those_of_another_solver(seed: int) -> None:
    from scipy.optimize import least_squares

    network = with_errors(random_network(seed), np.random.default_rng(seed))
    found = adjust(network)
    firm = {one.name: np.array(one.start) for one in network.stations if not one.free}
    free = [one.name for one in network.stations if one.free]
    stands = {one.name: (one.name, np.zeros(3)) for one in network.stations}
    stands |= {one.name: (one.station, np.array(one.offset)) for one in network.marks}

    def misses(flat: Array) -> list[float]:
        places = firm | dict(zip(free, flat.reshape(-1, 3), strict=True))

        def place(name: str) -> Array:
            station, offset = stands[name]
            return places[station] + offset

        told = []
        for one in network.observations:
            way = place(one.goal) - place(one.start)
            length = np.linalg.norm(way) if one.along is None else way @ one.along
            told += [float(length - value) / one.spread for value in one.values]
        return told

    start = np.concatenate([one.start for one in network.stations if one.free])
    other = least_squares(misses, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    places = np.concatenate([found.position(name) for name in free])
    assert places == pytest.approx(other.x, abs=1e-5)
    assert found.misfit == pytest.approx(2.0 * other.cost, rel=1e-9)
    assert found.freedom == len(other.fun) - len(start)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"start": "nowhere"}, "nowhere"),
        ({"spread": 0.0}, "above 0"),
        ({"values": (float("nan"),)}, "finite"),
        ({"along": (0.0, 0.0, 0.0)}, "above zero"),
    ],
)
def test_what_cannot_be_meant_is_refused(change: dict[str, Any], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        levels("a", replace(rise("datum", "a", 1.0), **change))


def test_points_of_one_name_and_marks_on_nothing_are_refused() -> None:
    with pytest.raises(GeometryError, match="2 points of the name 'a'"):
        levels("aa")
    loose = Mark(name="m", station="b", offset=(0.0, 0.0, 0.0))
    with pytest.raises(GeometryError, match="no station"):
        Network(stations=(datum(), height("a")), marks=(loose,))
