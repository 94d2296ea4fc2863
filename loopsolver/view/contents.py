"""What of a scene or plan is drawn for a selection. Pure: drawings and wishes out."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from itertools import chain, product
from typing import Final

import numpy as np
import pyvista as pv

from loopsolver.geometry.solids import Cylinder, Solid
from loopsolver.geometry.vectors import Array, Point, point, points_array
from loopsolver.plan import PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import PICTURED, room
from loopsolver.tube.centreline import (
    Centreline,
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

CLOSE_SPACING: Final = 2.0
"""Distance between the points by which a tube is found under the mouse [mm]."""


def case(scene: Scene) -> tuple[StyledMesh, ...]:
    """Return floor, case and datum arrows."""
    has_walls = scene.case_inner is not None
    whole = [*actors.floor(scene), actors.case_outline(scene)] if has_walls else []
    return (*whole, actors.datum_arrows(scene))


def ports(subject: Subject) -> tuple[StyledMesh, ...]:
    """Return the ports.

    The arrows of ports that a run may use are not among them: see `ends_of_run`.
    """
    scene = scene_of(subject)
    diameter, used = scene.tube.outer_diameter, ports_used(subject)
    there = [port for part in scene.components for port in part.ports]
    drawings = [actors.port_rim(port, tube_diameter=diameter) for port in there]
    drawings += [
        actors.port_arrow(port.direction, port.position, tube_diameter=diameter)
        for port in there
        if port.name not in used
    ]
    return actors.joined(drawings)


def ports_used(subject: Subject) -> frozenset[str]:
    """Return the names of the ports that runs may use."""
    scene = scene_of(subject)
    return frozenset().union(*(used_ports(scene, run) for run in runs_of(subject)))


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
    ring = ring_round(line, candidate.gap.at, radius=radius + 0.6, thick=2.4)
    return (*tube, StyledMesh(mesh=ring, look=Look(colour=palette.LEAST_GAP)))


def ring_round(
    line: Centreline, at: Point, *, radius: float, thick: float
) -> pv.PolyData:
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


def tubes_beside(
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


def tube_points(subject: Subject, selection: ViewSelection) -> Array:
    """Return points along the tube on show, or along the straight lines in its stead."""
    runs = runs_of(subject)
    if not runs:
        return np.empty((0, 3))
    return _run_points(scene_of(subject), runs[selection.run], selection.rank)


def _run_points(
    scene: Scene, run: AnyRun, rank: int | None, *, spacing: float = SAMPLE_SPACING
) -> Array:
    if isinstance(run, PlannedRun) and rank is not None:
        return sample(run.candidate(rank).centreline, spacing=spacing)
    starts, goals = run_ends(scene, run, None)
    first, last = np.asarray(starts[0].seat), np.asarray(goals[0].seat)
    steps = max(2, int(np.linalg.norm(last - first) / spacing))
    shares = np.linspace(0.0, 1.0, steps)[:, None]
    return np.asarray(first + shares * (last - first), dtype=np.float64)


def other_points(subject: Subject, selection: ViewSelection) -> Array:
    """Return points along the tubes of the other runs, more sparsely (n, 3) [mm]."""
    if "other tubes" in selection.hidden:
        return np.empty((0, 3))
    tubes = (tube.centreline for _, tube in tubes_beside(subject, selection))
    lines = (sample(line, spacing=SAMPLE_SPACING)[::3] for line in tubes)
    return np.vstack([np.empty((0, 3)), *lines])


def runs_seen(
    subject: Subject, selection: ViewSelection
) -> Iterator[tuple[int, Array]]:
    """Yield the place of each run that is seen, and points along its tube, closely."""
    scene = scene_of(subject)
    for place, run in enumerate(runs_of(subject)):
        is_shown = place == selection.run
        if not is_shown and "other tubes" in selection.hidden:
            continue
        rank = run.rank_in_place if isinstance(run, PlannedRun) else None
        yield (
            place,
            _run_points(scene, run, selection.rank if is_shown else rank, spacing=2.0),
        )


def tubes_seen(
    subject: Subject, selection: ViewSelection
) -> list[tuple[str, Centreline]]:
    """Return the tubes that are seen, with the names of their runs."""
    shown = shown_candidate(subject, selection)
    own = [] if shown is None else [(runs_of(subject)[selection.run].name, shown)]
    others = (
        [] if "other tubes" in selection.hidden else tubes_beside(subject, selection)
    )
    tubes = chain(own, ((run.name, tube) for run, tube in others))
    return [(name, tube.centreline) for name, tube in tubes]


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


NamedSolids = list[tuple[str, Solid]]


def solids_shown(
    scene: Scene, selection: ViewSelection
) -> tuple[NamedSolids, NamedSolids]:
    """Return the solids of the bodies that are shown, and of the keep-outs, by name."""
    parts = () if "bodies" in selection.hidden else scene.components
    keep_outs = () if "keep-outs" in selection.hidden else scene.keep_outs
    inside = (body for part in parts for body in part.bodies)
    return (
        [(body.name, body.solid) for body in inside],
        [(body.name, body.solid) for body in keep_outs],
    )


def tubes_shown(
    subject: Subject, selection: ViewSelection
) -> tuple[tuple[Centreline, ...], tuple[Cylinder, ...]]:
    """Return the centre lines of the tubes that are shown, and all runs' fittings."""
    scene, tubes = scene_of(subject), []
    fittings: dict[Cylinder, None] = {}
    for place, run in enumerate(runs_of(subject)):
        is_shown = place == selection.run
        tube = run.tube_in_place if isinstance(run, PlannedRun) else None
        if is_shown:
            tube = shown_candidate(subject, selection)
        if tube is not None and (is_shown or "other tubes" not in selection.hidden):
            tubes.append(tube.centreline)
        for end in chain(*run_ends(scene, run, tube)):
            fittings |= dict.fromkeys(
                one for one in end.fitting if isinstance(one, Cylinder)
            )
    return tuple(tubes), tuple(fittings)


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
