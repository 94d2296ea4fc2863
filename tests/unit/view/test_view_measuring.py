"""Measuring in the window: what a click means, and spans that can be told by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.lengths import MILLIMETRES
from loopsolver.tube.centreline import Centreline
from loopsolver.view import measuring
from loopsolver.view.marks import ClickedMark, span
from loopsolver.view.measuring import mark_at, with_mark
from loopsolver.view.panel_lines import COLUMNS
from loopsolver.view.selection import ViewSelection
from loopsolver.view.sight import Sight
from tests.builders import demo_build
from tests.builders.scenes import box, part, port, scene

HERE = ClickedMark(name="here", at=(10.0, 20.0, 30.0))
THERE = ClickedMark(name="there", at=(13.0, 16.0, 42.0))
ALONG_X = ClickedMark(name="along x", at=(5.0, 0.0, 0.0), along=(1.0, 0.0, 0.0))
ALSO_ALONG_X = ClickedMark(name="also", at=(90.0, 30.0, 40.0), along=(-1.0, 0.0, 0.0))
ALONG_Y = ClickedMark(name="along y", at=(70.0, -9.0, 25.0), along=(0.0, 1.0, 0.0))


def test_between_places_it_is_the_straight_distance() -> None:
    """3, 4, 12 and 13 mm: a box with whole sides and a whole diagonal."""
    of = span(HERE, THERE)
    assert of.way == pytest.approx((3.0, -4.0, 12.0))
    assert of.length == pytest.approx(13.0)


def test_from_an_axis_to_a_place_it_is_square_to_the_axis() -> None:
    """From (10, 20, 30) to the x axis: 20 and 30 mm, whatever x is; and the other way."""
    of = span(HERE, ALONG_X)
    assert of.end == pytest.approx((10.0, 0.0, 0.0))
    assert of.way == pytest.approx((0.0, -20.0, -30.0))
    assert span(ALONG_X, HERE).way == pytest.approx((0.0, 20.0, 30.0))


def test_between_parallel_axes_it_is_centre_to_centre_from_where_it_was_clicked() -> (
    None
):
    of = span(ALONG_X, ALSO_ALONG_X)
    assert of.start == ALONG_X.at
    assert of.way == pytest.approx((0.0, 30.0, 40.0))
    assert of.length == pytest.approx(50.0)


def test_between_axes_that_cross_it_is_along_what_is_square_to_both() -> None:
    of = span(ALONG_X, ALONG_Y)
    assert of.start == pytest.approx((70.0, 0.0, 0.0))
    assert of.end == pytest.approx((70.0, 0.0, 25.0))


def test_between_skew_axes_no_other_places_are_nearer() -> None:
    """Against a minimiser that knows nothing of the closed form."""
    draw = np.random.default_rng(7)
    for _ in range(20):
        marks = []
        for name in ("one", "two"):
            way = draw.normal(size=3)
            at = tuple(draw.uniform(-200.0, 200.0, size=3).tolist())
            along = tuple((way / np.linalg.norm(way)).tolist())
            marks.append(ClickedMark(name=name, at=at, along=along))

        def apart(shares: np.ndarray, marks: list[ClickedMark] = marks) -> float:
            first, second = (
                np.asarray(mark.at) + share * np.asarray(mark.along)
                for mark, share in zip(marks, shares, strict=True)
            )
            return float(np.sum((first - second) ** 2))

        least = minimize(apart, np.zeros(2), tol=1e-14)
        assert span(*marks).length == pytest.approx(least.fun**0.5, abs=1e-4)


# --- what a click means: a ray along +y, a pixel 1 mm -------------------------------

TUBE = Centreline(
    vertices=((50.0, 100.0, 20.0), (50.0, 100.0, 200.0), (150.0, 100.0, 200.0)),
    radius=28.0,
)
PUMP = Cylinder(
    frame=axis_frame((150.0, 150.0, 100.0), (0.0, 0.0, 1.0)), diameter=60.0, height=80.0
)
SCENE = scene(
    part(
        "card",
        box("card", (100.0, 120.0, 300.0), (140.0, 160.0, 340.0)),
        port("card.in", (120.0, 120.0, 320.0), "-y"),
    ),
    inner=(200.0, 400.0, 400.0),
)
SOLIDS = [("pump", PUMP), ("card", SCENE.components[0].bodies[0].solid)]


def clicked(x: float, z: float) -> ClickedMark | None:
    sight = Sight(
        start=(x, 0.0, z),
        along=(0.0, 1.0, 0.0),
        near=0.0,
        far=1000.0,
        pixel=1.0,
        widening=0.0,
    )
    return mark_at(sight, scene=SCENE, tubes=[("l", TUBE)], layers=[SOLIDS])


def test_a_straight_of_a_tube_means_its_axis_and_a_bend_its_centre_line() -> None:
    axis = clicked(55.0, 100.0)
    assert axis is not None
    assert axis.name == "axis of straight 1 of l"
    assert axis.along == pytest.approx((0.0, 0.0, 1.0))
    assert axis.at[:2] == pytest.approx((50.0, 100.0))
    # The bend's middle is 28 / sqrt 2 from its centre at (78, 172).
    off = 28.0 / 2.0**0.5
    bend = clicked(78.0 - off, 172.0 + off)
    assert bend is not None
    assert bend.name == "centre line of bend 1 of l"
    assert bend.along is None
    assert bend.at == pytest.approx((78.0 - off, 100.0, 172.0 + off), abs=1.5)


def test_the_side_of_a_cylinder_means_its_axis() -> None:
    mark = clicked(140.0, 90.0)
    assert mark is not None
    assert (mark.name, mark.along) == ("axis of pump", (0.0, 0.0, 1.0))
    assert mark.at == pytest.approx((150.0, 150.0, 90.0))


def test_the_end_of_a_cylinder_means_its_middle() -> None:
    """Seen from above, obliquely: along -z through a point of its upper end."""
    sight = Sight(
        start=(140.0, 145.0, 400.0),
        along=(0.0, 0.0, -1.0),
        near=0.0,
        far=1000.0,
        pixel=0.1,
        widening=0.0,
    )
    mark = mark_at(sight, scene=SCENE, tubes=[], layers=[SOLIDS[:1]])
    assert mark == ClickedMark(
        name="middle of the end of pump", at=(150.0, 150.0, 140.0)
    )


def test_a_box_means_the_place_and_near_a_corner_that() -> None:
    mark = clicked(110.0, 312.0)
    assert mark is not None
    assert mark.name == "card"
    assert mark.at == pytest.approx((110.0, 120.0, 312.0), abs=0.02)
    corner = clicked(102.0, 338.0)
    assert corner == ClickedMark(name="corner of card", at=(100.0, 120.0, 340.0))


def test_a_port_goes_before_its_part_and_the_far_wall_is_behind_all() -> None:
    assert clicked(121.0, 321.0) == ClickedMark(
        name="card.in", at=(120.0, 120.0, 320.0)
    )
    wall = clicked(180.0, 380.0)
    assert wall is not None
    assert wall.name == "case wall +y"
    assert wall.at == pytest.approx((180.0, 400.0, 380.0), abs=0.02)


def test_of_a_later_layer_only_what_no_earlier_one_is_behind_of_is_meant() -> None:
    """A keep-out right before the eye, over all of the picture."""
    before = box("panel", (0.0, 10.0, 0.0), (200.0, 20.0, 400.0))
    sight = Sight(
        start=(110.0, 0.0, 312.0),
        along=(0.0, 1.0, 0.0),
        near=0.0,
        far=1000.0,
        pixel=1.0,
        widening=0.0,
    )
    layers = [SOLIDS, [("panel", before.solid)]]
    mark = mark_at(sight, scene=SCENE, tubes=[], layers=layers)
    assert mark is not None
    assert mark.name == "card"
    aside = replace(sight, start=(180.0, 0.0, 312.0))
    mark = mark_at(aside, scene=SCENE, tubes=[], layers=layers)
    assert mark is not None
    assert mark.name == "panel"


# --- what is shown ------------------------------------------------------------------


def test_a_third_click_begins_anew() -> None:
    now = ViewSelection(run=0, rank=1, marks=())
    for mark, held in ((HERE, 1), (THERE, 2), (ALONG_X, 1)):
        now = with_mark(now, mark)
        assert now.marks is not None
        assert len(now.marks) == held
    assert now.marks == (ALONG_X,)


def test_the_panel_tells_the_way_along_each_axis() -> None:
    rows = [
        line.text
        for line in measuring.measure_section((HERE, THERE), demo_build.scene()).lines
    ]
    assert rows[:6] == [
        "measuring",
        "from          here",
        "to            there",
        "distance      13.0 mm",
        "along x       3.0 mm",
        "along y       -4.0 mm",
    ]
    # x right, y away, z up, where the scene does not say.
    assert "3.0 mm right, 4.0 mm near and 12.0 mm up" in " ".join(rows)
    assert max(map(len, rows)) <= COLUMNS
    first = measuring.measure_section((), demo_build.scene()).lines
    assert first[1].text == "click the first of two places or axes"


def test_numbers_stand_at_the_line_and_at_each_way_that_is_one() -> None:
    def told(*marks: ClickedMark) -> list[tuple[str, tuple[float, ...]]]:
        names = measuring.measure_names(marks, lengths=MILLIMETRES)
        return [(name.text, name.at) for name in names]

    assert told(HERE, THERE) == [
        ("13.0 mm", (11.5, 18.0, 36.0)),
        ("3.0 mm", (11.5, 20.0, 30.0)),
        ("4.0 mm", (13.0, 18.0, 30.0)),
        ("12.0 mm", (13.0, 16.0, 36.0)),
    ]
    level = replace(THERE, at=(10.0, 25.0, 30.0))
    assert told(HERE, level) == [("5.0 mm", (10.0, 22.5, 30.0))]
    # What was clicked first may lie within a fitting: its name tells that it is taken.
    assert told(HERE) == [("here", HERE.at)]
    assert told() == []


def test_what_lies_within_a_tube_is_marked_round_it() -> None:
    """A ball of 5 mm where nothing hides it; one a quarter wider than the tube there."""
    inside = replace(ALONG_X, within=7.0)
    (alone,) = measuring.measure_drawings((HERE,), size=5.0)
    assert np.ptp(np.array(alone.mesh.points)[:, 2]) == pytest.approx(5.0, abs=1e-3)
    (round_it,) = measuring.measure_drawings((inside,), size=5.0)
    assert np.ptp(np.array(round_it.mesh.points)[:, 2]) == pytest.approx(17.5, abs=1e-3)
    _, line, ways = measuring.measure_drawings((inside, HERE), size=5.0)
    assert line.mesh.n_points == 2
    assert ways.mesh.n_points == 6
