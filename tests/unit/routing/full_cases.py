"""Random cases with some forty bodies, and an independent check of what is found."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.routing.problem import Candidate, RouteProblem, TubeEnd
from tests.builders.problems import (
    BEND_RADIUS,
    REACH,
    case_walls,
    collar_round,
    end_at,
    numbered,
    problem,
)
from tests.builders.small_runs import random_frame
from tests.unit.routing.touching import (
    FREE,
    Array,
    arcs,
    clipped_distance,
    straights,
    worst_verdicts,
)

INNER: Point = (220.0, 440.0, 410.0)

RESOLVED = 1.1e-4
"""What a gap may be short of: the resolution of gaps, and a hair [mm]."""


def random_body(rng: np.random.Generator, *, largest: float, square: float) -> Solid:
    centre = point(rng.uniform(0.0, 1.0, 3) * np.array(INNER))
    frame = random_frame(rng, centre, square=square)
    if rng.random() < 0.7:
        return Box(frame=frame, size=point(rng.uniform(2.0, largest, 3)))
    diameter, height = rng.uniform(5.0, largest, 2)
    return Cylinder(frame=frame, diameter=float(diameter), height=float(height))


def has_room(end: TubeEnd, solids: list[Solid]) -> bool:
    """Whether a first bend may follow the straight, as far as samples tell."""
    along = np.linspace(end.covered, end.straight + 2.0 * BEND_RADIUS, 60)
    points = np.array(end.seat) + along[:, None] * np.array(end.direction)
    return all((clipped_distance(s, points) > REACH).all() for s in solids)


def random_tube_end(rng: np.random.Generator, solids: list[Solid]) -> TubeEnd:
    while True:
        seat = rng.uniform(0.05, 0.95, 3) * np.array(INNER)
        end = end_at(seat, str(rng.choice(sorted(AXES))))
        if has_room(end, solids):
            return end


def random_problem(
    seed: int, *, bodies: int = 40, largest: float = 90.0, square: float = 0.8
) -> RouteProblem:
    """A run in a case full of bodies."""
    rng = np.random.default_rng(seed)
    bodies_of = (
        random_body(rng, largest=largest, square=square) for _ in range(bodies)
    )
    obstacles = numbered("body", bodies_of)
    obstacles += case_walls(INNER)
    solids = [obstacle.solid for obstacle in obstacles]
    start, goal = random_tube_end(rng, solids), random_tube_end(rng, solids)
    return problem(
        start,
        goal,
        obstacles,
        inner=INNER,
        own_fittings=(
            collar_round(start, "fitting at the start"),
            collar_round(goal, "fitting at the goal"),
        ),
    )


@dataclass(frozen=True)
class Laid:
    """A tube laid out again from its vertices alone."""

    starts: Array
    ends: Array
    corners: Array
    come_from: Array
    go_to: Array
    radius: float

    @property
    def straight_lengths(self) -> Array:
        ways = self.directions
        return ((self.ends - self.starts) * ways).sum(axis=1)

    @property
    def directions(self) -> Array:
        return np.vstack([self.go_to[:0], *self._ways()])

    def _ways(self) -> list[Array]:
        if not len(self.corners):
            way = self.ends - self.starts
            return [way / np.linalg.norm(way)]
        return [-self.come_from[:1], self.go_to]


def lay(vertices: tuple[Point, ...], radius: float) -> Laid:
    """Straights and quarter arcs of a tube with square bends."""
    at = np.array(vertices)
    legs = np.diff(at, axis=0)
    ways = legs / np.linalg.norm(legs, axis=1)[:, None]
    starts, ends = at[:-1].copy(), at[1:].copy()
    starts[1:] += radius * ways[1:]
    ends[:-1] -= radius * ways[:-1]
    return Laid(
        starts=starts,
        ends=ends,
        corners=at[1:-1],
        come_from=-ways[:-1],
        go_to=ways[1:],
        radius=radius,
    )


def complaints(
    candidate: Candidate, problem: RouteProblem, *, rounded: float = 1e-9
) -> list[str]:
    """What is wrong with a candidate, measured without the package's help.

    `rounded` is how far vertices may be off from having been written down [mm].
    """
    vertices, radius = candidate.centreline.vertices, problem.bend_radius
    tube = lay(vertices, radius)
    found = []
    if candidate.centreline.radius != radius:
        found.append("bend radius")
    if not np.allclose(vertices[0], problem.start.seat, rtol=0, atol=rounded):
        found.append("does not begin on its seat")
    if not np.allclose(vertices[-1], problem.goal.seat, rtol=0, atol=rounded):
        found.append("does not end on its seat")
    if not np.allclose(tube.directions[0], problem.start.direction, atol=rounded):
        found.append("leaves askew")
    if not np.allclose(-tube.directions[-1], problem.goal.direction, atol=rounded):
        found.append("arrives askew")
    for before, after in pairwise(tube.directions):
        if abs(before @ after) > rounded:
            found.append("a bend that is not square")
    least = np.full(len(tube.starts), problem.straight_between_bends)
    least[0] = problem.start.straight
    least[-1] = max(problem.goal.straight, least[-1] if len(least) == 1 else 0.0)
    if (tube.straight_lengths < least - max(1e-6, 2.0 * rounded)).any():
        found.append("a straight that is too short")
    length = tube.straight_lengths.sum() + len(tube.corners) * radius * np.pi / 2.0
    if abs(length - candidate.length) > max(1e-6, 10.0 * rounded):
        found.append("length")
    return [*found, *_touches(tube, problem), *own_way(tube, problem)]


def samples(tube: Laid, problem: RouteProblem, *, spacing: float) -> Array:
    """Points along a tube in order, its covered ends left out, (n, 3) [mm]."""
    starts, ends = tube.starts.copy(), tube.ends.copy()
    starts[0] += problem.start.covered * tube.directions[0]
    ends[-1] -= problem.goal.covered * tube.directions[-1]
    lines = straights(starts, ends)
    bends = arcs(tube.corners, tube.come_from, tube.go_to, tube.radius)
    parts = []
    for number in range(len(starts)):
        for stretches in (lines, bends):
            if number < len(stretches.lengths):
                length = stretches.lengths[number]
                walked = np.linspace(0.0, length, int(length / spacing) + 2)
                rows = np.full(len(walked), number)
                parts.append(stretches.at(rows, walked))
    return np.concatenate(parts)


COARSE = 40
"""First every fortieth sample is looked at, then those that may be near."""


def least_distance(points: Array, solid: Solid, *, spacing: float) -> float:
    """The least distance of points to a solid, as far as it is below 30 mm."""
    coarse = clipped_distance(solid, points[::COARSE])
    near = np.repeat(coarse < coarse.min() + 2.0 * COARSE * spacing, COARSE)
    if coarse.min() > 30.0:
        return float(coarse.min())
    return float(clipped_distance(solid, points[near[: len(points)]]).min())


SPACING = 0.04
"""Between samples of a finished tube [mm].

A distance may be lower between two samples by spacing^2 / 8 times what it bends at the
most, 1 / REACH + 1 / BEND_RADIUS: 3e-5 mm.
"""


def _touches(tube: Laid, problem: RouteProblem) -> list[str]:
    """Obstacles that the tube comes too near to, its covered ends left out."""
    points = samples(tube, problem, spacing=SPACING)
    limit = problem.tube_radius + problem.clearance - RESOLVED
    return [
        f"too near to {obstacle.name}"
        for obstacle in problem.obstacles
        if least_distance(points, obstacle.solid, spacing=SPACING) < limit
    ]


def own_way(tube: Laid, problem: RouteProblem) -> list[str]:
    """Whether the tube runs into itself, or back through its own fittings."""
    found = []
    count = len(tube.corners)
    bends = arcs(tube.corners, tube.come_from, tube.go_to, tube.radius)
    if count > 2:
        inner = straights(tube.starts[1:-1], tube.ends[1:-1])
        inner_bends = arcs(
            tube.corners[1:-1], tube.come_from[1:-1], tube.go_to[1:-1], tube.radius
        )
        own = [obstacle.solid for obstacle in problem.own_fittings]
        for stretches in (inner, inner_bends):
            limit = problem.tube_radius - RESOLVED
            if (worst_verdicts(stretches, own, limit=limit) != FREE).any():
                found.append("runs through its own fitting")
    points = []
    for number in range(count + 1):
        step = np.linspace(0.0, 1.0, 80)[:, None]
        line = tube.starts[number] + step * (tube.ends[number] - tube.starts[number])
        points.append(line)
        if number < count:
            walked = np.linspace(0.0, bends.lengths[number], 80)
            points.append(bends.at(np.full(80, number), walked))
    for first in range(len(points)):
        for second in range(first + 4, len(points)):
            apart = points[first][:, None] - points[second][None]
            # Samples are up to 6 mm apart; a touch found here is a real one.
            if (np.linalg.norm(apart, axis=2) < 2.0 * problem.tube_radius - 0.01).any():
                found.append("runs through itself")
    return found


def least_sampled_gap(candidate: Candidate, problem: RouteProblem) -> float:
    """The least distance of samples on the tube to any obstacle, less the radius."""
    tube = lay(candidate.centreline.vertices, problem.bend_radius)
    points = samples(tube, problem, spacing=SPACING)
    return (
        min(
            least_distance(points, obstacle.solid, spacing=SPACING)
            for obstacle in problem.obstacles
        )
        - problem.tube_radius
    )


def moved_problem(
    problem: RouteProblem, matrix: Array, shift: Array, *, inner: Point
) -> RouteProblem:
    """The whole run turned or mirrored by an orthogonal matrix, then shifted."""

    def position(at: Point) -> Point:
        return point(matrix @ np.array(at) + shift)

    def direction(of: Point) -> Point:
        return point(matrix @ np.array(of))

    def solid(of: Solid) -> Solid:
        if isinstance(of, HalfSpace):
            return HalfSpace(point=position(of.point), normal=direction(of.normal))
        x, y, z = (direction(axis) for axis in of.frame.axes)
        # Boxes and cylinders are their own mirror images; frames stay right-handed.
        if np.linalg.det(matrix) < 0.0:
            x = point(-np.array(x))
        return replace(
            of, frame=Frame(origin=position(of.frame.origin), axes=(x, y, z))
        )

    def end(of: TubeEnd) -> TubeEnd:
        return replace(of, seat=position(of.seat), direction=direction(of.direction))

    def obstacles(of: tuple[Obstacle, ...]) -> tuple[Obstacle, ...]:
        return tuple(replace(one, solid=solid(one.solid)) for one in of)

    return replace(
        problem,
        start=end(problem.start),
        goal=end(problem.goal),
        room=((0.0, 0.0, 0.0), inner),
        obstacles=obstacles(problem.obstacles),
        own_fittings=obstacles(problem.own_fittings),
    )


def within_the_case(problem: RouteProblem, matrix: Array) -> RouteProblem:
    """The whole run turned or mirrored so that the case has its corner in the datum."""
    corner = matrix @ np.array(problem.room[1])
    return moved_problem(
        problem, matrix, np.maximum(-corner, 0.0), inner=point(np.abs(corner))
    )


def reversed_problem(problem: RouteProblem) -> RouteProblem:
    """The same run from its other end."""
    return replace(
        problem,
        start=problem.goal,
        goal=problem.start,
        own_fittings=problem.own_fittings[::-1],
    )
