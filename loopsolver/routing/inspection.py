"""A finished tube measured once more, by means that share nothing with the search.

What the search says of a route is taken as a claim. The tube is laid as at the bench:
straight, turn, bend, from the rows of its bend table, starting on the near seat. Then the
laid tube is sampled along its true arcs and held to the claim. No step here calls what
found, polished or measured the route; rotations, distances and bounds are this module's
own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import Array
from loopsolver.routing.problem import EndFitting, RouteProblem
from loopsolver.routing.rules import Breach, BrokenRule
from loopsolver.routing.sampled_solids import Solids, laid_out, signed_distances
from loopsolver.routing.sampled_tube import (
    LaidTube,
    Pieces,
    across,
    crosses_itself,
    cut_back,
    laid_tube,
    least_distance,
)
from loopsolver.scene.model import Scene
from loopsolver.tolerances import CLOSURE, CLOSURE_DEG, GAP_RESOLUTION
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.centreline import Centreline


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inspector:
    """What is measured against, laid out once for many tubes of one run."""

    problem: RouteProblem
    around: Solids
    fittings: Solids | None


def make_inspector(problem: RouteProblem) -> Inspector:
    """Return the inspector of a run's tubes."""
    own = problem.own_fittings
    return Inspector(
        problem=problem,
        around=laid_out(problem.obstacles),
        fittings=laid_out(own) if own else None,
    )


def inspected(
    inspector: Inspector, centreline: Centreline, table: BendTable, *, said: Gap
) -> tuple[tuple[Breach, ...], Breach | None]:
    """Return what is wrong with a tube of the run.

    First what the search should have kept to, or said otherwise. Then how the tube runs
    into itself or its own fittings, if it does, which the search does not see.

    Parameters
    ----------
    inspector : Inspector
    centreline : Centreline
        The tube as it is drawn.
    table : BendTable
        The tube as it will be bent.
    said : Gap
        What is claimed of its least gap. It may be off by twice
        `tolerances.GAP_RESOLUTION`, once for the claim and once for the measurement,
        and by as much as the bend table misses the vertices.
    """
    problem = inspector.problem
    drawn = np.array(centreline.vertices)
    tube = laid_tube(
        table,
        start=problem.start.seat,
        direction=problem.start.direction,
        towards=drawn[2] - drawn[1] if len(drawn) > 2 else np.zeros(3),
    )
    faults, off = _off_its_course(problem, drawn, tube)
    if not faults:
        faults = _false_claims(inspector, tube, said, slack=2.0 * GAP_RESOLUTION + off)
    return tuple(faults), None if faults else _own_way(inspector, tube)


def misplaced_ends(
    scene: Scene, centreline: Centreline, ends: Sequence[EndFitting]
) -> tuple[Breach, ...]:
    """Return where a tube does not sit in its fittings as the scene has them.

    Reckoned from port and fitting alone: up the port's axis by the fitting's height,
    round its corner if it is an elbow, and back by the depth that the tube goes in.
    """
    faults: list[Breach] = []
    vertices = np.array(centreline.vertices)
    for end, (tip, after) in zip(ends, (vertices[:2], vertices[:-3:-1]), strict=True):
        port = scene.port(end.port)
        fitting = next(one for one in port.fittings if one.name == end.fitting)
        outlet = np.array(end.outlet)
        mouth = np.array(port.position) + fitting.height * np.array(port.direction)
        mouth = mouth + fitting.reach * outlet if fitting.turn_deg else mouth
        seat = mouth - fitting.depth * outlet
        turn_deg = _angle_deg(np.array(port.direction), outlet)
        found: tuple[tuple[BrokenRule, float, float], ...] = (
            ("seat", float(np.linalg.norm(seat - tip)), CLOSURE),
            ("mouth", float(np.linalg.norm(mouth - np.array(end.mouth))), CLOSURE),
            ("outlet", abs(turn_deg - fitting.turn_deg), CLOSURE_DEG),
            ("direction", _angle_deg(after - tip, outlet), CLOSURE_DEG),
        )
        faults += [
            Breach(rule=rule, found=off, at=end.port)
            for rule, off, most in found
            if not off <= most
        ]
    return tuple(faults)


def _off_its_course(
    problem: RouteProblem, drawn: Array, tube: LaidTube
) -> tuple[list[Breach], float]:
    """Return where a laid tube misses what it should meet, and how far it is off [mm].

    That is how far it is off the vertices that are drawn, (n, 3), at most.
    """
    faults = []
    miss = math.dist(tube.vertices[-1], problem.goal.seat)
    if not miss <= CLOSURE:
        faults.append(Breach(rule="far seat", found=miss))
    askew_deg = _angle_deg(-tube.direction, np.array(problem.goal.direction))
    if not askew_deg <= CLOSURE_DEG:
        faults.append(Breach(rule="arrival", found=askew_deg))
    off = math.inf
    if drawn.shape == tube.vertices.shape:
        off = float(np.linalg.norm(drawn - tube.vertices, axis=1).max())
    if not off <= CLOSURE and not faults:
        faults.append(Breach(rule="vertices", found=off))
    return faults, off


def _false_claims(
    inspector: Inspector, tube: LaidTube, said: Gap, *, slack: float
) -> list[Breach]:
    """Return what is not so of a claimed gap, and whether the gap is too small."""
    problem, around = inspector.problem, inspector.around
    start, goal = problem.start.covered, problem.goal.covered
    seen = cut_back(tube.pieces, start, goal)
    least, number, at = least_distance(seen, around)
    there = _distance_there(seen, around, said, slack=slack)
    gap, name = least - problem.tube_radius, around.names[number]
    if there < least:  # how deep in a mesh: told where it is claimed, not sought
        gap, name, at = there - problem.tube_radius, said.name, said.at
    faults = []
    if gap < problem.clearance - slack <= said.distance:
        faults.append(too_near(Gap(distance=gap, name=name, at=at), problem))
    if not abs(gap - said.distance) <= slack:
        claim = (said.distance,)
        faults.append(Breach(rule="claimed gap", found=gap, limits=claim, at=name))
    elif not abs(there - problem.tube_radius - said.distance) <= slack:
        faults.append(Breach(rule="nearest place", found=gap, at=said.name))
    return faults


def too_near(gap: Gap, problem: RouteProblem) -> Breach:
    """Return that a gap is less than the clearance, or that a tube goes into a thing."""
    return Breach(
        rule="clearance" if gap.distance >= 0.0 else "into",
        found=abs(gap.distance),
        limits=(problem.clearance,),
        at=gap.name,
        place=gap.at,
    )


def _distance_there(
    pieces: Pieces, around: Solids, said: Gap, *, slack: float
) -> float:
    """Return how far a claimed place is from what is named [mm].

    Endless where the place is not on the tube, or nothing has that name.
    """
    named = np.array([n for n, name in enumerate(around.names) if name == said.name])
    dot = Box(frame=Frame(origin=said.at), size=(0.0, 0.0, 0.0))
    off, _, _ = least_distance(pieces, laid_out([Obstacle(name="", solid=dot)]))
    if not named.size or not off <= slack:
        return math.inf
    place = np.broadcast_to(np.array(said.at), (len(named), 1, 3))
    return float(signed_distances(around, named, place).min())


def _own_way(inspector: Inspector, tube: LaidTube) -> Breach | None:
    """Return how the tube runs into its own fittings or itself, or None."""
    radius, pieces = inspector.problem.tube_radius, tube.pieces
    if inspector.fittings is not None and len(pieces.high) > 5:
        # The first straight and bend begin in front of the fitting, by the rules.
        cut = cut_back(
            pieces, float(pieces.high[:2].sum()), float(pieces.high[-2:].sum())
        )
        limit = radius - GAP_RESOLUTION
        least, number, _ = least_distance(cut, inspector.fittings, enough=limit)
        if least < limit:
            return Breach(rule="own fitting", at=inspector.fittings.names[number])
    if crosses_itself(pieces, 2.0 * radius):
        return Breach(rule="itself")
    return None


def _angle_deg(first: Array, second: Array) -> float:
    """Return the angle between two directions [degrees]."""
    sine = math.hypot(*across(first, second).tolist())
    return math.degrees(math.atan2(sine, float(first @ second)))
