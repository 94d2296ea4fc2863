"""What a route brings that other runs cannot know of."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.routing.loop.router import Router
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import solve_run
from tests.builders.scenes import COLLAR
from tests.unit.routing.explain_scenes import At, build

SCENE = build(At((50, 150, 150), "+x"), At((250, 210, 150), "-x"))


def found() -> Candidate:
    return solve_run(SCENE, SCENE.runs[0]).candidates[0]


def test_fittings_that_stand_there_anyway_are_not_brought() -> None:
    """Both ports are this run's and nobody else's: their fittings are in every scene."""
    router = Router(SCENE, SCENE.runs)
    assert router.route(0, found()).brought == ()


@pytest.mark.parametrize("end", [0, 1])
def test_the_fitting_on_a_port_that_was_chosen_is_brought(end: int) -> None:
    """Where a run has a choice of ports, nobody knows before which it takes."""
    choice = ("pump.out", "gpu.in")
    runs = (
        replace(SCENE.runs[0], from_ports=choice)
        if end == 0
        else replace(SCENE.runs[0], to_ports=choice),
    )
    scene = replace(SCENE, runs=runs)
    (body,) = Router(scene, runs).route(0, found()).fittings
    wanted = "pump.out" if end == 0 else "gpu.in"
    assert wanted in body.name


def test_another_fitting_than_the_first_is_brought() -> None:
    other = replace(COLLAR, name="long collar", height=24.0)
    pump, *rest = SCENE.components
    ports = (replace(pump.ports[0], fittings=(COLLAR, other)),)
    scene = replace(SCENE, components=(replace(pump, ports=ports), *rest))
    first, last = found().ends
    candidate = replace(found(), ends=(replace(first, fitting=other.name), last))
    route = Router(scene, scene.runs).route(0, candidate)
    (body,) = route.fittings
    assert "pump.out" in body.name
    assert route.elbows == ()
