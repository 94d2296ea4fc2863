"""Random networks obey both of Kirchhoff's laws, which leave one flow possible."""

from __future__ import annotations

from operator import attrgetter

import numpy as np
import pytest

from loopsolver.hydraulics.liquids import water
from loopsolver.hydraulics.losses import CurveLoss, TubeBend, TubeLoss
from loopsolver.hydraulics.network import Passage, network
from tests.full import few_or_all

MAIN = attrgetter("main")
WATER = water(30.0)


def random_passages(rng: np.random.Generator) -> list[Passage]:
    """Return a pump, then tubes and parts between 3 to 7 places, some side by side."""
    count = int(rng.integers(3, 8))
    pairs = [(at, (at + 1) % count) for at in range(count)]
    more = rng.integers(0, count, size=(int(rng.integers(1, 6)), 2)).tolist()
    pairs += [(one, other) for one, other in more if one != other]
    curve = ((0.0, float(rng.uniform(10, 60))), (float(rng.uniform(4, 12)), 0.0))
    found = []
    for number, (one, other) in enumerate(pairs):
        start, end = (one, other) if rng.random() < 0.5 else (other, one)
        factor = float(10.0 ** rng.uniform(-2, 1))
        loss = (
            CurveLoss(points=((1.0, factor),))
            if rng.random() < 0.5
            else TubeLoss(
                inner_diameter=float(rng.uniform(6, 13)),
                straight=float(rng.uniform(50, 900)),
                bends=(TubeBend(ratio=2.8, angle=1.5),) * int(rng.integers(0, 4)),
            )
        )
        found.append(
            Passage(
                name=f"{number}",
                start=f"place {start}",
                end=f"place {end}",
                losses=(loss,),
                pump=curve if number == 0 else (),
            )
        )
    return found


@pytest.mark.parametrize("seed", few_or_all(range(40), range(300)))
def test_both_laws(seed):
    passages = random_passages(np.random.default_rng(seed))
    net = network(passages, given=0, state=WATER)
    (crossing,) = net.crossings(MAIN)
    flows = net.flows(crossing.flow, MAIN).tolist()
    assert flows[0] > 0.0
    places = {place for one in passages for place in (one.start, one.end)}
    for place in places:
        into = sum(
            f for f, one in zip(flows, passages, strict=True) if one.end == place
        )
        out = sum(
            f for f, one in zip(flows, passages, strict=True) if one.start == place
        )
        assert into == pytest.approx(out, abs=1e-9)
    pressures = {passages[0].start: 0.0}
    while len(pressures) < len(places):
        for flow, one in zip(flows, passages, strict=True):
            drop = one.against(flow, WATER, MAIN)
            if one.start in pressures:
                pressures.setdefault(one.end, pressures[one.start] - drop)
            elif one.end in pressures:
                pressures[one.start] = pressures[one.end] + drop
    for flow, one in zip(flows, passages, strict=True):
        fall = pressures[one.start] - pressures[one.end]
        assert one.against(flow, WATER, MAIN) == pytest.approx(fall, abs=1e-4)
