"""Which of many routes are drawn together: the best free ones and the nearly free."""

from collections.abc import Iterator
from itertools import islice

import numpy as np
import pytest

from loopsolver.routing.angled.shortlist import Shortlist, lacking, shortlist
from loopsolver.routing.effort import USUAL
from loopsolver.tolerances import SAME_WAY_ROUND as CLOSE
from tests.property.known_routes import KINDS, known_run
from tests.property.laid_tubes import Tube, least_gap_of
from tests.unit.routing.touching import Array

EFFORT = USUAL.shortlist


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_what_is_lacking_is_what_the_gap_lacks(kind) -> None:
    """To the accuracy of the grid; a route that is free lacks next to nothing."""
    seen = 0
    for seed in range(6):
        known = known_run(kind, seed)
        rng = np.random.default_rng(seed)
        moves = rng.normal(0.0, 4.0, (30, *known.vertices.shape))
        moves[0] = 0.0
        moves[:, [0, -1]] = 0.0
        routes = known.vertices + moves
        lacks = lacking(known.problem, routes, worth=np.zeros(len(routes)))
        assert lacks[0] < 2.5
        for route, lack in zip(routes, lacks, strict=True):
            tube = Tube(vertices=route, radius=28.0)
            least = np.full(len(tube.straights), 15.0)
            least[[0, -1]] = 17.0
            short = (least - tube.straights).max()
            gap = known.problem.clearance - least_gap_of(tube, known.problem, apart=1.0)
            exact = max(short, gap, 0.0)
            if np.isfinite(lack):
                seen += 1
                assert lack == pytest.approx(exact, abs=2.5)
            else:
                assert exact > EFFORT.most_lacking - 2.5
    assert seen > 40


def some_routes(count: int, spread: float) -> Array:
    rng = np.random.default_rng(2)
    routes = np.zeros((count, 4, 3))
    routes[:, 1:3] = rng.uniform(0.0, spread, (count, 2, 3))
    return routes


def listed(routes: Array, *, worth: Array, lacks: Array) -> Shortlist:
    return shortlist(routes, worth=worth, lacks=lacks, effort=EFFORT)


def every(some: Shortlist) -> Iterator[Array]:
    while (taken := some.next()) is not None:
        number, some = taken
        yield some.routes[number]


def test_free_and_nearly_free_take_turns_each_best_first() -> None:
    routes = some_routes(400, 2000.0)
    rng = np.random.default_rng(4)
    worth = rng.uniform(200.0, 900.0, len(routes))
    lacks = rng.choice([0.0, 1.0, np.inf], len(routes))
    chosen = [
        int(np.flatnonzero((routes == r).all(axis=(1, 2)))[0])
        for r in islice(every(listed(routes, worth=worth, lacks=lacks)), 12)
    ]
    assert (lacks[chosen[::2]] == 0.0).all()
    assert (lacks[chosen[1::2]] == 1.0).all()
    for which in (chosen[::2], chosen[1::2]):
        assert (np.diff(worth[which]) > 0.0).all()
    # Nothing better of its sort was passed over, but for what is close by.
    best = min(worth[lacks == 0.0])
    assert worth[chosen[0]] == best


def test_each_is_another_way_round_before_those_between() -> None:
    routes = some_routes(500, 150.0)
    worth = np.arange(500.0)
    taken = list(every(listed(routes, worth=worth, lacks=np.zeros(500))))
    close = [
        min((np.abs(r - other).max() for other in taken[:number]), default=np.inf)
        for number, r in enumerate(taken)
    ]
    first_close = next(n for n, apart in enumerate(close) if apart <= CLOSE)
    assert first_close > 3
    assert all(apart <= CLOSE for apart in close[first_close:])
    assert min(close) > CLOSE / 3.0


def test_nothing_to_offer() -> None:
    none = np.empty((0, 4, 3))
    assert not list(every(listed(none, worth=np.empty(0), lacks=np.empty(0))))
    routes = some_routes(5, 100.0)
    assert not list(every(listed(routes, worth=np.ones(5), lacks=np.full(5, np.inf))))


def test_after_a_failure_the_freest_close_by_comes_next() -> None:
    near = np.array([0.0, 5.0, 9.0, 12.0, 400.0])
    routes = np.zeros((5, 4, 3))
    routes[:, 1, 0] = near
    worth = np.array([200.0, 210.0, 205.0, 220.0, 300.0])
    lacks = np.array([0.2, 0.1, 0.05, 0.05, 0.0])
    some = listed(routes, worth=worth, lacks=lacks)
    # The best; the freest within CLOSE of it, the better of two; nothing freer is left
    # there, so then another way round; and the two that were passed over are too close.
    seen = []
    for _ in range(3):
        taken = some.next()
        assert taken is not None
        number, some = taken
        seen.append(some.routes[number][1, 0])
        some = some.freer_than(number)
    assert seen == [0.0, 9.0, 400.0]


def test_what_was_passed_over_is_offered_between() -> None:
    near = np.array([0.0, 12.0, 5.0, 20.0, 400.0])
    routes = np.zeros((5, 4, 3))
    routes[:, 1, 0] = near
    worth = np.array([200.0, 203.0, 204.0, 206.0, 300.0])
    some = listed(routes, worth=worth, lacks=np.zeros(5))
    for at in (0.0, 400.0):
        taken = some.next()
        assert taken is not None
        number, some = taken
        assert some.routes[number][1, 0] == at
    # 12 is further than CLOSE / 3 from 0; 5 and 20 are near to one or the other by then.
    between = some.between(below=205.0)
    assert between is not None
    number, some = between
    assert some.routes[number][1, 0] == 12.0
    assert some.between(below=1000.0) is None


def test_routes_that_lead_where_others_have_led_are_passed_over() -> None:
    routes = some_routes(6, 2000.0)
    some = listed(routes, worth=np.arange(6.0), lacks=np.zeros(6))
    seen = []
    while (taken := some.next(lambda r: bool((r == routes[0]).all()))) is not None:
        number, some = taken
        seen.append(some.routes[number])
    assert len(seen) == 5
    assert not any((route == routes[0]).all() for route in seen)
