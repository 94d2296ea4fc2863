"""A tube bent bend by bend from its straight blank: where it is after each bend."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from loopsolver.geometry.vectors import Array, Point, offset, point
from loopsolver.lengths import lengths_for
from loopsolver.report.bending import caution_words, clockwise_words
from loopsolver.report.bent_tube import hold_at
from loopsolver.report.turns import turn_on_sheet, way_on_sheet
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import (
    BendArc,
    Straight,
    legs,
    piece_length,
    pieces,
    points_along,
)
from loopsolver.tube.marks import BendMark, bend_marks
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh, joined
from loopsolver.view.figures import bend_table_lines
from loopsolver.view.labels import WantedLabel
from loopsolver.view.palette import Colour
from loopsolver.view.panel_lines import PanelLine, Section, colour_key, wrapped
from loopsolver.view.surfaces import arc_surface, straight_surface

if TYPE_CHECKING:
    from loopsolver.view.selection import ViewSelection

_COLOURS: Final[dict[str, Colour]] = {
    "straight": palette.STRAIGHT,
    "bend": palette.BEND,
    "to bend": palette.TO_BEND,
    "to cut off": palette.OLD_BEND,
}

BenchStretch = tuple[str, Straight | BendArc]
"""A stretch of a tube on the bench: what it is, one of `_COLOURS`, and where."""


def step_bend(selection: ViewSelection, bends: int) -> ViewSelection:
    """Return the selection with the next bend made; after the last the tube in place."""
    made = 0 if selection.bent is None else selection.bent + 1
    bent = None if made > bends else made
    return replace(selection, bent=bent, beside=None, tilt=0, shot=0)


def stretches(
    candidate: Candidate, scene: Scene, *, made: int
) -> Iterator[BenchStretch]:
    """Yield a tube of which so many bends are made, in order, from its blank's first end.

    Its first end lies where it goes in the case; what is not bent yet runs on straight,
    marked as the blank is. Bends to come take up on it what they do on the blank.
    """
    line, trim = candidate.centreline, candidate.trim_allowance
    whole, directions = pieces(line), legs(line).directions
    marks = _marks(candidate, scene)
    seat, first = line.vertices[0], directions[0]
    yield "to cut off", Straight(start=offset(seat, first, -trim), end=seat)
    for piece in whole[: 2 * made]:
        yield "bend" if isinstance(piece, BendArc) else "straight", piece
    begin = trim if made == 0 else marks[made - 1].end
    start = seat if made == 0 else _place(whole[2 * made - 1], 1.0)

    def at(along: float) -> Point:
        return offset(start, directions[made], along - begin)

    here = begin
    for mark in marks[made:]:
        yield "straight", Straight(start=at(here), end=at(mark.start))
        yield "to bend", Straight(start=at(mark.start), end=at(mark.end))
        here = mark.end
    last = candidate.blank - trim
    yield "straight", Straight(start=at(here), end=at(last))
    yield "to cut off", Straight(start=at(last), end=at(candidate.blank))


def _marks(candidate: Candidate, scene: Scene) -> tuple[BendMark, ...]:
    return bend_marks(
        candidate.table,
        trim_allowance=candidate.trim_allowance,
        outer_diameter=scene.tube.outer_diameter,
        take_up=candidate.take_up,
    )


def _place(piece: Straight | BendArc, share: float) -> Point:
    (at,) = points_along(piece, np.array([share]))
    return point(at)


def bent_drawings(
    candidate: Candidate, scene: Scene, made: int
) -> tuple[StyledMesh, ...]:
    """Return the tube with so many bends made, each kind of stretch in its colour."""
    radius, drawings = scene.tube.radius, []
    for kind, piece in stretches(candidate, scene, made=made):
        if piece_length(piece) <= TOUCH:
            continue
        mesh = (
            arc_surface(piece, radius=radius)
            if isinstance(piece, BendArc)
            else straight_surface(piece, radius=radius)
        )
        look = Look(colour=_COLOURS[kind], shine=0.4)
        drawings.append(StyledMesh(mesh=mesh, look=look))
    return joined(drawings)


def points_of_all_steps(candidate: Candidate, scene: Scene) -> list[Array]:
    """Return points along the tube as it is after each step, a line each [mm]."""
    shares = np.linspace(0.0, 1.0, 9)
    return [
        np.vstack(
            [
                points_along(piece, shares)
                for _, piece in stretches(candidate, scene, made=made)
            ]
        )
        for made in range(candidate.bends + 1)
    ]


def bench_names(candidate: Candidate, scene: Scene, made: int) -> list[WantedLabel]:
    """Return the number of each bend, made or to come, and where the ends will go."""
    whole = list(stretches(candidate, scene, made=made))
    bends = [piece for kind, piece in whole if kind in {"bend", "to bend"}]
    numbers = [
        WantedLabel(text=str(number), kind="bend", at=_place(piece, 0.5))
        for number, piece in enumerate(bends, start=1)
    ]
    tips = ((whole[0][1], 0.0), (whole[-1][1], 1.0))
    ends = [
        WantedLabel(text=f"to {end.port}", kind="port", at=_place(*tip))
        for end, tip in zip(candidate.ends, tips, strict=False)
    ]
    return [*numbers, *ends]


def blank_section(
    candidate: Candidate, scene: Scene, ends: tuple[str, str], *, made: int
) -> tuple[Section, ...]:
    """Return what is done in a step, and the bend table with its row marked."""
    lengths, table = lengths_for(scene.units), candidate.table
    lead = [PanelLine(text=f"step {made} of {candidate.bends}", style="faint")]
    if made == 0:
        head = f"the straight blank, {lengths.plain(candidate.blank)}"
        lead += wrapped(head, style="heading")
        lead += wrapped(f"Its first end goes to {ends[0]}.")
    else:
        lead += _bend_words(candidate, scene, made)
    rows = bend_table_lines(
        table,
        lengths=lengths,
        departures_deg=candidate.departures_deg,
        marked=made,
    )
    cautions = [
        *wrapped(clockwise_words(ends), style="faint"),
        *wrapped(caution_words(scene.tube.material), style="warning"),
    ]
    return (
        Section(lines=tuple(lead)),
        Section(lines=tuple(rows)),
        Section(lines=tuple(cautions)),
    )


def _bend_words(candidate: Candidate, scene: Scene, made: int) -> list[PanelLine]:
    """Return how one bend is made."""
    lengths, bend = lengths_for(scene.units), candidate.table.bends[made - 1]
    mark = _marks(candidate, scene)[made - 1]
    rows = wrapped(f"bend {made} of {candidate.bends}", style="heading")
    told = [
        f"{lengths.text(mark.start)} to {lengths.text(mark.end)} from the first end"
    ]
    told += [turn_on_sheet(bend, number=made), way_on_sheet(bend, number=made)]
    told.append(f"bend to {bend.angle_deg:.1f} degrees")
    held = hold_at(scene.tube, bend.angle_deg)
    told.append(f"hold it at {held} degrees until it is cold" if held else "")
    return rows + [
        row for one in told if one for row in wrapped(f"  {one}", indent="    ")
    ]


def blank_key(candidate: Candidate, made: int) -> Section:
    """Return what the colours of the tube on the bench mean."""
    entries = [("straight", palette.STRAIGHT)]
    entries += [("bend", palette.BEND)] if made else []
    if made < candidate.bends:
        entries.append(("to bend", palette.TO_BEND))
    entries.append(("to cut off", palette.OLD_BEND))
    return Section(lines=tuple(colour_key(entries)))
