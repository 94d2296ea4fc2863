"""GLB and STL files, read back by trimesh."""

from __future__ import annotations

import math
import struct
from dataclasses import replace
from io import BytesIO
from typing import Any

import numpy as np
import pytest
import trimesh

from loopsolver.errors import OutputError
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.mesh_shape import mesh_shape
from loopsolver.geometry.solids import Mesh
from loopsolver.plan import Plan
from loopsolver.scene.model import Body
from loopsolver.view.model_files import glb_bytes, models, stl_bytes, write_models
from tests.builders import demo_build
from tests.builders.scenes import box, part

TUBE = "front to tank"
"""From (85, 400, 375) to (85, 330, 375), a quarter turn, and down to z = 213."""

LENGTH = 70.0 + 162.0 - 2.0 * 28.0 + math.pi / 2.0 * 28.0


@pytest.fixture(scope="module")
def plan() -> Plan:
    return demo_build.vented_plan()


@pytest.fixture(scope="module")
def glb(plan: Plan) -> bytes:
    return glb_bytes(models(plan, plan.runs), plan.scene)


@pytest.fixture(scope="module")
def opened(glb: bytes) -> Any:
    return trimesh.load(BytesIO(glb), file_type="glb")


def test_tubes_are_nodes_under_the_names_of_their_runs(plan: Plan, opened) -> None:
    chosen = {run.name for run in plan.runs if run.chosen}
    names = {name: opened.graph[name][1] for name in opened.graph.nodes_geometry}
    assert chosen < names.keys()
    assert "pump to valve" not in names  # it has no tube
    assert {
        "tank",
        "front radiator",
        "side panel swing",
        "fitting on tank.in",
    } < names.keys()


def test_a_glb_is_in_metres_with_plus_y_up(opened) -> None:
    """The demo's x points right, y away and z up: (x, y, z) mm is (x, z, -y) / 1000."""
    low, high = opened.geometry[TUBE].bounds
    assert low == pytest.approx([0.078, 0.213, -0.400], abs=3e-5)
    assert high == pytest.approx([0.092, 0.382, -0.323], abs=3e-5)
    assert opened.units == "meters"


def test_every_tube_is_closed_and_of_its_volume(plan: Plan, opened) -> None:
    for run in plan.runs:
        if run.chosen:
            assert opened.geometry[run.name].is_watertight
    volume = opened.geometry[TUBE].volume * 1e9
    assert volume == pytest.approx(math.pi * 7.0**2 * LENGTH, rel=0.004)


def test_the_tank_is_the_cylinder_that_the_scene_has(opened) -> None:
    tank = opened.geometry["tank"]
    assert tank.is_watertight
    assert tank.volume * 1e9 == pytest.approx(math.pi * 30.0**2 * 150.0, rel=0.004)
    assert tank.extents == pytest.approx([0.060, 0.150, 0.060], rel=0.003)


def test_an_stl_is_in_millimetres_in_the_case_frame(plan: Plan) -> None:
    data = stl_bytes(models(plan, plan.runs, parts=["tubes"]))
    assert data[:14] == b"loopsolver mm "
    (count,) = struct.unpack("<I", data[80:84])
    assert len(data) == 84 + 50 * count
    whole: Any = trimesh.load(BytesIO(data), file_type="stl")
    assert whole.is_watertight
    assert whole.body_count == 4
    low, high = next(
        one.bounds for one in whole.split() if abs(one.bounds[0][2] - 213.0) < 1e-3
    )
    assert low == pytest.approx([78.0, 323.0, 213.0], abs=0.03)
    assert high == pytest.approx([92.0, 400.0, 382.0], abs=0.03)


def test_tubes_and_scene_may_be_written_alone(plan: Plan) -> None:
    tubes = {one.name for one in models(plan, plan.runs, parts=["tubes"])}
    scene = {one.name for one in models(plan, plan.runs[:1], parts=["scene"])}
    assert tubes == {run.name for run in plan.runs if run.chosen}
    assert "tank" in scene
    assert {name for name in scene if name.startswith("fitting")} == {
        "fitting on pump.out",
        "fitting on card.in",
    }


def test_a_body_with_the_name_of_a_run_gets_another(plan: Plan) -> None:
    twin = part("twin", box(TUBE, (0, 0, 0), (5, 5, 5)))
    scene = replace(plan.scene, components=(*plan.scene.components, twin))
    named = [one.name for one in models(replace(plan, scene=scene), plan.runs)]
    assert len(set(named)) == len(named)
    assert {TUBE, f"{TUBE} (2)"} < set(named)


def test_the_same_plan_gives_the_same_bytes(plan: Plan, glb: bytes) -> None:
    assert glb_bytes(models(plan, plan.runs), plan.scene) == glb


@pytest.mark.parametrize("name", ["build.glb", "build.stl"])
def test_only_what_loopsolver_wrote_is_written_over(plan: Plan, tmp_path, name) -> None:
    path, found = tmp_path / name, models(plan, plan.runs)
    for _ in range(2):
        write_models(found, path, scene=plan.scene)
    data = path.read_bytes()
    assert trimesh.load(path) is not None
    changed = bytearray(data)
    changed[-1] ^= 1
    for other in (bytes(changed), data[:-4], b"solid", b""):
        path.write_bytes(other)
        with pytest.raises(OutputError, match="not as loopsolver wrote it"):
            write_models(found, path, scene=plan.scene)
        assert path.read_bytes() == other
    write_models(found, path, scene=plan.scene, force=True)
    assert path.read_bytes() == data


def test_other_endings_and_files_that_are_read_are_refused(
    plan: Plan, tmp_path
) -> None:
    with pytest.raises(OutputError, match=r"ends in '\.obj'; wanted \.glb or \.stl"):
        write_models((), tmp_path / "a.obj", scene=plan.scene)
    path = tmp_path / "a.stl"
    path.write_bytes(b"")
    with pytest.raises(OutputError, match="the file that is read"):
        write_models((), path, scene=plan.scene, read=[path], force=True)


def test_a_mesh_goes_out_as_it_is() -> None:
    ball = trimesh.creation.icosphere(subdivisions=2, radius=20.0)
    frame = Frame(origin=(60.0, 50.0, 40.0))
    shape = mesh_shape(ball.vertices, ball.faces, digest="a ball")
    body = Body(name="ball", solid=Mesh(frame=frame, shape=shape))
    plan = demo_build.plan()
    scene = replace(plan.scene, components=(part("round", body),), keep_outs=())
    (one,) = models(Plan(scene=scene, runs=()), ())
    got = trimesh.Trimesh(one.mesh.vertices, one.mesh.faces)
    assert got.volume == pytest.approx(ball.volume)
    assert np.mean(got.bounds, axis=0) == pytest.approx([60.0, 50.0, 40.0])
