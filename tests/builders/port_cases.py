"""Two plates that face each other across a case, with ports to choose from on both."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from loopsolver.scene.model import Body, Component, Flow, Scene
from tests.builders.scenes import box, part, port, wanted
from tests.builders.windowed_cases import two_windows
from tests.unit.routing.known_loops import BEND_RADIUS, FITTING

WIDTH, DEPTH, HEIGHT = 240.0, 300.0, 200.0
FACE = 10.0
"""The plates lie along two walls and are this thick [mm]."""

SPAN = DEPTH - 2.0 * FACE - 2.0 * (FITTING.height - FITTING.depth)
"""From the seats on the one plate to those on the other [mm]."""

Places = Mapping[str, tuple[float, float] | tuple[float, float, Flow]]
"""Ports of a plate: x and z [mm], and the way the coolant goes."""

Wanted = Mapping[str, tuple[Sequence[str], Sequence[str]]]
"""Runs: from which ports to which, by their names on the near and the far plate."""


def across(bends: int, *aside: float) -> tuple[float, ...]:
    """Bends and length of a tube from plate to plate that goes aside by so much [mm].

    Each square bend saves (2 - pi / 2) radii of its two legs.
    """
    saved = bends * (2.0 - np.pi / 2.0) * BEND_RADIUS
    return bends, SPAN + sum(aside) - saved


def plates(near: Places, far: Places, runs: Wanted, *bodies: Body) -> Scene:
    """A case with a near plate, a far plate and bodies between them."""
    return replace(
        two_windows(),
        title="plates",
        case_inner=(WIDTH, DEPTH, HEIGHT),
        components=(
            _plate("near", 0.0, "+y", near),
            _plate("far", DEPTH - FACE, "-y", far),
            *(part(body.name, body) for body in bodies),
        ),
        keep_outs=(),
        runs=tuple(
            wanted(
                name,
                tuple(f"near.{one}" for one in start),
                tuple(f"far.{one}" for one in goal),
            )
            for name, (start, goal) in runs.items()
        ),
    )


def _plate(name: str, low: float, faces: str, ports: Places) -> Component:
    at = low + FACE if faces == "+y" else low
    return part(
        name,
        box(name, (0.0, low, 0.0), (WIDTH, low + FACE, HEIGHT)),
        *(
            port(
                f"{name}.{key}",
                (place[0], at, place[1]),
                faces,
                fittings=(FITTING,),
                flow=place[2] if len(place) == 3 else "either",
            )
            for key, place in ports.items()
        ),
    )


def random_plates(seed: int) -> Scene:
    """Three ports on either plate, four boxes between; two runs that may choose."""
    rng = np.random.default_rng(seed)
    flows: list[Flow] = ["either", "out", "in"]
    places = [
        {
            name: (*_spot(rng, row), flows[(row + seed + side) % 3])
            for row, name in enumerate("abc")
        }
        for side in range(2)
    ]
    bodies = []
    for number in range(4):
        low = rng.uniform((0.0, 70.0, 0.0), (160.0, 170.0, 130.0))
        high = low + rng.uniform(20.0, 70.0, 3)
        bodies.append(box(f"body {number}", tuple(low), tuple(high)))
    return plates(
        places[0],
        places[1],
        {"first": ("abc", "abc"), "second": ("abc", "abc")},
        *bodies,
    )


def _spot(rng: np.random.Generator, row: int) -> tuple[float, float]:
    """Where a port lies: each in a third of its own, so that fittings do not meet."""
    x = 20.0 + 75.0 * row + float(rng.uniform(0.0, 45.0))
    return x, float(rng.uniform(20.0, HEIGHT - 20.0))
