"""Which groups of drawings a selection needs, by key. Pure: nothing is drawn here."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from loopsolver.clearance.gap import is_clear
from loopsolver.hydraulics.filling import TiltStage
from loopsolver.plan import Plan, PlannedRun
from loopsolver.scene.walls import PICTURED, room
from loopsolver.view import (
    blank_steps,
    clashes,
    contents,
    cut_open,
    gap_line,
    measuring,
    playing,
    tilting,
)
from loopsolver.view.actors import StyledMesh
from loopsolver.view.figures import NearTube
from loopsolver.view.playing import Shot
from loopsolver.view.selection import (
    Subject,
    ViewSelection,
    ports_of,
    runs_of,
    scene_of,
    shown_candidate,
)

if TYPE_CHECKING:
    from loopsolver.view.following import Following

Draw = Callable[[], Iterable[StyledMesh]]
Scenery = dict[Hashable, Draw]
"""What draws each group, by its key: in one scene equal keys, equal drawings."""


def scenery(
    subject: Subject,
    selection: ViewSelection,
    *,
    near: Sequence[NearTube],
    following: Following | None,
    air: Sequence[TiltStage],
    shots: Sequence[Shot],
) -> Scenery:
    """Return what a selection shows.

    Parameters
    ----------
    subject : Scene or Plan
    selection : ViewSelection
    near : sequence of NearTube
        The other tubes, nearest first.
    following : Following or None
    air : sequence of TiltStage
        The stage of the tilts that is shown, or none.
    shots : sequence of Shot
        Of putting together, as far as they are known.
    """
    scene = scene_of(subject)
    candidate = shown_candidate(subject, selection)
    if selection.bent is not None and candidate is not None:
        draw = partial(blank_steps.bent_drawings, candidate, scene, selection.bent)
        return {("bent", selection.run, selection.rank, selection.bent): draw}
    found: Scenery = {
        "case": partial(contents.case, scene),
        ("ports", contents.ports_used(subject)): partial(contents.ports, subject),
    }
    keep_outs: Scenery = {}
    if "keep-outs" not in selection.hidden:
        keep_outs["keep-outs"] = partial(contents.keep_outs, scene)
    if selection.shot:
        drawn = playing.shot_groups(subject, shots[selection.shot - 1])
        return (found | keep_outs) | {
            (kind, selection.shot): draw
            for kind, draw in drawn.items()
            if kind not in selection.hidden
        }
    if "bodies" not in selection.hidden:
        found["bodies"] = partial(contents.bodies, scene)
    return (
        found
        | keep_outs
        | _tubes(subject, selection, near=near)
        | _of_following(subject, following)
        | _of_air(subject, selection, air)
        | _tools(subject, selection)
    )


def _tubes(
    subject: Subject, selection: ViewSelection, *, near: Sequence[NearTube]
) -> Scenery:
    """Return the tubes and their fittings, and what is near to the tube on show."""
    scene, found = scene_of(subject), Scenery()
    for place, run in enumerate(runs_of(subject)):
        is_shown = place == selection.run
        candidate = run.tube_in_place if isinstance(run, PlannedRun) else None
        if is_shown:
            candidate = shown_candidate(subject, selection)
        of = (ports_of(run), candidate)
        found["fittings", of] = partial(contents.ends_of_run, scene, run, candidate)
        if is_shown or "other tubes" not in selection.hidden:
            draw = contents.run_on_show if is_shown else contents.run_beside
            found[draw.__name__, of] = partial(draw, scene, run, candidate)
        if is_shown and candidate is not None and isinstance(subject, Plan):
            clearance, radius = scene.rules.clearance, scene.tube.radius
            clashing = tuple(one for one in near if not is_clear(one.gap, clearance))
            rings = partial(clashes.clash_rings, candidate, clashing, radius=radius)
            found["clashes", candidate, clashing] = rings
            line = gap_line.gap_line(subject, selection, next(iter(near), None))
            found["gap", line] = partial(gap_line.gap_drawings, line)
    return found


def _of_following(subject: Subject, following: Following | None) -> Scenery:
    if following is None:
        return {}
    radius = scene_of(subject).tube.radius
    old = following.old
    return {("old tubes", old): partial(contents.old_tubes, old, radius=radius)}


def _of_air(
    subject: Subject, selection: ViewSelection, air: Sequence[TiltStage]
) -> Scenery:
    """Return where air is, and the floor under a machine that is laid on a side."""
    scene, found = scene_of(subject), Scenery()
    for stage in air:
        size = scene.tube.outer_diameter
        found["air", selection.tilt] = partial(tilting.marks, stage, tube_diameter=size)
        if selection.tilt:
            found["ground", selection.tilt] = partial(tilting.ground, scene, stage)
    return found


def _tools(subject: Subject, selection: ViewSelection) -> Scenery:
    """Return what is measured, and the plane that cuts the build."""
    scene, found = scene_of(subject), Scenery()
    if selection.marks:
        found["measure", selection.marks] = partial(
            measuring.measure_drawings,
            selection.marks,
            size=scene.tube.outer_diameter / 3.0,
        )
    if selection.plane is not None:
        found["cut", selection.plane] = partial(
            cut_open.plane_drawings,
            selection.plane,
            [solid for _, solid in chain(*contents.solids_shown(scene, selection))],
            room=room(scene, beyond=PICTURED),
        )
        lines, fittings = contents.tubes_shown(subject, selection)
        found["cut", selection.plane, lines, fittings] = partial(
            cut_open.cut_faces, selection.plane, lines, fittings, tube=scene.tube
        )
    return found
