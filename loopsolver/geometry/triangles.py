"""Points against triangles: which place of one is nearest, and which side of it."""

from __future__ import annotations

from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Flags, Indices
from loopsolver.tolerances import JUST_TOUCHING

FACE: Final = 0
"""Features of a triangle a, b, c: 0 its face; 1, 2, 3 its sides ab, bc, ca; 4, 5, 6
its corners a, b, c.
"""


def nearest_places(points: Array, corners: Array) -> tuple[Array, Indices]:
    """Return the place of each triangle nearest to its point, and on which feature it is.

    Parameters
    ----------
    points : array (n, 3) [mm]
    corners : array (n, 3, 3) [mm]
        One triangle a point; with an area.

    Returns
    -------
    places : array (n, 3) [mm]
    features : int array (n,)

    References
    ----------
    C. Ericson, Real-Time Collision Detection (2005), section 5.1.5 (from memory).
    """
    a = corners[:, 0]
    ab, ac, ap = corners[:, 1] - a, corners[:, 2] - a, points - a
    ab_ab, ab_ac, ac_ac = dots(ab, ab), dots(ab, ac), dots(ac, ac)
    ab_ap, ac_ap = dots(ab, ap), dots(ac, ap)
    ab_bp, ac_bp = ab_ap - ab_ab, ac_ap - ab_ac
    ab_cp, ac_cp = ab_ap - ab_ac, ac_ap - ac_ac
    of_c = ab_ap * ac_bp - ab_bp * ac_ap
    of_b = ab_cp * ac_ap - ab_ap * ac_cp
    of_a = ab_bp * ac_cp - ab_cp * ac_bp
    from_b, from_c = ac_bp - ab_bp, ab_cp - ac_cp
    features = np.select(
        [
            (ab_ap <= 0.0) & (ac_ap <= 0.0),
            (ab_bp >= 0.0) & (ac_bp <= ab_bp),
            (ac_cp >= 0.0) & (ab_cp <= ac_cp),
            (of_c <= 0.0) & (ab_ap >= 0.0) & (ab_bp <= 0.0),
            (of_b <= 0.0) & (ac_ap >= 0.0) & (ac_cp <= 0.0),
            (of_a <= 0.0) & (from_b >= 0.0) & (from_c >= 0.0),
        ],
        [4, 5, 6, 1, 3, 2],
        FACE,
    )
    whole = of_a + of_b + of_c
    share = _ratio(from_b, from_b + from_c)
    b = np.choose(
        features,
        [_ratio(of_b, whole), _ratio(ab_ap, ab_ap - ab_bp), 1 - share, 0.0, 0.0, 1, 0],
    )
    c = np.choose(
        features,
        [_ratio(of_c, whole), 0.0, share, _ratio(ac_ap, ac_ap - ac_cp), 0.0, 0, 1],
    )
    places: Array = a + b[:, None] * ab + c[:, None] * ac
    return places, features


def dots(first: Array, second: Array) -> Array:
    """Return the scalar products of vectors (n, 3), pair by pair, (n,)."""
    products: Array = np.einsum("ij,ij->i", first, second)
    return products


def side_lengths(corners: Array) -> Array:
    """Return the lengths of the sides ab, bc, ca of triangles (t, 3, 3), (t, 3) [mm]."""
    lengths = np.empty((len(corners), 3))
    for start in range(3):
        side = corners[:, (start + 1) % 3] - corners[:, start]
        lengths[:, start] = np.sqrt(dots(side, side))
    return lengths


def _ratio(part: Array, whole: Array) -> Array:
    """Return shares of a whole; 0 where there is none."""
    ratio: Array = part / np.where(whole == 0.0, 1.0, whole)
    return ratio


def face_normals(corners: Array) -> Array:
    """Return the normals of triangles (t, 3, 3) by their right-handed order, (t, 3)."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normals = np.cross(b - a, c - a)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals /= np.where(lengths > 0.0, lengths, 1.0)
    return normals


def corner_angles(corners: Array) -> Array:
    """Return the angles of triangles (t, 3, 3) at their corners, (t, 3)."""
    towards = np.roll(corners, -1, axis=1) - corners
    towards /= np.linalg.norm(towards, axis=2, keepdims=True)
    cosines = -(towards * np.roll(towards, 1, axis=1)).sum(axis=2)
    angles: Array = np.arccos(np.clip(cosines, -1.0, 1.0))
    return angles


def crossing(first: Array, second: Array) -> Flags:
    """Return which triangles of two lists (n, 3, 3) run through each other, (n,).

    Two do where a side of one passes through the inside of the other. Triangles in one
    plane, and such as only touch, do not.
    """
    crossed = np.zeros(len(first), dtype=np.bool_)
    for one, other in ((first, second), (second, first)):
        for start in range(3):
            crossed |= _pierced(one[:, start], one[:, (start + 1) % 3], other)
    return crossed


def _pierced(start: Array, end: Array, corners: Array) -> Flags:
    """Return which stretches pass through the inside of their triangle, (n,).

    Both ends lie well off the plane, on either side, and the line passes all three sides
    of the triangle on the same hand. What rounding could have made counts as touching.
    """
    a, b, c = (corners[:, k] for k in range(3))
    normal = np.cross(b - a, c - a)
    above, below = dots(start - a, normal), dots(end - a, normal)
    along = end - start
    hands = np.stack(
        [
            dots(along, np.cross(one - start, two - start))
            for one, two in ((a, b), (b, c), (c, a))
        ]
    )
    size = np.abs(corners - a[:, None]).max(axis=(1, 2)) + np.abs(along).max(axis=1)
    slack = JUST_TOUCHING * size**3
    same = (hands > slack).all(axis=0) | (hands < -slack).all(axis=0)
    parted = np.minimum(above, below) < -slack
    parted &= np.maximum(above, below) > slack
    pierced: Flags = parted & same
    return pierced
