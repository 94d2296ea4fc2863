"""Two cases in which tubes laid one by one, in any order, shut each other in.

A chamber so low that tubes cannot pass over each other leads through windows, each wide
enough for one tube, into a high one. Seen alone, every run is best led through a window
that lies across the way of the others.
"""

from collections.abc import Sequence

from loopsolver.geometry.vectors import Point
from loopsolver.scene.model import (
    Component,
    Scene,
)
from tests.builders.scenes import (
    SMALL_COLLAR,
    box,
    part,
    port,
    scene,
    small_rules,
    small_tube,
    wanted,
)

LOW, HIGH, DEPTH = 22.0, 90.0, 230.0
"""Heights of the two chambers, and the case's depth [mm]."""

WINDOW = 20.0
"""Width of a window: tubes of 10 mm with 3 mm all round, twice, need 29 mm [mm]."""

MIDDLE, UP = 11.0, 60.0
"""Heights at which ports lie [mm]."""


def chamber(
    name: str, low: Point, high: Point, ports: dict[str, tuple[Point, str]]
) -> Component:
    return part(
        name,
        box(name, low, high),
        *(
            port(f"{name}.{key}", at, way, fittings=(SMALL_COLLAR,))
            for key, (at, way) in ports.items()
        ),
    )


def windowed(
    width: float,
    windows: Sequence[float],
    near: dict[str, float],
    far: dict[str, tuple[float, float]],
) -> Scene:
    """A case with windows at some x, near ports at some x, far ones at some x and z."""
    edges = [0.0]
    for x in windows:
        edges += [x - WINDOW / 2.0, x + WINDOW / 2.0]
    edges.append(width)
    piers = [
        box(f"pier {number}", (low, 100.0, 0.0), (high, 110.0, LOW))
        for number, (low, high) in enumerate(
            zip(edges[::2], edges[1::2], strict=True), start=1
        )
    ]
    return scene(
        chamber(
            "near",
            (0.0, 0.0, 0.0),
            (width, 16.0, LOW),
            {name: ((x, 16.0, MIDDLE), "+y") for name, x in near.items()},
        ),
        chamber(
            "far",
            (0.0, 220.0, 0.0),
            (width, DEPTH, HIGH),
            {name: ((x, 220.0, z), "-y") for name, (x, z) in far.items()},
        ),
        inner=(width, DEPTH, HIGH),
        title="windows",
        tube=small_tube(),
        rules=small_rules(),
        keep_outs=[box("ceiling", (0.0, 0.0, LOW), (width, 110.0, HIGH)), *piers],
        runs=[wanted(name, f"near.{name}", f"far.{name}") for name in near],
    )


def two_windows() -> Scene:
    """Each of two runs is best led through the window that shuts the other one in."""
    return windowed(
        260.0,
        (60.0, 200.0),
        {"first": 150.0, "second": 110.0},
        {"first": (60.0, MIDDLE), "second": (200.0, UP)},
    )


def three_windows() -> Scene:
    """Of three runs each is best led through the window that belongs to the next."""
    return windowed(
        320.0,
        (60.0, 160.0, 260.0),
        {"first": 105.0, "second": 205.0, "third": 305.0},
        {"first": (160.0, MIDDLE), "second": (260.0, MIDDLE), "third": (60.0, UP)},
    )
