"""What meshes cost: reading them against the reading library, routes against boxes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import trimesh

from loopsolver.clearance import distance_field, mesh_shadows
from loopsolver.geometry import mesh_grid, solids
from loopsolver.report.planning import route_scene
from loopsolver.routing import sampled_mesh
from loopsolver.scene import mesh_files
from loopsolver.scene.reader import load_scene
from tests.builders.meshes import heron_in_meshes
from tests.commands import SCENES
from tests.full import few_or_all
from tests.interleaved import Measured, in_turn

pytestmark = pytest.mark.bench


def forget_meshes() -> None:
    """Let each time read its files anew and lay its meshes out anew."""
    for kept in (
        mesh_files._read,
        mesh_grid.mesh_grid,
        mesh_grid.covered_nodes,
        solids._mesh_bounds,
        mesh_shadows._known,
        distance_field._near,
        distance_field.distance_field,
        sampled_mesh.laid_mesh,
    ):
        kept.cache_clear()


@pytest.mark.parametrize(
    ("kind", "triangles", "most"),
    few_or_all(
        (("stl", 30_000, 10.0),),
        (
            ("stl", 30_000, 10.0),
            *((kind, 300_000, 3.0) for kind in ("stl", "obj", "ply", "3mf")),
        ),
    ),
)
def test_reading_against_the_reading_library(
    tmp_path: Path, kind: str, triangles: int, most: float, measured: Measured
) -> None:
    """The vertices merged by both; ours knows besides what is inside.

    Of GLB the library only notes where in the file what stands: that it is no measure.
    """
    path = tmp_path / f"ring.{kind}"
    around = round((triangles * 1.25) ** 0.5)
    mesh = trimesh.creation.torus(
        40.0, 15.0, major_sections=around, minor_sections=triangles // (2 * around)
    )
    mesh.export(path)
    ready = []

    def ours() -> None:
        forget_meshes()
        shape = mesh_files.shape_in(
            mesh_files.mesh_file(path.name, tmp_path), unit="mm"
        )
        ready.append(shape.has_inside)

    pair = in_turn(
        {"ready for measuring": ours, "trimesh.load": lambda: trimesh.load(path)},
        pairs=5,
        warm=1,
    )
    assert all(ready)
    measured(f"a {kind.upper()} file of {len(mesh.faces)} triangles", pair, most=most)
    assert pair.ratio <= most


@pytest.mark.parametrize(
    ("triangles", "runs", "most"),
    few_or_all(((10_000, 1, 10.0),), ((10_000, 1, 10.0), (100_000, 6, 3.0))),
)
def test_three_meshes_against_the_same_boxes(
    tmp_path: Path, triangles: int, runs: int, most: float, measured: Measured
) -> None:
    """The demo with six runs, or the first of them alone, for which meshes are laid out.

    The files are read each time.
    """
    in_meshes = heron_in_meshes(tmp_path, triangles=triangles)
    lengths = []

    def routed(path: Path) -> None:
        forget_meshes()
        scene = load_scene(path)
        plan = route_scene(replace(scene, runs=scene.runs[:runs]))
        chosen = [run.chosen_candidate for run in plan.runs]
        lengths.append([one.length for one in chosen if one is not None])
        assert len(lengths[-1]) == runs

    pair = in_turn(
        {
            "meshes": lambda: routed(in_meshes),
            "boxes": lambda: routed(SCENES / "heron.toml"),
        },
        pairs=3 if runs > 1 else 1,
        warm=0 if runs > 1 else 1,
    )
    for found, wanted in zip(lengths[::2], lengths[1::2], strict=True):
        assert found == pytest.approx(wanted, abs=0.05)
    what = f"{runs} runs of heron, three bodies of {triangles} triangles each"
    measured(what, pair, most=most)
    assert pair.ratio <= most
