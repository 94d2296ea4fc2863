"""Two cases in which tubes laid one by one, in any order, shut each other in.

A chamber so low that tubes cannot pass over each other leads through windows, each wide
enough for one tube, into a high one. Seen alone, every run is best led through a window
that lies across the way of the others.
"""

from collections.abc import Sequence

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.scene.model import (
    Body,
    Component,
    Fitting,
    Port,
    Rules,
    RunRequest,
    Scene,
)
from loopsolver.tube.stock import Tube

COLLAR = Fitting(
    name="collar", height=14.0, depth=8.0, diameter=16.0, straight_beyond=4.0
)

LOW, HIGH, DEPTH = 22.0, 90.0, 230.0
"""Heights of the two chambers, and the case's depth [mm]."""

WINDOW = 20.0
"""Width of a window: tubes of 10 mm with 3 mm all round, twice, need 29 mm [mm]."""

MIDDLE, UP = 11.0, 60.0
"""Heights at which ports lie [mm]."""


def box(name: str, low: Point, high: Point) -> Body:
    centre = point((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    size = point(b - a for a, b in zip(low, high, strict=True))
    return Body(name=name, solid=Box(frame=Frame(origin=centre), size=size))


def part(name: str, low: Point, high: Point, ports: dict[str, tuple[Point, str]]):
    return Component(
        name=name,
        bodies=(box(name, low, high),),
        ports=tuple(
            Port(
                name=f"{name}.{port}",
                position=position,
                direction=AXES[direction],
                fittings=(COLLAR,),
            )
            for port, (position, direction) in ports.items()
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
    return Scene(
        title="windows",
        units="mm",
        case_inner=(width, DEPTH, HIGH),
        up=AXES["+z"],
        tube=Tube(
            material="acrylic",
            outer_diameter=10.0,
            inner_diameter=7.0,
            bend_radii=(18.0,),
            stock_length=800.0,
            trim_allowance=20.0,
        ),
        rules=Rules(
            clearance=3.0,
            straight_between_bends=8.0,
            bend_angles=(90.0,),
            max_bends=5,
            candidates=6,
        ),
        components=(
            part(
                "near",
                (0.0, 0.0, 0.0),
                (width, 16.0, LOW),
                {name: ((x, 16.0, MIDDLE), "+y") for name, x in near.items()},
            ),
            part(
                "far",
                (0.0, 220.0, 0.0),
                (width, DEPTH, HIGH),
                {name: ((x, 220.0, z), "-y") for name, (x, z) in far.items()},
            ),
        ),
        keep_outs=(
            box("ceiling", (0.0, 0.0, LOW), (width, 110.0, HIGH)),
            *piers,
        ),
        runs=tuple(
            RunRequest(
                name=name, from_ports=(f"near.{name}",), to_ports=(f"far.{name}",)
            )
            for name in near
        ),
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
