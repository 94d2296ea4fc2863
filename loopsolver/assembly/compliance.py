"""How far a bent tube gives when it is pushed aside: force and stress, by Castigliano."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import (
    BendArc,
    Centreline,
    Straight,
    piece_length,
    pieces,
    points_along,
)

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)
_STATIONS: Final = np.linspace(0.0, 1.0, 25)
"""Shares of a piece at which stress is looked at: on a bend every 3.75 degrees of 90."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BeamSection:
    """A round tube as a beam.

    Attributes
    ----------
    outer_diameter, inner_diameter : float
        [mm].
    modulus, shear_modulus : float
        [MPa].
    """

    outer_diameter: float
    inner_diameter: float
    modulus: float
    shear_modulus: float

    @property
    def area(self) -> float:
        """Of the wall [mm2]."""
        return 0.25 * math.pi * (self.outer_diameter**2 - self.inner_diameter**2)

    @property
    def second_moment(self) -> float:
        """Second moment of area about a diameter [mm4]; the polar one is its double."""
        return math.pi / 64.0 * (self.outer_diameter**4 - self.inner_diameter**4)


def compliance(centreline: Centreline, section: BeamSection) -> Array:
    """Return how a tube's last end moves under a load there, its first end held fast.

    Returns
    -------
    array (6, 6)
        From moment [N mm] and force [N] to turn [rad] and way [mm], about the last end
        and along the case's axes: moment and turn first.

    Notes
    -----
    Castigliano's theorem: ``C = sum over ds of J' K J``, where J leads from the load at
    the end to moment and force at the station, and K is 1 / GJ for the moment along the
    tube, 1 / EI across it and 1 / EA for the force along it. The straights' integrals are
    exact, those of the bends to rounding. Shear, and the flattening of a bent tube (von
    Karman), are left out: with the walls of cooling tubes these make it softer by some
    per cent, so that forces and stresses come out too high rather than too low.

    References
    ----------
    S. Timoshenko, Strength of Materials, part 1 (1955), chapter on strain energy: from
    memory.
    """
    end = np.asarray(centreline.vertices[-1])
    bend = 1.0 / (section.modulus * section.second_moment)
    twist = 1.0 / (section.shear_modulus * 2.0 * section.second_moment)
    stretch = 1.0 / (section.modulus * section.area)
    whole = np.zeros((6, 6))
    for piece in pieces(centreline):
        length = piece_length(piece)
        if length <= TOUCH:
            continue
        shares, weights = 0.5 * (_NODES + 1.0), 0.5 * length * _WEIGHTS
        along = _tangents(piece, shares)
        lead = _moments_per_load(end - points_along(piece, shares))
        twisting = np.einsum("ka,kab->kb", along, lead)
        pulling = np.concatenate([np.zeros_like(along), along], axis=1)
        whole += bend * np.einsum("k,kab,kac->bc", weights, lead, lead)
        whole += (twist - bend) * np.einsum("k,kb,kc->bc", weights, twisting, twisting)
        whole += stretch * np.einsum("k,kb,kc->bc", weights, pulling, pulling)
    return whole


def force_aside(of_end: Array, way: Array) -> Array:
    """Return the force that moves the last end by a way, the end free to turn [N].

    Parameters
    ----------
    of_end : array (6, 6)
        As `compliance` gives.
    way : array (3,) [mm]
    """
    return np.asarray(np.linalg.solve(of_end[3:, 3:], way), dtype=np.float64)


def greatest_stress(
    centreline: Centreline, section: BeamSection, force: Array
) -> float:
    """Return the greatest pull in a tube whose last end bears a force [MPa].

    The largest principal stress: bending and pull along the tube, torsion across it. On
    the inside of a bend the bending stress is higher than in a straight tube by
    `inside_factor`; it is taken so all round.
    """
    end, half = np.asarray(centreline.vertices[-1]), 0.5 * section.outer_diameter
    worst = 0.0
    for piece in pieces(centreline):
        along = _tangents(piece, _STATIONS)
        moments = np.cross(end - points_along(piece, _STATIONS), force)
        twisting = np.einsum("ka,ka->k", moments, along)
        bending = np.linalg.norm(moments - twisting[:, None] * along, axis=1)
        factor = 1.0
        if isinstance(piece, BendArc):
            factor = inside_factor(section, piece.radius)
        pull: Array = factor * bending * half / section.second_moment
        pull = pull + np.abs(along @ force) / section.area
        shear = twisting * half / (2.0 * section.second_moment)
        worst = max(worst, float((0.5 * pull + np.hypot(0.5 * pull, shear)).max()))
    return worst


def inside_factor(section: BeamSection, radius: float) -> float:
    """Return how much higher bending stress is on the inside of a bend of some radius.

    Notes
    -----
    Winkler's theory of curved bars. The neutral line lies at r_n = A / integral(dA / r);
    for a ring section the integral is ``2 pi (sqrt(R2 - a2) - sqrt(R2 - c2))``, c and a
    the outer and inner radius. The stress at r is ``M (r_n - r) / (A (R - r_n) r)``.

    References
    ----------
    S. Timoshenko, Strength of Materials, part 2 (1956), chapter on curved bars: from
    memory.
    """
    outer, inner = 0.5 * section.outer_diameter, 0.5 * section.inner_diameter
    if radius <= outer:
        return math.inf
    spread = math.sqrt(radius**2 - inner**2) - math.sqrt(radius**2 - outer**2)
    neutral = section.area / (2.0 * math.pi * spread)
    least = radius - outer
    stress = (neutral - least) / (section.area * (radius - neutral) * least)
    return stress * section.second_moment / outer


def _tangents(piece: Straight | BendArc, shares: Array) -> Array:
    """Return the directions of travel at shares of a piece, (k, 3)."""
    if isinstance(piece, BendArc):
        turned = shares[:, None] * piece.angle
        along: Array = np.cos(turned) * piece.v - np.sin(turned) * np.asarray(piece.u)
        return along
    way = np.subtract(piece.end, piece.start)
    length = max(float(np.linalg.norm(way)), TOUCH)
    return np.tile(way / length, (len(shares), 1))


def _moments_per_load(arms: Array) -> Array:
    """Return what leads from moment and force at the end to moments, (k, 3, 6).

    `arms` lead from the stations to the end, (k, 3) [mm].
    """
    lead = np.zeros((len(arms), 3, 6))
    lead[:, :, :3] = np.eye(3)
    lead[:, :, 3:] = np.cross(arms[:, None, :], np.eye(3)).swapaxes(1, 2)
    return lead
