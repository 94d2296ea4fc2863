"""The column of figures, read line by line as it is printed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.drafting.drawing import Face, Line, Text
from loopsolver.workshop.bench_figures import figure_column
from loopsolver.workshop.job import Job
from tests.builders.plans import candidate
from tests.builders.small_build import FLAT, STRAIGHT, UP, job_through

WIDTH = 60.0


def column(job: Job, **changes: object) -> dict[str, str]:
    """Return what stands under each name, its lines joined."""
    blocks = figure_column(job, _candidate(job, **changes), width=WIDTH)
    found = {}
    for block in blocks:
        name, *words = (one for one in block.entities if isinstance(one, Text))
        found[name.text] = " ".join(word.text for word in words)
    return found


def _candidate(job: Job, **changes: object):
    made = candidate(*job.centreline.vertices, gap=5.25, name="the card")
    return replace(made, **changes)  # type: ignore[arg-type]


def test_a_tube_of_two_planes() -> None:
    """Legs of 132, 100 and 152 mm, of which two bends save 28 (2 - pi / 2) each.

    384 - 2 x 12.018 = 359.96 mm; 30 mm more at each end.
    """
    said = column(job_through(UP))
    assert said["Cut the blank"] == "420.0 mm"
    assert said["Finished length"] == "360.0 mm"
    assert said["Cut off each end"] == "30.0 mm"
    assert said["Tube"].endswith(", 14.0 / 10.0 mm")
    assert said["Bends"] == "2 in 2 planes"
    assert said["Bend radius"] == "28.0 mm to the centre line"
    assert said["Least gap"] == "5.2 mm to the card"
    assert said["Heat"] == (
        "150 to 160 °C (302 to 320 °F) (an acrylic sheet maker's data; for tube common "
        "practice, no source)"
    )
    assert said["Insert"].startswith("at least ")
    assert said["Insert"].endswith(
        " long, 50.0 mm of it to draw it by (common practice, no source)"
    )
    assert "Too long" not in said


def test_copper_is_bent_cold_and_has_no_insert() -> None:
    said = column(job_through(FLAT, material="copper"))
    assert said["Bends"] == "2 in 1 plane"
    assert said["Heat"] == "none, bent cold (common practice, no source)"
    assert "Insert" not in said


def test_a_straight_tube_has_neither_radius_nor_heat() -> None:
    said = column(job_through(STRAIGHT))
    assert said["Bends"] == "none"
    assert not {"Bend radius", "Insert", "Heat"} & set(said)
    assert said["Doubtful"].startswith("no bend to give way between two fixed parts")
    assert {"Cut the blank", "Finished length", "Least gap"} <= set(said)


def test_what_is_not_trimmed_is_nothing() -> None:
    said = column(replace(job_through(FLAT), trim_allowance=0.0), trim_allowance=0.0)
    assert said["Cut off each end"] == "nothing"


def test_a_blank_longer_than_the_stock_is_told_first_of_all() -> None:
    """420 mm of blank from 400 mm of stock: 20 mm too long."""
    job = job_through(UP)
    short = replace(job, tube=replace(job.tube, stock_length=400.0))
    said = column(short)
    assert list(said)[:2] == ["Cut the blank", "Too long"]
    assert said["Too long"].startswith("20.0 mm longer than the stock of 400.0 mm; ")


def test_each_figure_stands_under_its_name_and_over_a_line() -> None:
    """Names of 2 mm hang from the top; figures that are read first are larger."""
    job = job_through(UP)
    for block in figure_column(job, _candidate(job), width=WIDTH):
        name, *words = (one for one in block.entities if isinstance(one, Text))
        (rule,) = (one for one in block.entities if isinstance(one, Line))
        assert name.position == (0.0, -2.0)
        assert name.size == 2.0
        is_large = name.text in {"Cut the blank", "Finished length"}
        lowest = min(word.position[1] for word in words)
        assert all(word.position[1] + word.size < -2.0 for word in words)
        assert {word.face for word in words} == {
            Face.STRONG if is_large else Face.REGULAR
        }
        assert name.grey == (0.0 if is_large else 0.25)
        assert all((word.size == 4.2) == is_large for word in words)
        # The line lies below the figures and above the block's end, right across.
        assert -block.height < rule.start[1] == rule.end[1] < lowest
        assert lowest - rule.start[1] < 3.0
        assert block.height + rule.start[1] == pytest.approx(2.4 if is_large else 2.0)
        assert (rule.start[0], rule.end[0]) == (0.0, WIDTH)
