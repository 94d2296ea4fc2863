"""How far a bent tube gives: against closed forms and a beam model in finite elements."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from loopsolver.assembly.compliance import (
    BeamSection,
    compliance,
    force_aside,
    greatest_stress,
    inside_factor,
)
from loopsolver.tube.centreline import Centreline, sample
from tests.builders.tubes import bent, laid_along_x, turned

ACRYLIC = BeamSection(
    outer_diameter=14.0, inner_diameter=10.0, modulus=3200.0, shear_modulus=1180.0
)
COPPER = BeamSection(
    outer_diameter=15.0, inner_diameter=13.6, modulus=117_000.0, shear_modulus=44_000.0
)
WIRE = BeamSection(
    outer_diameter=0.2, inner_diameter=0.0, modulus=200_000.0, shear_modulus=79_000.0
)
"""So thin that what pull stretches counts for nothing beside what it bends."""


def bending(section: BeamSection) -> float:
    """E I, from the diameters [N mm2]."""
    second = math.pi / 64.0 * (section.outer_diameter**4 - section.inner_diameter**4)
    return section.modulus * second


def straight(length: float) -> Centreline:
    return Centreline(vertices=((0.0, 0.0, 0.0), (length, 0.0, 0.0)), radius=28.0)


# ------------------------------------------------------------------- closed forms


def test_a_cantilever() -> None:
    """Timoshenko, Strength of Materials: F L3/3EI, F L2/2EI, L/EI, L/GJ, L/EA."""
    length, stiff = 130.0, bending(ACRYLIC)
    found = compliance(straight(length), ACRYLIC)
    assert found[4, 4] == pytest.approx(length**3 / (3.0 * stiff))
    assert found[5, 5] == pytest.approx(length**3 / (3.0 * stiff))
    assert found[2, 4] == pytest.approx(length**2 / (2.0 * stiff))
    assert found[1, 5] == pytest.approx(-(length**2) / (2.0 * stiff))
    assert found[1, 1] == pytest.approx(length / stiff)
    twist = length / (1180.0 * 2.0 * stiff / 3200.0)
    assert found[0, 0] == pytest.approx(twist)
    area = math.pi / 4.0 * (14.0**2 - 10.0**2)
    assert found[3, 3] == pytest.approx(length / (3200.0 * area))
    assert np.allclose(found, found.T)


def test_a_quarter_ring() -> None:
    """Across its free end a force moves that by pi/4 PR3/EI, and along it by 1/2 PR3/EI.

    Along its free end 3 pi/4 - 2; out of its plane pi/4 by bending, 3 pi/4 - 2 by twist.

    Timoshenko, Strength of Materials, part 1, curved bars built in at one end; Roark's
    Formulas for Stress and Strain, bars of circular axis: from memory. The ring begins
    along +x and ends along +y.
    """
    radius = 60.0
    stiff = bending(WIRE)
    ring = laid_along_x(bent([(0.0, 0.0, 90.0)], closing=0.0, radius=radius))
    found = compliance(ring, WIRE)[3:, 3:]
    whole = radius**3 / stiff
    assert found[0, 0] == pytest.approx(math.pi / 4.0 * whole, rel=1e-5)
    assert found[1, 1] == pytest.approx((3.0 * math.pi / 4.0 - 2.0) * whole, rel=1e-5)
    assert abs(found[0, 1]) == pytest.approx(0.5 * whole, rel=1e-5)
    twisting = radius**3 / (79_000.0 * 2.0 * stiff / 200_000.0)
    out_of_plane = math.pi / 4.0 * whole + (3.0 * math.pi / 4.0 - 2.0) * twisting
    assert found[2, 2] == pytest.approx(out_of_plane, rel=1e-5)


def test_a_u() -> None:
    """2 L3/3 + R (pi L2 + 4 L R + pi R2/2), over EI: both legs and half a ring.

    Timoshenko, Strength of Materials, part 1, chapter on strain energy: from memory.
    """
    leg, radius = 90.0, 30.0
    u = laid_along_x(
        bent([(leg, 0.0, 90.0), (0.0, 0.0, 90.0)], closing=leg, radius=radius)
    )
    found = compliance(u, WIRE)[4, 4] * bending(WIRE)
    ring = math.pi * leg**2 + 4.0 * leg * radius + math.pi * radius**2 / 2.0
    assert found == pytest.approx(2.0 * leg**3 / 3.0 + radius * ring, rel=1e-5)


@pytest.mark.parametrize(
    ("section", "length", "stress", "force"),
    [
        (ACRYLIC, 50.0, 26.9, 107.0),
        (ACRYLIC, 100.0, 6.7, 13.0),
        (ACRYLIC, 200.0, 1.7, 1.7),
        (COPPER, 50.0, 1053.0, 2263.0),
        (COPPER, 100.0, 263.0, 283.0),
        (COPPER, 200.0, 66.0, 35.0),
    ],
)
def test_what_a_leg_takes_for_each_millimetre(section, length, stress, force) -> None:
    """By hand from F = 3 E I d / L3 and s = 3 E (D/2) d / L2, rounded as here."""
    line = straight(length)
    found = force_aside(compliance(line, section), np.array([0.0, 1.0, 0.0]))
    assert float(np.linalg.norm(found)) == pytest.approx(force, rel=0.035)
    assert greatest_stress(line, section, found) == pytest.approx(stress, rel=0.02)


def test_what_acrylic_gives_for_long() -> None:
    """By hand: cast (10.3 MPa) 0.38, 1.5, 6.1 mm of a leg of 50, 100, 200 mm."""
    for length, gives in ((50.0, 0.38), (100.0, 1.5), (200.0, 6.1)):
        line = straight(length)
        force = force_aside(compliance(line, ACRYLIC), np.array([0.0, 0.0, 1.0]))
        stress = greatest_stress(line, ACRYLIC, force)
        assert 10.3 / stress == pytest.approx(gives, rel=0.03)


@pytest.mark.parametrize(
    ("ratio", "factor"),
    [(1.4, 2.40), (2.0, 1.62), (3.0, 1.33), (4.0, 1.23), (6.0, 1.14), (10.0, 1.08)],
)
def test_the_inside_of_a_bend_bears_more(ratio, factor) -> None:
    """Wilson and Quereau's table for round bars, in Seely and Smith: from memory.

    Its values are rounded, and above Winkler's by 2 % where the bend is tightest.
    """
    bar = BeamSection(
        outer_diameter=14.0, inner_diameter=0.0, modulus=1.0, shear_modulus=1.0
    )
    assert inside_factor(bar, 7.0 * ratio) == pytest.approx(factor, rel=0.025)


def test_torsion_and_bending_together() -> None:
    """A crank, loaded out of its plane: s/2 + sqrt(s2/4 + t2) where it is built in.

    M = F x 100 bends and T = F x 60 twists it there (Mohr's circle). The bend has a
    radius so large beside the tube that its inside bears no more.
    """
    thin = BeamSection(
        outer_diameter=0.5, inner_diameter=0.0, modulus=1.0, shear_modulus=1.0
    )
    crank = Centreline(
        vertices=((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 60.0, 0.0)), radius=40.0
    )
    stress = 100.0 * 0.25 / thin.second_moment
    shear = 60.0 * 0.25 / (2.0 * thin.second_moment)
    expected = stress / 2.0 + math.hypot(stress / 2.0, shear)
    found = greatest_stress(crank, thin, np.array([0.0, 0.0, 1.0]))
    assert found == pytest.approx(expected, rel=1e-9)


# --------------------------------------------------------------- finite elements


def element(start, end, section: BeamSection):
    """Return stiffness of a straight beam between two nodes in outside axes, (12, 12).

    The usual element of Euler and Bernoulli with two nodes of six freedoms, three ways
    and three turns each (Przemieniecki, Theory of Matrix Structural Analysis, 1968,
    section 5.6, without shear: from memory).
    """
    along = np.subtract(end, start)
    length = float(np.linalg.norm(along))
    x = along / length
    helper = np.eye(3)[int(np.argmin(np.abs(x)))]
    y = np.cross(helper, x)
    y /= np.linalg.norm(y)
    turn = np.kron(np.eye(4), np.array([x, y, np.cross(x, y)]))
    stiff = bending(section)
    pull = section.modulus * math.pi / 4.0
    pull *= (section.outer_diameter**2 - section.inner_diameter**2) / length
    twist = section.shear_modulus * 2.0 * stiff / section.modulus / length
    own = np.zeros((12, 12))
    for row, value in ((0, pull), (3, twist)):
        own[np.ix_([row, row + 6], [row, row + 6])] = [[value, -value], [-value, value]]
    for w, r, sign in ((1, 5, 1.0), (2, 4, -1.0)):
        a, b, c = 12.0 / length**3, sign * 6.0 / length**2, 4.0 / length
        own[np.ix_([w, r, w + 6, r + 6], [w, r, w + 6, r + 6])] = stiff * np.array(
            [[a, b, -a, b], [b, c, -b, c / 2], [-a, -b, a, -b], [b, c / 2, -b, c]]
        )
    return turn.T @ own @ turn


def by_elements(line: Centreline, section: BeamSection):
    """Return how the last end moves under loads there, turns first, (6, 6)."""
    points = sample(line, spacing=1.0)
    size = 6 * len(points)
    whole = np.zeros((size, size))
    for number, (start, end) in enumerate(itertools.pairwise(points)):
        at = 6 * number
        whole[at : at + 12, at : at + 12] += element(start, end, section)
    loads = np.zeros((size, 6))
    loads[-6:] = np.eye(6)
    moved = np.linalg.solve(whole[6:, 6:], loads[6:])[-6:]
    turned_first = [3, 4, 5, 0, 1, 2]
    return moved[np.ix_(turned_first, turned_first)]


@pytest.mark.parametrize(
    "line",
    [
        straight(80.0),
        laid_along_x(turned([0.0], straight=30.0, closing=25.0)),
        laid_along_x(turned([0.0, 180.0], straight=20.0, closing=30.0)),
        laid_along_x(bent([(15.0, 0.0, 60.0), (20.0, 70.0, 110.0)], closing=25.0)),
    ],
    ids=["straight", "quarter", "z", "out of plane"],
)
def test_against_finite_elements(line) -> None:
    """Bends as chords of a millimetre: their rise, 4e-3 mm of 28, is left out."""
    found, expected = compliance(line, ACRYLIC), by_elements(line, ACRYLIC)
    for rows in (slice(0, 3), slice(3, 6)):
        for columns in (slice(0, 3), slice(3, 6)):
            part = expected[rows, columns]
            assert np.allclose(
                found[rows, columns], part, rtol=0.0, atol=5e-4 * np.abs(part).max()
            )
