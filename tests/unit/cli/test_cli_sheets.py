"""What ``sheets`` takes for a count and a width, and what it says of a folder."""

from __future__ import annotations

import argparse
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from loopsolver.cli import sheets
from loopsolver.cli.options import add_command

ARGS = ("sheets", "plan.json", "-o", "out")


def parsed(*words: str) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    add_command(parser.add_subparsers(), sheets, "write sheets. More.")
    return parser.parse_args([*ARGS, *words])


def refusal(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    with pytest.raises(SystemExit) as stop:
        parsed(*words)
    assert stop.value.code == 2
    return capsys.readouterr().err


def test_what_is_left_out_has_its_usual_value() -> None:
    args = parsed()
    assert (args.plan, args.output) == (Path("plan.json"), Path("out"))
    assert (args.paper, args.spares, args.kerf, args.runs) == ("a4", 0, None, None)
    assert not any((args.mirror, args.proof, args.pictures, args.force))


def test_every_option_is_taken() -> None:
    args = parsed(
        *("--mirror", "--proof", "--pictures", "--force"),
        *("--paper", "letter", "--spares", "3", "--run", "a", "b", "--run", "c"),
    )
    assert all((args.mirror, args.proof, args.pictures, args.force))
    assert (args.paper, args.spares, args.runs) == ("letter", 3, ["a", "b", "c"])


def test_the_plan_and_the_folder_are_wanted(capsys: pytest.CaptureFixture[str]) -> None:
    parser = argparse.ArgumentParser()
    add_command(parser.add_subparsers(), sheets, "write sheets. More.")
    for words, missing in ((["-o", "out"], "PLAN"), (["plan.json"], "-o/--output")):
        with pytest.raises(SystemExit):
            parser.parse_args(["sheets", *words])
        assert f"required: {missing}" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "mm"),
    # 1/32 in are 25.4 / 32 mm.
    [("0 mm", 0.0), ("1 mm", 1.0), ("1.5 mm", 1.5), ("1/32 in", 0.79375)],
)
def test_a_saw_cut_is_nothing_or_more(text: str, mm: float) -> None:
    assert parsed("--kerf", text).kerf == pytest.approx(mm)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("-0.1 mm", "found '-0.1 mm'; wanted 0 or more"),
        ("wide", "wanted a length"),
    ],
)
def test_what_no_saw_cuts_is_refused(
    capsys: pytest.CaptureFixture[str], text: str, said: str
) -> None:
    assert said in refusal(capsys, f"--kerf={text}")


@pytest.mark.parametrize(("text", "count"), [("0", 0), ("1", 1), ("20", 20)])
def test_there_may_be_up_to_twenty_spares(text: str, count: int) -> None:
    assert parsed("--spares", text).spares == count


@pytest.mark.parametrize("text", ["21", "-1", "1.5", "two", "²", "٣"])
def test_other_counts_of_spares_are_refused(
    capsys: pytest.CaptureFixture[str], text: str
) -> None:
    said = refusal(capsys, f"--spares={text}")
    assert "wanted a whole number from 0 to 20" in said


@pytest.mark.parametrize(
    ("taken_away", "stale", "lines"),
    [
        ((), (), []),
        (("a.pdf", "a.svg"), (), ["out: older sheets taken away: a.pdf, a.svg"]),
        (
            (),
            ("b.pdf", "c.pdf"),
            [
                "out: b.pdf, c.pdf lie there from another plan, or were changed since; "
                "do not bend by them"
            ],
        ),
    ],
)
def test_older_sheets_are_told(
    capsys: pytest.CaptureFixture[str], taken_away: Any, stale: Any, lines: list[str]
) -> None:
    others: Any = SimpleNamespace(taken_away=taken_away, stale=stale)
    sheets.tell_others(Path("out"), others)
    told = capsys.readouterr()
    assert told.err.splitlines() == lines
    assert told.out == ""


def run(name: str, *, chosen: object = None, why: str | None = None) -> Any:
    return SimpleNamespace(name=name, chosen_candidate=chosen, why=why)


def test_runs_without_sheets_are_told_with_the_reason_on_one_line(
    capsys: pytest.CaptureFixture[str],
) -> None:
    there = run("a", chosen=object(), why="never told")
    sheets._tell_missing([there, run("b", why="no room:\nthe card"), run("c")])
    assert capsys.readouterr().err.splitlines() == [
        "no sheets for run 'b': no room: the card",
        "no sheets for run 'c': none is chosen",
    ]


def test_what_was_written_is_said_with_its_pages(
    capsys: pytest.CaptureFixture[str],
) -> None:
    files: Any = [
        SimpleNamespace(name="a.pdf", pages=3),
        SimpleNamespace(name="a.svg", pages=0),
        SimpleNamespace(name="b.pdf", pages=1),
    ]
    sheets._say_written(Path("out"), files)
    assert capsys.readouterr().out.splitlines() == [
        f"{Path('out', 'a.pdf')}: 3 pages",
        f"{Path('out', 'b.pdf')}: 1 page",
        "3 files in out, 4 pages to print: at 100 %, not fitted to the page.",
    ]
    sheets._say_written(Path("out"), [])
    assert capsys.readouterr().out == "Nothing was written.\n"
