"""A small build for the sheets, written down by hand: no search, no file."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import Point
from loopsolver.plan import Plan, PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import (
    Body,
    Component,
    Fitting,
    Port,
    Rules,
    RunRequest,
    Scene,
    Unit,
)
from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.stock import Material, Tube
from loopsolver.workshop.job import Job, SheetEnd

COLLAR = Fitting(
    name="collar", height=20.0, depth=12.0, diameter=22.0, straight_beyond=5.0
)
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
    return Tube(
        material=material,
        outer_diameter=14.0,
        inner_diameter=10.0,
        bend_radii=(RADIUS,),
        stock_length=500.0,
        trim_allowance=30.0,
    )


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
    tube = tube_of(material)
    return Job(
        title=title,
        number=1,
        name=name,
        units=units,
        tube=tube,
        trim_allowance=tube.trim_allowance,
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
        Port(
            name=f"part{number}.{end}",
            position=at,
            direction=(0.0, 0.0, 1.0),
            fittings=(fitting,),
        )
        for number, route in enumerate(routes, start=1)
        for end, at in (("out", route[0]), ("in", route[-1]))
    ]
    bodies = (
        Body(
            name="block/body 1",
            solid=Box(frame=Frame(origin=(60.0, 60.0, 30.0)), size=(60.0, 60.0, 60.0)),
        ),
        Body(
            name="tank/body 1",
            solid=Cylinder(
                frame=axis_frame((150.0, 180.0, 80.0), (0.0, 0.0, 1.0)),
                diameter=50.0,
                height=120.0,
            ),
        ),
        Body(
            name="card/body 1",
            solid=Box(
                frame=Frame(origin=(100.0, 260.0, 150.0)), size=(180.0, 20.0, 90.0)
            ),
        ),
    )
    return Scene(
        title=title,
        units=units,
        case_inner=(200.0, 320.0, 300.0),
        up=(0.0, 0.0, 1.0),
        tube=tube_of(material),
        rules=Rules(
            clearance=3.0,
            straight_between_bends=15.0,
            bend_angles=(90.0,),
            max_bends=5,
            candidates=6,
        ),
        components=(Component(name="parts", bodies=bodies, ports=tuple(ports)),),
        keep_outs=(),
        runs=tuple(
            RunRequest(
                name=f"run {number}",
                from_ports=(f"part{number}.out",),
                to_ports=(f"part{number}.in",),
            )
            for number in range(1, len(routes) + 1)
        ),
    )


def plan_with(
    *,
    names: Sequence[str] | None = None,
    routes: Sequence[Sequence[Point]] = (UP, FLAT, STRAIGHT),
    unrouted: str | None = None,
    **changes: object,
) -> Plan:
    """Return a plan with one candidate a route, and one run more if `unrouted`."""
    scene = scene_with(routes=routes, **changes)  # type: ignore[arg-type]
    runs = []
    for number, (request, route) in enumerate(zip(scene.runs, routes, strict=True)):
        candidate = Candidate(
            centreline=Centreline(vertices=tuple(route), radius=RADIUS),
            gap=Gap(distance=6.25, name="card/body 1", at=route[0]),
            trim_allowance=scene.tube.trim_allowance,
        )
        runs.append(
            PlannedRun(
                name=names[number] if names else request.name,
                from_port=request.from_ports[0],
                to_port=request.to_ports[0],
                candidates=(candidate,),
                chosen=1,
            )
        )
    if unrouted is not None:
        lost = dataclasses.replace(
            runs[0], name="lost", candidates=(), chosen=None, why=unrouted
        )
        runs.append(lost)
    return Plan(scene=scene, runs=tuple(runs))
