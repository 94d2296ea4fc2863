"""Whether a tube goes into both its fittings while these stay where they are."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from loopsolver.assembly.compliance import (
    BeamSection,
    compliance,
    force_aside,
    greatest_stress,
)
from loopsolver.assembly.joints import FittedEnd, FittedTube
from loopsolver.geometry.vectors import (
    Array,
    Point,
    angle_between,
    cross,
    difference,
    dot,
    norm,
    offset,
    point,
)
from loopsolver.tolerances import TOUCH
from loopsolver.tube.stock import MATERIAL_FACTS, Tube

EndWays = Literal["alike", "facing", "crossed"]
"""How a tube's two ends point into their fittings: the same way, at each other, or not."""

POISSON: Final = 0.37
"""Of acrylic, which leads from the modulus to that of shear: G = E / (2 (1 + nu)).

Sheet makers give 0.35 to 0.40: from memory.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loosening:
    """What lets a tube in: one part, or its fitting, drawn back and put on last.

    Attributes
    ----------
    part, port : str
    way : Point
        Which way it has to be drawn back, off the tube's end; unit length.
    by : float
        How far [mm].
    """

    part: str
    port: str
    way: Point
    by: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Easing:
    """What it takes to ease one end past the mouth of its fitting, the other end in.

    Attributes
    ----------
    port : str
        Of the fitting that the tube is eased into last.
    way : Point
        Which way its end is held aside meanwhile; unit length.
    wanted : float
        How far it must come aside [mm].
    free : float
        What both fittings take of that by their own play: without force [mm].
    force_n, stress_mpa, share : float or None
        What bends the tube by the rest: force at its end, greatest stress, and that
        as a share of what the material bears all the time. None where no source says.
    """

    port: str
    way: Point
    wanted: float
    free: float
    force_n: float | None = None
    stress_mpa: float | None = None
    share: float | None = None

    @property
    def rest(self) -> float:
        """What the tube itself has to give [mm]."""
        return max(self.wanted - self.free, 0.0)

    @property
    def lasting(self) -> float | None:
        """How far the tube may be held aside all the time [mm]; None: no source says."""
        return None if not self.share else self.rest / self.share

    @property
    def is_harmless(self) -> bool:
        """Whether it takes no force, or no more than the tube bears all the time."""
        return self.rest <= TOUCH or (self.share is not None and self.share <= 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Insertion:
    """How a tube gets into both its fittings.

    Attributes
    ----------
    tube : FittedTube
    ends : EndWays
    angle : float
        Between the directions in which the two ends go in [rad].
    slide : float
        How far it slides in, where its ends are alike [mm]; 0 where they are not.
    loosenings : tuple of Loosening
        Either of them will do; none where it slides.
    easing : Easing or None
        The lesser of both ends; None where it slides.
    """

    tube: FittedTube
    ends: EndWays
    angle: float
    slide: float
    loosenings: tuple[Loosening, ...] = ()
    easing: Easing | None = None

    @property
    def goes_in(self) -> bool:
        """Whether it goes in with both parts and fittings fixed, and no harm."""
        return self.easing is None or self.easing.is_harmless


def insertion(tube: FittedTube, stock: Tube) -> Insertion:
    """Return how a tube gets into both its fittings.

    Notes
    -----
    An end leaves its fitting along the fitting's axis alone. Both ends at once do so only
    if their axes agree. Else one end is drawn off while the other end's part is drawn
    back: by the depth of its own fitting and, where the tube's other end draws back
    towards it, by so much of that one's depth as lies along its axis. Or the tube is
    eased: with one end in, the other must stand aside by its depth, less what the first
    can come out by along the same way.
    """
    first, last = tube.joints
    angle = angle_between(first.into, last.into)
    if first.lets_out(last.out) and last.lets_out(first.out):
        deeper = max(first.depth, last.depth)
        return Insertion(tube=tube, ends="alike", angle=angle, slide=deeper)
    faces = first.lets_out(last.into) and last.lets_out(first.into)
    easings = [_easing(one, stock) for one in (tube, tube.from_other_end())]
    return Insertion(
        tube=tube,
        ends="facing" if faces else "crossed",
        angle=angle,
        slide=0.0,
        loosenings=(_loosening(first, last), _loosening(last, first)),
        easing=min(easings, key=lambda one: (one.share or 0.0, one.rest)),
    )


def _loosening(loose: FittedEnd, other: FittedEnd) -> Loosening:
    towards = max(-dot(loose.into, other.into), 0.0)
    return Loosening(
        part=loose.part,
        port=loose.port,
        way=loose.into,
        by=loose.depth + towards * other.depth,
    )


def _easing(tube: FittedTube, stock: Tube) -> Easing:
    """Return what it takes to ease the last end in, the first being in its fitting."""
    first, last = tube.joints
    back = np.asarray(last.into) * -last.depth
    out = np.asarray(first.into)
    aside = back - min(float(back @ out), 0.0) * out
    wanted = float(np.linalg.norm(aside))
    if wanted <= TOUCH:  # a fitting without depth
        return Easing(port=last.port, way=last.into, wanted=0.0, free=0.0)
    way = point(aside / wanted + 0.0)
    free = min(_free_play(tube, way), wanted)
    easing = Easing(port=last.port, way=way, wanted=wanted, free=free)
    return _with_force(easing, tube, stock, aside)


def _free_play(tube: FittedTube, way: Point) -> float:
    """Return how far the play of both fittings lets the last end aside [mm].

    The tube leans in its first fitting: about the mouth, where that accepts a tilt; about
    the middle of its bore, where it has one, since there mouth and seat share the play.
    """
    first, last = tube.joints
    tilt = min(joint.play.tilt for joint in tube.joints)
    has_bore = first.fitting.bore is not None
    pivot = offset(first.mouth, first.into, 0.5 * first.depth if has_bore else 0.0)
    arm = cross(difference(last.mouth, pivot), way)
    leant = norm(cross(first.into, arm)) * math.tan(tilt)
    beside = 0.0 if has_bore else first.play.sideways
    return leant + beside + last.play.sideways


def _with_force(easing: Easing, tube: FittedTube, stock: Tube, aside: Array) -> Easing:
    """Return an easing with force and stress, if the material's limit has a source."""
    modulus, limit = MATERIAL_FACTS[stock.material].modulus_gpa, stock.lasting_mpa
    if modulus is None or limit is None:
        return easing
    section = BeamSection(
        outer_diameter=stock.outer_diameter,
        inner_diameter=stock.inner_diameter,
        modulus=1000.0 * modulus,
        shear_modulus=1000.0 * modulus / (2.0 * (1.0 + POISSON)),
    )
    share = easing.rest / easing.wanted
    force = force_aside(compliance(tube.centreline, section), share * aside)
    stress = greatest_stress(tube.centreline, section, force)
    return replace(
        easing,
        force_n=float(np.linalg.norm(force)),
        stress_mpa=stress,
        share=stress / limit,
    )
