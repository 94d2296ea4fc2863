"""Sweeps: against python-fcl, looked at every fifth of a millimetre."""

from __future__ import annotations

import math
import random

import fcl
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.assembly.swept import (
    Slide,
    Swing,
    flush_curves,
    solid_slides_free,
    tube_slides_free,
    tube_swings_free,
)
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solid_set import stack
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace
from loopsolver.geometry.vectors import point, unit
from tests.builders.taken_apart import Body, manager, meets, stretches, swung
from tests.builders.tubes import laid_along_x, turned
from tests.full import few_or_all

RADIUS = 7.0
FINE = 0.2


def any_way(rng: random.Random):
    return unit([rng.gauss(0.0, 1.0) for _ in range(3)])


def any_solid(rng: random.Random, far: float):
    centre = [rng.uniform(-far, far) for _ in range(3)]
    if rng.random() < 0.5:
        turn = Rotation.from_rotvec(np.multiply(any_way(rng), rng.uniform(0.0, 3.0)))
        size = [rng.uniform(10.0, 60.0) for _ in range(3)]
        return Box(
            frame=Frame.from_rotation(centre, turn.as_matrix()), size=point(size)
        )
    return Cylinder(
        frame=axis_frame(centre, any_way(rng)),
        diameter=rng.uniform(10.0, 50.0),
        height=rng.uniform(10.0, 60.0),
    )


def body(solid: Box | Cylinder, *, skin: float) -> Body:
    """Return a solid as the library's, smaller all round; larger if that is negative."""
    shape = (
        fcl.Box(*(length - 2.0 * skin for length in solid.size))
        if isinstance(solid, Box)
        else fcl.Cylinder(solid.diameter / 2.0 - skin, solid.height - 2.0 * skin)
    )
    return shape, solid.frame.rotation, np.array(solid.frame.origin)


def moved_by(bodies: list[Body], way) -> list[Body]:
    return [(shape, turn, at + np.asarray(way)) for shape, turn, at in bodies]


def places(length: float):
    return np.linspace(0.0, length, math.ceil(length / FINE) + 1)


@pytest.mark.parametrize("seed", few_or_all(range(10), range(400)))
def test_a_tube_slides_as_the_library_has_it(seed) -> None:
    """Free: it meets nothing that is thinner by what may go unseen. Blocked: it does.

    The library's tube is thinner by 0.3 mm, and its bends are laid as chords; solids that
    are larger by as much again give that back, and a tenth.
    """
    rng = random.Random(seed)
    line = laid_along_x(turned([0.0, 90.0], straight=40.0, closing=40.0))
    solids = [any_solid(rng, 150.0) for _ in range(4)]
    slide = Slide(way=any_way(rng), by=rng.uniform(20.0, 200.0))
    tube = stretches(line, RADIUS)
    thin, fat = (
        manager(body(one, skin=skin) for one in solids) for skin in (0.0, -0.5)
    )
    if meets(tube, fat):
        solids = [
            one for one in solids if not meets(tube, manager([body(one, skin=-0.5)]))
        ]
        thin, fat = (
            manager(body(one, skin=skin) for one in solids) for skin in (0.0, -0.5)
        )
    if not solids:
        return
    curves = flush_curves(line, radius=RADIUS)
    found = tube_slides_free(curves, stack(solids), slide, radius=RADIUS)
    ways = [np.multiply(slide.way, at) for at in places(slide.by)]
    if found:
        assert not any(meets(moved_by(tube, way), thin) for way in ways)
    else:
        assert any(meets(moved_by(tube, way), fat) for way in ways)


@pytest.mark.parametrize("seed", few_or_all(range(4), range(200)))
def test_a_tube_swings_as_the_library_has_it(seed) -> None:
    rng = random.Random(seed)
    line = laid_along_x(turned([0.0, 90.0], straight=40.0, closing=40.0))
    tube = stretches(line, RADIUS)
    solids = [any_solid(rng, 150.0) for _ in range(4)]
    solids = [one for one in solids if not meets(tube, manager([body(one, skin=-0.5)]))]
    if not solids:
        return
    angle = rng.choice((-1.0, 1.0)) * rng.uniform(0.3, math.pi)
    swing = Swing(centre=(0.0, 0.0, 0.0), axis=(1.0, 0.0, 0.0), angle=angle)
    curves = flush_curves(line, radius=RADIUS)
    found = tube_swings_free(curves, stack(solids), swing, radius=RADIUS)
    angles = np.linspace(0.0, angle, math.ceil(abs(angle) * 75.0 / FINE))
    around = manager(body(one, skin=0.0 if found else -0.5) for one in solids)
    met = any(
        meets(swung(tube, np.zeros(3), np.array([1.0, 0.0, 0.0]), one), around)
        for one in angles
    )
    assert met != found


@pytest.mark.parametrize("seed", few_or_all(range(15), range(400)))
def test_a_solid_slides_as_the_library_has_it(seed) -> None:
    """It may come into the other by half a millimetre, no more."""
    rng = random.Random(seed)
    one, other = any_solid(rng, 20.0), any_solid(rng, 90.0)
    if meets([body(one, skin=0.0)], manager([body(other, skin=0.0)])):
        return
    slide = Slide(way=any_way(rng), by=rng.uniform(10.0, 150.0))
    found = solid_slides_free(one, other, slide)
    skin = 0.3 if found else 0.1
    mover, around = [body(one, skin=skin)], manager([body(other, skin=skin)])
    met = any(
        meets(moved_by(mover, np.multiply(slide.way, at)), around)
        for at in places(slide.by)
    )
    assert met != found


def box(low, high):
    centre = point((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    return Box(
        frame=Frame(origin=centre),
        size=point(b - a for a, b in zip(low, high, strict=True)),
    )


@pytest.mark.parametrize(
    ("way", "free"),
    [
        ((1.0, 0.0, 0.0), False),
        ((-1.0, 0.0, 0.0), True),
        ((0.0, 1.0, 0.0), True),
        ((0.0, 0.0, -1.0), True),
        ((0.6, 0.8, 0.0), False),
        ((-0.6, 0.8, 0.0), True),
    ],
)
def test_two_boxes_side_by_side_block_the_half_circle_between_them(way, free) -> None:
    """They touch along x = 10: by hand."""
    first = box((0.0, 0.0, 0.0), (10.0, 50.0, 10.0))
    second = box((10.0, 0.0, 0.0), (20.0, 50.0, 10.0))
    assert solid_slides_free(first, second, Slide(way=way, by=12.0)) == free


def test_a_wall_stops_what_slides_into_it() -> None:
    wall = HalfSpace(point=(0.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))
    first = box((10.0, 0.0, 0.0), (20.0, 10.0, 10.0))
    assert solid_slides_free(first, wall, Slide(way=(-1.0, 0.0, 0.0), by=10.0))
    assert not solid_slides_free(first, wall, Slide(way=(-1.0, 0.0, 0.0), by=11.0))
    assert not solid_slides_free(wall, first, Slide(way=(1.0, 0.0, 0.0), by=11.0))


def test_a_small_thing_half_way_is_not_jumped_over() -> None:
    """A ball of 1 mm in the middle of a way of 300 mm."""
    line = laid_along_x(turned([0.0], straight=40.0, closing=40.0))
    ball = Cylinder(
        frame=Frame(origin=(30.0, 0.0, -150.0)), diameter=0.0, height=0.0, rounding=0.5
    )
    curves = flush_curves(line, radius=RADIUS)
    slide = Slide(way=(0.0, 0.0, -1.0), by=300.0)
    assert not tube_slides_free(curves, stack([ball]), slide, radius=RADIUS)
    assert tube_slides_free(curves, stack([ball]), slide.back, radius=RADIUS)
