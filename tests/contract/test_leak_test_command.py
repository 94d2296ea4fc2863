"""What ``loopsolver leak-test`` prints, writes and refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest

from loopsolver.cli.main import main

QUIET = [f"{at} min, 0.30 bar, 21.5 C" for at in (0, 1, 2, 5, 10, 15, 30)]
FALLING = [f"{at} min, {0.3 - 0.001 * at:.3f} bar, 21.5 C" for at in (0, 5, 10, 15, 30)]


def lines(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What the command printed, in one line."""
    assert main(["leak-test", *words]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_cautions_come_first(capsys) -> None:
    told = lines(capsys, "--volume", "0.5 L")
    first, last = told.index("Mains off"), told.index("30 kPa")
    assert told.index("First of all") < first < last
    for word in ("plug pulled out", "regulator", "relief valve", "glasses"):
        assert word in told[:last]
    for word in ("stand clear", "Let the air out before a joint is touched"):
        assert word in told[:last]


def test_a_quiet_gauge(capsys) -> None:
    told = lines(capsys, "--volume", "0.5 L", "--reading", *QUIET)
    assert "No leak above 0." in told
    assert "fill with the board unpowered all the same" in told
    assert "tight" not in told.split()


def test_a_falling_gauge(capsys) -> None:
    told = lines(capsys, "--volume", "0.5 L", "--reading", *FALLING)
    assert "K explains: look for it with soap water." in told


def test_a_short_watch(capsys) -> None:
    told = lines(capsys, "--volume", "0.5 L", "--reading", *QUIET[:4])
    assert "Wait 10 more minutes." in told


def test_json_holds_what_was_found(capsys) -> None:
    """0.1 kPa a minute out of 500 mL: 500 x 0.1 / 101.325 = 0.4935 mL/min."""
    assert (
        main(["leak-test", "--volume", "500 mL", "--reading", *FALLING, "--json"]) == 0
    )
    found = json.loads(capsys.readouterr().out)
    assert found["verdict"] == "leak"
    assert found["leak_ml_min"] == pytest.approx(0.4935, abs=0.0001)
    assert len(found["readings"]) == len(FALLING)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "--volume"),
        (("--volume", "0.5"), "unit"),
        (("--volume", "0 L"), "more than 0"),
        (("--volume", "0.5 L", "--pressure", "0.3"), "unit"),
        (
            ("--volume", "0.5 L", "--pressure", "0.5 bar"),
            "at most 30 kPa without a plan",
        ),
        (("--volume", "0.5 L", "--gauge-step", "0.02"), "unit"),
        (("--volume", "0.5 L", "--thermometer-step", "0.5"), "unit"),
        (("--volume", "0.5 L", "--reading", "0 min, 0.29, 20 C"), "unit"),
        (("--volume", "0.5 L", "--reading", QUIET[1], QUIET[0]), "in the order"),
        (("--volume", "0.5 L", "--readings", "missing.csv"), "missing.csv"),
        (("--volume", "0.5 L", "--picture", "p.svg"), "no readings"),
        (("--volume", "0.5 L", "--form", "p.png"), ".pdf"),
    ],
)
def test_wrong_input_is_told(words, told, capsys, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["leak-test", *words]) == 2
    printed = capsys.readouterr()
    assert told in printed.err
    assert printed.out == ""
    assert list(tmp_path.iterdir()) == []


def test_picture_and_form_hold_the_verdict_and_the_cautions(tmp_path, capsys) -> None:
    picture, form = tmp_path / "p.svg", tmp_path / "f.pdf"
    words = ("--volume", "0.5 L", "--reading", *QUIET)
    lines(capsys, *words, "--picture", str(picture), "--form", str(form))
    assert "no leak above" in picture.read_text(encoding="utf-8")
    page = pypdfium2.PdfDocument(form)[0].get_textpage().get_text_bounded()
    assert page.index("Mains off") < page.index("after pumping") < page.index("no leak")


def test_own_files_are_written_again_and_others_kept(tmp_path, capsys) -> None:
    picture = tmp_path / "p.pdf"
    words = ("--volume", "0.5 L", "--reading", *QUIET, "--picture", str(picture))
    lines(capsys, *words)
    first = picture.read_bytes()
    lines(capsys, *words)
    assert picture.read_bytes() == first
    picture.write_bytes(first + b"\n%mine")
    assert main(["leak-test", *words]) == 2
    assert picture.read_bytes().endswith(b"%mine")
    lines(capsys, *words, "--force")
    assert picture.read_bytes() == first


def test_the_readings_are_never_written_over(tmp_path, capsys) -> None:
    read = Path(tmp_path / "read.svg")
    read.write_text("time (min),gauge (bar),air (C)\n0,0.3,21\n20,0.3,21\n")
    words = ("--volume", "0.5 L", "--readings", str(read), "--picture", str(read))
    assert main(["leak-test", *words, "--force"]) == 2
    assert read.read_text().startswith("time")
