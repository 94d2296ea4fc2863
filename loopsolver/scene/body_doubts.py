"""Doubts about bodies: in each other, outside the case, or missing."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np

from loopsolver.geometry.solids import HalfSpace, bounds
from loopsolver.geometry.vectors import Point, axis_name
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Body, Component, Scene
from loopsolver.scene.overlap import separation
from loopsolver.tolerances import OVERLAP_DOUBT
from loopsolver.units import LengthUnit, format_length


def body_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return doubts about the bodies of a scene's components."""
    for first, second in itertools.combinations(scene.components, 2):
        yield from _overlaps(first, second, scene.units)
    for component in scene.components:
        for body in component.bodies:
            yield from _outside(body.name, bounds(body.solid), scene)
        for port in component.ports:
            corners = np.array([port.position, port.position])
            yield from _outside(f"{port.name} (port)", corners, scene)
        if component.ports and not component.bodies:
            message = (
                "has ports but no bodies, so tubes may be laid through it; add "
                "[[components.NAME.bodies]] with its boxes and cylinders"
            )
            yield Doubt(kind="no body", where=component.name, message=message)


def along(direction: Point) -> str:
    """Return a direction in words: an axis's name, or its three parts."""
    name = axis_name(direction)
    return name or f"({', '.join(f'{part:.2f}' for part in direction)})"


def _overlaps(first: Component, second: Component, unit: LengthUnit) -> Iterator[Doubt]:
    for one, other in itertools.product(first.bodies, second.bodies):
        doubt = _overlap(one, other, unit)
        if doubt is not None:
            yield doubt


def _overlap(one: Body, other: Body, unit: LengthUnit) -> Doubt | None:
    if isinstance(one.solid, HalfSpace) or isinstance(other.solid, HalfSpace):
        return None
    low, high = bounds(one.solid), bounds(other.solid)
    if np.any(np.maximum(low[0], high[0]) >= np.minimum(low[1], high[1])):
        return None
    apart = separation(one.solid, other.solid)
    if apart.distance >= -OVERLAP_DOUBT:
        return None
    depth = format_length(-apart.distance, unit=unit)
    message = (
        f"overlap by {depth}; measure both again, or move {other.name} by {depth} "
        f"along {along(apart.direction)}"
    )
    return Doubt(kind="overlap", where=f"{one.name} and {other.name}", message=message)


def _outside(name: str, corners: np.ndarray, scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every case wall through which the bounds stick out."""
    for axis, letter in enumerate("xyz"):
        below = -float(corners[0, axis])
        above = float(corners[1, axis]) - scene.case_inner[axis]
        for sign, out in (("-", below), ("+", above)):
            if out > OVERLAP_DOUBT:
                amount = format_length(out, unit=scene.units)
                message = (
                    f"sticks out of the case by {amount} through case wall "
                    f"{sign}{letter}; check its position and rotation, and case.inner"
                )
                yield Doubt(kind="outside case", where=name, message=message)
