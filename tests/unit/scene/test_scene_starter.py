"""The starter scene: without a fault or doubt, and with sensible tubes."""

from __future__ import annotations

import math
import tomllib
from itertools import pairwise

import numpy as np
import pytest

from loopsolver import route_scene
from loopsolver.scene.doubts import doubts
from loopsolver.scene.fitting_tables import FittingTable
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.schema import CaseTable, ComponentTable, RunTable
from loopsolver.scene.starter import STARTER
from loopsolver.scene.tube_tables import RulesTable, TubeTable
from tests.unit.scene.case_in_frames import AWAY, RIGHT, UP, matrix, middles_seen

# Drawn by hand on squared paper: port, vertices, port. The tube sits 8 mm (height less
# depth) off each port's face; a bend of 90 degrees saves (2 - pi/2) x 28 mm.
BY_HAND = {
    "tank to block": [(120, 205, 30), (120, 135, 30), (120, 135, 205), (42, 135, 205)],
    "block to tank": [
        (42, 95, 165),
        (120, 95, 165),
        (120, 95, 236),
        (120, 235, 236),
        (120, 235, 160),
    ],
}


def test_the_starter_scene_is_in_no_doubt():
    assert doubts(scene_from_text(STARTER, file="starter.toml")) == ()


def test_the_starter_stands_as_its_comments_say():
    """As seen from before the front: board on the right, tank near, x left of it."""
    scene = scene_from_text(STARTER, file="starter.toml")
    assert scene.axes == ("left", "near", "up")
    assert np.linalg.det(matrix(scene.axes)) == pytest.approx(1.0)
    seen = middles_seen(scene)
    assert seen["board"][RIGHT] > 75
    assert seen["tank"][AWAY] < -75
    assert seen["supply"][AWAY] > 75
    assert seen["supply"][UP] < -75


@pytest.mark.parametrize(
    "table", [CaseTable, TubeTable, RulesTable, FittingTable, ComponentTable, RunTable]
)
def test_every_key_without_a_default_is_shown(table):
    for key, field in table.by_key().items():
        if field.is_required():
            assert f"\n{key} = " in STARTER


def test_flow_loop_and_elbow_are_shown():
    data = tomllib.loads(STARTER)
    assert data["loop"]["order"] == ["tank", "block"]
    (elbow,) = [name for name, one in data["fittings"].items() if one.get("turn")]
    ports = [
        port
        for part in data["components"].values()
        for port in part.get("ports", {}).values()
    ]
    assert {port["flow"] for port in ports} == {"in", "out"}
    assert any(elbow in port["fitting"] for port in ports)


def test_each_tube_is_as_good_as_one_drawn_by_hand():
    plan = route_scene(scene_from_text(STARTER, file="starter.toml"))
    assert {run.name for run in plan.runs} == set(BY_HAND)
    for run in plan.runs:
        corners = BY_HAND[run.name]
        bends = len(corners) - 2
        legs = sum(math.dist(a, b) for a, b in pairwise(corners))
        length = legs - 2 * 8 - bends * (2 - math.pi / 2) * 28
        best = run.candidates[0]
        assert best.bends <= bends
        assert best.bends < bends or best.length <= length + 0.05
        assert best.blank <= 500
        assert best.gap.distance >= 3
