"""What is done once: ports of a run looked at together, equal runs not searched again.

Expected is what one search after the other gives, each by itself.
"""

from dataclasses import replace
from itertools import pairwise

import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.report.planning import route_scene
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.control import UNATTENDED
from loopsolver.routing.loop import routed_runs
from loopsolver.routing.loop.ports import port_pairs, with_ports
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.problem import Candidate, Found, RouteProblem
from loopsolver.routing.solve import REMEMBERED, problems_of, searched, solve_beside
from loopsolver.scene.model import Scene
from tests.builders.ring_cases import ring
from tests.builders.scenes import wanted
from tests.full import few_or_all

KEY = RANKINGS["bends"]


def free(seed: int, *, parts: int = 2) -> Scene:
    """A run from any port of a part to any port of the next; turns are square."""
    scene = ring(seed, parts=parts, flow="either")
    names = [part.name for part in scene.components]
    ports = [tuple(port.name for port in part.ports) for part in scene.components]
    run = replace(
        wanted(f"{names[0]} on", ports[0][0], ports[1][0]),
        from_ports=ports[0],
        to_ports=ports[1],
    )
    return replace(
        scene, runs=(run,), rules=replace(scene.rules, turn_step_deg=90.0), loop=None
    )


def best(routes: tuple[Route, ...] | tuple[Candidate, ...]) -> tuple[float, ...] | None:
    """Fewest bends and the least length of them."""
    candidates = [one.candidate if isinstance(one, Route) else one for one in routes]
    told = [(one.bends, round(one.length, 3)) for one in candidates]
    return min(told, default=None)


@pytest.mark.parametrize("seed", few_or_all((0, 2, 3), range(40)))
def test_pair_by_pair_the_best_is_that_of_the_pair_by_itself(seed: int) -> None:
    scene = free(seed)
    pairs = port_pairs(scene, scene.runs[0])
    assert len(pairs) == 4
    routed = RoutedRuns(scene, scene.runs, KEY)
    alone = {
        ports: solve_beside(scene, with_ports(scene.runs[0], ports), ()).candidates
        for ports in pairs
    }
    for ports in pairs:
        own = tuple(route for route in routed.alone(0) if route.ports == ports)
        assert best(own) == best(alone[ports])
    # What is chosen is searched further: then all that there is by itself is there.
    chosen = routed.search_further_for(
        lambda: routed.packing.best(routed.open_routes((0,))), UNATTENDED, runs=(0,)
    )
    for ports in {routed.pool.routes[route].ports for route in chosen.routes}:
        assert alone[ports] == tuple(
            route.candidate for route in routed.alone(0) if route.ports == ports
        )
    every = [one for candidates in alone.values() for one in candidates]
    assert best(routed.alone(0)) == best(tuple(every))


def test_a_run_without_a_route_is_searched_between_all_its_ports(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[RouteProblem] = []

    def none_of_them(problem: RouteProblem) -> Found:
        asked.append(problem)
        return Found(candidates=())

    monkeypatch.setattr(routed_runs, "find_candidates", none_of_them)
    monkeypatch.setattr(routed_runs, "soon_found", lambda _: Found(candidates=()))
    rules = replace(free(0).rules, turn_step_deg="any")  # else the lattice knows all
    scene = replace(free(0), rules=rules)
    routed = RoutedRuns(scene, scene.runs, KEY)
    nothing = routed.packing.best(())
    assert not asked
    assert routed.search_further(nothing, UNATTENDED, runs=(0,))
    assert len(asked) == 4
    assert not routed.search_further(nothing, UNATTENDED, runs=(0,))


# ------------------------------------------------------------------ equal work, once


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[RouteProblem]:
    """The problems whose search was begun, whatever asked for it."""
    problems: list[RouteProblem] = []

    def noted(problem: RouteProblem) -> Found:
        problems.append(problem)
        return find_candidates(problem)

    monkeypatch.setattr(routed_runs, "find_candidates", noted)
    return problems


def two_fixed(seed: int) -> Scene:
    scene = ring(seed, parts=3, flow="in and out")
    names = [part.name for part in scene.components]
    runs = [
        wanted(f"{one} on", f"{one}.out", f"{other}.in")
        for one, other in pairwise(names)
    ]
    return replace(scene, runs=tuple(runs), loop=None)


def test_a_run_whose_problem_is_the_same_is_not_searched_again(
    begun: list[RouteProblem],
) -> None:
    first = route_scene(two_fixed(2))
    assert len(begun) == 2
    again = route_scene(two_fixed(2))  # equal in content, another object
    assert len(begun) == 2
    assert again.runs == first.runs
    # One run has other rules now: it alone is searched again.
    scene = two_fixed(2)
    other = replace(scene.runs[1], max_bends=3)
    changed = route_scene(replace(scene, runs=(scene.runs[0], other)))
    assert len(begun) == 3
    assert begun[-1].max_bends == 3
    assert changed.runs[0] == first.runs[0]


def test_what_is_remembered_is_bounded() -> None:
    """The one that was asked for least lately is searched again, and no other."""
    begun: list[RouteProblem] = []

    def counted(problem: RouteProblem) -> Found:
        begun.append(problem)
        return Found(candidates=(), refused=len(begun))

    scene = two_fixed(2)
    (problem,) = problems_of(scene, scene.runs[0])
    problems = [replace(problem, clearance=1.0 + n) for n in range(REMEMBERED + 1)]
    for one in (*problems[:2], problems[0], *problems[2:]):
        searched(one, counted)
    assert len(begun) == REMEMBERED + 1
    assert searched(problems[0], counted).refused == 1
    assert len(begun) == REMEMBERED + 1
    searched(problems[1], counted)
    assert len(begun) == REMEMBERED + 2
