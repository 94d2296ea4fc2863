"""What a file says or is called never reaches the terminal but in visible letters."""

from __future__ import annotations

import json
import os
import shutil
import unicodedata
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from loopsolver.cli.output import say_table
from loopsolver.report.text_table import TextTable
from tests.commands import SCENES

BAD = "\x1b[31m\u202e\u200b\u2028"
NOT_UTF_8 = os.fsdecode(b"w\xffren.toml")


def seen(text: str) -> bool:
    """Whether a text holds nothing but what can be seen, and line breaks."""
    unseen = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    return not any(
        unicodedata.category(letter) in unseen for letter in text if letter != "\n"
    )


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    status = main(words)
    out = capsys.readouterr()
    assert seen(out.out), words
    assert seen(out.err), words
    assert "Traceback" not in out.err
    return status, out.out + out.err


@pytest.mark.parametrize("name", [f"w{BAD}ren.toml", "a\u2066b.toml"])
def test_a_file_name_of_unseen_letters_is_shown_by_every_command(
    here: Path, capsys: pytest.CaptureFixture[str], name: str
):
    shutil.copy(SCENES / "wren.toml", here / name)
    plan = f"{name.removesuffix('.toml')}.plan.json"
    for words in (
        ("check", name),
        ("route", name),
        ("compare", plan),
        ("bends", plan),
        ("sheets", plan, "-o", f"{BAD}sheets"),
        ("new", f"{BAD}new.toml"),
    ):
        status, text = printed(capsys, *words)
        assert status == 0, text
    assert json.loads((here / plan).read_bytes())["scene"] == name
    assert seen((here / plan).read_text("utf-8"))


def test_a_scene_whose_name_is_not_utf_8_is_checked_and_not_routed(
    here: Path, capsys: pytest.CaptureFixture[str]
):
    shutil.copy(SCENES / "wren.toml", here / NOT_UTF_8)
    status, text = printed(capsys, "check", NOT_UTF_8)
    assert status == 0
    assert text.startswith(r"w\xffren.toml: Wren")
    status, text = printed(capsys, "route", NOT_UTF_8)
    assert status == 2
    assert r"w\xffren.toml: found a name that is not UTF-8; wanted one" in text
    assert [each.name for each in here.iterdir()] == [NOT_UTF_8]
    (here / NOT_UTF_8).write_text("format = 2")
    assert printed(capsys, "check", NOT_UTF_8)[0] == 2


def test_a_scene_in_a_folder_whose_name_is_not_utf_8_is_routed_into_it(
    here: Path, capsys: pytest.CaptureFixture[str]
):
    folder = here / os.fsdecode(b"k\xe4fig")
    folder.mkdir()
    shutil.copy(SCENES / "wren.toml", folder)
    scene, plan = folder / "wren.toml", folder / "wren.plan.json"
    assert printed(capsys, "route", str(scene), "-o", str(plan))[0] == 0
    assert printed(capsys, "bends", str(plan))[0] == 0
    assert printed(capsys, "route", str(scene))[0] == 2  # the plan would lie outside


def test_a_line_break_in_a_name_is_refused(
    here: Path, capsys: pytest.CaptureFixture[str]
):
    (here / "a\nb.toml").write_text("format = 1")
    status, text = printed(capsys, "check", "a\nb.toml")
    assert status == 2
    assert r"found 'a\nb.toml', with a line break in it" in text


@pytest.mark.parametrize(
    "line",
    [
        f'title = "{BAD}"',
        f'"{BAD}" = 1',
        f'units = "{BAD}"',
        f'[components."{BAD}"]\nposition = [1, 2, 3]',
        f'[[runs]]\nname = "{BAD}"\nfrom = "{BAD}"\nto = "x.{BAD}"',
        f'[loop]\norder = ["{BAD}"]',
    ],
)
def test_what_a_scene_says_is_told_in_visible_letters(
    here: Path, capsys: pytest.CaptureFixture[str], line: str
):
    escaped = line.translate({ord(each): f"\\u{ord(each):04x}" for each in BAD[5:]})
    escaped = escaped.replace("\x1b", "\\u001b")
    for text in (line, escaped):
        (here / "s.toml").write_text(f"format = 1\n{text}\n", encoding="utf-8")
        assert printed(capsys, "check", "s.toml")[0] == 2


@pytest.mark.parametrize("name", ["a\u202eb", "a\u200bb", "a\ufe0fb", "a\u3164b"])
def test_names_and_titles_of_unseen_letters_are_refused(
    here: Path, capsys: pytest.CaptureFixture[str], name: str
):
    text = (SCENES / "wren.toml").read_text("utf-8")
    for old in ("Wren: shelf box", "[components.fan]", '"block to radiator"'):
        new = old.replace("fan", f'"{name}"').replace("block to", name)
        new = new.replace("shelf", name)
        (here / "s.toml").write_text(text.replace(old, new), encoding="utf-8")
        status, told = printed(capsys, "check", "s.toml")
        assert status == 2
        assert "visible characters" in told


def test_what_a_plan_says_is_told_in_visible_letters(
    here: Path, capsys: pytest.CaptureFixture[str]
):
    shutil.copy(SCENES / "wren.toml", here)
    assert printed(capsys, "route", "wren.toml")[0] == 0
    plan = here / "wren.plan.json"
    document = json.loads(plan.read_text("utf-8"))
    for changes in ({"title": BAD}, {"scene": BAD}, {"scene": "\n"}, {BAD: 1}):
        plan.write_text(json.dumps({**document, **changes}), encoding="utf-8")
        printed(capsys, "bends", "wren.plan.json")
        printed(capsys, "compare", "wren.plan.json")


@pytest.mark.parametrize(
    "words",
    [
        (BAD,),
        ("check", "s.toml", f"--{BAD}"),
        ("route", "s.toml", "--by", BAD),
        ("route", "s.toml", "--keep", BAD),
        ("check", BAD),
        ("view", BAD, "--screenshot", BAD),
    ],
)
def test_words_of_the_command_line_are_told_in_visible_letters(
    here: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
):
    del here
    assert printed(capsys, *words)[0] == 2


def test_cells_of_tables_are_visible(capsys: pytest.CaptureFixture[str]):
    say_table(TextTable(headings=("nearest",), rows=[(BAD,)], words=frozenset({0})))
    out = capsys.readouterr().out
    assert seen(out)
    assert r"\x1b[31m\u202e" in out.replace("\n", "")
