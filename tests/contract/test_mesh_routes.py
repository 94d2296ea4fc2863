"""Routes past meshes: as past the same solids, and judged once more by python-fcl."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from loopsolver import Plan, route_scene
from loopsolver.geometry.mesh_shape import sought_further
from loopsolver.geometry.solids import Mesh
from loopsolver.scene.reader import load_scene
from loopsolver.tolerances import GAP_RESOLUTION
from loopsolver.tube.centreline import sample
from tests.builders.meshes import PLY_NAMES, even_box, fcl_distances, part_like
from tests.full import few_or_all

KINDS = ("ply", "stl", "obj", "glb", "3mf")
RADIUS, CLEARANCE = 7.0, 3.0
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
position = [170, 60, 5]
[[components.b.bodies]]
box = [30, 30, 20]
[components.b.ports.in]
position = [15, 15, 20]
direction = "+z"
[[runs]]
from = "a.out"
to = "b.in"
[components.part]
position = [120, 70, 60]
rotation = TURNED
[[components.part.bodies]]
"""


def scene_of(folder, body: str, *, turned: tuple[int, int, int]):
    path = folder / "scene.toml"
    path.write_text(HEAD.replace("TURNED", str(list(turned))) + body + "\n")
    return load_scene(path)


def chosen_of(scene):
    (run,) = route_scene(scene).runs
    assert run.candidates
    return run.candidates


@pytest.mark.parametrize(
    ("turned", "kind"),
    few_or_all(
        [((0, 0, 0), "cylinder")],
        [
            (turned, kind)
            for turned in ((0, 0, 0), (90, 0, 0), (20, 0, 30), (45, 45, 0))
            for kind in ("cylinder", "box")
        ],
    ),
)
def test_a_solid_and_itself_in_fine_triangles_give_the_same_routes(
    tmp_path, turned, kind
) -> None:
    """But for the chord error, and for what a search keeps further from a mesh.

    A tube that lies against the part on a leg is longer on either side by as much as it
    keeps further off; four times that for legs on two sides.
    """
    if kind == "cylinder":
        solid = "cylinder = { diameter = 60, height = 80 }\ncentre = [0, 0, 0]"
        mesh, chord = trimesh.creation.cylinder(30.0, 80.0, sections=180), 30.0 * 1.6e-4
    else:
        solid = "box = [60, 50, 80]\ncentre = [0, 0, 0]"
        mesh, chord = even_box((60.0, 50.0, 80.0), triangles=3000), 0.0
    mesh.export(tmp_path / "part.stl")
    body = 'mesh = "part.stl"\nunit = "mm"\ncentre = [0, 0, 0]'
    in_mesh = scene_of(tmp_path, body, turned=turned)
    (part,) = [
        one.solid
        for component in in_mesh.components
        for one in component.bodies
        if isinstance(one.solid, Mesh)
    ]
    off = chord + sought_further(part.shape, RADIUS + CLEARANCE)
    assert off < 0.1
    found = chosen_of(in_mesh)
    wanted = chosen_of(scene_of(tmp_path, solid, turned=turned))
    assert found[0].bends == wanted[0].bends
    assert found[0].length == pytest.approx(wanted[0].length, abs=4.0 * off + 0.01)
    assert found[0].gap.distance >= CLEARANCE - GAP_RESOLUTION


@pytest.mark.parametrize(
    ("name", "kind"),
    few_or_all(
        [("sphere", "3mf")],
        [(name, kind) for name in PLY_NAMES for kind in KINDS],
    ),
)
def test_routes_past_a_mesh_of_each_format_keep_the_clearance(
    tmp_path, name, kind
) -> None:
    """Each candidate sampled every half millimetre, and measured by python-fcl."""
    part_like(name, longest=70.0).export(tmp_path / f"part.{kind}")
    body = f'mesh = "part.{kind}"\nunit = "mm"\ncentre = [0, 0, 0]'
    scene = scene_of(tmp_path, body, turned=(10, 20, 30))
    plan = route_scene(scene)
    path = tmp_path / "plan.json"
    plan.write(path, scene_path=tmp_path / "scene.toml")
    assert Plan.read(path).runs[0].candidates  # judged afresh
    mesh = next(
        one.solid
        for component in scene.components
        for one in component.bodies
        if isinstance(one.solid, Mesh)
    )
    for candidate in plan.runs[0].candidates[:2]:
        points = np.array(sample(candidate.centreline, spacing=0.5))
        near = np.linalg.norm(points - np.array(mesh.frame.origin), axis=1) < 70.0
        if not near.any():
            continue
        gap = float(fcl_distances(mesh, points[near]).min()) - RADIUS
        assert gap >= CLEARANCE - 1e-3
        if candidate.gap.name == "part":
            assert gap == pytest.approx(candidate.gap.distance, abs=0.05)
