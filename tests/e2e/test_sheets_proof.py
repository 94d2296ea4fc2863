"""Proofs in card: the command's files, and printed cards measured in pixels at 300 dpi."""

from __future__ import annotations

import json
import re
import shutil

import pypdfium2
import pytest

from loopsolver.cli.main import main
from loopsolver.drafting.drawing import Line
from loopsolver.drafting.paging import PAGE_MARGIN, PAPERS, bound
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.proof_pages import proof_leaves
from tests.builders.small_build import UP, job_through
from tests.commands import SCENES
from tests.e2e.test_sheets_true_size import Sheet, side_of_page


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plan")
    shutil.copy(SCENES / "wren.toml", folder)
    file = folder / "wren.plan.json"
    assert main(["route", str(folder / "wren.toml"), "-o", str(file)]) == 0
    return file


def words_in(path):
    """Return all that stands in a PDF, its lines joined."""
    document = pypdfium2.PdfDocument(path)
    pages = (page.get_textpage().get_text_bounded() for page in document)
    return " ".join(" ".join(pages).split())


def test_each_run_has_a_proof_where_it_is_asked_for(plan, tmp_path, capsys):
    out = tmp_path / "out"
    runs = json.loads(plan.read_text())["runs"]
    assert main(["sheets", str(plan), "-o", str(out), "--run", runs[0]["name"]]) == 0
    assert not list(out.glob("*-proof.pdf"))
    capsys.readouterr()
    assert main(["sheets", str(plan), "-o", str(out), "--proof"]) == 0
    said = capsys.readouterr().out
    assert len(list(out.glob("*-proof.pdf"))) == len(runs)
    for run in runs:
        path = out / f"{run['name'].replace(' ', '-')}-proof.pdf"
        pages = len(pypdfium2.PdfDocument(path))
        assert f"{path}: {pages} page" in said
        candidate = run["candidates"][run["chosen"] - 1]
        words = words_in(path)
        turns = [abs(row.get("rotation", 0.0)) for row in candidate["bend_table"]]
        gauges = [f"{turn:g}" for turn in turns if turn not in (0.0, 180.0)]
        assert len(gauges) == candidate["planes"] - 1
        assert re.findall(r"gauge [A-Z]: ([\d.]+)°", words) == gauges
        for number in range(1, candidate["planes"] + 1):
            assert f"card {number} of {candidate['planes']}" in words
    listed = json.loads((out / "loopsolver-sheets.json").read_text())["files"]
    assert {path.name for path in out.glob("*-proof.pdf")} <= set(listed)


def test_one_run_on_letter_its_proof_the_same_beside_mirrored_templates(plan, tmp_path):
    name = json.loads(plan.read_text())["runs"][1]["name"]
    command = ["sheets", str(plan), "--run", name, "--paper", "letter", "--proof", "-o"]
    assert main([*command, str(tmp_path / "plain")]) == 0
    assert main([*command, str(tmp_path / "other"), "--mirror"]) == 0
    (plain,) = (tmp_path / "plain").glob("*-proof.pdf")
    (other,) = (tmp_path / "other").glob("*-proof.pdf")
    assert plain.read_bytes() == other.read_bytes()
    assert "the same for plain and for mirrored templates" in words_in(plain)
    for page in pypdfium2.PdfDocument(plain):
        size = sorted(v / 72.0 for v in page.get_size())
        assert size == pytest.approx([8.5, 11.0], abs=1e-3)


def printed_cards(job, paper):
    """Return rendered pages of a job's proof, and the leaves they come from."""
    leaves = proof_leaves(job, paper=paper, belongs="plan 0123abcd")
    document = pypdfium2.PdfDocument(pdf_document(bound(leaves), title="x"))
    return [Sheet(document[i]) for i in range(len(document))], leaves


def on_page(viewport, place):
    """Return where a place of a viewport's drawing is meant to lie on its page [mm]."""
    return tuple(
        place[axis] - viewport.low[axis] + viewport.at[axis] for axis in (0, 1)
    )


def spot(viewport, layer, *, upright):
    """Return where to look for the lines of a layer: their middles, left and low first."""
    middles = []
    for line in viewport.drawing.entities:
        if isinstance(line, Line) and line.layer is layer:
            (x0, y0), (x1, y1) = line.start, line.end
            if abs(x0 - x1) < 1e-6 and upright:
                middles.append((x0, (y0 + y1) / 2.0))
            if abs(y0 - y1) < 1e-6 and not upright:
                middles.append(((x0 + x1) / 2.0, y0))
    return [on_page(viewport, middle) for middle in sorted(middles)]


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_a_card_with_one_bend_measures_as_its_tube(paper):
    """Legs 90 and 100, tube 14 wide, 12 mm in each fitting."""
    job = job_through(((0, 0, 0), (90, 0, 0), (90, 100, 0)))
    (sheet,), (leaf,) = printed_cards(job, paper)
    viewport = leaf.viewports[-1]

    def x_of(at):
        return sheet.x_of_line(at[0] - 1.0, at[1] + 2.0, at[0] + 1.0, at[1] + 4.0)

    def y_of(at, aside=0.0):
        x = at[0] + aside
        return sheet.y_of_line(x + 2.0, at[1] - 1.0, x + 4.0, at[1] + 1.0)

    cap, *walls = spot(viewport, Layers.TUBE, upright=True)
    inner, outer = walls
    (mouth,) = spot(viewport, Layers.FITTING, upright=True)
    assert x_of(mouth) - x_of(cap) == pytest.approx(12.0, abs=0.1)
    assert x_of(outer) - x_of(inner) == pytest.approx(14.0, abs=0.1)
    assert x_of(outer) - x_of(cap) == pytest.approx(90.0 + 7.0, abs=0.1)
    lower, upper, top = spot(viewport, Layers.TUBE, upright=False)
    (high_mouth,) = spot(viewport, Layers.FITTING, upright=False)
    assert y_of(upper, 10.0) - y_of(lower, 10.0) == pytest.approx(14.0, abs=0.1)
    assert y_of(top) - y_of(lower, 10.0) == pytest.approx(100.0 + 7.0, abs=0.1)
    assert y_of(top) - y_of(high_mouth) == pytest.approx(12.0, abs=0.1)


def test_a_card_of_400_over_tiles():
    """Pages laid on one another by their corner marks, as seen in the pixels."""
    job = job_through(((0, 0, 0), (400, 0, 0)))
    sheets, leaves = printed_cards(job, PAPERS["a4"])
    assert len(sheets) == 2
    length = 0.0
    for index, (sheet, leaf) in enumerate(zip(sheets, leaves, strict=True)):
        assert leaf.tile.column == index
        x0, x1 = (side_of_page(sheet, leaf, side) for side in ("left", "right"))
        caps = spot(leaf.viewports[0], Layers.TUBE, upright=True)
        x, y = caps[0] if index == 0 else caps[-1]
        seen = sheet.x_of_line(x - 1.0, y + 2.0, x + 1.0, y + 4.0)
        length += x1 - seen if index == 0 else seen - x0
    assert length == pytest.approx(400.0, abs=0.3)


def test_bars_on_a_proof_are_100_mm():
    sheets, _ = printed_cards(job_through(UP), PAPERS["a4"])
    for sheet in sheets:
        y = (PAGE_MARGIN + 1.9, PAGE_MARGIN + 3.1)
        first = sheet.x_of_line(PAGE_MARGIN - 0.6, y[0], PAGE_MARGIN + 0.6, y[1])
        last = sheet.x_of_line(PAGE_MARGIN + 99.4, y[0], PAGE_MARGIN + 100.6, y[1])
        assert last - first == pytest.approx(100.0, abs=0.1)
