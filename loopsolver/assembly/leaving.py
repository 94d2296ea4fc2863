"""How a tube that is free at one end leaves the case: drawn off, swung, carried out."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.assembly.blocking import Build, InPlace
from loopsolver.assembly.joints import FittedEnd
from loopsolver.assembly.swept import (
    Slide,
    Swing,
    curve_bounds,
    moved_curves,
    swung_curves,
    tube_slides_free,
    tube_swings_free,
)
from loopsolver.geometry.curves import Curves
from loopsolver.geometry.solid_set import SolidSet, joined
from loopsolver.geometry.vectors import AXES, Flags, Point, point, unit
from loopsolver.scene.walls import room

WAYS_OUT: Final[tuple[Point, ...]] = tuple(
    unit(steps)
    for steps in sorted(
        (way for way in itertools.product((1.0, -1.0, 0.0), repeat=3) if any(way)),
        key=lambda way: sum(map(abs, way)),
    )
)
"""The 26 directions in which tubes are carried out: along axes, then between them."""

SWING_STEP: Final = math.radians(45.0)
"""A tube is swung about a fitting's axis by multiples of it, where it must be [rad]."""

HALF_TURN: Final = 4
"""So many steps at most, either way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaving:
    """How a tube leaves: swung about the fitting that it still is in, drawn off, out.

    Attributes
    ----------
    swing : Swing or None
    draw : Slide
        Out of the fittings that hold it.
    out : Slide
        Out of the case, through the walls that lie that way.
    """

    swing: Swing | None
    draw: Slide
    out: Slide


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """How a tube stands before it leaves.

    Attributes
    ----------
    tube : str
    aside : Point
        By how much it stands off its place [mm].
    held : tuple of FittedEnd
        Those that still hold it; the first one is drawn off.
    ignored : tuple of FittedEnd
        Those that it is bent past meanwhile.
    moved : frozenset of InPlace
        What stands off its place, by `shift`.
    shift : Slide or None
    gone : frozenset of str
        The tubes that are out.
    """

    tube: str
    aside: Point
    held: tuple[FittedEnd, ...]
    ignored: tuple[FittedEnd, ...] = ()
    moved: frozenset[InPlace] = frozenset()
    shift: Slide | None = None
    gone: frozenset[str] = frozenset()


def leaving(of: Build, start: Start) -> Leaving | None:
    """Return the first way found in which a tube leaves; None if there is none."""
    curves = moved_curves(of.curves[start.tube], start.aside)
    draw = Slide(way=start.held[0].out, by=max(one.depth for one in start.held))
    held, free = (_around(of, start, but) for but in (_past(start), ()))
    for swing, swung in _swung(of, curves, start, held):
        if tube_slides_free(swung, held, draw, radius=of.radius):
            drawn = moved_curves(swung, draw.vector)
            for out in _outs(of, drawn, free, WAYS_OUT):
                return Leaving(swing=swing, draw=draw, out=out)
    return None


def square_outs(of: Build, start: Start, found: Leaving) -> tuple[Slide, ...]:
    """Return all ways along axes in which a tube leaves that is drawn off as found."""
    curves = moved_curves(of.curves[start.tube], start.aside)
    if found.swing is not None:
        curves = swung_curves(curves, found.swing)
    drawn = moved_curves(curves, found.draw.vector)
    return tuple(_outs(of, drawn, _around(of, start, ()), tuple(AXES.values())))


def _outs(
    of: Build, drawn: Curves, around: SolidSet, ways: Sequence[Point]
) -> Iterator[Slide]:
    """Yield the ways by which a tube that is off its fittings leaves the case."""
    for way in ways:
        out = Slide(way=way, by=_far_enough(of, drawn, way))
        solids = around.among(np.flatnonzero(~_is_open(around, way)))
        if tube_slides_free(drawn, solids, out, radius=of.radius):
            yield out


def _past(start: Start) -> tuple[FittedEnd, ...]:
    """Return the fittings that a tube is in or bent past while it is drawn off."""
    return (*start.held, *start.ignored)


def _swung(
    of: Build, curves: Curves, start: Start, held: SolidSet
) -> Iterator[tuple[Swing | None, Curves]]:
    """Yield a tube as it stands, and swung about the one fitting that holds it."""
    yield None, curves
    if len(start.held) > 1:
        return
    (joint,) = start.held
    centre = point(np.add(joint.mouth, start.aside))
    for sign in (1.0, -1.0):
        step = Swing(centre=centre, axis=joint.out, angle=sign * SWING_STEP)
        swung = curves
        for number in range(1, HALF_TURN + 1):
            if not tube_swings_free(swung, held, step, radius=of.radius):
                break
            swung = swung_curves(swung, step)
            yield replace(step, angle=number * step.angle), swung


def _around(of: Build, start: Start, but: tuple[FittedEnd, ...]) -> SolidSet:
    """Return all that stands round a tube, what is moved where it then is."""
    absent = {InPlace("tube", name) for name in (*start.gone, start.tube)}
    sets = []
    for thing in of.things:
        if thing not in absent:
            solids = of.solid_set(thing, but if thing.kind == "part" else ())
            if start.shift is not None and thing in start.moved:
                solids = solids.moved(start.shift.vector)
            sets.append(solids)
    return joined(sets)


def _is_open(solids: SolidSet, way: Point) -> Flags:
    """Return which solids are walls that what goes this way goes through."""
    faces: Flags = solids.axes[2] @ np.asarray(way) < 0.0
    return solids.extents.is_open & faces


def _far_enough(of: Build, curves: Curves, way: Point) -> float:
    """Return how far it is out of the room along a way [mm]."""
    low, high = curve_bounds(curves)
    ends = np.array(room(of.scene, beyond=0.0))
    return (
        min(
            float(
                ends[1][axis] - low[axis] if part > 0.0 else high[axis] - ends[0][axis]
            )
            / abs(part)
            for axis, part in enumerate(way)
            if part
        )
        + of.radius
    )
