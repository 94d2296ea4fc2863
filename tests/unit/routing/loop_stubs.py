"""Ways of runs that cost and clash by lot: choices among them can all be tried."""

from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from loopsolver.routing.loop.integer_programme import Cost
from loopsolver.routing.loop.route_pool import Route, RoutePool


@dataclass(frozen=True)
class Stub:
    """In place of a candidate: what it costs, and something to tell it apart by."""

    cost: Cost
    centreline: int


class StubPool(RoutePool):
    """Ways that clash by lot."""

    def __init__(self, rng: np.random.Generator, runs: int, parts: int) -> None:
        super().__init__(tube_radius=5.0, clearance=3.0)
        for run in range(runs):
            for _ in range(int(rng.integers(2, 5))):
                cost = (float(rng.integers(1, 5)), float(rng.uniform(100.0, 400.0)))
                candidate = Stub(cost=cost[:parts], centreline=len(self.routes))
                route = Route(
                    run=run,
                    ports=(
                        f"{run}.{rng.integers(0, 2)}",
                        f"shared.{rng.integers(0, 6)}",
                    ),
                    candidate=candidate,  # type: ignore[arg-type]
                )
                self.add([route])
        self.lot = {
            pair: bool(rng.random() < 0.5)
            for pair in combinations(range(len(self.routes)), 2)
        }

    def clashing(self, first: int, second: int) -> set[tuple[int, int]]:
        pairs = product(self.of_run(first), self.of_run(second))
        return {pair for pair in pairs if self.lot[pair]}
