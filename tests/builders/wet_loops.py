"""Plans of loops with coolant in them: parts with two ports, tubes written down by hand."""

from __future__ import annotations

from collections.abc import Iterable

from loopsolver.plan import Plan
from loopsolver.routing.problem import Candidate
from loopsolver.scene.reader import scene_from_text
from tests.builders import texts
from tests.builders.plans import candidate, ending, planned

ROUND = ("pump to block", "block to front", "front to pump")
"""One circuit of three parts."""


def tube(start: str, goal: str, *, bends: int = 2, leg: float = 200.0) -> Candidate:
    """Return a tube of legs of equal length, bent round 28 mm by right angles [mm]."""
    places = [(0.0, 0.0, 0.0)]
    for number in range(bends + 1):
        x, y, z = places[-1]
        places.append((x + leg, y, z) if number % 2 else (x, y + leg, z))
    return candidate(
        *places,
        ends=tuple(
            ending(port, (0.0, 1.0, 0.0), (0.0, 0.0, 0.0)) for port in (start, goal)
        ),
    )


def wet_plan(
    *water: str,
    runs: Iterable[str] = ROUND,
    unlaid: Iterable[str] = (),
    material: str = "acrylic",
    bends: int = 2,
    leg: float = 200.0,
) -> Plan:
    """Return a plan of runs that are named after the parts they join.

    Each part named has ports in and out, as many of each as runs want; `water` holds
    tables of the scene file, every tube has so many bends and legs so long [mm], the
    `unlaid` have none.
    """
    pairs = [(name, *name.split(" to ")) for name in runs]
    names = list(dict.fromkeys(part for _, *ends in pairs for part in ends))
    ports: dict[str, list[texts.Inner]] = {name: [] for name in names}
    joined: list[tuple[str, str, str]] = []
    for run, start, goal in pairs:
        ends = []
        for part, flow in ((start, "out"), (goal, "in")):
            port = f"{flow}{len(ports[part])}"
            place = [0, 10 * len(ports[part]), 0]
            ports[part].append(texts.port(port, place, "-x", flow=flow))
            ends.append(f"{part}.{port}")
        joined.append((run, ends[0], ends[1]))
    scene = scene_from_text(
        "".join(
            [
                texts.head(
                    inner=[300, 300, 300], tube={**texts.BOUGHT, "material": material}
                ),
                *(
                    texts.part(name, [50, 50 * number, 100], *ports[name])
                    for number, name in enumerate(names)
                ),
                *(texts.run(start, goal, name=run) for run, start, goal in joined),
                *water,
            ]
        ),
        file="wet.toml",
    )
    return Plan(
        scene=scene,
        runs=tuple(
            planned(
                run,
                [] if run in unlaid else [tube(start, goal, bends=bends, leg=leg)],
                ends=(start, goal),
                chosen=None if run in unlaid else 1,
                why="nobody laid it" if run in unlaid else None,
            )
            for run, start, goal in joined
        ),
    )


def water(part: str, **keys: object) -> str:
    """Return the table of what a part is to the coolant."""
    return texts.table(f"[components.{part}.water]", keys)


def coolant(**keys: object) -> str:
    """Return the table of what goes round."""
    return texts.table("[coolant]", keys)
