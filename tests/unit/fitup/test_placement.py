"""Where a bent tube may sit: against linear programmes, tube by tube, and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.fitup.placement import Seating, placed
from loopsolver.fitup.socket import Guide
from loopsolver.geometry.frames import Frame
from loopsolver.scene.model import Acceptance
from loopsolver.tube.chain import Chain, Poses
from tests.builders import linear_judge
from tests.builders.seated_tubes import as_bent, far_ends, seat_chain, seated
from tests.full import IS_FULL, few_or_all

_STRAIGHT = Chain(straights=(300.0,), turns=(), angles=(), radius=28.0)


@pytest.mark.parametrize("seed", few_or_all([2, 9, 23], range(60)))
def test_linear_programmes_find_no_less_room(seed):
    """Never more optimistic than limits of 64 sides; of 100 tubes at most 5 missed."""
    one = seated(seed)
    tubes = as_bent(one.chain, count=200 if IS_FULL else 12, seed=seed)
    found = placed(one.seating, tubes)
    shares = np.array(
        [
            linear_judge.least_share(one.seating, tubes, number)
            for number in range(len(found.room))
        ]
    )
    assert not np.any(found.fits & (shares > 1.0 + 1e-4))
    nearly = ~found.fits & (shares < 1.5)
    if nearly.any():
        excess = np.median((1.0 - found.room)[nearly] / shares[nearly])
        assert excess == pytest.approx(1.0, abs=0.02)
    missed = np.sum(~found.fits & (shares <= 1.0))
    assert missed <= max(1.0, 0.05 * len(shares))  # a single one is no share


@pytest.mark.parametrize("seed", range(8))
def test_what_fits_lies_within_every_limit(seed):
    """By the judge's own geometry, at the place that is returned."""
    one = seated(seed, slides=3.0)
    tubes = as_bent(one.chain, count=40, seed=seed)
    found = placed(one.seating, tubes)
    for number in np.flatnonzero(found.fits):
        turned = found.firsts.rotations[number] @ one.seating.drawn.rotation.T
        way = found.firsts.positions[number] - one.seating.drawn.origin
        move = np.array([*Rotation.from_matrix(turned).as_rotvec(), *way])
        at = linear_judge.lies(one.seating, tubes, int(number), move)
        assert np.all(np.hypot(at[0:8:2], at[1:8:2]) <= 1.0 + 1e-9)
        assert np.all(np.abs(at[8:10]) <= 3.0 + 1e-9)
        assert abs(at[10]) <= one.seating.roll
        assert at[8:10] == pytest.approx(found.slides[number], abs=1e-9)


def test_the_room_is_for_the_fittings_where_the_slides_suffice():
    """2 mm of 3 are slid, and both fittings have all their room."""
    one = seat_chain(_STRAIGHT, holds=(Guide(play=0.4),) * 2, slides=3.0)
    found = placed(one.seating, _straight_tubes([304.0]))
    assert found.room[0] == pytest.approx(1.0, abs=1e-6)
    assert found.slides[0] == pytest.approx([-2.0, -2.0], abs=1.0 + 1e-9)
    assert found.slides[0].sum() == pytest.approx(-4.0)


@pytest.mark.parametrize(("length", "fits"), [(305.9, True), (306.1, False)])
def test_a_straight_tube_is_too_long_by_both_trims(length, fits):
    one = seat_chain(_STRAIGHT, holds=(Guide(play=0.4),) * 2, slides=3.0)
    found = placed(one.seating, _straight_tubes([length]))
    assert found.fits.tolist() == [fits]


@pytest.mark.parametrize("play", [0.1, 0.2, 0.4])
def test_a_bore_takes_a_slope_of_its_play_over_its_depth(play):
    """The free tilt of a sleeve of length l and clearance c is atan(c / l).

    c = 0.2 mm on l = 12 mm gives 0.95 degrees, 0.1 mm 0.48 degrees: by hand. Both ends
    of a straight tube tilt alike, so that the mouths are as far apart sideways as that
    slope has it over 300 mm.
    """
    slope = play / 12.0
    assert math.degrees(math.atan(slope)) == pytest.approx(
        {0.1: 0.48, 0.2: 0.95, 0.4: 1.91}[play], abs=0.005
    )
    aside = 300.0 * slope - play  # from one seat's edge to the other's
    one = seat_chain(_STRAIGHT, holds=(Guide(play=play),) * 2)
    for factor, fits in ((0.99, True), (1.01, False)):
        moved = _far_socket_moved(one.seating, aside=factor * aside)
        found = placed(moved, _straight_tubes([300.0]))
        assert found.fits.tolist() == [fits]


@pytest.mark.parametrize("clearance", [0.002, 0.005])
def test_a_ring_is_still_squeezed_where_the_bore_stops_the_tube(clearance):
    """As far aside as a tube fits, the published gland seals all round.

    Rings of section 0.070 +-0.003 in, static cylindrical glands (engineersedge.com):
    depth 0.050 to 0.052 in, squeeze 0.015 to 0.023 in, clearance in diameter 0.002 to
    0.005 in, runout 0.002 in. Squeeze less eccentricity and runout must be above none:
    MIL-G-5514G, 3.6.2.
    """
    squeeze = (0.070 - 0.003) - 0.052
    assert (squeeze, 0.073 - 0.050) == pytest.approx((0.015, 0.023))
    play = 25.4 * clearance
    one = seat_chain(_STRAIGHT, holds=(Guide(play=play),) * 2)
    aside = 300.0 * play / 12.0 - play  # as far as it fits: a sleeve's free tilt
    found = placed(
        _far_socket_moved(one.seating, aside=0.999 * aside), _straight_tubes([300.0])
    )
    assert found.fits.all()
    assert found.offsets[0] == pytest.approx([0.5 * play] * 2, rel=0.02)
    assert np.all(squeeze - found.offsets / 25.4 - 0.002 > 0.0)


@pytest.mark.parametrize(
    ("holds", "share"),
    [(Guide(play=1.0), 3.0), (Acceptance(sideways=0.5, tilt=math.atan(1 / 12)), 1.0)],
)
def test_tilt_and_offset_of_a_bore_are_one_budget(holds, share):
    """Off by half the play at the mouth and sloping away: by hand 1.5 mm at the seat.

    A mouth takes as much of both at once.
    """
    one = seat_chain(_STRAIGHT, holds=(holds, holds))
    sloping = Rotation.from_rotvec([0, math.atan(1 / 12), 0]).as_matrix()
    firsts = Poses(sloping[None], np.array([[-1.5, 0.0, 0.0]]))
    first, _ = one.seating.lying(firsts, _straight_tubes([300.0]))
    at_mouth, second = np.hypot(*first.readings[0, :4].reshape(2, 2).T)
    assert at_mouth == pytest.approx(1.0)
    assert second == pytest.approx(share)


def test_a_roll_is_found_and_told_the_way_it_turns():
    chain = Chain(
        straights=(60.0, 80.0), turns=(0.0,), angles=(math.pi / 2,), radius=28.0
    )
    one = seat_chain(chain, holds=(Guide(play=0.2),) * 2)
    rolled = far_ends(
        [
            Chain(
                straights=(60.0, 80.0),
                turns=(0.05,),
                angles=(math.pi / 2,),
                radius=28.0,
            )
        ]
    )
    found = placed(one.seating, rolled)
    assert found.room[0] == pytest.approx(1.0, abs=1e-3)
    assert found.rolls[0] == pytest.approx(-0.05, abs=1e-5)


@pytest.mark.parametrize("roll_deg", [8.0, 12.0])
def test_a_roll_has_its_bound(roll_deg):
    """Rolled by 8 degrees it goes in, by 12 it would lie elsewhere: by hand."""
    turn = math.radians(roll_deg)
    chain = Chain(
        straights=(60.0, 80.0), turns=(0.0,), angles=(math.pi / 2,), radius=28.0
    )
    one = seat_chain(chain, holds=(Guide(play=0.2),) * 2)
    rolled = Chain(
        straights=(60.0, 80.0), turns=(turn,), angles=(math.pi / 2,), radius=28.0
    )
    assert placed(one.seating, far_ends([rolled])).fits.tolist() == [roll_deg < 10.0]


def test_a_case_turned_and_moved_changes_nothing():
    frame = Frame.from_rotation(
        (300.0, -40.0, 90.0), Rotation.from_rotvec([0.3, 1.1, -2.0]).as_matrix()
    )
    one = seated(7)
    first, far = one.seating.sockets
    elsewhere = seat_chain(one.chain, holds=(first.holds, far.holds), frame=frame)
    tubes = as_bent(one.chain, count=30, seed=1)
    here, there = placed(one.seating, tubes), placed(elsewhere.seating, tubes)
    assert there.room == pytest.approx(here.room, abs=2e-3)
    assert np.array_equal(here.fits, there.fits)


def _straight_tubes(lengths: list[float]) -> Poses:
    return far_ends(
        [Chain(straights=(one,), turns=(), angles=(), radius=28.0) for one in lengths]
    )


def _far_socket_moved(seating: Seating, *, aside: float) -> Seating:
    first, far = seating.sockets
    x, y, z = far.seat
    moved = type(far)(
        seat=(x + aside, y, z), axis=far.axis, depth=far.depth, holds=far.holds
    )
    return Seating(sockets=(first, moved), drawn=seating.drawn, slides=seating.slides)
