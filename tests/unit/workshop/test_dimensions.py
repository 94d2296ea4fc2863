"""One dimension at a time: its lines, arrows and figures, laid out by hand."""

from __future__ import annotations

import math

import pytest

from loopsolver.drafting.drawing import Line, Place, Polygon, Text
from loopsolver.drafting.lettering import text_width
from loopsolver.workshop.dimensions import dimension
from loopsolver.workshop.layers import Layers

NOWHERE: tuple[tuple[float, ...], tuple[float, ...]] = ((), ())


def parts(shapes):
    lines = [one for one in shapes if isinstance(one, Line)]
    (text,) = (one for one in shapes if isinstance(one, Text))
    heads = [
        one
        for one in shapes
        if isinstance(one, Polygon) and one.layer is Layers.DIMENSION
    ]
    return lines, heads, text


@pytest.mark.parametrize(
    ("by", "y", "out"),
    # To the left of a line that runs to the right is up; negative is down.
    [(12.0, 12.0, 1.0), (-12.0, -12.0, -1.0)],
)
def test_a_level_dimension(by: float, y: float, out: float) -> None:
    """Extension lines begin 2 and 4 mm off the points and end 1.5 beyond the line."""
    shapes = dimension(
        (10.0, 0.0), (70.0, 0.0), by=by, keep=(2.0, 4.0), says="60.0 mm", joints=NOWHERE
    )
    (left, right, line), heads, text = parts(shapes)
    assert left.start == pytest.approx((10.0, 2.0 * out))
    assert left.end == pytest.approx((10.0, y + 1.5 * out))
    assert right.start == pytest.approx((70.0, 4.0 * out))
    assert right.end == pytest.approx((70.0, y + 1.5 * out))
    assert line.start == pytest.approx((10.0, y))
    assert line.end == pytest.approx((70.0, y))
    assert {one.layer for one in (left, right, line)} == {Layers.DIMENSION}
    # Arrows end at the line's ends and point outwards: 2.4 mm long.
    for head, tip, back in zip(heads, (10.0, 70.0), (12.4, 67.6), strict=True):
        assert head.points[0] == pytest.approx((tip, y))
        assert [p[0] for p in head.points[1:]] == pytest.approx([back, back])
    # Figures of 2.8 mm stand 0.9 above the middle, whichever side the line is on.
    assert (text.text, text.size, text.anchor) == ("60.0 mm", 2.8, "middle")
    assert text.position == pytest.approx((40.0, y + 0.9))
    assert text.angle_deg == pytest.approx(0.0)


def test_extension_lines_never_begin_beyond_the_dimension_line() -> None:
    shapes = dimension(
        (0.0, 0.0), (50.0, 0.0), by=5.0, keep=(9.0, 2.0), says="50", joints=NOWHERE
    )
    (first, second, _line), _heads, _text = parts(shapes)
    assert first.start == pytest.approx((0.0, 5.0))
    assert second.start == pytest.approx((50.0, 2.0))


def test_an_upright_dimension_is_read_from_the_right() -> None:
    """Downwards: its left is +x; its figures stand to the left of the line, upright."""
    shapes = dimension(
        (0.0, 80.0), (0.0, 20.0), by=10.0, keep=(1.0, 1.0), says="60", joints=NOWHERE
    )
    (_first, _second, line), _heads, text = parts(shapes)
    assert line.start == pytest.approx((10.0, 80.0))
    assert text.angle_deg == pytest.approx(90.0)
    assert text.position == pytest.approx((10.0 - 0.9, 50.0))


@pytest.mark.parametrize(
    ("end", "joints", "share"),
    [
        # Half of the figures, their height and 6 mm to a joint are kept.
        ((200.0, 0.0), ((), ()), 0.5),
        ((200.0, 0.0), ((100.0,), ()), 0.4),
        ((200.0, 0.0), ((90.0,), ()), 0.6),
        ((200.0, 0.0), ((90.0, 120.0), ()), 0.3),
        ((200.0, 0.0), ((60.0, 90.0, 120.0), ()), 0.7),
        ((0.0, 200.0), ((), (100.0,)), 0.4),
        # A joint along the line is near all of it: the middle is as good as any.
        ((200.0, 0.0), ((), (10.0,)), 0.5),
    ],
)
def test_figures_keep_off_joints(end: Place, joints, share: float) -> None:
    says = "20.0"
    half = text_width(says, 2.8) / 2.0 + 2.8
    assert 5.0 < half < 10.0  # as the joints above were chosen
    shapes = dimension(
        (0.0, 0.0), end, by=10.0, keep=(1.0, 1.0), says=says, joints=joints
    )
    _lines, _heads, text = parts(shapes)
    along = max(text.position, key=abs) if end[0] else text.position[1]
    assert along == pytest.approx(200.0 * share)


def test_where_there_is_no_room_off_a_joint_figures_are_at_least_uncut() -> None:
    """Joints every 25 mm: within 6 mm of one everywhere, but cut by none at 0.5."""
    joints = (tuple(12.5 + 25.0 * n for n in range(8)), ())
    shapes = dimension(
        (0.0, 0.0), (200.0, 0.0), by=10.0, keep=(1.0, 1.0), says="20", joints=joints
    )
    _lines, _heads, text = parts(shapes)
    assert text.position[0] == pytest.approx(100.0)
    assert min(math.dist((text.position[0],), (x,)) for x in joints[0]) == 12.5
