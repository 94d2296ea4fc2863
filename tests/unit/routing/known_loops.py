"""Random loops laid first, with bodies placed round them: each surely has a solution.

What is near to what is decided here by dense sampling, without the package's help.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.scene.model import (
    Body,
    Scene,
)
from tests.builders import scenes

Array = NDArray[np.float64]

TUBE_RADIUS, BEND_RADIUS, CLEARANCE, BETWEEN = 5.0, 18.0, 3.0, 8.0
FITTING = scenes.SMALL_COLLAR
FIRST_LEG = FITTING.depth + FITTING.straight_beyond + BEND_RADIUS
LEAST_LEG = 2.0 * BEND_RADIUS + BETWEEN
STEP = 1.0
"""Spacing of the sampled points; they miss less than a tenth of a millimetre [mm]."""

SLACK = 0.1


@dataclass(frozen=True, kw_only=True)
class Known:
    """A route laid beforehand: its vertices, and points along it."""

    vertices: Array
    points: Array

    @property
    def bends(self) -> int:
        return len(self.vertices) - 2

    @property
    def length(self) -> float:
        legs = np.linalg.norm(np.diff(self.vertices, axis=0), axis=1).sum()
        return float(legs - self.bends * (2.0 - np.pi / 2.0) * BEND_RADIUS)


def sampled(
    vertices: Sequence[Sequence[float]] | Array, radius: float = BEND_RADIUS
) -> Array:
    """Points along a tube with square bends, a step apart at most."""
    vertices = np.asarray(vertices)
    parts = []
    start = vertices[0]
    for before, here, after in zip(
        vertices[:-2], vertices[1:-1], vertices[2:], strict=True
    ):
        into = (here - before) / np.linalg.norm(here - before)
        out = (after - here) / np.linalg.norm(after - here)
        parts.append(line(start, here - radius * into))
        turn = np.linspace(0.0, np.pi / 2.0, int(radius * 1.6 / STEP) + 2)[:, None]
        centre = here + radius * (out - into)
        parts.append(centre + radius * (np.sin(turn) * into - np.cos(turn) * out))
        start = here + radius * out
    parts.append(line(start, vertices[-1]))
    return np.concatenate(parts)


def line(start: Array, end: Array) -> Array:
    count = int(np.linalg.norm(end - start) / STEP) + 2
    return start + np.linspace(0.0, 1.0, count)[:, None] * (end - start)


def nearest(first: Array, second: Array) -> float:
    """Least distance between two sets of points."""
    apart = first[:, None, :] - second[None, :, :]
    return float(np.sqrt((apart * apart).sum(axis=2).min()))


def from_box(points: Array, centre: Array, size: Array) -> float:
    """Least distance of points to a box along the axes, 0 inside."""
    beyond = np.maximum(np.abs(points - centre) - size / 2.0, 0.0)
    return float(np.sqrt((beyond * beyond).sum(axis=1)).min())


def random_route(rng: np.random.Generator, side: float, stretch: float) -> Array | None:
    """Vertices of a random square route inside the case, or None."""
    names = sorted(AXES)
    margin = TUBE_RADIUS + CLEARANCE + SLACK
    bends = int(rng.integers(2, 6))
    here = rng.uniform(margin, side - margin, 3)
    along = np.array(AXES[str(rng.choice(names))])
    vertices = [here]
    for leg in range(bends + 1):
        ends = leg in (0, bends)
        least = FIRST_LEG if ends else LEAST_LEG
        here = here + along * (least + rng.uniform(0.0, stretch * side))
        vertices.append(here)
        others = [np.array(AXES[n]) for n in names if abs(np.dot(AXES[n], along)) < 0.5]
        along = others[int(rng.integers(0, len(others)))]
    found = np.array(vertices)
    inside = (found > margin).all() and (found < side - margin).all()
    return found if inside and not crosses_itself(found) else None


def crosses_itself(vertices: Array) -> bool:
    """Whether legs with another one between them come near each other."""
    legs = [line(a, b) for a, b in itertools.pairwise(vertices)]
    return any(
        nearest(legs[i], legs[j]) < 2.0 * TUBE_RADIUS + SLACK
        for i in range(len(legs))
        for j in range(i + 2, len(legs))
    )


def beyond_its_fitting(points: Array, port: Array) -> Array:
    """The points of a tube that are further along it from one of its ports."""
    from_start = np.linalg.norm(points[0] - port) < np.linalg.norm(points[-1] - port)
    walked = points if from_start else points[::-1]
    along = np.cumsum(np.linalg.norm(np.diff(walked, axis=0), axis=1))
    return walked[1:][along > FIRST_LEG]


def fitting_points(seat: Array, along: Array) -> tuple[Array, Array]:
    """Points on the axis of a fitting, and the middle of its port."""
    port = seat - along * (FITTING.height - FITTING.depth)
    return line(port, seat + along * FITTING.depth), port


def random_loop(
    seed: int, *, side: float, runs: int, bodies: int, stretch: float
) -> tuple[Scene, tuple[Known, ...]]:
    """A scene and the routes that were laid in it first."""
    rng = np.random.default_rng(seed)
    known: list[Known] = []
    solids: list[tuple[Array, Array]] = []
    fittings: list[Array] = []
    ports: list[tuple[Array, Array]] = []
    while len(known) < runs:
        vertices = random_route(rng, side, stretch)
        if vertices is None:
            continue
        route = Known(vertices=vertices, points=sampled(vertices))
        ends = _ends(vertices)
        if _fits(route, ends, known, fittings, solids, side):
            known.append(route)
            for along, seat in ends:
                axis, port = fitting_points(seat, along)
                fittings.append(axis)
                ports.append((port, along))
                solids.append(_behind(port, along))
    placed = list(solids)
    tries = 0
    while len(placed) < bodies and tries < 4000:
        tries += 1
        centre, size = rng.uniform(0.0, side, 3), rng.uniform(8.0, 0.4 * side, 3)
        if (centre - size / 2 < 0).any() or (centre + size / 2 > side).any():
            continue
        clear_of_tubes = all(
            from_box(route.points, centre, size) >= TUBE_RADIUS + CLEARANCE + SLACK
            for route in known
        )
        clear_of_fittings = all(
            from_box(axis, centre, size) >= FITTING.diameter / 2.0 for axis in fittings
        )
        if clear_of_tubes and clear_of_fittings:
            placed.append((centre, size))
    return _scene(placed, ports, side), tuple(known)


def _ends(vertices: Array) -> list[tuple[Array, Array]]:
    """Direction and seat of both ends."""
    first = vertices[1] - vertices[0]
    last = vertices[-2] - vertices[-1]
    return [
        (first / np.linalg.norm(first), vertices[0]),
        (last / np.linalg.norm(last), vertices[-1]),
    ]


def _behind(port: Array, along: Array) -> tuple[Array, Array]:
    """A small box that carries a port: its middle and size."""
    size = np.where(np.abs(along) > 0.5, 6.0, 18.0)
    return port - along * 3.0, size


def _fits(
    route: Known,
    ends: list[tuple[Array, Array]],
    known: list[Known],
    fittings: list[Array],
    solids: list[tuple[Array, Array]],
    side: float,
) -> bool:
    """Whether a route keeps clear of all that is there, and all that of it."""
    apart = 2.0 * TUBE_RADIUS + CLEARANCE + SLACK
    if any(nearest(route.points, other.points) < apart for other in known):
        return False
    body = FITTING.diameter / 2.0 * 1.42 + TUBE_RADIUS + CLEARANCE + SLACK
    if any(nearest(route.points, axis) < body for axis in fittings):
        return False
    wanted = TUBE_RADIUS + CLEARANCE + SLACK
    if any(from_box(route.points, *solid) < wanted for solid in solids):
        return False
    own = [fitting_points(seat, along) for along, seat in ends]
    boxes = [
        _behind(port, along) for (along, _), (_, port) in zip(ends, own, strict=True)
    ]
    for (axis, port), (centre, size) in zip(own, boxes, strict=True):
        if (centre - size / 2 < 0).any() or (centre + size / 2 > side).any():
            return False
        if any(nearest(axis, other.points) < body for other in known):
            return False
        if any(from_box(axis, *solid) < FITTING.diameter for solid in solids):
            return False
        if any(from_box(other, centre, size) < FITTING.diameter for other in fittings):
            return False
        if any(from_box(o.points, centre, size) < wanted for o in known):
            return False
        inner = beyond_its_fitting(route.points, port)
        if from_box(inner, centre, size) < wanted or nearest(inner, axis) < body:
            return False
    return nearest(own[0][0], own[1][0]) > 2.0 * FITTING.diameter


def _scene(
    solids: list[tuple[Array, Array]], ports: list[tuple[Array, Array]], side: float
) -> Scene:
    components = [
        scenes.part(
            f"part {number}",
            Body(name=f"part {number}", solid=_box(*solids[number])),
            scenes.port(
                f"part {number}.port",
                point(face),
                _axis(along),
                fittings=(FITTING,),
            ),
        )
        for number, (face, along) in enumerate(ports)
    ]
    others = [
        Body(name=f"body {number}", solid=_box(*solid))
        for number, solid in enumerate(solids[len(ports) :])
    ]
    return scenes.scene(
        *components,
        inner=(side, side, side),
        title="random loop",
        tube=scenes.small_tube(inner_diameter=6.0, stock_length=500.0),
        rules=scenes.small_rules(),
        keep_outs=others,
        runs=[
            scenes.wanted(
                f"run {number}",
                f"part {2 * number}.port",
                f"part {2 * number + 1}.port",
            )
            for number in range(len(ports) // 2)
        ],
    )


def _box(centre: Array, size: Array) -> Box:
    return Box(frame=Frame(origin=point(centre)), size=point(size))


def _axis(along: Array) -> Point:
    return point(np.round(along) + 0.0)
