"""The judge and meshes: a tube that goes into one is told as that, by closed form."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Mesh
from loopsolver.geometry.vectors import Point
from loopsolver.routing import judge
from loopsolver.routing.judge import judged, make_judge
from loopsolver.routing.sampled_mesh import laid_mesh, mesh_distance
from loopsolver.tolerances import DEPTH_RESOLUTION
from loopsolver.tube.centreline import Centreline
from tests.builders import problems
from tests.builders.meshes import cut_finely, shape_of

LINE = Centreline(
    vertices=((0, 0, 0), (100, 0, 0), (100, 100, 0), (100, 100, 100)), radius=28.0
)
RADIUS = 7.0


def problem(*named: tuple[str, Mesh]):
    return problems.problem(
        problems.end_at(LINE.vertices[0], "+x"),
        problems.end_at(LINE.vertices[3], "-z"),
        [Obstacle(name=name, solid=solid) for name, solid in named],
        inner=(400.0, 400.0, 400.0),
        max_bends=4,
    )


def box(size: Point, centre: Point, *, faces: slice = slice(None)) -> Mesh:
    """A box in 192 triangles, or some of them."""
    whole = cut_finely(trimesh.creation.box(size), 2)
    some = trimesh.Trimesh(whole.vertices, whole.faces[faces], process=False)
    shape = shape_of(some)
    return Mesh(frame=Frame(origin=centre), shape=shape)


@pytest.mark.parametrize(
    ("size", "depth", "at"),
    [  # the axis runs along x, then y: through the middle, 10 in; 4 below a face, 4 in
        ((20.0, 60.0, 60.0), 10.0, (50.0, 0.0, 0.0)),
        ((40.0, 8.0, 60.0), 4.0, None),
    ],
)
def test_a_tube_through_a_mesh_is_told_with_how_deep_and_where(size, depth, at) -> None:
    verdict = judged(make_judge(problem(("part", box(size, (50.0, 0.0, 0.0))))), LINE)
    (fault,) = verdict.faults
    assert (fault.rule, fault.at, fault.limits) == ("into", "part", (3.0,))
    assert fault.found == pytest.approx(depth + RADIUS, abs=DEPTH_RESOLUTION)
    if at is not None:
        assert fault.place == pytest.approx(at, abs=DEPTH_RESOLUTION)


def test_a_tube_through_an_open_mesh_goes_into_it_by_its_radius_at_least() -> None:
    """A surface has no inside: how deep is not known, the axis crosses it at x = 40."""
    surface = box((20.0, 60.0, 60.0), (50.0, 0.0, 0.0), faces=slice(0, -1))
    verdict = judged(make_judge(problem(("part", surface))), LINE)
    (fault,) = verdict.faults
    assert (fault.rule, fault.at) == ("into", "part")
    assert fault.found == pytest.approx(RADIUS, abs=1e-3)
    assert fault.place[0] == pytest.approx(40.0, abs=1e-3) or fault.place[
        0
    ] == pytest.approx(60.0, abs=1e-3)


def test_a_tube_all_inside_a_mesh_goes_into_it() -> None:
    """It begins 190 from the nearest face of a hollow of 400, and gets no deeper."""
    hollow = box((400.0, 400.0, 400.0), (10.0, 100.0, 100.0))
    post = box((10.0, 10.0, 10.0), (50.0, 60.0, 0.0))
    verdict = judged(make_judge(problem(("hollow", hollow), ("post", post))), LINE)
    (fault,) = verdict.faults
    assert (fault.rule, fault.at) == ("into", "hollow")


@pytest.mark.parametrize(("said", "rule"), [(9.0, "into"), (-50.0, "claimed gap")])
def test_a_false_gap_to_a_mesh_round_the_tube_is_seen(monkeypatch, said, rule) -> None:
    """The tube lies in a hollow; the claim is a gap to a post in it, 24 off by closed
    form (the axis at y = 0, the post from 31 on, less the radius), or a depth.
    """
    hollow = box((400.0, 400.0, 400.0), (10.0, 100.0, 100.0))
    post = box((10.0, 10.0, 10.0), (30.0, 36.0, 0.0))
    claim = Gap(distance=said, name="post", at=(30.0, 0.0, 0.0))
    monkeypatch.setattr(judge, "gap_around", lambda *_: claim)
    found = judged(make_judge(problem(("hollow", hollow), ("post", post))), LINE).faults
    assert rule in {one.rule for one in found if one.at == "hollow"}
    alone = judged(make_judge(problem(("post", post))), LINE).faults
    assert [one.rule for one in alone] == ["claimed gap", *(["into"] * (said < 0.0))]
    monkeypatch.setattr(judge, "gap_around", lambda *_: replace(claim, distance=24.0))
    assert judged(make_judge(problem(("post", post))), LINE).passes


def test_places_are_inside_where_solid_angles_say_so() -> None:
    """Against the closed form of a box."""
    solid = box((20.0, 60.0, 40.0), (5.0, 0.0, 0.0))
    laid = laid_mesh(solid)
    points = np.random.default_rng(2).uniform(-40.0, 40.0, (200, 3))
    beyond = np.abs(points - [5.0, 0.0, 0.0]) - [10.0, 30.0, 20.0]
    wanted = np.linalg.norm(np.maximum(beyond, 0.0), axis=1)
    wanted += np.minimum(beyond.max(axis=1), 0.0)
    found = [mesh_distance(laid, at) for at in points]
    np.testing.assert_allclose(found, wanted, atol=1e-9)
