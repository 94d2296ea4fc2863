"""Pictures of stock tubes, measured: 500 mm of stock drawn 250 mm long, half size."""

from __future__ import annotations

import itertools

import pytest

from loopsolver.cutting.cut_plan import Piece, cut_plan
from loopsolver.drafting.drawing import Entity, Line, Polygon, Text
from loopsolver.drafting.extent import box
from loopsolver.drafting.lettering import text_width
from loopsolver.lengths import MILLIMETRES
from loopsolver.workshop.cut_drawing import cut_plan_blocks
from loopsolver.workshop.layers import Layers


def drawn(*pieces: Piece, kerf: float = 2.0) -> tuple[Entity, ...]:
    plan = cut_plan(pieces, stock_length=500.0, kerf=kerf)
    (block,) = cut_plan_blocks(plan, width=250.0, lengths=MILLIMETRES)
    return block.entities


def fills(shapes: tuple[Entity, ...], fill: float) -> list[tuple[float, float]]:
    """Return from where to where areas of a grey lie along the tube."""
    found = [
        box(one)
        for one in shapes
        if isinstance(one, Polygon) and one.layer is Layers.SOLID and one.fill == fill
    ]
    return [(left, right) for left, _bottom, right, _top in found]


def words(shapes: tuple[Entity, ...]) -> dict[str, Text]:
    return {one.text: one for one in shapes if isinstance(one, Text)}


def piece(length: float, *, number: int = 1, spare: int = 0) -> Piece:
    return Piece(number=number, run="pump to card", length=length, spare=spare)


def test_pieces_and_saw_cuts_lie_where_they_are_cut() -> None:
    """200 mm, a cut of 2 mm, 100 mm, a cut: at 0, 100, 101, 151 and 152 mm."""
    shapes = drawn(piece(200.0), piece(100.0, number=2, spare=1))
    assert fills(shapes, 1.0) == [(0.0, 100.0)]
    assert fills(shapes, 0.9) == [(101.0, 151.0)]  # a spare is grey
    assert fills(shapes, 0.0) == [(100.0, 101.0), (151.0, 152.0)]
    (outline,) = (one for one in shapes if one.layer is Layers.CUT)
    left, bottom, right, top = box(outline)
    assert (left, right) == (0.1, 249.9)
    assert top - bottom == pytest.approx(12.5)


def test_a_thin_cut_is_drawn_so_that_it_can_be_seen() -> None:
    """0.4 mm on paper at least; within the tube also where the saw takes the rest."""
    shapes = drawn(piece(200.0), kerf=0.0)
    ((left, right),) = fills(shapes, 0.0)
    assert (left, right) == pytest.approx((100.0, 100.4))
    shapes = drawn(piece(499.5), kerf=2.0)
    ((left, right),) = fills(shapes, 0.0)
    assert (left, right) == pytest.approx((249.0, 250.0))
    assert fills(drawn(piece(500.0)), 0.0) == []


def test_what_is_left_over_is_hatched_and_said() -> None:
    """500 - 200 - 2 = 298 mm, from 101 mm on: slanting lines at 45 degrees."""
    shapes = drawn(piece(200.0))
    hatch = [
        one for one in shapes if isinstance(one, Line) and one.layer is Layers.BODY
    ]
    _left, bottom, _right, top = box(
        next(one for one in shapes if one.layer is Layers.CUT)
    )
    for line in hatch:
        (x0, y0), (x1, y1) = line.start, line.end
        assert x1 - x0 == pytest.approx(y1 - y0)
        assert 101.0 - 1e-9 <= x0 < x1 <= 250.0 + 1e-9
        assert bottom - 1e-9 <= y0 < y1 <= top + 1e-9
        # From edge to edge: down to the lower edge or to the left end.
        assert y0 == pytest.approx(bottom) or x0 == pytest.approx(101.0)
        assert y1 == pytest.approx(top) or x1 == pytest.approx(250.0)
    feet = sorted(line.start[0] - (line.start[1] - bottom) for line in hatch)
    assert all(b - a == pytest.approx(2.5) for a, b in itertools.pairwise(feet))
    # A line every 2.5 mm from 12.5 mm (the tube's height) before the leftover on.
    assert len(feet) == pytest.approx((250.0 - 101.0 + 12.5) / 2.5, abs=1.5)
    said = words(shapes)
    assert said["left over: 298.0 mm"].anchor == "end"
    assert said["left over: 298.0 mm"].position[0] == 250.0
    assert said["Tube 1"].position[0] == 0.0


def test_a_long_piece_has_its_name_over_its_length() -> None:
    said = words(drawn(piece(300.0, spare=2)))
    name, length = said["1s pump to card, spare 2"], said["300.0 mm"]
    assert (name.position[0], length.position[0]) == (75.0, 75.0)
    assert name.position[1] - length.position[1] == pytest.approx(4.8)
    assert (name.size, length.size) == (2.2, 2.2)


def test_a_short_piece_says_less_and_a_shorter_one_stands_upright() -> None:
    """Room along 22 mm, 5 mm and 2.5 mm of paper, less 1.6."""
    keyed = words(drawn(piece(44.0)))
    assert any(one.startswith("1 pump") and one.endswith("…") for one in keyed)
    bare = words(drawn(piece(18.0)))
    assert "1" in bare
    assert "18.0" in bare
    assert text_width("18.0 mm", 2.2) > 9.0 - 1.6 > text_width("18.0", 2.2)
    upright = words(drawn(piece(8.0)))["1: 8.0"]
    assert upright.angle_deg == 90.0
    # Its capitals stand in the middle of the piece, to the right of their base line's.
    assert upright.position[0] == pytest.approx(2.0 + upright.size / 2.0)
    assert upright.anchor == "middle"
    assert not any(one.startswith("1") for one in words(drawn(piece(4.0))))


def test_lettering_across_a_tube_fits_its_height() -> None:
    long = Piece(number=12, run="a", length=9.0, spare=3)
    said = words(drawn(long))
    (upright,) = (one for one in said.values() if one.angle_deg == 90.0)
    assert text_width(upright.text, upright.size) <= 11.5
