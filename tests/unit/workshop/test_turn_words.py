"""How the turn between two planes is said and pictured."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.drafting.drawing import Circle, Line
from loopsolver.tube.bend_table import bend_table
from loopsolver.tube.centreline import Centreline
from loopsolver.workshop.flat import flat_planes, mirrored
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.turn_note import note_panel, turn_picture, turn_words


def planes_of(vertices):
    line = Centreline(
        vertices=tuple(tuple(map(float, v)) for v in vertices), radius=20.0
    )
    return flat_planes(bend_table(line))


RIGHT_HANDED = ((0, 0, 0), (80, 0, 0), (80, 90, 0), (80, 90, 90))
LEFT_HANDED = ((0, 0, 0), (80, 0, 0), (80, 90, 0), (80, 90, -90))


def test_the_tube_is_turned_against_what_the_next_bend_is():
    first, _ = planes_of(RIGHT_HANDED)
    leans, turn = turn_words(first)
    assert leans.startswith("Bend 2 points 90° clockwise of bend 1")
    assert turn.endswith("turn the tube 90° anticlockwise.")
    first, _ = planes_of(LEFT_HANDED)
    leans, turn = turn_words(first)
    assert leans.startswith("Bend 2 points 90° anticlockwise of bend 1")
    assert turn.endswith("turn the tube 90° clockwise.")


def seen_from_the_first_end(vertices, plane):
    """Return where both bends point as an eye behind the shared leg sees them.

    The sheet lies level under the tube, its upper side up. Directions in space come
    from the vertices alone: towards the leg before the shared one, and towards the leg
    after it.
    """
    v = np.asarray(vertices, float)
    number = plane.bends[-1].number
    before, shared, after = (v[number + i] - v[number + i - 1] for i in (0, 1, 2))
    along = shared / np.linalg.norm(shared)
    back = -(before - along * (before @ along))
    onward = after - along * (after @ along)
    normal = np.cross(before, shared) * plane.bends[-1].side
    up = normal / np.linalg.norm(normal)
    right = np.cross(along, up)
    return [math.degrees(math.atan2(d @ up, d @ right)) % 360.0 for d in (back, onward)]


@pytest.mark.parametrize("vertices", [RIGHT_HANDED, LEFT_HANDED])
@pytest.mark.parametrize("seen", [lambda plane: plane, mirrored])
def test_the_picture_shows_what_the_eye_sees(vertices, seen):
    plane = seen(planes_of(vertices)[0])
    lines = [
        e
        for e in turn_picture((0.0, 0.0), plane)
        if isinstance(e, Line) and e.layer is Layers.INSIDE
    ]
    found = [math.degrees(math.atan2(e.end[1], e.end[0])) % 360.0 for e in lines]
    wanted = seen_from_the_first_end(vertices, plane)
    for one, other in zip(found, wanted, strict=True):
        assert abs((one - other + 180.0) % 360.0 - 180.0) < 1e-6


@pytest.mark.parametrize("turn", [0.3, 1.3, 12.0, 25.0, 39.0, 90.0, 179.0])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_numbers_of_a_small_turn_stand_apart(turn, way):
    angle = math.radians(way * turn)
    end = (80.0 - 90.0 * math.cos(angle), 90.0, 90.0 * math.sin(angle))
    first, _ = planes_of(((0, 0, 0), (80, 0, 0), (80, 90, 0), end))
    discs = [
        e
        for e in turn_picture((0.0, 0.0), first)
        if isinstance(e, Circle) and e.layer is Layers.TURN
    ]
    one, other = discs
    assert math.dist(one.centre, other.centre) >= one.radius + other.radius


def test_the_last_plane_has_no_turn():
    first, last = planes_of(RIGHT_HANDED)
    assert turn_words(last) == ()
    assert turn_picture((0.0, 0.0), last) == ()
    assert note_panel(last, beside=()) is None
    panel = note_panel(first, beside=())
    assert panel is not None
    assert panel.width > 0.0
    assert panel.height > 0.0
