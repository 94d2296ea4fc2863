"""Random loops whose runs all pass one gate that is no wider than their tubes need.

Known tubes lie side by side in it, no further apart than the clearance asks. Before and
behind it each turns at levels of its own, so that they surely keep clear of each other.
"""

import numpy as np

from loopsolver.scene.model import Scene
from tests.builders import scenes
from tests.unit.routing.known_loops import (
    BEND_RADIUS,
    CLEARANCE,
    FITTING,
    LEAST_LEG,
    TUBE_RADIUS,
    Array,
    Known,
    sampled,
)

APART = 2.0 * TUBE_RADIUS + CLEARANCE
TO_WALL = TUBE_RADIUS + CLEARANCE
ROW = 24.0
"""From one row of ports to the next: wider than two collars side by side [mm]."""

PLATE, THICK, WIDE, SLACK = 6.0, 10.0, 220.0, 0.01
FIRST = PLATE + FITTING.height + FITTING.straight_beyond + BEND_RADIUS
SECOND = FIRST + LEAST_LEG + 1.0
GATE = SECOND + BEND_RADIUS + TO_WALL
LONG = 2.0 * GATE + THICK


def gate_loop(seed: int, *, runs: int) -> tuple[Scene, tuple[Known, ...]]:
    """A scene, and the routes that are known to fit in it."""
    rng = np.random.default_rng(seed)
    rows = ROW * np.arange(1, runs + 1)
    level = rows[-1] + LEAST_LEG + rng.uniform(0.0, 20.0)
    height = level + 3.0 * TO_WALL
    middle = rng.uniform(0.45, 0.55) * WIDE
    columns = middle + APART * (np.arange(runs) - (runs - 1) / 2.0)
    slots = rng.permutation(columns)
    aside = rng.choice([-1.0, 1.0], (2, runs)) * rng.uniform(0.0, 15.0, (2, runs))
    aside += np.sign(aside) * LEAST_LEG
    ports = [
        [*zip(slots + by, side, strict=True)]
        for by, side in zip(aside, (rows, rng.permutation(rows)), strict=True)
    ]
    vertices = [
        _through(start, slot, level, goal)
        for start, slot, goal in zip(ports[0], slots, ports[1], strict=True)
    ]
    known = tuple(Known(vertices=one, points=sampled(one)) for one in vertices)
    parts = [
        scenes.part(
            f"{side} {number}",
            scenes.box(
                f"{side} {number}", (x, y - 9.0, z - 9.0), (x + PLATE, y + 9.0, z + 9.0)
            ),
            scenes.port(
                f"{side} {number}.port", (face, y, z), way, fittings=(FITTING,)
            ),
        )
        for side, x, face, way, places in (
            ("left", 0.0, PLATE, "+x", ports[0]),
            ("right", LONG - PLATE, LONG - PLATE, "-x", ports[1]),
        )
        for number, (y, z) in enumerate(places)
    ]
    scene = scenes.scene(
        *parts,
        inner=(LONG, WIDE, height),
        tube=scenes.small_tube(inner_diameter=6.0, stock_length=2000.0),
        rules=scenes.small_rules(max_bends=8),
        keep_outs=_gate(columns, level, height),
        runs=[
            scenes.wanted(f"run {n}", f"left {n}.port", f"right {n}.port")
            for n in range(runs)
        ],
    )
    return scene, known


def _through(start, slot: float, level: float, goal) -> Array:
    """Vertices from port to port: first to its slot, then to the gate's level."""
    (y, z), (far_y, far_z) = start, goal
    seat = PLATE + FITTING.height - FITTING.depth
    return np.array(
        [
            (seat, y, z),
            (FIRST, y, z),
            (FIRST, slot, z),
            (SECOND, slot, z),
            (SECOND, slot, level),
            (LONG - SECOND, slot, level),
            (LONG - SECOND, slot, far_z),
            (LONG - FIRST, slot, far_z),
            (LONG - FIRST, far_y, far_z),
            (LONG - seat, far_y, far_z),
        ]
    )


def _gate(columns: Array, level: float, height: float):
    """The wall round the gate, as four bodies."""
    x = (GATE, GATE + THICK)
    y = (columns[0] - TO_WALL - SLACK, columns[-1] + TO_WALL + SLACK)
    z = (level - TO_WALL - SLACK, level + TO_WALL + SLACK)
    return [
        scenes.box(name, (x[0], *low), (x[1], *high))
        for name, low, high in (
            ("beside", (0.0, 0.0), (y[0], height)),
            ("beyond", (y[1], 0.0), (WIDE, height)),
            ("below", (y[0], 0.0), (y[1], z[0])),
            ("above", (y[0], z[1]), (y[1], height)),
        )
    ]
