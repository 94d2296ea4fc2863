"""A search of its own for tubes of two and three bends: many starts, each descended.

Nothing of the package's search is asked. A tube of two bends has two free lengths, one
of three bends five (`test_angled_optimiser`): over all sequences of bend angles, places
at random are led to the angles and turns that the rules allow, and from the likeliest
scipy's SLSQP descends to the shortest tube that keeps its straights and its room.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.worth import DEGREE_WORTH, turns_worth
from tests.builders.problems import BEND_RADIUS
from tests.property.laid_tubes import Tube, complaints
from tests.property.test_angled_optimiser import (
    MENDED,
    Ports,
    Rule,
    apart,
    descended,
    figures,
    led_to,
    places_in,
    ports_of,
    room_of,
)
from tests.unit.routing.touching import Array, clipped_distance

STARTS = 4
"""Of each sequence of angles so many places are descended from."""

MARGINS = (0.0, 0.2)
"""Kept beyond the clearance [mm], one after the other until the judge is content.

Corners of bodies lie between samples of the tube; where next to nothing is free there is
room for no margin.
"""

GAINED = 40.0
"""A descent seldom makes a tube shorter by more than this [mm]."""

MISSING = 15.0
"""A start may lack so much room in all [mm]."""

NEAR = 60.0
"""A descent looks at bodies so near to its start [mm], and the judge at all of them."""

STRAIGHT_SAMPLES, BEND_SAMPLES = 30, 9

Cost = tuple[float, ...]
"""Bends, and length with what odd angles and turns count as [mm]."""


def cost_of(tube: Tube, problem: RouteProblem) -> Cost:
    """What a builder gives for a tube."""
    degrees = np.degrees(tube.angles)
    worth = tube.length + turns_worth(np.degrees(tube.turns).tolist())
    if problem.bend_angles_deg == "any":
        off = np.minimum(np.abs(degrees - 45.0), np.abs(degrees - 90.0))
        worth += DEGREE_WORTH * float(off.sum())
    return len(degrees), worth


@dataclass(frozen=True)
class Descents:
    """The search in one run for tubes of one bend count."""

    problem: RouteProblem
    bends: int

    @cached_property
    def ports(self) -> Ports:
        return ports_of(self.problem, self.bends)

    @property
    def sequences(self) -> list[tuple[float, ...] | None]:
        """All sequences of bend angles [degrees]; None leaves them free."""
        angles_deg = self.problem.bend_angles_deg
        allowed = (45.0, 90.0) if angles_deg == "any" else angles_deg
        listed = list(product(allowed, repeat=self.bends))
        return [*listed, None] if angles_deg == "any" else [*listed]

    def astray(self, at: Array, angles_deg: tuple[float, ...] | None) -> Array:
        """How far angles and turns are from what they should be [rad]."""
        vertices = self.ports.vertices(at)
        parts = []
        if angles_deg is not None:
            parts.append(figures(vertices)[2] - np.radians(angles_deg))
        if self.problem.turn_step_deg != "any":
            step = np.radians(self.problem.turn_step_deg)
            turns = turns_of(vertices)
            parts.append(turns - step * np.round(turns / step))
        return np.concatenate([at[..., :0], *parts], axis=-1)

    def room(self, at: Array) -> Array:
        """What straights have to spare, and angles, should these be free."""
        return room_of(self.ports, at)

    def clear(self, at: Array, among: Sequence[Obstacle]) -> Array:
        """What each of some obstacles leaves free beyond the clearance [mm]."""
        points = samples(self.ports.vertices(at), self.problem)
        flat = points.reshape(-1, 3)
        far = [
            clipped_distance(one.solid, flat).reshape(points.shape[:-1]).min(axis=-1)
            for one in among
        ]
        return np.stack(far, axis=-1) - self.problem.reach

    def found(self, most: float) -> Iterator[Tube]:
        """Tubes that the independent judge has nothing against.

        Those that cannot become shorter than `most` [mm] are left out.
        """
        every = self.problem.obstacles
        for angles_deg in self.sequences:

            def off(
                at: Array, angles_deg: tuple[float, ...] | None = angles_deg
            ) -> Array:
                return self.astray(at, angles_deg)

            places = places_in(self.ports)
            if off(places[:1]).shape[-1]:
                places = led_to(self.ports, off, places)
            length = figures(self.ports.vertices(places))[0]
            short = -np.minimum(self.room(places), 0.0).sum(axis=-1)
            wrong = BEND_RADIUS * np.abs(off(places)).sum(axis=-1) + short
            likely = np.flatnonzero((length < most + GAINED) & (wrong < MISSING))
            if not len(likely):
                continue
            lacks = -np.minimum(self.clear(places[likely], every), 0.0).sum(axis=-1)
            kept = lacks < MISSING
            likely, lacks = likely[kept], lacks[kept]
            if not len(likely):
                continue
            worth = length[likely] + MENDED * (wrong[likely] + lacks)
            rules: list[Rule] = [("ineq", self.room)]
            if off(places[:1]).shape[-1]:
                rules.append(("eq", off))
            for start in apart(places[likely], worth, STARTS):
                yield from self._good(start, rules)

    def _good(self, start: Array, rules: list[Rule]) -> Iterator[Tube]:
        every = self.problem.obstacles
        free = self.clear(start, every)
        near = [one for one, far in zip(every, free, strict=True) if far < NEAR]
        for margin in MARGINS:

            def clear(at: Array, margin: float = margin) -> Array:
                return self.clear(at, near) - margin

            ended = descended(self.ports, start, [*rules, ("ineq", clear)])
            if ended is None:
                return
            tube = Tube(vertices=self.ports.vertices(ended[1]), radius=BEND_RADIUS)
            if not complaints(tube, self.problem):
                yield tube
                return


def turns_of(vertices: Array) -> Array:
    """Turns between the planes of neighbouring bends (..., bends - 1) [rad]."""
    legs = np.diff(vertices, axis=-2)
    ways = legs / np.maximum(np.linalg.norm(legs, axis=-1), 1e-9)[..., None]
    across = np.cross(ways[..., :-1, :], ways[..., 1:, :])
    before, after = across[..., :-1, :], across[..., 1:, :]
    sine = (np.cross(before, after) * ways[..., 1:-1, :]).sum(axis=-1)
    return np.arctan2(sine, (before * after).sum(axis=-1))


def samples(vertices: Array, problem: RouteProblem) -> Array:
    """Points on the axes of tubes (..., points, 3), less what their fittings hold."""
    legs = np.diff(vertices, axis=-2)
    ways = legs / np.maximum(np.linalg.norm(legs, axis=-1), 1e-9)[..., None]
    before, after = ways[..., :-1, :], ways[..., 1:, :]
    cosine = np.clip((before * after).sum(axis=-1), -1.0, 1.0)
    angle = np.arccos(cosine)
    out = BEND_RADIUS * np.tan(np.minimum(angle, 3.0) / 2.0)[..., None]
    begin = np.concatenate(
        [
            vertices[..., :1, :] + problem.start.covered * ways[..., :1, :],
            vertices[..., 1:-1, :] + out * after,
        ],
        axis=-2,
    )
    end = np.concatenate(
        [
            vertices[..., 1:-1, :] - out * before,
            vertices[..., -1:, :] - problem.goal.covered * ways[..., -1:, :],
        ],
        axis=-2,
    )
    share = np.linspace(0.0, 1.0, STRAIGHT_SAMPLES)[:, None]
    lines = begin[..., None, :] + share * (end - begin)[..., None, :]
    inward = after - cosine[..., None] * before
    inward /= np.maximum(np.linalg.norm(inward, axis=-1), 1e-9)[..., None]
    turned = angle[..., None, None] * np.linspace(0.0, 1.0, BEND_SAMPLES)[:, None]
    bends = end[..., :-1, None, :] + BEND_RADIUS * (
        np.sin(turned) * before[..., None, :]
        + (1.0 - np.cos(turned)) * inward[..., None, :]
    )
    shape = (*vertices.shape[:-2], -1, 3)
    return np.concatenate([lines.reshape(shape), bends.reshape(shape)], axis=-2)


def least_cost(problem: RouteProblem, *, best: Cost) -> Cost | None:
    """The least cost among tubes of two and three bends that this search finds.

    Looked for are those that could be better than the best that is known.
    """
    costs = []
    for bends in (2, 3):
        most = best[1] if bends == best[0] else np.inf
        if bends <= min(best[0], problem.max_bends):
            tubes = Descents(problem, bends).found(float(most))
            costs += [cost_of(tube, problem) for tube in tubes]
    return min(costs, default=None)
