"""An isometric view of a case: where points, faces and outlines come to lie on paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import Place
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box, Cylinder, Solid, bounds
from loopsolver.geometry.vectors import Array, Flags, Point, point
from loopsolver.scene.axes import Sides
from loopsolver.scene.walls import Room
from loopsolver.tolerances import TOUCH

ELEVATION_DEG: Final = math.degrees(math.atan(math.sqrt(0.5)))
"""How far an isometric view looks down, 35.26 degrees: all three axes equally short."""

CORNERS_DEG: Final = (225.0, 315.0, 135.0, 45.0)
"""The four upright edges of a case from which it may be looked at [degrees].

Front left, front right, rear left, rear right."""

_ROUND: Final = 24  # corners that stand for a half circle


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A parallel projection.

    Attributes
    ----------
    right, upward : Point
        Directions in the case that run right and up on the paper; unit length.
    towards : Point
        Direction from the case to who looks at it; unit length.
    scale : float
        Millimetres on paper for a millimetre across the view.
    origin : Place
        Where the case's origin comes to lie [mm on paper].
    """

    right: Point
    upward: Point
    towards: Point
    scale: float = 1.0
    origin: Place = (0.0, 0.0)

    def places(self, points: Array) -> tuple[Place, ...]:
        """Return where points (n, 3) come to lie on the paper [mm]."""
        axes = np.array([self.right, self.upward]).T
        flat = np.asarray(points) @ axes * self.scale + np.asarray(self.origin)
        return tuple((float(x), float(y)) for x, y in flat)

    def place(self, position: Sequence[float]) -> Place:
        """Return where one point comes to lie on the paper [mm]."""
        return self.places(np.asarray([position], dtype=np.float64))[0]

    def depth(self, points: Array) -> Array:
        """Return how near points (n, 3) are to who looks: larger is nearer [mm]."""
        nearness: Array = np.asarray(points) @ np.asarray(self.towards)
        return nearness


def isometric(sides: Sides, *, azimuth_deg: float) -> View:
    """Return the view from above an upright edge of the case, at scale 1.

    Parameters
    ----------
    sides : Sides
        Of the case; up is upright on the paper.
    azimuth_deg : float
        Where the viewer stands round the upright direction, from the case's right by
        its rear; 45, 135, 225 and 315 are isometric for a case whose sides are square
        to up.
    """
    upright = np.asarray(sides.up)
    azimuth, elevation = math.radians(azimuth_deg), math.radians(ELEVATION_DEG)
    level = math.cos(azimuth) * np.asarray(sides.right) + math.sin(
        azimuth
    ) * np.asarray(sides.away)
    towards = math.cos(elevation) * level + math.sin(elevation) * upright
    right = np.cross(upright, level)
    return View(
        right=point(right),
        upward=point(np.cross(towards, right)),
        towards=point(towards),
    )


def _box_corners(box: Box) -> Array:
    """Return the eight corners of a box, (8, 3) [mm]; bit i of an index is axis i."""
    signs = np.array(
        [[1 if index >> axis & 1 else -1 for axis in range(3)] for index in range(8)]
    )
    own = 0.5 * signs * np.asarray(box.size)
    corners: Array = own @ box.frame.rotation.T + np.asarray(box.frame.origin)
    return corners


def room_corners(room: Room) -> Array:
    """Return the eight corners of a room, (8, 3) [mm]; bit i of an index is axis i."""
    low, high = np.array(room)
    middle = Frame(origin=point((low + high) / 2))
    return _box_corners(Box(frame=middle, size=point(high - low)))


def seen_faces(solid: Solid, view: View) -> tuple[Array, ...]:
    """Return the outlines that show a solid, each (n, 3) [mm], all facing the viewer.

    A box shows its faces, a cylinder its silhouette and one end. What is neither is
    shown as the box round it.
    """
    if isinstance(solid, Cylinder):
        return _cylinder_outlines(solid, view)
    return _box_faces(_boxed(solid), view)


def _box_faces(box: Box, view: View) -> tuple[Array, ...]:
    """Return the faces of a box that face the viewer."""
    corners = _box_corners(box)
    faces = []
    for axis, normal in enumerate(box.frame.axes):
        facing = float(np.dot(normal, view.towards))
        if abs(facing) < TOUCH:
            continue
        first, second = (1 << other for other in range(3) if other != axis)
        base = (1 << axis) if facing > 0.0 else 0
        ring = [base, base | first, base | first | second, base | second]
        faces.append(corners[ring])
    return tuple(faces)


def _cylinder_outlines(cylinder: Cylinder, view: View) -> tuple[Array, ...]:
    """Return the silhouette of a cylinder and the end that faces the viewer."""
    rotation = cylinder.frame.rotation
    own = rotation.T @ np.asarray(view.towards)
    facing = math.atan2(own[1], own[0])
    near = facing + np.linspace(-math.pi / 2, math.pi / 2, _ROUND + 1)
    end = math.copysign(cylinder.height / 2, own[2])
    outline = np.vstack(
        [
            _ring(cylinder, near, -end),
            _ring(cylinder, near + math.pi, end),
        ]
    )
    cap = _ring(cylinder, np.linspace(0.0, 2 * math.pi, 2 * _ROUND + 1)[:-1], end)
    return tuple(
        own_points @ rotation.T + np.asarray(cylinder.frame.origin)
        for own_points in (outline, cap)
    )


def _ring(cylinder: Cylinder, angles: Array, height: float) -> Array:
    """Return points on a cylinder's rim, in its own frame, (n, 3) [mm]."""
    radius = cylinder.diameter / 2
    points: Array = np.column_stack(
        [
            radius * np.cos(angles),
            radius * np.sin(angles),
            np.full(len(angles), height),
        ]
    )
    return points


def is_hidden(solid: Solid, points: Array, view: View) -> Array:
    """Return, 1 or 0 a point, whether a solid stands between it and the viewer, (n,).

    A cylinder counts as the box round it, which is near enough for dashed lines.

    Notes
    -----
    The slab test: a ray is in a box where it is between all three pairs of faces.

    References
    ----------
    T. L. Kay, J. T. Kajiya, Ray tracing complex scenes, SIGGRAPH 1986, 269-278.
    """
    box = _boxed(solid)
    own = (np.asarray(points) - np.asarray(box.frame.origin)) @ box.frame.rotation
    ray = box.frame.rotation.T @ np.asarray(view.towards)
    ray = np.where(np.abs(ray) < TOUCH, TOUCH, ray)
    half = 0.5 * np.asarray(box.size)
    to_low, to_high = (-half - own) / ray, (half - own) / ray
    enters = np.minimum(to_low, to_high).max(axis=1)
    leaves = np.maximum(to_low, to_high).min(axis=1)
    hidden: Array = ((leaves > enters) & (leaves > TOUCH)).astype(np.float64)
    return hidden


def _boxed(solid: Solid) -> Box:
    """Return the box round a solid, the solid's own frame kept."""
    match solid:
        case Box():
            return solid
        case Cylinder(frame=frame, diameter=diameter, height=height):
            return Box(frame=frame, size=(diameter, diameter, height))
        case _:
            low, high = bounds(solid)
            return Box(
                frame=Frame(origin=point((low + high) / 2)), size=point(high - low)
            )


def painted_order(solids: Sequence[Solid], view: View) -> tuple[int, ...]:
    """Return the order in which solids are painted, so that near ones cover far ones.

    One that lies wholly beyond another along an axis of the case is painted before it;
    else the one whose middle is further off. Knots are cut at the furthest middle.
    """
    if not solids:
        return ()
    spans = np.array([bounds(solid) for solid in solids])
    low, high = spans[:, 0], spans[:, 1]
    towards = np.asarray(view.towards)
    apart = low[:, None, :] >= high[None, :, :] - TOUCH
    nearer = np.where(towards > 0.0, apart, apart.transpose(1, 0, 2))
    in_front: Flags = np.any(nearer, axis=2)
    behind_it = in_front & ~in_front.T
    depth = view.depth(spans.mean(axis=1))
    left = list(range(len(solids)))
    order: list[int] = []
    while left:
        free = [i for i in left if not behind_it[i, left].any()] or left
        chosen = min(free, key=lambda i: (depth[i], i))
        order.append(chosen)
        left.remove(chosen)
    return tuple(order)
