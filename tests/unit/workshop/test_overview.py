"""The overview: sums, counts, and a page that holds them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from loopsolver.cutting.cut_plan import CutPlan, Piece, cut_plan
from loopsolver.drafting.blocks import flowed
from loopsolver.drafting.drawing import Drawing, Polygon, Text
from loopsolver.drafting.extent import box
from loopsolver.lengths import MILLIMETRES
from loopsolver.plan import Plan
from loopsolver.workshop.blanks import blanks
from loopsolver.workshop.cut_drawing import cut_plan_blocks
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.overview import overview_drawing
from tests.builders.scenes import elbow
from tests.unit.workshop.tidy import assert_tidy, said

MakePlan = Callable[..., Plan]

A4 = (186.0, 256.0)
ARC = math.pi / 2 * 28.0
# Legs 132, 100, 152, then 72, 60, 172; each square bend takes 2 R off and gives an arc.
FINISHED = (384.0 - 4 * 28.0 + 2 * ARC, 304.0 - 4 * 28.0 + 2 * ARC, 184.0)


def overview(plan: Plan, *, spares: int = 0) -> tuple[Drawing, ...]:
    cuts = cut_plan(
        blanks(plan, spares=spares), stock_length=plan.scene.tube.stock_length, kerf=1.0
    )
    return overview_drawing(plan, cuts, width=A4[0], height=A4[1])


def test_runs_and_their_sums(make_plan: MakePlan) -> None:
    pages = overview(make_plan())
    assert len(pages) == 1
    assert_tidy(pages)
    words = said(pages)
    for length in FINISHED:
        assert f"{length:.1f}" in words
        assert f"{length + 60.0:.1f}" in words
    assert f"{sum(FINISHED):.1f}" in words
    assert f"{sum(FINISHED) + 180.0:.1f}" in words
    assert "4" in words  # bends in all


def test_fittings_are_counted_at_both_ends(make_plan: MakePlan) -> None:
    words = said(overview(make_plan()))
    assert "collar: 6" in words
    assert words[words.index("Elbows.") + 1] == "none"


def test_the_former_to_have_ready_is_that_of_the_tubes(make_plan: MakePlan) -> None:
    words = said(overview(make_plan()))
    assert "centre-line radius 28.0 mm" in words[words.index("Former.") + 1]
    words = said(overview(make_plan(units="in")))
    assert "centre-line radius 1.102 in" in words[words.index("Former.") + 1]


def test_elbows_are_counted_apart(make_plan: MakePlan) -> None:
    words = said(overview(make_plan(fitting=elbow())))
    assert words[words.index("Elbows.") + 1] == "elbow: 6"
    assert words[words.index("Fittings.") + 1] == "none"


def with_ports(plan: Plan, *names: str) -> Plan:
    """Return a plan whose first component has more ports, copies of its first one."""
    part, *others = plan.scene.components
    more = tuple(replace(part.ports[0], name=name) for name in names)
    parts = (replace(part, ports=(*part.ports, *more)), *others)
    return replace(plan, scene=replace(plan.scene, components=parts))


def test_ports_that_no_run_uses_are_to_be_plugged(make_plan: MakePlan) -> None:
    words = said(overview(make_plan()))
    assert words[words.index("Ports to plug.") + 1] == "none"
    words = said(overview(with_ports(make_plan(), "part1.drain", "part1.fill")))
    assert words[words.index("Ports to plug.") + 1] == "2: part1.drain, part1.fill"


def test_ports_of_a_run_left_out_are_told_apart(make_plan: MakePlan) -> None:
    plan = with_ports(make_plan(), "part1.drain")
    last = replace(plan.runs[-1], chosen=None, why="no room")
    pages = overview(replace(plan, runs=(*plan.runs[:-1], last)))
    assert_tidy(pages)
    assert "1: part1.drain; and until they have a tube: part3.out, part3.in" in said(
        pages
    )


def test_many_ports_to_plug_run_over_several_lines(make_plan: MakePlan) -> None:
    names = [f"part1.hole_{number}" for number in range(60)]
    pages = overview(with_ports(make_plan(), *names))
    assert_tidy(pages)
    text = " ".join(said(pages))
    assert all(f" {name}" in text for name in names)


def test_stock_to_buy_counts_spares(make_plan: MakePlan) -> None:
    text = " ".join(said(overview(make_plan())))
    # Blanks 420, 340 and 244 mm: no two share a tube of 500 mm.
    assert "3 tubes of 500.0 mm, acrylic, 14.0 / 10.0 mm (fewer will not do)" in text
    pages = overview(make_plan(), spares=1)
    assert_tidy(pages)
    text = " ".join(said(pages))
    # Two blanks of 244 mm and a saw cut fit one tube: 488 + 1 mm.
    assert "5 tubes of 500.0 mm" in text
    assert "3 spare blanks included" in text


def test_run_without_a_route_says_why(make_plan: MakePlan) -> None:
    plan = make_plan(unrouted="the port faces a wall 4.0 mm away")
    pages = overview(plan)
    assert_tidy(pages)
    text = " ".join(said(pages))
    assert "No route: the port faces a wall 4.0 mm away" in text
    assert "1 of them without a route" in text


def test_run_left_out_is_not_said_to_have_no_route(make_plan: MakePlan) -> None:
    plan = make_plan()
    lines = (
        "no route of it that was found fits beside the others; its best runs 10 mm "
        "into 'flat';",
        "possible to front.spare0 instead of front.left,",
        "or without 'flat', which then is left out",
    )
    last = replace(plan.runs[-1], chosen=None, why="\n".join(lines))
    pages = overview(replace(plan, runs=(*plan.runs[:-1], last)))
    assert_tidy(pages)
    texts = said(pages)
    assert f"Left out: {lines[0]}" in texts
    # What would help stands below, a line each and further in than the run's name.
    shown = [one for page in pages for one in page.entities if isinstance(one, Text)]
    name, one, other = (
        next(each for each in shown if each.text == words)
        for words in (f"{len(plan.runs)} {last.name}.", *lines[1:])
    )
    assert name.position[0] < one.position[0] == other.position[0]
    assert name.position[1] > one.position[1] > other.position[1]
    assert "1 of them left out" in " ".join(texts)
    assert "without a route" not in " ".join(texts)
    assert not any("No route" in words for words in texts)


def test_no_route_at_all_still_gives_a_page(make_plan: MakePlan) -> None:
    plan = make_plan()
    runs = tuple(
        replace(run, candidates=(), chosen=None, why="no") for run in plan.runs
    )
    pages = overview(replace(plan, runs=runs))
    assert "0 tubes of 500.0 mm" in " ".join(said(pages))


def test_too_long_blanks_are_said(make_plan: MakePlan) -> None:
    long = [((20.0, 20.0, 28.0), (20.0, 20.0, 470.0))]
    text = " ".join(said(overview(make_plan(routes=long))))
    # 442 mm of tube and twice 30 mm of trim.
    assert "0 tubes of 500.0 mm" in text
    assert "and 1 longer, of 502.0 mm or more, for run 1, run 1" in text
    assert "2.0 mm longer than the stock of 500.0 mm" in text


@pytest.mark.parametrize(
    "text", ["<script>", "two\nlines", "W" * 500, "many words " * 50, "循环水管", " "]
)
def test_hostile_text_does_not_break_the_page(make_plan: MakePlan, text: str) -> None:
    pages = overview(make_plan(title=text, names=[text] * 3), spares=1)
    assert_tidy(pages)


def test_inch_scenes_say_inches(make_plan: MakePlan) -> None:
    text = " ".join(said(overview(make_plan(units="in"))))
    assert "0.551 / 0.394 in" in text  # 14 and 10 mm
    assert " mm" not in text


def test_many_runs_go_on_to_further_pages(make_plan: MakePlan) -> None:
    routes = [((20.0, 20.0, 28.0), (20.0, 20.0, 300.0 + i)) for i in range(40)]
    pages = overview(make_plan(routes=routes))
    assert len(pages) > 1
    assert_tidy(pages)
    words = said(pages)
    assert all(f"Tube {number}" in words for number in range(1, 41))


def picture_of(
    *lengths: float, stock: float, kerf: float = 1.0
) -> tuple[CutPlan, Drawing]:
    pieces = [
        Piece(number=number, run=f"run {number}", length=length)
        for number, length in enumerate(lengths, start=1)
    ]
    plan = cut_plan(pieces, stock_length=stock, kerf=kerf)
    blocks = cut_plan_blocks(plan, width=180.0, lengths=MILLIMETRES)
    (drawing,) = flowed(blocks, width=180.0, height=260.0)
    return plan, drawing


def test_stock_tubes_are_drawn_to_scale() -> None:
    plan, drawing = picture_of(600.0, 300.0, stock=1000.0, kerf=2.0)
    bars = [
        e
        for e in drawing.entities
        if isinstance(e, Polygon) and e.layer is Layers.SOLID
    ]
    pieces = [box(bar) for bar in bars if bar.fill == 1.0]
    cuts = [box(bar) for bar in bars if bar.fill == 0.0]
    scale = 180.0 / 1000.0
    assert len(plan.tubes) == 1
    assert [b[2] - b[0] for b in pieces] == pytest.approx(
        [600.0 * scale, 300.0 * scale]
    )
    assert pieces[1][0] == pytest.approx(602.0 * scale)
    assert len(cuts) == 2
    words = [e.text for e in drawing.entities if isinstance(e, Text)]
    assert f"left over: {1000.0 - 900.0 - 4.0:.1f} mm" in words


def test_narrow_pieces_keep_their_number() -> None:
    _, drawing = picture_of(*[40.0] * 20, stock=2000.0)
    words = [e.text for e in drawing.entities if isinstance(e, Text)]
    for number in range(1, 21):
        assert f"{number}: 40.0" in words
    assert_tidy([drawing])


def test_a_number_of_tubes_that_is_not_proved_is_not_claimed(
    make_plan: MakePlan,
) -> None:
    plan = make_plan()
    cuts = replace(cut_plan(blanks(plan), stock_length=500.0, kerf=1.0), bound=2)
    text = " ".join(said(overview_drawing(plan, cuts, width=A4[0], height=A4[1])))
    assert "at least 2 are needed; whether fewer than 3 do is open" in text
