"""What the rounds search: what may better the whole, beside what is in its way."""

from collections.abc import Iterable
from functools import partial
from typing import Any

import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.candidates import found_routes
from loopsolver.routing.control import UNATTENDED
from loopsolver.routing.loop.neighbourhood import NeighbourhoodSearch
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.router import Router
from loopsolver.routing.problem import by_bends
from loopsolver.routing.solve import solve_beside
from tests.unit.routing.known_loops import random_loop

KEY = RANKINGS["bends"]


class Searches:
    """Every search of a run beside laid tubes, noted as it begins."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.made: list[tuple[int, tuple[Route, ...]]] = []
        beside = Router.beside

        def noted(
            router: Router, run: int, ports: Any, laid: Iterable[Route], **more: Any
        ) -> tuple[Route, ...]:
            self.made.append((run, tuple(laid)))
            return beside(router, run, ports, self.made[-1][1], **more)

        monkeypatch.setattr(Router, "beside", noted)


def test_rounds_search_beside_what_is_in_the_way_and_not_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    searches = Searches(monkeypatch)
    scene, _ = random_loop(4, side=130.0, runs=3, bodies=8, stretch=0.5)
    routed = RoutedRuns(scene, scene.runs, KEY)
    alone = {run: routed.alone(run) for run in routed.every_run}
    rounds = NeighbourhoodSearch(routed, routed.every_run, control=UNATTENDED)
    found = rounds.search()
    assert found.ended == "done"
    assert searches.made
    pool = routed.pool
    number = pool.number_of
    is_hindered = {
        run: any(
            pool.clash(number(route), number(other))
            for route in routes
            for far, others in alone.items()
            for other in others
            if far != run
        )
        for run, routes in alone.items()
    }
    for run, laid in searches.made:
        assert is_hindered[run]  # a run that hinders nobody is never searched again
        own = pool.of_run(run)
        for one in laid:
            assert any(pool.clash(route, number(one)) for route in own)
    searches.made.clear()
    assert rounds.search(after=found.rounds) == found
    assert not searches.made


def test_a_search_told_how_long_finds_the_best_all_the_same() -> None:
    """Against the same search without bounds; and below the best of all nothing is."""
    scene, _ = random_loop(1, side=150.0, runs=2, bodies=8, stretch=0.5)
    for run in scene.runs:
        every = solve_beside(scene, run, (), search=found_routes).candidates
        best = min(map(KEY, every))
        bends, worth, elbows = best
        near = partial(by_bends, (bends, worth + 5.0, elbows))
        found = solve_beside(scene, run, (), search=found_routes, longest=near)
        assert min(map(KEY, found.candidates)) == best
        assert max(one.bends for one in found.candidates) <= bends
        none = partial(by_bends, (0, 1.0, 0))
        assert not solve_beside(scene, run, (), longest=none).candidates
