"""What a tube breaks of the rules it is to keep, read off its vertices as they are drawn.

By means of its own: nothing here calls what finds, polishes or measures a route.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loopsolver.geometry.vectors import Array, Point
from loopsolver.routing.problem import RouteProblem
from loopsolver.scene.model import TurnStep
from loopsolver.tolerances import COINCIDENT, NO_BEND_DEG, UNIT_LENGTH
from loopsolver.tube.centreline import Centreline

BrokenRule = Literal[
    # of a tube by itself
    "leg",
    "turn",
    # of the scene
    "bends",
    "straight",
    "bend angle",
    "bend range",
    "turn between bends",
    "clearance",
    "into",
    "own fitting",
    "itself",
    # of what holds its ends: in the scene, and where its bend table brings it
    "seat",
    "mouth",
    "outlet",
    "direction",
    "far seat",
    "arrival",
    # of what is claimed of it
    "vertices",
    "claimed gap",
    "nearest place",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """One thing about a tube that is not as it must be.

    Attributes
    ----------
    rule : BrokenRule
        Which rule is broken.
    found : float
        What there is: a length [mm], an angle [degrees] or a count, as the rule has it;
        of a place how far it is off [mm], of a direction by what angle [degrees].
    limits : tuple of float
        The least or the most that would do, or each value that would, in the same unit.
    at : str
        The body, fitting or port that the rule is about.
    place : Point
        Where it is broken, of rules that tell a place [mm].
    number, count : int
        Which leg, straight or bend, counted from 1, and of how many.
    """

    rule: BrokenRule
    found: float = 0.0
    limits: tuple[float, ...] = ()
    at: str = ""
    place: Point = (0.0, 0.0, 0.0)
    number: int = 0
    count: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawn:
    """A tube's legs and straights [mm], bend angles and turns [degrees], as drawn."""

    legs: Array
    straights: Array
    angles_deg: Array
    turns_deg: Array


def drawn(centreline: Centreline) -> Drawn:
    """Return what the vertices of a tube give.

    Notes
    -----
    With directions u and v before and after a bend of angle a, ``|u - v|`` is
    ``2 sin(a / 2)`` and ``|u + v|`` is ``2 cos(a / 2)``: their quotient is the length
    from vertex to arc over the radius, and true near 0 and 180 degrees as well.

    The turn between two bends is the angle between their planes' normals, told by the
    sine that one normal has along the leg and the other normal.

    References
    ----------
    W. Kahan, Miscalculating Area and Angles of a Needle-like Triangle (2006), section
    12, for the angle (from memory).
    """
    vectors = np.diff(np.array(centreline.vertices), axis=0)
    lengths = np.linalg.norm(vectors, axis=1)
    along = vectors / np.maximum(lengths, COINCIDENT)[:, None]
    apart = np.linalg.norm(along[1:] - along[:-1], axis=1)
    together = np.linalg.norm(along[1:] + along[:-1], axis=1)
    normals = np.cross(along[:-1], along[1:])
    sines = (np.cross(normals[:-1], normals[1:]) * along[1:-1]).sum(axis=1)
    cosines = (normals[:-1] * normals[1:]).sum(axis=1)
    taken = np.zeros(len(lengths) + 1)
    taken[1:-1] = centreline.radius * apart / np.maximum(together, UNIT_LENGTH)
    return Drawn(
        legs=lengths,
        straights=lengths - taken[:-1] - taken[1:],
        angles_deg=np.degrees(2.0 * np.arctan2(apart, together)),
        turns_deg=np.degrees(np.arctan2(sines, cosines)),
    )


def unbendable(tube: Drawn) -> tuple[Breach, ...]:
    """Return which legs have no direction and which bends are of 0 or 180 degrees."""
    legs = [
        Breach(rule="leg", found=length, number=number)
        for number, length in enumerate(tube.legs.tolist(), start=1)
        if not COINCIDENT < length < math.inf
    ]
    if legs:
        return tuple(legs)
    return tuple(
        Breach(rule="turn", found=angle_deg, number=number)
        for number, angle_deg in enumerate(tube.angles_deg.tolist(), start=1)
        if not NO_BEND_DEG < angle_deg < 180.0 - NO_BEND_DEG
    )


def broken_rules(
    problem: RouteProblem, centreline: Centreline, *, slack: float, slack_deg: float
) -> tuple[Breach, ...]:
    """Return which rules of a run its tube breaks; surroundings are not looked at.

    A tube without bends has one straight, which must do for both of its ends.

    Parameters
    ----------
    problem : RouteProblem
    centreline : Centreline
    slack, slack_deg : float
        By how much a length may be under its limit [mm], and an angle off [degrees].
    """
    tube = drawn(centreline)
    impossible = unbendable(tube)
    if impossible:
        return impossible
    bends, most = len(tube.angles_deg), problem.max_bends
    broken = [Breach(rule="bends", found=bends, limits=(most,))] if bends > most else []
    wanted = [problem.straight_between_bends] * (bends + 1)
    wanted[0] = problem.start.straight
    wanted[-1] = max(problem.goal.straight, 0.0 if bends else wanted[0])
    broken += [
        Breach(
            rule="straight",
            found=length,
            limits=(least,),
            number=number,
            count=bends + 1,
        )
        for number, (length, least) in enumerate(
            zip(tube.straights.tolist(), wanted, strict=True), start=1
        )
        if not length >= least - slack
    ]
    broken += _wrong_angles(problem, tube, slack_deg)
    return tuple(broken) + _wrong_turns(tube, problem.turn_step_deg, slack_deg)


def _wrong_angles(problem: RouteProblem, tube: Drawn, slack_deg: float) -> list[Breach]:
    """Return which bends have none of the allowed angles, or are out of their range."""
    allowed_deg = problem.bend_angles_deg
    numbered = list(enumerate(tube.angles_deg.tolist(), start=1))
    if allowed_deg != "any":
        return [
            Breach(rule="bend angle", found=deg, limits=allowed_deg, number=number)
            for number, deg in numbered
            if not any(abs(deg - one) <= slack_deg for one in allowed_deg)
        ]
    least, greatest = problem.least_bend_deg(len(numbered)), problem.bend_range[1]
    return [
        Breach(rule="bend range", found=deg, limits=(least, greatest), number=number)
        for number, deg in numbered
        if not least - slack_deg <= deg <= greatest + slack_deg
    ]


def _wrong_turns(
    tube: Drawn, step_deg: TurnStep, slack_deg: float
) -> tuple[Breach, ...]:
    """Return which turns between bends are no multiples of a step.

    The slighter a bend, the less is its plane known: the slack is that of square bends.
    """
    if step_deg == "any":
        return ()
    sines = np.sin(np.radians(tube.angles_deg))
    known = np.minimum(sines[:-1], sines[1:])
    off_deg = np.abs(tube.turns_deg - step_deg * np.round(tube.turns_deg / step_deg))
    return tuple(
        Breach(
            rule="turn between bends",
            found=float(tube.turns_deg[number - 1]),
            limits=(step_deg,),
            number=number,
        )
        for number in (np.flatnonzero(off_deg * known > slack_deg) + 1).tolist()
    )
