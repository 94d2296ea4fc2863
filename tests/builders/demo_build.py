"""A build and its plan made by hand, for tests of the view; all of it invented."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.geometry.vectors import Point, offset
from loopsolver.plan import Plan, PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import (
    Body,
    Component,
    Scene,
)
from loopsolver.scene.water import Filling, OpenPlace
from tests.builders import plans, scenes
from tests.builders.plans import planned
from tests.builders.scenes import box, part, port, wanted

CASE: Point = (200.0, 440.0, 410.0)


def components() -> tuple[Component, ...]:
    tank = Cylinder(
        frame=axis_frame((100.0, 330.0, 130.0), (0.0, 0.0, 1.0)),
        diameter=60.0,
        height=150.0,
    )
    memory = [
        box(
            f"memory {n + 1}",
            (10.0, 215.0 + 9 * n, 235.0),
            (46.0, 220.0 + 9 * n, 368.0),
        )
        for n in range(4)
    ]
    fans = [
        box(
            f"fan {n + 1}",
            (30.0, 382.0, 70.0 + 140 * n),
            (150.0, 407.0, 190.0 + 140 * n),
        )
        for n in range(2)
    ]
    radiator = box("front radiator", (30.0, 408.0, 60.0), (150.0, 436.0, 395.0))
    return (
        part("board", box("board", (3.0, 60.0, 120.0), (8.0, 304.0, 400.0))),
        part("memory", *memory),
        part(
            "block",
            box("block", (10.0, 105.0, 265.0), (50.0, 165.0, 325.0)),
            port("block.in", (50.0, 120.0, 300.0), "+x"),
            port("block.out", (50.0, 150.0, 300.0), "+x"),
        ),
        part(
            "card",
            box("card board", (10.0, 60.0, 196.0), (120.0, 290.0, 200.0)),
            box("card block", (12.0, 70.0, 172.0), (120.0, 280.0, 196.0)),
            port("card.in", (120.0, 230.0, 185.0), "+x"),
            port("card.out", (120.0, 120.0, 185.0), "+x"),
        ),
        part(
            "power supply",
            box("power supply", (20.0, 20.0, 6.0), (170.0, 180.0, 92.0)),
        ),
        part(
            "pump",
            box("pump", (70.0, 300.0, 0.0), (130.0, 360.0, 55.0)),
            port("pump.out", (100.0, 300.0, 30.0), "-y"),
            port("pump.drain", (130.0, 330.0, 30.0), "+x"),
        ),
        part(
            "tank",
            Body(name="tank", solid=tank),
            port("tank.in", (85.0, 330.0, 205.0), "+z"),
        ),
        part(
            "front",
            radiator,
            *fans,
            port("front.in", (125.0, 408.0, 375.0), "-y"),
            port("front.out", (85.0, 408.0, 375.0), "-y"),
        ),
        part(
            "valve",
            box("valve", (180.0, 320.0, 20.0), (186.0, 340.0, 40.0)),
            port("valve.in", (180.0, 330.0, 30.0), "-x"),
        ),
    )


ENDS = {
    "pump to card": ("pump.out", "card.in"),
    "card to block": ("card.out", "block.in"),
    "block to front": ("block.out", "front.in"),
    "front to tank": ("front.out", "tank.in"),
    "pump to valve": ("pump.drain", "valve.in"),
}


def scene() -> Scene:
    return scenes.scene(
        *components(),
        inner=CASE,
        title="Teal: mid tower, one front radiator",
        file_name="teal.toml",
        keep_outs=[box("side panel swing", (188.0, 0.0, 0.0), (200.0, 440.0, 410.0))],
        runs=[wanted(name, start, end) for name, (start, end) in ENDS.items()],
    )


def candidate(gap: tuple[float, str, Point], *vertices: Point) -> Candidate:
    distance, name, at = gap
    return plans.candidate(*vertices, gap=distance, name=name, at=at)


def run(name: str, *candidates: Candidate, why: str | None = None) -> PlannedRun:
    chosen = 1 if candidates else None
    return planned(name, candidates, ends=ENDS[name], chosen=chosen, why=why)


PUMP_TO_CARD = (
    candidate(
        (3.0, "side panel swing", (178.0, 230.0, 110.0)),
        (100.0, 292.0, 30.0),
        (100.0, 230.0, 30.0),
        (178.0, 230.0, 30.0),
        (178.0, 230.0, 185.0),
        (128.0, 230.0, 185.0),
    ),
    candidate(
        (3.0, "side panel swing", (178.0, 230.0, 150.0)),
        (100.0, 292.0, 30.0),
        (100.0, 230.0, 30.0),
        (100.0, 230.0, 110.0),
        (178.0, 230.0, 110.0),
        (178.0, 230.0, 185.0),
        (128.0, 230.0, 185.0),
    ),
    candidate(
        (3.0, "side panel swing", (178.0, 300.0, 100.0)),
        (100.0, 292.0, 30.0),
        (100.0, 222.0, 30.0),
        (178.0, 222.0, 30.0),
        (178.0, 300.0, 30.0),
        (178.0, 300.0, 185.0),
        (178.0, 230.0, 185.0),
        (128.0, 230.0, 185.0),
    ),
)


def plan() -> Plan:
    return Plan(
        scene=scene(),
        runs=(
            run("pump to card", *PUMP_TO_CARD),
            run(
                "card to block",
                candidate(
                    (3.0, "side panel swing", (178.0, 120.0, 240.0)),
                    (128.0, 120.0, 185.0),
                    (178.0, 120.0, 185.0),
                    (178.0, 120.0, 300.0),
                    (58.0, 120.0, 300.0),
                ),
            ),
            run(
                "block to front",
                candidate(
                    (28.0, "case wall +z", (125.0, 250.0, 375.0)),
                    (58.0, 150.0, 300.0),
                    (125.0, 150.0, 300.0),
                    (125.0, 150.0, 375.0),
                    (125.0, 400.0, 375.0),
                ),
            ),
            run(
                "front to tank",
                candidate(
                    (28.0, "case wall +z", (85.0, 370.0, 375.0)),
                    (85.0, 400.0, 375.0),
                    (85.0, 330.0, 375.0),
                    (85.0, 330.0, 213.0),
                ),
            ),
            run(
                "pump to valve",
                why="the fittings face each other 34.0 mm apart and leave no room: "
                "their mouths are 10.0 mm apart, 13.0 mm of straight is the least",
            ),
        ),
    )


def vented_plan() -> Plan:
    """Return the plan with a vent at pump.drain, and fittings at the ends of its tubes.

    It may be laid on any side.
    """
    whole = plan()
    port = whole.scene.port("pump.drain")
    vent = OpenPlace(name=port.name, position=port.position, direction=port.direction)
    filling = Filling(vent=vent, tilts=("left", "right", "near", "away", "up"))

    def held(one: PlannedRun) -> PlannedRun:
        ports = [whole.scene.port(name) for name in ENDS[one.name]]
        ends = tuple(
            plans.ending(
                port.name, port.direction, offset(port.position, port.direction, 20.0)
            )
            for port in ports
        )
        candidates = tuple(replace(each, ends=ends) for each in one.candidates)
        return replace(one, candidates=candidates)

    runs = tuple(held(one) for one in whole.runs)
    return replace(whole, scene=replace(whole.scene, filling=filling), runs=runs)


def crowded_scene(count: int) -> Scene:
    """Return the scene with more small bodies, `count` components in all."""
    base = scene()
    extra = []
    for n in range(count - len(base.components)):
        x, y, z = 20.0 + 22 * (n % 7), 20.0 + 40 * (n % 9), 96.0 + 60 * (n % 5)
        body = box(f"bracket {n + 1}", (x, y, z), (x + 12, y + 14, z + 16))
        extra.append(part(f"bracket {n + 1}", body))
    return replace(base, components=(*base.components, *extra))
