"""The loop in the window: its total adds up, and every choice tells its effect."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loopsolver.hydraulics.filling import Stay, TiltStage
from loopsolver.hydraulics.tilts import lies
from loopsolver.plan import Effect
from loopsolver.view import captions, figures, lists
from loopsolver.view.figures import NearTube
from loopsolver.view.panel import IN_WINDOW, ON_PICTURE, page_layout
from loopsolver.view.panel_lines import COLUMNS, fitted, rows_of
from loopsolver.view.selection import ViewSelection, first_selection, step_candidate
from tests.builders.plans import SUMMARY, candidate, ending


@pytest.fixture
def plan(build):
    return build.plan()


def texts(lines):
    return [line.text for line in lines]


def test_total_is_the_sum_of_the_chosen_tubes(plan):
    routed = replace(plan, runs=plan.runs[:4])
    row = figures.loop_section(routed).lines[0].text
    # Legs of the hand-made routes [mm]: 62+78+155+50, 50+115+120, 67+75+250, 70+162; of
    # each bend two tangents of 28 go and a quarter turn of that radius comes.
    legs = (62 + 78 + 155 + 50) + (50 + 115 + 120) + (67 + 75 + 250) + (70 + 162)
    bends = 3 + 2 + 2 + 1
    length = legs - bends * (2 * 28 - math.pi / 2 * 28)
    assert row.split() == ["the", "loop", "8", "bends", f"{length:.1f}", "mm"]


def test_total_stands_in_the_columns_of_the_list_of_runs(plan):
    listed = lists.run_list(plan, ViewSelection(run=0, rank=1), most=10).lines[1].text
    row = figures.loop_section(plan).lines[0].text
    for column in (" bends", " mm"):
        assert row.index(column) == listed.index(column)
    assert len(row) == len(listed) == COLUMNS


def test_run_without_a_tube_is_not_in_the_total(plan):
    (row,) = texts(figures.loop_section(replace(plan, loop=SUMMARY)).lines)
    assert row.startswith("  4 of 5 runs ")


def test_run_that_is_left_out_says_so_and_its_candidates_can_be_looked_at(plan):
    out = replace(plan.runs[0], chosen=None, why="it crosses the other tube")
    some = replace(plan, runs=(out, *plan.runs[1:]))
    shown = first_selection(some, run=None, candidate=None)
    assert shown.rank == 1
    assert step_candidate(some, shown, by=1).rank == 2
    rows = [
        line.text
        for part in captions.sections(some, shown, near=None)
        for line in part.lines
    ]
    assert "candidate 1 of 3" in rows
    assert "left out: it crosses the other tube" in " ".join(rows)
    *_, listed = (row for row in rows if row.startswith("▸"))
    assert listed.split()[-2:] == ["left", "out"]


def test_elbows_are_added_up_under_the_bends(plan):
    elbow = ending(
        "card.out", (0.0, 0.0, 1.0), (0.0, 0.0, 0.0), fitting="corner", is_elbow=True
    )
    runs = tuple(
        replace(
            run,
            candidates=tuple(
                replace(one, ends=(elbow, elbow)) for one in run.candidates
            ),
        )
        for run in plan.runs
    )
    rows = texts(figures.loop_section(replace(plan, runs=runs)).lines)
    assert rows[1].split() == ["8", "elbows"]
    assert len(rows[1]) == rows[0].index(" bends") + len(" bends")
    assert not [row for row in texts(figures.loop_section(plan).lines) if "elb" in row]


@pytest.mark.parametrize(
    ("loop", "words"),
    [
        (None, "chosen by hand"),
        (SUMMARY, "by bends proven best of 31 routes"),
        (
            replace(SUMMARY, for_parallel=7.5),
            "by bends proven best of 31 routes; 7.5 mm given to run parallel",
        ),
        (replace(SUMMARY, is_proven=False), "by bends the best found, not proven"),
        (replace(SUMMARY, bound=SUMMARY.total), "each run its own best by bends"),
        (
            replace(SUMMARY, is_proven=False, ended="time"),
            "by bends the best found, not proven; time ended the search",
        ),
        (
            replace(SUMMARY, is_proven=False, ended="stopped"),
            "by bends the best found, not proven; Ctrl-C ended the search",
        ),
    ],
)
def test_how_good_the_choice_is_is_said_and_no_more(plan, loop, words):
    section = figures.loop_section(replace(plan, runs=plan.runs[:4], loop=loop))
    rows = [row.strip() for row in texts(section.lines[1:]) if "side by" not in row]
    assert " ".join(rows) == words
    assert max(len(line.text) for line in section.lines) <= COLUMNS


# Tubes of 14 mm along z, neighbours where their axes are within 56 mm of each other.
FIRST = candidate((20.0, 20.0, 0.0), (20.0, 20.0, 200.0))
SECOND = candidate((50.0, 20.0, 50.0), (50.0, 20.0, 300.0))  # 30 mm off, over 150 mm
THIRD = candidate((20.0, 200.0, 0.0), (20.0, 200.0, 120.0))
FOURTH = candidate((50.0, 200.0, 300.0), (50.0, 200.0, 0.0))  # 30 mm off, over 120 mm
WIDE = candidate((60.0, 200.0, 300.0), (60.0, 200.0, 0.0))  # 40 mm off instead
ACROSS = candidate((150.0, 0.0, 100.0), (150.0, 300.0, 100.0))


@pytest.mark.parametrize(
    ("tubes", "rows"),
    [
        ((FIRST, SECOND), [["side", "by", "side", "150.0", "mm"]]),
        (
            (FIRST, SECOND, THIRD, FOURTH),
            [["side", "by", "side,", "evenly", "270.0", "mm"]],
        ),
        ((FIRST, SECOND, THIRD, WIDE), [["side", "by", "side", "270.0", "mm"]]),
        ((FIRST, ACROSS), [["no", "tubes", "run", "side", "by", "side"]]),
    ],
)
def test_how_much_tube_runs_side_by_side(plan, tubes, rows):
    runs = [
        replace(run, candidates=(tube,), chosen=1)
        for run, tube in zip(plan.runs, tubes, strict=False)
    ]
    section = figures.loop_section(replace(plan, runs=tuple(runs), loop=SUMMARY))
    told = [row.split() for row in texts(section.lines) if "side by side" in row]
    assert told == rows


def test_the_even_part_stands_under_the_whole(plan):
    # Two stretches at 30 mm and, further up, one at 40 mm: 150 and 120 of 390 are even.
    other = candidate((20.0, 380.0, 0.0), (20.0, 380.0, 120.0))
    near = candidate((60.0, 380.0, 0.0), (60.0, 380.0, 300.0))
    tubes = (FIRST, SECOND, THIRD, FOURTH, other, near)
    runs = [
        replace(plan.runs[0], name=f"tube {number}", candidates=(tube,), chosen=1)
        for number, tube in enumerate(tubes)
    ]
    section = figures.loop_section(replace(plan, runs=tuple(runs), loop=SUMMARY))
    whole, even = texts(section.lines)[1:3]
    assert whole.split() == ["side", "by", "side", "390.0", "mm"]
    assert even.split() == ["evenly", "spaced", "270.0", "mm"]
    assert len(whole) == len(even) == COLUMNS


def test_effect_says_who_stays_who_moves_and_what_fits_not():
    def said(moved):
        lines = figures.effect_lines(Effect(run="a", rank=2, moved=moved))
        return texts(lines), {line.style for line in lines}

    assert said(()) == (["other runs    stay as they are"], {"plain"})
    assert said((("block to roof", 2), ("pump to card", 4))) == (
        ['would move    "block to roof" to 2', '              "pump to card" to 4'],
        {"plain"},
    )
    rows, styles = said(None)
    assert " ".join(rows) == "no listed candidates of the others fit beside it"
    assert styles == {"warning"}


def test_effect_is_among_the_figures_of_the_candidate(plan):
    shown = first_selection(plan, run="pump to card", candidate=2)
    effect = Effect(run="pump to card", rank=2, moved=(("card to block", 1),))
    sections = captions.sections(plan, shown, near=None, effect=effect)
    (figures,) = (part for part in sections if part.lines[0].text == "candidate 2 of 3")
    assert 'would move    "card to block" to 1' in texts(figures.lines)
    assert figures.yields == 0


def test_lone_run_has_no_loop(plan):
    lone = replace(plan, runs=plan.runs[:1])
    sections = captions.sections(lone, ViewSelection(run=0, rank=1), near=None)
    assert not [line for part in sections for line in part.lines if "loop" in line.text]


@pytest.mark.parametrize(
    "size", [(1024, 700), (1280, 800), (1440, 900), (1600, 1000), (1920, 1080)]
)
@pytest.mark.parametrize("furniture", [IN_WINDOW, ON_PICTURE])
@pytest.mark.parametrize("count", [6, 12])
def test_list_total_and_legend_of_a_whole_loop_have_room_in_the_panel(
    plan, size, furniture, count
):
    runs = [
        replace(plan.runs[n % 4], name=f"tube number {n + 1}") for n in range(count)
    ]
    whole = replace(plan, runs=tuple(runs), loop=SUMMARY)
    near = NearTube(
        run="tube number 3", gap=-2.0, at=(0.0, 0.0, 0.0), to=(9.0, 0.0, 0.0)
    )
    effect = Effect(run="tube number 1", rank=3, moved=(("tube number 4", 1),) * 2)
    layout = page_layout(*size, scale=1.0, furniture=furniture)
    shown = ViewSelection(run=0, rank=3)
    (lie,) = lies(plan.scene.sides, allowed=())
    air = Stay(
        volume_ml=41.0, parts=("block",), tubes=(), unsure=(), at=(0.0, 0.0, 0.0)
    )
    stages = (TiltStage(lie=lie, left=(air,)),)
    sections = captions.sections(whole, shown, near=near, effect=effect, stages=stages)
    kept = fitted(sections, rows=layout.panel_rows)
    assert rows_of(kept) <= layout.panel_rows
    rows = [line.text for part in kept for line in part.lines]
    assert max(len(row) for row in rows) <= COLUMNS
    assert [row for row in rows if row.startswith("  the loop")]
    assert [row for row in rows if row.startswith("▸ tube number 1 ")]
    legend = {"straight", "other tube", "port", "keep-out"}
    assert {*legend, "air that stays, 41 mL"} <= set(rows)
