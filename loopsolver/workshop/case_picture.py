"""A run in its case, drawn: an isometric view with the tube strong and the parts light."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import (
    Anchor,
    Drawing,
    Entity,
    Line,
    Place,
    Polygon,
    Polyline,
    Text,
    between,
)
from loopsolver.drafting.extent import box, extent
from loopsolver.drafting.layers import Layer
from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import Array, dot
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import PICTURED, room
from loopsolver.tolerances import UNIT_LENGTH
from loopsolver.tube.centreline import BendArc, Centreline, pieces, sample
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.picture_labels import SPACING, arc_points, labels
from loopsolver.workshop.projection import (
    CORNERS_DEG,
    View,
    is_hidden,
    isometric,
    painted_order,
    room_corners,
    seen_faces,
)

_EDGE: Final = 5.0  # kept free round the case [mm on paper]
_BODY_GREYS: Final = (0.93, 0.88, 0.97)  # faces of a body along its x, y, z
_DASH: Final = (1.6, 1.1)  # of hidden edges [mm on paper]
_AXIS: Final = 6.0  # length of the case's directions, not foreshortened [mm on paper]
_AXES_LOW: Final = (0.0, 4.4)  # the corner that they and their names reach [mm]
_LETTERS: Final = 2.0  # height of the names' capitals [mm]

Shades = Callable[[Array], Array]
"""Gives the greys of a tube at points along it, (n, 3): 0 is black, 1 is white."""


def white(points: Array) -> Array:
    """Return white for all places of a tube."""
    return np.ones(len(points))


def case_picture(
    scene: Scene,
    centreline: Centreline,
    *,
    tags: tuple[str, str],
    width: float,
    height: float,
) -> Drawing:
    """Return an isometric view of a tube in its case, fitted to a box.

    The case is looked at from the corner from which most of the tube is seen, by parts
    and by itself least covered. What a part hides of it has thin dashed edges.

    Parameters
    ----------
    tags : pair of str
        Lettering at the tube's ends.
    width, height : float
        Of the box, whose lower left corner is (0, 0) [mm].
    """
    view, ground, axes = staged(scene, centreline, width=width, height=height)
    radius = scene.tube.radius
    shapes = (
        *ground,
        *tube_entities(centreline, scene, view),
        *labels(
            centreline,
            view.places,
            tags=tags,
            reach=radius * view.scale,
            paper=(0.0, 0.0, width, height),
            taken=map(box, axes),
        ),
        *axes,
    )
    return Drawing(entities=shapes, low=(0.0, 0.0), high=(width, height))


def staged(
    scene: Scene, centreline: Centreline, *, width: float, height: float
) -> tuple[View, tuple[Entity, ...], tuple[Entity, ...]]:
    """Return the best view of a centre line in its case, fitted to a box.

    With what stands in the case, and then the case's directions in the box's corner.
    """
    best = _best_view(scene, centreline, _solids(scene))
    axes = _axes_in_corner(scene, best)
    corners = room_corners(room(scene, beyond=PICTURED))
    view = fitted(best, corners, width=width, height=height)
    return view, case_entities(scene, view), axes


def case_entities(scene: Scene, view: View) -> tuple[Entity, ...]:
    """Return the case's edges, and the faces of all bodies, the furthest first."""
    return (*_case_outline(scene, view), *_bodies(_solids(scene), view))


def _solids(scene: Scene) -> list[Solid]:
    return [body.solid for part in scene.components for body in part.bodies]


def _best_view(scene: Scene, centreline: Centreline, bodies: Sequence[Solid]) -> View:
    """Return the view in which parts and the tube itself cover least of the tube."""
    points = sample(centreline, spacing=SPACING)
    views = [
        isometric(scene.sides, azimuth_deg=corner_deg) for corner_deg in CORNERS_DEG
    ]
    lost = [
        float(
            np.maximum(
                _hidden(bodies, points, view), _covered(points, scene.tube.radius, view)
            ).sum()
        )
        for view in views
    ]
    return views[lost.index(min(lost))]


def _hidden(bodies: Sequence[Solid], points: Array, view: View) -> Array:
    """Return, 1 or 0 a point, whether any body stands before it, (n,)."""
    hidden = [is_hidden(body, points, view) for body in bodies]
    either: Array = np.max([np.zeros(len(points)), *hidden], axis=0)
    return either


def _covered(points: Array, radius: float, view: View) -> Array:
    """Return, 1 or 0 a point, whether another stretch of the tube crosses it, (n,).

    Points nearer along the tube than three diameters belong to the same stretch.
    """
    flat = np.array(view.places(points))
    apart = np.linalg.norm(flat[:, None, :] - flat[None, :, :], axis=2)
    steps = np.abs(np.subtract.outer(np.arange(len(points)), np.arange(len(points))))
    crossed = (apart < 2.0 * radius) & (steps * SPACING > 6.0 * radius)
    covered: Array = crossed.any(axis=1).astype(np.float64)
    return covered


def fitted(view: View, points: Array, *, width: float, height: float) -> View:
    """Return a view so scaled and moved that some points (n, 3) fill a box."""
    x, y = np.array(replace(view, scale=1.0, origin=(0.0, 0.0)).places(points)).T
    scale = min(
        (width - 2 * _EDGE) / (x.max() - x.min()),
        (height - 2 * _EDGE) / (y.max() - y.min()),
    )
    middle = (scale * (x.max() + x.min()) / 2, scale * (y.max() + y.min()) / 2)
    return replace(
        view,
        scale=float(scale),
        origin=(float(width / 2 - middle[0]), float(height / 2 - middle[1])),
    )


def _case_outline(scene: Scene, view: View) -> Iterator[Entity]:
    """Yield the case's edges but the three at the corner next to the viewer."""
    if scene.case_inner is None:
        return
    corners = room_corners(room(scene))
    nearest = int(np.argmax(view.depth(corners)))
    flat = view.places(corners)
    for index in range(8):
        for axis in range(3):
            other = index | 1 << axis
            if other != index and nearest not in {index, other}:
                yield Line(start=flat[index], end=flat[other], layer=Layers.CASE)


def _bodies(bodies: Sequence[Solid], view: View) -> Iterator[Entity]:
    """Yield the faces of all bodies, the furthest first, lightly shaded."""
    for index in painted_order(bodies, view):
        faces = seen_faces(bodies[index], view)
        for shade, face in zip(_BODY_GREYS, faces, strict=False):
            yield Polygon(points=view.places(face), layer=Layers.BODY, fill=shade)


def tube_entities(
    centreline: Centreline,
    scene: Scene,
    view: View,
    *,
    shades: Shades = white,
    layer: Layer = Layers.TUBE,
) -> Iterator[Entity]:
    """Yield the tube, piece by piece from far to near: hidden stretches first.

    Parameters
    ----------
    centreline : Centreline
    scene : Scene
        Whose tube it is, and whose bodies may stand before it.
    view : View
    shades : callable
        Gives the grey of what is seen, a place along the tube each.
    layer : Layer
        Of its edges.
    """
    bodies, radius = _solids(scene), scene.tube.radius
    stretches = []
    for piece in pieces(centreline):
        points = (
            arc_points(piece)
            if isinstance(piece, BendArc)
            else _between(piece.start, piece.end)
        )
        stretches += _split(points, bodies, view, shades)
    stretches.sort(key=lambda one: float(view.depth(one[1]).mean()))
    for shade, points in sorted(stretches, key=lambda one: one[0] is not None):
        left, right = _edges(points, radius, view)
        if shade is not None:
            outline = (*left, *reversed(right))
            yield Polygon(points=outline, layer=Layers.SOLID, fill=shade)
            yield Polyline(points=left, layer=layer)
            yield Polyline(points=right, layer=layer)
        else:
            yield from _dashed(left)
            yield from _dashed(right)


def _between(start: Sequence[float], end: Sequence[float]) -> Array:
    """Return points along a straight, (n, 3) [mm]."""
    count = max(2, math.ceil(math.dist(start, end) / SPACING) + 1)
    part = np.linspace(0.0, 1.0, count)[:, None]
    points: Array = (1.0 - part) * np.asarray(start) + part * np.asarray(end)
    return points


def _split(
    points: Array, bodies: Sequence[Solid], view: View, shades: Shades
) -> list[tuple[float | None, Array]]:
    """Return the stretches of a piece of one shade each, in order; None for hidden ones."""
    middles = 0.5 * (points[1:] + points[:-1])
    hidden, greys = _hidden(bodies, middles, view), shades(middles).tolist()
    stretches = []
    for shade, group in groupby(
        range(len(middles)), key=lambda i: None if hidden[i] > 0.0 else greys[i]
    ):
        steps = list(group)
        stretches.append((shade, points[steps[0] : steps[-1] + 2]))
    return stretches


def _edges(
    points: Array, radius: float, view: View
) -> tuple[tuple[Place, ...], tuple[Place, ...]]:
    """Return both edges of a tube as they are seen [mm on paper].

    In a parallel projection a tube's outline keeps its radius from the centre line.
    """
    flat = np.array(view.places(points))
    along = np.gradient(flat, axis=0)
    length = np.maximum(np.linalg.norm(along, axis=1, keepdims=True), UNIT_LENGTH)
    aside = np.column_stack([-along[:, 1], along[:, 0]]) / length
    reach = radius * view.scale
    sides = (flat + reach * aside, flat - reach * aside)
    left, right = (tuple((float(x), float(y)) for x, y in side) for side in sides)
    return left, right


def _dashed(points: Sequence[Place]) -> Iterator[Line]:
    """Yield dashes along a path."""
    dash, gap = _DASH
    at = 0.0
    for start, end in pairwise(points):
        length = math.dist(start, end)
        if length == 0.0:
            continue
        first = math.floor(at / (dash + gap))
        last = math.floor((at + length) / (dash + gap))
        for number in range(first, last + 1):
            begin = max(0.0, number * (dash + gap) - at)
            stop = min(length, number * (dash + gap) + dash - at)
            if stop > begin:
                yield Line(
                    start=between(start, end, begin / length),
                    end=between(start, end, stop / length),
                    layer=Layers.CASE,
                )
        at += length


def _axes_in_corner(scene: Scene, view: View) -> tuple[Entity, ...]:
    """Return the directions of the case in the lower left corner, and the viewpoint."""
    (left, bottom), _ = extent(_axes(scene, view, (0.0, 0.0)))
    at = (_AXES_LOW[0] - left, _AXES_LOW[1] - bottom)
    end = "rear" if dot(view.towards, scene.sides.away) > 0.0 else "front"
    side = "right" if dot(view.towards, scene.sides.right) > 0.0 else "left"
    says = f"seen from the {end} {side}"
    said = Text(position=(0.0, 0.8), text=says, size=_LETTERS)
    return (*_axes(scene, view, at), said)


def _axes(scene: Scene, view: View, at: Place) -> Iterator[Entity]:
    """Yield the three directions of the case as small named lines."""
    small = replace(view, scale=_AXIS, origin=at)
    for name, axis in zip(scene.axis_names, np.eye(3).tolist(), strict=True):
        tip = small.place(axis)
        beyond = between(at, tip, 1.0 + 1.6 / max(math.dist(at, tip), 1.0))
        is_upright = abs(tip[0] - at[0]) < 1.0
        beside: Anchor = "start" if tip[0] > at[0] else "end"
        yield Line(start=at, end=tip, layer=Layers.NOTE)
        yield Text(
            position=(beyond[0], beyond[1] - _LETTERS / 2.0),
            text=name,
            size=_LETTERS,
            anchor="middle" if is_upright else beside,
        )
