"""Small random runs on coarse lattices, for comparison with an exhaustive graph."""

from dataclasses import replace

import numpy as np

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.routing.problem import TubeEnd
from loopsolver.routing.square.lattice import SquareRun, square_run
from tests.builders.problems import numbered, problem

SIDE = 150.0
"""Edge of the space that everything lies in [mm]."""

BEND_RADIUS, STRAIGHT_BETWEEN = 10.0, 4.0
TUBE_RADIUS, CLEARANCE = 3.0, 1.5
LEAST_LEG = 2.0 * BEND_RADIUS + STRAIGHT_BETWEEN


def random_frame(rng: np.random.Generator, centre: Point, *, square: float) -> Frame:
    """A frame that is turned by quarter turns with probability `square`."""
    if rng.random() < square:
        turns = 90.0 * rng.integers(0, 4, size=3)
    else:
        turns = rng.uniform(-180.0, 180.0, size=3)
    return Frame.from_rotation(centre, rotation_matrix(turns.tolist()))


def random_solid(rng: np.random.Generator, *, side: float, square: float) -> Solid:
    """A box or cylinder somewhere within the side."""
    frame = random_frame(rng, point(rng.uniform(0.0, side, 3)), square=square)
    if rng.random() < 0.5:
        return Box(frame=frame, size=point(rng.uniform(4.0, 0.4 * side, 3)))
    return Cylinder(
        frame=frame,
        diameter=float(rng.uniform(6.0, 0.35 * side)),
        height=float(rng.uniform(4.0, 0.5 * side)),
    )


def random_end(rng: np.random.Generator) -> TubeEnd:
    """A tube end well inside, pointing along an axis."""
    straight = float(rng.uniform(5.0, 15.0))
    return TubeEnd(
        seat=point(rng.uniform(0.2 * SIDE, 0.8 * SIDE, 3)),
        direction=AXES[str(rng.choice(sorted(AXES)))],
        straight=straight,
        covered=float(rng.uniform(0.0, straight)),
    )


def random_ends(rng: np.random.Generator) -> tuple[TubeEnd, TubeEnd]:
    """Two tube ends; half of the pairs so that one or two bends may join them."""
    start, goal = random_end(rng), random_end(rng)
    if rng.random() < 0.5:
        return start, goal
    along = np.array(start.direction)
    across = np.roll(along, int(rng.integers(1, 3))) * rng.choice([-1.0, 1.0])
    far, aside = rng.uniform(20.0, 70.0, size=2)
    directions = {"corner": -across, "u-turn": along, "offset": -along}
    direction = directions[str(rng.choice(sorted(directions)))]
    middle = SIDE / 2.0 + rng.uniform(-15.0, 15.0, size=3)
    start = replace(start, seat=point(middle - (far * along + aside * across) / 2.0))
    goal = replace(
        goal,
        seat=point(middle + (far * along + aside * across) / 2.0),
        direction=point(direction),
    )
    return start, goal


def fitting_at(end: TubeEnd) -> Obstacle:
    """A fitting's body round a tube end, reaching as far as it covers the tube."""
    seat, along = np.array(end.seat), np.array(end.direction)
    height = 8.0 + end.covered
    body = Cylinder(
        frame=axis_frame(
            point(seat + along * (end.covered - height / 2.0)), end.direction
        ),
        diameter=11.0,
        height=height,
    )
    return Obstacle(name="own fitting", solid=body)


def random_walls(rng: np.random.Generator) -> list[Solid]:
    """Some of the six walls; now and then one that stands askew."""
    walls: list[Solid] = []
    for name, normal in sorted(AXES.items()):
        if rng.random() < 0.5:
            base = [0.0 if name[0] == "+" else SIDE] * 3
            walls.append(HalfSpace(point=point(base), normal=normal))
    if rng.random() < 0.25:
        normal_vector = rng.normal(size=3)
        normal_vector /= np.linalg.norm(normal_vector)
        base_point = SIDE / 2.0 - 0.55 * SIDE * normal_vector
        walls.append(HalfSpace(point=point(base_point), normal=point(normal_vector)))
    return walls


def random_coordinates(
    rng: np.random.Generator, ends: tuple[TubeEnd, TubeEnd], axis: int
) -> np.ndarray:
    """Five to seven coordinates on an axis: both seats, some a least leg on, the rest."""
    chosen = [end.seat[axis] for end in ends]
    for end in ends:
        if end.direction[axis]:
            chosen.append(
                end.seat[axis] + end.direction[axis] * (end.straight + BEND_RADIUS)
            )
        if rng.random() < 0.4:
            chosen.append(chosen[-1] + float(rng.choice([-1.0, 1.0])) * LEAST_LEG)
    count = int(rng.integers(5, 8))
    more = rng.uniform(0.03 * SIDE, 0.97 * SIDE, max(count - len(chosen), 1))
    return np.unique([*chosen, *more])


def random_small_run(
    rng: np.random.Generator,
) -> tuple[SquareRun, tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """A run with its own coarse lattice."""
    ends = random_ends(rng)
    square = float(rng.choice([1.0, 0.5, 0.0]))
    solids = [
        random_solid(rng, side=SIDE, square=square)
        for _ in range(int(rng.integers(1, 7)))
    ]
    solids += random_walls(rng)
    own = tuple(fitting_at(end) for end in ends) if rng.random() < 0.5 else ()
    run = square_run(
        problem(
            *ends,
            numbered("solid", solids),
            inner=(SIDE, SIDE, SIDE),
            bend_radius=BEND_RADIUS,
            tube_radius=TUBE_RADIUS,
            clearance=CLEARANCE,
            straight_between_bends=STRAIGHT_BETWEEN,
            max_bends=7,
            own_fittings=own,
        )
    )
    assert run is not None
    x, y, z = (random_coordinates(rng, ends, axis) for axis in range(3))
    return run, (x, y, z)
