"""How the coolant goes round, in words for a bench."""

from __future__ import annotations

import pytest

from loopsolver.hydraulics.loop_flow import loop_flow
from loopsolver.lengths import MILLIMETRES
from loopsolver.plan import Plan
from loopsolver.report.flow import (
    coolant_text,
    flow_lines,
    flow_remarks,
    flow_table,
    still_remarks,
    two_digits,
)
from tests.builders.wet_loops import ROUND, coolant, water, wet_plan

PUMP = water("pump", pump=[[0, 40], [10, 0]])
PARTS = (water("block", loss=[[4, 9.5]]), water("front", loss=[[2, 1], [4, 4]]))


def remarks(plan: Plan, *, flow: float | None = None) -> str:
    found = loop_flow(plan, flow=flow)
    told = flow_remarks(plan, found, found.circuits[0], lengths=MILLIMETRES)
    return "\n".join([*told, *still_remarks(found)])


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (0.01234, "0.012"),
        (0.0996, "0.10"),
        (0.996, "1.0"),
        (9.96, "10"),
        (23.4, "23"),
        (99.6, "100"),
        (6449.0, "6400"),
        (-3.14, "-3.1"),
    ],
)
def test_no_third_digit(value, text):
    assert two_digits(value) == text


def test_parts_without_figures_are_named_with_the_key():
    told = remarks(wet_plan(PUMP, PARTS[0]))
    assert "not counted: front, without loss = [[flow, pressure]] or pump" in told
    assert "[components.front.water]" in told
    assert "the true flow is lower" in told
    told = remarks(wet_plan(PARTS[0]), flow=2.0)
    assert "not counted: pump and front" in told
    assert "[components.NAME.water]" in told
    assert "the true drop is higher" in told


def test_a_stated_flow_that_the_pump_overrules_is_told():
    told = remarks(wet_plan(PUMP, *PARTS, coolant(flow=2)))
    assert "flow = 2 of [coolant] is not used" in told
    assert "is not used" not in remarks(wet_plan(*PARTS, coolant(flow=2)))


def test_a_run_without_a_tube_is_named():
    told = remarks(wet_plan(PUMP, *PARTS, unlaid=["front to pump"]))
    assert "'front to pump' is not counted: it has no chosen tube" in told


def test_where_curves_are_drawn_on():
    told = remarks(wet_plan(*PARTS), flow=8.0)
    assert "known at 4 L/min alone" in told
    assert "the loss of block" in told
    assert "front: its loss is known from 2 to 4 L/min; at 8.0 L/min" in told
    weak = water("pump", pump=[[0, 40], [1, 39]])
    assert "beyond the last point of its curve, 1 L/min" in remarks(
        wet_plan(weak, *PARTS)
    )


def test_flow_that_may_be_laminar_or_turbulent():
    """1 L/min of water at 25 °C in 10 mm: Re 2377, by hand."""
    plan = wet_plan(coolant(temperature=25), *PARTS)
    assert "between 2000 and 4000" in remarks(plan, flow=1.0)
    assert "between 2000 and 4000" not in remarks(plan, flow=4.0)


def test_close_bends_are_told_with_the_distance():
    told = remarks(wet_plan(PUMP, *PARTS, leg=150.0))
    assert "less than ten inside diameters, 100.0 mm, apart" in told
    assert "ten inside diameters" not in remarks(wet_plan(PUMP, *PARTS))


def test_what_each_fitting_costs_and_why():
    told = remarks(wet_plan(PUMP, *PARTS))
    assert "collar: 0.15 (0 to 0.3) velocity heads" in told
    assert "step of bore" in told


def test_the_hottest_tube_against_its_material():
    """Sheet makers' data: extruded acrylic bears 70 °C, PETG gives from 60 °C on."""
    heat = (water("block", heat=400), water("front", heat="rest"))
    for material, limit in (("acrylic", 70), ("petg", 60)):
        for inlet, verdict in ((30, "below"), (69, "above")):
            stated = coolant(temperature=inlet, flow=1)
            told = remarks(wet_plan(stated, *heat, material=material))
            assert "hottest tube: 'block to front'" in told
            assert f"{verdict} the {limit} °C that {material} bears" in told
            assert "data" in told  # where the limit comes from
            assert ("sags" in told) == (verdict == "above")
    told = remarks(wet_plan(coolant(temperature=69, flow=1), *heat, material="copper"))
    assert "copper bears it" in told


def test_several_crossings_are_all_told():
    rising = water("pump", pump=[[0, 9], [1, 6], [2.5, 90], [5, 0]])
    parts = (water("block", loss=[[1, 10]]), PARTS[1])
    found = loop_flow(wet_plan(rising, *parts, bends=0, leg=1.0))
    circuit = found.circuits[0]
    assert circuit.flow.main == circuit.crossings[0].flow < circuit.crossings[2].flow
    first, second = flow_lines(circuit)
    assert first.startswith("Flow: ")
    assert "cross 3 times" in second
    assert second.count("where it does not stay") == 1


def test_the_table_has_a_row_for_everything():
    (circuit,) = loop_flow(wet_plan(PUMP, PARTS[0])).circuits
    table = flow_table(circuit)
    assert [row[0] for row in table.rows] == [
        "pump",
        "pump to block",
        "block",
        "block to front",
        "front",
        "front to pump",
    ]
    assert {len(row) for row in table.rows} == {len(table.headings)}
    rows = {row[0]: row for row in table.rows}
    assert rows["pump"][-1] == "pump"
    assert rows["front"][-1] == "not known"
    assert rows["block"][-1] == "#" * round(10 * float(rows["block"][-2]) / 100)


def test_what_goes_round():
    """Water of 25 °C: 997 kg/m³, 0.89 mPa s (CoolProp 8.0.0)."""
    told = coolant_text(loop_flow(wet_plan(coolant(temperature=25, flow=1))))
    assert told == "water at 25 °C: 997 kg/m³, 0.89 mPa s"
    assert "not stated" in coolant_text(loop_flow(wet_plan(PUMP)))


def test_a_dead_end_is_told():
    told = remarks(wet_plan(PUMP, *PARTS, runs=[*ROUND, "front to valve"]))
    assert "nothing flows in 'front to valve', which is on no circuit" in told
