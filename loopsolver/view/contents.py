"""What of a scene or plan is drawn for a selection. Pure: drawings and wishes out."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, product
from typing import Final

import numpy as np
import pyvista as pv

from loopsolver.clearance.gap import tube_gap
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import Array, Point, point, points_array
from loopsolver.plan import Plan, PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import PICTURED, case_walls, room
from loopsolver.tolerances import SAME_HEIGHT
from loopsolver.tube.centreline import (
    BendArc,
    Centreline,
    pieces,
    points_along,
    sample,
)
from loopsolver.view import actors, palette, surfaces
from loopsolver.view.actors import (
    OLD_TUBE,
    OTHER_TUBE,
    SHOWN_TUBE,
    Look,
    StyledMesh,
)
from loopsolver.view.ends import Ends, run_ends, used_ports
from loopsolver.view.figures import NearTube
from loopsolver.view.labels import LabelKind
from loopsolver.view.selection import (
    AnyRun,
    Subject,
    ViewSelection,
    runs_of,
    scene_of,
    shown_candidate,
)

SAMPLE_SPACING: Final = 6.0
"""Distance between the points by which a tube is judged on the picture [mm]."""


MOST_BODY_NAMES: Final = 24
"""Names of components on one picture, the largest first: more hide what they name."""


WALL_NAME_AT: Final = 0.84
"""How high the name of an upright wall stands, from its middle to its upper edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedLabel:
    """A label that is wanted, and the place in the case that it names [mm]."""

    text: str
    kind: LabelKind
    at: Point


def fixed_meshes(subject: Subject) -> tuple[StyledMesh, ...]:
    """Return what is always there: floor, case, datum arrows, and the ports.

    The arrows of ports that a run may use are not among them: see `arrows`.
    """
    scene = scene_of(subject)
    diameter = scene.tube.outer_diameter
    used = frozenset().union(*(used_ports(scene, run) for run in runs_of(subject)))
    ports = [port for part in scene.components for port in part.ports]
    drawings = [actors.port_rim(port, tube_diameter=diameter) for port in ports]
    drawings += [
        actors.port_arrow(port.direction, port.position, tube_diameter=diameter)
        for port in ports
        if port.name not in used
    ]
    has_walls = scene.case_inner is not None
    whole = [*actors.floor(scene), actors.case_outline(scene)] if has_walls else []
    return (*whole, actors.datum_arrows(scene), *actors.joined(drawings))


def bodies(
    scene: Scene, names: Collection[str] | None = None
) -> tuple[StyledMesh, ...]:
    """Return bodies: translucent faces and firm edges, a colour a component.

    Of all components, or of those of some names.
    """
    drawings = []
    for place, part in enumerate(scene.components):
        colour = palette.BODIES[place % len(palette.BODIES)]
        for body in part.bodies if names is None or part.name in names else ():
            drawings += _see_through(body.solid, colour=colour, opacity=0.3)
    return actors.joined(drawings)


def _see_through(
    solid: Solid, *, colour: palette.Colour, opacity: float
) -> list[StyledMesh]:
    edge = palette.darker(colour, by=0.4)
    return [
        StyledMesh(
            mesh=surfaces.solid_surface(solid),
            look=Look(colour=colour, opacity=opacity),
        ),
        StyledMesh(
            mesh=surfaces.solid_edges(solid),
            look=Look(kind="lines", colour=edge, line_width=1.2, opacity=0.8),
        ),
    ]


def keep_outs(scene: Scene) -> tuple[StyledMesh, ...]:
    """Return the keep-outs, hatched."""
    drawings = []
    for body in scene.keep_outs:
        drawings += _see_through(body.solid, colour=palette.KEEP_OUT, opacity=0.04)
        lines = Look(kind="lines", colour=palette.KEEP_OUT, opacity=0.35)
        drawings.append(StyledMesh(mesh=surfaces.hatch(body.solid), look=lines))
    return actors.joined(drawings)


def fittings(ends: Ends) -> tuple[StyledMesh, ...]:
    """Return the fittings of a run, as far as they are settled."""
    return actors.joined(
        drawing for end in chain(*ends) for drawing in actors.fitting_drawings(end)
    )


def shown_tube(candidate: Candidate, *, radius: float) -> tuple[StyledMesh, ...]:
    """Return the tube that is looked at, and a ring where its least gap is."""
    line = candidate.centreline
    tube = actors.tube_drawings(line, radius=radius, colours=SHOWN_TUBE)
    ring = _ring(line, candidate.gap.at, radius=radius + 0.6, thick=2.4)
    return (*tube, StyledMesh(mesh=ring, look=Look(colour=palette.LEAST_GAP)))


def clash_rings(
    candidate: Candidate, clashing: Iterable[NearTube], *, radius: float
) -> tuple[StyledMesh, ...]:
    """Return a wide ring round the tube that is looked at where others are too near it."""
    return tuple(
        StyledMesh(
            mesh=_ring(candidate.centreline, one.at, radius=radius + 3.0, thick=4.0),
            look=Look(colour=palette.CLASH),
        )
        for one in clashing
    )


def _ring(line: Centreline, at: Point, *, radius: float, thick: float) -> pv.PolyData:
    """Return a ring round a tube at a point of its centre line."""
    points = sample(line, spacing=SAMPLE_SPACING)
    nearest = int(np.argmin(np.linalg.norm(points - np.asarray(at), axis=1)))
    first = min(max(nearest, 1), len(points) - 1)
    along = point(points[first] - points[first - 1])
    return surfaces.wire_ring(at, along, radius=radius, thick=thick)


def other_tube(candidate: Candidate, *, radius: float) -> tuple[StyledMesh, ...]:
    """Return the other tube, in pale colours."""
    line = candidate.centreline
    return actors.tube_drawings(line, radius=radius, colours=OTHER_TUBE)


def old_tubes(
    candidates: Iterable[Candidate], *, radius: float
) -> tuple[StyledMesh, ...]:
    """Return tubes of before the last save, in grey."""
    return actors.joined(
        drawing
        for one in candidates
        for drawing in actors.tube_drawings(
            one.centreline, radius=radius, colours=OLD_TUBE
        )
    )


def wanted(ends: Ends) -> tuple[StyledMesh, ...]:
    """Return dashed lines between the ends of a run that has no tube."""
    starts, goals = ends
    return actors.joined(
        actors.wanted_line(first.seat, last.seat) for first in starts for last in goals
    )


def _others(
    subject: Subject, selection: ViewSelection
) -> Iterator[tuple[PlannedRun, Candidate]]:
    """Yield the other runs that have a tube, and the tube."""
    for place, run in enumerate(runs_of(subject)):
        if place != selection.run and isinstance(run, PlannedRun):
            chosen = run.tube_in_place
            if chosen is not None:
                yield run, chosen


def ends_of_run(
    scene: Scene, run: AnyRun, candidate: Candidate | None
) -> tuple[StyledMesh, ...]:
    """Return what holds a run's ends: fittings, and arrows while it has no tube."""
    ends = run_ends(scene, run, candidate)
    if candidate is not None:
        return fittings(ends)
    # A tube would go where the arrows are: from the mouths of the fittings.
    return fittings(ends) + actors.joined(
        actors.port_arrow(
            end.outlet, end.mouth, tube_diameter=scene.tube.outer_diameter
        )
        for end in chain(*ends)
    )


def run_on_show(
    scene: Scene, run: AnyRun, candidate: Candidate | None
) -> tuple[StyledMesh, ...]:
    """Return the tube of the run that is looked at, or that one is wanted."""
    if candidate is None:
        return wanted(run_ends(scene, run, None))
    return shown_tube(candidate, radius=scene.tube.radius)


def run_beside(
    scene: Scene, _run: AnyRun, candidate: Candidate | None
) -> tuple[StyledMesh, ...]:
    """Return the other tube, if it has one."""
    return () if candidate is None else other_tube(candidate, radius=scene.tube.radius)


def near_tubes(plan: Plan, selection: ViewSelection) -> tuple[NearTube, ...]:
    """Return how near other runs' chosen tubes are to the tube on show, nearest first."""
    shown = shown_candidate(plan, selection)
    if shown is None:
        return ()
    radius = plan.scene.tube.radius
    gaps = []
    for run, other in _others(plan, selection):
        gap, at, _ = tube_gap(
            shown.centreline,
            other.centreline,
            first_radius=radius,
            second_radius=radius,
        )
        gaps.append(NearTube(run=run.name, gap=gap, at=at))
    return tuple(sorted(gaps, key=lambda near: near.gap))


def tube_points(subject: Subject, selection: ViewSelection) -> Array:
    """Return points along the tube on show, or along the straight lines in its stead."""
    runs = runs_of(subject)
    if not runs:
        return np.empty((0, 3))
    return _run_points(scene_of(subject), runs[selection.run], selection.rank)


def _run_points(scene: Scene, run: AnyRun, rank: int | None) -> Array:
    if isinstance(run, PlannedRun) and rank is not None:
        line = run.candidate(rank).centreline
        return sample(line, spacing=SAMPLE_SPACING)
    starts, goals = run_ends(scene, run, None)
    first, last = np.asarray(starts[0].seat), np.asarray(goals[0].seat)
    steps = max(2, int(np.linalg.norm(last - first) / SAMPLE_SPACING))
    shares = np.linspace(0.0, 1.0, steps)[:, None]
    return np.asarray(first + shares * (last - first), dtype=np.float64)


def other_points(subject: Subject, selection: ViewSelection) -> Array:
    """Return points along the tubes of the other runs, more sparsely (n, 3) [mm]."""
    if "other tubes" in selection.hidden:
        return np.empty((0, 3))
    tubes = (tube.centreline for _, tube in _others(subject, selection))
    lines = (sample(line, spacing=SAMPLE_SPACING)[::3] for line in tubes)
    return np.vstack([np.empty((0, 3)), *lines])


def lines_to_see(subject: Subject, selection: ViewSelection) -> list[Array]:
    """Return points along every tube; that of the run on show twice, it counts double."""
    lines = []
    for run in runs_of(subject):
        rank = run.rank_in_place if isinstance(run, PlannedRun) else None
        lines.append(_run_points(scene_of(subject), run, rank))
    shown = tube_points(subject, selection)
    return [*lines, shown] if len(shown) > 1 else lines


def solids_in_the_way(scene: Scene) -> list[Solid]:
    """Return the solids of all bodies; keep-outs are empty space and hide nothing."""
    return [body.solid for part in scene.components for body in part.bodies]


def outer_points(subject: Subject) -> Array:
    """Return points such that a picture with all of them has everything in it [mm]."""
    scene = scene_of(subject)
    points = [points_array(product(*zip(*room(scene, beyond=PICTURED), strict=True)))]
    solids = [*solids_in_the_way(scene), *(body.solid for body in scene.keep_outs)]
    points += [
        np.asarray(surfaces.solid_surface(solid).points, dtype=np.float64)
        for solid in solids
    ]
    return np.vstack([piece for piece in points if len(piece)])


def names(subject: Subject, selection: ViewSelection) -> tuple[WantedLabel, ...]:
    """Return the labels that are wanted, the most needed first."""
    scene, runs = scene_of(subject), runs_of(subject)
    of_run: dict[str, Point] = {}
    candidate = shown_candidate(subject, selection)
    if runs:
        ends = chain(*run_ends(scene, runs[selection.run], candidate))
        of_run = {end.port.name: end.seat for end in ends}
    wanted_names = [*_port_names(of_run), *_bend_numbers(candidate)]
    if "bodies" not in selection.hidden:
        wanted_names += _body_names(scene)
    if "other tubes" not in selection.hidden:
        for run, tube in _others(subject, selection):
            points = sample(tube.centreline, spacing=SAMPLE_SPACING)
            middle = point(points[len(points) // 2])
            wanted_names.append(WantedLabel(text=run.name, kind="tube", at=middle))
    if "keep-outs" not in selection.hidden:
        wanted_names += [
            WantedLabel(
                text=body.name, kind="keep-out", at=_top(body.solid, up=scene.up)
            )
            for body in scene.keep_outs
            if not isinstance(body.solid, HalfSpace)
        ]
    ports = (port for part in scene.components for port in part.ports)
    others = {port.name: port.position for port in ports if port.name not in of_run}
    return (*wanted_names, *_port_names(others), *_wall_names(scene))


def _bend_numbers(candidate: Candidate | None) -> Iterator[WantedLabel]:
    """Yield the number of each bend, as tables and sheets have it, at its middle."""
    if candidate is None:
        return
    arcs = [one for one in pieces(candidate.centreline) if isinstance(one, BendArc)]
    for number, arc in enumerate(arcs, start=1):
        (middle,) = points_along(arc, np.array([0.5]))
        yield WantedLabel(text=str(number), kind="bend", at=point(middle))


def _port_names(places: Mapping[str, Point]) -> Iterator[WantedLabel]:
    for name, at in places.items():
        yield WantedLabel(text=name, kind="port", at=at)


def _body_names(scene: Scene) -> Iterator[WantedLabel]:
    """Yield the names of the largest components, each at its largest body."""
    largest = [
        (part.name, max((body.solid for body in part.bodies), key=_volume))
        for part in scene.components
        if part.bodies
    ]
    largest.sort(key=lambda one: _volume(one[1]), reverse=True)
    for name, solid in largest[:MOST_BODY_NAMES]:
        if not isinstance(solid, HalfSpace):
            yield WantedLabel(text=name, kind="body", at=solid.frame.origin)


def _wall_names(scene: Scene) -> Iterator[WantedLabel]:
    """Yield the names of the case's walls, each at its middle; upright ones higher.

    The middle of an upright wall lies among the parts on most pictures.
    """
    low, high = room(scene)
    upright, sign = actors.floor_axis(scene.up)
    for name, wall in case_walls(scene):
        axis = int(np.argmax(np.abs(wall.normal)))
        at = (np.asarray(low) + np.asarray(high)) / 2.0
        if axis != upright:
            at[upright] *= 1.0 + WALL_NAME_AT * sign
        at[axis] = wall.point[axis]
        yield WantedLabel(text=name.removeprefix("case "), kind="wall", at=point(at))


def _top(solid: Solid, *, up: Point) -> Point:
    """Return the middle of what is highest of a solid [mm]."""
    points = np.asarray(surfaces.solid_surface(solid).points, dtype=np.float64)
    heights = points @ np.asarray(up)
    return point(points[heights > heights.max() - SAME_HEIGHT].mean(axis=0))


def _volume(solid: Solid) -> float:
    """Return the volume of a solid [mm3]; 0 for a half space, which has no end."""
    if isinstance(solid, Box):
        return math.prod(solid.size)
    if isinstance(solid, Cylinder):
        return math.pi / 4.0 * solid.diameter**2 * solid.height
    return 0.0
