"""The line from the tube on show to what is nearest to it, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.clearance.obstacles import Gap
from loopsolver.lengths import MILLIMETRES
from loopsolver.view.figures import NearTube
from loopsolver.view.gap_line import gap_drawings, gap_line, gap_names
from loopsolver.view.selection import first_selection
from tests.builders import demo_build

PLAN = demo_build.plan()
SHOWN = first_selection(PLAN, run="pump to card", candidate=None)


def test_it_goes_from_the_tube_s_surface_to_that_of_the_nearest_body() -> None:
    """The axis at x = 178, the panel from x = 188 on, a tube of 14 mm: 3 mm between."""
    line = gap_line(PLAN, SHOWN, None)
    assert line is not None
    assert line.start == pytest.approx((185.0, 230.0, 110.0), abs=1e-3)
    assert line.end == pytest.approx((188.0, 230.0, 110.0), abs=1e-3)
    (name,) = gap_names(line, lengths=MILLIMETRES)
    assert (name.text, name.kind) == ("3.0 mm", "gap")
    assert name.at == pytest.approx((186.5, 230.0, 110.0), abs=1e-3)
    assert len(gap_drawings(line)) == 1


@pytest.mark.parametrize(("gap", "is_tube"), [(2.0, True), (4.0, False)])
def test_another_tube_counts_where_it_is_nearer(gap, is_tube) -> None:
    at, to = (100.0, 260.0, 30.0), (100.0, 260.0, 30.0 + 14.0 + gap)
    near = NearTube(run="other", gap=gap, at=at, to=to)
    line = gap_line(PLAN, SHOWN, near)
    assert line is not None
    assert line.gap == (gap if is_tube else 3.0)
    if is_tube:
        assert line.start == pytest.approx((100.0, 260.0, 37.0))
        assert line.end == pytest.approx((100.0, 260.0, 37.0 + gap))


def test_axes_that_meet_leave_no_line_but_its_number() -> None:
    at = (100.0, 260.0, 30.0)
    line = gap_line(PLAN, SHOWN, NearTube(run="other", gap=-14.0, at=at, to=at))
    assert line is not None
    assert line.start == line.end == at
    (name,) = gap_names(line, lengths=MILLIMETRES)
    assert name.text == "-14.0 mm"


def test_without_a_tube_or_its_neighbour_there_is_none() -> None:
    routeless = first_selection(PLAN, run="pump to valve", candidate=None)
    assert gap_line(PLAN, routeless, None) is None
    run = PLAN.runs[0]
    strange = replace(
        run.candidates[0], gap=Gap(distance=3.0, name="?", at=(0.0, 0.0, 0.0))
    )
    other = replace(run, candidates=(strange, *run.candidates[1:]))
    assert gap_line(replace(PLAN, runs=(other, *PLAN.runs[1:])), SHOWN, None) is None
    assert gap_drawings(None) == ()
    assert gap_names(None, lengths=MILLIMETRES) == ()
