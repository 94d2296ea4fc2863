"""A small build for the sheets, written down by hand: no search, no file."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.geometry.vectors import Point
from loopsolver.plan import Plan
from loopsolver.scene.model import (
    Body,
    Fitting,
    Scene,
    Unit,
)
from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Material, Tube
from loopsolver.workshop.job import Job, SheetEnd
from tests.builders.plans import candidate, planned
from tests.builders.scenes import COLLAR, box, part, port, scene, tube, wanted

SEAT = COLLAR.height - COLLAR.depth
"""From a port's face to where the tube ends [mm]."""

RADIUS = 28.0

UP = (
    (60.0, 60.0, 60.0 + SEAT),
    (60.0, 60.0, 200.0),
    (160.0, 60.0, 200.0),
    (160.0, 220.0 - SEAT, 200.0),
)
"""Up, to the right, to the rear: the second bend is in a new plane."""

FLAT = (
    (100.0, 40.0 + SEAT, 40.0),
    (100.0, 120.0, 40.0),
    (40.0, 120.0, 40.0),
    (40.0, 300.0 - SEAT, 40.0),
)
"""An offset: two bends to opposite sides in one plane."""

STRAIGHT = ((20.0, 20.0, 60.0 + SEAT), (20.0, 20.0, 260.0 - SEAT))
"""No bend at all."""


def tube_of(material: Material) -> Tube:
    """Return tube of 14 / 10 mm, bent round 28 mm, with 30 mm to trim at each end."""
    return tube(material=material)


def job_through(
    vertices: Sequence[Sequence[float]],
    *,
    units: Unit = "mm",
    material: Material = "acrylic",
    name: str = "pump to card",
    title: str = "Moss: mid tower",
    fitting: Fitting | None = COLLAR,
) -> Job:
    """Return the job of bending a tube through some vertices."""
    line = Centreline(
        vertices=tuple((float(x), float(y), float(z)) for x, y, z in vertices),
        radius=RADIUS,
    )
    stock = tube_of(material)
    return Job(
        title=title,
        number=1,
        name=name,
        units=units,
        tube=stock,
        trim_allowance=stock.trim_allowance,
        centreline=line,
        table=bend_table(line),
        first=SheetEnd(port="pump.out", fitting=fitting),
        last=SheetEnd(port="card.in", fitting=fitting),
    )


def scene_with(
    *,
    title: str = "Finch: a box for practice",
    material: Material = "acrylic",
    units: Unit = "mm",
    fitting: Fitting = COLLAR,
    routes: Sequence[Sequence[Point]] = (UP, FLAT, STRAIGHT),
) -> Scene:
    """Return a scene with a port at each end of each route, and three bodies."""
    ports = [
        port(f"part{number}.{end}", at, "+z", fittings=(fitting,))
        for number, route in enumerate(routes, start=1)
        for end, at in (("out", route[0]), ("in", route[-1]))
    ]
    bodies = (
        box("block/body 1", (30.0, 30.0, 0.0), (90.0, 90.0, 60.0)),
        Body(
            name="tank/body 1",
            solid=Cylinder(
                frame=axis_frame((150.0, 180.0, 80.0), (0.0, 0.0, 1.0)),
                diameter=50.0,
                height=120.0,
            ),
        ),
        box("card/body 1", (10.0, 250.0, 105.0), (190.0, 270.0, 195.0)),
    )
    return scene(
        part("parts", *bodies, *ports),
        inner=(200.0, 320.0, 300.0),
        title=title,
        units=units,
        tube=tube_of(material),
        runs=[
            wanted(f"run {number}", f"part{number}.out", f"part{number}.in")
            for number in range(1, len(routes) + 1)
        ],
    )


def plan_with(
    *,
    names: Sequence[str] | None = None,
    routes: Sequence[Sequence[Point]] = (UP, FLAT, STRAIGHT),
    unrouted: str | None = None,
    **changes: object,
) -> Plan:
    """Return a plan with one candidate a route, and one run more if `unrouted`."""
    build = scene_with(routes=routes, **changes)  # type: ignore[arg-type]
    runs = []
    for number, (request, route) in enumerate(zip(build.runs, routes, strict=True)):
        found = candidate(*route, gap=6.25, name="card/body 1")
        runs.append(
            planned(
                names[number] if names else request.name,
                [found],
                ends=(request.from_ports[0], request.to_ports[0]),
            )
        )
    if unrouted is not None:
        lost = dataclasses.replace(
            runs[0], name="lost", candidates=(), chosen=None, why=unrouted
        )
        runs.append(lost)
    return Plan(scene=build, runs=tuple(runs))
