"""How near other runs come to the tube on show, and rings where they clash."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain, product

import numpy as np

from loopsolver.clearance.gap import between_fittings, is_clear, keep_clear, tube_gap
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.separation import separation
from loopsolver.geometry.solids import Cylinder, bounds, boxes_meet
from loopsolver.geometry.vectors import offset, points_array
from loopsolver.plan import Plan
from loopsolver.routing.loop.route_pool import gap_to
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Centreline
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.contents import ring_round, tubes_beside
from loopsolver.view.ends import Ends, run_ends
from loopsolver.view.figures import NearTube
from loopsolver.view.selection import ViewSelection, shown_candidate


def near_tubes(plan: Plan, selection: ViewSelection) -> tuple[NearTube, ...]:
    """Return how near other runs' chosen tubes are to the tube on show, nearest first.

    Fittings are among them where a tube, or a fitting, comes too near to one of another
    run.
    """
    shown = shown_candidate(plan, selection)
    if shown is None:
        return ()
    radius = plan.scene.tube.radius
    of_shown = run_ends(plan.scene, plan.runs[selection.run], shown)
    gaps = []
    for run, other in tubes_beside(plan, selection):
        gap, at, to = tube_gap(
            shown.centreline,
            other.centreline,
            first_radius=radius,
            second_radius=radius,
        )
        gaps.append(NearTube(run=run.name, gap=gap, at=at, to=to))
        ends = of_shown, run_ends(plan.scene, run, other)
        gaps += _near_fittings(plan.scene, run.name, (shown, other), ends)
        gaps += _fittings_near_each_other(plan.scene, run.name, ends)
    return tuple(sorted(gaps, key=lambda near: near.gap))


def _near_fittings(
    scene: Scene,
    run: str,
    tubes: tuple[Candidate, Candidate],
    ends: tuple[Ends, Ends],
) -> Iterator[NearTube]:
    """Yield where a tube is too near to a fitting: the one shown, or that of a run."""
    shown, _ = tubes
    radius, clearance = scene.tube.radius, scene.rules.clearance
    for tube, theirs in zip(tubes, reversed(ends), strict=True):
        vertices = points_array(tube.centreline.vertices)
        box = np.array([vertices.min(axis=0), vertices.max(axis=0)])
        for body in chain(*(end.bodies for end in chain(*theirs))):
            if not boxes_meet(bounds(body.solid), box, within=clearance + radius):
                continue
            gap = gap_to(tube.centreline, tube.covered, body, radius)
            if not is_clear(gap.distance, clearance):
                yield NearTube(
                    run=run,
                    gap=gap.distance,
                    at=gap.at,
                    to=gap.at,
                    fitting=body,
                    other_line=None if tube is shown else tube.centreline,
                )


def _fittings_near_each_other(
    scene: Scene, run: str, ends: tuple[Ends, Ends]
) -> Iterator[NearTube]:
    """Yield where a fitting of the run shown is too near to one of another run.

    Of the stems and arms of two elbows the pair that is nearest is told.
    """
    for own, other in product(*(tuple(chain(*one)) for one in ends)):
        is_elbow = max(len(own.bodies), len(other.bodies)) > 1
        wanted = between_fittings(scene.rules.clearance, is_elbow=is_elbow)
        found = [
            _fitting_near(run, one, two)
            for one, two in product(own.bodies, other.bodies)
            if not keep_clear(one.solid, two.solid, by=wanted)
        ]
        if found:
            yield min(found, key=lambda near: near.gap)


def _fitting_near(run: str, own: Obstacle, other: Obstacle) -> NearTube:
    """Return how near a fitting of the run shown is to one of another run."""
    first, second = own.solid, other.solid
    assert isinstance(first, Cylinder)
    assert isinstance(second, Cylinder)
    _, at, to = tube_gap(
        _axis_of(first), _axis_of(second), first_radius=0.0, second_radius=0.0
    )
    gap = separation(first, second).distance
    return NearTube(run=run, gap=gap, at=at, to=to, fitting=other, own_fitting=own)


def _axis_of(cylinder: Cylinder) -> Centreline:
    """Return a cylinder's axis from end to end, as a line without bends."""
    frame, half = cylinder.frame, 0.5 * cylinder.height
    ends = (offset(frame.origin, frame.axes[2], way) for way in (-half, half))
    return Centreline(vertices=tuple(ends), radius=cylinder.diameter)


def _widest(body: Obstacle | None) -> float:
    """Return the radius of a fitting's body; 0 where there is none [mm]."""
    solid = None if body is None else body.solid
    return solid.diameter / 2.0 if isinstance(solid, Cylinder) else 0.0


def clash_rings(
    candidate: Candidate, clashing: Iterable[NearTube], *, radius: float
) -> tuple[StyledMesh, ...]:
    """Return wide rings where others are too near to the tube that is looked at.

    Round that tube; where another meets its fitting, round the other; where two fittings
    meet, round its own. Wider than a fitting that is met, which would hide it.
    """
    rings = []
    for one in clashing:
        own = one.own_fitting
        line = one.other_line or candidate.centreline
        if own is not None and isinstance(own.solid, Cylinder):
            line = _axis_of(own.solid)
        widest = max(radius, _widest(one.fitting), _widest(own))
        ring = ring_round(line, one.at, radius=widest + 3.0, thick=4.0)
        rings.append(StyledMesh(mesh=ring, look=Look(colour=palette.CLASH)))
    return tuple(rings)
