"""Tables and sentences on narrow lines, in pipes and in plain ASCII."""

from __future__ import annotations

import io
import sys

import pytest

from loopsolver.cli.output import say_json, say_table, say_wrapped
from loopsolver.report.text_table import TextTable

NUMBERS = ("12345.6", "-0.1", "412.7", "472.7", "6.2", "100.0")
SHEET = TextTable(
    headings=("rank", "a\nmm", "b\nmm", "c\nmm", "d\nmm", "e\nmm", "nearest"),
    rows=[
        ("1", *NUMBERS[:5], "tank"),
        ("2", *NUMBERS[1:], "side panel swing [bold] with a long :smile: name"),
    ],
    words=frozenset({6}),
    strong=frozenset({0}),
)


@pytest.mark.parametrize("columns", ["20", "40", "60", "80", "200"])
def test_no_number_is_cut_at_any_width(
    columns: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    say_table(SHEET)
    lines = capsys.readouterr().out.splitlines()
    row = next(line for line in lines if "tank" in line)
    assert row.split() == ["1", *NUMBERS[:5], "tank"]
    assert all(line == line.rstrip() for line in lines)
    assert "…" not in "".join(lines)


def test_a_pipe_is_eighty_columns_wide_and_plain(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    say_table(SHEET)
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert "\x1b" not in out


def test_names_are_no_markup(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    say_table(SHEET)
    assert "side panel swing [bold] with a long :smile: name" in capsys.readouterr().out


def test_ascii_gets_ascii(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    say_table(SHEET)
    sys.stdout.flush()
    assert "472.7" in raw.getvalue().decode("ascii")


def test_colour_is_only_for_terminals_that_want_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Terminal(io.StringIO):
        encoding = "utf-8"

        def isatty(self) -> bool:
            return True

    def printed() -> str:
        terminal = Terminal()
        monkeypatch.setattr(sys, "stdout", terminal)
        say_table(SHEET)
        return terminal.getvalue()

    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert "\x1b[1m" in printed()  # bold
    monkeypatch.setenv("NO_COLOR", "1")
    colours = [f"\x1b[{code}" for code in (30, 31, 32, 33, 34, 35, 36, 37, 38)]
    assert not any(colour in printed() for colour in colours)
    monkeypatch.setenv("TERM", "dumb")
    assert "\x1b" not in printed()


def test_a_number_stays_with_its_unit(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for width in range(30, 60):
        monkeypatch.setenv("COLUMNS", str(width))
        say_wrapped(["a blank of 558.5 mm is 58.5 mm longer than 90 degrees of 1 in"])
        lines = capsys.readouterr().out.splitlines()
        assert max(map(len, lines)) <= width
        assert not any(line.strip().startswith(("mm", "degrees")) for line in lines)
        assert "\0" not in "".join(lines)


def test_json_is_ascii(capsys: pytest.CaptureFixture[str]) -> None:
    say_json({"name": "pumpe → radiateur"})
    assert capsys.readouterr().out.isascii()
