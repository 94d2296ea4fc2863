"""Circular rims of meshes that are made with known cylinders, holes and ports."""

import numpy as np
import pytest
import trimesh
from scipy.spatial import Delaunay

from loopsolver.geometry.frames import rotation_matrix
from loopsolver.geometry.rims import Rim, rims_of
from loopsolver.geometry.vectors import point
from tests.builders.meshes import PLY_NAMES, cut_finely, part_like, shape_of
from tests.full import few_or_all

Wanted = tuple[str, float, tuple[float, float, float], tuple[float, float, float]]
"""What a rim is: kind, diameter, centre and axis."""

UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
PROFILE = [(0, 8), (6.5, 8), (6.5, 20), (40, 20), (40, 0), (10, 0), (10, -5), (0, -5)]
"""A disc with a blind hole from above and a stub below, as radius and height [mm]."""

TURNED: list[Wanted] = [
    ("stub", 80.0, (0, 0, 20), UP),
    ("stub", 80.0, (0, 0, 0), DOWN),
    ("stub", 20.0, (0, 0, -5), DOWN),
    ("foot", 20.0, (0, 0, 0), DOWN),
    ("hole", 13.0, (0, 0, 20), UP),
    ("bottom", 13.0, (0, 0, 8), UP),
]


def turned_part(corners: int) -> trimesh.Trimesh:
    profile = np.array(PROFILE, dtype=float)[::-1]
    return trimesh.creation.revolve(profile, sections=corners)


def plate(holes: list[tuple[float, float, float]], corners: int) -> trimesh.Trimesh:
    """A plate of 100 x 60 x 8 mm, z from 0, with round holes: middle x, y and radius."""
    turn = np.arange(corners) / corners * 2.0 * np.pi
    edge = np.array([(0, 0), (100, 0), (100, 60), (0, 60)], dtype=float)
    rings = [
        (x, y) + r * np.column_stack([np.cos(turn), np.sin(turn)]) for x, y, r in holes
    ]
    flat = np.concatenate([edge, *rings])
    faces = Delaunay(flat).simplices
    middles = flat[faces].mean(axis=1)
    for x, y, r in holes:
        is_in = np.hypot(*(middles - (x, y)).T) < r * np.cos(np.pi / corners)
        faces, middles = faces[~is_in], middles[~is_in]
    a, b, c = (flat[faces[:, k]] for k in range(3))
    is_down = np.linalg.det(np.stack([b - a, c - a], axis=1)) < 0.0
    faces[is_down] = faces[is_down, ::-1]
    count = len(flat)
    loops = [np.arange(4)]
    loops += [4 + k * corners + np.arange(corners)[::-1] for k in range(len(holes))]
    walls = []
    for loop in loops:
        after = np.roll(loop, -1)
        walls += [
            np.column_stack([loop, after, after + count]),
            np.column_stack([loop, after + count, loop + count]),
        ]
    places = np.concatenate(
        [np.column_stack([flat, np.full(count, z)]) for z in (0.0, 8.0)]
    )
    every = np.concatenate([faces[:, ::-1], faces + count, *walls])
    return trimesh.Trimesh(places, every, process=False)


def matched(rims: tuple[Rim, ...], wanted: list[Wanted], *, near: float) -> None:
    """Each rim that is wanted is found once, and no other."""
    assert len(rims) == len(wanted), rims
    left = list(rims)
    for kind, diameter, centre, axis in wanted:
        (found,) = [
            rim
            for rim in left
            if rim.kind == kind
            and abs(rim.diameter - diameter) < 2.0 * near
            and np.linalg.norm(np.subtract(rim.centre, centre)) < near
            and np.dot(rim.axis, axis) > np.cos(near / diameter * 2.0 + 1e-6)
        ]
        left.remove(found)


def moved(wanted: list[Wanted], turn: np.ndarray, by: np.ndarray) -> list[Wanted]:
    return [
        (kind, diameter, point(turn @ centre + by), point(turn @ axis))
        for kind, diameter, centre, axis in wanted
    ]


@pytest.mark.parametrize("corners", few_or_all((8, 24), (8, 9, 12, 24, 64, 360)))
def test_rims_of_a_turned_part_are_where_its_profile_has_them(corners) -> None:
    """From coarse, whose sides are edges too, to fine."""
    matched(rims_of(shape_of(turned_part(corners))), TURNED, near=1e-6)


@pytest.mark.parametrize("seed", few_or_all(range(3), range(40)))
def test_rims_are_found_in_any_placement_and_with_noise(seed) -> None:
    """Corners off by 0.02 mm (two of three), in single precision, as in an STL file."""
    rng = np.random.default_rng(seed)
    turn = rotation_matrix(point(rng.uniform(-180.0, 180.0, 3)))
    by = rng.uniform(-150.0, 150.0, 3)
    part = turned_part(int(rng.integers(12, 60)))
    noise = rng.normal(0.0, 0.02, part.vertices.shape)
    part.vertices = np.float32(part.vertices @ turn.T + by + noise)
    matched(rims_of(shape_of(part)), moved(TURNED, turn, by), near=0.1)


@pytest.mark.parametrize("times", [0, 1])
def test_every_hole_of_a_plate_has_two_mouths(times) -> None:
    """The second time every triangle is cut into four: the same circles, and corners."""
    holes = [(20.0, 20.0, 6.5), (60.0, 30.0, 10.0), (85.0, 45.0, 2.0)]
    part = cut_finely(plate(holes, 16), times)
    assert part.is_watertight
    assert part.volume > 0.0
    wanted: list[Wanted] = [
        ("hole", 2.0 * r, (x, y, z), axis)
        for x, y, r in holes
        for z, axis in ((0.0, DOWN), (8.0, UP))
    ]
    rims = rims_of(shape_of(part))
    matched(rims, wanted, near=1e-6)
    assert {rim.corners for rim in rims} == {16}


@pytest.mark.parametrize("corners", [8, 40])
def test_a_bare_pipe_ends_in_open_rims_that_point_away_from_it(corners) -> None:
    pipe = trimesh.creation.cylinder(7.0, 30.0, sections=corners)
    is_wall = np.abs(pipe.face_normals[:, 2]) < 0.5
    wall = trimesh.Trimesh(pipe.vertices, pipe.faces[is_wall], process=False)
    wanted: list[Wanted] = [
        ("open", 14.0, (0, 0, 15), UP),
        ("open", 14.0, (0, 0, -15), DOWN),
    ]
    for one in (wall, trimesh.Trimesh(wall.vertices, wall.faces[:, ::-1])):
        matched(rims_of(shape_of(one)), wanted, near=1e-6)


def oval(share: float) -> trimesh.Trimesh:
    part = trimesh.creation.cylinder(10.0, 20.0, sections=48)
    part.apply_scale([share, 1.0, 1.0])
    return part


@pytest.mark.parametrize(
    "part",
    [
        trimesh.creation.box((20.0, 30.0, 40.0)),
        trimesh.creation.cylinder(8.0, 10.0, sections=6),  # the sides of a nut
        trimesh.creation.icosphere(3, 20.0),
        trimesh.creation.torus(30.0, 8.0),
        oval(1.1),
        cut_finely(trimesh.creation.cylinder(8.0, 10.0, sections=6), 2),
    ],
    ids=["box", "nut", "ball", "torus", "oval", "nut in small triangles"],
)
def test_what_has_no_circular_edge_has_no_rims(part) -> None:
    assert rims_of(shape_of(part)) == ()


def test_a_circle_a_little_out_of_round_says_by_how_much() -> None:
    """Half axes 10.2 and 10: the best circle is between them, 0.1 off at the ends."""
    for rim in rims_of(shape_of(oval(1.02))):
        assert rim.diameter == pytest.approx(20.2, abs=0.01)
        assert rim.off == pytest.approx(0.1, abs=0.01)


@pytest.mark.parametrize("name", PLY_NAMES)
def test_shapes_that_are_no_parts_are_looked_at_without_fuss(name) -> None:
    """Whatever is found lies on the mesh: a corner of it is half a diameter away."""
    mesh = part_like(name, longest=60.0)
    for rim in rims_of(shape_of(mesh)):
        ways = np.linalg.norm(mesh.vertices - np.array(rim.centre), axis=1)
        assert np.abs(ways - rim.diameter / 2.0).min() <= rim.off + 1e-9
