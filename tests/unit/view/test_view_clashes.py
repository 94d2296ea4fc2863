"""How near other runs come, and the rings where a tube meets another or its fitting."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopsolver.plan import Plan
from loopsolver.view import captions, clashes, palette
from loopsolver.view.gap_line import gap_line
from loopsolver.view.selection import first_selection, shown_candidate
from tests.builders import plans, scenes
from tests.builders.plans import planned


@pytest.fixture
def plan(build):
    return build.plan()


def test_nearest_tube_is_found_among_the_chosen_others(plan):
    near, *others = clashes.near_tubes(
        plan, first_selection(plan, run="card to block", candidate=None)
    )
    # Its last straight runs along x at y = 120, z = 300, next to "block to front",
    # which starts along x at y = 150 in the same height: 30 mm less two radii of 7.
    assert near.run == "block to front"
    assert near.gap == pytest.approx(16.0, abs=1e-3)
    assert near.at[1:] == pytest.approx((120.0, 300.0), abs=1e-3)
    assert all(one.gap > near.gap for one in others)


def test_a_clash_is_ringed_where_the_other_tube_is(plan):
    """Not where the least gap to a body is."""
    selection = first_selection(plan, run="card to block", candidate=None)
    near = clashes.near_tubes(plan, selection)[:1]
    candidate = shown_candidate(plan, selection)
    assert candidate is not None
    (ring,) = clashes.clash_rings(candidate, near, radius=7.0)
    assert ring.look.colour == palette.CLASH
    low, high = np.array(ring.mesh.bounds).reshape(3, 2).T
    # About a straight along x: thin along it, wider than the tube and the other ring.
    assert (low + high) / 2.0 == pytest.approx(near[0].at, abs=0.05)
    assert (high - low)[0] < 5.0
    assert (high - low)[1:] == pytest.approx((24.0, 24.0), abs=0.3)


@pytest.fixture
def in_a_fitting(plan):
    """The plan with "pump to valve" through the collar on card.in, and left out.

    That collar, 20 mm high and 22 wide, stands on x = 120, about y = 230 and z = 185. The
    tube goes by at x = 130, along y at z = 190: its axis 5 mm from that of the collar.
    """
    through = plans.candidate(
        (130.0, 150.0, 190.0), (130.0, 300.0, 190.0), gap=1.0, name="card board"
    )
    left_out = planned(
        "pump to valve", (through,), ends=("pump.drain", "valve.in"), chosen=None
    )
    return replace(plan, runs=(*plan.runs[:-1], left_out))


def clashes_of(plan, run):
    selection = first_selection(plan, run=run, candidate=1)
    return selection, [
        one for one in clashes.near_tubes(plan, selection) if one.fitting is not None
    ]


def ring_of(plan, selection, clash):
    """The lowest and the highest x, y, z of the ring round a clash."""
    candidate = shown_candidate(plan, selection)
    assert candidate is not None
    (ring,) = clashes.clash_rings(candidate, [clash], radius=7.0)
    return np.array(ring.mesh.bounds).reshape(3, 2).T


def told_of(plan, selection, clash):
    """What the panel says of a clash, on one line."""
    sections = captions.sections(plan, selection, near=clash)
    rows = [line.text for section in sections for line in section.lines]
    return " ".join(row.strip() for row in rows)


def test_a_tube_in_the_fitting_of_another_run_is_ringed_there(in_a_fitting):
    """Axis 5 mm beside that of a collar of radius 11: 6 mm in it, and 7 of tube."""
    selection, (clash,) = clashes_of(in_a_fitting, "pump to valve")
    assert (clash.run, clash.fitting.name) == ("pump to card", "fitting on card.in")
    assert clash.gap == pytest.approx(-13.0, abs=1e-3)
    assert clash.at == pytest.approx((130.0, 230.0, 190.0), abs=0.01)
    low, high = ring_of(in_a_fitting, selection, clash)
    assert (low + high) / 2.0 == pytest.approx((130.0, 230.0, 190.0), abs=0.05)
    # Round a tube along y, and wider than the collar: 11 + 3 mm, of a wire of 4.
    assert (high - low)[1] < 5.0
    assert (high - low)[[0, 2]] == pytest.approx((32.0, 32.0), abs=0.4)
    told = told_of(in_a_fitting, selection, clash)
    assert "runs 13.0 mm into the fitting on card.in of pump to card" in told
    assert "too near" in told


def test_the_other_tube_in_its_own_fitting_is_ringed_round_the_other(in_a_fitting):
    """Seen from the run whose collar it is, with the tube that goes through chosen."""
    run = replace(in_a_fitting.runs[-1], chosen=1)
    both = replace(in_a_fitting, runs=(*in_a_fitting.runs[:-1], run))
    selection, (clash,) = clashes_of(both, "pump to card")
    assert (clash.run, clash.fitting.name) == ("pump to valve", "fitting on card.in")
    low, high = ring_of(both, selection, clash)
    assert (low + high) / 2.0 == pytest.approx((130.0, 230.0, 190.0), abs=0.05)
    assert (high - low)[1] < 5.0
    told = told_of(both, selection, clash)
    assert "the tube of pump to valve runs 13.0 mm into the fitting on card.in" in told


def test_fittings_that_keep_clear_are_not_told(plan):
    for run in plan.runs[:-1]:
        assert clashes_of(plan, run.name)[1] == []


def test_nearest_tube_of_a_run_without_a_route_is_none(plan):
    selection = first_selection(plan, run="pump to valve", candidate=None)
    assert clashes.near_tubes(plan, selection) == ()


def crossing_elbows(between: float):
    """A plan of two runs whose elbows cross square, one arm over the other.

    Both arms are 22 mm thick; their axes cross at x = 75, y = 50, so far apart [mm]. Each
    tube goes straight on, and is nowhere near the other run.
    """
    low = scenes.elbow(height=18.0, reach=40.0)
    high = scenes.elbow(height=18.0 + between, reach=60.0)
    top = 18.0 + between
    scene = scenes.scene(
        scenes.part("a", scenes.port("a.out", (50, 50, 0), "+z", fittings=(low,))),
        scenes.part("b", scenes.port("b.in", (250, 50, 18), "-x")),
        scenes.part("c", scenes.port("c.out", (75, 15, 0), "+z", fittings=(high,))),
        scenes.part("d", scenes.port("d.in", (75, 250, top), "-y")),
        inner=(260.0, 260.0, 120.0),
        runs=(
            scenes.wanted("below", "a.out", "b.in"),
            scenes.wanted("above", "c.out", "d.in"),
        ),
    )
    tubes = {
        "below": (
            ("a.out", "b.in"),
            ((78.0, 50.0, 18.0), (240.0, 50.0, 18.0)),
            ((90.0, 50.0, 18.0), (1.0, 0.0, 0.0)),
            ((230.0, 50.0, 18.0), (-1.0, 0.0, 0.0)),
        ),
        "above": (
            ("c.out", "d.in"),
            ((75.0, 63.0, top), (75.0, 240.0, top)),
            ((75.0, 75.0, top), (0.0, 1.0, 0.0)),
            ((75.0, 230.0, top), (0.0, -1.0, 0.0)),
        ),
    }
    runs = []
    for name, (ports, vertices, first, last) in tubes.items():
        ends = (
            plans.ending(ports[0], first[1], first[0], fitting="elbow", is_elbow=True),
            plans.ending(ports[1], last[1], last[0]),
        )
        one = plans.candidate(*vertices, ends=ends)
        runs.append(planned(name, (one,), ends=ports))
    return Plan(scene=scene, runs=tuple(runs))


@pytest.mark.parametrize(("run", "other"), [("below", "above"), ("above", "below")])
def test_elbows_that_meet_where_no_tube_does_are_ringed_there(run, other):
    """Axes 24 mm apart, two radii of 11: 2 mm where 3 are wanted. Closed form."""
    plan = crossing_elbows(24.0)
    selection, (clash,) = clashes_of(plan, run)
    assert clash.run == other
    assert clash.gap == pytest.approx(2.0, abs=1e-3)
    height = {"below": 18.0, "above": 42.0}
    assert clash.at == pytest.approx((75.0, 50.0, height[run]), abs=0.01)
    assert clash.to == pytest.approx((75.0, 50.0, height[other]), abs=0.01)
    low, high = ring_of(plan, selection, clash)
    # Round the run's own arm, along x or y: 11 + 3 mm, of a wire of 4.
    assert (low + high) / 2.0 == pytest.approx(clash.at, abs=0.05)
    along = {"below": 0, "above": 1}[run]
    assert (high - low)[along] < 5.0
    assert np.delete(high - low, along) == pytest.approx((32.0, 32.0), abs=0.4)
    own, theirs = {"below": ("a", "c"), "above": ("c", "a")}[run]
    told = told_of(plan, selection, clash)
    wanted = f"the elbow on {own}.out comes within 2.0 mm of the elbow on {theirs}.out"
    assert f"{wanted} of {other}; 3.0 mm is wanted" in told
    line = gap_line(plan, selection, clash)
    assert line is not None
    # From one surface to the other, on the line that joins the axes.
    assert np.abs(np.subtract(line.end, line.start)) == pytest.approx(
        (0, 0, 2), abs=0.01
    )


def test_elbows_that_cross_with_the_clearance_between_are_not_ringed():
    """Axes 25.1 mm apart: 3.1 mm, and 3 are wanted. Closed form."""
    for run in ("below", "above"):
        assert clashes_of(crossing_elbows(25.1), run)[1] == []
