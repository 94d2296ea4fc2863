"""One case measured in every frame that a person may choose: always the same tube.

Where the tube goes is known by right, away and up; what is expected was worked out from
that by hand, with a right hand for the turn.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from loopsolver import route_scene
from loopsolver.cli.main import main
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.unit.scene.case_in_frames import (
    LEFT_HANDED,
    RIGHT_HANDED,
    STAND_OFF,
    Frame,
    datum,
    is_right_handed,
    matrix,
    seen,
    stated,
    text,
)

# From the pump's rear face, whose port is at (150, 90, 60), to the card's right side,
# (40, 240, 200): the tube's ends sit 8 mm off both faces.
CORNERS = np.array(
    [
        (150.0, 90.0 + STAND_OFF, 60.0),
        (150.0, 240.0, 60.0),  # away,
        (150.0, 240.0, 200.0),  # up,
        (40.0 + STAND_OFF, 240.0, 200.0),  # left
    ]
)
# Each leg less what its bends take up, 28 mm at each.
STRAIGHTS = (142.0 - 28.0, 140.0 - 56.0, 102.0 - 28.0)
# A right hand with its thumb up, the tube's way between the bends: its fingers turn
# from right to away. The first bend turns about right (away to up), the second about
# near (up to left): from right to near is a quarter turn against the fingers.
TURN_DEG = -90.0


def scene_in(frame: Frame) -> Scene:
    return scene_from_text(text(frame, case_keys=stated(frame)), file="finch.toml")


@pytest.mark.parametrize("frame", RIGHT_HANDED, ids=" ".join)
def test_the_tube_is_the_same_in_every_frame(frame):
    (run,) = route_scene(scene_in(frame)).runs
    tube = run.candidates[0]
    vertices = [seen(vertex, frame) for vertex in tube.centreline.vertices]
    assert np.array(vertices) == pytest.approx(CORNERS, abs=1e-6)
    straights = tube.table.straights
    assert straights == pytest.approx(STRAIGHTS)
    first, second = tube.table.bends
    assert (first.rotation_deg, second.rotation_deg) == pytest.approx((0.0, TURN_DEG))
    assert (first.angle_deg, second.angle_deg) == pytest.approx((90.0, 90.0))
    assert far_end(straights, TURN_DEG) == pytest.approx(CORNERS[-1], abs=1e-6)


def far_end(straights: tuple[float, ...], turn_deg: float) -> np.ndarray:
    """Lay a tube of two square bends from the pump: away, up, then turned.

    By right, away and up. The third leg's way is the first bend's, up about which it is
    turned right-handed, from what the first bend would give if it went on: near.
    """
    angle = np.radians(turn_deg)
    third = np.cos(angle) * np.array([0.0, -1.0, 0.0]) + np.sin(angle) * np.array(
        [1.0, 0.0, 0.0]
    )
    way = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], third])
    legs = np.add(straights, (28.0, 56.0, 28.0))
    return CORNERS[0] + legs @ way


def test_a_mirrored_tube_ends_elsewhere():
    # 204 mm: twice the last leg, on the other side.
    assert np.linalg.norm(far_end(STRAIGHTS, -TURN_DEG) - CORNERS[-1]) == (
        pytest.approx(204.0)
    )


@pytest.mark.parametrize("frame", LEFT_HANDED[::5], ids=" ".join)
def test_a_left_handed_frame_that_goes_unsaid_gives_the_mirror_image(frame):
    """Why left-handed axes are refused, and why leaving them out is told."""
    assert not is_right_handed(frame)
    up = matrix(frame)[:, 2].tolist()
    scene = scene_from_text(text(frame, case_keys=f"up = {up}"), file="finch.toml")
    (run,) = route_scene(scene).runs
    _, second = run.candidates[0].table.bends
    assert second.rotation_deg == pytest.approx(-TURN_DEG)


# --- from the command line ---------------------------------------------------------


@pytest.mark.parametrize(
    "frame", [("left", "near", "up"), ("away", "up", "right")], ids=" ".join
)
def test_the_printed_turn_is_the_same_in_every_frame(
    frame, tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    Path("finch.toml").write_text(text(frame, case_keys=stated(frame)), "utf-8")
    assert main(["route", "finch.toml"]) == 0
    assert "case.axes" not in capsys.readouterr().err
    assert main(["bends", "finch.plan.json"]) == 0
    words = " ".join(capsys.readouterr().out.split())
    # Looking up along the second leg right, away, left and near go round clockwise. A
    # bend like the first would go on to near; left is a quarter turn back from there.
    assert "Bend 2 points 90 degrees anticlockwise of bend 1" in words
    assert main(["check", "finch.toml", "--json"]) == 0
    case = json.loads(capsys.readouterr().out)["case"]
    assert (tuple(case["axes"]), case["axes_stated"]) == (frame, True)
    assert case["axes_doubt"] is None


def test_axes_left_out_are_told_by_check_and_route(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    frame: Frame = ("right", "away", "up")
    assert (datum(frame) == 0.0).all()
    Path("finch.toml").write_text(text(frame, case_keys=""), "utf-8")
    assert main(["check", "finch.toml"]) == 0
    assert_told(capsys.readouterr().out)
    assert main(["route", "finch.toml"]) == 0
    assert_told(capsys.readouterr().err)
    for command, *more in (["check"], ["route", "--force"]):
        assert main([command, "finch.toml", "--json", *more]) == 0
        case = json.loads(capsys.readouterr().out)["case"]
        assert case["axes"] == ["right", "away", "up"]
        assert case["axes_stated"] is False
        assert_told(f"case.axes: {case['axes_doubt']}")


def assert_told(printed: str) -> None:
    words = " ".join(printed.split())
    assert "case.axes: left out, so x is taken to point right, y away and z up" in words
    assert "every tube in more than one plane comes out mirrored" in words


def test_left_handed_axes_end_with_status_2_and_write_nothing(
    tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    frame: Frame = ("left", "away", "up")
    Path("finch.toml").write_text(text(frame, case_keys=stated(frame)), "utf-8")
    assert main(["route", "finch.toml"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "finch.toml:4: case.axes" in printed.err
    assert "count y from the rear wall instead" in printed.err
    assert [path.name for path in Path().iterdir()] == ["finch.toml"]
