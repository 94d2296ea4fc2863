"""What the page holds: figures against hand-drawn tubes, and texts that stay text."""

from __future__ import annotations

import base64
import hashlib
import json
import math
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from loopsolver.errors import LoopsolverError, OutputError
from loopsolver.page import html_file
from loopsolver.page.document import page_values
from loopsolver.page.html_file import json_in_html, page_bytes, write_page
from loopsolver.plan import Plan
from loopsolver.tube.springback import Springback
from loopsolver.view import palette
from loopsolver.view.selection import Subject, first_selection
from tests.builders import demo_build

ARC = math.pi / 2.0 * 28.0
"""Of a square bend round 28 mm: 43.98 mm."""

HOSTILE = "</script><!--<img src=x onerror=alert(1)>\u2028\u2029&amp;{{code}}'\"`${1}"


def values_of(subject: Subject) -> dict[str, Any]:
    return page_values(subject, first_selection(subject, run=None, candidate=None))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return demo_build.vented_plan()


@pytest.fixture(scope="module")
def values(plan: Plan) -> dict[str, Any]:
    return values_of(plan)


def tube_of(values: dict[str, Any], name: str) -> dict[str, Any]:
    run = next(one for one in values["runs"] if one["name"] == name)
    tube: dict[str, Any] = run["tubes"][0]
    return tube


# Card to block: legs of 50, 115 and 120 mm, square bends, so straights of 22, 59 and 92;
# the trim allowance of 30 mm comes before them, a diameter of 14 mm is heated each side.
STARTS = (30.0 + 22.0, 30.0 + 22.0 + ARC + 59.0)


def test_the_work_at_the_bench_has_the_figures_of_the_tube(values) -> None:
    bench = tube_of(values, "card to block")["bench"]
    assert [one["straight"] for one in bench["bends"]] == pytest.approx([22.0, 59.0])
    assert bench["closing"] == pytest.approx(92.0)
    assert bench["trim"] == 30.0
    assert bench["radius"] == 28.0
    assert tube_of(values, "card to block")["ports"] == ["card.out", "block.in"]
    for bend, start in zip(bench["bends"], STARTS, strict=True):
        assert bend["angle"] == bend["held"] == pytest.approx(90.0)
        assert bend["marks"] == pytest.approx([start, start + ARC / 2, start + ARC])
        assert bend["heat"] == pytest.approx([start - 14.0, start + ARC + 14.0])
    # Both bends turn upwards and then back over the card: one plane, the same side.
    assert [one["rotation"] for one in bench["bends"]] == pytest.approx([0.0, 0.0])


def test_the_tables_say_the_same_in_words(values) -> None:
    bending = tube_of(values, "card to block")["bending"]
    marks = bending["marks"]
    assert marks["headings"] == [
        ["bend"],
        *([what, "mm"] for what in ("start", "centre", "end", "heat from", "heat to")),
    ]
    assert marks["rows"] == [
        ["1", "52.0", "74.0", "96.0", "38.0", "110.0"],
        ["2", "155.0", "177.0", "199.0", "141.0", "213.0"],
    ]
    (plane,) = bending["planes"]
    assert [row[1:4] for row in plane["table"]["rows"]] == [
        ["22.0", "0.0", "90.0"],
        ["59.0", "0.0", "90.0"],
    ]
    assert "92.0 mm" in bending["closing"]


def test_each_bend_has_a_screen_with_what_the_hands_need(values) -> None:
    # Block to front: right, up, away. The planes' normals are x by z = -y, then z by y =
    # -x; a right hand's turn about the travel, +z, takes -y to +x, so this one is a
    # quarter turn the other way: anticlockwise as seen along the tube. The tube itself
    # is turned back, clockwise.
    bench = tube_of(values, "block to front")["bench"]
    screens = [one for one in bench["screens"] if one["stage"] == "bend"]
    assert [one["title"] for one in screens] == ["Bend 1 of 2", "Bend 2 of 2"]
    first, second = (dict(one["facts"]) for one in screens)
    assert "First" not in first
    assert bench["bends"][1]["rotation"] == pytest.approx(-90.0)
    assert second["First"] == "turn the tube 90° clockwise"
    assert second["It lies"] == "90° anticlockwise of bend 1"
    assert second["Angle"] == "90°"
    # Legs of 67, 75 and 250 mm: the first bend starts 30 + 39 mm from the blank's end.
    assert first["Heat"] == f"{69.0 - 14.0:.1f} to {69.0 + ARC + 14.0:.1f} mm"
    assert first["Centre mark"] == f"{69.0 + ARC / 2.0:.1f} mm"
    assert [one["head"] for one in screens[0]["steps"]] == [
        "Heat, turning the tube",
        "Bend over the former",
        "Hold",
        "Check on the template",
    ]
    told = " ".join(line for step in screens[1]["steps"] for line in step["lines"])
    assert "Bend 2:" in told
    assert "Bend 1:" not in told


def test_every_screen_that_needs_care_says_so(values) -> None:
    """The words are the sheets' own; a hot bend names air, steam and fumes."""
    screens = tube_of(values, "card to block")["bench"]["screens"]
    for screen in screens[1:]:
        heads = {head for head, _ in screen["care"]}
        if screen["stage"] == "bend":
            assert heads == {"Hot air", "Steam", "Fumes"}
        else:
            assert "Cutting and dust" in heads
            assert ("Leak test" in heads) == (screen["stage"] == "bent")
            assert ("Steam" in heads) == (screen["stage"] == "blank")
    assert values["cautions"][0][0] == "First of all"


def test_steps_that_go_by_lengths_say_them_large(values) -> None:
    """Legs of 50, 115 and 120 mm are 22 + 59 + 92 mm of straight and two arcs."""
    screens = tube_of(values, "card to block")["bench"]["screens"]
    facts = {one["title"]: dict(one["facts"]) for one in screens}
    finished = 22.0 + 59.0 + 92.0 + 2.0 * ARC
    assert facts["Cut the blank"] == {"Blank": f"{finished + 60.0:.1f} mm"}
    assert facts["Mark the bends"] == {
        "Bend 1: start, centre, end": "52.0, 74.0, 96.0 mm",
        "Bend 2: start, centre, end": "155.0, 177.0, 199.0 mm",
    }
    assert facts["Cut both ends to the line"] == {
        "Off each end": "30.0 mm",
        "Left": f"{finished:.1f} mm",
    }


def test_a_built_tube_is_shown_and_not_bent_again(plan: Plan) -> None:
    first, *others = plan.runs
    as_bent = first.candidates[1]
    built = replace(first, built=as_bent)
    values = values_of(replace(plan, runs=(built, *others)))
    run = values["runs"][0]
    assert values["first"] == {"run": 0, "rank": 0}
    assert run["inPlace"] == 0
    assert run["comparison"]["ranks"] == [0, 1, 2, 3]
    tube = run["tubes"][0]
    assert tube["vertices"] == [list(at) for at in as_bent.centreline.vertices]
    assert tube["bench"] is tube["bending"] is None


def test_what_to_hold_a_bend_at_follows_the_test_bends(plan: Plan) -> None:
    """1.5 degrees and 5 %: a bend of 90 is held at 96."""
    tube = replace(plan.scene.tube, springback=Springback(constant_deg=1.5, share=0.05))
    scene = replace(plan.scene, tube=tube)
    bench = tube_of(values_of(replace(plan, scene=scene)), "card to block")["bench"]
    assert [one["held"] for one in bench["bends"]] == pytest.approx([96.0, 96.0])
    screen = next(one for one in bench["screens"] if one["stage"] == "bend")
    assert dict(screen["facts"])["Hold at"] == "96°"


def test_a_scene_in_inches_is_told_in_inches(plan: Plan) -> None:
    """52.0 mm are 2.047 in; the pictures' own numbers stay millimetres."""
    scene = replace(plan.scene, units="in")
    tube = tube_of(values_of(replace(plan, scene=scene)), "card to block")
    assert tube["bending"]["marks"]["headings"][1] == ["start", "in"]
    assert tube["bending"]["marks"]["rows"][0][1] == "2.047"
    assert tube["bench"]["bends"][0]["marks"][0] == pytest.approx(52.0)
    facts = [fact for one in tube["bench"]["screens"] for fact in one["facts"]]
    assert not any(value.endswith("mm") for _, value in facts)
    assert dict(tube["figures"])["gap"].startswith("0.118 in (3.0 mm)")


def test_the_comparison_has_a_row_a_candidate_and_all_remarks(values) -> None:
    run = values["runs"][0]
    table = run["comparison"]["table"]
    assert run["comparison"]["ranks"] == [1, 2, 3]
    assert [row[1] for row in table["rows"]] == ["1", "2", "3"]
    headings = [first for first, *_ in table["headings"]]
    assert {"bends", "length", "gap", "nearest"} < set(headings)
    assert [head for head, _ in run["comparison"]["remarks"] if head][-1] == (
        "Against candidate 1:"
    )


def test_a_run_without_a_tube_says_why_and_what_is_wanted(values) -> None:
    run = values["runs"][4]
    assert run["tubes"] == []
    assert run["inPlace"] is None
    assert "no route: the fittings face each other" in run["why"][0]
    assert run["wanted"] == [[[150.0, 330.0, 30.0], [160.0, 330.0, 30.0]]]


def test_a_scene_alone_shows_its_runs_as_wanted() -> None:
    values = values_of(demo_build.scene())
    assert [run["name"] for run in values["runs"]] == list(demo_build.ENDS)
    assert not any(run["tubes"] for run in values["runs"])
    assert all("not routed yet" in run["why"][0] for run in values["runs"])


def test_bodies_stand_where_the_scene_has_them(values) -> None:
    tank = next(one for one in values["scene"]["components"] if one["name"] == "tank")
    assert tank["solids"] == [
        {
            "cylinder": [60.0, 150.0],
            "middle": [100.0, 330.0, 130.0],
            "axes": tank["solids"][0]["axes"],
        }
    ]
    assert tank["solids"][0]["axes"][2] == [0.0, 0.0, 1.0]


# ------------------------------------------------------------------------ the file itself


class Elements(HTMLParser):
    """The elements of a page, and the text of its scripts, styles and title."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.inside: dict[str, list[str]] = {"script": [], "style": [], "title": []}
        self.policy = ""
        self.addresses: list[str] = []
        self.open = ""
        self.feed(page.decode("utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        told = dict(attrs)
        if told.get("http-equiv") == "Content-Security-Policy":
            self.policy = told["content"] or ""
        self.addresses += [told[key] or "" for key in ("src", "href") if key in told]
        if tag in self.inside:
            self.open = tag
            self.inside[tag].append("")

    def handle_endtag(self, tag: str) -> None:  # noqa: ARG002
        self.open = ""

    def handle_data(self, data: str) -> None:
        if self.open:
            self.inside[self.open][-1] += data


def hostile(plan: Plan) -> Plan:
    """The plan, every name and title in it made of what could break out of a page."""
    scene = plan.scene
    parts = tuple(replace(one, name=HOSTILE + one.name) for one in scene.components)
    runs = tuple(
        replace(one, name=HOSTILE + one.name, why=one.why and HOSTILE + one.why)
        for one in plan.runs
    )
    return replace(
        plan, scene=replace(scene, title=HOSTILE, components=parts), runs=runs
    )


def test_hostile_names_stay_text(plan: Plan) -> None:
    usual = Elements(page_bytes(values_of(plan)))
    page = page_bytes(values_of(hostile(plan)))
    found = Elements(page)
    assert found.tags == usual.tags
    assert found.inside["style"] == usual.inside["style"]
    data, code = found.inside["script"]
    assert code == usual.inside["script"][1]
    assert not re.search(r"[<>&\u2028\u2029]", data)
    seen = HOSTILE.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    told = json.loads(data)
    assert told["title"] == seen
    assert [one["name"] for one in told["runs"]] == [
        seen + one.name for one in plan.runs
    ]
    assert found.inside["title"] == [seen]


def test_nothing_but_the_pages_own_code_may_run_and_nothing_is_fetched(plan) -> None:
    found = Elements(page_bytes(values_of(plan)))
    rules = dict(
        [*rule.split(" ", 1), ""][:2] for rule in found.policy.split("; ") if rule
    )

    def summed(text: str) -> str:
        digest = hashlib.sha256(text.encode("utf-8")).digest()
        return f"'sha256-{base64.b64encode(digest).decode()}'"

    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == summed(found.inside["script"][1])
    assert rules["style-src"] == summed(found.inside["style"][0])
    assert rules["base-uri"] == rules["form-action"] == "'none'"
    assert found.addresses == ["data:,"]
    own = "".join(found.inside["script"][1] + found.inside["style"][0])
    assert not re.search(r"https?:|//\w|@import|url\(|innerHTML|eval\(", own)


def test_letters_that_cannot_be_seen_are_shown_as_escapes() -> None:
    assert json.loads(json_in_html(["a\u202eb", {"c": ("\x1b",)}])) == [
        "a\\u202eb",
        {"c": ["\\x1b"]},
    ]


def test_the_light_page_has_the_colours_of_the_window() -> None:
    style = html_file._asset("page.css")
    light = style[: style.index("[data-theme")]
    found = {
        name: tuple(map(int, numbers.split()))
        for name, numbers in re.findall(r"--([\w-]+): (\d+ \d+ \d+);", light)
    }
    for name in ("PAPER", "PANEL", "INK", "STRAIGHT", "BEND", "PORT", "LEAST_GAP"):
        assert found[name.lower().replace("_", "-")] == getattr(palette, name)
    assert [found[f"body-{n}"] for n in range(6)] == list(palette.BODIES)


def test_the_dark_look_has_all_colours_of_the_light_one() -> None:
    style = html_file._asset("page.css")
    light, dark = (
        dict(re.findall(r"--([\w-]+): ([\d ]+);", block))
        for block in re.findall(r":root[^{]*\{([^}]*)\}", style)
    )
    assert dark.keys() == light.keys() - {f"body-{n}" for n in range(6)}


def test_the_same_plan_gives_the_same_bytes_and_ours_is_written_over(
    plan: Plan, tmp_path: Path
) -> None:
    path = tmp_path / "plan.html"
    write_page(plan, path)
    first = path.read_bytes()
    write_page(plan, path)
    assert path.read_bytes() == first
    path.write_bytes(first + b"<p>mine</p>\n")
    with pytest.raises(OutputError, match="not as loopsolver wrote it"):
        write_page(plan, path)
    with pytest.raises(OutputError, match=r"ends in \.html, found '\.txt'"):
        write_page(plan, tmp_path / "plan.txt")
    with pytest.raises(LoopsolverError, match="no run 'drain'"):
        write_page(plan, tmp_path / "other.html", run="drain")
    assert [one.name for one in tmp_path.iterdir()] == ["plan.html"]
