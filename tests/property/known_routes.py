"""Random runs whose one route is known: laid first, bodies placed round it.

Nothing here asks the search, or the package's own distances: routes are laid out from
directions and lengths, and a body is kept where points on the route are far enough.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, Solid
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.routing.problem import RouteProblem
from loopsolver.scene.model import BendAngles, TurnStep
from tests.builders.problems import (
    BEND_RADIUS,
    BETWEEN,
    COVERED,
    REACH,
    STRAIGHT,
    case_walls,
    collar_round,
    end_at,
    problem,
)
from tests.property.laid_tubes import Tube, complaints, points_on
from tests.unit.routing.touching import Array, clipped_distance

INNER: Point = (240.0, 440.0, 420.0)
HAIRBREADTH = 0.01
"""What bodies keep from a known route beyond the clearance [mm].

Points 0.5 mm apart on it see a body 10 mm away as 0.003 mm further off at most.
"""

EIGHTEEN = [
    steps / np.linalg.norm(steps)
    for place in np.ndindex(3, 3, 3)
    for steps in [np.array(place) - 1]
    if 0 < np.abs(steps).sum() < 3
]
"""Directions along the axes and half way between two of them."""


@dataclass(frozen=True)
class Known:
    """A run, and a route of it: vertices (n, 3) from seat to seat."""

    problem: RouteProblem
    vertices: Array

    @property
    def tube(self) -> Tube:
        return Tube(vertices=self.vertices, radius=self.problem.bend_radius)

    @property
    def bends(self) -> int:
        return len(self.vertices) - 2


def _along_axes(rng: np.random.Generator) -> Array:
    return np.array(AXES[str(rng.choice(sorted(AXES)))])


def _anywhere(rng: np.random.Generator) -> Array:
    direction = rng.normal(size=3)
    return direction / np.linalg.norm(direction)


def _in_between(rng: np.random.Generator, ways: list[Array], angle: float) -> Array:
    """One of the eighteen directions that stands at an angle to the one before."""
    fitting = [d for d in EIGHTEEN if abs(d @ ways[-1] - math.cos(angle)) < 1e-9]
    return fitting[int(rng.integers(len(fitting)))]


def _square_on(rng: np.random.Generator, ways: list[Array], angle: float) -> Array:
    """A direction along an axis at a right angle to the one before."""
    fitting = [d for d in map(np.array, AXES.values()) if abs(d @ ways[-1]) < 1e-9]
    return fitting[int(rng.integers(len(fitting)))]


def _rolled(rng: np.random.Generator, ways: list[Array], angle: float) -> Array:
    """A direction at an angle to the one before, at any roll."""
    before = ways[-1]
    side = np.cross(before, _anywhere(rng))
    side /= np.linalg.norm(side)
    return math.cos(angle) * before + math.sin(angle) * side


def _stepped(
    step_deg: float,
) -> Callable[[np.random.Generator, list[Array], float], Array]:
    """Directions whose bends' planes stand at multiples of a step; the first at any."""

    def turned(rng: np.random.Generator, ways: list[Array], angle: float) -> Array:
        if len(ways) == 1:
            return _rolled(rng, ways, angle)
        across = np.cross(ways[-2], ways[-1])
        turn = math.radians(step_deg * rng.integers(round(360.0 / step_deg)))
        by = Rotation.from_rotvec(turn * ways[-1])
        across = by.apply(across / np.linalg.norm(across))
        return np.asarray(Rotation.from_rotvec(angle * across).apply(ways[-1]))

    return turned


@dataclass(frozen=True)
class Kind:
    """How the known routes of one kind of run are drawn.

    `angle` draws a bend's angle [degrees], `turn` the direction after it; the far port is
    then moved by up to `moved` along each axis [mm], and the route's last bend with it.
    """

    name: str
    bend_angles_deg: BendAngles
    first: Callable[[np.random.Generator], Array]
    angle: Callable[[np.random.Generator], float]
    turn: Callable[[np.random.Generator, list[Array], float], Array]
    ends: Callable[[Array], bool] = lambda direction: True
    turn_step_deg: TurnStep = "any"
    moved: float = 0.0
    bends: tuple[int, ...] = (1, 2, 3, 4)
    bodies: int = 40
    max_bends: int = 5


def _is_along_an_axis(direction: Array) -> bool:
    return bool(np.abs(direction).max() > 0.999)


LISTED = Kind(
    name="[45, 90]",
    bend_angles_deg=(45.0, 90.0),
    first=_along_axes,
    angle=lambda rng: float(rng.choice([45.0, 90.0])),
    turn=_in_between,
    ends=_is_along_an_axis,
)
TILTED_SQUARE = Kind(
    name="[90], tilted",
    bend_angles_deg=(90.0,),
    first=_anywhere,
    angle=lambda rng: 90.0,
    turn=_rolled,
)
TILTED_LISTED = Kind(
    name="[45, 90], tilted",
    bend_angles_deg=(45.0, 90.0),
    first=_anywhere,
    angle=lambda rng: float(rng.choice([45.0, 90.0])),
    turn=_rolled,
)
MOVED = Kind(
    name="any, moved",
    bend_angles_deg="any",
    first=_along_axes,
    angle=lambda rng: 90.0,
    turn=_square_on,
    moved=2.0,
    bends=(2, 3, 4),
)
TILTED_ANY = Kind(
    name="any, tilted",
    bend_angles_deg="any",
    first=_anywhere,
    angle=lambda rng: float(rng.uniform(20.0, 110.0)),
    turn=_rolled,
)
THIRTY = Kind(
    name="[30, 60, 90], tilted",
    bend_angles_deg=(30.0, 60.0, 90.0),
    first=_anywhere,
    angle=lambda rng: float(rng.choice([30.0, 60.0, 90.0])),
    turn=_rolled,
)
SQUARE_STEPPED = replace(
    TILTED_SQUARE, name="[90], turns of 45", turn=_stepped(45.0), turn_step_deg=45.0
)
LISTED_STEPPED = replace(
    TILTED_LISTED, name="[45, 90], turns of 45", turn=_stepped(45.0), turn_step_deg=45.0
)
LISTED_SQUARE = replace(
    TILTED_LISTED, name="[45, 90], turns of 90", turn=_stepped(90.0), turn_step_deg=90.0
)
ANY_STEPPED = replace(
    TILTED_ANY, name="any, turns of 90", turn=_stepped(90.0), turn_step_deg=90.0
)
KINDS = (
    LISTED,
    TILTED_SQUARE,
    TILTED_LISTED,
    MOVED,
    TILTED_ANY,
    THIRTY,
    SQUARE_STEPPED,
    LISTED_STEPPED,
    LISTED_SQUARE,
    ANY_STEPPED,
)
MANY_BENDS = replace(
    TILTED_ANY, name="any, many bends", bends=(6, 7), bodies=200, max_bends=7
)
MANY_LISTED = replace(
    LISTED,
    name="[45], many bends",
    bend_angles_deg=(45.0,),
    angle=lambda rng: 45.0,
    bends=(6,),
    bodies=200,
    max_bends=6,
)
OF_MANY_BENDS = (MANY_BENDS, MANY_LISTED)
ALONG_AXES = replace(
    TILTED_SQUARE, name="[90], along axes", first=_along_axes, turn=_square_on
)
EVERY_KIND = (*KINDS, ALONG_AXES)
_DRAWN = (*KINDS, *OF_MANY_BENDS, ALONG_AXES)
"""A kind's place sets what is drawn of it: new ones come last."""


def known_run(kind: Kind, seed: int) -> Known:
    """A run of a kind with its bodies and a route that is known to solve it.

    In every other run, and where there are many bends, the bodies are pushed towards the
    route till they nearly touch what must stay free.
    """
    rng = np.random.default_rng([_DRAWN.index(kind), seed])
    bends = kind.bends[seed % len(kind.bends)]
    for vertices in _routes(rng, kind, bends):
        walled = _problem(kind, vertices, case_walls(INNER))
        if complaints(Tube(vertices=vertices, radius=BEND_RADIUS), walled):
            continue
        snug = kind in OF_MANY_BENDS or seed // len(kind.bends) % 2 == 1
        bodies = _bodies(rng, vertices, count=kind.bodies, snug=snug)
        return Known(
            problem=_problem(kind, vertices, [*bodies, *case_walls(INNER)]),
            vertices=vertices,
        )
    raise AssertionError


def _routes(rng: np.random.Generator, kind: Kind, bends: int) -> Iterator[Array]:
    while True:
        direction = kind.first(rng)
        steps, angles = [direction], []
        for _ in range(bends):
            angles.append(math.radians(kind.angle(rng)))
            direction = kind.turn(rng, steps, angles[-1])
            steps.append(direction)
        if not kind.ends(direction):
            continue
        outs = BEND_RADIUS * np.tan(np.array([0.0, *angles, 0.0]) / 2.0)
        least = np.array([STRAIGHT, *[BETWEEN] * (bends - 1), STRAIGHT])
        legs = outs[:-1] + least + outs[1:] + rng.exponential(40.0, bends + 1)
        seat = rng.uniform(0.05, 0.95, 3) * np.array(INNER)
        route = np.vstack([seat, seat + np.cumsum(legs[:, None] * steps, axis=0)])
        if (route < REACH).any() or (route > np.array(INNER) - REACH).any():
            continue
        route[-2:] += rng.uniform(-kind.moved, kind.moved, 3)
        yield route


def _problem(kind: Kind, route: Array, obstacles: list[Obstacle]) -> RouteProblem:
    start = end_at(route[0], route[1] - route[0])
    goal = end_at(route[-1], route[-2] - route[-1])
    return problem(
        start,
        goal,
        obstacles,
        inner=INNER,
        bend_angles_deg=kind.bend_angles_deg,
        turn_step_deg=kind.turn_step_deg,
        max_bends=kind.max_bends,
        own_fittings=(
            collar_round(start, "own start"),
            collar_round(goal, "own goal"),
        ),
    )


def _bodies(
    rng: np.random.Generator, route: Array, *, count: int, snug: bool
) -> list[Obstacle]:
    tube = Tube(vertices=route, radius=BEND_RADIUS)
    points = points_on(tube, apart=0.5, covered=(COVERED, COVERED))
    bodies: list[Obstacle] = []
    for _ in range(4000):
        body = _body(rng)
        if snug:
            body = _pushed(rng, body, points)
        far = clipped_distance(body, points).min()
        if far >= REACH + HAIRBREADTH:
            bodies.append(Obstacle(name=f"body {len(bodies)}", solid=body))
        if len(bodies) == count:
            break
    return bodies


def _body(rng: np.random.Generator) -> Box | Cylinder:
    turned = rng.random() < 0.15
    turns = rng.uniform(-180.0, 180.0, 3) if turned else 90.0 * rng.integers(0, 4, 3)
    frame = Frame.from_rotation(
        point(rng.uniform(0.0, 1.0, 3) * np.array(INNER)),
        rotation_matrix(turns.tolist()),
    )
    size = point(rng.uniform(10.0, 90.0, 3))
    if rng.random() < 0.85:
        return Box(frame=frame, size=size)
    return Cylinder(frame=frame, diameter=size[0], height=size[1])


def _pushed(
    rng: np.random.Generator, body: Box | Cylinder, points: Array
) -> Box | Cylinder:
    """The body pushed towards the nearest point until little more than REACH is left."""
    wanted = REACH + HAIRBREADTH + rng.exponential(2.0)
    centre = np.array(body.frame.origin)
    towards = points[np.linalg.norm(points - centre, axis=1).argmin()] - centre

    def at(share: float) -> Box | Cylinder:
        frame = Frame(origin=point(centre + share * towards), axes=body.frame.axes)
        if isinstance(body, Box):
            return Box(frame=frame, size=body.size)
        return Cylinder(frame=frame, diameter=body.diameter, height=body.height)

    low, high = 0.0, 1.0
    for _ in range(20):
        middle = (low + high) / 2.0
        if clipped_distance(at(middle), points).min() >= wanted:
            low = middle
        else:
            high = middle
    return at(low)


def solids_of(problem: RouteProblem) -> list[Solid]:
    return [obstacle.solid for obstacle in problem.obstacles]
