"""What mends a bent tube, against a search that shares nothing with it.

Tubes of two to five bends between fittings of four kinds; each is bent with random
errors, and what is advised is done to the exact tube.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
import pytest

from loopsolver.fitup.as_bent import AsBent, as_measured
from loopsolver.fitup.correction import (
    MOST_CHANGE_DEG,
    STEP_DEG,
    Correction,
    Workable,
    as_it_is,
    corrections,
    roomier,
)
from loopsolver.fitup.socket import Guide
from loopsolver.scene.model import Spread
from loopsolver.tube.chain import Chain
from tests.builders.bench_search import changed, laid, least_share, way_over
from tests.builders.seated_tubes import Seated, seat_chain, seated
from tests.full import few_or_all

NEVER_TOO_STRICT = 1e-3
"""By how much the polygons of the judge and the last rounding may differ, in shares."""


@dataclass(frozen=True)
class Bent:
    """A tube as drawn, as it was bent, and which bends may be heated."""

    drawn: Seated
    chain: Chain
    workable: Workable


def bent(seed: int, *, most_deg: float | None = None) -> Bent:
    """Return a tube that is bent with errors of up to 2 to 6 degrees and 2 mm.

    Every third one has little to trim; of every fifth one bend cannot be heated.
    """
    random = np.random.default_rng(seed)
    drawn = seated(seed, slides=6.0 if seed % 3 == 0 else 40.0)
    chain, bends = drawn.chain, len(drawn.chain.angles)
    off = math.radians(most_deg or 2.0 + 2.0 * (seed // 4 % 3))
    turns = np.array(chain.turns) + random.uniform(-off, off, bends)
    turns[0] = chain.turns[0]
    tube = replace(
        chain,
        straights=tuple(chain.straights + random.uniform(-2.0, 2.0, bends + 1)),
        turns=tuple(turns),
        angles=tuple(chain.angles + random.uniform(-off, off, bends)),
    )
    cold = int(random.integers(bends)) if seed % 5 == 0 else -1
    hot = tuple(bend for bend in range(bends) if bend != cold)
    return Bent(drawn=drawn, chain=tube, workable=Workable(bends=hot))


def done(chain: Chain, advice: Correction) -> Chain:
    """Return the tube with an advice done to it, by its printed numbers."""
    knobs, by = [], []
    for one in advice.changes:
        knobs += [("angles", one.bend - 1), ("turns", one.bend - 1)]
        by += [math.radians(one.angle_deg), math.radians(one.turn_deg)]
    return changed(chain, knobs, by)


@pytest.mark.parametrize("seed", few_or_all(range(0, 500, 16), range(500)))
def test_the_advice_mends_the_exact_tube_at_the_fewest_bends(seed: int) -> None:
    one = bent(seed)
    seating = one.drawn.seating
    before = least_share(one.chain, seating).share
    asis = as_it_is(one.chain, seating)
    if asis.room >= 0.0:
        assert before <= 1.0 + NEVER_TOO_STRICT
        return
    advice = corrections(one.chain, seating, workable=one.workable)
    fewer = len(advice[0].changes) - 1 if advice else 2
    if fewer:
        way = way_over(one.chain, seating, most_bends=fewer, hot=one.workable.bends)
        assert way is None
    assert before > 1.0 - 0.005
    for told in advice:
        after = least_share(done(one.chain, told), seating).share
        assert after <= 1.0 + NEVER_TOO_STRICT
        assert after <= before + NEVER_TOO_STRICT
        assert {change.bend - 1 for change in told.changes} <= {*one.workable.bends}
        for change in told.changes:
            for deg in (change.angle_deg, change.turn_deg):
                assert abs(deg) <= MOST_CHANGE_DEG
                assert deg / STEP_DEG == round(deg / STEP_DEG)
            assert change.bend > 1 or not change.turn_deg


def test_the_random_tubes_are_of_every_kind() -> None:
    kinds: Counter[int] = Counter()
    for seed in range(0, 500, 16):
        one = bent(seed)
        if as_it_is(one.chain, one.drawn.seating).room >= 0.0:
            kinds[0] += 1
            continue
        found = corrections(one.chain, one.drawn.seating, workable=one.workable)
        kinds[len(found[0].changes) if found else 3] += 1
    assert {0, 1, 2} <= kinds.keys()


def on_its_sheet(chain: Chain) -> tuple[np.ndarray, np.ndarray]:
    """Return where the far end is on sheet 1 and where it points: right, away, up.

    The first straight runs to the right, the first bend turns to the left: to what is
    away from who reads the sheet. Counted from where the first bend begins.
    """
    far = laid(chain)
    right, away = np.array([0, 0, 1]), np.array([1, 0, 0])
    axes = np.array([right, away, np.cross(right, away)])
    place = far.positions[0] - chain.straights[0] * right
    return axes @ place, axes @ far.rotations[0, :, 2]


def read_off(drawn: Chain, tube: Chain, *, shape: bool) -> AsBent:
    """Return what somebody measures of a tube: its miss, and its shape if that is asked.

    By which angle the last straight points off each way: it leans by their tangents.
    """
    (wanted, aim), (found, points) = on_its_sheet(drawn), on_its_sheet(tube)
    off = points / (points @ aim) - aim
    bends = len(tube.angles)
    nothing: tuple[float | None, ...] = (None,) * bends
    return AsBent(
        straights=tube.straights if shape else (*nothing, None),
        turns=tube.turns[1:] if shape else nothing[1:],
        angles=tube.angles if shape else nothing,
        miss=tuple((found - wanted).tolist()),
        leans=tuple(np.arctan(off).tolist()),
    )


@pytest.mark.parametrize("seed", few_or_all(range(0, 500, 24), range(500)))
def test_from_the_miss_the_advice_mends_the_exact_tube_as_well(seed: int) -> None:
    # Spreads as they are stated: bends and turns out by up to 2 degrees.
    one = bent(seed, most_deg=2.0)
    chain, seating = one.drawn.chain, one.drawn.seating
    measured = read_off(chain, one.chain, shape=False)
    believed = as_measured(chain, measured, Spread()).chain
    # Its first straight lies on the sheet: nobody knows how long it is but by measuring.
    believed = replace(
        believed, straights=(one.chain.straights[0], *believed.straights[1:])
    )
    here = as_it_is(believed, seating)
    room = as_it_is(one.chain, seating).room
    # Of a barrier method that ends 14 / 3000 short at a centre, twice: a part in a hundred
    # of the limits, or of what is asked for where that is more.
    assert 1.0 - here.room == pytest.approx(1.0 - room, rel=0.01, abs=0.01)
    if here.room >= 0.0:
        return
    known = corrections(one.chain, seating, workable=one.workable)
    advice = corrections(believed, seating, workable=one.workable, reserve=0.5)
    assert bool(advice) == bool(known)
    for told, exact in zip(advice[:1], known[:1], strict=True):
        assert len(told.changes) == len(exact.changes)
        after = least_share(done(one.chain, told), seating).share
        assert after <= 1.0 + NEVER_TOO_STRICT


@pytest.mark.parametrize("seed", few_or_all(range(0, 500, 40), range(500)))
def test_the_miss_of_a_tube_that_was_measured_changes_nothing(seed: int) -> None:
    one = bent(seed)
    measured = read_off(one.drawn.chain, one.chain, shape=True)
    believed = as_measured(one.drawn.chain, measured, Spread())
    assert believed.strain < 1e-6
    for part in ("straights", "turns", "angles"):
        found, true = getattr(believed.chain, part), getattr(one.chain, part)
        assert found == pytest.approx(true, abs=1e-9)


def test_what_is_wrong_with_a_miss_is_told_as_strain() -> None:
    one = bent(7)
    measured = read_off(one.drawn.chain, one.chain, shape=True)
    assert measured.miss is not None
    right, away, up = measured.miss
    slip = replace(measured, miss=(right, away + 30.0, up))
    assert as_measured(one.drawn.chain, slip, Spread()).strain > 3.0


def test_a_tube_that_fits_may_get_more_room_from_one_bend() -> None:
    drawn = seated(6)
    off = replace(
        drawn.chain,
        angles=(drawn.chain.angles[0] + math.radians(1.5), *drawn.chain.angles[1:]),
    )
    here = as_it_is(off, drawn.seating)
    workable = Workable(bends=tuple(range(len(off.angles))))
    more = roomier(here, drawn.seating, workable=workable)
    assert more is not None
    assert more.room > here.room + 0.1
    assert (
        roomier(as_it_is(drawn.chain, drawn.seating), drawn.seating, workable=workable)
        is None
    )


def test_copper_is_neither_opened_nor_turned() -> None:
    hard = Workable(bends=(0, 1, 2), opens=False, turns=False)
    for seed in range(1, 60, 4):  # tubes of three bends
        one = bent(seed)
        for told in corrections(one.chain, one.drawn.seating, workable=hard):
            assert all(change.angle_deg > 0.0 for change in told.changes)
            assert not any(change.turn_deg for change in told.changes)


def test_a_straight_tube_has_nothing_to_heat() -> None:
    chain = Chain(straights=(200.0,), turns=(), angles=(), radius=28.0)
    drawn = seat_chain(chain, holds=(Guide(play=0.2), Guide(play=0.2)))
    assert as_it_is(chain, drawn.seating).room > 0.99
    longer = replace(chain, straights=(260.0,))
    assert as_it_is(longer, drawn.seating).room > 0.99  # 30 mm off each end
    too_long = replace(chain, straights=(300.0,))
    assert as_it_is(too_long, drawn.seating).room < 0.0
    assert corrections(too_long, drawn.seating, workable=Workable(bends=())) == ()
