"""Many routes at once: figures and points against a tube laid out one by one."""

import math

import numpy as np
import pytest

from loopsolver.geometry.solid_set import stack
from loopsolver.routing.angled.bundle import free_along, lay, nearest, sampled
from loopsolver.routing.angled.contacts import Bundle, contacts
from tests.builders.problems import COVERED, box_at
from tests.property.known_routes import KINDS, Known, known_run, solids_of
from tests.property.laid_tubes import Tube, points_on
from tests.unit.routing.touching import Array, clipped_distance

RADIUS = 28.0
ENDS = (COVERED, COVERED)
SOME = [(kind, seed) for kind in KINDS for seed in (1, 2, 7)]


def shaken(known: Known, count: int) -> Array:
    """The known route and others with their vertices moved by a few millimetres."""
    rng = np.random.default_rng(1)
    moves = rng.normal(0.0, 3.0, (count, *known.vertices.shape))
    moves[0] = 0.0
    moves[:, [0, -1]] = 0.0
    return known.vertices + moves


@pytest.mark.parametrize(("kind", "seed"), SOME)
def test_figures_of_a_bundle(kind, seed) -> None:
    routes = shaken(known_run(kind, seed), 8)
    laid = lay(routes, radius=RADIUS)
    for row, route in enumerate(routes):
        tube = Tube(vertices=route, radius=RADIUS)
        assert laid.angles[row] == pytest.approx(tube.angles, abs=1e-9)
        assert laid.straights[row] == pytest.approx(tube.straights, abs=1e-9)
        assert laid.lengths[row] == pytest.approx(tube.length, abs=1e-9)


@pytest.mark.parametrize(("kind", "seed"), SOME)
def test_samples_lie_on_the_tube_and_reach_its_ends(kind, seed) -> None:
    routes = shaken(known_run(kind, seed), 3)
    laid = lay(routes, radius=RADIUS)
    points = sampled(routes, laid, radius=RADIUS, covered=ENDS, samples=(24, 10))
    for row, route in enumerate(routes):
        dense = points_on(Tube(vertices=route, radius=RADIUS), apart=0.25, covered=ENDS)
        apart = np.linalg.norm(points[row][:, None] - dense[None], axis=2)
        assert apart.min(axis=1).max() < 0.126
        for end in (
            dense[0],
            route[-1]
            + COVERED * (route[-2] - route[-1]) / np.linalg.norm(route[-2] - route[-1]),
        ):
            assert np.linalg.norm(points[row] - end, axis=1).min() < 1e-9


@pytest.mark.parametrize(("kind", "seed"), SOME)
def test_nearest_contact_is_the_least_gap(kind, seed) -> None:
    known = known_run(kind, seed)
    routes = shaken(known, 4)
    solids = solids_of(known.problem)
    bundle = Bundle(
        vertices=routes, laid=lay(routes, radius=RADIUS), radius=RADIUS, covered=ENDS
    )
    found = contacts(bundle, stack(solids), within=18.0)
    for row, route in enumerate(routes):
        tube = Tube(vertices=route, radius=RADIUS)
        dense = points_on(tube, apart=0.1, covered=ENDS)
        exact = min(float(clipped_distance(solid, dense).min()) for solid in solids)
        mine = found.pick(found.route == row)
        if exact == 0.0:
            assert mine.distance.min() <= 0.02
        elif exact < 17.9:
            # What is left between the last samples is for the exact check.
            assert mine.distance.min() == pytest.approx(exact, abs=0.05)
            assert mine.distance.min() >= exact - 0.005
        else:
            assert not len(mine.distance) or mine.distance.min() > 17.8
        # Each contact lies on the tube.
        for at in mine.point:
            assert np.linalg.norm(dense - at, axis=1).min() < 0.06


def test_away_is_the_slope_of_the_distance() -> None:
    known = known_run(KINDS[2], 5)
    solids = solids_of(known.problem)
    routes = known.vertices[None]
    bundle = Bundle(
        vertices=routes, laid=lay(routes, radius=RADIUS), radius=RADIUS, covered=ENDS
    )
    found = contacts(bundle, stack(solids), within=25.0)
    assert len(found.distance) > 3
    for distance, at, away in zip(found.distance, found.point, found.away, strict=True):
        assert np.linalg.norm(away) == pytest.approx(1.0)
        ahead, back = at + 1e-5 * away, at - 1e-5 * away
        match = [
            s for s in solids if abs(clipped_distance(s, at[None])[0] - distance) < 1e-6
        ]
        slopes = [
            (clipped_distance(s, ahead[None])[0] - clipped_distance(s, back[None])[0])
            / 2e-5
            for s in match
        ]
        assert max(slopes) == pytest.approx(1.0, abs=1e-4)


def test_without_solids_there_are_no_contacts() -> None:
    routes = np.array([[[0.0, 0, 0], [100, 0, 0], [100, 100, 0]]])
    bundle = Bundle(
        vertices=routes, laid=lay(routes, radius=RADIUS), radius=RADIUS, covered=(0, 0)
    )
    assert not len(contacts(bundle, stack([]), within=50.0).distance)


def test_nearest_and_free_along_to_one_box() -> None:
    solids = stack([box_at((100, 0, 0), (20, 20, 20)).solid])
    points = np.array([[[0.0, 0, 0], [50, 0, 0]], [[100, 40, 0], [100, 13, 14]]])
    assert nearest(points, solids) == pytest.approx([40.0, math.hypot(3, 4)])
    origins, along = (
        np.array([[0.0, 0, 0], [0, 0, 0]]),
        np.array([[1.0, 0, 0], [0, 1, 0]]),
    )
    gone = free_along(solids, origins, along, reach=10.0, most=300.0, step=1.0)
    assert gone == pytest.approx([80.0, 300.0], abs=1.0)
