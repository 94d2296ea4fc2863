"""From text to Scene: the case frame, units, defaults, and what a run's ends mean."""

from __future__ import annotations

import hashlib
import json
import math
import subprocess
import sys

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.errors import SceneError
from loopsolver.geometry.solids import Box, Cylinder, signed_distance
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import load_scene, scene_from_text
from loopsolver.scene.schema import SceneFile
from loopsolver.scene.starter import STARTER

CASE = """\
format = 1
[case]
inner = [200, 300, 250]
[tube]
material = "copper"
outer_diameter = 15
inner_diameter = 13
"""


def scene(text: str) -> Scene:
    return scene_from_text(CASE + text, file="folder/siskin.toml")


def test_defaults_are_those_that_are_stated():
    bare = scene("")
    assert bare.title == "siskin"
    assert bare.units == "mm"
    assert bare.up == (0.0, 0.0, 1.0)
    assert bare.file_name == "siskin.toml"
    # the interface states these defaults, and the radius as twice the outer diameter
    assert bare.tube.bend_radii == (30.0,)
    assert bare.tube.stock_length == 500
    assert bare.tube.trim_allowance == 30
    assert bare.rules.clearance == 3
    assert bare.rules.straight_between_bends == 15
    assert bare.rules.bend_angles_deg == (90.0,)
    assert bare.rules.turn_step_deg == "any"
    assert list(bare.rules.bend_range) == [5, 120]
    assert bare.rules.max_bends == 5
    assert bare.rules.candidates == 6
    assert bare.components == ()
    assert bare.keep_outs == ()
    assert bare.runs == ()
    assert bare.readings == ()


@pytest.mark.parametrize(
    ("material", "trim"), [("acrylic", 40.0), ("petg", 40.0), ("copper", 30.0)]
)
def test_hot_tube_is_left_longer_to_hold_it_by_than_copper(
    material: str, trim: float
) -> None:
    """40 mm of tube that is bent hot and 30 mm of copper, as the interface states."""
    text = CASE.replace("copper", material)
    read = scene_from_text(text, file="siskin.toml")
    assert (read.tube.material, read.tube.trim_allowance) == (material, trim)


def test_the_grip_is_asked_only_where_it_is_stated() -> None:
    assert scene("").tube.grip is None
    stated = CASE + 'grip = "1 in"\n'
    assert scene_from_text(stated, file="siskin.toml").tube.grip == 25.4
    with pytest.raises(SceneError, match=r"tube\.grip"):
        scene_from_text(CASE + "grip = 0\n", file="siskin.toml")


def test_a_stock_that_the_usual_trim_alone_uses_up_is_a_fault() -> None:
    """Twice 40 mm of acrylic are 80 mm."""
    text = CASE.replace("copper", "acrylic") + "stock_length = 80\n"
    with pytest.raises(SceneError, match="both ends together, 80 mm"):
        scene_from_text(text, file="siskin.toml")


def test_the_hash_is_that_of_the_files_bytes(tmp_path):
    data = b"\xef\xbb\xbf" + CASE.replace("\n", "\r\n").encode()
    path = tmp_path / "robin.toml"
    path.write_bytes(data)
    read = load_scene(str(path))
    assert read.sha256 == hashlib.sha256(data).hexdigest()
    assert read.file_name == "robin.toml"
    assert read.case_inner == (200.0, 300.0, 250.0)
    assert scene("").sha256 == hashlib.sha256(CASE.encode()).hexdigest()


@pytest.mark.parametrize(("unit", "factor"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4)])
def test_plain_numbers_are_in_the_scenes_unit(unit, factor):
    text = f"""\
format = 1
units = "{unit}"
[case]
inner = [80, 100, "250 mm"]
[tube]
material = "petg"
outer_diameter = "1/2 in"
inner_diameter = "3/8 in"
bend_radius = [20, "3 cm"]
[rules]
clearance = 0.125
"""
    read = scene_from_text(text, file="a.toml")
    assert read.units == unit
    assert read.case_inner == pytest.approx((80 * factor, 100 * factor, 250), abs=1e-9)
    assert read.tube.bend_radii == pytest.approx((20 * factor, 30), abs=1e-9)
    assert read.tube.outer_diameter == 12.7
    assert read.tube.inner_diameter == 9.525
    assert read.rules.clearance == pytest.approx(0.125 * factor, abs=1e-9)


TURNED = """
[components.pump]
position = [60, 100, 10]
rotation = [30, -50, 110]
[[components.pump.bodies]]
box = [40, 30, 20]
centre = [5, 6, 7]
rotation = [0, 25, 70]
[[components.pump.bodies]]
cylinder = { diameter = 12, height = 50 }
centre = [-8, 3, 2]
axis = [1, 2, -2]
rotation = [15, 0, 40]
[components.pump.ports.out]
position = [25, 6, 7]
direction = [3, 0, -4]
"""


def turned(*angles: float) -> np.ndarray:
    """Return a rotation about fixed x, then y, then z, as scipy makes it."""
    return Rotation.from_euler("xyz", angles, degrees=True).as_matrix()


def test_a_turned_component_is_placed_as_scipy_turns_it():
    pump = scene(TURNED).components[0]
    outside, origin = turned(30, -50, 110), np.array([60, 100, 10])
    port = pump.ports[0]
    assert port.position == pytest.approx(outside @ [25, 6, 7] + origin, abs=1e-9)
    assert port.direction == pytest.approx(outside @ [0.6, 0, -0.8], abs=1e-12)
    assert port.name == "pump.out"
    assert port.component == "pump"


def test_a_turned_box_has_its_corners_where_scipy_puts_them():
    body = scene(TURNED).components[0].bodies[0]
    assert isinstance(body.solid, Box)
    corners = np.array(
        [(x, y, z) for x in (-20, 20) for y in (-15, 15) for z in (-10, 10)]
    )
    within = corners @ turned(0, 25, 70).T + [5, 6, 7]
    inside = within @ turned(30, -50, 110).T + [60, 100, 10]
    assert signed_distance(body.solid, inside) == pytest.approx(0, abs=1e-9)
    assert body.name == "pump body 1"


def test_a_turned_cylinder_lies_along_its_axis():
    body = scene(TURNED).components[0].bodies[1]
    assert isinstance(body.solid, Cylinder)
    axis = np.array([1, 2, -2]) / 3  # length 3: a Pythagorean quadruple
    rims = np.add(np.outer([-25, 25], turned(15, 0, 40) @ axis), [-8, 3, 2])
    ends = rims @ turned(30, -50, 110).T + [60, 100, 10]
    centre = ends.mean(axis=0)
    assert signed_distance(body.solid, ends) == pytest.approx(0, abs=1e-9)
    assert signed_distance(body.solid, centre[None]) == pytest.approx(-6, abs=1e-9)
    assert body.solid.height == 50


def test_quarter_turns_are_exact():
    port = (
        scene(
            """
[components.pump]
position = [60, 100, 10]
rotation = [0, 0, 90]
[components.pump.ports.out]
position = [30, 0, 90]
direction = "-y"
"""
        )
        .components[0]
        .ports[0]
    )
    assert port.position == (60.0, 130.0, 100.0)
    assert port.direction == (1.0, 0.0, 0.0)
    assert all(math.copysign(1, part) == 1 for part in port.direction)


def test_bodies_and_keep_outs_have_names_for_messages():
    read = scene(
        """
[components.fan]
position = [0, 0, 0]
[[components.fan.bodies]]
box = [10, 20, 30]
centre = [5, 10, 15]
[[keep_outs]]
name = "door"
cylinder = { diameter = 6, height = 20 }
centre = [50, 60, 70]
axis = "-x"
"""
    )
    assert [body.name for body in read.components[0].bodies] == ["fan"]
    door = read.keep_outs[0]
    assert door.name == "door"
    ends = np.array([[40, 60, 70], [60, 60, 70], [50, 63, 70], [50, 60, 67]])
    assert signed_distance(door.solid, ends) == pytest.approx(0, abs=1e-12)


COLLAR = "[fittings.collar]\nheight=20\ndepth=12\ndiameter=22\nstraight_beyond=5\n"
ELBOW = (
    "[fittings.elbow]\nheight=18\ndepth=12\ndiameter=22\nstraight_beyond=5\n"
    "turn=90\nreach=20\n"
)
PORT = """
[components.pump]
position = [0, 0, 0]
[components.pump.ports.out]
position = [9, 9, 9]
direction = "+z"
"""


@pytest.mark.parametrize(
    ("text", "names"),
    [
        (PORT, ["built-in collar"]),
        (COLLAR + PORT, ["collar"]),
        (COLLAR + ELBOW + PORT, ["built-in collar"]),
        (COLLAR + ELBOW + PORT + 'fitting = "elbow"', ["elbow"]),
        (COLLAR + ELBOW + PORT + 'fitting = ["elbow", "collar"]', ["elbow", "collar"]),
    ],
)
def test_which_fittings_a_port_has(text, names):
    port = scene(text).port("pump.out")
    assert [fitting.name for fitting in port.fittings] == names
    assert port.flow == "either"


def test_fittings_are_read_whole():
    port = scene(COLLAR + ELBOW + PORT + 'fitting = "elbow"\nflow = "in"').port(
        "pump.out"
    )
    elbow = port.fittings[0]
    assert (elbow.height, elbow.depth, elbow.diameter) == (18, 12, 22)
    assert (elbow.straight_beyond, elbow.turn_deg, elbow.reach) == (5, 90, 20)
    assert port.flow == "in"


@pytest.mark.parametrize(
    ("fitting", "called"),
    [(COLLAR, "height"), (ELBOW, "reach"), (COLLAR + "turn=0\n", "height")],
)
def test_a_tube_ends_within_its_fitting(fitting: str, called: str) -> None:
    """Both are less deep than 25 mm: the collar is 20 mm high, the elbow reaches 20."""
    deep = fitting.replace("depth=12", "depth=25")
    with pytest.raises(SceneError, match=f"at most the {called}, 20 mm"):
        scene(deep + PORT)


ENDS = """
[components.pump]
position = [0, 0, 0]
ports.b = { position = [1, 1, 1], direction = "+x" }
ports.a = { position = [1, 9, 1], direction = "+x" }
[components.tank]
position = [0, 0, 0]
ports.in = { position = [50, 50, 50], direction = "-x" }
[[runs]]
name = "one"
"""


@pytest.mark.parametrize(
    ("ends", "start", "goal"),
    [
        ('from = "pump.a"\nto = "tank.in"', ("pump.a",), ("tank.in",)),
        ('from = "tank"\nto = "pump"', ("tank.in",), ("pump.b", "pump.a")),
        (
            'from = ["pump.a", "pump.b"]\nto = ["tank.in"]',
            ("pump.a", "pump.b"),
            ("tank.in",),
        ),
        ('from = ["pump.a", "pump"]\nto = "tank"', ("pump.a", "pump.b"), ("tank.in",)),
        ('from = "pump"\nto = "pump"', ("pump.b", "pump.a"), ("pump.b", "pump.a")),
    ],
)
def test_what_a_runs_ends_mean(ends, start, goal):
    run = scene(ENDS + ends).runs[0]
    assert (run.from_ports, run.to_ports) == (start, goal)
    assert run.bend_radii is None
    assert run.bend_angles_deg is None
    assert run.max_bends is None


def test_a_runs_own_rules():
    own = 'bend_radius = [35, "4 cm"]\nbend_angles = [90, 45, 45]\nmax_bends = 0\n'
    run = scene(ENDS + 'from = "pump.a"\nto = "tank"\n' + own).runs[0]
    assert run.bend_radii == (35.0, 40.0)
    assert run.bend_angles_deg == (45.0, 90.0)
    assert run.max_bends == 0
    free = scene(ENDS + 'from = "pump.a"\nto = "tank"\nbend_angles = "any"').runs[0]
    assert free.bend_angles_deg == "any"


def test_repeated_readings_count_by_their_mean_and_are_kept():
    read = scene(
        """
[components.pump]
position = [[101.0, 101.5, 100.5], 40, ["4 in", 102.6]]
[components.pump.ports.out]
position = [1, [2, 4], 3]
direction = "+z"
"""
    )
    assert read.port("pump.out").position == pytest.approx((102, 43, 105.1), abs=1e-9)
    assert [(each.where, each.values) for each in read.readings] == [
        ("components.pump.position[1]", (101, 101.5, 100.5)),
        ("components.pump.position[3]", (101.6, 102.6)),
        ("components.pump.ports.out.position[2]", (2, 4)),
    ]


def test_long_and_short_directions_mean_the_same():
    for length in (1e-9, 1, 1e9):
        text = PORT.replace('"+z"', f"[{3 * length}, 0.0, {4 * length}]")
        direction = scene(text).port("pump.out").direction
        assert direction == pytest.approx((0.6, 0, 0.8), abs=1e-15)


def test_importing_the_reader_does_not_wait_for_pydantic():
    code = (
        "import sys, loopsolver.scene.reader; "
        "sys.exit(any(name in sys.modules for name in ('pydantic', 'scipy', 'trimesh')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_json_schema_knows_the_keys_of_the_starter_scene():
    import tomllib

    import jsonschema

    schema = SceneFile.model_json_schema(by_alias=True)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    data = tomllib.loads(STARTER)
    assert list(validator.iter_errors(data)) == []
    for spoilt in (
        {**data, "shade": "a"},
        {key: value for key, value in data.items() if key != "case"},
        {**data, "runs": [{"name": "a", "from": "b"}]},
        {**data, "tube": {**data["tube"], "material": "glass"}},
    ):
        assert list(validator.iter_errors(spoilt)) != []
    assert json.loads(json.dumps(schema)) == schema
