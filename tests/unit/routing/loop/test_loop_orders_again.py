"""What is called proven over all orders, against every choice from the routes found."""

from __future__ import annotations

from itertools import combinations, permutations, product
from typing import Any

import pytest

from loopsolver.plan import RANKINGS
from loopsolver.routing.loop import solving
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.solving import solve_any_order
from tests.builders.ring_cases import ring

BY_BENDS = RANKINGS["bends"]


def least_of_all(routed: RoutedRuns, parts: list[str]) -> tuple[float, ...]:
    """The least total over all circuits of three parts and all routes that fit."""
    pool = routed.pool
    by_parts: dict[tuple[str, str], list[int]] = {}
    for number in routed.open_routes(routed.every_run):
        route = pool.routes[number]
        ends = (route.ports[0].split(".")[0], route.ports[1].split(".")[0])
        by_parts.setdefault(ends, []).append(number)
    best: tuple[float, ...] = (float("inf"),)
    for second, third in permutations(parts[1:]):
        circuit = [(parts[0], second), (second, third), (third, parts[0])]
        for routes in product(*(by_parts.get(ends, []) for ends in circuit)):
            ports = [port for route in routes for port in pool.routes[route].ports]
            if len(set(ports)) < len(ports):
                continue
            costs = [routed.packing.cost(route) for route in routes]
            total = tuple(sum(column) for column in zip(*costs, strict=True))
            if total < best and not any(
                pool.clash(one, two) for one, two in combinations(routes, 2)
            ):
                best = total
    return best


@pytest.mark.parametrize("seed", [0, 5, 6])
def test_proven_is_the_least_of_all_choices_over_all_orders(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    desks: list[RoutedRuns] = []

    def kept(*args: Any, **options: Any) -> RoutedRuns:
        desks.append(RoutedRuns(*args, **options))
        return desks[-1]

    monkeypatch.setattr(solving, "RoutedRuns", kept)
    scene = ring(seed, parts=3, flow="either")
    parts = [part.name for part in scene.components]
    loop = solve_any_order(scene, parts, key=BY_BENDS)
    assert (loop.ended, loop.is_proven) == ("done", True)
    (routed,) = desks
    assert loop.total == pytest.approx(least_of_all(routed, parts), abs=1e-3)
