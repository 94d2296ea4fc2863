"""What candidates take of the pressure, beside the other figures of a comparison."""

from __future__ import annotations

import pytest

from loopsolver.lengths import MILLIMETRES
from loopsolver.plan import Plan
from loopsolver.report.comparing import candidate_table
from loopsolver.report.drops import drops
from tests.builders.plans import planned
from tests.builders.wet_loops import coolant, tube, water, wet_plan

PUMP = water("pump", pump=[[0, 40], [10, 0]])


def with_choice(*tables: str) -> Plan:
    """Return a loop whose first run has three tubes: 2, 2 longer, and 4 bends."""
    plan = wet_plan(*tables)
    first, *others = plan.runs
    ends = (first.from_port, first.to_port)
    choice = [tube(*ends), tube(*ends, leg=400.0), tube(*ends, bends=4)]
    run = planned(first.name, choice, ends=ends)
    return Plan(scene=plan.scene, runs=(run, *others))


def table_of(plan: Plan) -> list[str]:
    run = plan.runs[0]
    told = candidate_table(
        run, (1, 2, 3), MILLIMETRES, drops=drops(plan).cells(run.name)
    )
    return list(told.headings)


def test_no_column_where_no_flow_is_stated():
    plan = with_choice(water("block", loss=[[4, 9]]), coolant(temperature=30))
    assert drops(plan).bands == {}
    assert drops(plan).remarks == ()
    assert "drop\nkPa" not in table_of(plan)


def test_a_column_where_flow_or_pump_is_stated():
    for stated in (PUMP, coolant(flow=3)):
        assert "drop\nkPa" in table_of(with_choice(stated))


def test_a_longer_tube_and_more_bends_take_more():
    told = drops(with_choice(coolant(flow=3, temperature=25)))
    one, longer, bent = (told.bands["pump to block", rank].main for rank in (1, 2, 3))
    assert one < longer
    assert one < bent
    # 600 mm more of 10 mm tube at Re 7132, f by hand from Blasius: 0.3164 / Re^0.25.
    reynolds, head = 3 * 2377.0, 997.0 * (3 * 0.2122) ** 2 / 2000.0
    more = 0.3164 / reynolds**0.25 * 60.0 * head
    assert longer - one == pytest.approx(more, rel=0.03)


def test_choosing_by_it_is_pointless_where_parts_decide():
    heavy = with_choice(
        PUMP, water("block", loss=[[1, 60]]), water("front", loss=[[1, 9]])
    )
    (told,) = drops(heavy).remarks
    assert "pointless" in told
    assert "blocks and radiators decide" in told
    light = with_choice(
        PUMP, water("block", loss=[[9, 1]]), water("front", loss=[[9, 1]])
    )
    (told,) = drops(light).remarks
    assert "pointless" not in told


def test_what_stops_it_is_told_and_stops_nothing_else():
    cold = with_choice(coolant(flow=3, temperature=-5))
    assert drops(cold).bands == {}
    (told,) = drops(cold).remarks
    assert "no drop is shown" in told
    assert "coolant.temperature" in told
    assert "length\nmm" in table_of(cold)
