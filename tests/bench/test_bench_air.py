"""What the search for tilts costs: 26 ways to stand and lie, three tilts."""

from __future__ import annotations

import math

import pytest

from loopsolver import route_scene
from loopsolver.hydraulics.filling import bleeding
from loopsolver.hydraulics.insides import Bore, Insides, OpenPort
from loopsolver.hydraulics.tilts import Rehearsal, best_tilts, lies
from loopsolver.plan import Plan
from loopsolver.scene.axes import SIDES, sides_of
from loopsolver.scene.reader import scene_from_text
from loopsolver.tube.centreline import Centreline, pieces
from tests.commands import SCENES
from tests.full import only_in_full
from tests.interleaved import Measured, in_turn
from tests.unit.hydraulics.test_pockets import box

pytestmark = pytest.mark.bench


def ring(count: int) -> tuple[Insides, OpenPort]:
    """So many boxes in a ring, each 20 mm higher or lower, joined by bent tubes."""
    places = [
        (
            300.0 * math.cos(2.0 * math.pi * n / count),
            300.0 * math.sin(2.0 * math.pi * n / count),
            20.0 * (n % 3),
        )
        for n in range(count)
    ]
    chambers = tuple(
        box(f"part {n}", (x - 15, y - 15, z), (x + 15, y + 15, z + 40))
        for n, (x, y, z) in enumerate(places)
    )
    bores = []
    for n, (x, y, z) in enumerate(places):
        u, v, w = places[(n + 1) % count]
        high = 110.0 + 30.0 * (n % 2)
        line = Centreline(
            vertices=((x, y, z + 40), (x, y, high), (u, v, high), (u, v, w + 40)),
            radius=20.0,
        )
        ends = (n, (n + 1) % count)
        name = f"tube {n}"
        bores.append(Bore(name=name, ends=ends, pieces=tuple(pieces(line)), lead=0.0))
    x, y, z = places[0]
    vent = OpenPort(chamber=0, position=(x, y, z + 40), direction=(0, 0, 1))
    return Insides(chambers=chambers, bores=tuple(bores), radius=5.0), vent


SIX = sides_of(axes=("right", "away", "up"), up=(0.0, 0.0, 1.0))

DEMO = """
[filling]
vent = "pump.fill"
drain = "front.drain"
tilts = ["left", "right", "near", "away", "up"]
"""


def thirty_parts() -> object:
    """The whole search for tilts of a ring of thirty parts."""
    inside, vent = ring(30)
    ways = lies(SIX, allowed=SIDES)
    assert len(ways) == 26
    of = Rehearsal(
        inside=inside,
        out=vent,
        sign=1.0,
        is_open=lambda lie: lie == ways[0],
        counted=ways[0],
    )
    return best_tilts(of, ways)


@pytest.fixture(scope="module")
def demo() -> Plan:
    """The demonstration of six runs, with a vent that it may be laid any way by."""
    text = (SCENES / "heron.toml").read_text(encoding="utf-8") + DEMO
    scene = scene_from_text(text, file="heron.toml")
    return Plan(scene=scene, runs=route_scene(scene).runs)


@only_in_full
def test_tilts_of_thirty_parts_against_the_demonstration(
    demo: Plan, measured: Measured
) -> None:
    """5 s for the demonstration and 30 s for thirty are wanted on a quiet core."""
    pair = in_turn(
        {"thirty parts": thirty_parts, "six parts": lambda: bleeding(demo)}, pairs=2
    )
    measured("tilts of thirty parts", pair, most=30.0)
    assert pair.ratio < 30.0
