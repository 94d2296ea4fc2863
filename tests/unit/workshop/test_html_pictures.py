"""What a notebook shows of a plan, a run and a candidate."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from loopsolver.plan import Plan
from loopsolver.workshop.html_pictures import html_of
from tests.builders.plans import candidate, planned
from tests.builders.small_build import FLAT, STRAIGHT, UP, plan_with

HOSTILE = '<script>alert("1")</script> & <img src=x onerror=alert(2)>'
SVG = "{http://www.w3.org/2000/svg}"


def page(html: str) -> ET.Element:
    """HTML that is shown, which is XML too; nothing in it runs or is fetched."""
    root = ET.fromstring(f"<div>{html}</div>")
    allowed = {"div", "b", "table", "tr", "td", "th", "br"}
    assert {one.tag for one in root.iter() if not one.tag.startswith(SVG)} <= allowed
    drawn = {"svg", "title", "rect", "g", "line", "path", "circle", "polyline"}
    drawn |= {"polygon", "text"}
    assert {one.tag for one in root.iter() if one.tag.startswith(SVG)} <= {
        SVG + name for name in drawn
    }
    links = {"href", "src", "onload", "onerror", "onclick"}
    assert not any(links & set(one.attrib) for one in root.iter())
    return root


def words(root: ET.Element) -> str:
    return " ".join(" ".join(root.itertext()).split())


def rows(root: ET.Element) -> list[list[str]]:
    return [[" ".join(cell.itertext()) for cell in row] for row in root.iter("tr")]


def numbers_in_discs(root: ET.Element) -> list[str]:
    svg = next(root.iter(f"{SVG}svg"))
    found = ("".join(one.itertext()) for one in svg.iter(f"{SVG}text"))
    return [one for one in found if one.isdigit()]


def test_plan_shows_its_tubes_numbered_as_in_the_table() -> None:
    plan = plan_with(unrouted="the block is in the way")
    root = page(plan._repr_html_())
    assert sorted(numbers_in_discs(root)) == ["1", "2", "3"]
    table = rows(root)
    # From `small_build`: two bends, two bends, none, and a run without a tube.
    assert [row[:3] for row in table[1:]] == [
        ["1", "run 1", "2"],
        ["2", "run 2", "2"],
        ["3", "run 3", "0"],
        ["4", "lost", "-"],
    ]
    assert {row[4] for row in table[1:4]} == {"6.2"}  # the gap of each, 6.25 mm


def test_run_shows_the_chosen_tube_over_the_others() -> None:
    run = planned("run", [candidate(*UP), candidate(*FLAT)], chosen=2)
    root = page(run._repr_html_())
    assert sorted(numbers_in_discs(root)) == ["1", "2"]  # the bends of the chosen one
    layers = [one.get("data-layer") for one in root.iter(f"{SVG}g")]
    assert layers.index("other candidates") < layers.index("tube")
    strong = [row for row in root.iter("tr") if row[1].tag == "th"]
    assert [" ".join(row[1].itertext()) for row in strong] == ["rank", "2"]


def test_run_without_a_tube_says_why() -> None:
    run = planned("run", [], chosen=None, why="no room\npossible with less clearance")
    root = page(run._repr_html_())
    assert not list(root.iter(f"{SVG}svg"))
    assert "no room" in words(root)
    assert "possible with less clearance" in words(root)


@pytest.mark.parametrize("line", [UP, FLAT, STRAIGHT])
def test_candidate_shows_its_bends_and_figures(line) -> None:
    root = page(candidate(*line, gap=7.5, name="tank")._repr_html_())
    bends = [str(number) for number in range(1, len(line) - 1)]
    assert sorted(numbers_in_discs(root)) == bends
    figures = dict(row for row in rows(root) if len(row) == 2 and row[0])
    assert figures["bends"] == str(len(bends))
    assert figures["gap, mm"] == "7.5"
    assert figures["nearest"] == "tank"


def test_hostile_names_stay_text() -> None:
    plan = plan_with(title=HOSTILE, names=(HOSTILE, "b", "c"), unrouted=HOSTILE)
    first = plan.runs[0]
    tube = candidate(*UP, name=HOSTILE)
    run = replace(first, candidates=(tube,), from_port=HOSTILE)
    for shown in (plan, run, plan.runs[-1], tube):
        assert words(page(shown._repr_html_())).count(HOSTILE) >= 1


def test_empty_plan_is_shown_too() -> None:
    plan = plan_with()
    bare = tuple(
        replace(run, candidates=(), chosen=None, why="none") for run in plan.runs
    )
    root = page(Plan(scene=plan.scene, runs=bare)._repr_html_())
    assert not list(root.iter(f"{SVG}svg"))


def test_nothing_else_is_shown() -> None:
    with pytest.raises(TypeError, match="found int"):
        html_of(1)  # type: ignore[arg-type]
