"""How flow divides, and where pump and loop meet: by hand, and as published."""

from __future__ import annotations

import math
from operator import attrgetter

import pytest

from loopsolver.hydraulics.liquids import water
from loopsolver.hydraulics.losses import CurveLoss, pump_pressure, stated_drop
from loopsolver.hydraulics.network import FlowNetwork, Passage, network
from loopsolver.scene.water import Curve

MAIN = attrgetter("main")
WATER = water(25.0)
METRE = 9.78907
"""A metre of water [kPa], at 20 °C."""


def square(name: str, start: str, end: str, factor: float) -> Passage:
    """Return what takes `factor` times the square of its flow [kPa, L/min]."""
    return Passage(
        name=name, start=start, end=end, losses=(CurveLoss(points=((1.0, factor),)),)
    )


def pump(points: Curve, start: str = "in", end: str = "out") -> Passage:
    return Passage(name="pump", start=start, end=end, pump=points)


def solved(*passages: Passage) -> FlowNetwork:
    return network(passages, given=0, state=WATER)


def flows(net: FlowNetwork) -> list[float]:
    (one,) = net.crossings(MAIN)
    return net.flows(one.flow, MAIN).tolist()


def test_one_circle_by_hand():
    """k Q² = H0 - s Q with k 2, H0 30, s 2: Q = (-2 + √(4 + 240)) / 4."""
    net = solved(pump(((0.0, 30.0), (10.0, 10.0))), square("all", "out", "in", 2.0))
    assert flows(net) == pytest.approx([(-2 + math.sqrt(244)) / 4] * 2, abs=1e-5)
    (one,) = net.crossings(MAIN)
    assert one.is_steady
    assert net.loop_pressure(one.flow, MAIN) == pytest.approx(2 * one.flow**2)


def test_closed_loop_without_static_head():
    """k1 Q² = H0 - k2 Q²: Q = √(H0 / (k1 + k2)), the pump's parabola in 400 chords."""
    curve = tuple((q, 30.0 - 0.3 * q**2) for q in (0.025 * n for n in range(400)))
    net = solved(pump(curve), square("all", "out", "in", 0.9))
    assert flows(net)[0] == pytest.approx(math.sqrt(30.0 / 1.2), abs=1e-3)


@pytest.mark.parametrize(
    ("head", "system", "flow", "pressure", "off"),
    [
        # Cengel and Cimbala: H 7.46 - 0.0453 Q², system 3.52 + 0.0261 Q² [m, L/min];
        # the answer, 7.43 L/min and 4.96 m, from memory.
        ((7.46, 0.0, 0.0453), (3.52, 0.0261), 7.43, 4.96, 0.005),
        # A page to prepare examinations: 60 - 0.8 Q and 20 + 0.5 Q²: 8.18 and 53.46.
        ((60.0, 0.8, 0.0), (20.0, 0.5), 8.18, 53.46, 0.005),
    ],
)
def test_pump_meets_system(head, system, flow, pressure, off):
    """A static head is a pump of its own that pushes back, whatever the flow."""
    shut, slope, square_of = head
    lift, factor = system
    points = [0.01 * number for number in range(1500)]
    rising = [(q, shut - slope * q - square_of * q**2 - lift) for q in points]
    curve = tuple(one for one in rising if one[1] > 0.0)
    net = solved(pump(curve), square("all", "out", "in", factor))
    (one,) = net.crossings(MAIN)
    assert one.flow == pytest.approx(flow, abs=off)
    met = lift + net.loop_pressure(one.flow, MAIN)
    assert met == pytest.approx(pressure, abs=2 * off)


def test_two_branches_by_hand():
    """Side by side flows go as 1 / √k: 1 and 4 take 2/3 and 1/3; together k is 4/9."""
    net = solved(
        pump(((0.0, 40.0), (12.0, 4.0))),
        square("way in", "out", "a", 0.5),
        square("wide", "a", "b", 1.0),
        square("narrow", "a", "b", 4.0),
        square("way out", "in", "b", 0.25),
    )
    total = (-3.0 + math.sqrt(9.0 + 160.0 * (0.75 + 4.0 / 9.0))) / (
        2.0 * (0.75 + 4.0 / 9.0)
    )
    assert flows(net) == pytest.approx(
        [total, total, total * 2 / 3, total / 3, -total], abs=1e-5
    )


def test_three_branches_and_a_branch_in_a_branch():
    """1 / √k add up side by side, k in line: by hand from the inside out."""
    inner = 1.0 / (1 / math.sqrt(2.0) + 1 / math.sqrt(5.0)) ** 2
    middle = inner + 3.0
    whole = 1.0 / (1 / math.sqrt(middle) + 1 / math.sqrt(1.5)) ** 2
    net = solved(
        pump(((0.0, 20.0), (8.0, 4.0)), "b", "a"),
        square("p", "a", "c", 2.0),
        square("q", "a", "c", 5.0),
        square("r", "c", "b", 3.0),
        square("s", "b", "a", 1.5),
    )
    total = (-2.0 + math.sqrt(4.0 + 80.0 * whole)) / (2.0 * whole)
    upper = total * math.sqrt(whole / middle)
    shares = [upper * math.sqrt(inner / factor) for factor in (2.0, 5.0)]
    assert flows(net) == pytest.approx([total, *shares, upper, upper - total], abs=1e-5)


def test_a_balanced_bridge_has_no_flow():
    """Wheatstone: where both sides divide alike, nothing goes across. A result."""
    net = solved(
        pump(((0.0, 20.0), (8.0, 4.0)), "b", "a"),
        square("left above", "a", "l", 1.0),
        square("left below", "l", "b", 2.0),
        square("right above", "a", "r", 3.0),
        square("right below", "r", "b", 6.0),
        square("across", "l", "r", 0.7),
    )
    *_, across = flows(net)
    assert across == pytest.approx(0.0, abs=1e-6)


def test_an_unbalanced_bridge_obeys_both_laws():
    passages = (
        pump(((0.0, 20.0), (8.0, 4.0)), "b", "a"),
        square("left above", "a", "l", 1.0),
        square("left below", "l", "b", 5.0),
        square("right above", "a", "r", 3.0),
        square("right below", "r", "b", 2.0),
        square("across", "l", "r", 0.7),
    )
    q = flows(solved(*passages))
    drop = [k * f * abs(f) for k, f in zip((1, 5, 3, 2, 0.7), q[1:], strict=True)]
    assert q[0] == pytest.approx(q[1] + q[3])
    assert q[1] == pytest.approx(q[2] + q[5])
    assert q[5] > 0.5
    assert drop[0] + drop[4] == pytest.approx(drop[2], abs=1e-6)
    assert drop[1] == pytest.approx(drop[4] + drop[3], abs=1e-6)


def test_pumps_in_line_add_their_pressures():
    one = ((0.0, 10.0), (10.0, 0.0))
    net = solved(pump(one), pump(one, "out", "on"), square("all", "on", "in", 1.0))
    assert flows(net)[0] == pytest.approx(-1 + math.sqrt(21))  # 20 - 2 Q = Q²


def test_a_pump_that_pushes_against_the_other():
    """10 - Q against 3, what the weak one gives at no flow of its own: 7 - Q = Q²."""
    strong, weak = ((0.0, 10.0), (10.0, 0.0)), ((0.0, 3.0), (5.0, 0.0))
    net = solved(pump(strong), pump(weak, "in", "on"), square("all", "out", "on", 1.0))
    flow = (-1.0 + math.sqrt(29.0)) / 2.0
    assert flows(net) == pytest.approx([flow, -flow, flow], abs=1e-5)


def test_pumps_side_by_side_share_the_flow():
    one = ((0.0, 10.0), (10.0, 0.0))
    net = solved(pump(one), pump(one), square("all", "out", "in", 1.0))
    total = (-0.5 + math.sqrt(0.25 + 40.0)) / 2.0  # 10 - Q / 2 = Q²
    assert flows(net) == pytest.approx([total / 2, total / 2, total], abs=1e-5)


def test_every_crossing_of_a_rising_curve():
    """Loop Q²; the pump's stretches by hand: 0.9 - 0.3 Q, 5.6 Q - 5, 18 - 3.6 Q."""
    net = solved(
        pump(((0.0, 0.9), (1.0, 0.6), (2.5, 9.0), (5.0, 0.0))),
        square("all", "out", "in", 1.0),
    )
    first = (-0.3 + math.sqrt(0.09 + 3.6)) / 2.0
    second = (5.6 - math.sqrt(5.6**2 - 4 * 5.0)) / 2.0
    third = (-3.6 + math.sqrt(3.6**2 + 4 * 18.0)) / 2.0
    found = net.crossings(MAIN)
    assert [one.flow for one in found] == pytest.approx(
        [first, second, third], abs=1e-5
    )
    assert [one.is_steady for one in found] == [True, False, True]


def test_pump_affinity_is_left_to_the_maker():
    """Crane 7.33: 400 gpm at 3500 rpm are 194.3 at 1700: flow as speed, head as square.

    A curve scaled so meets a loop of squares at a flow scaled alike.
    """
    share = 1700.0 / 3500.0
    full = tuple((0.5 * n, 40.0 - 0.01 * n**2) for n in range(60))
    slow = tuple((q * share, p * share**2) for q, p in full)
    met = [
        flows(solved(pump(curve), square("all", "out", "in", 0.25)))[0]
        for curve in (full, slow)
    ]
    assert met[1] / met[0] == pytest.approx(194.3 / 400.0, abs=1e-4)


def test_a_part_between_and_beyond_its_points():
    """A power law through two points: 2 and 8 kPa at 1 and 2 L/min are a square."""
    assert stated_drop(((1.0, 2.0), (2.0, 8.0)), 1.5) == pytest.approx(4.5)
    assert stated_drop(((1.0, 2.0), (2.0, 4.0), (4.0, 16.0)), 1.5) == pytest.approx(3.0)
    assert stated_drop(((1.0, 2.0), (2.0, 4.0), (4.0, 16.0)), 3.0) == pytest.approx(9.0)
    assert stated_drop(((1.0, 2.0), (2.0, 4.0), (4.0, 16.0)), 8.0) == pytest.approx(
        64.0
    )
    assert stated_drop(((1.0, 2.0), (2.0, 4.0), (4.0, 16.0)), 0.5) == pytest.approx(1.0)


def test_a_pump_between_and_beyond_its_points():
    curve = ((1.0, 20.0), (3.0, 10.0), (5.0, 4.0))
    told = [pump_pressure(curve, flow) for flow in (0.0, 2.0, 4.0, 6.0, 7.0)]
    assert told == [20.0, 15.0, 7.0, 1.0, -2.0]
