"""Candidates as small views: one view and scale for all, what differs marked."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pypdfium2
import pytest

from loopsolver.cli.main import main
from loopsolver.drafting.drawing import Entity, Face, Polygon, Text, moved
from loopsolver.plan import Plan
from loopsolver.workshop.candidates_picture import (
    _ANOTHER_WAY,
    _VIEW,
    _cut,
    candidates_drawing,
)
from tests.builders.plans import Points, candidate
from tests.builders.small_build import UP, plan_with

ROUND = (UP[0], (60.0, 60.0, 240.0), (160.0, 60.0, 240.0), (160.0, 212.0, 240.0))
"""Up further than `UP`, to the right, to the rear: 40 mm higher from then on."""


def plan_of(
    *lines: Points, chosen: int | None = 1, name: str = "pump & <card>"
) -> Plan:
    plan = plan_with(routes=(UP,), names=(name,))
    gaps = (6.25, 9.0, 6.25)
    run = replace(
        plan.runs[0],
        candidates=tuple(
            candidate(*line, gap=gap, name="card")
            for line, gap in zip(lines, gaps, strict=False)
        ),
        chosen=chosen,
    )
    return replace(plan, runs=(run,))


def drawn(plan: Plan) -> tuple[Entity, ...]:
    run = plan.runs[0]
    return candidates_drawing(plan, {run.name: run.ranks}).entities


def in_column(entities: Sequence[Entity], column: int) -> list[Entity]:
    """What lies in a column of views, moved to where the first column is."""
    left = column * (_VIEW[0] + 4.0)
    found = []
    for one in entities:
        points = getattr(one, "points", ())
        if points and all(
            left - 1e-6 <= x <= left + _VIEW[0] + 1e-6 for x, _ in points
        ):
            found.append(moved([one], (-left, 0.0))[0])
    return found


def faces(entities: Sequence[Entity]) -> list[Any]:
    """The faces of bodies, rounded."""
    return [
        (np.round(one.points, 6).tolist(), one.fill)
        for one in entities
        if isinstance(one, Polygon) and one.layer.name == "bodies"
    ]


def test_all_views_are_from_one_place_at_one_scale() -> None:
    entities = drawn(plan_of(UP, ROUND))
    first, second = (faces(in_column(entities, column)) for column in (0, 1))
    assert len(first) >= 6  # three bodies, each seen from two sides at least
    assert first == second


def test_only_what_leaves_the_chosen_way_is_dark() -> None:
    """By hand: both begin and end in line; what is 40 mm higher is dark, and no more."""
    entities = drawn(plan_of(UP, ROUND))
    tubes = [
        [
            one
            for one in in_column(entities, column)
            if isinstance(one, Polygon) and one.layer.name == "solid areas"
            if len(one.points) > 4  # the ground under the words has four corners
        ]
        for column in (0, 1)
    ]
    assert {one.fill for one in tubes[0]} == {1.0}
    assert {one.fill for one in tubes[1]} == {1.0, _ANOTHER_WAY}


def test_figures_that_differ_are_strong() -> None:
    strong, plain = (
        {
            one.text
            for one in drawn(plan_of(UP, ROUND))
            if isinstance(one, Text) and one.face is face
        }
        for face in (Face.STRONG, Face.REGULAR)
    )
    # Of 2 bends each; the second is 40 mm longer at its first leg and has 2.8 mm more
    # gap. UP: 132 + 100 + 152 mm of legs, less 2 x 28 (2 - pi / 2) mm for its bends.
    length = 132.0 + 100.0 + 152.0 - 2.0 * 28.0 * (2.0 - math.pi / 2.0)
    assert f"{length:.1f} mm of tube" in plain
    assert f"{length + 40.0:.1f} mm of tube" in strong
    assert "2 bends" in plain
    assert "2 bends" not in strong
    assert "gap 9.0 mm" in strong
    assert "to card" in plain
    assert {"Candidate 1, chosen", "Candidate 2"} <= strong
    told = " ".join(plain)
    assert "most gap" in told
    assert "40.0 mm longer" in told


def test_run_without_candidates_says_why() -> None:
    plan = plan_with(unrouted="the block is in the way")
    words = {
        one.text
        for one in candidates_drawing(plan, {"lost": ()}).entities
        if isinstance(one, Text)
    }
    assert any("the block is in the way" in line for line in words)


def test_everything_stands_within_the_page() -> None:
    plan = plan_of(UP, ROUND, UP)
    drawing = candidates_drawing(plan, {run.name: run.ranks for run in plan.runs})
    for one in drawing.entities:
        for x, y in getattr(one, "points", ()):
            assert -0.5 <= x <= drawing.high[0] + 0.5
            assert -0.5 <= y <= drawing.high[1] + 0.5


def test_what_lies_beyond_a_view_is_not_drawn() -> None:
    """A short tube in a large case: its views are so near that parts lie outside."""
    short = ((60.0, 60.0, 68.0), (60.0, 60.0, 130.0), (110.0, 60.0, 130.0))
    entities = drawn(plan_of(short, short))
    places = np.concatenate(
        [
            one.points
            for one in entities
            if isinstance(one, Polygon) and one.layer.name == "bodies"
        ]
    )
    x = places[:, 0] % (_VIEW[0] + 4.0)
    assert x.min() >= 0.0
    assert x.max() <= _VIEW[0] + 1e-6
    assert np.ptp(places[:, 1]) <= _VIEW[1] + 1e-6  # one row of views


@pytest.mark.parametrize(
    ("outline", "area"),
    [
        # By hand, in a view of 62 x 58 mm.
        (((-10.0, -10.0), (31.0, -10.0), (31.0, 29.0), (-10.0, 29.0)), 31.0 * 29.0),
        (((0.0, 0.0), (62.0, 0.0), (62.0, 58.0), (0.0, 58.0)), 62.0 * 58.0),
        (((-62.0, 0.0), (62.0, 0.0), (62.0, 124.0)), 62.0 * 58.0),
        (((70.0, 0.0), (80.0, 0.0), (75.0, 9.0)), 0.0),
    ],
)
def test_what_reaches_beyond_a_view_is_cut(outline, area) -> None:
    kept = np.array(_cut(outline) or [(0.0, 0.0)])
    x, y = kept.T
    got = 0.5 * abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    assert got == pytest.approx(area)


def test_compare_writes_it_as_svg_and_pdf(tmp_path, capsys, monkeypatch) -> None:
    plan = plan_of(UP, ROUND)
    monkeypatch.setattr("loopsolver.cli.compare.read_plan", lambda path: plan)
    for ending in (".svg", ".pdf"):
        picture = tmp_path / f"candidates{ending}"
        for _ in range(2):  # its own it may write over
            assert main(["compare", "any.json", "--picture", str(picture)]) == 0
            assert f"Picture written to {picture}" in capsys.readouterr().out
    svg = ET.parse(tmp_path / "candidates.svg").getroot()
    words = " ".join("".join(one.itertext()) for one in svg.iter())
    assert "pump & <card>: part1.out to part1.in" in words
    assert len(pypdfium2.PdfDocument(tmp_path / "candidates.pdf")) == 1
    picture.write_bytes(b"mine")
    assert main(["compare", "any.json", "--picture", str(picture)]) == 2
    assert picture.read_bytes() == b"mine"
    assert main(["compare", "any.json", "--picture", str(tmp_path / "a.png")]) == 2
    assert ".svg" in capsys.readouterr().err
