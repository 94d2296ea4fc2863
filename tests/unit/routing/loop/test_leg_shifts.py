"""Legs slid beside other tubes: jogs whose best places are plain."""

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import point
from loopsolver.plan.ranking import RANKINGS
from loopsolver.report.planning import route_scene
from loopsolver.routing.loop.leg_shifts import leg_shifted_routes
from loopsolver.routing.loop.parallel_search import Exchange, parallel_routes
from loopsolver.routing.loop.parallels import side_by_side
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.problem import Candidate
from loopsolver.tube.centreline import Centreline, developed_length
from tests.unit.routing.known_loops import (
    BEND_RADIUS,
    CLEARANCE,
    TUBE_RADIUS,
    from_box,
    nearest,
    random_loop,
    sampled,
)

OD = 2.0 * TUBE_RADIUS


def route(run: int, vertices: list[tuple[float, float, float]]) -> Route:
    line = Centreline(vertices=tuple(point(v) for v in vertices), radius=BEND_RADIUS)
    return Route(
        run=run,
        ports=(f"{run}.from", f"{run}.to"),
        candidate=Candidate(
            centreline=line,
            gap=Gap(distance=9.0, name="wall", at=(0.0, 0.0, 0.0)),
            trim_allowance=0.0,
        ),
    )


def jog(run: int, *, at: float, z: float) -> Route:
    """From (0, 0) along x to (300, 100), with a jog along y."""
    return route(run, [(0, 0, z), (at, 0, z), (at, 100, z), (300, 100, z)])


def cost(one: Route) -> tuple[float, ...]:
    return (*RANKINGS["bends"](one.candidate), one.candidate.length)


def test_two_jogs_come_to_lie_one_above_the_other() -> None:
    pair = (jog(0, at=100.0, z=0.0), jog(1, at=150.0, z=25.0))
    shifted = leg_shifted_routes(pair, outer_diameter=OD)
    limits = tuple(
        float(each) + 1e-4 for each in np.sum([cost(w) for w in pair], axis=0)
    )
    found = parallel_routes(
        [(own, *new) for own, new in zip(pair, shifted, strict=True)],
        Exchange(
            cost=cost,
            limits=limits,
            clash=lambda _one, _two: False,
            outer_diameter=OD,
            price=1.0,
        ),
    )
    lines = [one.centreline for one in found]
    looks = side_by_side(lines, outer_diameter=OD)
    # All straights: 300 along x and 100 along y, less two bends' take-outs twice over.
    whole = 400.0 - 4.0 * BEND_RADIUS
    assert (looks.length, looks.even) == pytest.approx((whole, whole), abs=1e-4)
    assert lines[0].vertices[1][0] == pytest.approx(lines[1].vertices[1][0], abs=1e-5)


def test_shifted_routes_keep_ends_bends_and_in_a_jog_the_length() -> None:
    pair = (jog(0, at=100.0, z=0.0), jog(1, at=150.0, z=25.0))
    for own, new in zip(pair, leg_shifted_routes(pair, outer_diameter=OD), strict=True):
        assert new
        for one in new:
            old, vertices = own.centreline.vertices, one.centreline.vertices
            assert (vertices[0], vertices[-1]) == (old[0], old[-1])
            assert len(vertices) == len(old)
            assert developed_length(one.centreline) == pytest.approx(
                developed_length(own.centreline)
            )
            legs = np.diff(np.array(vertices), axis=0)
            before = np.diff(np.array(old), axis=0)
            assert np.allclose(np.cross(legs, before), 0.0, atol=1e-6)
            assert ((legs * before).sum(axis=1) > 0.0).all()


def test_a_leg_that_cannot_slide_stays() -> None:
    corner = route(0, [(0, 0, 0), (100, 0, 0), (100, 100, 0), (100, 100, 100)])
    assert (
        leg_shifted_routes([corner, jog(1, at=150.0, z=25.0)], outer_diameter=OD)[0]
        == []
    )


@pytest.mark.parametrize("seed", range(11, 16))
def test_what_is_chosen_keeps_clear_of_bodies_and_tubes(seed: int) -> None:
    scene, _ = random_loop(seed, side=240.0, runs=4, bodies=16, stretch=0.4)
    plan = route_scene(scene, by="parallel")
    tubes = {
        run.name: sampled(run.chosen_candidate.centreline.vertices)
        for run in plan.runs
        if run.chosen_candidate
    }
    assert len(tubes) == 4
    assert plan.loop is not None
    for name, tube in tubes.items():
        for other, points in tubes.items():
            assert name == other or nearest(tube, points) >= OD + CLEARANCE - 1e-3
        for body in scene.keep_outs:
            assert isinstance(body.solid, Box)
            centre, size = np.array(body.solid.frame.origin), np.array(body.solid.size)
            assert from_box(tube, centre, size) >= TUBE_RADIUS + CLEARANCE - 1e-3
        chosen = plan.run(name).chosen_candidate
        assert chosen is not None
        assert chosen.gap.distance >= CLEARANCE - 1e-3
