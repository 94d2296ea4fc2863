"""Which labels a selection wants, and what they should not hide. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain
from typing import Final

import numpy as np

from loopsolver.clearance.gap import is_clear
from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Mesh, Solid, box_round
from loopsolver.geometry.vectors import AXES, Array, Point, point, points_array
from loopsolver.hydraulics.filling import TiltStage
from loopsolver.lengths import lengths_for
from loopsolver.plan import Plan
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import case_walls, room
from loopsolver.tolerances import SAME_HEIGHT
from loopsolver.tube.centreline import BendArc, pieces, points_along, sample
from loopsolver.view import (
    actors,
    blank_steps,
    contents,
    gap_line,
    measuring,
    surfaces,
    tilting,
)
from loopsolver.view.contents import SAMPLE_SPACING, tubes_beside
from loopsolver.view.ends import run_ends
from loopsolver.view.figures import NearTube
from loopsolver.view.labels import WantedLabel
from loopsolver.view.selection import (
    Subject,
    ViewSelection,
    runs_of,
    scene_of,
    shown_candidate,
)

MOST_BODY_NAMES: Final = 24
"""Names of components on one picture, the largest first: more hide what they name."""


WALL_NAME_AT: Final = 0.84
"""How high the name of an upright wall stands, from its middle to its upper edge."""


def wanted_labels(
    subject: Subject,
    selection: ViewSelection,
    *,
    near: Sequence[NearTube],
    air: Sequence[TiltStage],
) -> list[WantedLabel]:
    """Return the labels that a selection wants, the most needed first.

    Parameters
    ----------
    subject : Scene or Plan
    selection : ViewSelection
    near : sequence of NearTube
        The other tubes, nearest first.
    air : sequence of TiltStage
        The stage of the tilts that is shown, or none.
    """
    scene, candidate = scene_of(subject), shown_candidate(subject, selection)
    if selection.bent is not None and candidate is not None:
        return blank_steps.bench_names(candidate, scene, selection.bent)
    lengths = lengths_for(scene.units)
    measured = measuring.measure_names(selection.marks or (), lengths=lengths)
    if "names" in selection.hidden:
        return list(measured)
    wanted = names(subject, selection)
    gap: Iterable[WantedLabel] = ()
    if selection.shot:  # ports and tubes that are not there yet go without
        wanted = tuple(one for one in wanted if one.kind in {"body", "wall"})
    elif isinstance(subject, Plan):
        line = gap_line.gap_line(subject, selection, next(iter(near), None))
        gap = gap_line.gap_names(line, lengths=lengths)
    of_air = (name for one in air for name in tilting.mark_names(one))
    whole, labels = [*_axis_names(scene), *measured], [*gap, *of_air, *wanted]
    if selection.plane is None or not labels:
        return whole + labels
    shown = selection.plane.is_shown(np.array([one.at for one in labels]))
    return whole + [
        one for one, is_there in zip(labels, shown, strict=True) if is_there
    ]


def in_sight(
    subject: Subject,
    selection: ViewSelection,
    *,
    near: Sequence[NearTube],
    air: Sequence[TiltStage],
) -> Array:
    """Return points that no label should hide, (n, 3) [mm].

    Of the datum, of tubes, where air is, and about the rings where tubes clash.
    """
    scene, candidate = scene_of(subject), shown_candidate(subject, selection)
    if selection.bent is not None and candidate is not None:
        return blank_steps.points_of_all_steps(candidate, scene)[selection.bent]
    pockets = [name.at for one in air for name in tilting.mark_names(one)]
    clearance = scene.rules.clearance
    clashes = [one.at for one in near if not is_clear(one.gap, clearance)]
    round_it = scene.tube.outer_diameter * np.array([(0.0, 0.0, 0.0), *AXES.values()])
    rings = [at + round_it for at in points_array(clashes)]
    return np.vstack(
        [
            actors.datum_points(scene),
            contents.tube_points(subject, selection),
            contents.other_points(subject, selection),
            points_array(pockets),
            *rings,
        ]
    )


def _axis_names(scene: Scene) -> Iterator[WantedLabel]:
    reach = actors.datum_arrow_length(scene) * actors.DATUM_NAME_AT
    places = ((reach, 0.0, 0.0), (0.0, reach, 0.0), (0.0, 0.0, reach))
    for text, place in zip(scene.axis_names, places, strict=True):
        yield WantedLabel(text=text, kind="axis", at=place)


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
        for run, tube in tubes_beside(subject, selection):
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
            at = box_round(solid).frame.origin
            yield WantedLabel(text=name, kind="body", at=at)


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
    """Return the volume of a solid, or of the box round a mesh [mm3].

    0 for a half space, which has no end.
    """
    if isinstance(solid, Box):
        return math.prod(solid.size)
    if isinstance(solid, Cylinder):
        return math.pi / 4.0 * solid.diameter**2 * solid.height
    if isinstance(solid, Mesh):
        return math.prod(box_round(solid).size)
    return 0.0
