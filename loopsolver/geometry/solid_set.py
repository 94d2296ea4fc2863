"""Many solids as one value, to be measured together.

Convex ones are laid out as arrays. Meshes keep a row there as well, which is further off
than any solid, and are measured one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.geometry.mesh_grid import roughly
from loopsolver.geometry.mesh_shape import nearest_of, signed
from loopsolver.geometry.solids import (
    Box,
    Cylinder,
    HalfSpace,
    Mesh,
    Solid,
    bounds,
    signed_distance,
)
from loopsolver.geometry.vectors import Array, Flags, Indices

FAR_OFF: Final = 1e9
"""How far off the row of a mesh is among convex solids [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Extents:
    """How far each of some solids reaches in its own coordinates.

    Attributes
    ----------
    half : array (3, ...)
        Half sizes of a box; radius, inf and half height of a cylinder; inf, inf and 0
        of a half-space, whose own z is the height above its plane [mm].
    is_round, is_open : bool array (...)
        Whether it is a cylinder; whether it is a half-space.
    rounding : array (...)
        By how much it is grown all round [mm].
    """

    half: Array
    is_round: Flags
    is_open: Flags
    rounding: Array

    def pick(self, which: Indices) -> Extents:
        """Return the extents of the solids at `which`, with one more axis at the end."""
        return Extents(
            half=self.half[:, which, None],
            is_round=self.is_round[which, None],
            is_open=self.is_open[which, None],
            rounding=self.rounding[which, None],
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidSet:
    """Solids whose frames are laid out as arrays once, n of them.

    Attributes
    ----------
    axes : array (3, n, 3)
        Own x, y and z of every solid, seen from outside; only z of a half-space.
    origins : array (3, n)
        The solids' origins in these own coordinates [mm].
    extents : Extents
    bounds : array (n, 2, 3)
        Lowest and highest x, y, z of each [mm].
    meshes : tuple of (int, Mesh)
        Those that are meshes, each with its place among the solids.
    """

    axes: Array
    origins: Array
    extents: Extents
    bounds: Array
    meshes: tuple[tuple[int, Mesh], ...] = ()

    def __len__(self) -> int:
        """Return the number of solids."""
        return len(self.bounds)

    def among(self, which: Indices) -> SolidSet:
        """Return the solids at `which` as a set."""
        extents = self.extents
        return SolidSet(
            axes=self.axes[:, which],
            origins=self.origins[:, which],
            extents=Extents(
                half=extents.half[:, which],
                is_round=extents.is_round[which],
                is_open=extents.is_open[which],
                rounding=extents.rounding[which],
            ),
            bounds=self.bounds[which],
            meshes=tuple(
                (place, mesh)
                for number, mesh in self.meshes
                for place in np.flatnonzero(np.asarray(which) == number).tolist()
            ),
        )

    def moved(self, by: Sequence[float] | Array) -> SolidSet:
        """Return the solids moved by a vector, or by one each, (n, 3) [mm]; none turns."""
        along = np.broadcast_to(np.asarray(by, dtype=float), (len(self), 3))
        return replace(
            self,
            origins=self.origins + np.einsum("kni,ni->kn", self.axes, along),
            bounds=self.bounds + along[:, None],
            meshes=tuple(
                (number, mesh.moved(along[number])) for number, mesh in self.meshes
            ),
        )

    def signed_distance(self, points: Array) -> Array:
        """Return the exact signed distance of each point to each solid [mm].

        Parameters
        ----------
        points : array (m, 3) [mm]

        Returns
        -------
        array (m, n) [mm]
            Negative inside.
        """
        distance = self.convex_distance(points)
        for number, mesh in self.meshes:
            distance[:, number] = signed_distance(mesh, points)
        return distance

    def rough_distance(self, points: Array, *, most: float) -> Array:
        """Return the same, of meshes too small by some tenths, and `most` at most [mm]."""
        distance = self.convex_distance(points)
        for number, mesh in self.meshes:
            distance[:, number] = roughly(mesh.shape, mesh.own(points), most=most)
        return distance

    def convex_distance(self, points: Array) -> Array:
        """Return the same, meshes further off than any solid."""
        count = len(self)
        along = np.asarray(points) @ self.axes.reshape(3 * count, 3).T
        own = along.reshape(-1, 3, count).swapaxes(0, 1) - self.origins[:, None]
        return distance_of(own, self.extents)

    def distance_to(self, which: Indices, points: Array) -> Array:
        """Return the distance of points (k, s, 3) to the solids `which`, (k, s) [mm]."""
        distance = distance_of(self._own(which, points), self.extents.pick(which))
        for number, mesh in self.meshes:
            rows = np.flatnonzero(which == number)
            found = signed_distance(mesh, points[rows].reshape(-1, 3))
            distance[rows] = found.reshape(len(rows), points.shape[1])
        return distance

    def slope_to(self, which: Indices, points: Array) -> tuple[Array, Array]:
        """Return the distance of points (k, 3) to the solids `which`, and its slope.

        Returns
        -------
        distance : array (k,) [mm]
        away : array (k, 3)
            The direction in which it grows.
        """
        own = self._own(which, points[:, None])
        distance, slope = distance_and_gradient(own, self.extents.pick(which))
        distance = distance[:, 0]
        away = np.einsum(
            "km,mki->mi", slope[..., 0], self.axes[:, which].swapaxes(0, 1)
        )
        for number, mesh in self.meshes:
            rows = np.flatnonzero(which == number)
            distance[rows], away[rows] = _mesh_slope(mesh, points[rows])
        return distance, away

    def _own(self, which: Indices, points: Array) -> Array:
        """Return points (k, s, 3) in the coordinates of the solids `which`, (3, k, s)."""
        axes = np.ascontiguousarray(self.axes[:, which].swapaxes(0, 1))
        own: Array = (points @ axes.swapaxes(1, 2)).transpose(2, 0, 1)
        return own - self.origins[:, which][..., None]


def stack(solids: Sequence[Solid]) -> SolidSet:
    """Return solids as one set, in the same order."""
    count = len(solids)
    axes = np.zeros((count, 3, 3))
    origins = np.zeros((count, 3))
    half = np.full((count, 3), np.inf)
    for index, solid in enumerate(solids):
        match solid:
            case Box():
                axes[index] = solid.frame.axes
                origins[index] = solid.frame.origin
                half[index] = 0.5 * np.asarray(solid.size)
            case Cylinder():
                axes[index] = solid.frame.axes
                origins[index] = solid.frame.origin
                half[index, [0, 2]] = 0.5 * solid.diameter, 0.5 * solid.height
            case HalfSpace():
                axes[index, 2] = solid.normal
                origins[index] = solid.point
                half[index, 2] = 0.0
            case Mesh():
                half[index, 2] = -FAR_OFF
    extents = Extents(
        half=np.ascontiguousarray(half.T),
        is_round=np.array([isinstance(solid, Cylinder) for solid in solids], bool),
        is_open=np.array(
            [isinstance(solid, HalfSpace | Mesh) for solid in solids], bool
        ),
        rounding=np.array(
            [s.rounding if isinstance(s, Cylinder) else 0.0 for s in solids]
        ),
    )
    return SolidSet(
        axes=np.ascontiguousarray(axes.swapaxes(0, 1)),
        origins=np.einsum("nij,nj->in", axes, origins),
        extents=extents,
        bounds=np.array([bounds(solid) for solid in solids]).reshape(-1, 2, 3),
        meshes=tuple((n, one) for n, one in enumerate(solids) if isinstance(one, Mesh)),
    )


def _mesh_slope(mesh: Mesh, points: Array) -> tuple[Array, Array]:
    """Return signed distances of points to a mesh, and the directions away from it.

    On its surface, where there is none, the direction is nothing.
    """
    own = mesh.own(points)
    nearest = nearest_of(mesh.shape, own)
    distance = signed(mesh.shape, own, nearest)
    apart = np.where(distance == 0.0, 1.0, distance)[:, None]
    away: Array = (own - nearest.place) / apart @ mesh.frame.rotation.T
    return distance, away


def joined(sets: Sequence[SolidSet]) -> SolidSet:
    """Return the solids of several sets as one, in their order."""
    extents = [one.extents for one in sets]
    return SolidSet(
        axes=np.concatenate([one.axes for one in sets], axis=1),
        origins=np.concatenate([one.origins for one in sets], axis=1),
        extents=Extents(
            half=np.concatenate([one.half for one in extents], axis=1),
            is_round=np.concatenate([one.is_round for one in extents]),
            is_open=np.concatenate([one.is_open for one in extents]),
            rounding=np.concatenate([one.rounding for one in extents]),
        ),
        bounds=np.concatenate([one.bounds for one in sets]),
        meshes=tuple(
            (sum(map(len, sets[:place])) + number, mesh)
            for place, one in enumerate(sets)
            for number, mesh in one.meshes
        ),
    )


def _folded(own: Array, extents: Extents) -> Array:
    """Return own coordinates folded on to the side where every extent is positive.

    The first row of a cylinder becomes the distance from its axis, [mm].
    """
    folded = np.abs(own)
    if extents.is_round.any():
        np.copyto(folded[0], np.hypot(own[0], own[1]), where=extents.is_round)
    if extents.is_open.any():
        np.copyto(folded[2], own[2], where=extents.is_open)
    return folded


def distance_of(own: Array, extents: Extents) -> Array:
    """Return signed distances, (...) [mm].

    Parameters
    ----------
    own : array (3, ...) [mm]
        Points in the own coordinates of the solid that each is measured to.
    extents : Extents
        Of those solids; its arrays broadcast against an axis of `own`.
    """
    beyond = _folded(own, extents)
    beyond -= extents.half.reshape(
        3, *[1] * (own.ndim - extents.half.ndim), *extents.half.shape[1:]
    )
    outside = np.maximum(beyond, 0.0)
    distance: Array = np.sqrt((outside * outside).sum(axis=0))
    distance += np.minimum(beyond.max(axis=0), 0.0)
    distance -= extents.rounding
    return distance


def distance_and_gradient(own: Array, extents: Extents) -> tuple[Array, Array]:
    """Return signed distances and their subgradients, both in own coordinates.

    Parameters
    ----------
    own : array (3, ...) [mm]
        Points in the own coordinates of the solid that each is measured to.
    extents : Extents
        Of those solids; its arrays broadcast against `own`.

    Returns
    -------
    distance : array (...) [mm]
    gradient : array (3, ...)
        At an edge or on an axis any one subgradient: the tangent plane it spans lies
        nowhere above the distance, because the solids are convex.
    """
    folded = _folded(own, extents)
    beyond = folded - extents.half
    outside = np.maximum(beyond, 0.0)
    length = np.sqrt((outside * outside).sum(axis=0))
    distance = length + np.minimum(beyond.max(axis=0), 0.0) - extents.rounding

    is_outside = length > 0.0
    gradient = outside / np.where(is_outside, length, 1.0)
    if not is_outside.all():
        rows = np.arange(3).reshape((3,) + (1,) * length.ndim)
        np.copyto(gradient, beyond.argmax(axis=0) == rows, where=~is_outside)
    return distance, _unfolded(gradient, own, folded, extents)


def _unfolded(gradient: Array, own: Array, folded: Array, extents: Extents) -> Array:
    """Return gradients along own coordinates, given those along the folded ones."""
    sides = np.sign(own)
    if extents.is_open.any():
        np.copyto(sides[2], 1.0, where=extents.is_open)
    unfolded = gradient * sides
    if extents.is_round.any():
        radial = gradient[0] / np.where(folded[0] > 0.0, folded[0], 1.0)
        np.copyto(unfolded[:2], radial * own[:2], where=extents.is_round)
    return unfolded
