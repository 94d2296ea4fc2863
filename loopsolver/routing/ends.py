"""How a tube may leave a port, straight or round an elbow; and a run between two ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.clearance.gap import is_clear, least_gap, stands_clear
from loopsolver.clearance.obstacles import (
    Obstacle,
    elbow_bodies,
    elbow_solids,
    fitting_body,
    obstacles_of_run,
)
from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder, bounds, boxes_meet
from loopsolver.geometry.vectors import (
    Point,
    cos_sin_deg,
    offset,
    point,
    sides_about,
)
from loopsolver.routing.effort import USUAL, Effort
from loopsolver.routing.problem import EndFitting, RouteProblem, TubeEnd
from loopsolver.scene.model import Fitting, Port, RunRequest, Scene, mouth, seat
from loopsolver.scene.walls import room
from loopsolver.tolerances import (
    ALONG_AXIS,
    COINCIDENT,
    OVERLAP_DOUBT,
    TOUCH,
)
from loopsolver.tube.centreline import Centreline, piece_length, pieces

SWIVELS: Final = 8
"""Positions of an elbow's outlet round its port that are tried, evenly spaced.

The first lies along an axis of the case wherever one is square to the port.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndChoice:
    """One way in which a tube may leave a port.

    Attributes
    ----------
    end : TubeEnd
    fitting : EndFitting
    bodies : tuple of Obstacle
        What the fitting itself takes up.
    core : tuple of Obstacle
        What a collar or an elbow's stem is, smaller by the clearance all round and where
        the tube leaves: one that keeps the clearance from it hardly runs through them.
    """

    end: TubeEnd
    fitting: EndFitting
    bodies: tuple[Obstacle, ...]
    core: tuple[Obstacle, ...] = ()


def end_choices(scene: Scene, run: RunRequest, port: Port) -> tuple[EndChoice, ...]:
    """Return all ways in which a tube may leave a port, straight ones first."""
    around = obstacles_of_run(scene, run)
    return tuple(
        end_choice(scene, port, fitting, outlet)
        for fitting in sorted(port.fittings, key=lambda one: bool(one.turn_deg))
        for outlet in outlets(port, fitting)
        if has_room(scene, port, fitting, outlet, around)
    )


def outlets(port: Port, fitting: Fitting) -> tuple[Point, ...]:
    """Return the directions in which a tube may leave a fitting on a port."""
    if not fitting.turn_deg:
        return (port.direction,)
    ahead, aside = cos_sin_deg(fitting.turn_deg)
    along = np.asarray(port.direction)
    sides = sides_about(along, SWIVELS)
    whole = np.round(sides)  # exact where along axes
    is_whole = np.abs(sides - whole).max(axis=1, keepdims=True) < ALONG_AXIS
    sides = np.where(is_whole, whole, sides)
    return tuple(point(ahead * along + aside * side + 0.0) for side in sides)


def end_choice(scene: Scene, port: Port, fitting: Fitting, outlet: Point) -> EndChoice:
    """Return how a tube leaves a fitting on a port by one of its outlets.

    The face that carries the port is as far from a straight fitting's mouth as it is
    high. Where that is less than the tube's radius and clearance, the straight in front
    of the mouth is taken as covered until the tube has come far enough from the face.
    """
    straight = fitting.depth + fitting.straight_beyond
    if fitting.turn_deg:
        corner = offset(port.position, port.direction, fitting.height)
        inside = offset(corner, outlet, fitting.reach - fitting.depth)
        rim, covered = offset(corner, outlet, fitting.reach), fitting.depth
        bodies: tuple[Obstacle, ...] = elbow_bodies(port, fitting, outlet)
        core = _stem_core(scene, port, fitting, outlet)
    else:
        inside, rim = seat(port, fitting), mouth(port, fitting)
        beyond = max(scene.reach - fitting.height, 0.0)
        covered = min(fitting.depth + beyond, straight)
        bodies = (fitting_body(port, fitting),)
        core = _collar_core(scene, port, fitting)
    return EndChoice(
        end=TubeEnd(seat=inside, direction=outlet, straight=straight, covered=covered),
        fitting=EndFitting(
            port=port.name,
            fitting=fitting.name,
            outlet=outlet,
            mouth=rim,
            is_elbow=bool(fitting.turn_deg),
        ),
        bodies=bodies,
        core=core,
    )


def has_room(
    scene: Scene,
    port: Port,
    fitting: Fitting,
    outlet: Point,
    around: tuple[Obstacle, ...],
) -> bool:
    """Return whether an elbow is clear of others, and its arm out of its own part.

    The arm, and the stem as far up as the arm is thick, keep the clearance. What of the
    stem is below that just must not stand in anything, as straight fittings: these stand
    where the scene puts them, and always have room.
    """
    if not fitting.turn_deg:
        return True
    stem, arm = elbow_solids(port, fitting, outlet)
    corner = offset(port.position, port.direction, fitting.height)
    head = Cylinder(
        frame=axis_frame(corner, port.direction),
        diameter=fitting.diameter,
        height=fitting.diameter,
    )
    own = [c for c in scene.components if c.name == port.component]
    own_names = {body.name for component in own for body in component.bodies}
    others = [o for o in around if o.name not in own_names]
    mine = [o for o in around if o.name in own_names]
    clearance = scene.rules.clearance
    return (
        stands_clear(arm, others, by=clearance)
        and stands_clear(head, others, by=clearance)
        and stands_clear(stem, others, by=-OVERLAP_DOUBT)
        and stands_clear(arm, mine, by=0.0)
    )


def _collar_core(scene: Scene, port: Port, fitting: Fitting) -> tuple[Obstacle, ...]:
    """Return the core of a collar: from above the face to where the mouth is far off."""
    low = scene.rules.clearance
    high = fitting.height - scene.reach
    diameter = fitting.diameter - 2.0 * scene.rules.clearance
    if min(diameter, high - low) <= TOUCH:
        return ()
    core = Cylinder(
        frame=axis_frame(
            offset(port.position, port.direction, 0.5 * (low + high)), port.direction
        ),
        diameter=diameter,
        height=high - low,
    )
    return (Obstacle(name=f"fitting on {port.name}", solid=core),)


def problem_between(
    scene: Scene,
    run: RunRequest,
    start: EndChoice,
    goal: EndChoice,
    radius: float,
    around: tuple[Obstacle, ...],
    *,
    effort: Effort = USUAL,
) -> RouteProblem:
    """Return a run as a problem, its two ends and its former settled.

    Parameters
    ----------
    scene : Scene
    run : RunRequest
    start, goal : EndChoice
    radius : float
        Of the bends [mm].
    around : tuple of Obstacle
        What `obstacles_of_run` gives for the run.
    effort : Effort
    """
    rules = scene.rules
    return RouteProblem(
        start=start.end,
        goal=goal.end,
        bend_radius=radius,
        tube_radius=scene.tube.radius,
        clearance=rules.clearance,
        straight_between_bends=rules.straight_between_bends,
        bend_angles_deg=run.bend_angles_deg or rules.bend_angles_deg,
        max_bends=rules.max_bends if run.max_bends is None else run.max_bends,
        candidates=rules.candidates,
        room=room(scene),
        obstacles=around,
        own_fittings=(*start.bodies, *goal.bodies),
        trim_allowance=scene.tube.trim_allowance,
        take_up=scene.tube.take_up,
        turn_step_deg=rules.turn_step_deg,
        bend_range=rules.bend_range,
        effort=effort,
    )


def runs_through(
    choices: tuple[EndChoice, EndChoice], tube: Centreline, *, tube_radius: float
) -> bool:
    """Return whether a tube runs through the fitting at either of its ends.

    Its first straight and bend are in front of the fitting they leave, by the rules;
    after a slight bend a little more is. The other end's fitting may be in their way.
    """
    if len(tube.vertices) < 3:
        return False
    turned = replace(tube, vertices=tube.vertices[::-1])
    for choice, line in zip(choices, (tube, turned), strict=True):
        # Past its first bend it lies within the hull of its other vertices.
        points = np.array(line.vertices[1:])
        box = np.array([points.min(axis=0), points.max(axis=0)])
        if not any(
            boxes_meet(box, bounds(body.solid), within=tube_radius)
            for body in choice.bodies
        ):
            continue
        first = sum(piece_length(piece) for piece in pieces(line)[:2])
        skip = max(first, choice.end.straight + 2.0 * tube_radius)
        gap = least_gap(line, choice.bodies, tube_radius=tube_radius, skip_start=skip)
        if not is_clear(gap.distance, 0.0):
            return True
    return False


def _stem_core(
    scene: Scene, port: Port, fitting: Fitting, outlet: Point
) -> tuple[Obstacle, ...]:
    """Return the core of an elbow's stem; none where the tube leaves too near to it."""
    stem, _ = elbow_solids(port, fitting, outlet)
    clearance = scene.rules.clearance
    diameter, height = stem.diameter - 2.0 * clearance, stem.height - 2.0 * clearance
    if min(diameter, height) <= TOUCH:
        return ()
    smaller = replace(stem, diameter=diameter, height=height)
    core = Obstacle(name=f"elbow on {port.name}", solid=smaller)
    corner = offset(port.position, port.direction, fitting.height)
    ends = (fitting.reach, fitting.reach + fitting.straight_beyond + 2.0 * COINCIDENT)
    leaving = Centreline(
        vertices=tuple(offset(corner, outlet, by) for by in ends), radius=1.0
    )
    gap = least_gap(leaving, [core], tube_radius=scene.tube.radius)
    return (core,) if is_clear(gap.distance, clearance) else ()
