"""Ways to lie, and which of them let air out or coolant."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.hydraulics.pockets import pockets, poured
from loopsolver.hydraulics.tilts import (
    FREE,
    MOST_TILTS,
    Rehearsal,
    best_tilts,
    leaning,
    lies,
    tilt_count,
)
from loopsolver.scene.axes import SIDES, sides_of
from tests.builders.random_loops import random_loop
from tests.full import few_or_all
from tests.unit.hydraulics.test_pockets import tank_and_radiator

STANDING = sides_of(axes=("right", "away", "up"), up=(0.0, 0.0, 1.0))


def bleeding(inside, vent, ways):
    """Air that is let out only where the machine stands."""
    return Rehearsal(
        inside=inside,
        out=vent,
        sign=1.0,
        is_open=lambda lie: lie == ways[0],
        counted=ways[0],
    )


def draining(inside, drain):
    return Rehearsal(
        inside=inside, out=drain, sign=-1.0, is_open=lambda _: True, counted=None
    )


def test_there_are_26_ways_to_stand_and_lie() -> None:
    """A cube's 6 faces, 12 edges and 8 corners; upright first."""
    ways = lies(STANDING, allowed=SIDES)
    assert [sum(len(one.down) == n for one in ways) for n in (1, 2, 3)] == [6, 12, 8]
    assert ways[0].down == ("down",)
    assert ways[0].up == (0.0, 0.0, 1.0)
    assert len({one.up for one in ways}) == 26


def test_only_allowed_sides_go_to_the_floor() -> None:
    """Of left and back: bottom, left, back, their three edges and their corner."""
    ways = lies(STANDING, allowed=("left", "away"))
    assert len(ways) == 7
    assert {side for one in ways for side in one.down} == {"down", "left", "away"}
    assert lies(STANDING, allowed=())[0:] == (ways[0],)


def test_on_its_back_the_front_is_up() -> None:
    """x right, y away: with the back on the floor, near (-y) points up."""
    (back,) = (
        one for one in lies(STANDING, allowed=("away",)) if one.down == ("away",)
    )
    assert back.up == pytest.approx((0.0, -1.0, 0.0))


def test_upside_down_the_air_of_a_radiator_with_low_ports_gets_to_the_tank() -> None:
    """Its ports are on top then, and its tubes rise from there to the tank.

    The tank has 55 mm, 198 mL, above the tubes; of the rest some reaches down into the
    40 mm of the tubes that lead up to the radiator, and gets back there.
    """
    inside, vent = tank_and_radiator(ports_up=False)
    ways = lies(STANDING, allowed=("up",))
    still, tilted, *_ = best_tilts(bleeding(inside, vent, ways), ways)
    assert still.left_ml > 240.0
    assert [one.down for one in tilted.lies] == [("up",)]
    assert tilted.left_ml < 2.0 * 0.25 * math.pi * 10.0**2 * 40.0 / 1000.0 / 2.0


def test_a_radiator_with_ports_up_keeps_its_coolant() -> None:
    """Drained at the tank's floor: 40 x 60 x 100 mm stay, 240 mL, and in both tubes all
    up to the floor of their level part, z = 125: 10 mm of straight, and of the bend what
    200,000 random points find below that.
    """
    inside, fill = tank_and_radiator(ports_up=True)
    drain = type(fill)(chamber=0, position=(10, 30, 0), direction=(0, 0, -1))
    upright = lies(STANDING, allowed=())
    (still,) = best_tilts(draining(inside, drain), upright)
    random = np.random.default_rng(0)
    x, y, z = random.uniform((0.0, -5.0, 0.0), (25.0, 5.0, 15.0), (200_000, 3)).T
    is_in_bend = (np.hypot(x, z) - 20.0) ** 2 + y**2 < 25.0
    in_bend = is_in_bend.mean() * 25.0 * 10.0 * 15.0 / 1000.0
    straight = 0.25 * math.pi * 10.0**2 * 10.0 / 1000.0
    assert still.left_ml == pytest.approx(240.0 + 2.0 * (straight + in_bend), abs=0.05)


@pytest.mark.parametrize("seed", few_or_all([3], range(8)))
def test_air_that_cannot_leave_is_neither_more_nor_less_after_a_tilt(seed) -> None:
    """Conservation: whatever is poured rests somewhere, chambers and bores together."""
    loop = random_loop(seed)
    random = np.random.default_rng(seed)
    ways = lies(STANDING, allowed=SIDES)
    of = bleeding(loop.inside, loop.opening, ways)
    closed = of.stand(ways[5])
    whole = closed.table(closed.full[0])[1][-1]
    amounts = np.zeros(len(closed.knots))
    amounts[closed.chamber_leaf] += random.uniform(0.0, whole / 6.0)
    found = pockets(closed, poured(closed, amounts))
    held = of.spread(found)
    assert held.sum() == pytest.approx(amounts.sum(), rel=1e-9)
    for way in ways[1::3]:
        held, found = of.moved(held, way)
        assert held.sum() == pytest.approx(amounts.sum(), rel=1e-9)
        assert sum(one.volume_ml for one in found) == pytest.approx(held.sum())


@pytest.mark.parametrize("seed", few_or_all([3], range(8)))
def test_one_tilt_is_the_best_of_all_and_more_are_never_worse(seed) -> None:
    """By trying every way, each from the start."""
    loop = random_loop(seed)
    ways = lies(STANDING, allowed=("left", "away"))
    of = bleeding(loop.inside, loop.opening, ways)
    found = best_tilts(of, ways)
    start = of.spread(found[0].left)
    best = min(
        sum(one.volume_ml for one in of.moved(of.moved(start, way)[0], ways[0])[1])
        for way in ways[1:]
    )
    if len(found) > 1:
        assert found[1].left_ml == pytest.approx(best, abs=1e-3)
    else:
        assert best > found[0].left_ml - FREE
    counts = [tilt_count(one.lies) for one in found]
    assert counts == list(range(len(found)))
    assert counts[-1] <= MOST_TILTS


def test_stopped_at_once_it_tells_what_stays_without_a_tilt() -> None:
    inside, vent = tank_and_radiator(ports_up=False)
    ways = lies(STANDING, allowed=SIDES)
    (only,) = best_tilts(bleeding(inside, vent, ways), ways, stopped=lambda: True)
    assert only.lies == ()


def test_stopped_between_tilts_it_keeps_the_best() -> None:
    inside, vent = tank_and_radiator(ports_up=False)
    ways = lies(STANDING, allowed=SIDES)
    asked = iter([False] * 30)
    found = best_tilts(
        bleeding(inside, vent, ways), ways, stopped=lambda: next(asked, True)
    )
    assert found[-1].left_ml < 0.01 * found[0].left_ml


def test_leaning_is_by_a_degree_to_eight_sides() -> None:
    ups = np.array(list(leaning((0.0, 0.6, 0.8))))
    assert np.degrees(np.arccos(ups @ (0.0, 0.6, 0.8))) == pytest.approx([1.0] * 8)
    assert len({tuple(np.round(one, 6)) for one in ups}) == 8
