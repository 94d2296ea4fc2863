"""A first build of six parts and four tubes, written as somebody new would write it.

What was still hard in it: the middle of a port's face is measured from two edges of its
part, so that half a width is read off or halved by head; how high a block stands over
the board has to be measured to the port and not to the block; and the two points of the
board must be chosen before anything can be placed from them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from loopsolver import load_scene, route_scene
from loopsolver.scene.circuit import circuit
from loopsolver.scene.doubts import doubts

NEWCOMER = Path(__file__).with_name("newcomer.toml")


def test_it_takes_few_lines() -> None:
    lines = NEWCOMER.read_text("utf-8").splitlines()
    told = [line for line in lines if line.strip() and not line.startswith("#")]
    assert len(told) <= 45


def test_all_stands_where_it_was_measured() -> None:
    """Added up by hand, which the file's author did not have to."""
    scene = load_scene(NEWCOMER)
    ports = {
        "tank.out": (160, 290, 30),  # 215 - 25 - 60 + 30, 440 - 90 - 60, 30
        "tank.in": (160, 320, 165),
        "block.in": (
            50,
            105,
            372,
        ),  # board (8, 0, 125), hole (2, 80, 195), (40, 25, 52)
        "block.out": (50, 105, 342),
        "card.in": (120, 132, 255),  # slot (10, 50, 235), (12, -48, -20), (98, 130, 40)
        "card.out": (120, 167, 255),
        "radiator.in": (75, 383, 445),  # 45 + 30, 440 - 27 - 30, 480 - 20 - 400 + 385
        "radiator.out": (135, 383, 445),
    }
    for name, at in ports.items():
        assert scene.port(name).position == pytest.approx(at, abs=1e-9)


def test_nothing_is_doubtful_and_four_tubes_close_the_loop() -> None:
    scene = load_scene(NEWCOMER)
    assert doubts(scene) == ()
    assert circuit(scene).is_closed
    plan = route_scene(scene)
    assert len(plan.runs) == 4
    assert all(run.chosen_candidate is not None for run in plan.runs)
