"""A tube as a chain of straights, turns and bends: where its far end is, and its slopes.

A straight moves what follows along the tube, a turn turns it about the tube, and a bend
turns it about an axis through the bend's centre: each is a screw, and the far end stands
where the product of all their motions puts it. K. M. Lynch and F. C. Park, Modern Robotics
(2017), equations 4.14 (product of exponentials) and 5.11 (space Jacobian), by number from
memory.

The first end lies at the origin, the first straight along +z; a turn is right-handed about
the travel, as a bend table's rotation is; without a first turn the first bend turns
towards +x.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from loopsolver.geometry.frames import cross_matrices
from loopsolver.geometry.vectors import Array, crosses
from loopsolver.tube.bend_table import BendTable

Screw = tuple[float, float, float, float, float, float]
"""An axis that is turned about, a unit vector or nothing, and how the origin moves."""

SLIDE: Final[Screw] = (0.0, 0.0, 0.0, 0.0, 0.0, 1.0)
TURN: Final[Screw] = (0.0, 0.0, 1.0, 0.0, 0.0, 0.0)


class Poses(NamedTuple):
    """Where many frames stand: axes as columns (m, 3, 3), origins (m, 3) [mm]."""

    rotations: Array
    positions: Array

    def then(self, later: Poses) -> Poses:
        """Return where frames stand that are given in these."""
        moved = np.einsum("mij,mj->mi", self.rotations, later.positions)
        return Poses(self.rotations @ later.rotations, self.positions + moved)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """A tube by what it is made of, in order.

    Attributes
    ----------
    straights : tuple of float
        One more than there are bends [mm].
    turns : tuple of float
        Before each bend [rad]; the first is how the tube is rolled in its first fitting.
    angles : tuple of float
        Of each bend [rad].
    radius : float
        Centre-line radius of every bend [mm].
    """

    straights: tuple[float, ...]
    turns: tuple[float, ...]
    angles: tuple[float, ...]
    radius: float


class EndJacobian(NamedTuple):
    """How the far end moves with each amount of a chain: twists, a column each.

    Rows 0 to 2 turn it [rad], rows 3 to 5 move it [mm], both along the axes of the first
    end: for each mm of a straight, for each radian of a turn or bend.

    Attributes
    ----------
    straights : ndarray, (6, bends + 1)
    turns : ndarray, (6, bends)
        The first column is the free roll in the first fitting: no error of a tube.
    angles : ndarray, (6, bends)
        Where a bend that is bent further takes up more tube.
    angles_to_marks : ndarray, (6, bends)
        Where it is bent at its marks, so that the straight after it is shorter by as much.
    """

    straights: Array
    turns: Array
    angles: Array
    angles_to_marks: Array


def chain_of(table: BendTable) -> Chain:
    """Return the chain of a bend table."""
    return Chain(
        straights=table.straights,
        turns=tuple(math.radians(bend.rotation_deg) for bend in table.bends),
        angles=tuple(math.radians(bend.angle_deg) for bend in table.bends),
        radius=table.radius,
    )


def bend_screw(radius: float) -> Screw:
    """Return the screw of a bend towards +x: a turn about y through (radius, 0, 0)."""
    return (0.0, 1.0, 0.0, 0.0, 0.0, radius)


def end_poses(
    straights: ArrayLike, turns: ArrayLike, angles: ArrayLike, radius: float
) -> Poses:
    """Return where the far ends of many tubes stand in the frames of their first ends.

    Parameters
    ----------
    straights : array_like, (m, bends + 1)
        [mm].
    turns, angles : array_like, (m, bends)
        [rad].
    radius : float
        Of all bends [mm].

    Examples
    --------
    A quarter bend of radius 20 between straights of 50 and 30 mm ends at (50, 0, 70):

    >>> end = end_poses([[50.0, 30.0]], [[0.0]], [[math.pi / 2]], 20.0)
    >>> end.positions.round(9).tolist()
    [[50.0, 0.0, 70.0]]
    """
    lengths = np.asarray(straights, dtype=float)
    amounts = _in_order(lengths, np.asarray(turns, float), np.asarray(angles, float))
    return joined_motions(_screws(lengths.shape[1] - 1, radius), amounts)


def end_jacobian(chain: Chain) -> EndJacobian:
    """Return how the far end of a tube moves with each of its straights, turns, bends."""
    bends = len(chain.angles)
    amounts = _in_order(
        *(np.array([part]) for part in (chain.straights, chain.turns, chain.angles))
    )
    screws = _screws(bends, chain.radius)
    slopes, end = space_jacobian(screws, amounts[0])
    slopes[3:] += crosses(slopes[:3].T, end).T
    straights, angles = slopes[:, 0::3], slopes[:, 2::3]
    return EndJacobian(
        straights=straights,
        turns=slopes[:, 1::3],
        angles=angles,
        angles_to_marks=angles - chain.radius * straights[:, 1:],
    )


def joined_motions(screws: Sequence[Screw], amounts: Array) -> Poses:
    """Return the products of motions along screws, by amounts of shape (m, screws)."""
    poses = screw_motions(screws[0], amounts[:, 0])
    for screw, by in zip(screws[1:], amounts.T[1:], strict=True):
        poses = poses.then(screw_motions(screw, by))
    return poses


def screw_motions(screws: ArrayLike, amounts: Array) -> Poses:
    """Return the motions along screws by as many amounts, or along one by many.

    Notes
    -----
    With W the matrix of ``w x`` and t the amount, [rad] or [mm] of a screw that only
    slides, the rotation is ``I + sin t W + (1 - cos t) W^2``, the way ``(t I + (1 - cos t)
    W + (t - sin t) W^2) v`` (Modern Robotics, 3.51 and 3.88); where w is nothing they
    leave ``I`` and ``t v``.
    """
    axes, ways = np.split(np.atleast_2d(np.asarray(screws, dtype=float)), 2, axis=1)
    turned = cross_matrices(axes)
    twice = turned @ turned
    sines, versines = np.sin(amounts), 2.0 * np.sin(0.5 * amounts) ** 2
    rotations = sines[:, None, None] * turned + versines[:, None, None] * twice
    once, again = turned @ ways[:, :, None], twice @ ways[:, :, None]
    moved = amounts[:, None] * ways + versines[:, None] * once[:, :, 0]
    moved += (amounts - sines)[:, None] * again[:, :, 0]
    return Poses(np.eye(3) + rotations, moved)


def space_jacobian(screws: Sequence[Screw], amounts: Array) -> tuple[Array, Array]:
    """Return how a product of motions moves with each amount, and where the origin goes.

    Each column of the first, (6, screws), is a screw as it lies after the motions before
    it: what turns, and how a point that is at the origin then moves. Modern Robotics,
    equation 5.11.
    """
    motions = screw_motions(screws, amounts)
    turned, places = np.eye(3), np.zeros(3)
    columns = []
    for screw, rotation, way in zip(np.array(screws, float), *motions, strict=True):
        axis = turned @ screw[:3]
        columns.append([*axis, *(turned @ screw[3:] + crosses(places, axis))])
        turned, places = turned @ rotation, places + turned @ way
    return np.array(columns).T, places


def _screws(bends: int, radius: float) -> list[Screw]:
    return [*[SLIDE, TURN, bend_screw(radius)] * bends, SLIDE]


def _in_order(straights: Array, turns: Array, angles: Array) -> Array:
    """Return amounts in the order of the screws: straight, turn, bend, ..., straight."""
    amounts = np.empty((len(straights), 3 * turns.shape[1] + 1))
    amounts[:, 0::3] = straights
    amounts[:, 1::3] = turns
    amounts[:, 2::3] = angles
    return amounts
