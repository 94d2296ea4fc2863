"""Plans of tubes and the parts they join, written down by hand: how they go together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loopsolver.geometry.vectors import Point, difference, offset, unit
from loopsolver.plan import Plan, PlannedRun
from loopsolver.scene.model import Body, Port, RunRequest
from tests.builders.plans import candidate, ending, planned
from tests.builders.scenes import COLLAR, part, port, scene, wanted

Tube = tuple[str, str, tuple[Point, ...]]
"""The parts it leads from and to, and its vertices from end to end [mm]."""


def joined(
    tubes: Mapping[str, Tube],
    *,
    bodies: Mapping[str, tuple[Body, ...]] | None = None,
    inner: Point = (600.0, 600.0, 600.0),
    **more: Any,
) -> Plan:
    """Return a plan of tubes of 14 mm in collars that are 12 mm deep.

    Each part has a port for each tube that ends at it, 8 mm behind the tube's end, and
    the bodies that are given; `more` goes to the scene.
    """
    ports: dict[str, list[Port]] = {name: [] for name in bodies or {}}
    runs: list[PlannedRun] = []
    requests: list[RunRequest] = []
    for name, (start, goal, vertices) in tubes.items():
        ends = []
        for place, line in ((start, vertices), (goal, vertices[::-1])):
            out = unit(difference(line[1], line[0]))
            held = f"{place}.{name}"
            at = offset(line[0], out, COLLAR.depth - COLLAR.height)
            ports.setdefault(place, []).append(port(held, at, out))
            ends.append(ending(held, out, offset(line[0], out, COLLAR.depth)))
        tube = candidate(*vertices, ends=tuple(ends))
        pair = (ends[0].port, ends[1].port)
        runs.append(planned(name, [tube], ends=pair))
        requests.append(wanted(name, *pair))
    parts = [
        part(name, *(bodies or {}).get(name, ()), *held) for name, held in ports.items()
    ]
    return Plan(
        scene=scene(*parts, inner=inner, runs=requests, **more), runs=tuple(runs)
    )
