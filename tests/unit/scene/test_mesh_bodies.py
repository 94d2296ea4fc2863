"""Meshes as bodies of a scene: where they stand, what they hold, what plans know."""

import hashlib
import json

import numpy as np
import pytest
import trimesh

from loopsolver import Plan, route_scene
from loopsolver.errors import PlanError, SceneError
from loopsolver.geometry.solids import Box, Mesh, bounds, signed_distance
from loopsolver.report.scene_summary import scene_summary
from loopsolver.scene.doubts import doubts
from loopsolver.scene.reader import load_scene
from tests.builders.meshes import PLY_NAMES, cut_finely, part_like

SIZE = (50.0, 60.0, 70.0)
HEAD = """format = 1
[case]
inner = [240, 240, 240]
axes = ["right", "away", "up"]
[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
bend_radius = 28
[components.a]
position = [40, 40, 5]
[[components.a.bodies]]
box = [30, 30, 20]
[components.a.ports.out]
position = [15, 15, 20]
direction = "+z"
[components.b]
position = [170, 40, 5]
[[components.b.bodies]]
box = [30, 30, 20]
[components.b.ports.in]
position = [15, 15, 20]
direction = "+z"
[[runs]]
from = "a.out"
to = "b.in"
[components.part]
position = [95, 30, 5]
[[components.part.bodies]]
"""


def scene_of(folder, body: str):
    path = folder / "scene.toml"
    path.write_text(HEAD + body + "\n")
    return load_scene(path)


def body_of(folder, body: str):
    return scene_of(folder, body).components[-1].bodies[0].solid


def write_box(folder, *, times: int = 0) -> None:
    """A box with its least corner at (7, 8, 9) in the file."""
    mesh = cut_finely(trimesh.creation.box(SIZE), times)
    mesh.apply_translation(np.array(SIZE) / 2.0 + [7.0, 8.0, 9.0])
    mesh.export(folder / "part.stl")


@pytest.mark.parametrize(
    ("mesh", "box"),
    [
        ("corner = [1, 2, 3]", "corner = [1, 2, 3]"),
        ("centre = [1, 2, 3]", "centre = [1, 2, 3]"),
        (
            "corner = [1, 2, 3]\nrotation = [0, 30, 90]",
            "corner = [1, 2, 3]\nrotation = [0, 30, 90]",
        ),
        ("", "corner = [7, 8, 9]"),
    ],
)
def test_a_mesh_is_placed_as_a_box_is(tmp_path, mesh, box) -> None:
    write_box(tmp_path)
    found = body_of(tmp_path, f'mesh = "part.stl"\nunit = "mm"\n{mesh}')
    wanted = body_of(tmp_path, f"box = [50, 60, 70]\n{box}")
    assert isinstance(found, Mesh)
    assert isinstance(wanted, Box)
    np.testing.assert_allclose(bounds(found), bounds(wanted), atol=1e-5)
    points = np.random.default_rng(0).uniform(0.0, 200.0, (50, 3))
    np.testing.assert_allclose(
        signed_distance(found, points), signed_distance(wanted, points), atol=1e-5
    )


@pytest.mark.parametrize(
    ("unit", "per"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("m", 1000.0)]
)
def test_a_mesh_is_as_large_as_its_unit_says(tmp_path, unit, per) -> None:
    trimesh.creation.box((1.0, 2.0, 3.0)).export(tmp_path / "part.stl")
    found = body_of(tmp_path, f'mesh = "part.stl"\nunit = "{unit}"')
    np.testing.assert_allclose(np.ptp(bounds(found), axis=0), [per, 2 * per, 3 * per])


@pytest.mark.parametrize("name", PLY_NAMES)
def test_every_format_holds_the_same_mesh(tmp_path, name) -> None:
    """Written by trimesh; float32 in most of the files."""
    mesh = part_like(name, longest=80.0)
    points = np.random.default_rng(1).uniform(0.0, 200.0, (60, 3))
    found = []
    for kind in ("ply", "stl", "obj", "glb", "3mf"):
        mesh.export(tmp_path / f"part.{kind}")
        body = f'mesh = "part.{kind}"\nunit = "mm"\ncentre = [0, 0, 0]'
        found.append(np.abs(signed_distance(body_of(tmp_path, body), points)))
    for other in found[1:]:
        np.testing.assert_allclose(other, found[0], atol=1e-4)


def test_a_mesh_without_an_inside_is_told(tmp_path) -> None:
    body = 'mesh = "part.stl"\nunit = "mm"'
    write_box(tmp_path)
    assert "no inside" not in [one.kind for one in doubts(scene_of(tmp_path, body))]
    box = trimesh.creation.box(SIZE)
    trimesh.Trimesh(box.vertices, box.faces[1:], process=False).export(
        tmp_path / "part.stl"
    )
    (told,) = [
        one for one in doubts(scene_of(tmp_path, body)) if one.kind == "no inside"
    ]
    assert told.where == "part"
    assert "open at 3 sides" in told.message
    other = trimesh.creation.box((10.0, 10.0, 10.0))
    other.apply_translation([25.0, 1.0, 2.0])
    trimesh.util.concatenate([box, other]).export(tmp_path / "part.stl")
    (told,) = [
        one for one in doubts(scene_of(tmp_path, body)) if one.kind == "no inside"
    ]
    assert "run through each other" in told.message


def test_a_box_gives_the_same_routes_as_itself_cut_into_triangles(tmp_path) -> None:
    """The chord error of a box is none."""
    write_box(tmp_path, times=2)
    by_mesh = route_scene(scene_of(tmp_path, 'mesh = "part.stl"\nunit = "mm"'))
    by_box = route_scene(scene_of(tmp_path, "box = [50, 60, 70]\ncorner = [7, 8, 9]"))
    (mesh_run,), (box_run,) = by_mesh.runs, by_box.runs
    assert len(mesh_run.candidates) == len(box_run.candidates) > 0
    for found, wanted in zip(mesh_run.candidates, box_run.candidates, strict=True):
        assert found.length == pytest.approx(wanted.length, abs=0.01)
        assert found.gap.distance == pytest.approx(wanted.gap.distance, abs=0.01)


def test_check_says_how_much_further_off_tubes_are_sought(tmp_path) -> None:
    """Of no place of the box a sample is further than 1 / sqrt(2) mm, in its face.

    So at 10 mm, radius and clearance, by the hypotenuse: sqrt(100.5) - 10 = 0.025 mm.
    """
    write_box(tmp_path, times=3)
    rows = dict(scene_summary(scene_of(tmp_path, 'mesh = "part.stl"\nunit = "mm"')))
    assert rows["meshes"].startswith("1 with 768 triangles; ")
    assert "up to 0.03 mm further off" in rows["meshes"]
    assert "meshes" not in dict(scene_summary(scene_of(tmp_path, "box = [9, 9, 9]")))


def test_a_plan_knows_when_a_mesh_of_its_scene_has_changed(tmp_path) -> None:
    write_box(tmp_path)
    scene = scene_of(tmp_path, 'mesh = "part.stl"\nunit = "mm"')
    path = tmp_path / "plan.json"
    route_scene(scene).write(path, scene_path=tmp_path / "scene.toml")
    Plan.read(path)
    trimesh.creation.box((51.0, 60.0, 70.0)).export(tmp_path / "part.stl")
    with pytest.raises(PlanError, match=r"mesh part\.stl of scene .* has changed"):
        Plan.read(path)
    (tmp_path / "part.stl").unlink()
    with pytest.raises(SceneError, match="no such file"):
        Plan.read(path)


def test_a_plan_whose_tube_goes_through_a_mesh_is_told_as_that(tmp_path) -> None:
    """Routed past a small box; a mesh stands in the tube's way when the plan is read.

    The axis passes the box of 50 x 60 x 70 mm along x: its faces in y are 15 and 45 mm
    off the axis, the lower in z 60 mm and the upper 10 mm; the tube's radius is 7 mm.
    """
    scene, path = tmp_path / "scene.toml", tmp_path / "plan.json"
    route_scene(scene_of(tmp_path, "box = [1, 1, 1]")).write(path, scene_path=scene)
    plan = json.loads(path.read_text())
    write_box(tmp_path)
    low = plan["runs"][0]["candidates"][0]["vertices"][1][2]
    corner = [0.0, 10.0, low - 5.0 - 60.0]
    scene_of(tmp_path, f'mesh = "part.stl"\nunit = "mm"\ncorner = {corner}')
    plan["scene_sha256"] = hashlib.sha256(scene.read_bytes()).hexdigest()
    mesh = hashlib.sha256((tmp_path / "part.stl").read_bytes()).hexdigest()
    path.write_text(json.dumps({**plan, "meshes": {"part.stl": mesh}}))
    with pytest.raises(PlanError) as caught:
        Plan.read(path)
    told = next(iter(str(caught.value).splitlines()))
    assert "vertices: found a tube that goes 17 mm deep into 'part', its axis" in told
    assert "at least 3 mm, the clearance" in told


@pytest.mark.parametrize(
    ("keys", "path", "wanted"),
    [
        ("", "mesh", "unit = "),
        ('unit = "mmm"', "unit", '"cm"'),
        ('unit = "mm"\naxis = "+z"', "axis", "rotation"),
        ('unit = "mm"\nbase = [0, 0, 0]', "base", "corner"),
    ],
)
def test_a_mesh_without_its_unit_or_with_foreign_keys_is_told(
    tmp_path, keys, path, wanted
) -> None:
    write_box(tmp_path)
    with pytest.raises(SceneError) as caught:
        scene_of(tmp_path, f'mesh = "part.stl"\n{keys}')
    (fault,) = caught.value.faults
    assert fault.key_path == f"components.part.bodies[1].{path}"
    assert wanted in fault.wanted
