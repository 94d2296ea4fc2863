"""Gaps of tubes to meshes: against the same solids, python-fcl and dense sampling."""

import numpy as np
import pytest
import trimesh

from loopsolver.clearance.gap import curves_of, least_gap, least_gaps
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.errors import GeometryError
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box, Solid, signed_distance
from loopsolver.geometry.vectors import point
from loopsolver.routing.sampled_solids import laid_out
from loopsolver.routing.sampled_tube import laid_tube, least_distance
from loopsolver.tolerances import DEPTH_RESOLUTION, GAP_RESOLUTION
from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline, sample
from tests.builders.meshes import (
    PLY_NAMES,
    any_frame,
    cut_finely,
    fcl_distances,
    part_like,
    placed,
)
from tests.full import few_or_all

SIZE = (60.0, 20.0, 40.0)


def random_tube(rng: np.random.Generator) -> Centreline:
    while True:
        corners = tuple(point(at) for at in rng.uniform(-110.0, 120.0, (4, 3)))
        line = Centreline(vertices=corners, radius=12.0)
        try:
            curves_of(line)
        except GeometryError:
            continue
        return line


def gap_to(line, solid) -> float:
    among = [Obstacle(name="it", solid=solid)]
    return least_gap(line, among, tube_radius=0.0).distance


@pytest.mark.parametrize("seed", few_or_all(range(8), range(60)))
def test_a_tube_is_as_far_from_a_box_of_triangles_as_from_the_box(seed) -> None:
    rng = np.random.default_rng(seed)
    frame, line = any_frame(rng), random_tube(rng)
    mesh = placed(cut_finely(trimesh.creation.box(SIZE), 2), frame)
    wanted = gap_to(line, Box(frame=frame, size=SIZE))
    near = GAP_RESOLUTION if wanted > 0.0 else DEPTH_RESOLUTION
    assert gap_to(line, mesh) == pytest.approx(wanted, abs=near + GAP_RESOLUTION)


@pytest.mark.parametrize("seed", few_or_all(range(2), range(40)))
@pytest.mark.parametrize("name", PLY_NAMES)
def test_no_sample_of_a_tube_is_nearer_and_one_is_as_near(name, seed) -> None:
    """Samples each 0.02 mm round the nearest place, each 1 mm elsewhere, by fcl."""
    rng = np.random.default_rng(seed)
    mesh = placed(part_like(name, longest=100.0), any_frame(rng))
    line = random_tube(rng)
    gap = least_gap(line, [Obstacle(name=name, solid=mesh)], tube_radius=0.0)
    coarse, fine = (np.array(sample(line, spacing=by)) for by in (1.0, 0.02))
    near = fine[np.linalg.norm(fine - gap.at, axis=1) < 1.0]
    wanted = float(fcl_distances(mesh, np.concatenate([coarse, near])).min())
    if gap.distance <= 0.0:
        assert wanted < 1.0  # some sample is near to where it goes in
        return
    # a sample lies within 0.01 mm of the nearest place, and no distance changes faster
    assert wanted - 0.01 - 2e-4 <= gap.distance <= wanted + 2.0 * GAP_RESOLUTION


@pytest.mark.parametrize("seed", few_or_all(range(5), range(40)))
def test_the_inspection_finds_the_same_by_means_of_its_own(seed) -> None:
    rng = np.random.default_rng(seed)
    mesh = placed(part_like("nut", longest=90.0), any_frame(rng))
    line = random_tube(rng)
    vertices = np.array(line.vertices)
    along = vertices[1] - vertices[0]
    laid = laid_tube(
        bend_table(line),
        start=line.vertices[0],
        direction=point(along / np.linalg.norm(along)),
        towards=vertices[2] - vertices[1],
    )
    found, _, at = least_distance(
        laid.pieces, laid_out([Obstacle(name="it", solid=mesh)])
    )
    wanted = gap_to(line, mesh)
    assert found == pytest.approx(max(wanted, 0.0), abs=2.0 * GAP_RESOLUTION)
    assert abs(signed_distance(mesh, np.array([at]))[0]) == pytest.approx(
        found, abs=1e-6
    )


@pytest.mark.parametrize(("off", "nearest"), [(9.95, "mesh"), (10.05, "box")])
def test_the_nearer_of_a_mesh_and_a_box_is_found_where_they_are_nearly_as_far(
    off, nearest
) -> None:
    """Closed form: a box 10 below the first leg, and the mesh beyond the last one's end."""
    line = Centreline(vertices=((0, 0, 0), (100, 0, 0), (100, 100, 0)), radius=12.0)
    size = (40.0, 30.0, 20.0)
    below = Frame(origin=(50.0, 0.0, -20.0))
    beyond = Frame(origin=(100.0, 115.0 + off, 0.0))
    mesh = placed(cut_finely(trimesh.creation.box(size), 2), beyond)
    named: dict[str, Solid] = {"box": Box(frame=below, size=size), "mesh": mesh}
    among = [Obstacle(name=name, solid=solid) for name, solid in named.items()]
    gap = least_gap(line, among, tube_radius=7.0)
    assert gap.name == nearest
    assert gap.distance == pytest.approx(min(off, 10.0) - 7.0, abs=GAP_RESOLUTION)
    laid = laid_tube(
        bend_table(line),
        start=(0.0, 0.0, 0.0),
        direction=(1.0, 0.0, 0.0),
        towards=np.array([0.0, 1.0, 0.0]),
    )
    found, number, _ = least_distance(laid.pieces, laid_out(among))
    assert among[number].name == nearest
    assert found == pytest.approx(min(off, 10.0), abs=GAP_RESOLUTION)


def test_a_tube_all_inside_a_mesh_is_as_deep_as_it_is() -> None:
    """A ball of radius 50; the tube's end is 10 from its middle: 40 deep."""
    ball = trimesh.creation.icosphere(5, 50.0)
    mesh = placed(ball, any_frame(np.random.default_rng(1)))
    middle = np.array(mesh.frame.origin)
    along = np.array([1.0, 0.0, 0.0])
    ends = (point(middle + 10.0 * along), point(middle + 35.0 * along))
    line = Centreline(vertices=ends, radius=12.0)
    assert gap_to(line, mesh) == pytest.approx(-40.0, abs=DEPTH_RESOLUTION + 0.05)


def test_meshes_are_told_apart_by_name_among_other_solids() -> None:
    rng = np.random.default_rng(5)
    line = random_tube(rng)
    named: dict[str, Solid] = {
        "mesh": placed(part_like("ant", longest=60.0), any_frame(rng)),
        "box": Box(frame=any_frame(rng), size=SIZE),
        "ball": placed(trimesh.creation.icosphere(3, 20.0), any_frame(rng)),
    }
    among = [Obstacle(name=name, solid=solid) for name, solid in named.items()]
    gaps = least_gaps(line, among, tube_radius=7.0)
    for name, solid in named.items():
        alone = gap_to(line, solid) - 7.0
        near = GAP_RESOLUTION if alone > -7.0 else DEPTH_RESOLUTION
        assert gaps[name].distance == pytest.approx(alone, abs=2.0 * near)
    least = least_gap(line, among, tube_radius=7.0)
    assert least.distance == pytest.approx(
        min(gap.distance for gap in gaps.values()), abs=2.0 * DEPTH_RESOLUTION
    )
