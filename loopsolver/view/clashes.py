"""How near other runs come to the tube on show, and rings where they clash."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain

import numpy as np

from loopsolver.clearance.gap import is_clear, tube_gap
from loopsolver.geometry.solids import Cylinder, bounds, boxes_meet
from loopsolver.geometry.vectors import points_array
from loopsolver.plan import Plan
from loopsolver.routing.loop.route_pool import gap_to
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.contents import ring_round, tubes_beside
from loopsolver.view.ends import Ends, run_ends
from loopsolver.view.figures import NearTube
from loopsolver.view.selection import ViewSelection, shown_candidate


def near_tubes(plan: Plan, selection: ViewSelection) -> tuple[NearTube, ...]:
    """Return how near other runs' chosen tubes are to the tube on show, nearest first.

    Fittings are among them where a tube comes too near to one of another run.
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


def clash_rings(
    candidate: Candidate, clashing: Iterable[NearTube], *, radius: float
) -> tuple[StyledMesh, ...]:
    """Return wide rings where others are too near to the tube that is looked at.

    Round that tube; where another meets its fitting, round the other. Wider than a
    fitting that is met, which would hide it.
    """
    rings = []
    for one in clashing:
        met = None if one.fitting is None else one.fitting.solid
        widest = met.diameter / 2.0 if isinstance(met, Cylinder) else 0.0
        ring = ring_round(
            one.other_line or candidate.centreline,
            one.at,
            radius=max(radius, widest) + 3.0,
            thick=4.0,
        )
        rings.append(StyledMesh(mesh=ring, look=Look(colour=palette.CLASH)))
    return tuple(rings)
