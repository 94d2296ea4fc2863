"""Where x, y and z point: right-handed, or what to measure from the other side."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.errors import Fault, GeometryError, SceneError
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import AXES
from loopsolver.scene.axes import sides_of
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.schema import SceneFile
from tests.unit.scene.case_in_frames import (
    AWAY,
    AWAYWARDS,
    CARD_IN,
    FRAMES,
    INSIDE,
    LEFT_HANDED,
    PUMP,
    PUMP_OUT,
    RIGHT_HANDED,
    RIGHTWARDS,
    SUPPLY,
    SUPPLY_TURN_DEG,
    UP,
    WAYS,
    Frame,
    is_right_handed,
    matrix,
    measured,
    seen,
    seen_way,
    stated,
    text,
)


def read(frame: Frame, *, case_keys: str) -> Scene:
    return scene_from_text(text(frame, case_keys=case_keys), file="finch.toml")


def faults(written: str) -> tuple[Fault, ...]:
    with pytest.raises(SceneError) as caught:
        scene_from_text(written, file="finch.toml")
    return caught.value.faults


def with_case(keys: str) -> str:
    return text(("right", "away", "up"), case_keys=keys)


# ------------------------------------------------------------------- right-handed


def test_of_48_frames_half_are_right_handed():
    # A cube has 24 turns and as many mirror images of them.
    assert len(FRAMES) == 48
    assert len(RIGHT_HANDED) == len(LEFT_HANDED) == 24


@pytest.mark.parametrize("frame", RIGHT_HANDED, ids=" ".join)
def test_right_handed_axes_put_everything_where_the_person_sees_it(frame):
    scene = read(frame, case_keys=stated(frame))
    assert scene.axes == frame
    assert scene.axes_taken == frame
    assert seen_way(scene.up, frame) == pytest.approx((0.0, 0.0, 1.0))
    sides = scene.sides
    for number, told in ((0, sides.right), (1, sides.away), (2, sides.up)):
        assert seen_way(told, frame) == pytest.approx(np.eye(3)[number])
    for name, place, way in (
        ("pump.out", PUMP_OUT, AWAYWARDS),
        ("card.in", CARD_IN, RIGHTWARDS),
    ):
        port = scene.port(name)
        assert seen(port.position, frame) == pytest.approx(place)
        assert seen_way(port.direction, frame) == pytest.approx(way)
    assert_bodies_stand_as_seen(scene, frame)
    assert "axes left out" not in {doubt.kind for doubt in doubts(scene)}


def assert_bodies_stand_as_seen(scene: Scene, frame: Frame) -> None:
    """Pump along the case; supply turned about its corner, anticlockwise from above."""
    pump, supply = scene.components[0].bodies[0], scene.components[2].bodies[0]
    assert isinstance(pump.solid, Box)
    assert isinstance(supply.solid, Box)
    assert seen(pump.solid.frame.origin, frame) == pytest.approx(
        np.add(PUMP, (30.0, 25.0, 40.0))
    )
    angle = np.radians(SUPPLY_TURN_DEG)
    cos, sin = np.cos(angle), np.sin(angle)
    middle = (20.0 * cos - 30.0 * sin, 20.0 * sin + 30.0 * cos, 25.0)
    assert seen(supply.solid.frame.origin, frame) == pytest.approx(
        np.add(SUPPLY, middle)
    )
    # Its long side, 60 mm, lay away before it was turned.
    along = next(
        axis
        for axis, size in zip(supply.solid.frame.axes, supply.solid.size, strict=True)
        if size == pytest.approx(60.0)
    )
    assert abs(seen_way(along, frame) @ (-sin, cos, 0.0)) == pytest.approx(1.0)


def test_the_json_schema_lists_the_right_handed_axes():
    axes = SceneFile.model_json_schema(by_alias=True)["$defs"]["CaseTable"][
        "properties"
    ]["axes"]
    (listed,) = (each["enum"] for each in axes["anyOf"] if "enum" in each)
    assert sorted(map(tuple, listed)) == sorted(RIGHT_HANDED)


# -------------------------------------------------------------------- left-handed


@pytest.mark.parametrize("frame", LEFT_HANDED, ids=" ".join)
def test_left_handed_axes_are_told_with_the_one_to_count_from_the_other_side(frame):
    written = text(frame, case_keys=stated(frame))
    (fault,) = faults(written)
    assert fault.key_path == "case.axes"
    assert fault.line == written.split("\n").index(stated(frame)) + 1
    assert "mirrored" in fault.found
    depth = next(place for place in range(3) if WAYS[frame[place]][0] == AWAY)
    wall = "rear wall" if frame[depth] == "away" else "front wall"
    letter = "xyz"[depth]
    assert f"count {letter} from the {wall} instead" in fault.wanted
    # What it says to write is right-handed and differs in that axis alone.
    mended = proposed(fault)
    assert is_right_handed(mended)
    assert [a == b for a, b in zip(mended, frame, strict=True)].count(False) == 1
    assert mended[depth] != frame[depth]
    # The first position, measured afresh from that wall.
    position = ", ".join(f"{part:g}" for part in measured(PUMP, mended))
    assert (
        f"components.pump.position = [{number_list(written)}] becomes" in fault.wanted
    )
    assert f"becomes [{position}]" in fault.wanted
    # The supply is turned about up: that turn goes the other way round as well.
    others = " and ".join(other for other in "xyz" if other != letter)
    assert f"rotations about {others}" in fault.wanted


def proposed(fault: Fault) -> Frame:
    found = re.search(r'axes = \["(\w+)", "(\w+)", "(\w+)"\]', fault.wanted)
    assert found is not None
    x, y, z = found.groups()
    return (x, y, z)


def number_list(written: str) -> str:
    found = re.search(r"components\.pump\]\nposition = \[(.*)\]", written)
    assert found is not None
    return found[1]


@pytest.mark.parametrize("frame", LEFT_HANDED, ids=" ".join)
def test_who_does_as_told_gets_the_case_they_stand_before(frame):
    written = text(frame, case_keys=stated(frame))
    (fault,) = faults(written)
    mended = proposed(fault)
    scene = scene_from_text(as_told(written, frame, mended), file="finch.toml")
    for name, place in (("pump.out", PUMP_OUT), ("card.in", CARD_IN)):
        assert seen(scene.port(name).position, mended) == pytest.approx(place)
    assert_bodies_stand_as_seen(scene, mended)


def as_told(written: str, frame: Frame, mended: Frame) -> str:
    """Change a scene's text by the message's words, key by key."""
    depth = next(place for place in range(3) if frame[place] != mended[place])
    letter, inside = "xyz"[depth], INSIDE[AWAY]
    lines, is_port = [], False
    for line in written.split("\n"):
        key, _, value = line.partition(" = ")
        is_port = ".ports." in line if line.startswith("[") else is_port
        new = line
        if key in {"position", "centre", "rotation"}:
            numbers = [float(part) for part in value.strip("[]").split(",")]
            if key == "rotation":
                numbers = [
                    part if place == depth else -part
                    for place, part in enumerate(numbers)
                ]
            elif key == "position" and not is_port:
                numbers[depth] = inside - numbers[depth]
            else:
                numbers[depth] = -numbers[depth]
            new = f"{key} = {numbers}"
        elif key == "direction" and letter in value:
            new = line.translate(str.maketrans("+-", "-+"))
        elif key == "axes":
            new = stated(mended)
        lines.append(new)
    return "\n".join(lines)


def test_the_first_position_is_told_in_the_files_unit():
    keys = 'axes = ["left", "away", "up"]'
    written = with_case(keys).replace("format = 1", 'format = 1\nunits = "in"')
    inner = re.search(r"inner = .*", written)
    assert inner is not None
    written = written.replace(inner[0], 'inner = [8, "13 1/2 in", "25 cm"]')
    position = f"position = [{number_list(written)}]"
    written = written.replace(position, 'position = [1, ["51 mm", "50.6 mm"], "3 in"]')
    told = next(fault.wanted for fault in faults(written) if "axes" in fault.key_path)
    # 13.5 in less the mean of both readings, 50.8 mm or 2 in: 11.5 in.
    assert 'position = [1, 2, "3 in"] becomes [1, 11.5, "3 in"] (13.5 less 2)' in told


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("inner = ", "inner = 7 #"),
        ("position = ", "position = 7 #"),
        ("format = 1", 'format = 1\nunits = "ell"'),
    ],
)
def test_beside_other_faults_left_handed_axes_are_told_without_the_number(old, new):
    written = with_case('axes = ["left", "away", "up"]').replace(old, new)
    told = [fault for fault in faults(written) if fault.key_path == "case.axes"]
    assert len(told) == 1
    assert "count y from the rear wall" in told[0].wanted
    assert "becomes [" not in told[0].wanted


def test_a_scene_made_in_python_has_no_left_handed_axes():
    with pytest.raises(GeometryError, match="left, away, up are not right-handed"):
        sides_of(axes=("left", "away", "up"), up=(0.0, 0.0, 1.0))


# ---------------------------------------------------------------------- the words


@pytest.mark.parametrize(
    ("value", "key", "says"),
    [
        ('["left", "right", "up"]', "case.axes", 'one each of "right" or "left"'),
        ('["up", "down", "near"]', "case.axes", "one each"),
        ('["left", "left", "up"]', "case.axes", "one each"),
        ('["left", "near"]', "case.axes", "one each"),
        ('"left near up"', "case.axes", "one each"),
        ("[1, 2, 3]", "case.axes[1]", '"right" or "left"'),
        ('["left", "neer", "up"]', "case.axes[2]", '"near"'),
    ],
)
def test_words_that_are_no_axes_are_told(value, key, says):
    found = faults(with_case(f"axes = {value}"))
    told = next(fault for fault in found if fault.key_path == key)
    assert says in told.wanted
    if "neer" in value:
        assert told.nearest == "near"


# --------------------------------------------------------------------------- up


@pytest.mark.parametrize("frame", RIGHT_HANDED, ids=" ".join)
def test_up_must_be_the_axis_that_is_called_up(frame):
    for name, direction in AXES.items():
        written = text(frame, case_keys=f'{stated(frame)}\nup = "{name}"')
        if seen_way(direction, frame)[UP] > 0.5:
            assert scene_from_text(written, file="a.toml").up == direction
        else:
            (fault,) = faults(written)
            assert fault.key_path == "case.up"
            named = matrix(frame)[:, UP]
            axis = int(np.argmax(np.abs(named)))
            right = f'"{"+" if named[axis] > 0 else "-"}{"xyz"[axis]}"'
            assert right in fault.wanted


@pytest.mark.parametrize(
    ("up", "is_well"), [("[0.3, -0.4, 1]", True), ("[0, 1, 1]", False)]
)
def test_a_machine_may_lean_while_its_axes_are_named_by_its_walls(up, is_well):
    keys = f'axes = ["left", "near", "up"]\nup = {up}'
    if not is_well:
        assert [fault.key_path for fault in faults(with_case(keys))] == ["case.up"]
        return
    scene = scene_from_text(with_case(keys), file="a.toml")
    assert scene.axis_names == ("x left", "y near", "z up")
    assert_upright_and_right_handed(scene.sides, (0.3, -0.4, 1.0))
    assert scene.sides.right[0] < -0.9
    assert scene.sides.away[1] < -0.9


# ----------------------------------------------------------------------- left out

# Thumb right, forefinger away, middle finger up: a right hand, turned until the middle
# finger shows along `up`, the thumb along x, or along y where up is along x.
BY_HAND = {
    "+z": ("right", "away", "up"),
    "-z": ("right", "near", "down"),
    "+y": ("right", "up", "near"),
    "-y": ("right", "down", "away"),
    "+x": ("up", "right", "away"),
    "-x": ("down", "right", "near"),
}


@pytest.mark.parametrize(("up", "axes"), BY_HAND.items())
def test_left_out_they_are_right_away_up_turned_with_up(up, axes):
    assert is_right_handed(axes)
    scene = scene_from_text(with_case(f'up = "{up}"'), file="a.toml")
    assert scene.axes is None
    assert scene.axes_taken == axes
    told = next(doubt for doubt in doubts(scene) if doubt.kind == "axes left out")
    x, y, z = axes
    assert told.where == "case.axes"
    assert f"x is taken to point {x}, y {y} and z {z}" in told.message
    assert "every tube in more than one plane comes out mirrored" in told.message
    assert f'write axes = ["{x}", "{y}", "{z}"]' in told.message


def test_left_out_with_no_up_they_are_right_away_up():
    scene = scene_from_text(with_case(""), file="a.toml")
    assert scene.up == (0.0, 0.0, 1.0)
    assert scene.axis_names == ("x right", "y away", "z up")


def assert_upright_and_right_handed(sides, up) -> None:
    rows = np.array([sides.right, sides.away, sides.up])
    assert rows @ rows.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(rows) == pytest.approx(1.0)
    assert rows[2] == pytest.approx(np.asarray(up) / np.linalg.norm(up))


part = st.floats(-1.0, 1.0)


@settings(derandomize=True, deadline=None)
@given(up=st.tuples(part, part, part).filter(lambda up: np.linalg.norm(up) > 0.01))
def test_whatever_up_is_the_sides_are_right_handed(up):
    sides = sides_of(axes=None, up=up)
    assert_upright_and_right_handed(sides, up)
    # x goes right where it is level enough to say so, else y.
    assert max(sides.right[0], sides.right[1]) > 0.4


def test_where_up_is_askew_the_axes_stay_bare_and_the_doubt_names_directions():
    scene = scene_from_text(with_case("up = [1, 0, 2]"), file="a.toml")
    assert scene.axes_taken is None
    assert scene.axis_names == ("x", "y", "z")
    told = next(doubt for doubt in doubts(scene) if doubt.kind == "axes left out")
    # Level and across up: (2, 0, -1) / sqrt 5 to the right, y away.
    assert "right is taken along (0.89, 0.00, -0.45), away along +y" in told.message
