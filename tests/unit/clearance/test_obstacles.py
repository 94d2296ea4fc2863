"""What a run keeps clear of, by name and place."""

from __future__ import annotations

import numpy as np
import pytest

from loopsolver.clearance.obstacles import (
    fitting_body,
    obstacles_of_run,
    walls,
)
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box, bounds, signed_distance
from loopsolver.geometry.vectors import Point
from loopsolver.scene.model import (
    Body,
    Fitting,
    Port,
    RunRequest,
    Scene,
    mouth,
)
from tests.builders.scenes import COLLAR, part, port, scene, wanted

SPARE = Fitting(name="spare", height=30.0, depth=12.0, diameter=26.0, straight_beyond=5)


def _port(name: str, position: Point, direction: Point | str) -> Port:
    return port(name, position, direction, fittings=(COLLAR, SPARE))


def _block(name: str, centre: Point) -> Body:
    return Body(
        name=name, solid=Box(frame=Frame(origin=centre), size=(40.0, 40.0, 40.0))
    )


def _scene(*runs: RunRequest) -> Scene:
    pump = part(
        "pump",
        _block("pump", (60.0, 60.0, 20.0)),
        _block("pump body 2", (60, 60, 60.0)),
        _port("pump.out", (80.0, 60.0, 20.0), "+x"),
        _port("pump.top", (60.0, 60.0, 80.0), "+z"),
    )
    tank = part(
        "tank",
        _block("tank", (160.0, 300.0, 20.0)),
        _port("tank.in", (160.0, 280.0, 20.0), "-y"),
        _port("tank.out", (160.0, 300.0, 40.0), "+z"),
    )
    return scene(
        pump,
        tank,
        inner=(200.0, 440.0, 410.0),
        keep_outs=(_block("side panel swing", (180.0, 20.0, 200.0)),),
        runs=runs,
    )


PARTS = ["pump", "pump body 2", "tank", "side panel swing"]
WALLS = [f"case wall {side}" for side in ("-x", "+x", "-y", "+y", "-z", "+z")]

OUT = wanted("pump to tank", "pump.out", "tank.in")
TOP = wanted("back again", "tank.out", "pump.top")


def test_a_run_sees_parts_keep_outs_walls_and_foreign_fittings() -> None:
    names = [o.name for o in obstacles_of_run(_scene(OUT, TOP), OUT)]
    assert names == [*PARTS, *WALLS, "fitting on tank.out", "fitting on pump.top"]


def test_ports_without_a_run_are_plugged_flat() -> None:
    names = [o.name for o in obstacles_of_run(_scene(OUT), OUT)]
    assert names == [*PARTS, *WALLS]


def test_a_port_of_two_other_runs_has_one_fitting() -> None:
    odd = wanted("odd one", "tank.out", "pump.top")
    names = [o.name for o in obstacles_of_run(_scene(OUT, TOP, odd), OUT)]
    assert names.count("fitting on tank.out") == 1


def test_an_open_choice_brings_no_fitting() -> None:
    choosing = wanted("choosing", ("tank.out", "pump.top"), ("tank.in",))
    names = [o.name for o in obstacles_of_run(_scene(OUT, choosing), OUT)]
    assert names == [*PARTS, *WALLS]


def test_what_another_run_holds_is_no_free_choice() -> None:
    choosing = wanted("choosing", ("pump.out", "pump.top"), ("tank.out",))
    names = [o.name for o in obstacles_of_run(_scene(OUT, choosing), choosing)]
    assert names[-2:] == ["fitting on pump.out", "fitting on tank.in"]


def test_walls_leave_the_case_free() -> None:
    scene = _scene(OUT)
    inside = np.array([[50.0, 100.0, 400.0]])
    distances = {
        wall.name.removeprefix("case wall "): signed_distance(wall.solid, inside)[0]
        for wall in walls(scene)
    }
    by_hand = {"-x": 50, "+x": 150, "-y": 100, "+y": 340, "-z": 400, "+z": 10}
    assert distances == pytest.approx(by_hand)


def test_nothing_is_free_outside_of_the_case() -> None:
    outside = np.array([[-5.0, 100.0, 100.0], [100.0, 100.0, 417.0]])
    least = np.min(
        [signed_distance(wall.solid, outside) for wall in walls(_scene(OUT))], axis=0
    )
    assert least == pytest.approx([-5.0, -7.0])


def test_fitting_stands_between_port_and_mouth() -> None:
    port = _port("tank.in", (160.0, 280.0, 20.0), (0.0, -1.0, 0.0))
    body = fitting_body(port, COLLAR)
    assert body.name == "fitting on tank.in"
    # 20 high towards -y from the port's face, 22 across.
    expected = [[149.0, 260.0, 9.0], [171.0, 280.0, 31.0]]
    np.testing.assert_allclose(bounds(body.solid), expected, atol=1e-12)
    ends = np.array([port.position, mouth(port, COLLAR)])
    np.testing.assert_allclose(signed_distance(body.solid, ends), 0.0, atol=1e-12)


def test_fitting_on_a_slanting_port() -> None:
    port = _port("tank.in", (10.0, 20.0, 30.0), (0.6, 0.0, 0.8))
    solid = fitting_body(port, SPARE).solid
    # Along the port's axis, 15 in the middle of 30; square to it, 13 is the radius.
    probes = np.array(
        [
            [10.0 + 15 * 0.6, 20.0, 30.0 + 15 * 0.8],
            [10.0 + 40 * 0.6, 20.0, 30.0 + 40 * 0.8],
            [10.0 + 15 * 0.6, 20.0 + 15.0, 30.0 + 15 * 0.8],
        ]
    )
    np.testing.assert_allclose(
        signed_distance(solid, probes), [-13.0, 10.0, 2.0], atol=1e-12
    )
