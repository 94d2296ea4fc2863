"""What is drawn for a selection, and where its ends are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopsolver.geometry.solids import signed_distance
from loopsolver.scene.model import RunRequest
from loopsolver.tube.centreline import Centreline
from loopsolver.view import captions, contents, naming, palette
from loopsolver.view.ends import run_ends, used_ports
from loopsolver.view.selection import first_selection, shown_candidate, toggle
from tests.builders.plans import ending
from tests.builders.scenes import elbow

ELBOW = elbow(diameter=20.0, reach=24.0)


@pytest.fixture
def plan(build):
    return build.plan()


@pytest.fixture
def elbowed(plan):
    """The plan with an elbow, turned to +z, on card.out.

    Axis of the outlet 18 mm from the face at x = 120; its mouth 24 mm from the port's
    axis at z = 185, and the seat 12 mm inside.
    """
    scene = plan.scene
    parts = tuple(
        replace(
            part,
            ports=tuple(
                replace(port, fittings=(*port.fittings, ELBOW)) for port in part.ports
            ),
        )
        for part in scene.components
    )
    route = replace(
        plan.runs[1].candidates[0],
        centreline=Centreline(
            vertices=(
                (138.0, 120.0, 197.0),
                (138.0, 120.0, 300.0),
                (58.0, 120.0, 300.0),
            ),
            radius=28.0,
        ),
        ends=(
            ending(
                "card.out",
                (0.0, 0.0, 1.0),
                (138.0, 120.0, 209.0),
                fitting="elbow",
                is_elbow=True,
            ),
            ending("block.in", (1.0, 0.0, 0.0), (70.0, 120.0, 300.0)),
        ),
    )
    run = replace(plan.runs[1], candidates=(route,))
    return replace(
        plan,
        scene=replace(scene, components=parts),
        runs=(plan.runs[0], run, *plan.runs[2:]),
    )


def test_straight_fittings_hold_the_tube_ends_they_were_made_for(plan):
    run = plan.runs[0]
    (start,), (goal,) = run_ends(plan.scene, run, run.chosen_candidate)
    line = run.candidates[0].centreline.vertices
    assert (start.seat, goal.seat) == (line[0], line[-1])
    assert start.port.name == "pump.out"
    # The collar is 20 mm high on the face at y = 300, out along -y.
    assert start.mouth == (100.0, 280.0, 30.0)
    (body,) = start.fitting
    depths = signed_distance(body, np.array([start.seat, start.mouth]))
    assert depths == pytest.approx([-8.0, 0.0])


def test_elbow_is_drawn_with_stem_and_arm_towards_its_outlet(elbowed):
    run = elbowed.runs[1]
    (start,), (goal,) = run_ends(elbowed.scene, run, run.chosen_candidate)
    assert len(start.fitting) == 2
    assert len(goal.fitting) == 1
    stem, arm = start.fitting
    on_stem = signed_distance(stem, np.array([[121.0, 120.0, 185.0]]))
    on_arm = signed_distance(arm, np.array([[138.0, 120.0, 208.0], start.seat]))
    assert on_stem[0] < 0.0
    assert (on_arm < 0.0).all()
    (drawing,) = contents.fittings(((start,), ()))
    low, high = np.array(drawing.mesh.bounds).reshape(3, 2).T
    assert low == pytest.approx((120.0, 110.0, 175.0), abs=0.2)
    assert high == pytest.approx((148.0, 130.0, 209.8), abs=0.2)


def test_elbows_are_counted_in_the_figures(elbowed):
    selection = first_selection(elbowed, run="card to block", candidate=None)
    rows = [
        line.text
        for section in captions.sections(elbowed, selection, near=None)
        for line in section.lines
    ]
    (row,) = (row for row in rows if row.startswith("bends  "))
    assert row.split(maxsplit=1)[1] == "1 in 1 plane"
    (row,) = (row for row in rows if row.startswith("elbows  "))
    assert row.split(maxsplit=1)[1] == "1, at card.out"


def test_run_with_a_choice_of_ports_has_all_of_them_and_no_fitting_there(build):
    run = RunRequest(
        name="choice", from_ports=("pump.out", "pump.drain"), to_ports=("card.in",)
    )
    scene = replace(build.scene(), runs=(run,))
    starts, goals = run_ends(scene, run, None)
    assert [end.port.name for end in starts] == ["pump.out", "pump.drain"]
    assert [end.fitting for end in starts] == [(), ()]
    assert starts[0].seat == starts[0].port.position
    assert len(goals[0].fitting) == 1
    assert used_ports(scene, run) == {"pump.out", "pump.drain", "card.in"}
    (lines,) = contents.wanted((starts, goals))
    # Two dashed lines: a start of each at the two ports.
    points = {tuple(np.round(p, 3)) for p in np.asarray(lines.mesh.points, float)}
    assert {(100.0, 300.0, 30.0), (130.0, 330.0, 30.0)} <= points


def test_tube_on_show_is_in_strong_colours_and_others_are_pale(plan):
    candidate = plan.runs[0].candidates[0]
    shown = {
        drawing.look.colour for drawing in contents.shown_tube(candidate, radius=7)
    }
    assert {palette.STRAIGHT, palette.BEND, palette.LEAST_GAP} <= shown
    other = {
        drawing.look.colour for drawing in contents.other_tube(candidate, radius=7)
    }
    assert {palette.OTHER_STRAIGHT, palette.OTHER_BEND} <= other
    assert not shown & other - {palette.TUBE_END}


def test_tube_has_its_true_diameter_about_its_centre_line(plan):
    candidate = plan.runs[3].candidates[0]
    straights, bends, ends = contents.other_tube(candidate, radius=7.0)
    # Down at x = 85, y = 330 from z = 347 to the seat at 213; along y at z = 375.
    points = np.asarray(straights.mesh.points, float)
    upright = points[points[:, 2] < 340.0]
    off_axis = np.linalg.norm(upright[:, :2] - (85.0, 330.0), axis=1)
    assert off_axis == pytest.approx(7.0, abs=1e-4)
    assert upright[:, 2].min() == pytest.approx(213.0)
    assert np.asarray(bends.mesh.points)[:, 2].max() == pytest.approx(382.0, abs=1e-3)
    assert np.asarray(ends.mesh.points)[:, 2].min() == pytest.approx(213.0)


def test_ring_of_the_least_gap_lies_where_the_gap_is(plan):
    candidate = plan.runs[0].candidates[0]
    ring = next(
        drawing
        for drawing in contents.shown_tube(candidate, radius=7.0)
        if drawing.look.colour == palette.LEAST_GAP
    )
    low, high = np.array(ring.mesh.bounds).reshape(3, 2).T
    # About the upright straight: thin along z, wider than the tube across it.
    assert (low + high) / 2.0 == pytest.approx(candidate.gap.at, abs=0.05)
    assert (high - low)[2] < 3.0
    assert (high - low)[:2] == pytest.approx((17.6, 17.6), abs=0.3)


def test_names_follow_what_is_hidden(plan):
    selection = first_selection(plan, run=None, candidate=None)

    def kinds(now):
        return {name.kind for name in naming.names(plan, now)}

    every = {"port", "bend", "body", "tube", "keep-out", "wall"}
    assert kinds(selection) == every
    assert kinds(toggle(selection, "bodies")) == every - {"body"}
    assert kinds(toggle(selection, "other tubes")) == every - {"tube"}
    assert kinds(toggle(selection, "keep-outs")) == every - {"keep-out"}
    first = naming.names(plan, selection)[:2]
    assert [name.text for name in first] == ["pump.out", "card.in"]


def test_each_bend_is_numbered_at_the_middle_of_its_arc(plan):
    """As far from its vertex as R / cos(45) - R is: 0.4142 R, towards the arc's centre."""
    selection = first_selection(plan, run="card to block", candidate=None)
    shown = shown_candidate(plan, selection)
    assert shown is not None
    line = shown.centreline
    named = [one for one in naming.names(plan, selection) if one.kind == "bend"]
    assert [one.text for one in named] == ["1", "2"]
    for one, vertex in zip(named, line.vertices[1:-1], strict=True):
        assert np.linalg.norm(np.subtract(one.at, vertex)) == pytest.approx(
            (2**0.5 - 1.0) * line.radius
        )


def test_every_port_is_named_once_and_where_it_is(plan):
    selection = first_selection(plan, run="card to block", candidate=None)
    named = [one for one in naming.names(plan, selection) if one.kind == "port"]
    ports = {port.name: port for part in plan.scene.components for port in part.ports}
    assert sorted(one.text for one in named) == sorted(ports)
    for one in named[2:]:  # those of the run on show are named at its tube's ends
        assert one.at == ports[one.text].position


def test_every_wall_is_named_on_itself(plan):
    """The case is 200 x 440 x 410 with z up; upright walls are named high on them."""
    selection = first_selection(plan, run=None, candidate=None)
    walls = [one for one in naming.names(plan, selection) if one.kind == "wall"]
    high = pytest.approx(205.0 * 1.84)
    assert {one.text: one.at for one in walls} == {
        "wall -x": (0.0, 220.0, high),
        "wall +x": (200.0, 220.0, high),
        "wall -y": (100.0, 0.0, high),
        "wall +y": (100.0, 440.0, high),
        "wall -z": (100.0, 220.0, 0.0),
        "wall +z": (100.0, 220.0, 410.0),
    }
    without = replace(plan, scene=replace(plan.scene, case_inner=None))
    assert not [o for o in naming.names(without, selection) if o.kind == "wall"]


def test_tubes_of_before_the_save_are_grey(plan):
    chosen = plan.runs[0].chosen_candidate
    (straights, bends, ends) = contents.old_tubes([chosen, chosen], radius=7.0)
    assert straights.look.colour == palette.OLD_STRAIGHT
    assert bends.look.colour == palette.OLD_BEND
    assert ends.look.colour == palette.TUBE_END
    assert contents.old_tubes([], radius=7.0) == ()


def test_of_many_components_the_largest_are_named(build):
    scene = build.crowded_scene(42)
    selection = first_selection(scene, run=None, candidate=None)
    named = [n.text for n in naming.names(scene, selection) if n.kind == "body"]
    assert len(named) == naming.MOST_BODY_NAMES
    # 150 x 160 x 86 mm is the largest by far.
    assert named[0] == "power supply"


def test_everything_drawn_is_within_the_points_that_the_camera_frames(plan):
    outer = contents.outer_points(plan)
    low, high = outer.min(axis=0), outer.max(axis=0)
    assert low == pytest.approx((0.0, 0.0, 0.0))
    assert high == pytest.approx((200.0, 440.0, 410.0))
    for drawing in contents.bodies(plan.scene):
        points = np.asarray(drawing.mesh.points)
        assert (points >= low - 1e-3).all()
        assert (points <= high + 1e-3).all()
