"""Distances of flat-ended cylinders against a general collision library."""

import fcl
import numpy as np
import pytest

from loopsolver.clearance.gap import stands_clear
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace
from loopsolver.geometry.vectors import point, unit
from tests.builders.fcl_bodies import in_fcl


def random_pair(rng: np.random.Generator) -> tuple[Cylinder, Box | Cylinder]:
    body = Cylinder(
        frame=axis_frame(
            point(rng.uniform(-5.0, 5.0, 3)), unit(rng.normal(size=3).tolist())
        ),
        diameter=22.0,
        height=float(rng.uniform(12.0, 60.0)),
    )
    turns = rng.uniform(-180.0, 180.0, 3) if rng.random() < 0.5 else np.zeros(3)
    away = rng.normal(size=3)
    away *= rng.uniform(40.0, 70.0) / np.linalg.norm(away)
    frame = Frame.from_rotation(point(away), rotation_matrix(turns.tolist()))
    if rng.random() < 0.6:
        return body, Box(frame=frame, size=point(rng.uniform(5.0, 50.0, 3)))
    return body, Cylinder(frame=frame, diameter=30.0, height=40.0)


def distance_by_fcl(first: Cylinder, second: Box | Cylinder) -> float:
    request = fcl.DistanceRequest(enable_signed_distance=True)
    return float(fcl.distance(in_fcl(first), in_fcl(second), request))


SLACK = 0.01
"""How finely the library's iterations are trusted here [mm]."""


def test_what_is_clear_agrees_with_the_library() -> None:
    rng = np.random.default_rng(4)
    told = []
    for _ in range(150):
        body, other = random_pair(rng)
        apart = distance_by_fcl(body, other)
        if apart < 0.1:
            continue
        thing = [Obstacle(name="thing", solid=other)]
        assert stands_clear(body, thing, by=apart - SLACK)
        assert not stands_clear(body, thing, by=apart + SLACK)
        told.append(apart)
    assert len(told) > 80


@pytest.mark.parametrize("tilt_deg", [0.0, 20.0, 45.0, 90.0])
def test_a_wall_is_as_near_as_the_rim(tilt_deg: float) -> None:
    """The rim reaches h/2 cos t + r sin t towards a plane at t to the end's face."""
    tilt = np.radians(tilt_deg)
    body = Cylinder(
        frame=axis_frame((0.0, 0.0, 50.0), point([np.sin(tilt), 0.0, np.cos(tilt)])),
        diameter=22.0,
        height=30.0,
    )
    floor = Obstacle(
        name="floor", solid=HalfSpace(point=(0.0, 0.0, 0.0), normal=(0.0, 0.0, 1.0))
    )
    apart = 50.0 - 15.0 * np.cos(tilt) - 11.0 * np.sin(tilt)
    assert stands_clear(body, [floor], by=apart)
    assert not stands_clear(body, [floor], by=apart + 1e-3)


def test_nothing_is_in_the_way_of_nothing() -> None:
    body = Cylinder(frame=Frame(), diameter=22.0, height=30.0)
    assert stands_clear(body, [], by=3.0)
