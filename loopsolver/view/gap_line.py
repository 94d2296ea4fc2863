"""The line from the tube on show to the thing that is nearest to it, and its length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopsolver.clearance.obstacles import obstacles_of_run
from loopsolver.geometry.solids import Cylinder, Solid, signed_distance
from loopsolver.geometry.vectors import Array, Point, offset, point
from loopsolver.lengths import Lengths
from loopsolver.plan import Plan, PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import COINCIDENT, FIRST_DIFFERENCE
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.figures import NearTube
from loopsolver.view.labels import WantedLabel
from loopsolver.view.selection import ViewSelection, shown_candidate, shown_run
from loopsolver.view.surfaces import separate_lines


@dataclass(frozen=True, slots=True, kw_only=True)
class GapLine:
    """From the tube's surface to that of the nearest thing [mm]; `gap` as it is told."""

    start: Point
    end: Point
    gap: float


def gap_line(
    plan: Plan, selection: ViewSelection, near: NearTube | None
) -> GapLine | None:
    """Return the line to the nearest thing: a body, a wall, a fitting, or another tube.

    None without a tube, or where what it is nearest to stands in no scene.

    Parameters
    ----------
    plan : Plan
    selection : ViewSelection
    near : NearTube or None
        The nearest other tube.
    """
    run, candidate = shown_run(plan, selection), shown_candidate(plan, selection)
    if run is None or candidate is None:
        return None
    radius = plan.scene.tube.radius
    if near is not None and near.gap < candidate.gap.distance:
        own = None if near.own_fitting is None else near.own_fitting.solid
        if isinstance(own, Cylinder):
            radius = 0.5 * own.diameter
        if near.fitting is not None:
            return _line_to(near.fitting.solid, near.at, near.gap, radius=radius)
        way = np.subtract(near.to, near.at)
        length = float(np.linalg.norm(way))
        along = point(way / length) if length > COINCIDENT else (0.0, 0.0, 0.0)
        return GapLine(
            start=offset(near.at, along, radius),
            end=offset(near.to, along, -radius),
            gap=near.gap,
        )
    return _to_solid(plan.scene, run, candidate)


def _to_solid(scene: Scene, run: PlannedRun, candidate: Candidate) -> GapLine | None:
    request = RunRequest(
        name=run.name, from_ports=(run.from_port,), to_ports=(run.to_port,)
    )
    gap, at = candidate.gap, np.array([candidate.gap.at])
    named = [
        one.solid for one in obstacles_of_run(scene, request) if one.name == gap.name
    ]
    if not named:
        return None
    solid = min(named, key=lambda one: float(signed_distance(one, at)[0]))
    return _line_to(solid, gap.at, gap.distance, radius=scene.tube.radius)


def _line_to(solid: Solid, at: Point, gap: float, *, radius: float) -> GapLine:
    """Return the line from a tube's surface, by a place on its axis, to a solid."""
    place = np.array([at])
    (away,) = signed_distance(solid, place)
    along = _towards(solid, place[0])
    return GapLine(
        start=offset(at, along, radius), end=offset(at, along, float(away)), gap=gap
    )


def _towards(solid: Solid, at: Array) -> Point:
    """Return the direction from a place to what of a solid is nearest to it.

    Against the slope of the distance, by central differences; none where it has none,
    as on the axis of a cylinder.
    """
    steps = FIRST_DIFFERENCE * np.eye(3)
    further, nearer = (
        signed_distance(solid, at + steps),
        signed_distance(solid, at - steps),
    )
    slope = (further - nearer) / (2.0 * FIRST_DIFFERENCE)
    steepness = float(np.linalg.norm(slope))
    if steepness <= COINCIDENT:
        return (0.0, 0.0, 0.0)
    return point(-slope / steepness)


def gap_drawings(line: GapLine | None) -> tuple[StyledMesh, ...]:
    """Return the line."""
    if line is None:
        return ()
    mesh = separate_lines(np.array([line.start]), np.array([line.end]))
    look = Look(kind="lines", colour=palette.LEAST_GAP, line_width=3.0)
    return (StyledMesh(mesh=mesh, look=look),)


def gap_names(line: GapLine | None, *, lengths: Lengths) -> tuple[WantedLabel, ...]:
    """Return the number at the line's middle, as a label."""
    if line is None:
        return ()
    middle = point(np.add(line.start, line.end) / 2.0)
    return (WantedLabel(text=lengths.plain(line.gap), kind="gap", at=middle),)
