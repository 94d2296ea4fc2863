"""Partial routes, and what two of them make: exact angles, closed, as free as is said."""

import math

import numpy as np
import pytest

from loopsolver.routing.angled.closed_routes import routes_of
from loopsolver.routing.angled.partial_routes import PartialRoutes, angled_run
from loopsolver.routing.angled.shortlist import lacking
from loopsolver.routing.effort import USUAL
from loopsolver.routing.problem import RouteProblem
from tests.builders.problems import (
    BEND_RADIUS,
    BETWEEN,
    COVERED,
    REACH,
    STRAIGHT,
    box_at,
    end_at,
    run_between,
)
from tests.full import few_or_all
from tests.property.known_routes import LISTED, THIRTY, TILTED_LISTED, known_run
from tests.property.laid_tubes import Tube, points_on
from tests.unit.routing.touching import clipped_distance

KINDS = (LISTED, TILTED_LISTED, THIRTY)


def radians(angles_deg: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(math.radians(angle) for angle in angles_deg)


def run_of(problem: RouteProblem):
    assert problem.bend_angles_deg != "any"
    return angled_run(problem, angles=radians(problem.bend_angles_deg))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
@pytest.mark.parametrize("seed", [0, 5])
def test_rays_leave_the_fitting_straight_and_turn_by_allowed_angles(kind, seed) -> None:
    known = known_run(kind, seed)
    run = run_of(known.problem)
    for (port, once), end in (
        (run.start, known.problem.start),
        (run.goal, known.problem.goal),
    ):
        assert len(port) == 1
        assert port.vertices[0, 0] == pytest.approx(end.seat)
        assert len(once) > 10
        along = np.array(end.direction)
        step = once.vertices[:, 1] - once.vertices[:, 0]
        length = np.linalg.norm(step, axis=1)
        assert np.abs(step - length[:, None] * along).max() < 1e-9
        turned = np.arccos(np.clip(once.direction @ along, -1.0, 1.0))
        allowed = np.array(radians(kind.bend_angles_deg))
        assert np.abs(turned[:, None] - allowed).min(axis=1).max() < 1e-7
        assert np.abs(turned - once.angle).max() < 1e-7
        outs = BEND_RADIUS * np.tan(turned / 2)
        assert (length - outs >= STRAIGHT - 1e-9).all()
        # What a bend saves is taken off already.
        assert once.legs == pytest.approx(length - 2 * outs + BEND_RADIUS * turned)


@pytest.mark.parametrize("seed", range(4))
def test_rays_keep_free_of_bodies_but_for_a_little(seed: int) -> None:
    known = known_run(LISTED, seed)
    run = run_of(known.problem)
    once = run.start[1].thinned(60)
    for number in range(len(once)):
        out = BEND_RADIUS * math.tan(once.angle[number] / 2)
        end = (
            once.vertices[number, 1]
            + (out + once.free[number]) * once.direction[number]
        )
        tube = Tube(
            vertices=np.array([*once.vertices[number], end]), radius=BEND_RADIUS
        )
        points = points_on(tube, apart=1.0, covered=(COVERED, 0.0))
        least = min(
            clipped_distance(o.solid, points).min() for o in known.problem.obstacles
        )
        # The grid may miss an edge by some 3 mm, and steps by 2.5 mm over an end.
        assert least > REACH - USUAL.laying_out.mended_room - 5.5


def test_a_wall_in_front_leaves_no_ray() -> None:
    near = end_at((250, 250, 250), (1, 0, 0))
    far = end_at((400, 400, 400), (-1, 0, 0))
    for room, some in (
        (STRAIGHT + REACH - 6, False),
        (STRAIGHT + BEND_RADIUS + REACH + 1, True),
    ):
        wall = box_at((250 + room + 5, 250, 250), (10, 400, 400))
        run = run_of(run_between(near, far, angles=(90.0,), boxes=[wall]))
        assert (len(run.start[1]) > 0) == some


def test_thinned_rays_take_the_coarse_ones_first() -> None:
    known = known_run(LISTED, 0)
    once = run_of(known.problem).start[1]
    coarse = int(once.is_coarse.sum())
    assert 0 < coarse < len(once)
    few = once.thinned(coarse // 2)
    assert len(few) == coarse // 2
    assert few.is_coarse.all()
    more = once.thinned(coarse + 10)
    assert len(more) == coarse + 10
    assert more.is_coarse.sum() == coarse
    assert len(once.thinned(10**6)) == len(once)


EVERY = [(kind, bends) for kind in KINDS for bends in (1, 2, 3, 4, 5)]
QUICK = [(kind, bends) for kind, bends in EVERY if bends < 5]


@pytest.mark.parametrize(
    ("kind", "bends"),
    few_or_all([*QUICK, EVERY[4]], EVERY),
    ids=lambda one: getattr(one, "name", str(one)),
)
def test_routes_close_and_have_their_angles(kind, bends: int) -> None:
    # With one bend the axes meet; that is so for a known run of one bend alone.
    known = known_run(kind, 0 if bends == 1 else 9)
    problem = known.problem
    routes, lengths = routes_of(run_of(problem), bends=bends)
    assert len(routes) > 0
    assert routes.shape[1:] == (bends + 2, 3)
    assert (np.diff(lengths) > -1e-6).all()
    allowed = np.array(radians(kind.bend_angles_deg))
    chosen = np.linspace(0, len(routes) - 1, min(300, len(routes))).astype(int)
    for route, length in zip(routes[chosen], lengths[chosen], strict=True):
        tube = Tube(vertices=route, radius=BEND_RADIUS)
        assert route[0] == pytest.approx(problem.start.seat, abs=1e-9)
        assert route[-1] == pytest.approx(problem.goal.seat, abs=1e-9)
        assert tube.ways[0] == pytest.approx(problem.start.direction, abs=1e-6)
        assert -tube.ways[-1] == pytest.approx(problem.goal.direction, abs=1e-6)
        assert np.abs(tube.angles[:, None] - allowed).min(axis=1).max() < 1e-5
        assert tube.length == pytest.approx(length, abs=1e-5)
        least = np.full(bends + 1, BETWEEN)
        least[[0, -1]] = STRAIGHT
        # Those that are a little short may be mended.
        assert (tube.straights - least > -4.0 - 1e-6).all()


def test_no_ray_no_route() -> None:
    near, far = end_at((250, 250, 250), (1, 0, 0)), end_at((400, 400, 400), (-1, 0, 0))
    wall = box_at((275, 250, 250), (10, 400, 400))
    problem = run_between(near, far, angles=(90.0,), boxes=[wall])
    run = run_of(problem)
    assert isinstance(run.start[1], PartialRoutes)
    for bends in (2, 3, 4, 5):
        routes, _ = routes_of(run, bends=bends)
        assert not np.isfinite(
            lacking(problem, routes, worth=np.zeros(len(routes)))
        ).any()
