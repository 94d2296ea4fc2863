"""Random loops in which a run is left out, and in which one kind of change lays all.

What helps, and how little of it, is seen by hand. In a case so low that no tube passes
over another, tubes whose ends take turns along the walls must cross, whatever their
angles, former or clearance; and what two bends can do is closed form: with L of straight
between bends of an angle a round R they go aside by ``2 R (1 - cos a) + L sin a``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from loopsolver.geometry.vectors import Point
from loopsolver.routing.diagnosis.no_route import (
    OtherFitting,
    OtherPort,
)
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.whole_loop import (
    LoopChange,
    OtherOrder,
)
from loopsolver.scene.circuit import runs_in_order
from loopsolver.scene.model import BendAngles, LoopRequest, Port, Scene
from tests.builders import hindered_cases as cases
from tests.builders.scenes import (
    SMALL_COLLAR,
    part,
    port,
    scene,
    small_rules,
    small_tube,
    wanted,
)

LOW, MIDDLE = cases.LOW, cases.MIDDLE
RADIUS, TIGHTEST = 18.0, 15.0
"""Of the former at hand, and of the smallest for tube of 10 mm: 1.5 diameters [mm]."""

BETWEEN = 8.0
CLEARANCE = 3.0


@dataclass(frozen=True, kw_only=True)
class Remedied:
    """A loop with what is to be changed for all of its runs to be laid."""

    scene: Scene
    change: LoopChange


def _port(name: str, at: Point, faces: str) -> Port:
    return port(name, at, faces, fittings=(SMALL_COLLAR,))


def _aside(radius: float, angle_deg: float) -> float:
    """How far two bends of an angle go aside at the least [mm]."""
    angle = math.radians(angle_deg)
    return 2.0 * radius * (1.0 - math.cos(angle)) + BETWEEN * math.sin(angle)


def with_a_spare_port(seed: int) -> Remedied:
    """Two tubes that cross; from the spare port the second one does not."""
    rng = np.random.default_rng(seed)
    first, second, goal = rng.uniform(
        [95.0, 190.0, 150.0], [120.0, 225.0, 190.0]
    ).tolist()
    spare, other = rng.uniform(25.0, 40.0, 2).tolist()
    low = scene(
        part(
            "near",
            *(
                _port(f"near.{name}", (x, 0.0, MIDDLE), "+y")
                for name, x in (("one", first), ("two", second), ("spare", spare))
            ),
        ),
        part(
            "far",
            _port("far.one", (goal, 300.0, MIDDLE), "-y"),
            _port("far.two", (other, 300.0, MIDDLE), "-y"),
        ),
        inner=(250.0, 300.0, LOW),
        tube=small_tube(stock_length=1500.0),
        rules=small_rules(),
        runs=(
            wanted("first", "near.one", "far.one"),
            wanted("second", "near.two", "far.two"),
        ),
    )
    change = OtherPort(
        end="from", port="near.spare", instead_of="near.two", run="second"
    )
    return Remedied(scene=low, change=change)


def with_offsets(seed: int) -> Remedied:
    """Tubes of two bends from wall to wall, and how far they go aside.

    One at least by less than two square bends do, round whatever former. By turns it is
    as much as two of 45 degrees do, or less.
    """
    rng = np.random.default_rng(seed)
    by_45 = _aside(RADIUS, 45.0)
    least, most, widest = ((0.0, by_45, by_45), (by_45, _aside(TIGHTEST, 90.0), 90.0))[
        seed % 2
    ]
    asides = rng.uniform(least + 1.0, [most - 1.0, widest - 1.0]).tolist()
    ends = [
        (x, x + aside, z)
        for x, aside, z in zip((40.0, 60.0), asides, (40.0, 120.0), strict=True)
    ]
    offset = scene(
        part(
            "near",
            *(_port(f"near.{z:.0f}", (x, 0.0, z), "+y") for x, _, z in ends),
        ),
        part(
            "far",
            *(_port(f"far.{z:.0f}", (x, 240.0, z), "-y") for _, x, z in ends),
        ),
        inner=(200.0, 240.0, 160.0),
        tube=small_tube(),
        rules=small_rules(max_bends=2),
        runs=[wanted(f"{z:.0f}", f"near.{z:.0f}", f"far.{z:.0f}") for *_, z in ends],
    )
    after: BendAngles = ("any", (45.0, 90.0))[seed % 2]
    return Remedied(
        scene=offset, change=Change(rule="bend angles", before=(90.0,), after=after)
    )


def with_returns(seed: int) -> Remedied:
    """Tubes back to the wall they come from: nearer than two bends round the former.

    Angles that turn by half a circle in all need as much, and more between bends.
    """
    rng = np.random.default_rng(seed)
    before = 28.0
    narrow = rng.uniform(2.0 * TIGHTEST + BETWEEN + 0.1, 2.0 * before + BETWEEN - 0.1)
    wide = rng.uniform(narrow, 90.0)
    back = scene(
        part(
            "wall",
            *(
                _port(f"wall.{end}{z:.0f}", (x, 0.0, z), "+y")
                for width, z in ((narrow, 40.0), (wide, 120.0))
                for end, x in (("a", 40.0), ("b", 40.0 + width))
            ),
        ),
        inner=(200.0, 240.0, 160.0),
        tube=small_tube(bend_radii=(before,)),
        rules=small_rules(max_bends=2),
        runs=[wanted(f"{z}", f"wall.a{z}", f"wall.b{z}") for z in (40, 120)],
    )
    after = float(math.floor((narrow - BETWEEN) / 2.0))
    return Remedied(
        scene=back, change=Change(rule="bend radius", before=before, after=after)
    )


def with_little_between(seed: int) -> Remedied:
    """Straight tubes that cross so far apart: clearance is told in half millimetres."""
    rng = np.random.default_rng(seed)
    apart = float(rng.uniform(0.6, CLEARANCE - 0.1))
    after = math.floor(2.0 * apart) / 2.0
    return Remedied(
        scene=cases.over_each_other(apart),
        change=Change(rule="clearance", before=CLEARANCE, after=after),
    )


def with_an_elbow(seed: int) -> Remedied:
    """A straight tube passes in front of a port; an elbow there looks where to go."""
    rng = np.random.default_rng(seed)
    shut = cases.shut_in()
    at = float(rng.uniform(60.0, 110.0))
    parts = tuple(
        replace(
            one, ports=tuple(replace(p, position=(at, 0.0, MIDDLE)) for p in one.ports)
        )
        if one.name == "start"
        else one
        for one in shut.components
    )
    change = OtherFitting(port="start.p", fitting=cases.ELBOW.name)
    return Remedied(scene=replace(shut, components=parts), change=change)


def with_an_order(seed: int) -> Remedied:
    """Four parts along the walls of a low case, to be passed criss-cross.

    Going round the walls each is entered before it is left: only in that order do no two
    tubes cross.
    """
    rng = np.random.default_rng(seed)
    side = float(rng.uniform(290.0, 330.0))
    walls: dict[str, tuple[Callable[[float], Point], str]] = {
        "south": (lambda at: (at, 0.0, MIDDLE), "+y"),
        "east": (lambda at: (side, at, MIDDLE), "-x"),
        "north": (lambda at: (side - at, side, MIDDLE), "-y"),
        "west": (lambda at: (0.0, side - at, MIDDLE), "+x"),
    }
    parts = []
    for name, (place, faces) in walls.items():
        middle = side / 2.0 + float(rng.uniform(-15.0, 15.0))
        enter, leave = (_port(f"{name}.p", place(middle), faces) for _ in range(2))
        parts.append(
            part(
                name,
                replace(
                    enter,
                    name=f"{name}.in",
                    position=place(middle - 30.0),
                    flow="in",
                ),
                replace(
                    leave,
                    name=f"{name}.out",
                    position=place(middle + 30.0),
                    flow="out",
                ),
            )
        )
    around = tuple(walls)
    crossed = [("south", *rest) for rest in _ORDERS]
    order = crossed[int(rng.integers(len(crossed)))]
    opened = scene(
        *parts,
        inner=(side, side, LOW),
        tube=small_tube(stock_length=1500.0),
        rules=small_rules(),
        loop=LoopRequest(order=order),
    )
    return Remedied(
        scene=replace(opened, runs=runs_in_order(opened, order)),
        change=OtherOrder(parts=around),
    )


_ORDERS = (
    ("east", "west", "north"),
    ("north", "east", "west"),
    ("north", "west", "east"),
    ("west", "east", "north"),
    ("west", "north", "east"),
)
"""After the south one; without that round the walls."""
