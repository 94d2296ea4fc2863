"""The rules a centre line must keep to be bent at a bench, and what it breaks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from loopsolver.errors import GeometryError
from loopsolver.tolerances import RIGHT_ANGLE_DEG, TOUCH
from loopsolver.tube.bend_table import rotations_deg
from loopsolver.tube.centreline import (
    Centreline,
    legs,
    straight_name,
    straights_of,
)


def broken_rules(
    centreline: Centreline,
    *,
    start_straight: float,
    end_straight: float,
    straight_between: float,
    bend_angles: tuple[float, ...] | Literal["any"],
    max_bends: int,
    slack: float = TOUCH,
    slack_deg: float = RIGHT_ANGLE_DEG,
) -> tuple[str, ...]:
    """Return what a centre line breaks, one sentence each; empty where it keeps all.

    Surroundings are not looked at.

    Parameters
    ----------
    centreline : Centreline
    start_straight, end_straight : float
        Least straight from either tube end [mm]. A tube without bends has one straight,
        which must do for each.
    straight_between : float
        Least straight between two bends [mm].
    bend_angles : tuple of float, or "any"
        The angles that are allowed [degrees].
    max_bends : int
        Most bends.
    slack, slack_deg : float
        By how much a length may be under its limit [mm], and an angle off [degrees].
    """
    try:
        of_legs = legs(centreline)
    except GeometryError as error:
        return (str(error),)
    count = len(of_legs.angles)
    broken = []
    if count > max_bends:
        broken.append(f"the tube has {count} bends; at most {max_bends} are allowed")
    wanted = [straight_between] * (count + 1)
    wanted[0] = start_straight
    wanted[-1] = max(end_straight, wanted[-1]) if count == 0 else end_straight
    lengths = straights_of(of_legs, centreline.radius)
    broken += _short_straights(lengths, wanted, slack)
    if bend_angles != "any":
        broken += _wrong_angles(of_legs.angles, bend_angles, slack_deg)
    return tuple(broken)


def _short_straights(
    lengths: Sequence[float], wanted: Sequence[float], slack: float
) -> list[str]:
    """Return a sentence for every straight that is shorter than wanted [mm]."""
    return [
        f"{straight_name(index, len(lengths))} is of {length:.3f} mm; at least "
        f"{least:.3f} mm are wanted, so {least - length:.3g} mm are missing"
        for index, (length, least) in enumerate(zip(lengths, wanted, strict=True))
        if not length >= least - slack
    ]


def _wrong_angles(
    angles: Sequence[float], allowed_deg: tuple[float, ...], slack_deg: float
) -> list[str]:
    """Return a sentence for every bend whose angle is not among those allowed."""
    list_of = ", ".join(f"{one_deg:g}" for one_deg in sorted(allowed_deg)) or "none"
    return [
        f"bend {number} is of {angle_deg:.6f} degrees; allowed: {list_of} degrees"
        for number, angle_deg in enumerate(map(math.degrees, angles), start=1)
        if not any(abs(angle_deg - one_deg) <= slack_deg for one_deg in allowed_deg)
    ]


def wrong_turns(
    centreline: Centreline,
    *,
    step_deg: float | Literal["any"],
    slack_deg: float = RIGHT_ANGLE_DEG,
) -> tuple[str, ...]:
    """Return a sentence for every turn between bends that is no multiple of a step.

    The slighter a bend, the less is its plane known: the slack is that of square bends.

    Raises
    ------
    GeometryError
        As `centreline.legs` does.
    """
    if step_deg == "any":
        return ()
    of_legs = legs(centreline)
    sines = [math.sin(angle) for angle in of_legs.angles]
    turns = zip(rotations_deg(of_legs)[1:], pairwise(sines), strict=True)
    return tuple(
        f"the turn between bend {number} and bend {number + 1} is of {turn_deg:.6f} "
        f"degrees; allowed: multiples of {step_deg:g} degrees"
        for number, (turn_deg, beside) in enumerate(turns, start=1)
        if abs(math.remainder(turn_deg, step_deg)) * min(beside) > slack_deg
    )
