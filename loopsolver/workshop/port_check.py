"""Two distances between a run's fittings, to hold a rule to before anything is heated.

The first is straight from mouth to mouth. It hardly changes where a port is off square
to it, so the second goes along the axis of the case along which the first tells least.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from loopsolver.clearance.gap import least_gap
from loopsolver.clearance.obstacles import Obstacle, elbow_bodies, fitting_body
from loopsolver.geometry.vectors import (
    Array,
    Point,
    axis_name,
    difference,
    offset,
    point,
    unit,
)
from loopsolver.plan import Plan, PlannedRun
from loopsolver.tolerances import (
    COINCIDENT,
    HELD_DISTANCE,
    OVERLAP_DOUBT,
    SAME_PART,
    WRITTEN_DECIMALS,
)
from loopsolver.tube.centreline import Centreline
from loopsolver.workshop.job import Job, SheetEnd, job_of

Axis = Literal["x", "y", "z"]

_AXES: Final[tuple[Axis, Axis, Axis]] = ("x", "y", "z")
_BEADS: Final = (
    3600  # points round a rim: less than 0.02 mm apart on the widest fitting
)
_SEEN: Final = 0.4  # of what a port is off must show: 2 mm where it is off by 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouth:
    """The open rim of what holds a tube end, as it stands in the case.

    Attributes
    ----------
    end : SheetEnd
        Whose mouth it is.
    centre, outlet : Point
        Middle of the rim [mm], and the direction in which the tube leaves; unit length.
    radius : float
        Of the rim's outer edge [mm].
    """

    end: SheetEnd
    centre: Point
    outlet: Point
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldDistance:
    """A distance to hold a rule to.

    Attributes
    ----------
    axis : Axis or None
        None where the rule lies straight between the nearest points of both rims; else
        the axis along which it lies, over both rims from outermost to outermost edge.
    length : float
        [mm].
    """

    axis: Axis | None
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PortCheck:
    """The two distances of a run, and what they leave out.

    Attributes
    ----------
    mouths : pair of Mouth
        At the tube's first and at its last end.
    held : pair of HeldDistance
    in_the_way : str
        What stands between the two mouths, so that no rule goes straight; '' if nothing.
    unseen : HeldDistance or None
        Along the axis along which a port may be off alone and show too little in both.
    """

    mouths: tuple[Mouth, Mouth]
    held: tuple[HeldDistance, HeldDistance]
    in_the_way: str
    unseen: HeldDistance | None


def port_check(plan: Plan, run: PlannedRun) -> PortCheck:
    """Return the two distances to check before the tube of a run is made.

    Both are between fittings that are screwed in, elbows turned as the tube needs them;
    no tube need be there.

    Raises
    ------
    PlanError
        If no candidate of the run is chosen.
    """
    mouths = job_mouths(job_of(plan, run))
    near, far = nearest_of_rims(*mouths)
    in_the_way = _between(plan, near, far)
    length = math.dist(near, far)
    away = difference(far, near) if length > COINCIDENT else mouths[0].outlet
    # The axis along which the straight distance tells least comes first; of those
    # alike the one most nearly square to both outlets, which tells of their tilt.
    order = sorted(
        range(3),
        key=lambda axis: (
            round(abs(unit(away)[axis]), WRITTEN_DECIMALS),
            round(sum(abs(mouth.outlet[axis]) for mouth in mouths), WRITTEN_DECIMALS),
        ),
    )
    if in_the_way:
        held = (_along(mouths, order[2]), _along(mouths, order[1]))
        is_seen, last = False, order[0]
    else:
        held = (HeldDistance(axis=None, length=length), _along(mouths, order[0]))
        is_seen, last = abs(unit(away)[order[1]]) >= _SEEN, order[1]
    return PortCheck(
        mouths=mouths,
        held=held,
        in_the_way=in_the_way,
        unseen=None if is_seen else _along(mouths, last),
    )


def job_mouths(job: Job) -> tuple[Mouth, Mouth]:
    """Return the mouths at a tube's first and last end, as they stand in the case."""
    points = job.centreline.vertices
    return (
        _mouth(job, job.first, points[0], points[1]),
        _mouth(job, job.last, points[-1], points[-2]),
    )


def _mouth(job: Job, end: SheetEnd, seat: Point, following: Point) -> Mouth:
    """Return the mouth at a tube end; without a fitting, the tube's own end."""
    outlet = unit(difference(following, seat))
    return Mouth(
        end=end,
        centre=offset(seat, outlet, end.depth),
        outlet=outlet,
        radius=0.5 * end.fitting.diameter if end.fitting else job.tube.radius,
    )


def nearest_of_rims(first: Mouth, second: Mouth) -> tuple[Point, Point]:
    """Return the nearest points of two rims, one of each [mm].

    Notes
    -----
    From a point that is `h` above a circle's plane and `r` from its axis, the nearest
    point of the circle lies towards it. Of a circle's own points `_BEADS` are tried:
    the distance found is true to a hundredth of a millimetre.
    """
    beads = _rim(first)
    outlet, centre = np.asarray(second.outlet), np.asarray(second.centre)
    level = beads - centre
    level = level - np.outer(level @ outlet, outlet)
    reach = np.linalg.norm(level, axis=1, keepdims=True)
    some = (_rim(second)[0] - centre) / second.radius  # for a bead on the axis itself
    towards = np.where(reach > COINCIDENT, level / np.maximum(reach, COINCIDENT), some)
    others = centre + second.radius * towards
    best = int(np.argmin(np.linalg.norm(others - beads, axis=1)))
    return point(beads[best]), point(others[best])


def _rim(mouth: Mouth) -> Array:
    """Return points on a rim's outer edge, (n, 3) [mm]."""
    outlet = np.asarray(mouth.outlet)
    right = np.cross(outlet, np.eye(3)[int(np.argmin(np.abs(outlet)))])
    right /= np.linalg.norm(right)
    turns = 2.0 * math.pi * np.arange(_BEADS) / _BEADS
    rim: Array = np.asarray(mouth.centre) + mouth.radius * (
        np.outer(np.cos(turns), right)
        + np.outer(np.sin(turns), np.cross(outlet, right))
    )
    return rim


def _along(mouths: tuple[Mouth, Mouth], axis: int) -> HeldDistance:
    """Return the distance over both rims along an axis, outermost edges included.

    A rim square to `d` reaches r sqrt(1 - d_axis^2) from its middle along an axis.
    """
    reaches = [
        mouth.radius * math.sqrt(max(0.0, 1.0 - mouth.outlet[axis] ** 2))
        for mouth in mouths
    ]
    places = [mouth.centre[axis] for mouth in mouths]
    over = np.add(places, reaches).max() - np.subtract(places, reaches).min()
    return HeldDistance(axis=_AXES[axis], length=float(over))


def _between(plan: Plan, near: Point, far: Point) -> str:
    """Return the name of what a rule between two points would run into; '' if nothing."""
    if math.dist(near, far) <= 2.0 * OVERLAP_DOUBT:
        return ""
    rule = Centreline(vertices=(near, far), radius=1.0)
    gap = least_gap(rule, list(_standing(plan)), tube_radius=0.0)
    return gap.name if gap.distance < -OVERLAP_DOUBT else ""


def _standing(plan: Plan) -> Iterator[Obstacle]:
    """Yield what stands in the case before the tubes: bodies, and fittings in use."""
    for component in plan.scene.components:
        for body in component.bodies:
            yield Obstacle(name=body.name, solid=body.solid)
    for run in plan.runs:
        if run.chosen is None:
            continue
        for mouth in job_mouths(job_of(plan, run)):
            fitting = mouth.end.fitting
            if fitting is None:
                continue
            port = plan.scene.port(mouth.end.port)
            if fitting.turn_deg:
                yield from elbow_bodies(port, fitting, mouth.outlet)
            else:
                yield fitting_body(port, fitting)


def held_words(held: HeldDistance, check: PortCheck) -> tuple[str, str]:
    """Return what a distance is called, and from where to where the rule goes."""
    if held.axis is None:
        return (
            "Mouth to mouth",
            "Straight, from the nearest edge of one rim to the nearest of the other.",
        )
    first, second = (mouth.centre[_AXES.index(held.axis)] for mouth in check.mouths)
    level = "; their middles lie level" if abs(first - second) <= OVERLAP_DOUBT else ""
    return (
        f"Across, along {held.axis}",
        f"Over both rims, from outermost edge to outermost edge{level}.",
    )


def elbow_words(mouths: Iterable[Mouth]) -> str:
    """Return that fittings are screwed in and how elbows are turned, without a stop."""
    turned = (
        f", turn the elbow on {mouth.end.port} so that its mouth points "
        f"{direction_words(mouth.outlet)}"
        for mouth in mouths
        if mouth.end.fitting is not None and mouth.end.fitting.turn_deg
    )
    return "Screw both fittings in" + "".join(turned)


def check_words(check: PortCheck, job: Job) -> tuple[str, ...]:
    """Return how the rule is held, when to stop, and what the check leaves out."""
    first, second = (job.length(held.length) for held in check.held)
    within = job.length(HELD_DISTANCE)
    said = [
        f"{elbow_words(check.mouths)}, and hold a rule to them; across with "
        "a square, or measure both edges from one wall and subtract. Not within "
        f"{within} of {first} and {second}: stop, and measure both ports again, where "
        "they are and which way they point."
    ]
    if check.in_the_way:
        said.append(
            f"No rule goes straight from mouth to mouth: {check.in_the_way} is between."
        )
    if check.unseen is not None:
        said.append(
            f"A port that is off along {check.unseen.axis} alone may show in neither: "
            f"along it, {job.length(check.unseen.length)} over both rims."
        )
    return (said[0], *((" ".join(said[1:]),) if said[1:] else ()))


def direction_words(direction: Point) -> str:
    """Return where a direction points in the case.

    Examples
    --------
    >>> direction_words((0.0, -1.0, 0.0))
    'along -y'
    >>> direction_words((0.70710678, 0.0, -0.70710678))
    'half way between +x and -z'
    """
    name = axis_name(direction)
    if name is not None:
        return f"along {name}"
    parts = [
        (abs(part), f"{'+' if part > 0.0 else '-'}{axis}")
        for part, axis in zip(direction, _AXES, strict=True)
        if abs(part) > SAME_PART
    ]
    if len(parts) == 2 and abs(parts[0][0] - parts[1][0]) < SAME_PART:
        return f"half way between {parts[0][1]} and {parts[1][1]}"
    parts.sort(reverse=True)
    angles = (
        f"{math.degrees(math.acos(min(1.0, part))):.0f}° off {name}"
        for part, name in parts
    )
    return ", ".join(angles)
