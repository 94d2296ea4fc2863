"""Tubes with bends of any angle laid out and judged without the package's help."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopsolver.routing.problem import Candidate, RouteProblem
from loopsolver.tube.bend_table import BendTable
from tests.unit.routing.touching import (
    FREE,
    Array,
    Stretches,
    clipped_distance,
    straights,
    worst_verdicts,
)

EVEN = 1e-6
"""What is equal on paper may be this much short [mm]."""

RESOLVED = 2e-4
"""Twice what gaps are resolved to: routes are drawn in until the gap says stop [mm]."""

CLOSED = 0.01
"""A bend table laid forward comes this near to the far port [mm and degrees]."""


@dataclass(frozen=True)
class Tube:
    """A tube from its vertices (n, 3) and the radius of its bends."""

    vertices: Array
    radius: float

    @property
    def ways(self) -> Array:
        """Unit directions of the legs."""
        legs = np.diff(self.vertices, axis=0)
        return legs / np.linalg.norm(legs, axis=1)[:, None]

    @property
    def angles(self) -> Array:
        """Bend angles [rad], from half chords, which is exact where cosines are not."""
        before, after = self.ways[:-1], self.ways[1:]
        half = np.linalg.norm(after - before, axis=1) / 2.0
        return 2.0 * np.arcsin(np.minimum(half, 1.0))

    @property
    def turns(self) -> Array:
        """Angles between the planes of neighbouring bends [rad], without a sign."""
        across = np.cross(self.ways[:-1], self.ways[1:])
        across /= np.linalg.norm(across, axis=1)[:, None]
        half = np.linalg.norm(across[1:] - across[:-1], axis=1) / 2.0
        return 2.0 * np.arcsin(np.minimum(half, 1.0))

    @property
    def outs(self) -> Array:
        """Take-out at every vertex, 0 at the tube ends [mm]."""
        return np.array([0.0, *(self.radius * np.tan(self.angles / 2.0)), 0.0])

    @property
    def straights(self) -> Array:
        legs = np.linalg.norm(np.diff(self.vertices, axis=0), axis=1)
        return legs - self.outs[:-1] - self.outs[1:]

    @property
    def length(self) -> float:
        return float(self.straights.sum() + self.radius * self.angles.sum())

    def straight_stretches(self, covered: tuple[float, float]) -> Stretches:
        """The straights less what is covered at both ends."""
        starts = self.vertices[:-1] + self.outs[:-1, None] * self.ways
        ends = self.vertices[1:] - self.outs[1:, None] * self.ways
        starts[0] += covered[0] * self.ways[0]
        ends[-1] -= covered[1] * self.ways[-1]
        return straights(starts, ends)

    def bent_stretches(self) -> Stretches:
        """The arcs: about centres on the inner bisectors."""
        before, after = self.ways[:-1], self.ways[1:]
        starts = self.vertices[1:-1] - self.outs[1:-1, None] * before
        inward = after - (after * before).sum(axis=1)[:, None] * before
        inward /= np.linalg.norm(inward, axis=1)[:, None]
        centres = starts + self.radius * inward

        def at(rows: NDArray[np.intp], walked: Array) -> Array:
            turned = (walked / self.radius)[:, None]
            return centres[rows] + self.radius * (
                np.sin(turned) * before[rows] - np.cos(turned) * inward[rows]
            )

        return Stretches(lengths=self.radius * self.angles, at=at)


def tube_of(candidate: Candidate) -> Tube:
    return Tube(
        vertices=np.array(candidate.centreline.vertices),
        radius=candidate.centreline.radius,
    )


def points_on(tube: Tube, *, apart: float, covered: tuple[float, float]) -> Array:
    """Points on the centre line, no further than `apart` from one another."""
    parts = [
        _points_of(stretches, number, apart)
        for stretches in (tube.straight_stretches(covered), tube.bent_stretches())
        for number in range(len(stretches.lengths))
    ]
    return np.concatenate(parts)


def _points_of(stretches: Stretches, number: int, apart: float) -> Array:
    length = stretches.lengths[number]
    walked = np.linspace(0.0, length, max(math.ceil(length / apart), 1) + 1)
    return stretches.at(np.full(len(walked), number), walked)


def least_gap_of(tube: Tube, problem: RouteProblem, *, apart: float) -> float:
    """The least gap of points on a tube to any obstacle; up to `apart` / 2 too much."""
    covered = (problem.start.covered, problem.goal.covered)
    points = points_on(tube, apart=apart, covered=covered)
    return (
        min(
            float(clipped_distance(obstacle.solid, points).min())
            for obstacle in problem.obstacles
        )
        - problem.tube_radius
    )


def complaints(tube: Tube, problem: RouteProblem) -> list[str]:
    """What is wrong with a tube as an answer to a run."""
    found = [*_closure(tube, problem), *_bench(tube, problem)]
    return found or [*_touches(tube, problem), *_own_way(tube, problem)]


def _closure(tube: Tube, problem: RouteProblem) -> list[str]:
    """Whether it begins and ends on the seats, along the fittings."""
    found = []
    for name, end, vertex, way in (
        ("start", problem.start, tube.vertices[0], tube.ways[0]),
        ("goal", problem.goal, tube.vertices[-1], -tube.ways[-1]),
    ):
        if np.linalg.norm(vertex - end.seat) > 1e-6:
            found.append(f"is not on its seat at the {name}")
        askew = math.degrees(np.linalg.norm(np.cross(way, end.direction)))
        if askew > CLOSED or way @ np.array(end.direction) < 0.0:
            found.append(f"stands {askew:.4f} degrees askew at the {name}")
    return found


def _bench(tube: Tube, problem: RouteProblem) -> list[str]:
    """What a bench would not let it have: angles, straights, number of bends."""
    found = []
    degrees = np.degrees(tube.angles)
    if problem.bend_angles_deg != "any":
        off = [min(abs(a - b) for b in problem.bend_angles_deg) for a in degrees]
        found += [
            f"a bend of {a:.5f}" for a, o in zip(degrees, off, strict=True) if o > 1e-5
        ]
    if problem.turn_step_deg != "any":
        found += [
            f"a turn of {turn:.5f}"
            for turn in np.degrees(tube.turns)
            if abs(math.remainder(turn, problem.turn_step_deg)) > 1e-5
        ]
    if len(degrees) > problem.max_bends:
        found.append("too many bends")
    least = np.full(len(tube.straights), problem.straight_between_bends)
    least[0] = problem.start.straight
    least[-1] = max(problem.goal.straight, least[-1] if len(least) == 1 else 0.0)
    short = least - tube.straights
    found += [f"a straight {s:.6f} mm too short" for s in short if s > EVEN]
    return found


def _touches(tube: Tube, problem: RouteProblem) -> list[str]:
    covered = (problem.start.covered, problem.goal.covered)
    limit = problem.tube_radius + problem.clearance - RESOLVED
    stretches = [tube.straight_stretches(covered), tube.bent_stretches()]
    return [
        f"too near to {obstacle.name}"
        for obstacle in problem.obstacles
        if any(
            (worst_verdicts(s, [obstacle.solid], limit=limit) != FREE).any()
            for s in stretches
        )
    ]


def _own_way(tube: Tube, problem: RouteProblem) -> list[str]:
    """Whether the tube runs into itself, or back through its own fittings."""
    found = []
    bends = len(tube.vertices) - 2
    every = [
        (kind, number)
        for number in range(bends + 1)
        for kind in ([0, 1] if number < bends else [0])
    ]
    both = [tube.straight_stretches((0.0, 0.0)), tube.bent_stretches()]
    points = [_points_of(both[kind], number, 1.0) for kind, number in every]
    for own in problem.own_fittings:
        inner = np.concatenate(points[2:-2]) if len(points) > 5 else points[0][:0]
        if len(inner) and clipped_distance(own.solid, inner).min() < (
            problem.tube_radius - RESOLVED
        ):
            found.append(f"runs through its {own.name}")
    for first in range(len(points)):
        for second in range(first + 4, len(points)):
            apart = points[first][:, None] - points[second][None]
            near = np.linalg.norm(apart, axis=2).min()
            if near < 2.0 * problem.tube_radius - 0.05:
                found.append("runs through itself")
    return found


def laid_forward(table: BendTable, problem: RouteProblem, towards: Array) -> Array:
    """Where a bend table leads, bend by bend with rotation matrices.

    Returns
    -------
    array (2, 3)
        The far tube end [mm], and the direction in which the tube arrives there.
    """
    at, way = np.array(problem.start.seat), np.array(problem.start.direction)
    side = towards - (towards @ way) * way
    side /= np.linalg.norm(side)
    for number, bend in enumerate(table.bends):
        at = at + bend.straight * way
        if number:
            side = _turned(side, way, math.radians(bend.rotation_deg))
        axis = np.cross(way, side)
        centre = at + table.radius * side
        angle = math.radians(bend.angle_deg)
        at = centre + _turned(at - centre, axis, angle)
        way, side = _turned(way, axis, angle), _turned(side, axis, angle)
    return np.array([at + table.closing_straight * way, way])


def _turned(vector: Array, axis: Array, angle: float) -> Array:
    """A vector turned about a unit axis, right-handed (Rodrigues)."""
    return (
        math.cos(angle) * vector
        + math.sin(angle) * np.cross(axis, vector)
        + (1.0 - math.cos(angle)) * (axis @ vector) * axis
    )


def candidate_complaints(candidate: Candidate, problem: RouteProblem) -> list[str]:
    """What is wrong with a candidate: its tube, its table, its figures."""
    tube = tube_of(candidate)
    found = complaints(tube, problem)
    if tube.radius != problem.bend_radius:
        found.append("another bend radius")
    if abs(tube.length - candidate.length) > 1e-6:
        found.append("length")
    if len(tube.angles):
        towards = tube.vertices[2] - tube.vertices[1]
        end, way = laid_forward(candidate.table, problem, towards)
        if np.linalg.norm(end - problem.goal.seat) > CLOSED:
            found.append("its table misses the far port")
        askew = np.linalg.norm(way + problem.goal.direction)
        if math.degrees(askew) > CLOSED:
            found.append("its table arrives askew")
    sampled = least_gap_of(tube, problem, apart=1.0)
    if not sampled - 0.5 <= candidate.gap.distance <= sampled + 1e-4:
        found.append(f"gap {candidate.gap.distance} but samples say {sampled}")
    return found
