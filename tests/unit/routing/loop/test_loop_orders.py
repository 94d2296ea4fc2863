"""The order of a loop's parts, against trying all of them."""

from dataclasses import replace
from itertools import combinations, pairwise, permutations, product
from typing import Literal

import numpy as np
import pytest
from networkx import DiGraph, simple_cycles

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.control import UNATTENDED
from loopsolver.routing.loop.orders import (
    Link,
    Orders,
    closed_circuits,
    possible_links,
)
from loopsolver.routing.loop.route_pool import Route, RoutePool
from loopsolver.routing.loop.set_packing import SetPacking
from loopsolver.routing.loop.solving import Loop, solve_any_order, solve_loop
from loopsolver.scene.circuit import runs_in_order
from loopsolver.scene.model import LoopRequest, RunRequest, Scene
from tests.builders.ring_cases import ring
from tests.full import few_or_all
from tests.unit.routing.loop_stubs import Stub

KEY = RANKINGS["bends"]


def stub_links(parts: int) -> list[Link]:
    return [
        Link(
            run=RunRequest(name=f"{a} to {b}", from_ports=(), to_ports=()),
            parts=(str(a), str(b)),
        )
        for a, b in permutations(range(parts), 2)
    ]


def stub_pool(seed: int, links: list[Link], ports: int) -> RoutePool:
    """Some tubes between every two parts, from any port of one to any of the other."""
    rng = np.random.default_rng(seed)
    pool = RoutePool(tube_radius=5.0, clearance=3.0)
    for number, link in enumerate(links):
        for _ in range(int(rng.integers(0, 4))):
            out, into = rng.integers(0, ports, 2)
            cost = (float(rng.integers(1, 5)), float(rng.uniform(50.0, 400.0)))
            candidate = Stub(cost=cost, centreline=len(pool.routes))
            route = Route(
                run=number,
                ports=(f"{link.parts[0]}.{out}", f"{link.parts[1]}.{into}"),
                candidate=candidate,  # type: ignore[arg-type]
            )
            pool.add([route])
    return pool


def best_by_trying(pool: RoutePool, links: list[Link], parts: int) -> tuple[float, ...]:
    """The least total over all orders and all choices of tubes, ports used once."""
    between: dict[tuple[str, str], list[Route]] = {}
    for route in pool.routes:
        between.setdefault(links[route.run].parts, []).append(route)
    best: tuple[float, ...] = (np.inf, np.inf)
    for rest in permutations(range(1, parts)):
        order = [0, *rest, 0]
        # For each port by which the last part was entered, the front of totals.
        best = min(best, least_total(between, order))
    return best


def least_total(
    between: dict[tuple[str, str], list[Route]], order: list[int]
) -> tuple[float, ...]:
    """The least total along one order: at every part the two ports differ."""
    best: tuple[float, ...] = (np.inf, np.inf)
    first = between.get((str(order[0]), str(order[1])), [])
    for start in first:
        reached = {start.ports[1]: start.candidate.cost}
        for one, two in pairwise(order[1:]):
            following: dict[str, tuple[float, ...]] = {}
            for route in between.get((str(one), str(two)), []):
                for port, cost in reached.items():
                    if port != route.ports[0]:
                        total = (
                            cost[0] + route.candidate.cost[0],
                            cost[1] + route.candidate.cost[1],
                        )
                        known = following.get(route.ports[1], (np.inf, np.inf))
                        following[route.ports[1]] = min(known, total)
            reached = following
        ends = [cost for port, cost in reached.items() if port != start.ports[0]]
        best = min([best, *ends])
    return best


@pytest.mark.parametrize("seed", range(24))
def test_the_first_circuit_is_the_best_of_all_orders(seed: int) -> None:
    parts = 2 + seed % 6
    links = stub_links(parts)
    pool = stub_pool(seed, links, ports=2 + seed % 2)
    packing = SetPacking(pool, lambda candidate: candidate.cost)
    orders = Orders(packing, links, [str(part) for part in range(parts)])
    found = orders.best(range(len(pool.routes)))
    wanted = best_by_trying(pool, links, parts)
    if len(found.routes) == parts:
        assert found.total == pytest.approx(wanted, abs=1e-3)
        runs = orders.in_order(pool.routes[route].run for route in found.routes)
        joined = [links[run].parts for run in runs]
        assert [one[1] for one in joined] == [*(two[0] for two in joined[1:]), "0"]
    else:
        assert wanted == (np.inf, np.inf)


@pytest.mark.parametrize("seed", range(6))
def test_circuits_come_in_the_order_of_their_totals_each_once(seed: int) -> None:
    parts = 4
    links = stub_links(parts)
    pool = stub_pool(100 + seed, links, ports=3)
    packing = SetPacking(pool, lambda candidate: candidate.cost)
    orders = Orders(packing, links, [str(part) for part in range(parts)])
    seen: list[frozenset[int]] = []
    totals: list[tuple[float, ...]] = []
    while True:
        found = orders.best(range(len(pool.routes)), besides=seen)
        if len(found.routes) < parts:
            break
        runs = frozenset(pool.routes[route].run for route in found.routes)
        assert runs not in seen
        seen.append(runs)
        totals.append(found.total)
    assert totals == sorted(totals)
    # (4 - 1)! circuits: three, each with the one the other way round, whose tubes are
    # others here.
    assert len(totals) <= 6


def in_each_others_way(seed: int, pool: RoutePool) -> set[tuple[int, int]]:
    """Every third pair of routes, by chance."""
    rng = np.random.default_rng(seed)
    pairs = combinations(range(len(pool.routes)), 2)
    return {pair for pair in pairs if rng.uniform() < 1.0 / 3.0}


def least_clear(
    pool: RoutePool, links: list[Link], parts: int, clashes: set[tuple[int, int]]
) -> tuple[float, ...]:
    """The least total over all orders and choices without a clash or a shared port."""
    between: dict[tuple[str, str], list[int]] = {}
    for number, route in enumerate(pool.routes):
        between.setdefault(links[route.run].parts, []).append(number)
    best: tuple[float, ...] = (np.inf, np.inf)
    for rest in permutations(range(1, parts)):
        circuit = pairwise(map(str, (0, *rest, 0)))
        for chosen in product(*(between.get(pair, []) for pair in circuit)):
            ports = {port for one in chosen for port in pool.routes[one].ports}
            pairs = {(min(two), max(two)) for two in combinations(chosen, 2)}
            if len(ports) == 2 * parts and not pairs & clashes:
                costs = [pool.routes[one].candidate.cost for one in chosen]
                best = min(best, tuple(map(sum, zip(*costs, strict=True))))
    return best


@pytest.mark.parametrize("seed", few_or_all(range(12), range(120)))
def test_the_clear_circuit_is_the_best_of_all_orders_without_a_clash(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    parts = 3 + seed % 3
    links = stub_links(parts)
    pool = stub_pool(200 + seed, links, ports=3)
    clashes = in_each_others_way(seed, pool)

    def clashing(first: int, second: int) -> set[tuple[int, int]]:
        every = {(min(pair), max(pair)) for pair in clashes}
        runs = [route.run for route in pool.routes]
        ordered = {pair if runs[pair[0]] == first else pair[::-1] for pair in every}
        return {(a, b) for a, b in ordered if (runs[a], runs[b]) == (first, second)}

    monkeypatch.setattr(pool, "clashing", clashing)
    packing = SetPacking(pool, lambda candidate: candidate.cost)
    orders = Orders(packing, links, [str(part) for part in range(parts)])
    found = orders.clear(range(len(pool.routes)), UNATTENDED)
    wanted = least_clear(pool, links, parts, clashes)
    if len(found.routes) == parts:
        assert found.total == pytest.approx(wanted, abs=1e-3)
    else:
        assert wanted == (np.inf, np.inf)


def total_in_order(
    scene: Scene, order: tuple[str, ...]
) -> tuple[int, tuple[float, ...]]:
    """What comes of one order: runs that were laid, and their total."""
    loop = solve_loop(scene, runs_in_order(scene, order), key=KEY)
    laid = sum(run.chosen is not None for run in loop.runs)
    return -laid, loop.total


def parts_passed(loop: Loop) -> list[str]:
    return [run.chosen.ports[0].split(".")[0] for run in loop.runs if run.chosen]


@pytest.mark.parametrize(
    ("seed", "parts", "flow"),
    few_or_all(
        [(2, 3, "either")],
        [(0, 3, "in and out"), (5, 3, "in and out"), (2, 3, "either")],
    ),
)
def test_whole_loops_in_any_order_are_the_best_of_all_orders(
    seed: int, parts: int, flow: Literal["in and out", "either"]
) -> None:
    scene = ring(seed, parts=parts, flow=flow)
    names = tuple(part.name for part in scene.components)
    loop = solve_any_order(scene, names, key=KEY)
    assert sorted(parts_passed(loop)) == sorted(names)
    assert parts_passed(loop)[0] == names[0]
    tried = [
        total_in_order(scene, (names[0], *rest)) for rest in permutations(names[1:])
    ]
    laid, total = min(tried)
    assert laid == -parts
    assert loop.total == pytest.approx(total, abs=1e-3)


def test_a_run_of_the_scene_takes_its_place_in_the_loop() -> None:
    scene = ring(0, parts=4, flow="in and out")
    names = [part.name for part in scene.components]
    own = RunRequest(
        name="mine",
        from_ports=(f"{names[2]}.out",),
        to_ports=(f"{names[0]}.in",),
        max_bends=5,
    )
    with_own = replace(scene, runs=(own,), loop=LoopRequest(order="any"))
    loop = solve_any_order(with_own, names, key=KEY)
    assert [run.request.name for run in loop.runs].count("mine") == 1
    passed = parts_passed(loop)
    place = passed.index(names[2])
    assert passed[(place + 1) % 4] == names[0]


def test_ports_are_entered_and_left_as_the_coolant_goes() -> None:
    scene = ring(3, parts=4, flow="in and out")
    names = [part.name for part in scene.components]
    for link in possible_links(scene, names, ()):
        assert all(name.endswith(".out") for name in link.run.from_ports)
        assert all(name.endswith(".in") for name in link.run.to_ports)
    assert len(possible_links(scene, names, ())) == 12


def test_the_closed_circuits_are_those_of_networkx() -> None:
    for seed in range(300):
        rng = np.random.default_rng(seed)
        parts = [str(part) for part in range(int(rng.integers(2, 9)))]
        after = dict(zip(parts, map(str, rng.permutation(parts)), strict=True))
        links = {
            one: other
            for one, other in after.items()
            if one != other and rng.random() < 0.8
        }
        wanted_circuits = sorted(map(sorted, simple_cycles(DiGraph(links.items()))))
        assert sorted(map(sorted, closed_circuits(links))) == wanted_circuits
