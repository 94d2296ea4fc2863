"""What is under the mouse, in a window and its panel that nobody draws."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from loopsolver.view import captions, panel, pointing
from loopsolver.view.panel import IN_WINDOW, laid_lines, page_layout, target_in
from loopsolver.view.panel_lines import ToCandidate, ToRun
from loopsolver.view.section_plane import SectionPlane
from loopsolver.view.selection import first_selection, toggle
from tests.builders import demo_build

PLAN = demo_build.plan()
SHOWN = first_selection(PLAN, run="pump to card", candidate=None)


@dataclass(frozen=True)
class FlatPart:
    """The case seen from +x without perspective, y to the right, z up, 1 mm a pixel."""

    origin: tuple[int, int] = (300, 40)
    size: tuple[int, int] = (440, 410)

    @property
    def projection(self) -> np.ndarray:
        matrix = np.zeros((4, 4))
        matrix[0, 1], matrix[1, 2] = 1.0 / 440.0, 1.0 / 410.0
        matrix[2, 0], matrix[2, 3] = -2.0 / 200.0, 1.0  # x = 200 is nearest
        matrix[3, 3] = 1.0
        return matrix


def tube_at(y: float, z: float, selection=SHOWN):
    parts = [(FlatPart(), selection)]
    return pointing.tube_at(PLAN, parts, 300 + y - 0.5, 40 + z - 0.5)


@pytest.mark.parametrize(
    ("y", "z", "place"),
    [
        (230.0, 110.0, 0),  # the tube on show, upright at y = 230
        (225.0, 110.0, 0),  # beside its axis
        (120.0, 250.0, 1),  # others, at their own
        (300.0, 375.0, 2),
        (330.0, 300.0, 3),
    ],
)
def test_the_run_of_the_tube_that_is_seen_there_is_meant(y, z, place) -> None:
    assert tube_at(y, z) == ToRun(place=place)


def test_beside_all_tubes_there_is_nothing_and_on_the_panel_neither() -> None:
    assert tube_at(20.0, 20.0) is None
    assert tube_at(-50.0, 110.0) is None
    assert pointing.sight_through([(FlatPart(), SHOWN)], 299, 100) is None
    assert pointing.sight_through([(FlatPart(), SHOWN)], 300, 40) is not None
    assert pointing.sight_through([(FlatPart(), SHOWN)], 740, 40) is None


def test_of_two_tubes_the_one_nearer_to_the_eye_is_meant() -> None:
    """At y = 350, z = 375 the third lies at x = 125, the fourth behind it at 85."""
    assert tube_at(350.0, 375.0) == ToRun(place=2)


def test_what_is_hidden_cut_away_or_on_the_bench_is_not_meant() -> None:
    assert tube_at(120.0, 250.0, toggle(SHOWN, "other tubes")) is None
    assert tube_at(230.0, 110.0, toggle(SHOWN, "other tubes")) == ToRun(place=0)
    # At x = 178 it is cut away where less than 100 is shown; the fourth at 85 is not.
    plane = SectionPlane(axis=0, at=100.0, keeps=-1)
    assert tube_at(230.0, 110.0, replace(SHOWN, plane=plane)) is None
    assert tube_at(330.0, 300.0, replace(SHOWN, plane=plane)) == ToRun(place=3)
    assert tube_at(230.0, 110.0, replace(SHOWN, bent=0)) is None


def test_a_run_without_a_tube_is_clicked_at_its_dashed_line() -> None:
    """From pump.drain at (130, 330, 30) to valve.in at (180, 330, 30): seen end on."""
    assert tube_at(330.0, 30.0) == ToRun(place=4)


def test_of_two_parts_the_one_under_the_mouse_counts() -> None:
    parts = [(FlatPart(origin=(0, 0)), SHOWN), (FlatPart(origin=(440, 0)), SHOWN)]
    for left in (0, 440):
        assert pointing.tube_at(PLAN, parts, left + 230, 110) == ToRun(place=0)


def test_a_place_is_measured_on_what_is_seen() -> None:
    mark = pointing.place_at(
        PLAN, [(FlatPart(), SHOWN)], 300 + 100 - 0.5, 40 + 50 - 0.5
    )
    assert mark is not None
    assert mark.name == "power supply"  # its side at x = 170
    assert mark.at == pytest.approx((170.0, 100.0, 50.0), abs=0.02)


@pytest.mark.parametrize("size", [(1008, 604), (1264, 704), (1920, 1080)])
def test_every_row_of_a_list_leads_where_it_says(size) -> None:
    layout = page_layout(*size, scale=1.0, furniture=IN_WINDOW)
    laid = laid_lines(captions.sections(PLAN, SHOWN, near=None), layout)
    wide = panel.letter_width(layout.letters)
    names = {run.name: ToRun(place=at) for at, run in enumerate(PLAN.runs)}
    found = set()
    for one in laid:
        text = one.line.text
        middle = (one.x + wide * len(text) / 2.0, one.y + layout.row / 2.0)
        target = target_in(laid, *middle, layout=layout)
        assert target == one.line.leads_to
        if isinstance(target, ToRun):
            assert names[text[2:22].strip()] == target
        if isinstance(target, ToCandidate):
            assert text.strip("▸ ").split()[0] == str(target.rank)
        found.add(target)
    assert {ToRun(place=0), *(ToCandidate(rank=rank) for rank in (1, 2, 3))} <= found
    assert target_in(laid, 20.0, layout.height - 1.0, layout=layout) is None
