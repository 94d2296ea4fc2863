"""Doubts about bodies: in each other, outside the case, or missing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loopsolver.geometry.mesh_shape import Flaws
from loopsolver.geometry.separation import overlap
from loopsolver.geometry.solids import HalfSpace, Mesh
from loopsolver.geometry.vectors import Point, axis_name
from loopsolver.lengths import on_a_rule
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene
from loopsolver.scene.surroundings import Surroundings, bodies_of
from loopsolver.tolerances import OVERLAP_DOUBT
from loopsolver.words import counted


def body_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return doubts about the bodies of a scene's components."""
    bodies = bodies_of(scene)
    yield from _overlaps(bodies, scene)
    yield from _surfaces(bodies)
    corners = iter(bodies.bounds)
    for component in scene.components:
        for body in component.bodies:
            yield from _outside(body.name, next(corners), scene)
        for port in component.ports:
            at = np.array([port.position, port.position])
            yield from _outside(f"{port.name} (port)", at, scene)
        if component.ports and not component.bodies:
            message = (
                "has ports but no bodies, so tubes may be laid through it; add "
                "[[components.NAME.bodies]] with its boxes and cylinders"
            )
            yield Doubt(kind="no body", where=component.name, message=message)


def _surfaces(bodies: Surroundings) -> Iterator[Doubt]:
    """Return a doubt for every mesh that has no inside."""
    for thing in bodies.things:
        if not isinstance(thing.solid, Mesh) or thing.solid.shape.has_inside:
            continue
        message = (
            f"{no_inside_words(thing.solid.shape.flaws)}; tubes keep clear of its "
            "surface alone, and whether one lies inside it is not known; close it where "
            "it was drawn, or add a box that fills it"
        )
        yield Doubt(kind="no inside", where=thing.name, message=message)


def no_inside_words(flaws: Flaws) -> str:
    """Return why a mesh with flaws has no inside."""
    why = f"{counted(flaws.crossings, 'pair')} of triangles run through each other"
    if flaws.open_sides:
        why = f"it is open at {counted(flaws.open_sides, 'side')} of triangles"
    return f"the mesh has no inside that could be told: {why}"


def along(direction: Point) -> str:
    """Return a direction in words: an axis's name, or its three parts."""
    name = axis_name(direction)
    return name or f"({', '.join(f'{part:.2f}' for part in direction)})"


def _overlaps(bodies: Surroundings, scene: Scene) -> Iterator[Doubt]:
    """Return the overlaps of components, pair by pair of them in the scene's order."""
    place = {part.name: number for number, part in enumerate(scene.components)}
    things = bodies.things
    pairs = [
        (one, int(other))
        for one, corners in enumerate(bodies.bounds)
        for other in bodies.near(corners, after=one)
        if things[one].owner != things[other].owner
    ]
    pairs.sort(key=lambda pair: (*(place[things[each].owner] for each in pair), *pair))
    for one, other in ((things[one], things[other]) for one, other in pairs):
        if isinstance(other.solid, HalfSpace):
            continue  # a wall is no body
        apart = overlap(one.solid, other.solid, allowed=OVERLAP_DOUBT)
        if apart is not None:
            depth = on_a_rule(scene.units).plain(-apart.distance)
            message = (
                f"overlap by {depth}; measure both again, or move {other.name} by {depth} "
                f"along {along(apart.direction)}"
            )
            where = f"{one.name} and {other.name}"
            yield Doubt(kind="overlap", where=where, message=message)


def _outside(name: str, corners: np.ndarray, scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every case wall through which the bounds stick out."""
    for axis, (letter, side) in enumerate(
        zip("xyz", scene.case_inner or (), strict=False)
    ):
        below = -float(corners[0, axis])
        above = float(corners[1, axis]) - side
        for sign, out in (("-", below), ("+", above)):
            if out > OVERLAP_DOUBT:
                amount = on_a_rule(scene.units).plain(out)
                message = (
                    f"sticks out of the case by {amount} through case wall "
                    f"{sign}{letter}; check its position and rotation, and case.inner"
                )
                yield Doubt(kind="outside case", where=name, message=message)
