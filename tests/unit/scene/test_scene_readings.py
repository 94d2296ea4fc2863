"""Places from readings: weighted means by hand, and what check tells of them.

Where readings of equal kind disagree, the places are weighted means: each weighs one over
the square of its spread, and a chain of n lengths of spread s has the spread s sqrt(n)
(JCGM 100:2008, 5.1.2). Nothing else is needed for the expected values here.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from loopsolver.cli.main import main
from loopsolver.geometry.solids import bounds
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import Scene
from loopsolver.scene.port_spreads import port_spreads
from loopsolver.scene.reader import scene_from_text
from loopsolver.tolerances import READINGS_SPREAD
from tests.builders import texts

HEAD = texts.head(inner=[400, 500, 450], case={"axes": ["left", "near", "up"]})

TWO = """
[components.pump]
position = [100, 100, 0]
bodies = [{ box = [60, 60, 120] }]
ports.out = { position = [60, 30, 90], direction = "+x" }
[components.block]
position = [20, 200, 200]
bodies = [{ box = [30, 70, 70] }]
ports.in = { position = [30, 55, 55], direction = "+x" }
[[runs]]
from = "pump.out"
to = "block.in"
"""


def scene(text: str) -> Scene:
    return scene_from_text(HEAD + text, file="siskin.toml")


def reading(start: str, goal: str, **keys: object) -> str:
    """Return a [[readings]] table."""
    values = {"from": start, "to": goal, **keys}
    return "[[readings]]\n" + "".join(
        f"{key} = {json.dumps(value)}\n" for key, value in values.items()
    )


def told(read: Scene) -> dict[str, list[str]]:
    """Return what is doubtful, by kind."""
    by_kind: dict[str, list[str]] = {}
    for doubt in doubts(read):
        by_kind.setdefault(doubt.kind, []).append(str(doubt))
    return by_kind


def test_a_scene_without_readings_stands_as_it_is_written() -> None:
    read = scene(TWO)
    assert read.port("pump.out").position == (160, 130, 90)
    assert read.port("block.in").position == (50, 255, 255)
    assert told(read) == {}


def test_a_written_distance_and_a_reading_meet_in_their_weighted_mean() -> None:
    """From pump.out up to block.in: 255 - 90 = 165 as written, by four lengths of 0.5.

    The reading, 160, has 0.5 itself: it weighs four times as much as the chain, so that
    the distance is (165 + 4 * 160) / 5 = 161, and the four lengths give 1 mm each.
    """
    read = scene(TWO + reading("pump.out", "block.in", along="+z", value=160))
    out, to = read.port("pump.out").position, read.port("block.in").position
    assert to[2] - out[2] == pytest.approx(161, abs=1e-6)
    assert out == pytest.approx((160, 130, 92), abs=1e-6)
    assert to == pytest.approx((50, 255, 253), abs=1e-6)
    # the pump itself goes up by 1, the block down by 1, and the bodies with them
    lows = [bounds(part.bodies[0].solid)[0, 2] for part in read.components]
    assert lows == pytest.approx([1, 199], abs=1e-6)


def test_the_reading_itself_may_have_another_spread_and_several_values() -> None:
    """Three values of spread 1 weigh 3, the chain of four of 0.5 weighs 1."""
    text = reading("pump.out", "block.in", along="+z", value=[160, 161, 162], spread=1)
    read = scene(TWO + text)
    out, to = read.port("pump.out").position, read.port("block.in").position
    assert to[2] - out[2] == pytest.approx((165 + 3 * 161) / 4, abs=1e-6)


def test_the_usual_spread_is_that_of_the_scene_and_the_rules_zero_is_taken_off() -> (
    None
):
    """All alike: four lengths of a chain weigh a quarter of one, whatever the spread."""
    text = reading("pump.out", "block.in", along="+z", value=160.5, zero=0.5)
    read = scene(TWO + "[spread]\nreading = 2\n" + text)
    out, to = read.port("pump.out").position, read.port("block.in").position
    assert to[2] - out[2] == pytest.approx(161, abs=1e-6)
    assert read.spread.reading == 2


def test_repeated_coordinates_count_each() -> None:
    """Two values of one coordinate weigh two: the chain's variance is 3.5 * 0.25."""
    text = TWO.replace("[20, 200, 200]", "[20, 200, [199, 201]]")
    read = scene(text + reading("pump.out", "block.in", along="+z", value=160))
    out, to = read.port("pump.out").position, read.port("block.in").position
    wanted = (165 / 3.5 + 160) / (1 / 3.5 + 1)
    assert to[2] - out[2] == pytest.approx(wanted, abs=1e-6)


PLACED = TWO.replace(
    "position = [20, 200, 200]",
    'place = { point = "in", from = "pump.out", offset = [-110, 125, "?"] }',
)


def test_an_offset_that_is_left_open_follows_from_a_reading() -> None:
    read = scene(PLACED + reading("pump.out", "block.in", along="+z", value=171))
    assert read.port("block.in").position == pytest.approx((50, 255, 261), abs=1e-6)
    (line,) = told(read)["nothing checks"]
    assert "run 'pump.out to block.in'" in line
    assert "along x, y and z" in line


def test_a_reading_against_an_axis_leads_the_other_way() -> None:
    text = reading("block.in", "pump.out", along="-z", value=171)
    assert scene(PLACED + text).port("block.in").position[2] == pytest.approx(261)


def test_walls_and_faces_hold_a_component_without_a_position() -> None:
    """400 - 30 - 60 is the pump's x, 40 its y; it stands 5 from the floor."""
    text = TWO.replace("position = [100, 100, 0]\n", "")
    text += reading("pump.+x", "wall +x", along="+x", value=30)
    text += reading("wall -y", "pump.-y", along="+y", value=40)
    text += reading("datum", "pump.-x-y-z", along="+z", value=5)
    read = scene(text)
    assert read.port("pump.out").position == pytest.approx((370, 70, 95), abs=1e-6)


def test_a_turned_component_has_its_faces_where_they_stand() -> None:
    """Turned by 90 degrees about z, 60 x 40 stand from -40 to 0 along x."""
    text = """
[components.pump]
rotation = [0, 0, 90]
bodies = [{ box = [60, 40, 120] }]
ports.out = { position = [60, 20, 90], direction = "+x" }
"""
    text += reading("wall -x", "pump.-x", along="+x", value=8)
    text += reading("pump.+y", "wall +y", along="+y", value=35)
    text += reading("wall -z", "pump.-z", along="+z", value=0)
    read = scene(text)
    assert read.port("pump.out").position == pytest.approx((28, 465, 90), abs=1e-6)
    assert read.port("pump.out").direction == pytest.approx((0, 1, 0), abs=1e-9)


SPHERES = """
[components.pump]
bodies = [{ box = [60, 60, 120] }]
ports.out = { position = [60, 30, 90], direction = "+x" }
"""


def test_straight_distances_hold_a_place_by_themselves() -> None:
    """Of (160, 130, 290): Pythagoras from the datum and three corners of a board."""
    at = np.array([160.0, 130.0, 290.0])
    board = (
        "[components.board]\nposition = [10, 10, 10]\n"
        "bodies = [{ box = [2, 300, 250] }]\n"
    )
    corners = {
        "datum": (0, 0, 0),
        "board.+x-y-z": (12, 10, 10),
        "board.+x+y-z": (12, 310, 10),
        "board.+x-y+z": (12, 10, 260),
    }
    text = "".join(
        reading(name, "pump.out", value=float(np.linalg.norm(at - corner)), spread=0.01)
        for name, corner in corners.items()
    )
    read = scene(SPHERES + board + text)
    assert read.port("pump.out").position == pytest.approx(tuple(at), abs=0.05)


def test_a_reading_that_was_not_taken_is_told_and_left_out() -> None:
    text = reading("pump.out", "block.in", along="+z", value=[])
    read = scene(TWO + text)
    assert read.port("block.in").position == (50, 255, 255)
    (line,) = told(read)["reading not taken"]
    assert line.startswith("readings[1]: pump.out to block.in along z was not taken")


THREE = (
    TWO
    + reading("pump.out", "block.in", along="-x", value=110)
    + reading("pump.out", "block.in", along="+y", value=125)
    + reading("pump.out", "block.in", along="+z", value=165)
)


def test_readings_that_agree_raise_no_doubt_and_check_all() -> None:
    assert told(scene(THREE)) == {}


def test_a_blunder_is_told_with_all_that_it_may_be_and_what_would_tell() -> None:
    """Two ways of one length disagree by 5 mm; a third one tells which is wrong."""
    read = scene(THREE.replace("value = 165", "value = 170"))
    (line,) = told(read)["readings disagree"]
    assert line.startswith(
        "pump.out to block.in along z (170.0 mm): either it is about 5.0 mm too long, or "
    )
    for words in (
        "position of block along z (200.0 mm) is about 5.0 mm too short",
        "would tell",
    ):
        assert words in line


def test_of_many_that_cannot_be_told_apart_four_are_named() -> None:
    """A reading and the four written heights of its ends: 30 mm that do not close."""
    text = TWO + reading("pump.out", "block.in", along="+z", value=195)
    (line,) = told(scene(text))["readings disagree"]
    assert line.count("too long") + line.count("too short") == 4
    assert ", or one of 1 more is wrong; " in line


def test_a_blunder_that_others_find_out_is_named_alone() -> None:
    """Four straight looks at one height: the one that is 9 mm off is that one."""
    again = reading("wall -z", "block.in", along="+z", value=255)
    again += reading("wall -z", "block.-z", along="+z", value=200)
    read = scene(TWO + again + reading("block.+z", "wall +z", along="+z", value=189))
    (line,) = told(read)["readings disagree"]
    assert line.startswith("block.+z to wall +z along z (189.0 mm): it is about 9")
    assert "too long, as others have it; measure it again" in line


def test_a_place_that_moved_by_more_than_its_spread_is_told() -> None:
    read = scene(TWO + reading("pump.out", "block.in", along="+z", value=160))
    moved = told(read)["moved by readings"]
    assert len(moved) == 4  # two positions and two ports, 1 mm each
    assert (
        "position of block: all readings together move it by 1.0 mm along -z"
        in (moved[-2])
    )
    assert "its spread of 0.5 mm" in moved[0]
    near = scene(TWO + reading("pump.out", "block.in", along="+z", value=163))
    assert "moved by readings" not in told(near)  # 0.4 mm each


def test_a_scatter_wider_than_stated_is_told() -> None:
    """Ten values 1.1 mm to either side of what is written, where 0.5 mm is stated.

    Each of the ten is one more than is needed, and each is 2.2 spreads off.
    """
    text = reading("pump.out", "block.in", along="+z", value=[163.9, 166.1] * 5)
    (line,) = told(scene(TWO + text))["readings scatter"]
    assert "all readings together scatter 2.2 times as much as stated (0.5 mm" in line
    calm = reading("pump.out", "block.in", along="+z", value=[164.5, 165.5] * 5)
    assert "readings scatter" not in told(scene(TWO + calm))


def test_repeats_that_differ_are_told_of_readings_as_of_coordinates() -> None:
    beyond = READINGS_SPREAD + 1.0
    text = reading("pump.out", "block.in", along="+z", value=[165, 165 + beyond])
    (line,) = told(scene(TWO + text))["readings differ"]
    assert line.startswith("readings[1].value: its 2 readings differ by 3.0 mm")


# ------------------------------------------------------------- how well ports are known


def test_what_is_written_is_known_to_a_chain_of_spreads() -> None:
    """A port hangs on its component's position and its own: 2 * 0.25 along each axis.

    From another part's port there are four such lengths.
    """
    spreads = port_spreads(scene(TWO))
    assert spreads is not None
    assert spreads.of("pump.out").position == ((0.5, 0, 0), (0, 0.5, 0), (0, 0, 0.5))
    between = spreads.between("pump.out", "block.in")
    assert np.array(between.position) == pytest.approx(np.eye(3), abs=1e-9)


def test_ports_of_one_part_share_its_position() -> None:
    top = 'ports.top = { position = [15, 35, 70], direction = "+z" }'
    text = TWO.replace("ports.in =", f"{top}\nports.in =")
    spreads = port_spreads(scene(text))
    assert spreads is not None
    between = spreads.between("block.top", "block.in")
    assert np.array(between.position) == pytest.approx(0.5 * np.eye(3), abs=1e-9)


def test_a_reading_between_two_ports_makes_their_distance_surer() -> None:
    """1 and 1/0.25 add up to 5 along z: the variance is 0.2; each end gains as well.

    A port's own variance, 0.5, shrinks by (0.5)^2 / (1 + 0.25) = 0.2 (one reading more,
    Sherman and Morrison 1950).
    """
    read = scene(TWO + reading("pump.out", "block.in", along="+z", value=165))
    spreads = port_spreads(read)
    assert spreads is not None
    between = np.array(spreads.between("pump.out", "block.in").position)
    assert between == pytest.approx(np.diag([1, 1, 0.2]), abs=1e-9)
    own = np.array(spreads.of("block.in").position)
    assert own == pytest.approx(np.diag([0.5, 0.5, 0.3]), abs=1e-9)


def test_a_place_from_a_port_is_known_to_its_offset_alone() -> None:
    read = scene(PLACED.replace('"?"', "165"))
    spreads = port_spreads(read)
    assert spreads is not None
    between = np.array(spreads.between("pump.out", "block.in").position)
    assert between == pytest.approx(0.25 * np.eye(3), abs=1e-9)


def test_a_direction_is_known_to_what_is_square_either_way() -> None:
    """Half a degree by default, none of it along the port."""
    spreads = port_spreads(scene(TWO))
    assert spreads is not None
    half = math.radians(0.5) ** 2
    told_of = np.array(spreads.of("block.in").direction)
    assert told_of == pytest.approx(np.diag([0, half, half]), abs=1e-9)
    wide = port_spreads(scene(TWO + "[spread]\nsquare = 2\n"))
    assert wide is not None
    assert np.array(wide.between("pump.out", "block.in").goal_direction) == (
        pytest.approx(16 * told_of, abs=1e-8)
    )


def test_check_prints_how_well_ports_are_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "siskin.toml"
    text = reading("pump.out", "block.in", along="+z", value=160)
    path.write_text(HEAD + TWO + text, encoding="utf-8")
    assert main(["check", str(path), "--json"]) == 0
    known = json.loads(capsys.readouterr().out)["known"]
    spreads = known["spread"]
    assert (spreads["reading"], spreads["square"]) == (0.5, math.radians(0.5))
    first, second = known["ports"]
    assert (first["port"], second["port"]) == ("pump.out", "block.in")
    assert second["at"] == pytest.approx([50, 255, 253], abs=1e-6)
    assert second["towards"] == [1, 0, 0]
    assert second["position"][2][2] == pytest.approx(0.3, abs=1e-9)
    (run,) = known["runs"]
    assert (run["name"], run["start"]) == ("pump.out to block.in", "pump.out")
    assert run["position"][2][2] == pytest.approx(0.2, abs=1e-9)
    (one,) = known["readings"]
    # the chain has a fifth of all the weight, and so checks a fifth of the reading
    assert one["read"] == 160
    assert one["adjusted"] == pytest.approx(161, abs=1e-6)
    assert one["redundancy"] == pytest.approx(0.2, abs=1e-6)
    assert one["score"] == pytest.approx(1 / (0.5 * math.sqrt(0.2)), abs=1e-6)
