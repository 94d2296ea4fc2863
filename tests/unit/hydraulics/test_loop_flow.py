"""How the coolant goes round a plan: tubes, parts, branches, heat; by hand."""

from __future__ import annotations

import math

import pytest

from loopsolver.errors import LoopsolverError, SceneError
from loopsolver.hydraulics.bends import bend_loss
from loopsolver.hydraulics.friction import colebrook
from loopsolver.hydraulics.loop_flow import (
    LoopFlow,
    PassageFlow,
    loop_flow,
    states_flow,
)
from loopsolver.hydraulics.losses import DRAWN
from loopsolver.hydraulics.passages import fitting_loss
from loopsolver.scene.model import Fitting
from tests.builders.wet_loops import ROUND, coolant, water, wet_plan

FALLING = water("pump", pump=[[0, 40], [10, 0]])
BLOCK = water("block", loss=[[4, 9.5]])
FRONT = water("front", loss=[[4, 4.0]])
AT_25 = coolant(temperature=25)
BRANCHED = (
    "pump to split",
    "split to block",
    "split to card",
    "block to meet",
    "card to meet",
    "meet to pump",
)


def stages(flow: LoopFlow) -> dict[str, PassageFlow]:
    return {
        f"{'tube ' if one.passage.is_tube else ''}{one.passage.name}": one
        for circuit in flow.circuits
        for one in circuit.passages
    }


def test_the_drop_of_one_tube_by_hand():
    """4 L/min of water at 25 °C in 10 mm: V 0.8488, Re 9509 (nu 0.89266 mm²/s).

    Two right angles round 28 mm leave 3 · 200 - 4 · 28 mm of straight; two collars that
    state no loss cost 0.15 each.
    """
    found = loop_flow(wet_plan(AT_25, BLOCK, FRONT), flow=4.0)
    one = stages(found)["tube pump to block"]
    factor = colebrook(9509.0, DRAWN / 10.0)
    bends = 2 * bend_loss(9509.0, 2.8, math.pi / 2).main
    head = 997.048 * 0.8488**2 / 2000.0
    by_hand = head * (factor * (600.0 - 4 * 28.0) / 10.0 + bends + 0.3)
    assert one.drop.main == pytest.approx(by_hand, rel=1e-3)
    assert one.drop.low < one.drop.main < one.drop.high


def test_the_flow_is_that_where_pump_and_loop_agree():
    found = loop_flow(wet_plan(FALLING, BLOCK, FRONT))
    (circuit,) = found.circuits
    told = circuit.passages
    given = 40.0 - 4.0 * circuit.flow.main
    assert math.fsum(one.drop.main for one in told) == pytest.approx(given, abs=1e-4)
    assert circuit.pressure.main == pytest.approx(given, abs=1e-4)
    assert math.fsum(one.share for one in told) == pytest.approx(1.0)
    assert circuit.flow.low < circuit.flow.main < circuit.flow.high
    for edge, end in ((circuit.flow.low, "high"), (circuit.flow.high, "low")):
        taken = loop_flow(wet_plan(FALLING, BLOCK, FRONT), flow=edge).circuits[0]
        pressure = getattr(taken.pressure, end)
        assert pressure == pytest.approx(40.0 - 4.0 * edge, abs=1e-4)


def test_parts_without_figures_are_named():
    (circuit,) = loop_flow(wet_plan(FALLING, BLOCK)).circuits
    assert circuit.ring.unknown == ("front",)
    (circuit,) = loop_flow(wet_plan(FALLING, BLOCK, FRONT)).circuits
    assert circuit.ring.unknown == ()


def test_a_run_without_a_tube_is_named():
    plan = wet_plan(FALLING, BLOCK, unlaid=["front to pump"])
    (circuit,) = loop_flow(plan).circuits
    assert circuit.ring.unlaid == ("front to pump",)
    assert stages(loop_flow(plan))["tube front to pump"].drop.main == 0.0


def test_it_is_told_in_the_way_of_the_coolant():
    (circuit,) = loop_flow(wet_plan(FALLING, BLOCK, FRONT)).circuits
    assert [one.passage.name for one in circuit.passages] == [
        "pump",
        "pump to block",
        "block",
        "block to front",
        "front",
        "front to pump",
    ]


def test_bends_that_stand_close_have_a_wider_band():
    """100 mm are ten inside diameters: legs of 155 mm leave 99 mm, of 157 mm 101 mm."""
    near, far = (
        loop_flow(wet_plan(AT_25, BLOCK, leg=leg), flow=4.0) for leg in (155.0, 157.0)
    )
    close, apart = (stages(one)["tube pump to block"].tube for one in (near, far))
    assert close is not None
    assert apart is not None
    assert [bend.is_close for bend in close.bends] == [True, True]
    assert [bend.is_close for bend in apart.bends] == [False, False]
    told, usual = close.bends[0].loss(5e3), apart.bends[0].loss(5e3)
    assert told.low < usual.low
    assert told.main == usual.main
    assert told.high > usual.high


def test_the_price_of_a_bend_is_the_straight_that_costs_as_much():
    found = loop_flow(wet_plan(AT_25, BLOCK), flow=4.0)
    tube = stages(found)["tube pump to block"].tube
    assert tube is not None
    price = tube.bend_price(tube.bends[0], 4.0, found.state).main
    factor = colebrook(9509.0, DRAWN / 10.0)
    loss = bend_loss(9509.0, 2.8, math.pi / 2).main
    assert price == pytest.approx(loss * 10.0 / factor, rel=1e-3)


def test_branches_share_the_flow_by_their_losses():
    """Tubes of no length worth a word beside 9 and 36 kPa at 2 L/min: 2 to 1."""
    plan = wet_plan(
        water("pump", pump=[[0, 40], [10, 0]]),
        water("block", loss=[[2, 900]]),
        water("card", loss=[[1, 900]]),
        runs=BRANCHED,
        bends=0,
        leg=1.0,
    )
    told = stages(loop_flow(plan))
    assert told["block"].flow / told["card"].flow == pytest.approx(2.0, rel=1e-3)
    assert told["pump"].flow == pytest.approx(told["block"].flow + told["card"].flow)


def test_a_stated_flow_is_that_of_what_all_of_it_passes():
    plan = wet_plan(
        coolant(flow=3), water("block", loss=[[2, 9]]), BLOCK_CARD, runs=BRANCHED
    )
    told = stages(loop_flow(plan))
    assert told["pump"].flow == pytest.approx(3.0)
    assert told["block"].flow + told["card"].flow == pytest.approx(3.0)
    assert told["block"].flow == pytest.approx(told["card"].flow)


BLOCK_CARD = water("card", loss=[[2, 9]])


def test_a_dead_end_has_no_flow():
    plan = wet_plan(FALLING, BLOCK, runs=[*ROUND, "front to valve"])
    found = loop_flow(plan)
    assert found.still == ("front to valve",)
    assert "tube front to valve" not in stages(found)


def test_two_circuits_are_reckoned_apart():
    plan = wet_plan(
        FALLING,
        BLOCK,
        water("other", pump=[[0, 20], [10, 0]]),
        runs=[*ROUND, "other to card", "card to other"],
    )
    first, second = loop_flow(plan).circuits
    assert first.entry == "pump"
    assert second.entry == "other"


def test_a_run_written_the_wrong_way_round_makes_no_difference():
    """The pump's own ports say which way it pushes."""
    right = loop_flow(wet_plan(FALLING, BLOCK, FRONT))
    turned = wet_plan(FALLING, BLOCK, FRONT)
    runs = [turned.runs[0], turned.runs[1].from_other_end(), turned.runs[2]]
    told = loop_flow(type(turned)(scene=turned.scene, runs=tuple(runs)))
    assert told.circuits[0].flow.main == pytest.approx(right.circuits[0].flow.main)


def test_temperatures_round_the_loop():
    """100 W into 1 L/min of water at 25 °C: 1.4392 K, by hand from CoolProp's values."""
    heated = [
        coolant(temperature=25, flow=1),
        water("block", heat=100),
        water("front", heat="rest"),
    ]
    told = stages(loop_flow(wet_plan(*heated)))
    block, front = told["block"], told["front"]
    assert block.before is not None
    assert block.after is not None
    assert front.after is not None
    assert block.before.main == pytest.approx(25.0)
    assert block.after.main == pytest.approx(26.4392, abs=1e-3)
    assert front.after.main == pytest.approx(25.0)
    assert (block.heat, front.heat) == (100.0, -100.0)


def test_branches_mix_where_they_meet():
    """Equal halves of 2 L/min, one warmed by 100 W: half its rise after they meet."""
    heated = [
        coolant(temperature=25, flow=2),
        water("block", loss=[[2, 9]], heat=100),
        water("card", loss=[[2, 9]]),
        water("pump", heat="rest"),
    ]
    told = stages(loop_flow(wet_plan(*heated, runs=BRANCHED)))
    block, mixed = told["block"], told["tube meet to pump"].before
    assert block.before is not None
    assert block.after is not None
    assert mixed is not None
    cold = block.before.main
    assert block.after.main - cold == pytest.approx(1.4392, abs=1e-3)
    assert mixed.main - cold == pytest.approx(1.4392 / 2, abs=1e-3)
    assert mixed.main == pytest.approx(25.0)  # where it enters the pump


def test_the_rest_is_shared_equally():
    heated = [
        coolant(flow=2),
        water("block", heat=90),
        water("pump", heat="rest"),
        water("front", heat="rest"),
    ]
    told = stages(loop_flow(wet_plan(*heated)))
    assert (told["pump"].heat, told["front"].heat) == (-45.0, -45.0)


def test_thick_coolant_widens_what_parts_take():
    """As stated at least; laminar at most: as the viscosities, 2.9650 to 1.0016 mPa s.

    30 % propylene glycol and water at 20 °C, CoolProp 8.0.0.
    """
    thick = coolant(liquid="propylene glycol", share=30, temperature=20)
    one = stages(loop_flow(wet_plan(thick, BLOCK), flow=4.0))["block"].drop
    assert one.low == pytest.approx(9.5)
    assert one.high == pytest.approx(9.5 * 2.9650 / 1.0016, rel=1e-3)
    assert one.low < one.main < one.high


@pytest.mark.parametrize(
    ("turn", "loss", "low", "main", "high"),
    [
        (0.0, None, 0.0, 0.15, 0.3),  # a step of bore; common practice, no source
        (0.0, 0.4, 0.4, 0.4, 0.4),
        (90.0, 1.2, 1.2, 1.2, 1.2),
        (90.0, None, 1.2021, 1.4225, 2.0026),  # Rennels, Miller, Blevins
        (45.0, None, 1.2021 / 4, 1.4225 / 4, 2.0026 / 4),  # Crane: 15 to 60
    ],
)
def test_fittings_cost_what_they_state_or_what_is_usual(turn, loss, low, main, high):
    fitting = Fitting(
        name="one",
        height=20.0,
        depth=12.0,
        diameter=22.0,
        straight_beyond=5.0,
        turn_deg=turn,
        loss=loss,
    )
    band = fitting_loss(fitting)
    assert (band.low, band.main, band.high) == pytest.approx((low, main, high))


def test_plans_that_state_what_makes_it_flow():
    assert states_flow(wet_plan(FALLING))
    assert states_flow(wet_plan(coolant(flow=2)))
    assert not states_flow(wet_plan(BLOCK, coolant(temperature=30)))


@pytest.mark.parametrize(
    ("tables", "key", "says"),
    [
        ([BLOCK], "coolant.flow", ("no pump curve in pump, block, front", "--flow")),
        (
            [coolant(liquid="ethylene glycol", share=30, temperature=-20, flow=2)],
            "coolant.temperature",
            ("-20 °C", "-14 to 80 °C", "with 30 %"),
        ),
        (
            [coolant(temperature=-1, flow=2)],
            "coolant.temperature",
            ("-1 °C", "0 to 100 °C"),
        ),
        (
            [coolant(flow=2), water("block", heat=100), water("front", heat=-80)],
            "components.block.water.heat",
            ("100 W in block", "-80 W in front", "+20 W together", '"rest"'),
        ),
    ],
)
def test_wrong_input_names_key_and_remedy(tables, key, says):
    with pytest.raises(SceneError) as caught:
        loop_flow(wet_plan(*tables))
    (fault,) = caught.value.faults
    assert fault.key_path == key
    for words in says:
        assert words in str(fault)


def test_no_circuit_is_told():
    with pytest.raises(LoopsolverError, match=r"no closed circuit.*pump to block"):
        loop_flow(wet_plan(FALLING, runs=["pump to block", "block to front"]))


def test_two_pumps_in_line_give_twice_the_pressure():
    """A second pump as good as the first, in the block's place."""
    second = water("block", pump=[[0, 40], [10, 0]])
    circuit = loop_flow(wet_plan(FALLING, second, FRONT)).circuits[0]
    assert circuit.pressure.main == pytest.approx(80 - 8 * circuit.flow.main, abs=1e-4)
