"""Random loops laid first, with bodies placed round them: each surely has a solution.

What is near to what is decided here by dense sampling, without the package's help.
"""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

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

FINE = 0.1
"""Points so near miss (0.05^2 + 0.05^2) / 26 of the distance of two tubes [mm]."""

APART = 2.0 * TUBE_RADIUS + CLEARANCE
"""What centre lines of two tubes must keep [mm]."""


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
    vertices: Sequence[Sequence[float]] | Array,
    radius: float = BEND_RADIUS,
    step: float = STEP,
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
        parts.append(line(start, here - radius * into, step))
        turn = np.linspace(0.0, np.pi / 2.0, int(radius * 1.6 / step) + 2)[:, None]
        centre = here + radius * (out - into)
        parts.append(centre + radius * (np.sin(turn) * into - np.cos(turn) * out))
        start = here + radius * out
    parts.append(line(start, vertices[-1], step))
    return np.concatenate(parts)


def line(start: Array, end: Array, step: float = STEP) -> Array:
    count = int(np.linalg.norm(end - start) / step) + 2
    return start + np.linspace(0.0, 1.0, count)[:, None] * (end - start)


def nearest(first: Array, second: Array) -> float:
    """Least distance between two sets of points."""
    apart = first[:, None, :] - second[None, :, :]
    return float(np.sqrt((apart * apart).sum(axis=2).min()))


def from_box(points: Array, centre: Array, size: Array) -> float:
    """Least distance of points to a box along the axes, 0 inside."""
    beyond = np.maximum(np.abs(points - centre) - size / 2.0, 0.0)
    return float(np.sqrt((beyond * beyond).sum(axis=1)).min())


def known_of(vertices: Array) -> Known:
    return Known(vertices=vertices, points=sampled(vertices))


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


Spaced = Callable[[Known, Known], bool]
"""Whether two tubes lie far enough apart."""


def loosely(one: Known, other: Known) -> bool:
    return nearest(one.points, other.points) >= APART + SLACK


def barely(one: Known, other: Known) -> bool:
    if nearest(one.points, other.points) > APART + STEP:
        return True
    return finely_apart(one, other) >= APART


def finely_apart(one: Known, other: Known) -> float:
    tree = cKDTree(sampled(other.vertices, step=FINE))
    return float(tree.query(sampled(one.vertices, step=FINE))[0].min())


Fits = Callable[[Array, Spaced], bool]
"""Whether a tube of these vertices keeps clear of all that is there."""

Placing = Callable[[Array, Fits, Sequence[Known]], Array]
"""Where a tube that fits is laid beside the others."""


def as_drawn(vertices: Array, fits: Fits, known: Sequence[Known]) -> Array:
    return vertices


def drawn_up(vertices: Array, fits: Fits, known: Sequence[Known]) -> Array:
    """Moved along an axis until it lies no further from another tube than it must."""
    for along in AXES.values():
        here, step = vertices, 4.0 * np.array(along)
        while fits(here + step, barely):
            here = here + step
        near = [
            k for k in known if nearest(known_of(here).points, k.points) < APART + 5
        ]
        while near and np.abs(step).max() > 1e-3:
            step = step / 2.0
            here = here + step if fits(here + step, barely) else here
        if any(finely_apart(known_of(here), other) < APART + 0.01 for other in near):
            return here
    return vertices


def random_loop(
    seed: int,
    *,
    side: float,
    runs: int,
    bodies: int,
    stretch: float,
    placing: Placing = as_drawn,
) -> tuple[Scene, tuple[Known, ...]]:
    """A scene and the routes that were laid in it first."""
    rng = np.random.default_rng(seed)
    known: list[Known] = []
    solids: list[tuple[Array, Array]] = []
    fittings: list[Array] = []
    ports: list[tuple[Array, Array]] = []

    def fits(vertices: Array, spaced: Spaced) -> bool:
        route = known_of(vertices)
        return all(spaced(route, other) for other in known) and _fits(
            route, _ends(vertices), known, fittings, solids, side
        )

    while len(known) < runs:
        vertices = random_route(rng, side, stretch)
        if vertices is not None and fits(vertices, loosely):
            vertices = placing(vertices, fits, known)
            known.append(known_of(vertices))
            for along, seat in _ends(vertices):
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


def with_free_goals(scene: Scene) -> Scene:
    """The same, each run free to end where any of them does."""
    goals = tuple(run.to_ports[0] for run in scene.runs)
    return replace(
        scene, runs=tuple(replace(run, to_ports=goals) for run in scene.runs)
    )


def closed(scene: Scene) -> Scene:
    """The same without runs: where one ends and the next begins is one part.

    So the runs make a closed loop over the parts, in their order.
    """
    ends = scene.components
    parts = [
        scenes.part(
            f"c{number}",
            *ends[2 * number - 1].bodies,
            *ends[2 * number].bodies,
            *ends[2 * number - 1].ports,
            *ends[2 * number].ports,
        )
        for number in range(len(scene.runs))
    ]
    renamed = [
        replace(
            part,
            ports=tuple(
                replace(port, name=f"{part.name}.{key}")
                for port, key in zip(part.ports, ("end", "start"), strict=True)
            ),
        )
        for part in parts
    ]
    return replace(scene, components=tuple(renamed), runs=())


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
    """Whether a route keeps clear of all but the tubes, and all that of it."""
    margin = TUBE_RADIUS + CLEARANCE + SLACK
    if route.points.min() < margin or route.points.max() > side - margin:
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
