"""A printed part measured back from its STL file: by trimesh, and by fits of our own.

Nothing here knows how the part was drawn. A groove is the smooth stretch of surface with
the most directions in it; a cylinder's axis is what its facets' normals have least of.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
import trimesh
from scipy.optimize import least_squares

SMOOTH = np.radians(12.0)
"""Facets of one curved surface meet at less than this [rad]."""


@dataclass(frozen=True)
class Leg:
    """A straight stretch of groove: a point on its axis, its direction, its radius."""

    at: np.ndarray
    along: np.ndarray
    radius: float


def read(stl: bytes) -> trimesh.Trimesh:
    """A part as a slicer gets it: closed, and with its inside inside."""
    part = trimesh.load_mesh(io.BytesIO(stl), file_type="stl")
    assert isinstance(part, trimesh.Trimesh)
    assert part.is_watertight
    assert part.is_winding_consistent
    assert part.volume > 0.0
    return part


def groove_faces(part: trimesh.Trimesh) -> np.ndarray:
    """The facets of the smooth surface with the most directions that point up."""
    smooth = part.face_adjacency[part.face_adjacency_angles < SMOOTH]
    stretches = trimesh.graph.connected_components(smooth, min_len=8)

    def directions(faces) -> int:
        up = [face for face in faces if part.face_normals[face, 2] > 0.02]
        return len(np.unique(part.face_normals[up].round(2), axis=0))

    return np.array(max(stretches, key=directions))


def legs(part: trimesh.Trimesh) -> list[Leg]:
    """The straight stretches of a part's groove, along x."""
    faces = groove_faces(part)
    corners = part.triangles[faces]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    long = set(faces[sides > 5.0].tolist())
    near = part.face_adjacency[part.face_adjacency_angles < SMOOTH]
    within = [pair for pair in near.tolist() if set(pair) <= long]
    stretches = trimesh.graph.connected_components(np.array(within), min_len=8)
    return sorted((cylinder(part, one) for one in stretches), key=lambda leg: leg.at[0])


def cylinder(part: trimesh.Trimesh, faces: np.ndarray) -> Leg:
    """The cylinder whose surface some facets are, by least squares."""
    normals = part.face_normals[faces]
    along = np.linalg.svd(normals)[2][-1]
    points = part.triangles[faces].reshape(-1, 3)
    base = np.linalg.svd(along[None])[2][1:]
    flat = points @ base.T
    # x^2 + y^2 = 2 a x + 2 b y + c is linear in the middle (a, b) and in c.
    system = np.column_stack([2.0 * flat, np.ones(len(flat))])
    a, b, c = np.linalg.lstsq(system, (flat**2).sum(axis=1), rcond=None)[0]
    radius = float(np.sqrt(c + a * a + b * b))
    off = np.linalg.norm(flat - (a, b), axis=1) - radius
    assert np.abs(off).max() < 0.002, "no cylinder"
    at = np.array([a, b]) @ base + points.mean(axis=0) @ np.outer(along, along)
    return Leg(at=at, along=along, radius=radius)


def torus(points: np.ndarray, normal: np.ndarray, start) -> tuple[float, float, float]:
    """Radius of the middle line, of the cross-section, and the worst misfit of a torus.

    Its axis points along `normal`; `start` is near its middle.
    """
    base = np.linalg.svd(np.asarray(normal)[None])[2]
    flat = points @ base.T

    def off(guess):
        h, x, y, large, small = guess
        spoke = np.hypot(flat[:, 1] - x, flat[:, 2] - y)
        return np.hypot(spoke - large, flat[:, 0] - h) - small

    first = [*(base @ start), 28.0, 7.0]
    found = least_squares(off, first, xtol=1e-12, ftol=1e-12)
    return float(found.x[3]), float(found.x[4]), float(np.abs(off(found.x)).max())


def turn_deg(first: np.ndarray, second: np.ndarray, third: np.ndarray) -> float:
    """The turn between two bends, of three directions of travel: IUPAC's torsion angle."""
    one, two = np.cross(first, second), np.cross(second, third)
    sine = np.cross(one, two) @ second / np.linalg.norm(second)
    return float(np.degrees(np.arctan2(sine, one @ two)))


def overhangs(part: trimesh.Trimesh, *, floor: float) -> np.ndarray:
    """How wide facets are that hang over more than 45 degrees, above a height [mm]."""
    hanging = (part.face_normals[:, 2] < -np.sqrt(0.5) - 0.001) & (
        part.triangles[:, :, 2].min(axis=1) > floor
    )
    corners = part.triangles[hanging]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    return 2.0 * part.area_faces[hanging] / longest
