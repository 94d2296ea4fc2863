"""Volumes of bores against meshes, and of a plan's loop by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from loopsolver.hydraulics.filling import fill_plan
from loopsolver.hydraulics.insides import insides, slices
from loopsolver.hydraulics.levels import standing
from loopsolver.hydraulics.volumes import bore_ml, volumes
from loopsolver.tube.centreline import developed_length, sample
from tests.builders.random_loops import RADIUS, random_direction, random_loop
from tests.builders.wet_loops import water, wet_plan

ROUND = 64  # corners of a ring: its area is 0.16 % less than a disc's


def swept(points) -> trimesh.Trimesh:
    """A mesh of rings round points of a centre line, shut at both ends."""
    along = np.gradient(points, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    aside = np.cross(along[0], np.eye(3)[int(np.abs(along[0]).argmin())])
    rings = []
    turn = np.arange(ROUND) * 2.0 * math.pi / ROUND
    for point, way in zip(points, along, strict=True):
        aside = aside - (aside @ way) * way
        aside /= np.linalg.norm(aside)
        other = np.cross(way, aside)
        rings.append(
            point
            + RADIUS * (np.cos(turn)[:, None] * aside + np.sin(turn)[:, None] * other)
        )
    vertices = np.vstack([*rings, points[:1], points[-1:]])
    here = np.arange(ROUND)
    after = np.roll(here, -1)
    last, end = len(vertices) - 1, (len(points) - 1) * ROUND
    faces = [
        np.stack([here, np.full(ROUND, last - 1), after], axis=1)[:, [1, 2, 0]],
        np.stack([np.full(ROUND, last), end + here, end + after], axis=1),
    ]
    for ring in range(len(points) - 1):
        a, b = ring * ROUND + here, ring * ROUND + after
        faces.append(np.stack([a, b, a + ROUND], axis=1))
        faces.append(np.stack([b, b + ROUND, a + ROUND], axis=1))
    return trimesh.Trimesh(vertices=vertices, faces=np.vstack(faces), process=False)


@pytest.mark.parametrize("seed", range(2))
def test_bores_hold_what_a_mesh_of_them_holds(seed) -> None:
    loop = random_loop(seed)
    cut = slices(loop.inside)
    stand = standing(loop.inside, cut, random_direction(np.random.default_rng(seed)))
    for place, line in enumerate(loop.lines):
        mesh = swept(sample(line, spacing=2.0))
        assert mesh.is_watertight
        theirs = abs(float(mesh.volume)) / 1000.0
        assert bore_ml(2.0 * RADIUS, developed_length(line)) == pytest.approx(
            theirs, rel=4e-3
        )
        whole = stand.slices_above(-1e4, np.flatnonzero(cut.bore == place))
        assert whole.sum() == pytest.approx(theirs, rel=4e-3)


@pytest.mark.parametrize("seed", range(2))
def test_part_of_a_bore_above_a_level_is_that_of_a_mesh_cut_there(seed) -> None:
    """trimesh's own cut by a plane, with a cap, in the middle of a tube's heights."""
    loop = random_loop(seed)
    up = random_direction(np.random.default_rng(50 + seed))
    cut = slices(loop.inside)
    stand = standing(loop.inside, cut, up)
    points = sample(loop.lines[0], spacing=2.0)
    level = float(np.median(points @ np.array(up)))
    mesh = swept(points)
    kept = trimesh.intersections.slice_faces_plane(
        mesh.vertices, mesh.faces, np.array(up), level * np.array(up)
    )
    vertices, faces = kept[0] - level * np.array(up), kept[1]
    triangles = vertices[faces]  # the cap lies in the plane through the new origin
    theirs = (
        abs(
            float(
                np.einsum(
                    "ij,ij->i",
                    triangles[:, 0],
                    np.cross(triangles[:, 1], triangles[:, 2]),
                ).sum()
            )
        )
        / 6000.0
    )
    ours = stand.slices_above(level, np.flatnonzero(cut.bore == 0)).sum()
    assert ours == pytest.approx(theirs, rel=6e-3, abs=0.01)


def test_a_loop_holds_its_tubes_fittings_and_parts() -> None:
    """Three tubes of three 200 mm legs and two bends of 28 mm, 10 mm inside.

    By hand: 600 - 2 x 28 (2 - pi/2) = 575.96 mm each, 45.236 mL; full less empty,
    48 g of water at 998.2 kg/m3, are 48.09 mL.
    """
    plan = wet_plan(
        water("pump", volume=60), water("block", weighed=[812, 860]), unlaid=[]
    )
    found = volumes(plan)
    assert [volume for _, volume in found.tubes] == pytest.approx(
        [45.236] * 3, abs=0.001
    )
    parts = dict(found.parts)
    assert parts["pump"] == 60.0
    assert parts["block"] == pytest.approx(48.09, abs=0.005)
    assert found.unknown == ("front",)
    assert found.known_ml == pytest.approx(
        3 * 45.236 + found.fittings_ml + 60.0 + 48.09, abs=0.01
    )


def test_a_run_without_a_tube_holds_nothing() -> None:
    plan = wet_plan(unlaid=["pump to block"])
    assert [name for name, _ in volumes(plan).tubes] == [
        "block to front",
        "front to pump",
    ]
    assert len(insides(plan).bores) == 2


def test_without_a_vent_and_a_drain_there_is_no_answer() -> None:
    found = fill_plan(wet_plan())
    assert found.air == ()
    assert found.drain == ()
    assert found.ways == 1
