"""What stands on the picture of a tube in its case: bends' numbers, ends' names."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import (
    Circle,
    Entity,
    Face,
    Line,
    Place,
    Text,
    direction_deg,
    polar,
    rectangle,
)
from loopsolver.drafting.extent import Extent, box_round, is_within
from loopsolver.drafting.lettering import cut_to_width, text_width
from loopsolver.drafting.placing import Ground
from loopsolver.drafting.symbols import numbered_disc
from loopsolver.geometry.vectors import Array
from loopsolver.tube.centreline import BendArc, Centreline, pieces, sample
from loopsolver.workshop.layers import Layers

SPACING: Final = 3.0
"""Of points along the tube [mm in the case]."""

_DISC: Final = 2.6  # radius of a bend's number [mm on paper]
_LETTERS: Final = 2.3  # height of capitals [mm]

Projection = Callable[[Array], tuple[Place, ...]]
"""Gives where points of the case, (n, 3), come to lie on the paper [mm]."""


def labels(
    centreline: Centreline,
    project: Projection,
    *,
    tags: tuple[str, str],
    reach: float,
    paper: Extent,
    taken: Iterable[Extent],
) -> Iterator[Entity]:
    """Yield the bends' numbers and the ends' names where there is room.

    Parameters
    ----------
    centreline : Centreline
    project : callable
        Gives where points of the case come to lie on the paper.
    tags : pair of str
    reach : float
        Radius of the tube on the paper [mm].
    paper : Extent
        What the picture fills [mm].
    taken : iterable of Extent
        What something else is in already [mm].
    """
    paper = (paper[0] + 0.5, paper[1] + 0.5, paper[2] - 0.5, paper[3] - 0.5)
    ground = Ground()
    flat = project(sample(centreline, spacing=SPACING))
    ground.take_path(flat, half_width=reach)
    for box in taken:
        ground.take_box(box)
    for end, says in zip((flat[0], flat[-1]), tags, strict=True):
        yield from _end_label(end, says, ground, paper, reach)
    arcs = [piece for piece in pieces(centreline) if isinstance(piece, BendArc)]
    for number, arc in enumerate(arcs, start=1):
        points = arc_points(arc)
        middle, centre = project(np.array([points[len(points) // 2], arc.centre]))
        outward_deg = direction_deg(centre, middle)
        yield from _bend_label(middle, number, outward_deg, ground, paper, reach)


def _bend_label(
    at: Place,
    number: int,
    outward_deg: float,
    ground: Ground,
    paper: Extent,
    reach: float,
) -> Iterator[Entity]:
    """Yield a bend's number in a disc, as near as there is room."""
    for centre in places_round(at, reach + _DISC + 1.0, outward_deg):
        disc = box_round(centre, _DISC, _DISC)
        if is_within(disc, paper[:2], paper[2:]) and ground.is_free(disc, spare=0.6):
            ground.take_box(disc)
            if math.dist(centre, at) > reach + _DISC + 3.0:
                yield Line(start=at, end=centre, layer=Layers.LEADER)
            yield from numbered_disc(
                centre, number, radius=_DISC, fill=1.0, layer=Layers.TURN
            )
            return


def _end_label(
    at: Place, says: str, ground: Ground, paper: Extent, reach: float
) -> Iterator[Entity]:
    """Yield an end's name on white, with a line to the end."""
    text = cut_to_width(says, width=44.0, size=_LETTERS, face=Face.STRONG)
    half = text_width(text, _LETTERS, Face.STRONG) / 2.0 + 1.0
    outward_deg = 90.0 if at[1] > (paper[1] + paper[3]) / 2.0 else -90.0
    for centre in places_round(at, reach + _LETTERS + 2.0, outward_deg):
        box = box_round(centre, half, _LETTERS / 2.0 + 1.0)
        if is_within(box, paper[:2], paper[2:]) and ground.is_free(box, spare=0.8):
            ground.take_box(box)
            yield Line(start=at, end=centre, layer=Layers.LEADER)
            yield Circle(centre=at, radius=0.7, layer=Layers.NOTE, fill=0.0)
            yield rectangle(box[:2], box[2:], layer=Layers.SOLID, fill=1.0)
            yield Text(
                position=(centre[0], centre[1] - _LETTERS / 2.0),
                text=text,
                size=_LETTERS,
                anchor="middle",
                face=Face.STRONG,
            )
            return


def places_round(at: Place, nearest: float, first_deg: float) -> Iterator[Place]:
    """Yield places round a point, nearer ones and those on the wanted side first."""
    for ring in range(10):
        for turn_deg in (0, 30, -30, 60, -60, 90, -90, 120, -120, 150, -150, 180):
            yield polar(at, nearest + 4.0 * ring, first_deg + turn_deg)


def arc_points(arc: BendArc) -> Array:
    """Return points along an arc, (n, 3) [mm]."""
    count = max(4, math.ceil(arc.radius * arc.angle / SPACING) + 1)
    angles = np.linspace(0.0, arc.angle, count)[:, None]
    spokes = np.cos(angles) * np.asarray(arc.u) + np.sin(angles) * np.asarray(arc.v)
    points: Array = np.asarray(arc.centre) + arc.radius * spokes
    return points
