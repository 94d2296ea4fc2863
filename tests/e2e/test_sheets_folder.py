"""The command as a whole: what it writes, refuses, and leaves behind when it fails."""

from __future__ import annotations

import errno
import io
import json
import os
import resource
import shutil
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import ezdxf.recover
import pypdfium2
import pytest

from loopsolver.cli.main import main
from loopsolver.drafting.paging import PAPERS
from loopsolver.errors import OutputError
from loopsolver.plan import Plan
from loopsolver.workshop.flat import mirrored
from loopsolver.workshop.folder import LIST_NAME, write_folder
from loopsolver.workshop.sheets import (
    OVERVIEW,
    as_bent,
    file_stem,
    file_stems,
    proof_files,
    set_of,
    sheet_files,
)
from tests.commands import SCENES
from tests.interleaved import in_turn

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def plans(tmp_path_factory):
    """Return plan files of two demonstration scenes."""
    folder = tmp_path_factory.mktemp("plans")
    for scene in ("wren", "heron"):
        shutil.copy(SCENES / f"{scene}.toml", folder)
        command = ["route", str(folder / f"{scene}.toml"), "-o"]
        assert main([*command, str(folder / f"{scene}.plan.json")]) == 0
    return {scene: folder / f"{scene}.plan.json" for scene in ("wren", "heron")}


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def test_one_pdf_a_run_and_each_template_as_svg_and_dxf(plans, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["sheets", str(plans["wren"]), "-o", str(out)]) == 0
    plan = Plan.read(plans["wren"])
    names = {"overview.pdf", "cut-plan.csv", LIST_NAME}
    pages = len(pypdfium2.PdfDocument(out / "overview.pdf"))
    for run in plan.runs:
        stem = run.name.replace(" ", "-")
        names.add(f"{stem}.pdf")
        pages += len(pypdfium2.PdfDocument(out / f"{stem}.pdf"))
        assert run.chosen_candidate is not None
        for plane in range(1, run.chosen_candidate.planes + 1):
            names |= {f"{stem}-plane-{plane}.svg", f"{stem}-plane-{plane}.dxf"}
    assert set(names_in(out)) == names
    assert f"{pages} pages to print: at 100 %" in capsys.readouterr().out


def test_the_same_plan_gives_the_same_files(plans, tmp_path):
    contents = []
    for name in ("one", "two"):
        assert main(["sheets", str(plans["wren"]), "-o", str(tmp_path / name)]) == 0
        contents.append(
            {path.name: path.read_bytes() for path in (tmp_path / name).iterdir()}
        )
    assert contents[0] == contents[1]


def test_one_run_on_letter_mirrored(plans, tmp_path):
    run = Plan.read(plans["wren"]).runs[0]
    command = ["sheets", str(plans["wren"]), "-o", str(tmp_path), "--run", run.name]
    assert main([*command, "--paper", "letter", "--mirror"]) == 0
    stem = run.name.replace(" ", "-")
    document = pypdfium2.PdfDocument(tmp_path / f"{stem}-mirrored.pdf")
    for page in document:
        size = sorted(v / 72.0 for v in page.get_size())
        assert size == pytest.approx([8.5, 11.0], abs=1e-3)
    words = "".join(page.get_textpage().get_text_bounded() for page in document)
    assert "MIRROR IMAGE" in words
    assert not list(tmp_path.glob("overview*"))


def test_several_runs_in_one_go(plans, tmp_path):
    out = tmp_path / "out"
    command = ["sheets", str(plans["heron"]), "-o", str(out)]
    twice = ["--run", "block to roof", "pump to meter", "--run", "block to roof"]
    assert main([*command, *twice]) == 0
    found = {path.name for path in out.glob("*.pdf")}
    assert found == {"block-to-roof.pdf", "pump-to-meter.pdf"}


def test_an_unknown_run_is_refused(plans, tmp_path, capsys):
    command = ["sheets", str(plans["wren"]), "-o", str(tmp_path), "--run", "no such"]
    assert main(command) == 2
    assert "no such" in capsys.readouterr().err
    assert names_in(tmp_path) == []


def test_its_own_files_are_written_over_and_others_are_not(plans, tmp_path, capsys):
    command = ["sheets", str(plans["wren"]), "-o", str(tmp_path)]
    assert main(command) == 0
    assert main([*command, "--paper", "letter"]) == 0
    (tmp_path / "overview.pdf").write_text("my own notes")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    capsys.readouterr()
    assert main(command) == 2
    message = capsys.readouterr().err
    assert "overview.pdf" in message
    assert "--force" in message
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    assert main([*command, "--force"]) == 0
    assert (tmp_path / "overview.pdf").read_bytes().startswith(b"%PDF")


def test_sheets_of_another_plan_are_pointed_out(plans, tmp_path, capsys):
    assert main(["sheets", str(plans["heron"]), "-o", str(tmp_path)]) == 0
    capsys.readouterr()
    assert main(["sheets", str(plans["wren"]), "-o", str(tmp_path)]) == 0
    message = capsys.readouterr().err
    assert "pump-to-meter.pdf" in message
    assert "another plan" in message


@pytest.mark.parametrize("where", ["gone/out", "file", "file/out"])
def test_no_folder_can_be_there(plans, tmp_path, where, capsys):
    (tmp_path / "file").write_text("mine")
    assert main(["sheets", str(plans["wren"]), "-o", str(tmp_path / where)]) == 2
    assert "folder" in capsys.readouterr().err
    assert names_in(tmp_path) == ["file"]
    assert (tmp_path / "file").read_text() == "mine"


FIRST, SECOND = "1" * 64, "2" * 64
FILES = {"a.pdf": b"a" * 3000, "b.svg": b"b" * 3000, "c.dxf": b"c" * 3000}


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is read-only to root")
def test_a_read_only_folder(tmp_path):
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(OutputError, match="read-only"):
            write_folder(tmp_path, FILES, plan_sha256=FIRST, set_of=set_of)
        with pytest.raises(OutputError, match="read-only"):
            write_folder(tmp_path / "out", FILES, plan_sha256=FIRST, set_of=set_of)
    finally:
        tmp_path.chmod(0o700)
    assert names_in(tmp_path) == []


def test_a_folder_of_the_kernel_takes_no_files():
    """Read-only to everybody, root included."""
    with pytest.raises(OutputError, match="/proc"):
        write_folder(Path("/proc"), FILES, plan_sha256=FIRST, set_of=set_of)


def test_a_system_that_lets_no_file_grow(tmp_path):
    """The kernel's own limit on file size: as on a full disk, writing stops half way."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    large = {"a.pdf": b"a", "b.svg": b"b" * 100_000}
    resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, hard))
    try:
        with pytest.raises(OutputError, match="nothing was changed"):
            write_folder(tmp_path, large, plan_sha256=FIRST, set_of=set_of)
        with pytest.raises(OutputError, match="nothing was changed"):
            write_folder(tmp_path / "out", large, plan_sha256=FIRST, set_of=set_of)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert names_in(tmp_path) == []


@pytest.mark.parametrize("after", [0, 1, 3])
def test_a_full_disk(tmp_path, monkeypatch, after):
    write_folder(tmp_path, FILES, plan_sha256=FIRST, set_of=set_of)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    synced = iter(range(100))

    def full(_descriptor):
        if next(synced) >= after:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    fresh = dict.fromkeys(FILES, b"new")
    with pytest.raises(OutputError, match="make room on the disk"):
        write_folder(tmp_path, fresh, plan_sha256=SECOND, set_of=set_of)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_list_that_is_no_list_makes_every_file_foreign(tmp_path):
    write_folder(tmp_path, FILES, plan_sha256=FIRST, set_of=set_of)
    for text in ("", "[]", '{"files": []}', '{"files": {"a.pdf": 3}}', "\x00"):
        (tmp_path / LIST_NAME).write_text(text)
        with pytest.raises(OutputError, match=r"a\.pdf"):
            write_folder(tmp_path, {"a.pdf": b"new"}, plan_sha256=FIRST, set_of=set_of)


def test_the_list_says_what_was_written(tmp_path):
    write_folder(tmp_path, FILES, plan_sha256=FIRST, set_of=set_of)
    listed = json.loads((tmp_path / LIST_NAME).read_text())
    assert set(listed["files"]) == set(FILES)


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("pump to card", "pump-to-card"),
        ("../../etc/passwd", "etc-passwd"),
        ("<script>alert(1)</script>", "script-alert-1-script"),
        ("a\nb\x00c", "a-b-c"),
        ("con", "run-con"),
        ("...", "run"),
        ("", "run"),
        ("Pumpe zum Kühler", "pumpe-zum-kühler"),
        ("pump (mirrored)", "pump-mirrored-run"),
        ("pump plane 2", "pump-plane-2-run"),
        ("pump plane", "pump-plane-run"),
        ("mirrored", "mirrored"),
    ],
)
def test_names_of_files(name, stem):
    assert file_stem(name) == stem


def test_names_of_files_are_short_and_differ():
    names = ["x" * 500, "x" * 501, "漢" * 300, "a b", "a-b", "overview", "cut plan"]
    stems = file_stems(names)
    assert len(set(stems)) == len(names)
    assert not {"overview", "cut-plan"} & set(stems)
    assert all(len(f"{s}-plane-10-mirrored.svg".encode()) < 255 for s in stems)


@pytest.mark.parametrize("seen", [as_bent, mirrored])
def test_every_sheet_belongs_to_its_own_run(plans, seen):
    """Whatever runs are called: no sheet is taken for one of another run."""
    plan = Plan.read(plans["heron"])
    names = ["a", "a plane 1", "a-mirrored", "a plane", "A plane", "a-plane-2-mirrored"]
    runs = tuple(
        replace(run, name=name) for run, name in zip(plan.runs, names, strict=True)
    )
    renamed = replace(plan, runs=runs)
    written = []
    for run, stem in zip(runs, file_stems(names), strict=True):
        files = sheet_files(renamed, [run], paper=PAPERS["a4"], seen=seen)
        files += proof_files(renamed, [run], paper=PAPERS["a4"])
        assert {set_of(file.name) for file in files} == {stem}
        written += [file.name for file in files]
    assert len(set(written)) == len(written)
    assert {set_of(name) for name in ("overview.pdf", "cut-plan.csv")} == {OVERVIEW}


def test_mirrored_sheets_take_the_place_of_plain_ones_of_their_run(
    plans, tmp_path, capsys
):
    first, second = Plan.read(plans["wren"]).runs
    command = ["sheets", str(plans["wren"]), "-o", str(tmp_path)]
    assert main(command) == 0
    assert "taken away" not in capsys.readouterr().err
    stems = file_stems([first.name, second.name])
    before = names_in(tmp_path)
    assert main([*command, "--mirror", "--run", first.name]) == 0
    gone = [name for name in before if set_of(name) == stems[0]]
    told = capsys.readouterr().err
    assert f"older sheets taken away: {', '.join(gone)}" in told
    after = names_in(tmp_path)
    assert [n for n in after if set_of(n) == stems[0] and "mirrored" not in n] == []
    assert [n for n in before if set_of(n) == stems[1]] == [
        n for n in after if set_of(n) == stems[1]
    ]


def test_the_plan_is_not_replaced_by_the_list_even_by_force(plans, tmp_path, capsys):
    """Nor is it when the folder is reached another way, or the plan is a link."""
    plan = tmp_path / LIST_NAME
    text = plans["wren"].read_text().replace('"wren.toml"', '"../plans/wren.toml"')
    (tmp_path.parent / "plans").mkdir(exist_ok=True)
    shutil.copy(SCENES / "wren.toml", tmp_path.parent / "plans")
    plan.write_text(text)
    (tmp_path / "other.json").symlink_to(plan)
    for name in (plan, tmp_path / "other.json"):
        command = ["sheets", str(name), "-o", f"{tmp_path}/../{tmp_path.name}"]
        for force in ([], ["--force"]):
            assert main([*command, *force]) == 2
        assert "is the file that is read" in capsys.readouterr().err
    assert plan.read_text() == text
    assert names_in(tmp_path) == [LIST_NAME, "other.json"]


HOSTILE = {
    "markup": "<script>alert(1)</script>]]>&amp;",
    "lines": "one\ntwo\r\nthree\x00\x1b[31m",
    "long": "x" * 500,
    "many words": "pump to card " * 40,
    "Cyrillic": "От помпы до радиатора",
    "Chinese": "水泵到散热器" * 20,
    "right to left": "من المضخة \u202eto card",
    "codes": ") Tj ET (\\ %%c ^J \\P{\\f;}",
}


def retitled(plan, text):
    """Return a plan with that text as its title and in the name of its first run."""
    scene = replace(plan.scene, title=text)
    first, *others = plan.runs
    return replace(plan, scene=scene, runs=(replace(first, name=text), *others))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_no_title_breaks_a_page(plans, text):
    plan = Plan.read(plans["wren"])
    plain = sheet_files(plan, plan.runs[:1], paper=PAPERS["a4"])
    hostile = retitled(plan, text)
    files = sheet_files(hostile, hostile.runs[:1], paper=PAPERS["a4"])
    assert [file.pages for file in files] == [file.pages for file in plain]
    for file in files:
        if file.name.endswith(".pdf"):
            assert_lettering_on_paper(file.content)
        elif file.name.endswith(".svg"):
            root = ET.fromstring(file.content)
            assert not list(root.iter(f"{SVG}script"))
        else:
            _, auditor = ezdxf.recover.read(io.BytesIO(file.content))
            assert not auditor.has_errors


def assert_lettering_on_paper(content):
    for page in pypdfium2.PdfDocument(content):
        width, height = page.get_size()
        text = page.get_textpage()
        for index in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(index)
            assert left >= 0.0
            assert bottom >= 0.0
            assert right <= width
            assert top <= height


@pytest.mark.bench
def test_sheets_of_six_runs_against_those_of_one(plans, tmp_path, measured):
    """Six times as long or less: what is common to all is done once."""
    command = ["sheets", str(plans["heron"]), "-o"]
    assert len(Plan.read(plans["heron"]).runs) == 6

    def of_all():
        assert main([*command, str(tmp_path / "all")]) == 0

    def of_one():
        assert main([*command, str(tmp_path / "one"), "--run", "meter to block"]) == 0

    pair = in_turn({"six runs": of_all, "one": of_one}, pairs=2)
    measured("sheets of heron", pair, most=15.0)
    assert pair.ratio <= 15.0
