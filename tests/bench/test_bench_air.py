"""What the search for tilts costs: 26 ways to stand and lie, three tilts."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from loopsolver.hydraulics.insides import Bore, Insides, OpenPort
from loopsolver.hydraulics.tilts import Rehearsal, best_tilts, lies
from loopsolver.scene.axes import SIDES, sides_of
from loopsolver.tube.centreline import Centreline, pieces
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
    vent = OpenPort(
        name="vent", chamber=0, position=(x, y, z + 40), direction=(0, 0, 1)
    )
    return Insides(chambers=chambers, bores=tuple(bores), radius=5.0), vent


def searched(count: int) -> Callable[[], object]:
    """The whole search for a ring of so many parts, as work."""
    inside, vent = ring(count)
    sides = sides_of(axes=("right", "away", "up"), up=(0.0, 0.0, 1.0))
    ways = lies(sides, allowed=SIDES)
    assert len(ways) == 26

    def work() -> object:
        of = Rehearsal(
            inside=inside,
            out=vent,
            sign=1.0,
            is_open=lambda lie: lie == ways[0],
            counted=ways[0],
        )
        return best_tilts(of, ways)

    return work


def test_tilts_of_thirty_parts_against_six(measured: Measured) -> None:
    """5 s for six parts and 30 s for thirty are wanted on a quiet core: six times."""
    pair = in_turn({"thirty parts": searched(30), "six parts": searched(6)}, pairs=2)
    measured("tilts of thirty parts", pair, most=30.0)
    assert pair.ratio < 30.0
