"""Two rays joined by two bends: against equations solved from many starts, and formulas."""

import math

import numpy as np
import pytest
from scipy.optimize import fsolve

from loopsolver.routing.angled.two_bend_closures import (
    Closures,
    Pairs,
    closures,
    paired,
)
from loopsolver.routing.effort import Effort
from tests.unit.routing.touching import Array

FEW = Effort().laying_out.few_free_legs
MANY = Effort().laying_out.many_free_legs


ANGLES = [math.radians(a) for a in (30.0, 45.0, 60.0, 90.0)]


def between(a: Array, b: Array) -> float:
    return 2.0 * math.asin(
        min(
            1.0,
            float(np.linalg.norm(a / np.linalg.norm(a) - b / np.linalg.norm(b))) / 2.0,
        )
    )


def one_pair(start: Array, out: Array, home: Array, end: Array) -> Pairs:
    return paired(start=start[None], out=out[None], home=home[None], end=end[None])


def joins_of(pair: Pairs, a: float, b: float, least: float = 0.0) -> Closures:
    legs = np.full(1, least)
    return closures(pair, angles=(a, b), least=(legs, least, legs))


def solved(
    start: Array, out: Array, home: Array, end: Array, a: float, b: float
) -> set[tuple[int, int]]:
    """First and last legs of all tubes with these angles, found from 250 starts."""

    def off(legs: Array) -> list[float]:
        first, second = start + legs[0] * out, end - legs[1] * home
        middle = second - first
        size = max(float(np.linalg.norm(middle)), 1e-9)
        return [middle @ out - size * math.cos(a), middle @ home - size * math.cos(b)]

    found = set()
    rng = np.random.default_rng(5)
    for guess in rng.uniform(0.0, 500.0, (250, 2)):
        legs, _, flag, _ = fsolve(off, guess, full_output=True)
        first, second = start + legs[0] * out, end - legs[1] * home
        if flag != 1 or np.abs(off(legs)).max() > 1e-7 or legs.min() < 0.01:
            continue
        if np.linalg.norm(second - first) > 0.01:
            found.add((round(legs[0], 2), round(legs[1], 2)))
    return found


@pytest.mark.parametrize("seed", range(15))
def test_all_joins_of_skew_rays_and_no_others(seed: int) -> None:
    rng = np.random.default_rng(seed)
    start, end = rng.uniform(-120.0, 120.0, (2, 3))
    out, home = (v / np.linalg.norm(v) for v in rng.normal(size=(2, 3)))
    a, b = rng.choice(ANGLES, 2)
    closed = joins_of(one_pair(start, out, home, end), a, b)
    kept = (
        (closed.first > 0.01)
        & (closed.last > 0.01)
        & (closed.legs - closed.first - closed.last > 0.01)
    )
    mine = list(zip(closed.first[kept], closed.last[kept], strict=True))
    others = solved(start, out, home, end, a, b)
    inside = [legs for legs in mine if max(legs) < 500.0]
    assert all(
        any(np.allclose(legs, other, atol=0.05) for other in others) for legs in inside
    )
    assert all(
        any(np.allclose(legs, other, atol=0.05) for legs in mine) for other in others
    )


def test_every_join_of_many_pairs_has_its_angles_and_closes() -> None:
    rng = np.random.default_rng(11)
    n = 4000
    start, end = rng.uniform(-150.0, 150.0, (2, n, 3))
    out, home = (
        v / np.linalg.norm(v, axis=1)[:, None] for v in rng.normal(size=(2, n, 3))
    )
    least = rng.uniform(0.0, 60.0, n), 20.0, rng.uniform(0.0, 60.0, n)
    pairs = paired(start=start, out=out, home=home, end=end)
    count = 0
    for a in ANGLES:
        for b in ANGLES:
            closed = closures(pairs, angles=(a, b), least=least)
            first, second = closed.vertices(pairs)
            count += len(closed.pair)
            for row, v, w in zip(closed.pair, first, second, strict=True):
                assert between(v - start[row], out[row]) < 1e-6
                assert between(out[row], w - v) == pytest.approx(a, abs=1e-6)
                assert between(w - v, home[row]) == pytest.approx(b, abs=1e-6)
                legs = [
                    np.linalg.norm(s) for s in (v - start[row], w - v, end[row] - w)
                ]
                assert legs[0] >= least[0][row] - 1e-6
                assert legs[1] >= least[1] - 1e-6
                assert legs[2] >= least[2][row] - 1e-6
    assert count > 500


X, Y, Z = np.eye(3)


@pytest.mark.parametrize("angle_deg", [22.5, 30.0, 45.0, 60.0])
def test_offsets_between_parallel_rays(angle_deg: float) -> None:
    """Travel is the set by the sine of the angle, advance the set by its tangent."""
    angle, set_off = math.radians(angle_deg), math.hypot(8.0, 12.0)
    pair = one_pair(np.zeros(3), X, X, np.array([103.0, 12.0, 8.0]))
    closed = joins_of(pair, angle, angle, least=5.0)
    first, second = closed.vertices(pair)
    assert len(closed.pair) == len(FEW.spare)
    travel = np.linalg.norm(second - first, axis=1)
    assert travel == pytest.approx(np.full(len(travel), set_off / math.sin(angle)))
    advance = (second - first)[:, 0]
    assert advance == pytest.approx(np.full(len(travel), set_off / math.tan(angle)))
    # From one end of what is possible to the other.
    assert closed.first.min() == pytest.approx(5.0)
    assert closed.last.min() == pytest.approx(5.0)


def test_offsets_need_equal_angles() -> None:
    pair = one_pair(np.zeros(3), X, X, np.array([103.0, 12.0, 8.0]))
    assert not len(joins_of(pair, math.radians(30), math.radians(45)).pair)


def test_returns_between_opposite_rays_need_angles_of_a_half_turn() -> None:
    pair = one_pair(np.zeros(3), X, -X, np.array([30.0, 60.0, 80.0]))
    right = math.radians(90)
    closed = joins_of(pair, right, right, least=10.0)
    first, second = closed.vertices(pair)
    assert len(closed.pair) == len(FEW.longer)
    assert np.linalg.norm(second - first, axis=1) == pytest.approx(
        np.full(len(first), 100.0)
    )
    assert closed.first.min() == pytest.approx(40.0)  # the far end lies 30 ahead
    assert not len(joins_of(pair, right, math.radians(60)).pair)
    wide = joins_of(pair, math.radians(60), math.radians(120), least=10.0)
    assert len(wide.pair) == len(FEW.longer)


def test_flat_joins_where_one_leg_is_free() -> None:
    """45 and 45 degrees from x to y in one plane: any first leg will do up to a limit."""
    pair = one_pair(np.zeros(3), X, Y, np.array([100.0, 100.0, 0.0]))
    half = math.radians(45)
    legs = np.full(1, 10.0)
    closed = closures(
        pair, angles=(half, half), least=(legs, 10.0, legs), free_legs=MANY
    )
    first, second = closed.vertices(pair)
    assert len(closed.pair) > 5
    for v, w in zip(first, second, strict=True):
        assert between(X, w - v) == pytest.approx(half)
        assert between(w - v, Y) == pytest.approx(half)
        assert v[2] == w[2] == 0.0
    # Lifted out of the plane nothing closes.
    lifted = one_pair(np.zeros(3), X, Y, np.array([100.0, 100.0, 1.0]))
    assert not len(joins_of(lifted, half, half).pair)
