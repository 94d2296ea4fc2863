"""Two and three bends with nothing in the way: against scipy's optimisers.

With no obstacle near, the shortest tube of so many bends is a small problem of its own:
the first vertex lies on the one port's axis, the last on the other's, the middle one
anywhere; straights and angles have their limits. Here it is put to differential evolution
and sequential quadratic programming, from many starts, on a tube laid out in this module.

By default a few pairs of ports are compared; fifty of each sort, which takes some ten
minutes, with::

    LOOPSOLVER_FULL=1 pytest tests/property/test_angled_optimiser.py
"""

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import pytest
from scipy.optimize import differential_evolution, minimize

from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Found, RouteProblem, TubeEnd
from tests.builders.problems import (
    BEND_RADIUS,
    BETWEEN,
    STRAIGHT,
    end_at,
    random_ends,
    run_between,
)
from tests.full import few_or_all
from tests.property.laid_tubes import Tube, candidate_complaints, complaints, tube_of
from tests.unit.routing.touching import Array

SEEDS = few_or_all(range(0, 50, 16), range(50))

INNER = (900.0, 900.0, 900.0)
MIDDLE = (450.0, 450.0, 450.0)
"""Walls stand further from the ports than any short tube of three bends reaches."""

SHARPEST, SLIGHTEST = math.radians(120.0), math.radians(5.0)
"""No free bend is sharper; of three or more none is slighter (`routing.angled.free`)."""

AS_SHORT = 0.5
"""The search may be this much longer than the optimiser's tube, or shorter [mm].

It ends once two rounds gain less than a hundredth of a millimetre; half a millimetre is
less than a saw and a file leave.
"""

LONGEST_LEG = 400.0
"""Legs on the ports' axes are tried up to this [mm]."""

BROKEN = 50.0
"""Length that a millimetre or a radian of broken rule costs differential evolution."""

MENDED = 5.0
"""The same where a start is chosen from which rules are kept in the end."""

SOLVED = 1e-6
"""How well rules are kept by what counts as solved [mm and rad]."""


PLACES, POPULATION, APART = 500, 150, 30.0
"""Places at random, twice; how many of them evolve; how far apart starts are [mm]."""

NUDGE = 1e-5
"""Of a place, for slopes [mm]."""


@dataclass(frozen=True)
class Ports:
    """Seats and outward directions of both ports, and the number of bends between."""

    p: Array
    d: Array
    q: Array
    g: Array
    bends: int

    def vertices(self, at: Array) -> Array:
        """Vertices (..., bends + 2, 3) of legs on the axes and what lies between.

        `at` (..., 2 or 5): the leg on the first axis, the one on the other, and for
        three bends the middle vertex.
        """
        first = self.p + at[..., :1] * self.d
        last = self.q + at[..., 1:2] * self.g
        ends = [np.broadcast_to(seat, first.shape) for seat in (self.p, self.q)]
        middle = [at[..., 2:]] if self.bends == 3 else []
        return np.stack([ends[0], first, *middle, last, ends[1]], axis=-2)

    @property
    def limits(self) -> list[tuple[float, float]]:
        """Where the parts of `at` are tried."""
        legs = [(STRAIGHT, LONGEST_LEG)] * 2
        if self.bends == 2:
            return legs
        low, high = np.minimum(self.p, self.q) - 200.0, np.maximum(self.p, self.q) + 200
        return legs + list(zip(low.tolist(), high.tolist(), strict=True))

    @property
    def least(self) -> Array:
        return np.array([STRAIGHT, *[BETWEEN] * (self.bends - 1), STRAIGHT])


def ports_of(problem: RouteProblem, bends: int) -> Ports:
    start, goal = problem.start, problem.goal
    return Ports(
        p=np.array(start.seat),
        d=np.array(start.direction),
        q=np.array(goal.seat),
        g=np.array(goal.direction),
        bends=bends,
    )


def figures(vertices: Array) -> tuple[Array, Array, Array]:
    """Length (...), straights (..., legs) and angles (..., bends) of bent tubes.

    A bend of angle w takes R tan(w/2) from both its legs and gives R w back.
    """
    legs = np.diff(vertices, axis=-2)
    sizes = np.sqrt((legs * legs).sum(axis=-1))
    ways = legs / np.maximum(sizes, 1e-9)[..., None]
    cosines = (ways[..., :-1, :] * ways[..., 1:, :]).sum(axis=-1)
    sines = np.linalg.norm(np.cross(ways[..., :-1, :], ways[..., 1:, :]), axis=-1)
    angles = np.arctan2(sines, cosines)
    outs = BEND_RADIUS * np.tan(np.minimum(angles, 3.0) / 2.0)
    straights = sizes.copy()
    straights[..., :-1] -= outs
    straights[..., 1:] -= outs
    length = straights.sum(axis=-1) + BEND_RADIUS * angles.sum(axis=-1)
    return length, straights, angles


def room_of(ports: Ports, at: Array) -> Array:
    """What straights and free angles have to spare; below zero a rule is broken."""
    _, straights, angles = figures(ports.vertices(at))
    room = [straights - ports.least, SHARPEST - angles]
    if ports.bends > 2:
        room.append(angles - SLIGHTEST)
    return np.concatenate(room, axis=-1)


Rule = tuple[str, Callable[[Array], Array]]
"""A kind of rule that scipy knows, "eq" or "ineq", and a function (..., n) of places."""


def slope(of: Callable[[Array], Array]) -> Callable[[Array], Array]:
    """The central difference quotient of a function, all parts at once."""

    def sloped(at: Array) -> Array:
        nudges = NUDGE * np.eye(len(at))
        return ((of(at + nudges) - of(at - nudges)) / (2.0 * NUDGE)).T

    return sloped


def descended(
    ports: Ports, start: Array, rules: Sequence[Rule]
) -> tuple[float, Array] | None:
    """Length and place of the shortest tube near a start, where rules can be kept."""

    def length(at: Array) -> Array:
        return figures(ports.vertices(at))[0]

    found = minimize(
        length,
        start,
        jac=slope(length),
        method="SLSQP",
        bounds=ports.limits,
        constraints=[
            {"type": kind, "fun": rule, "jac": slope(rule)} for kind, rule in rules
        ],
        options={"ftol": 1e-9, "maxiter": 200},
    )
    kept = all(
        (np.abs(rule(found.x)) if kind == "eq" else -rule(found.x)).max() < SOLVED
        for kind, rule in rules
    )
    return (float(found.fun), found.x) if kept else None


def places_in(ports: Ports) -> Array:
    """Many places (n, 2 or 5) at random, half of them anywhere, half not far off."""
    rng = np.random.default_rng(2)
    low, high = np.array(ports.limits).T
    anywhere = rng.uniform(low, high, (PLACES, len(low)))
    spread = rng.uniform(5.0, 60.0, (PLACES, 1))
    near = STRAIGHT + spread * rng.exponential(1.0, (PLACES, 2))
    if ports.bends == 3:
        between = ports.p + rng.uniform(0.0, 1.0, (PLACES, 1)) * (ports.q - ports.p)
        near = np.hstack([near, between + spread * rng.normal(size=(PLACES, 3))])
    return np.concatenate([anywhere, np.clip(near, low, high)])


def apart(places: Array, worth: Array, most: int) -> Array:
    """The best of places, none near another."""
    taken: list[Array] = []
    for place in places[np.argsort(worth, kind="stable")]:
        if all(np.abs(place - other).max() > APART for other in taken):
            taken.append(place)
        if len(taken) == most:
            break
    return np.array(taken)


def led_to(ports: Ports, off: Callable[[Array], Array], places: Array) -> Array:
    """Places led by Newton's least moves to where `off` is 0, as far as they get."""
    low, high = np.array(ports.limits).T
    nudges = NUDGE * np.eye(len(low))
    for _ in range(10):
        around = places[:, None]
        slopes = (off(around + nudges) - off(around - nudges)) / (2.0 * NUDGE)
        back = np.linalg.pinv(slopes.transpose(0, 2, 1), rcond=1e-6)
        moves = (back @ off(places)[..., None])[..., 0]
        places = np.clip(places - np.clip(moves, -60.0, 60.0), low, high)
    return places


def shortest_of(
    ports: Ports, ends: Iterator[tuple[float, Array] | None], problem: RouteProblem
) -> float:
    """The least length among tubes that the independent judge has nothing against."""
    for length, at in sorted((e for e in ends if e is not None), key=lambda e: e[0]):
        tube = Tube(vertices=ports.vertices(at), radius=BEND_RADIUS)
        if not complaints(tube, problem):
            return length
    return math.inf


def shortest_free(problem: RouteProblem, bends: int, *, starts: int) -> float:
    """Length of the shortest tube with free bends; inf where there is none."""
    ports = ports_of(problem, bends)

    def worth(at: Array, cost: float = BROKEN) -> Array:
        length = figures(ports.vertices(at))[0]
        return length - cost * np.minimum(room_of(ports, at), 0.0).sum(axis=-1)

    places = places_in(ports)
    found = differential_evolution(
        lambda at: worth(at.T),
        ports.limits,
        init=places[np.argsort(worth(places), kind="stable")[:POPULATION]],
        rng=1,
        maxiter=300,
        tol=1e-8,
        polish=False,
        vectorized=True,
        updating="deferred",
    )
    others = apart(places, worth(places, MENDED), starts)
    rules = [("ineq", partial(room_of, ports))]
    ends = (descended(ports, start, rules) for start in [found.x, *others])
    return shortest_of(ports, ends, problem)


def shortest_found(found: Found, bends: int) -> float:
    return min(
        (c.length for c in found.candidates if c.bends == bends), default=math.inf
    )


def assert_agree(mine: float, other: float) -> None:
    """Both found nothing, or lengths that agree."""
    assert mine <= other + AS_SHORT
    # What the judge has passed already is a tube, so here the optimiser would be at fault.
    assert other <= mine + AS_SHORT, "the optimiser did not converge"


def ends_of_a_tube(rng: np.random.Generator, angles: Array) -> tuple[TubeEnd, TubeEnd]:
    """Ends that a tube with these bends joins, at any rolls and lengths."""
    ways = [rng.normal(size=3)]
    ways[0] /= np.linalg.norm(ways[0])
    for angle in angles:
        side = np.cross(ways[-1], rng.normal(size=3))
        side /= np.linalg.norm(side)
        ways.append(math.cos(angle) * ways[-1] + math.sin(angle) * side)
    outs = BEND_RADIUS * np.tan(np.array([0.0, *angles, 0.0]) / 2.0)
    legs = STRAIGHT + outs[:-1] + outs[1:] + rng.exponential(40.0, len(ways))
    far = MIDDLE + (legs[:, None] * ways).sum(axis=0)
    return end_at(MIDDLE, ways[0]), end_at(far, -ways[-1])


def solved_by(problem: RouteProblem) -> Found:
    """All tubes found, which the independent judge must have nothing against.

    Of free angles those that a list of candidates leaves out as twins as well.
    """
    found = find_candidates(problem)
    if problem.bend_angles_deg == "any":
        found = Found(candidates=tuple(free_candidates(problem, make_judge(problem))))
    for candidate in found.candidates:
        assert candidate_complaints(candidate, problem) == []
        angles = tube_of(candidate).angles
        assert angles.max() <= SHARPEST + SOLVED
        if problem.bend_angles_deg == "any" and candidate.bends > 2:
            assert angles.min() >= SLIGHTEST - SOLVED
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_two_free_bends_are_as_short_as_optimisers_find(seed: int) -> None:
    rng = np.random.default_rng(seed)
    ends = ends_of_a_tube(rng, np.radians(rng.uniform(5.0, 115.0, 2)))
    problem = run_between(*ends, angles="any", inner=INNER, max_bends=2)
    assert_agree(
        shortest_found(solved_by(problem), 2), shortest_free(problem, 2, starts=6)
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_three_free_bends_are_as_short_as_optimisers_find(seed: int) -> None:
    ends = random_ends(np.random.default_rng(seed), centre=MIDDLE)
    problem = run_between(*ends, angles="any", inner=INNER, max_bends=3)
    assert_agree(
        shortest_found(solved_by(problem), 3), shortest_free(problem, 3, starts=8)
    )


LISTED = (math.radians(45.0), math.radians(90.0))


def shortest_listed(problem: RouteProblem, bends: int, *, starts: int) -> float:
    """Length of the shortest tube with bends of 45 and 90; inf where there is none.

    Every combination of angles is tried on its own. Two bends leave nothing free: their
    tubes are the roots of two equations. Three leave two parts of five free. Places at
    random are led to exact angles, and the likeliest of these descended from.
    """
    ports = ports_of(problem, bends)

    def room(at: Array) -> Array:
        return figures(ports.vertices(at))[1] - ports.least

    def ends() -> Iterator[tuple[float, Array] | None]:
        for angles in itertools.product(LISTED, repeat=bends):

            def off(at: Array, angles: tuple[float, ...] = angles) -> Array:
                return figures(ports.vertices(at))[2] - np.array(angles)

            places = led_to(ports, off, places_in(ports))
            astray = BEND_RADIUS * np.abs(off(places)).sum(axis=-1)
            short = -np.minimum(room(places), 0.0).sum(axis=-1)
            length = figures(ports.vertices(places))[0]
            if bends == 2:
                solved = np.flatnonzero((astray < SOLVED) & (short < SOLVED))
                yield from ((float(length[i]), places[i]) for i in solved)
                continue
            best = apart(places, length + MENDED * (astray + short), starts)
            for start in best:
                yield descended(ports, start, [("ineq", room), ("eq", off)])

    return shortest_of(ports, ends(), problem)


@pytest.mark.parametrize("bends", [2, 3])
@pytest.mark.parametrize("seed", SEEDS)
def test_listed_bends_are_as_short_as_optimisers_find(seed: int, bends: int) -> None:
    rng = np.random.default_rng([seed, bends])
    ends = ends_of_a_tube(rng, rng.choice(LISTED, bends))
    problem = run_between(*ends, angles=(45.0, 90.0), inner=INNER, max_bends=bends)
    assert_agree(
        shortest_found(solved_by(problem), bends),
        shortest_listed(problem, bends, starts=6),
    )
