"""The outer surface of a tube as a closed mesh: rings of corners along its centre line."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np

from loopsolver.geometry.frames import axis_frame, rotations_by
from loopsolver.geometry.vectors import Array, Indices, difference
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import BendArc, Centreline, pieces, points_along

RING_CORNERS: Final = 48
"""Corners of a ring: its sides lie at most 0.22 % of the radius within the circle."""

ARC_STEP_DEG: Final = 4.0
"""Greatest turn between neighbouring rings of a bend."""


class TubeMesh(NamedTuple):
    """Corners (v, 3) [mm], and triangles (t, 3) that look outwards."""

    vertices: Array
    faces: Indices


def tube_mesh(centreline: Centreline, *, radius: float) -> TubeMesh:
    """Return the outer surface of a tube, closed by a flat face at both ends.

    All corners lie `radius` from the centre line, but for the middles of both ends.

    Parameters
    ----------
    centreline : Centreline
    radius : float
        Outer radius of the tube [mm].

    Raises
    ------
    GeometryError
        As `centreline.pieces` does.

    Notes
    -----
    Rings stand square to the centre line, and each is the one before it moved along the
    tube, turned with it in bends and about it never: so no strip of triangles twists.
    """
    stations = list(_stations(centreline))
    middles = np.array([middle for middle, _ in stations])
    across = np.array([axes for _, axes in stations])
    turns = 2.0 * math.pi * np.arange(RING_CORNERS) / RING_CORNERS
    round_about = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    rings = middles[:, None] + radius * round_about @ across
    ends = middles[[0, -1]]
    return TubeMesh(np.concatenate([rings.reshape(-1, 3), ends]), _faces(len(stations)))


def wall_mesh(centreline: Centreline, *, radius: float, bore: float) -> TubeMesh:
    """Return the wall of a tube: outside, inside, and a flat rim at both ends.

    Parameters
    ----------
    centreline : Centreline
    radius, bore : float
        Radii of its outside and its inside [mm].

    Raises
    ------
    GeometryError
        As `centreline.pieces` does.
    """
    outer, inner = (tube_mesh(centreline, radius=one) for one in (radius, bore))
    count = len(outer.vertices) - 2  # without the middles of both ends
    band = outer.faces[: -2 * RING_CORNERS]
    here = np.arange(RING_CORNERS)
    after = (here + 1) % RING_CORNERS
    rim = np.concatenate(
        [
            np.stack([here, here + count, after + count], axis=1),
            np.stack([here, after + count, after], axis=1),
        ]
    )
    faces = [band, band[:, ::-1] + count, rim, rim[:, ::-1] + count - RING_CORNERS]
    vertices = np.concatenate([outer.vertices[:-2], inner.vertices[:-2]])
    return TubeMesh(vertices, np.concatenate(faces))


def _stations(centreline: Centreline) -> Iterator[tuple[Array, Array]]:
    """Yield the middle of each ring, and two directions across the tube there, (2, 3)."""
    start, following, *_ = centreline.vertices
    frame = axis_frame(start, difference(following, start))
    across = np.array(frame.axes[:2])
    last = np.asarray(start)
    yield last, across
    for piece in pieces(centreline):
        if isinstance(piece, BendArc):
            steps = math.ceil(math.degrees(piece.angle) / ARC_STEP_DEG)
            shares = np.arange(steps + 1) / steps
            axis = piece.angle * np.cross(piece.u, piece.v)
            turned = across @ rotations_by(np.outer(shares, axis)).transpose(0, 2, 1)
            places = points_along(piece, shares)
            across = turned[-1]
        else:
            places, turned = np.array([piece.end]), across[None]
        for place, axes in zip(places, turned, strict=True):
            if math.dist(place, last) > TOUCH:  # a straight may have no length
                last = place
                yield place, axes


def _faces(rings: int) -> Indices:
    """Return the triangles between so many rings, and those of both ends."""
    here = np.arange(RING_CORNERS)
    after = (here + 1) % RING_CORNERS
    beyond = np.stack([here + RING_CORNERS, after + RING_CORNERS])
    band = np.concatenate(
        [
            np.stack([here, after, beyond[1]], axis=1),
            np.stack([here, beyond[1], beyond[0]], axis=1),
        ]
    )
    steps = RING_CORNERS * np.arange(rings - 1)
    bands = (band + steps[:, None, None]).reshape(-1, 3)
    first = np.full(RING_CORNERS, rings * RING_CORNERS)
    top = (rings - 1) * RING_CORNERS
    low = np.stack([first, after, here], axis=1)
    high = np.stack([first + 1, here + top, after + top], axis=1)
    faces: Indices = np.concatenate([bands, low, high])
    return faces
