"""How a build goes together, in the window: shot after shot."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any, Final

import numpy as np

from loopsolver.assembly.order import AssemblyOrder, assembly
from loopsolver.assembly.stations import Stance, stations
from loopsolver.assembly.swept import NOWHERE
from loopsolver.geometry.vectors import Point
from loopsolver.plan import Plan
from loopsolver.report.assembling import (
    ASSEMBLY_CAUTIONS,
    AssemblyStep,
    assembly_steps,
    order_sentences,
)
from loopsolver.view import actors, contents, palette
from loopsolver.view.actors import SHOWN_TUBE, StyledMesh
from loopsolver.view.ends import run_ends
from loopsolver.view.palette import Colour
from loopsolver.view.panel_lines import PanelLine, Section, colour_key, wrapped
from loopsolver.view.selection import Subject, ViewSelection

SEEKING: Final = "looking for the order in which all goes together ..."

_BY_HAND: Final = (palette.LEAST_GAP, palette.LEAST_GAP)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shot:
    """A step of putting together, and where all stands in it.

    Attributes
    ----------
    step : AssemblyStep
    number : int
        Of the step, from 1.
    placed : tuple of str
        The tubes that are in.
    station : Stance or None
        Where the tube that goes in stands; None where parts alone are fixed.
    """

    step: AssemblyStep
    number: int
    placed: tuple[str, ...]
    station: Stance | None = None

    @property
    def aside(self) -> frozenset[str]:
        """The parts that stand aside."""
        if self.station is None or self.station.shift == NOWHERE:
            return frozenset()
        return frozenset(self.step.removal.freeing.parts if self.step.removal else ())


class Together:
    """How a plan goes together, once looked for.

    Parameters
    ----------
    subject : Scene or Plan
        Of a scene there is nothing to know.

    Attributes
    ----------
    shots : tuple of Shot
    why_none : str
        Why there are none; nothing where there are some.
    """

    def __init__(self, subject: Subject) -> None:
        self._subject = subject
        self.shots: tuple[Shot, ...] = ()
        self.why_none = ""
        self.is_sought = False

    def seek(self) -> None:
        """Look for the order, if not done yet: it takes seconds."""
        if self.is_sought:
            return
        self.is_sought = True
        if not isinstance(self._subject, Plan):
            self.why_none = "no order: the loop is not routed yet"
            return
        of = assembly(self._subject)
        if not of.removals:
            told = (*order_sentences(of, self._subject.scene), "no tube is chosen")
            self.why_none = f"no order: {told[0]}"
            return
        self.shots = tuple(_shots(of, self._subject))


def _shots(of: AssemblyOrder, plan: Plan) -> Iterator[Shot]:
    placed: tuple[str, ...] = ()
    for number, step in enumerate(assembly_steps(of, plan.scene), start=1):
        if step.removal is None:
            yield Shot(step=step, number=number, placed=placed)
            continue
        for station in stations(step.removal):
            yield Shot(step=step, number=number, placed=placed, station=station)
        placed = (*placed, step.removal.tube)


def step_shot(selection: ViewSelection, shots: Sequence[Shot]) -> ViewSelection:
    """Return the selection with the next shot, after the last all together."""
    return replace(selection, shot=(selection.shot + 1) % (len(shots) + 1), tilt=0)


def shot_bodies(plan: Plan, shot: Shot) -> tuple[StyledMesh, ...]:
    """Return the parts, those that stand aside where they then are."""
    names = {part.name for part in plan.scene.components}
    still = contents.bodies(plan.scene, names - shot.aside)
    by = NOWHERE if shot.station is None else shot.station.shift
    return (*still, *_shifted(contents.bodies(plan.scene, shot.aside), by))


def shot_tubes(plan: Plan, shot: Shot) -> tuple[StyledMesh, ...]:
    """Return fittings and tubes: those in their places, and the one that goes in."""
    scene, radius = plan.scene, plan.scene.tube.radius
    removal, station = shot.step.removal, shot.station
    by = NOWHERE if station is None else station.shift
    along = removal.freeing.tubes if removal is not None else ()
    drawings: list[StyledMesh] = []
    for run in plan.runs:
        candidate = run.tube_in_place
        if candidate is None:
            continue
        for end in chain(*run_ends(scene, run, candidate)):
            comes = end.port.component in shot.aside
            drawings += _shifted(actors.fitting_drawings(end), by if comes else NOWHERE)
        if run.name in shot.placed:
            tube = contents.other_tube(candidate, radius=radius)
            drawings += _shifted(tube, by if run.name in along else NOWHERE)
        elif removal is not None and station is not None and run.name == removal.tube:
            tube = actors.tube_drawings(
                candidate.centreline,
                radius=radius,
                colours=_BY_HAND if station.is_held else SHOWN_TUBE,
            )
            drawings += [_placed(one, station) for one in tube]
    return tuple(drawings)


def _shifted(drawings: Collection[StyledMesh], by: Point) -> list[StyledMesh]:
    if by == NOWHERE:
        return list(drawings)
    there = Stance(turn=np.eye(3), way=by, shift=by)
    return [_placed(one, there) for one in drawings]


def _placed(drawing: StyledMesh, station: Stance) -> StyledMesh:
    """Return a drawing as it stands at a station."""
    mesh = drawing.mesh.copy()
    mesh.points = station.moved(np.asarray(mesh.points, dtype=np.float64))
    data: Any = mesh.point_data
    if data.active_normals is not None:
        turned = np.asarray(data.active_normals) @ station.turn.T
        data.active_normals = turned.astype(np.float32)
    return replace(drawing, mesh=mesh)


def shot_section(shots: Sequence[Shot], place: int) -> Section:
    """Return what is done in a shot, counted from 1."""
    shot, blank = shots[place - 1], PanelLine(text="")
    steps = shots[-1].number
    return Section(
        lines=(
            PanelLine(text=f"step {shot.number} of {steps}", style="faint"),
            *wrapped(shot.step.head, style="heading"),
            blank,
            *(row for words in shot.step.how for row in wrapped(words, indent="  ")),
            blank,
            *wrapped(ASSEMBLY_CAUTIONS[0], style="warning"),
            *wrapped(ASSEMBLY_CAUTIONS[1], style="warning"),
        )
    )


def shot_key(shot: Shot) -> Section:
    """Return what the colours of a shot mean."""
    entries: list[tuple[str, Colour]] = []
    if shot.station is not None and shot.station.is_held:
        entries.append(("held aside by hand, with force", palette.LEAST_GAP))
    elif shot.station is not None:
        entries += [("straight", palette.STRAIGHT), ("bend", palette.BEND)]
    if shot.placed:
        entries.append(("tube in its place", palette.OTHER_STRAIGHT))
    return Section(lines=tuple(colour_key([*entries, ("port", palette.PORT)])))
