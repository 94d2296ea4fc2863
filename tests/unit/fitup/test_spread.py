"""How far off tubes are at their fittings: against 20,000 of them, exactly."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.errors import LoopsolverError
from loopsolver.fitup.seating import seating_of
from loopsolver.fitup.spread import Errors, Source, errors_of
from loopsolver.scene.model import Spread
from loopsolver.scene.port_spreads import SpreadBetween
from loopsolver.tube.chain import Poses, chain_of, end_poses
from loopsolver.tube.springback import BendTest, springback
from tests.builders.fitted_tubes import WAYS, Fitted, fitted

_COUNT = 20_000
_NONE = Spread(
    reading=0.0, square=0.0, straight=0.0, angle=0.0, turn=0.0, bias=0.0, bore=0.0
)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("only", [None, "straight", "angle", "turn", "bias", "square"])
def test_twenty_thousand_tubes_lie_off_as_much(way, only):
    """To 3 %, by the chain and both ports moved exactly."""
    spread = (
        Spread() if only is None else replace(_NONE, **{only: getattr(Spread(), only)})
    )
    one = fitted(way, inner=(300, 300, 300), spread=spread)
    seating = seating_of(one.scene, one.candidate)
    errors = errors_of(one.scene, one.candidate, seating, None)
    found = np.sqrt(np.diag(errors.spread))
    exact = np.sqrt(np.mean(_sampled(one) ** 2, axis=0))
    seen = exact > 0.02 * exact.max()
    assert found[seen] == pytest.approx(exact[seen], rel=0.03)
    assert np.all(found[~seen] <= 0.03 * exact.max() + 1e-12)


def test_errors_of_one_size_add_up_as_squares():
    """Stack-ups from published tolerance pages: ten parts of 0.1 give 0.316 by squares.

    2.000, 1.500, 0.500 and 4.020 with 0.005, 0.003, 0.002, 0.005 give 0.00794; 0.20, 0.10
    and 0.15 give 0.269.
    """
    for parts, whole in (
        ([0.1] * 10, 0.316),
        ([0.005, 0.003, 0.002, 0.005], 0.00794),
        ([0.20, 0.10, 0.15], 0.269),
    ):
        errors = Errors(
            sources=tuple(
                Source(kind="straight", number=n + 1) for n in range(len(parts))
            ),
            covariance=np.diag(np.square(parts)),
            effects=np.ones((1, len(parts))),
        )
        assert math.sqrt(errors.spread[0, 0]) == pytest.approx(whole, rel=2e-3)


def test_a_degree_on_an_arm_of_200_mm():
    """arm x tan(error): 200 mm, 1 degree give 3.49 mm. By hand; at the mouth 12 mm less."""
    spread = replace(_NONE, angle=math.radians(1.0))
    one = fitted("corner", inner=(300, 300, 300), spread=spread)
    seating = seating_of(one.scene, one.candidate)
    errors = errors_of(one.scene, one.candidate, seating, None)
    aside = np.hypot(*(errors.effects[4:6] @ np.sqrt(np.diag(errors.covariance))))
    arm = (
        120.0 - 28.0 - 12.0
    )  # from the end of the arc, where the tube is bent at marks
    assert aside * 0.5 == pytest.approx(3.49 * arm / 200.0, rel=1e-3)


def test_the_same_in_every_bend_cancels_in_a_z_and_adds_up_in_a_u():
    """The last straight of a Z lies parallel to what it should, that of a U is 2 off."""
    tilts = {}
    for way in ("Z", "U"):
        one = fitted(way, inner=(300, 300, 300), spread=replace(_NONE, bias=0.01))
        seating = seating_of(one.scene, one.candidate)
        spread = errors_of(one.scene, one.candidate, seating, None).spread
        tilts[way] = math.sqrt(spread[6, 6] + spread[7, 7]) * math.tan(
            math.radians(1.0)
        )
    assert tilts["Z"] == pytest.approx(0.0, abs=1e-12)
    assert tilts["U"] == pytest.approx(0.02)


def test_test_bends_tell_what_all_bends_share():
    """As well as the fit knows it, instead of the bias that is stated."""
    spread = replace(_NONE, bias=0.5)
    one = fitted("corner", inner=(300, 300, 300), spread=spread)
    tests = [
        BendTest(bent_deg=90.0, got_deg=86.0),
        BendTest(bent_deg=45.0, got_deg=43.0),
    ]
    told = springback(tests, spread_deg=1.0)
    assert told is not None
    scene = replace(one.scene, tube=replace(one.scene.tube, springback=told))
    errors = errors_of(scene, one.candidate, seating_of(scene, one.candidate), None)
    variance = errors.spread[6, 6] + errors.spread[7, 7]
    tilt_deg = math.degrees(math.sqrt(variance) * math.tan(math.radians(1.0)))
    assert tilt_deg == pytest.approx(told.spread_deg(90.0), rel=1e-3)


def test_parts_of_two_errors_that_go_together_are_halves_of_what_they_share():
    errors = Errors(
        sources=(Source(kind="place", number=0), Source(kind="place", number=1)),
        covariance=np.array([[4.0, 1.0], [1.0, 1.0]]),
        effects=np.eye(2),
    )
    parts = errors.parts(np.array([[1.0, 1.0]]))
    assert [float(one[0]) for one in parts.values()] == pytest.approx([5 / 7, 2 / 7])


def test_a_port_that_nothing_holds_has_no_spread():
    one = fitted("corner", inner=(300, 300, 300))

    class Loose:
        def between(self, start: str, goal: str) -> SpreadBetween:
            flat = ((0.0,) * 3,) * 3
            return SpreadBetween(
                start=start,
                goal=goal,
                position=((math.inf, 0.0, 0.0), flat[1], flat[2]),
                start_direction=flat,
                goal_direction=flat,
            )

    seating = seating_of(one.scene, one.candidate)
    with pytest.raises(
        LoopsolverError, match=r"nothing says where b\.in is from a\.out"
    ):
        errors_of(one.scene, one.candidate, seating, Loose())  # type: ignore[arg-type]


def _sampled(one: Fitted) -> np.ndarray:
    """Return the readings of many tubes with their first ends as drawn, (count, 11)."""
    random = np.random.default_rng(3)
    spread, table = one.scene.spread, one.candidate.table
    chain, bends = chain_of(table), len(table.bends)

    def drawn(width: int, off: float) -> np.ndarray:
        return random.normal(0.0, off, (_COUNT, width))

    bent = drawn(bends, spread.angle) + drawn(1, spread.bias)
    straights = chain.straights + drawn(bends + 1, spread.straight)
    straights[:, 1:] -= chain.radius * bent
    turns = chain.turns + drawn(bends, spread.turn)
    turns[:, 0] = chain.turns[0]
    ends = end_poses(straights, turns, chain.angles + bent, chain.radius)
    seating = seating_of(one.scene, one.candidate)
    first = Poses(
        np.tile(seating.drawn.rotation, (_COUNT, 1, 1)),
        np.tile(np.asarray(seating.drawn.origin), (_COUNT, 1)),
    )
    apart = drawn(3, math.sqrt(2.0) * spread.reading)
    far = _seen_from(one, 1, first.then(ends), drawn(3, spread.square), apart)
    near = _seen_from(one, 0, first, drawn(3, spread.square), np.zeros((_COUNT, 3)))
    sockets = seating.sockets
    lying = (
        sockets[0].lying(near.positions, near.rotations[:, :, 2]),
        sockets[1].lying(far.positions, -far.rotations[:, :, 2]),
    )
    return seating.readings(lying, seating.rolls(near))


def _seen_from(
    one: Fitted, end: int, poses: Poses, turns: np.ndarray, moved: np.ndarray
) -> Poses:
    """Return poses as a port that is turned about its face and moved sees them."""
    port = one.scene.port(one.candidate.ends[end].port)
    along = np.array(port.direction)
    across = turns - np.outer(turns @ along, along)
    back = Rotation.from_rotvec(across).as_matrix().swapaxes(1, 2)
    arms = poses.positions - moved - port.position
    return Poses(
        back @ poses.rotations,
        np.asarray(port.position) + np.einsum("mij,mj->mi", back, arms),
    )
