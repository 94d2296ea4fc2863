"""What changed between two scenes, against sentences written by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.report.scene_changes import is_same_build, scene_changes, tube_changes
from loopsolver.scene.reader import scene_from_text
from tests.builders.followed_case import FOLLOWED
from tests.builders.plans import candidate, planned

# Its axes: x points left, y near, z up.
CHANGES = [
    ([], []),
    (
        [("position = [90, 205, 0]", "position = [85, 205, 2.5]")],
        ["tank moved 5.0 mm right and 2.5 mm up"],
    ),
    (
        [("position = [10, 80, 150]", "position = [10, 90, 150]")],
        ["block moved 10.0 mm near"],
    ),
    (
        [("position = [32, 55, 55]", "position = [32, 55, 50]")],
        ["block.in moved 5.0 mm down"],
    ),
    (
        [('direction = "-y"', 'direction = "+x"')],
        ["tank.out points another way"],
    ),
    ([("box = [140, 80, 80]", "box = [140, 80, 81]")], ["supply: its bodies"]),
    (
        [
            ("[components.supply]", "[components.psu]"),
            ("[[components.supply.bodies]]", "[[components.psu.bodies]]"),
        ],
        ["psu is new", "supply is gone"],
    ),
    ([("clearance = 3", "clearance = 4.5")], ["clearance 4.5 mm instead of 3.0 mm"]),
    ([("max_bends = 5", "max_bends = 3")], ["max bends 3 instead of 5"]),
    (
        [("bend_angles = [90]", "bend_angles = [45, 90]")],
        ["bend angles 45 degrees or 90 degrees instead of 90 degrees"],
    ),
    (
        [("bend_radius = 28", "bend_radius = 30")],
        ["bend radii 30.0 mm instead of 28.0 mm"],
    ),
    (
        [('material = "acrylic"', 'material = "petg"')],
        ["material petg instead of acrylic"],
    ),
    (
        [("height = 20", "height = 21")],
        ["collar: height 21.0 mm instead of 20.0 mm"],
    ),
    ([("inner = [180, 300, 280]", "inner = [185, 300, 280]")], ["the case's inside"]),
    (
        [("box = [10, 300, 280]", "box = [9, 300, 280]")],
        ["keep-out side panel cables is another"],
    ),
    (
        [('name = "side panel cables"', 'name = "cables"')],
        ["keep-out cables is new", "keep-out side panel cables is gone"],
    ),
    (
        [('name = "tank to block"', 'name = "first"')],
        ["run first is new", "run tank to block is gone"],
    ),
    (
        [('flow = "out"', 'flow = "either"')],
        [
            "tank.out: flow either",
            "run block to tank is another",  # it may end at either port now
        ],
    ),
]


def scene_with(changes):
    text = FOLLOWED
    for before, after in changes:
        assert before in text
        text = text.replace(before, after, 1)
    return scene_from_text(text, file="followed.toml")


@pytest.mark.parametrize(("changes", "told"), CHANGES)
def test_each_change_is_told(changes, told):
    before, after = scene_with([]), scene_with(changes)
    assert sorted(scene_changes(before, after)) == sorted(told)
    assert is_same_build(before, after) is not bool(told)


def test_what_no_tube_feels_is_no_other_build():
    before = scene_with([])
    after = scene_with([("Dotterel: a small", "Wagtail: a small")])
    assert before != after
    assert is_same_build(before, after)


def test_lengths_are_told_in_the_unit_of_the_scene():
    before = scene_with([])
    moved = scene_with([("position = [90, 205, 0]", "position = [90, 205, 25.4]")])
    assert scene_changes(before, replace(moved, units="in")) == (
        "tank moved 1.000 in up",
    )


def test_what_became_of_each_tube_is_told():
    straight = candidate((0.0, 0.0, 0.0), (100.0, 0.0, 0.0))
    longer = candidate((0.0, 0.0, 0.0), (110.0, 0.0, 0.0))
    bent = candidate((0.0, 0.0, 0.0), (80.0, 0.0, 0.0), (80.0, 80.0, 0.0))
    runs = [
        planned("same", [straight], ends=("a.out", "b.in"), chosen=1),
        planned("longer", [longer], ends=("a.out", "b.in"), chosen=1),
        planned("bent", [bent], ends=("a.out", "b.in"), chosen=1),
        planned("lost", [], ends=("a.out", "b.in"), chosen=None),
        planned("none", [], ends=("a.out", "b.in"), chosen=None),
        planned("new", [bent], ends=("a.out", "b.in"), chosen=1),
    ]
    before = dict.fromkeys(("same", "longer", "bent", "lost"), straight)
    told = list(tube_changes(before, tuple(runs), MILLIMETRES))
    assert told[0] == "longer: 10.0 mm longer"
    # 160 mm of legs less what a square bend round 28 mm saves of them: 12.0 mm.
    assert told[1] == "bent: 1 bend more, 1 plane more, 48.0 mm longer"
    assert told[2:] == [
        "lost: no tube any more",
        "none: no tube",
        "new: a tube",
        "1 tube as before",
    ]
    assert next(tube_changes(before, tuple(runs), INCHES)).startswith(
        "longer: 0.394 in (10.0 mm) longer"
    )
