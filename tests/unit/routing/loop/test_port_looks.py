"""A lone run between many ports: fewer are looked between, list and choice stay.

Held against the same run looked for between all its ports, and against each pair of ports
searched by itself.
"""

from dataclasses import replace

import pytest

from loopsolver.plan.model import PlannedRun
from loopsolver.plan.ranking import RANKINGS
from loopsolver.report.planning import route_scene
from loopsolver.routing.loop.port_looks import PortLooks
from loopsolver.routing.loop.port_searches import PortSearches
from loopsolver.routing.loop.ports import port_pairs, with_ports
from loopsolver.routing.solve import solve_beside
from loopsolver.scene.model import Scene
from loopsolver.scene.references import PortPair
from tests.builders.port_cases import plates, random_plates
from tests.full import few_or_all
from tests.unit.routing.loop.turned_plates import KINDS, turned

BY = [*RANKINGS]
SQUARE, *_ = KINDS


def lone(seed: int, kind: str, *, listed: int) -> Scene:
    """One run between three ports of a plate and three of another, as many as may be."""
    scene = turned(random_plates(seed), kind)
    rules = replace(scene.rules, candidates=listed)
    return replace(scene, runs=scene.runs[:1], rules=rules)


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> set[PortPair]:
    """The pairs of ports between which it was searched."""
    pairs: set[PortPair] = set()
    real = PortSearches.between

    def noted(self, run, ports, search):
        pairs.add(ports)
        return real(self, run, ports, search)

    monkeypatch.setattr(PortSearches, "between", noted)
    return pairs


def planned(scene: Scene, by: str) -> PlannedRun:
    (run,) = route_scene(scene, by=by).runs
    return run


@pytest.mark.parametrize("kind", few_or_all((SQUARE,), [*KINDS]))
@pytest.mark.parametrize("seed", few_or_all((0, 3), range(12)))
def test_list_and_choice_are_those_of_all_ports_looked_between(
    seed: int, kind: str, looked: set[PortPair], monkeypatch: pytest.MonkeyPatch
) -> None:
    by, listed = BY[seed % len(BY)], 1 + seed % 4
    scene = lone(seed, kind, listed=listed)
    pairs = port_pairs(scene, scene.runs[0])
    found = planned(scene, by)
    some = {*looked}
    monkeypatch.setattr(PortLooks, "_worth_a_look", lambda looks, *_: [*looks.left])
    every = planned(scene, by)
    assert looked == {*pairs}
    assert found == every
    assert some <= looked


@pytest.mark.parametrize(("listed", "others"), [(1, set()), (2, {"two"})])
def test_what_cannot_be_listed_is_not_looked_for(
    listed: int, others: set[str], looked: set[PortPair]
) -> None:
    """By hand: straight across there is no bend, to each other port there are two."""
    far = {"one": (60.0, 40.0), "two": (60.0, 100.0), "three": (160.0, 160.0)}
    scene = plates({"a": (60.0, 40.0)}, far, {"run": ("a", (*far,))})
    scene = replace(scene, rules=replace(scene.rules, candidates=listed))
    run = planned(scene, "bends")
    assert (run.from_port, run.to_port) == ("near.a", "far.one")
    assert len(run.candidates) == listed
    assert looked >= {("near.a", f"far.{name}") for name in ("one", *others)}
    assert ("near.a", "far.three") not in looked


@pytest.mark.parametrize("seed", few_or_all((1,), range(12)))
def test_the_best_is_that_of_each_pair_searched_by_itself(seed: int) -> None:
    scene = lone(seed, SQUARE, listed=6)
    run, cost = scene.runs[0], RANKINGS["bends"]
    alone = [
        cost(one)
        for ports in port_pairs(scene, run)
        for one in solve_beside(scene, with_ports(run, ports), ()).candidates
    ]
    assert cost(planned(scene, "bends").candidates[0]) == min(alone)
