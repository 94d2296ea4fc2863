"""Small loops: the choice is that of trying every order, every port and every route.

What can be tried is searched here pair of ports by pair of ports, each by itself and in
full, beside what the loop's own rounds found.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise, permutations, product

import pytest

from loopsolver.clearance.gap import keep_clear, least_gap, tube_gap
from loopsolver.clearance.obstacles import fitting_body
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.loop.ports import with_ports
from loopsolver.routing.loop.solving import Loop, solve_any_order, solve_loop
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import solve_beside
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import GAP_RESOLUTION
from tests.builders.port_cases import random_plates
from tests.full import few_or_all
from tests.unit.routing.known_loops import (
    FITTING,
    closed,
    random_loop,
    with_free_goals,
)

Cost = tuple[float, ...]

NOTHING: Cost = (0.0, 0.0, 0.0, 0.0)
"""What no route costs, by whatever ranking."""

NO_LIMIT = float("inf")
"""Seconds: what ends the rounds must not be how busy the machine is."""

AS_GOOD = 0.1
"""Two searches of the same loop may end this far apart: both draw routes in [mm]."""


class Choices:
    """Every choice of a route for each run of a scene, tried one after the other."""

    def __init__(self, scene: Scene, loop: Loop, by: str) -> None:
        """Take what the loop's rounds found into what may be chosen."""
        self.scene = scene
        self.key = RANKINGS[by]
        self.found: dict[frozenset[str], list[Candidate]] = {}
        for run in loop.runs:
            for route in (*run.alone, *run.beside):
                self.found.setdefault(frozenset(route.ports), []).append(
                    route.candidate
                )
        self.between = cache(self._between)
        self.are_clear = cache(self._are_clear)

    def _between(self, start: str, goal: str) -> tuple[Candidate, ...]:
        """All routes between two ports: found by the loop, and searched for by itself."""
        known = self.found.get(frozenset((start, goal)), [])
        run = next(
            (one for one in self.scene.runs if start in one.from_ports),
            RunRequest(name="on", from_ports=(start,), to_ports=(goal,)),
        )
        alone = solve_beside(self.scene, with_ports(run, (start, goal)), ())
        return tuple(dict.fromkeys((*alone.candidates, *known)))

    def least(self, circuits: Iterable[Sequence[RunRequest]]) -> Cost:
        """The least total of all runs of a circuit, all of them clear of each other.

        Branch and bound: what is begun is left only where even the best routes of all
        runs that follow would end above the least so far.
        """
        best: Cost = (float("inf"),)
        for runs in circuits:
            routes = [self._sorted(run) for run in runs]
            ahead = [
                total([some[0][0] for some in routes[n:]]) for n in range(1, len(runs))
            ]
            best = self._least_after((), routes, [*ahead, NOTHING], best)
        return best

    def _sorted(self, run: RunRequest) -> list[tuple[Cost, Candidate]]:
        """All routes of a run, by what they cost."""
        pairs = product(run.from_ports, run.to_ports)
        routes = [one for pair in pairs for one in self.between(*pair)]
        return sorted(
            ((self.key(one), one) for one in routes), key=lambda each: each[0]
        )

    def _least_after(
        self,
        laid: tuple[tuple[Cost, Candidate], ...],
        routes: Sequence[list[tuple[Cost, Candidate]]],
        ahead: Sequence[Cost],
        best: Cost,
    ) -> Cost:
        """The least total of what is laid and of the runs that follow, or `best`."""
        if len(laid) == len(routes):
            return min(best, total([cost for cost, _ in laid]))
        for cost, route in routes[len(laid)]:
            costs = [*(each for each, _ in laid), cost]
            if total([*costs, ahead[len(laid)]]) >= best:
                break
            if all(self.are_clear(other, route) for _, other in laid):
                best = self._least_after((*laid, (cost, route)), routes, ahead, best)
        return best

    def _are_clear(self, one: Candidate, two: Candidate) -> bool:
        """Whether two tubes and the fittings at their ends keep apart."""
        if {end.port for end in one.ends} & {end.port for end in two.ends}:
            return False
        radius, clearance = self.scene.tube.radius, self.scene.rules.clearance
        gap, _, _ = tube_gap(
            one.centreline,
            two.centreline,
            first_radius=radius,
            second_radius=radius,
        )
        bodies, others = (
            [
                fitting_body(
                    self.scene.port(end.port), self.scene.port(end.port).fittings[0]
                )
                for end in each.ends
            ]
            for each in (one, two)
        )
        covered = FITTING.depth
        for tube, fittings in ((one, others), (two, bodies)):
            beside = least_gap(
                tube.centreline,
                tuple(fittings),
                tube_radius=radius,
                skip_start=covered,
                skip_end=covered,
            )
            gap = min(gap, beside.distance)
        return gap >= clearance - GAP_RESOLUTION and all(
            keep_clear(a.solid, b.solid, by=0.0) for a, b in product(bodies, others)
        )


def total(costs: Sequence[Cost]) -> Cost:
    return tuple(sum(part) for part in zip(*costs, strict=False))


def circuits(scene: Scene) -> list[list[RunRequest]]:
    """The runs of every order of a scene's parts, each from any port to any port."""
    first, *rest = scene.components
    ports = {
        part.name: tuple(one.name for one in part.ports) for part in scene.components
    }
    return [
        [
            RunRequest(name="on", from_ports=ports[one.name], to_ports=ports[two.name])
            for one, two in pairwise((first, *order, first))
        ]
        for order in permutations(rest)
    ]


def of_one_way(run: RunRequest, scene: Scene) -> RunRequest:
    """A run with the ports that its coolant may come out of and go into."""
    starts = [name for name in run.from_ports if scene.port(name).flow != "in"]
    goals = [name for name in run.to_ports if scene.port(name).flow != "out"]
    return replace(run, from_ports=tuple(starts), to_ports=tuple(goals))


def entangled(seed: int, *, runs: int = 3) -> Scene:
    """Turns are square: between many ports no others are looked for at first."""
    scene, _ = random_loop(
        seed, side=120.0 + 7.0 * runs, runs=runs, bodies=2 * runs, stretch=0.5
    )
    return replace(scene, rules=replace(scene.rules, turn_step_deg=90.0))


def assert_best(loop: Loop, choices: Choices, every: list[list[RunRequest]]) -> None:
    assert all(run.chosen for run in loop.runs)
    least = choices.least(every)
    assert loop.total[0] == least[0]
    assert loop.total[1:] == pytest.approx(least[1:], abs=AS_GOOD)


@pytest.mark.parametrize("by", ["bends", "length", "gap", "planes"])
@pytest.mark.parametrize("seed", few_or_all((102, 108), (0, 30, 48, 102, 108)))
def test_the_choice_is_the_best_of_its_pools(seed: int, by: str) -> None:
    scene, _ = random_loop(seed, side=140.0, runs=3, bodies=6, stretch=0.5)
    loop = solve_loop(scene, scene.runs, key=RANKINGS[by])
    assert loop.is_proven
    least = Choices(scene, loop, by).least([list(scene.runs)])
    assert loop.total == pytest.approx(least, abs=1e-3)
    assert loop.bound <= tuple(part + 1e-3 for part in loop.total)


@pytest.mark.parametrize("seed", few_or_all((2,), range(30)))
def test_runs_that_may_end_anywhere_are_laid_as_the_best_of_all_choices(
    seed: int,
) -> None:
    scene = with_free_goals(entangled(seed))
    loop = solve_loop(scene, scene.runs, key=RANKINGS["bends"], seconds=NO_LIMIT)
    assert_best(loop, Choices(scene, loop, "bends"), [list(scene.runs)])


@pytest.mark.parametrize("seed", few_or_all((), range(30)))
def test_two_runs_between_plates_are_laid_as_the_best_of_all_choices(seed: int) -> None:
    scene = random_plates(seed)
    loop = solve_loop(scene, scene.runs, key=RANKINGS["bends"], seconds=NO_LIMIT)
    runs = [of_one_way(run, scene) for run in scene.runs]
    assert_best(loop, Choices(scene, loop, "bends"), [runs])


@pytest.mark.parametrize("seed", few_or_all((4,), range(40)))
def test_loops_in_any_order_by_any_port_are_the_best_of_all_choices(seed: int) -> None:
    scene = closed(entangled(seed, runs=3 + seed % 2))
    parts = [part.name for part in scene.components]
    loop = solve_any_order(scene, parts, key=RANKINGS["bends"], seconds=NO_LIMIT)
    assert_best(loop, Choices(scene, loop, "bends"), circuits(scene))
