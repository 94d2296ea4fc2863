"""The words of the window: figures right, columns aligned, nothing too wide."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from loopsolver.lengths import MILLIMETRES
from loopsolver.scene.model import RunRequest
from loopsolver.tube.bend_table import Bend, BendTable
from loopsolver.view import captions, figures, keys, lists, panel_lines
from loopsolver.view.figures import NearTube
from loopsolver.view.panel_lines import COLUMNS, PanelLine, Section
from loopsolver.view.selection import ViewSelection, first_selection, toggle
from tests.commands import ROOT

ORIGIN = (0.0, 0.0, 0.0)


def words(sections):
    return [line.text for section in sections for line in section.lines]


@pytest.fixture
def plan(build):
    return build.plan()


def of_run(plan, run, candidate=None, near=None):
    selection = first_selection(plan, run=run, candidate=candidate)
    return words(captions.sections(plan, selection, near=near))


def figure(rows, name):
    (row,) = (row for row in rows if row.startswith(name))
    return row.removeprefix(name).strip()


def test_figures_of_a_candidate_are_those_worked_out_by_hand(plan):
    rows = of_run(plan, "card to block")
    assert "run 2 of 5" in rows
    assert "card to block" in rows
    assert "card.out to block.in" in rows
    assert "candidate 1 of 1, chosen" in rows
    assert figure(rows, "bends  ") == "2 in 1 plane"
    # Legs 50, 115 and 120 mm; each bend takes 2 * 28 mm of them, and is an arc of
    # pi / 2 * 28 mm: 285 - 4 * 28 + 2 * 43.98 = 261.0 mm.
    length = 285.0 - 4 * 28.0 + math.pi * 28.0
    assert figure(rows, "length") == f"{length:.1f} mm"
    # A blank has 30 mm of trim at each end.
    assert figure(rows, "blank") == f"{length + 60.0:.1f} mm"
    assert figure(rows, "bend radius") == "28.0 mm"
    assert figure(rows, "gap") == "3.0 mm to side panel swing"
    # 30 + 50 - 28 mm before the first bend, of which the heat takes 14 mm.
    assert "short hold: 38.0 mm at card.out" in rows


def test_bend_table_is_in_columns(plan):
    rows = of_run(plan, "card to block")
    first = next(n for n, row in enumerate(rows) if row.startswith("bend  "))
    names, units, one, two, end = rows[first : first + 5]
    # 50 - 28, 115 - 56, 120 - 28 mm of straight; both bends turn the same way.
    assert one.split() == ["1", "22.0", "0.0", "90.0"]
    assert two.split() == ["2", "59.0", "0.0", "90.0"]
    assert end.split() == ["end", "92.0"]
    assert units.split() == ["L", "mm", "R", "deg", "A", "deg"]
    for row in (one, two):
        assert len(row) == len(names) == len(units)
        assert [n for n, c in enumerate(row) if c == "."] == [
            n for n, c in enumerate(one) if c == "."
        ]
    assert end.index(".") == one.index(".")


def test_angles_are_never_minus_nought():
    table = BendTable(
        bends=(Bend(straight=40.0, rotation_deg=-0.01, angle_deg=90.0),),
        closing_straight=40.0,
        radius=28.0,
    )
    assert "-0.0" not in " ".join(
        row.text for row in figures.bend_table_lines(table, lengths=MILLIMETRES)
    )


def test_unchosen_candidate_is_not_called_chosen(plan):
    rows = of_run(plan, "pump to card", candidate=3)
    assert "candidate 3 of 3" in rows
    # Bends: at each inner vertex of the hand-made route.
    assert figure(rows, "bends  ").startswith("5 in ")


def test_run_without_a_route_says_why(plan):
    rows = of_run(plan, "pump to valve")
    assert "no route" in rows
    text = " ".join(rows)
    assert "their mouths are 10.0 mm apart" in text
    assert not [row for row in rows if row.startswith("bend ")]


def test_run_list_marks_the_run_shown_and_those_without_a_route(plan):
    rows = of_run(plan, "front to tank")
    listed = rows[rows.index("runs") + 1 :][:5]
    assert [row[0] for row in listed] == [" ", " ", " ", "▸", " "]
    # Legs of 70 and 162 mm about one bend: 232 - 56 + 43.98 mm.
    assert listed[3].split()[1:] == ["front", "to", "tank", "1", "bend", "220.0", "mm"]
    assert listed[4].split() == ["pump", "to", "valve", "no", "route"]
    assert len({len(row) for row in listed}) == 1


def test_departures_stand_beside_their_bends(build):
    # 92.84 is 2.84 over 90, the nearest standard angle; 45 is one itself.
    table = BendTable(
        bends=(
            Bend(straight=40.0, rotation_deg=0.0, angle_deg=92.84),
            Bend(straight=31.5, rotation_deg=-120.0, angle_deg=45.0),
            Bend(straight=18.0, rotation_deg=7.0, angle_deg=41.2),
        ),
        closing_straight=40.0,
        radius=28.0,
    )
    rows = [
        row.text
        for row in figures.bend_table_lines(
            table, lengths=MILLIMETRES, departures_deg=(2.84, 0.0, -3.8)
        )
    ]
    assert rows[0].split() == ["bend", "straight", "rotation", "angle", "off", "by"]
    assert [row.split()[-1] for row in rows[2:5]] == ["+2.8", "0.0", "-3.8"]
    assert {len(row) for row in rows[:5]} == {40}
    assert rows[-1] == "off by: from the nearest standard angle"


def test_departures_come_from_the_candidate_where_any_angle_was_allowed(plan):
    (free,) = plan.runs[1].candidates
    free = replace(free, standard_deg=(45.0, 90.0))
    loose = replace(
        plan,
        runs=(plan.runs[0], replace(plan.runs[1], candidates=(free,)), *plan.runs[2:]),
    )
    rows = of_run(loose, "card to block")
    first = next(n for n, row in enumerate(rows) if row.startswith("bend straight"))
    # Both bends are square.
    assert [row.split()[-2:] for row in rows[first + 2 : first + 4]] == [
        ["90.0", "0.0"],
        ["90.0", "0.0"],
    ]
    assert not [row for row in of_run(plan, "card to block") if "off by" in row]


def test_where_there_are_several_formers_they_are_named(plan):
    tube = replace(plan.scene.tube, bend_radii=(21.0, 28.0, 42.5))
    several = replace(plan, scene=replace(plan.scene, tube=tube))
    rows = of_run(several, "card to block")
    assert figure(rows, "bend radius") == "28.0 mm, of 21, 28 or 42.5"
    own = replace(plan.scene.runs[1], bend_radii=(28.0, 35.0))
    requests = (plan.scene.runs[0], own, *plan.scene.runs[2:])
    chosen = replace(several, scene=replace(several.scene, runs=requests))
    assert figure(of_run(chosen, "card to block"), "bend radius") == (
        "28.0 mm, of 28 or 35"
    )


@pytest.mark.parametrize(
    ("gap", "expected", "style"),
    [
        (11.04, "nearest tube  11.0 mm to card to block", "plain"),
        (1.25, "1.2 mm to the tube of card to block; 3.0", "warning"),
        (-2.0, "runs 2.0 mm into the tube of card to", "warning"),
    ],
)
def test_nearest_tube_is_named_and_a_touch_is_a_warning(plan, gap, expected, style):
    lines = figures.candidate_lines(
        plan.runs[0].candidates[0],
        clearance=3.0,
        near=NearTube(run="card to block", gap=gap, at=ORIGIN, to=ORIGIN),
        lengths=MILLIMETRES,
    )
    (line,) = (line for line in lines if line.text.startswith(expected))
    assert line.style == style


def test_nothing_is_wider_than_the_panel(plan):
    long_name = "a name that somebody made very long indeed, to see what becomes of it"
    renamed = replace(plan.runs[0], name=long_name)
    wide = replace(plan, runs=(renamed, *plan.runs[1:]))
    for subject in (plan, wide, plan.scene):
        for place in range(5):
            shown = ViewSelection(run=place, rank=None)
            if subject is not plan.scene and subject.runs[place].candidates:
                shown = ViewSelection(run=place, rank=1)
            near = NearTube(run=long_name, gap=1.0, at=ORIGIN, to=ORIGIN)
            rows = words(captions.sections(subject, shown, near=near))
            assert max(len(row) for row in rows) <= COLUMNS


def test_scene_lists_its_runs_and_says_that_it_is_not_routed(build):
    scene = build.scene()
    selection = first_selection(scene, run=None, candidate=None)
    rows = words(captions.sections(scene, selection, near=None))
    assert "not routed yet" in rows
    assert [row.strip("▸ ") for row in rows[rows.index("runs") + 1 :][:5]] == list(
        build.ENDS
    )
    assert figure(rows, "case") == "200 × 440 × 410 mm"  # noqa: RUF001 - meant
    assert figure(rows, "axes") == "x right, y away, z up (none"
    assert rows[rows.index(next(r for r in rows if r.startswith("axes"))) + 1] == (
        " " * 14 + "stated)"
    )


def test_the_axes_stand_in_the_words_of_the_scene(build):
    scene = replace(build.scene(), axes=("left", "near", "up"))
    selection = first_selection(scene, run=None, candidate=None)
    rows = words(captions.sections(scene, selection, near=None))
    assert figure(rows, "axes") == "x left, y near, z up"


# The person stands before the front, on the side that "near" points to, and calls their
# own left and right so: read off by hand for a case whose y points near, x left.
@pytest.mark.parametrize(
    ("eye", "told"),
    [
        ((0.0, 1.0, 0.0), "seen from the front (+y)"),
        ((0.0, -1.0, 0.0), "seen from the rear (-y)"),
        ((1.0, 0.0, 0.0), "seen from the left (+x)"),
        ((-1.0, 0.0, 0.0), "seen from the right (-x)"),
        ((0.0, 0.0, 1.0), "seen from above (+z)"),
        ((0.0, 0.0, -1.0), "seen from below (-z)"),
    ],
)
def test_a_standard_view_says_from_which_side_it_looks(build, eye, told):
    scene = replace(build.scene(), axes=("left", "near", "up"))
    assert captions.view_text(scene.sides, eye) == told


def test_scene_without_runs_says_so(build):
    scene = replace(build.scene(), runs=())
    rows = words(
        captions.sections(scene, ViewSelection(run=0, rank=None), near=None),
    )
    assert "no runs are asked for" in rows


def test_choice_of_ports_is_told(build):
    run = RunRequest(
        name="choice", from_ports=("pump.out", "pump.drain"), to_ports=("card.in",)
    )
    scene = replace(build.scene(), runs=(run,))
    selection = first_selection(scene, run=None, candidate=None)
    rows = words(captions.sections(scene, selection, near=None))
    assert "pump.out or pump.drain to card.in" in rows


def test_long_list_shows_the_runs_round_the_one_shown(plan):
    many = replace(
        plan,
        runs=tuple(replace(plan.runs[1], name=f"tube {n}") for n in range(30)),
    )
    section = lists.run_list(many, ViewSelection(run=17, rank=1), most=10)
    rows = [line.text for line in section.lines]
    assert rows[0] == "runs 13 to 22"
    assert len(rows) == 11
    assert [row for row in rows if row.startswith("▸")] == [
        row for row in rows if "tube 17 " in row
    ]


def test_legend_names_only_what_is_in_the_picture(plan, build):
    def names(subject, selection):
        return [line.text for line in captions.legend(subject, selection).lines]

    first = first_selection(plan, run=None, candidate=None)
    assert {"straight", "bend", "other tube", "keep-out"} <= set(names(plan, first))
    assert "other tube" not in names(plan, toggle(first, "other tubes"))
    assert "keep-out" not in names(plan, toggle(first, "keep-outs"))
    for gap, told in ((plan.scene.rules.clearance - 0.5, 1), (50.0, 0)):
        near = NearTube(run="card to block", gap=gap, at=ORIGIN, to=ORIGIN)
        rows = captions.legend(plan, first, near=near).lines
        assert [line.text for line in rows].count("too near") == told
    scene = build.scene()
    shown = names(scene, first_selection(scene, run=None, candidate=None))
    assert shown == ["run without a tube yet", "port", "keep-out"]


def test_where_room_is_short_the_case_goes_first_and_figures_and_legend_stay(plan):
    selection = first_selection(plan, run=None, candidate=None)
    whole = captions.sections(plan, selection, near=None)
    assert panel_lines.fitted(whole, rows=panel_lines.rows_of(whole)) == whole
    fewer = panel_lines.fitted(whole, rows=panel_lines.rows_of(whole) - 1)
    assert len(fewer) == len(whole) - 1
    assert not [row for row in words(fewer) if row.startswith("case")]
    fewest = words(panel_lines.fitted(whole, rows=32))
    assert "pump to card" in fewest
    assert "other tube" in fewest
    assert [row for row in fewest if row.startswith("gap")]
    # Of the list of runs those round the one shown stay, and of the candidates the ranks.
    assert "runs 1 to 3" in fewest
    assert {"▸1", " 2", " 3"} <= set(fewest)


def test_where_even_the_rest_is_too_long_it_ends_early_and_the_legend_stays(plan):
    selection = first_selection(plan, run=None, candidate=None)
    whole = captions.sections(plan, selection, near=None)
    for rows in (20, 24, 28):
        kept = panel_lines.fitted(whole, rows=rows)
        assert panel_lines.rows_of(kept) <= rows
        assert "  …" in words(kept)
        assert words(kept)[-3:] == words(whole)[-3:]


def test_colours_are_told_in_columns_the_long_names_in_two():
    """By hand: 14 letters a column, a swatch takes three, and a name keeps one free."""
    names = ["a" * 10, "b", "c" * 24, "d", "e" * 11, "f"]
    lines = panel_lines.colour_key((name, (1, 2, 3)) for name in names)
    places = [(line.text[0], line.column) for line in lines]
    assert places == [("a", 0), ("b", 14), ("d", 28), ("c", 0), ("f", 28), ("e", 0)]
    assert {line.swatch for line in lines} == {(1, 2, 3)}


def test_rows_count_lines_and_the_space_between_sections():
    two = Section(
        lines=(
            PanelLine(text="a"),
            PanelLine(text="b"),
            PanelLine(text="beside b", column=14),
        )
    )
    assert panel_lines.rows_of([two]) == 2
    assert panel_lines.rows_of([two, two]) == 4 + panel_lines.SECTION_SPACE


def test_footer_keeps_help_and_close_longest():
    wide = keys.footer(columns=500, message="")
    assert wide.startswith("↑↓ run   ←→ candidate   Enter keep")
    assert wide.endswith("h keys   q close")
    for columns in range(16, 140):
        row = keys.footer(columns=columns, message="")
        assert len(row) <= columns
        assert row.endswith("h keys   q close")


def test_footer_tells_a_message_first():
    assert keys.footer(columns=500, message="bodies hidden").startswith("bodies h")
    assert len(keys.footer(columns=20, message="x" * 50)) == 20


def test_every_key_is_in_the_help_and_no_key_does_two_things(plan):
    text = "\n".join(words(keys.key_help()))
    for key in keys.KEYS:
        assert key.does in text
    symbols = [key.symbol for key in keys.KEYS]
    assert len(set(symbols)) == len(symbols)
    assert max(len(row) for row in text.splitlines()) <= COLUMNS
    helping = replace(first_selection(plan, run=None, candidate=None), is_helping=True)
    assert "keys" in words(captions.sections(plan, helping, near=None))


def test_every_key_stands_in_the_table_of_readme():
    """But for those that every window has: help and closing."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    table = text.split("| key | does |", 1)[1].split("\n\n", 1)[0]
    shown = set(re.findall(r"`([^`]+)`", table.replace("`route --keep`", "")))
    assert shown == {key.shown for key in keys.KEYS} - {"h", "q"}


def test_picture_is_named_after_scene_run_and_candidate(plan, build):
    selection = first_selection(plan, run="pump to card", candidate=2)
    assert captions.picture_name(plan, selection) == "teal-pump-to-card-2"
    nameless = replace(build.scene(), file_name="", runs=())
    assert captions.picture_name(nameless, ViewSelection(run=0, rank=None)) == "scene"
    odd = replace(plan.runs[0], name="../up: <down>?")
    subject = replace(plan, runs=(odd,))
    assert (
        captions.picture_name(subject, ViewSelection(run=0, rank=1)) == "teal-up-down-1"
    )


def test_who_measures_in_inches_reads_inches(plan):
    inches = replace(plan, scene=replace(plan.scene, units="in"))
    rows = of_run(
        inches,
        "card to block",
        near=NearTube(run="x", gap=25.4, at=ORIGIN, to=ORIGIN),
    )
    # 28 mm and 3 mm over 25.4; straights of 22, 59 and 92 mm.
    assert figure(rows, "bend radius") == "1.102 in (28.0 mm)"
    assert figure(rows, "gap") == "0.118 in (3.0 mm) to side"
    assert figure(rows, "nearest tube") == "1.000 in (25.4 mm) to x"
    assert ["L", "in", "R", "deg", "A", "deg"] in [row.split() for row in rows]
    first = next(n for n, row in enumerate(rows) if row.startswith("bend  "))
    straights = [row.split()[1] for row in rows[first + 2 : first + 5]]
    assert straights == ["0.866", "2.323", "3.622"]
    assert figure(rows, "case") == "7.874 × 17.323 × 16.142 in"  # noqa: RUF001 - meant
    assert max(len(row) for row in rows) <= COLUMNS


def test_two_candidates_stand_side_by_side_in_place_of_the_figures_of_one(plan):
    selection = replace(
        first_selection(plan, run="pump to card", candidate=3), beside=1
    )
    rows = words(captions.sections(plan, selection, near=None))
    head = next(n for n, row in enumerate(rows) if row.startswith("side by side"))
    assert rows[head].split() == [
        "side",
        "by",
        "side",
        "candidate",
        "1",
        "candidate",
        "3",
    ]
    # Bends: one at each inner vertex of the hand-made routes.
    assert rows[head + 1].split() == ["bends", "3", "5"]
    assert {len(row) for row in rows[head : head + 5]} == {COLUMNS}
    short = panel_lines.fitted(captions.sections(plan, selection, near=None), rows=34)
    assert not [row for row in words(short) if row.startswith("bend radius")]
    assert "candidate 3 of 3" in words(short)


def test_candidates_are_listed_with_the_one_shown_and_the_one_chosen(plan):
    rows = of_run(plan, "pump to card", candidate=2)
    listed = rows[rows.index("candidates") + 1 :][:3]
    assert [row[0] for row in listed] == [" ", "▸", " "]
    assert [row.split()[:3] for row in listed[1:]] == [
        ["▸", "2", "4"],
        ["3", "5", "bends"],
    ]
    assert [row.endswith("chosen") for row in listed] == [True, False, False]
    assert "candidates" not in of_run(plan, "card to block")


def test_of_many_candidates_those_round_the_one_shown_are_listed(plan):
    run = replace(plan.runs[0], candidates=plan.runs[0].candidates * 7)
    section = lists.candidate_list(run, 12, most=6, lengths=MILLIMETRES)
    assert section.lines[0].text == "candidates 9 to 14"
    assert len(section.lines) == 7
    assert section.brief is not None
    ranks = [line.text for line in section.brief.lines]
    assert ranks == ["candidates", " 9", " 10", " 11", "▸12", " 13", " 14"]
    assert max(line.column + 3 for line in section.brief.lines) <= COLUMNS


def test_while_something_is_measured_the_bend_table_makes_room_first(plan):
    selection = replace(first_selection(plan, run=None, candidate=None), marks=())
    whole = captions.sections(plan, selection, near=None)
    fewer = words(panel_lines.fitted(whole, rows=panel_lines.rows_of(whole) - 1))
    assert "measuring" in fewer
    assert not [row for row in fewer if row.startswith("bend  ")]
