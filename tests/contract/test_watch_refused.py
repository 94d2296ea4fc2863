"""What cannot be followed is refused before any window opens."""

from __future__ import annotations

import pytest

from loopsolver.cli.main import main
from tests.commands import SCENES


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--watch", "--screenshot", "a.png"], "not allowed with argument"),
        (["--watch", "--html", "a.html"], "not allowed with argument"),
        (["--watch", "--candidate", "2"], "candidate 2: a scene has no candidates yet"),
        (["--watch", "--run", "pump"], "no run 'pump'; there are"),
        (["--watch"], "there is no display to open a window on"),
    ],
)
def test_what_goes_with_a_followed_scene(words, said, monkeypatch, here, capsys):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert main(["view", str(SCENES / "wren.toml"), *words]) == 2
    assert said in capsys.readouterr().err
    assert not list(here.iterdir())


def test_a_plan_and_a_broken_scene_are_not_followed(here, capsys):
    assert main(["route", str(SCENES / "wren.toml")]) == 0
    assert main(["view", "wren.plan.json", "--watch"]) == 2
    assert "found a plan; --watch follows a scene" in capsys.readouterr().err
    broken = here / "broken.toml"
    broken.write_text("format = 1", encoding="utf-8")
    assert main(["view", str(broken), "--watch"]) == 2
    assert "broken.toml" in capsys.readouterr().err
