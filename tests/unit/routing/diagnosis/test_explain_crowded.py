"""Reasons in crowded random cases: what is said holds."""

import math
from dataclasses import replace
from functools import cache

import pytest

from loopsolver.geometry.vectors import AXES
from loopsolver.routing.control import UNATTENDED
from loopsolver.routing.diagnosis.explain import reason_of
from loopsolver.routing.diagnosis.no_route import Fact, Reason, Shortfall
from loopsolver.routing.solve import problems_of, searches_of
from loopsolver.scene.model import BendAngles, Body, Scene
from tests.full import IS_FULL
from tests.unit.routing.explain_scenes import TUBE, At, after, build, routes
from tests.unit.routing.full_cases import INNER, random_problem

WANTED = 5 if IS_FULL else 3
"""Scenes without a route for each list of bend angles."""


def crowded(
    seed: int,
    *,
    bodies: int,
    bend_angles_deg: BendAngles,
    max_bends: int,
    square: float,
) -> Scene:
    """A random case; most tubes with few bends do not fit."""
    problem = random_problem(seed, bodies=bodies, largest=80.0, square=square)
    solids = [o for o in problem.obstacles if o.name.startswith("body")]
    names = {direction: name for name, direction in AXES.items()}
    return build(
        At(problem.start.seat, names[problem.start.direction]),
        At(problem.goal.seat, names[problem.goal.direction]),
        *(Body(name=o.name, solid=o.solid) for o in solids),
        inner=INNER,
        tube=replace(TUBE, stock_length=3000.0),
        bend_angles_deg=bend_angles_deg,
        max_bends=max_bends,
    )


@cache
def without_route(
    bend_angles_deg: BendAngles,
) -> tuple[tuple[Scene, Reason], ...]:
    """The first random scenes that have no route, with the reason."""
    found: list[tuple[Scene, Reason]] = []
    for seed in range(400):
        scene = crowded(
            seed,
            bodies=20,
            bend_angles_deg=bend_angles_deg,
            max_bends=3 if bend_angles_deg == (90.0,) else 2,
            square=0.9,
        )
        if not routes(scene):
            found.append(
                (scene, reason_of(scene, scene.runs[0], searches_of(UNATTENDED)))
            )
        if len(found) == WANTED:
            break
    return tuple(found)


MODES: tuple[BendAngles, ...] = ((90.0,), (45.0, 90.0), "any")


@pytest.mark.parametrize("number", range(WANTED))
@pytest.mark.parametrize("bend_angles_deg", MODES)
def test_every_suggestion_gives_a_route(
    bend_angles_deg: BendAngles, number: int
) -> None:
    scene, found = without_route(bend_angles_deg)[number]
    for one in found.suggestions:
        assert routes(after(scene, *one.changes)), one


def test_suggestions_are_of_many_kinds() -> None:
    told = {
        change.rule
        for mode in MODES
        for _, found in without_route(mode)
        for one in found.suggestions
        for change in one.changes
    }
    assert {"bends", "bend angles"} <= told
    assert len(told) >= (4 if IS_FULL else 3)


@pytest.mark.parametrize("bend_angles_deg", MODES)
def test_only_what_is_in_the_scene_is_named_and_lacks_something(
    bend_angles_deg: BendAngles,
) -> None:
    for scene, found in without_route(bend_angles_deg):
        (problem,) = problems_of(scene, scene.runs[0])
        known = {obstacle.name for obstacle in problem.obstacles}
        near = [one for fact in found.facts for one in shortfalls_in(fact)]
        assert {one.name for one in near} <= known
        assert all(0.0 < one.by < math.inf for one in near)
        changes = [change for one in found.suggestions for change in one.changes]
        moved = {c.subject for c in changes if c.rule in ("body", "case wall")}
        assert moved <= known


def shortfalls_in(fact: Fact) -> tuple[Shortfall, ...]:
    near = getattr(fact, "near", ())
    return (near,) if isinstance(near, Shortfall) else near


def test_the_same_scene_gets_the_same_reason() -> None:
    for scene, found in without_route((90.0,))[:3]:
        again = reason_of(replace(scene), scene.runs[0], searches_of(UNATTENDED))
        assert again == found
