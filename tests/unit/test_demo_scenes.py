"""The demonstration builds: sound as drawings, and worth routing."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import fcl
import numpy as np
import pytest

from loopsolver import Plan, load_scene, route_scene
from loopsolver.geometry.solids import Box, Cylinder, Solid
from loopsolver.scene.model import Body, Scene
from loopsolver.scene.walls import room
from tests.builders.fcl_bodies import in_fcl
from tests.full import few_or_all, only_in_full
from tests.unit.scene.case_in_frames import AWAY, RIGHT, UP, middles_seen

FOLDER = Path(__file__).parents[2] / "scenes"
SCENES = ("wren", "heron", "robin", "dipper")

ROUTED = few_or_all(("wren", "heron", "robin"), SCENES)
"""The last one takes half a minute: its order and ports are free."""

SKIN = 0.01  # mm: what is drawn to touch may touch; a hundredth is below any caliper

# Routes drawn by hand on squared paper, as the vertices between the ports' faces: a
# search that finds worse ones is at fault. Bends first, then the length of the tube.
BY_HAND: dict[tuple[str, str], list[tuple[float, float, float]]] = {
    ("wren", "block to radiator"): [(75, 95, 149)],
    ("wren", "radiator to block"): [(115, 95, 149), (181, 95, 149), (181, 95, 58)],
    ("heron", "pump to meter"): [(150, 270, 35), (27, 270, 35)],
    ("heron", "meter to block"): [(27, 270, 358), (98.6, 270, 358), (98.6, 120, 358)],
    ("heron", "block to roof"): [(101, 120, 332), (101, 46, 332)],
    ("heron", "roof to card"): [(139, 46, 340), (139, 135, 340)],
    ("heron", "card to front"): [(139, 167, 435)],
    ("heron", "front to pump"): [(64, 355, 55), (64, 355, 242)],
    ("robin", "pump to block"): [
        (38.1, 154, 116.84),
        (38.1, 154, 167.64),
        (86.36, 154, 167.64),
        (86.36, 97.79, 167.64),
    ],
    ("robin", "block to card"): [(137.16, 69.85, 167.64), (137.16, 124.46, 167.64)],
    ("robin", "card to radiator"): [(137.16, 152.4, 131), (137.16, 302.26, 131)],
    ("robin", "radiator to pump"): [(48.26, 302.26, 101.6)],
}


@cache
def scene_of(name: str) -> Scene:
    return load_scene(FOLDER / f"{name}.toml")


@cache
def plan_of(name: str) -> Plan:
    return route_scene(scene_of(name))


def collision_object(solid: Solid) -> fcl.CollisionObject:
    """Return python-fcl's own shape for a solid, a skin smaller all round."""
    assert isinstance(solid, Box | Cylinder)
    return in_fcl(solid, skin=SKIN)


def bodies(scene: Scene) -> list[Body]:
    parts = [body for part in scene.components for body in part.bodies]
    return [*parts, *scene.keep_outs]


def polyline_length(vertices: Sequence[Sequence[float]], radius: float) -> float:
    """Return the developed length for square bends: each saves (2 - pi/2) R."""
    legs = sum(math.dist(a, b) for a, b in itertools.pairwise(vertices))
    return legs - (len(vertices) - 2) * (2 - math.pi / 2) * radius


# What a person sees who stands before the front, by the comments of each scene: what is
# at the front and what at the rear; and on which side the board stands, or lies lowest.
STANDS = {
    "wren": ("radiator", "rear_sockets", "lies"),
    "heron": ("front_fans", "rear_fan", "right"),
    "robin": ("pump", "rear_fan", "right"),
    "dipper": ("front_fans", "rear_sockets", "right"),
}


@pytest.mark.parametrize("name", SCENES)
def test_each_scene_stands_as_its_comments_say(name: str) -> None:
    scene = scene_of(name)
    assert scene.axes == ("left", "near", "up")
    seen = middles_seen(scene)
    front, rear, board = STANDS[name]
    assert seen[front][AWAY] < 0.0 < seen[rear][AWAY]
    if board == "right":
        assert seen["board"][RIGHT] > 0.4 * room(scene)[1][0]
    else:
        assert seen["board"][UP] < -0.4 * room(scene)[1][2]


def test_every_scene_of_the_folder_is_tried() -> None:
    assert {path.stem for path in FOLDER.glob("*.toml")} == set(SCENES)


def test_every_run_has_a_route_by_hand() -> None:
    runs = {(name, run.name) for name in SCENES for run in scene_of(name).runs}
    assert runs == set(BY_HAND)


@pytest.mark.parametrize("name", SCENES)
def test_nothing_stands_in_anything_else(name: str) -> None:
    placed = [
        (body.name, collision_object(body.solid)) for body in bodies(scene_of(name))
    ]
    struck = [
        (first, second)
        for (first, a), (second, b) in itertools.combinations(placed, 2)
        if fcl.collide(a, b, fcl.CollisionRequest(), fcl.CollisionResult())
    ]
    assert struck == []


@pytest.mark.parametrize("name", SCENES)
def test_everything_stands_in_the_case(name: str) -> None:
    scene = scene_of(name)
    inner = np.array(room(scene)[1])
    for body in bodies(scene):
        solid = body.solid
        assert isinstance(solid, Box | Cylinder)
        size = (
            np.array(solid.size)
            if isinstance(solid, Box)
            else np.array([solid.diameter, solid.diameter, solid.height])
        )
        half = np.abs(solid.frame.rotation) @ size / 2
        centre = np.array(solid.frame.origin)
        assert np.all(centre - half >= -SKIN), body.name
        assert np.all(centre + half <= inner + SKIN), body.name


@pytest.mark.parametrize("name", SCENES)
def test_ports_lie_on_a_face_and_point_out_of_it(name: str) -> None:
    for part in scene_of(name).components:
        solids = [collision_object(body.solid) for body in part.bodies]
        for port in part.ports:
            probe = fcl.Sphere(0.5)
            place, out = np.array(port.position), np.array(port.direction)
            hits = [
                any(
                    fcl.collide(
                        fcl.CollisionObject(probe, fcl.Transform(place + step * out)),
                        solid,
                        fcl.CollisionRequest(),
                        fcl.CollisionResult(),
                    )
                    for solid in solids
                )
                for step in (-0.6, 0.6)
            ]
            assert hits == [True, False], port.name


# Published sizes, in mm: fan frames from open CAD libraries, boards from the microATX
# specification 1.2 (table 3) and the mini-ITX outline, drives from SFF-8301 and
# SFF-8201.
@pytest.mark.parametrize(
    ("name", "component", "size"),
    [
        ("wren", "board", (170, 170)),
        ("wren", "fan", (120, 120)),
        ("wren", "drive", (69.85, 100.2, 9.5)),
        ("heron", "board", (244, 305)),
        ("heron", "rear_fan", (120, 120)),
        ("heron", "drives", (101.6, 146.05, 25.4)),
        ("heron", "small_drive", (69.85, 100.2, 9.5)),
        ("dipper", "board", (244, 244)),
        ("dipper", "front_fans", (120, 240)),
        ("robin", "board", (170, 170)),
        ("robin", "rear_fan", (92, 92)),
        ("robin", "drive", (69.85, 100.2, 9.5)),
    ],
)
def test_parts_have_their_published_sizes(
    name: str, component: str, size: tuple[float, ...]
) -> None:
    (part,) = (one for one in scene_of(name).components if one.name == component)
    solid = part.bodies[0].solid
    assert isinstance(solid, Box)
    found = sorted(solid.size)[-len(size) :]
    assert found == pytest.approx(sorted(size), abs=0.05)


@pytest.mark.parametrize(("name", "run"), BY_HAND)
def test_routes_are_no_worse_than_those_drawn_by_hand(name: str, run: str) -> None:
    scene = scene_of(name)
    (planned,) = (one for one in plan_of(name).runs if one.name == run)
    best = planned.chosen_candidate
    assert best is not None, planned.why
    (fitting,) = {
        fitting
        for part in scene.components
        for port in part.ports
        for fitting in port.fittings
    }
    stand_off = fitting.height - fitting.depth
    ends = [scene.port(planned.from_port), scene.port(planned.to_port)]
    first, last = (
        np.array(port.position) + stand_off * np.array(port.direction) for port in ends
    )
    drawn = [tuple(first), *BY_HAND[name, run], tuple(last)]
    assert best.bends <= len(drawn) - 2
    if best.bends == len(drawn) - 2:
        by_hand = polyline_length(drawn, scene.tube.bend_radii[0])
        assert best.length <= by_hand + 1e-6


@pytest.mark.parametrize("name", ROUTED)
def test_nothing_was_refused_and_tubes_bend_in_more_than_one_plane(name: str) -> None:
    runs = plan_of(name).runs
    assert [run.refused for run in runs] == [0] * len(runs)
    best = [run.chosen_candidate for run in runs]
    assert all(one is not None and 1 <= one.bends <= 5 for one in best)
    assert any(one is not None and one.planes >= 2 for one in best)


@only_in_full
def test_the_entangled_build_is_one_circuit_through_each_part_once() -> None:
    """Eight tubes that no order lets lie where each would lie by itself."""
    plan = plan_of("dipper")
    assert plan.loop is not None
    assert plan.loop.ended == "done"
    assert plan.loop.rounds > 0
    assert plan.loop.total > plan.loop.bound
    ends = [(run.from_port.split("."), run.to_port.split(".")) for run in plan.runs]
    assert len(ends) == 8
    for (_, (into, entered)), ((out, left), _) in zip(
        ends, [*ends[1:], ends[0]], strict=True
    ):
        assert into == out
        assert entered != left
    assert len({start[0] for start, _ in ends}) == 8
