"""How likely tubes go in: closed forms, and tubes drawn at random and placed exactly."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.errors import LoopsolverError
from loopsolver.fitup.chance import chance_of, directions
from loopsolver.fitup.placement import placed
from loopsolver.fitup.seating import seating_of
from loopsolver.fitup.spread import Source
from loopsolver.scene.model import Acceptance, Spread
from loopsolver.tube.chain import chain_of, end_poses
from tests.builders.fitted_tubes import WAYS, Fitted, fitted
from tests.builders.scenes import COLLAR
from tests.full import IS_FULL, few_or_all

_DEGREE = math.radians(1.0)
_NONE = Spread(
    reading=0.0, square=0.0, straight=0.0, angle=0.0, turn=0.0, bias=0.0, bore=0.0
)


def _one(way: str, spread: Spread, **fitting: object) -> Fitted:
    holder = replace(COLLAR, **fitting)  # type: ignore[arg-type]
    return fitted(way, inner=(300, 300, 300), spread=spread, fitting=holder)


def _chance(way: str, spread: Spread, **fitting: object):
    one = _one(way, spread, **fitting)
    return chance_of(one.scene, one.candidate, None)


def _within(spreads: float) -> float:
    """Return the chance that one normal error is within so many spreads."""
    return math.erf(spreads / math.sqrt(2.0))


@pytest.mark.parametrize(
    ("fitting", "taken"),
    [
        ({"accepts": Acceptance(sideways=0.5, tilt=_DEGREE)}, 2 * math.tan(_DEGREE)),
        ({"bore": 14.2}, 2 * 0.2 / 12.0),
        ({"bore": 14.1}, 2 * 0.1 / 12.0),
    ],
)
def test_one_bend_is_shared_by_both_fittings(fitting, taken):
    """Closed form: a corner's two offsets are slid away, each end takes half of the tilt.

    A bore of play c takes a slope of c / l over its depth l. To what 72 directions leave.
    """
    chance = _chance("corner", replace(_NONE, angle=_DEGREE), **fitting)
    assert chance.likely == pytest.approx(_within(taken / _DEGREE), abs=0.02)
    assert chance.stands == pytest.approx(taken / (1.644854 * _DEGREE), rel=0.05)
    assert chance.causes[0].source == Source(kind="angle", number=1)
    assert chance.causes[0].part == pytest.approx(1.0)


@pytest.mark.parametrize("kind", ["straight", "turn"])
def test_what_trims_and_roll_take_is_no_error(kind):
    """Of a corner every straight is trimmed, and the only turn is its roll."""
    chance = _chance("corner", replace(_NONE, **{kind: 1.0}))
    assert chance.likely == pytest.approx(1.0, abs=1e-9)
    assert chance.stands > 10.0


@pytest.mark.parametrize("way", WAYS)
def test_with_so_many_times_the_spread_nine_of_ten_go_in(way):
    stands = _chance(way, Spread()).stands
    more = Spread(
        **{
            name: stands * getattr(Spread(), name)
            for name in ("reading", "square", "straight", "angle", "turn", "bias")
        }
    )
    assert _chance(way, more).likely == pytest.approx(0.9, abs=1e-3)


@pytest.mark.parametrize("way", few_or_all(["stairs"], [*WAYS]))
@pytest.mark.parametrize("fitting", [{}, {"bore": 14.3}])
def test_tubes_drawn_at_random_go_in_as_often(way, fitting):
    """Each bent by itself and placed exactly; ports where they should be.

    Within three spreads of what so many throws leave, and one in a hundred.
    """
    spread = replace(Spread(), reading=0.0, square=0.0)
    one = _one(way, spread, **fitting)
    count = 2000 if IS_FULL else 300
    found = placed(seating_of(one.scene, one.candidate), _bent(one, count=count))
    share, likely = float(np.mean(found.fits)), _chance(way, spread, **fitting).likely
    slack = 3.0 * math.sqrt(likely * (1.0 - likely) / count) + 0.01
    assert likely == pytest.approx(share, abs=slack)


def test_a_wider_bore_and_less_spread_are_never_worse():
    """0.3 mm of bore decide: from far below a half to nearly all."""
    chances = [
        _chance("stairs", Spread(), bore=14.0 + play) for play in (0.1, 0.2, 0.4)
    ]
    for one in chances:
        assert one.least <= one.likely <= one.most
    likely = [one.likely for one in chances]
    assert likely == sorted(likely)
    assert likely[-1] - likely[0] > 0.4
    finer = _chance("stairs", replace(Spread(), angle=0.5 * _DEGREE), bore=14.2)
    assert finer.likely > chances[1].likely


def test_a_bore_that_may_be_thinner_than_the_tube_may_take_none():
    chance = _chance("stairs", replace(Spread(), bore=0.1), bore=14.1)
    assert chance.least == pytest.approx(0.0, abs=1e-9)
    assert 0.0 < chance.likely < chance.most


def test_the_parts_of_all_causes_are_one():
    causes = _chance("five", Spread()).causes
    assert sum(one.part for one in causes) == pytest.approx(1.0)
    parts = [round(one.part, 6) for one in causes]
    assert parts == sorted(parts, reverse=True)


def test_a_tube_with_one_bad_bend_is_told_which():
    """All is 20 times as good as usual but the second of three turns, if it counts."""
    fine = Spread(reading=0.02, square=0.0004, straight=0.05, angle=0.0009, bias=0.0)
    causes = _chance("stairs", replace(fine, turn=_DEGREE)).causes
    assert causes[0].source == Source(kind="turn", number=2)
    assert causes[0].part > 0.9


@pytest.mark.parametrize(("power", "mean"), [(2, 1 / 6), (4, 3 / (6 * 8))])
def test_directions_are_a_design(power, mean):
    """Closed form: the mean of a coordinate's power over the sphere in six dimensions."""
    aim = np.array([0.3, -0.5, 0.1, 0.4, 0.2, 0.6])
    along = directions() @ (aim / np.linalg.norm(aim))
    assert np.mean(along**power) == pytest.approx(mean, rel=1e-9)


def test_equal_input_gives_equal_chances():
    assert _chance("U", Spread()) == _chance("U", Spread())


def test_a_tube_without_known_ends_has_no_chance():
    one = _one("U", Spread())
    with pytest.raises(LoopsolverError, match="not settled"):
        chance_of(one.scene, replace(one.candidate, ends=()), None)


def _bent(one: Fitted, *, count: int):
    random = np.random.default_rng(11)
    spread, chain = one.scene.spread, chain_of(one.candidate.table)
    bends = len(chain.angles)
    bent = random.normal(0.0, spread.angle, (count, bends))
    bent += random.normal(0.0, spread.bias, (count, 1))
    straights = chain.straights + random.normal(
        0.0, spread.straight, (count, bends + 1)
    )
    straights[:, 1:] -= chain.radius * bent
    turns = chain.turns + random.normal(0.0, spread.turn, (count, bends))
    turns[:, 0] = chain.turns[0]
    return end_poses(straights, turns, chain.angles + bent, chain.radius)
