"""One candidate as it is bent: the sentences and tables of its bend table."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.lengths import Lengths, fixed, lengths_for
from loopsolver.plan.model import PlannedRun
from loopsolver.report.angles import rotation
from loopsolver.report.bench import end_names
from loopsolver.report.bent_tube import (
    growth_sentences,
    hold_at,
    springback_words,
    wall_sentences,
)
from loopsolver.report.stock import over_stock, stock_help
from loopsolver.report.text_table import TextTable
from loopsolver.report.turns import way_in_plane
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tube.marks import BendMark, bend_marks
from loopsolver.tube.planes import PlaneStretch, plane_stretches
from loopsolver.tube.stock import Material, Tube
from loopsolver.words import counted

_COLUMN: Final = 9
"""Least width of a number's column, so that the tables of all planes line up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """A candidate of a run, to be bent from the scene's tube.

    Attributes
    ----------
    run : PlannedRun
    rank : int
        Of the candidate.
    scene : Scene
    is_turned_round : bool
        Whether its first end is the last one of the plan and of the sheets.
    """

    run: PlannedRun
    rank: int
    scene: Scene
    is_turned_round: bool = False

    def from_other_end(self) -> Setup:
        """Return the same tube with its ends exchanged."""
        return replace(
            self,
            run=self.run.from_other_end(),
            is_turned_round=not self.is_turned_round,
        )

    @property
    def candidate(self) -> Candidate:
        """The candidate itself."""
        return self.run.candidate(self.rank)

    @property
    def tube(self) -> Tube:
        """The tube that it is bent from."""
        return self.scene.tube

    @property
    def lengths(self) -> Lengths:
        """How its lengths are printed."""
        return lengths_for(self.scene.units)

    @property
    def ends(self) -> tuple[str, str]:
        """The ports of its first and last end."""
        return end_names(self.run, self.candidate)

    @property
    def stretches(self) -> tuple[PlaneStretch, ...]:
        """Its plane stretches."""
        return plane_stretches(self.candidate.table)

    @property
    def marks(self) -> tuple[BendMark, ...]:
        """Its marks along the blank."""
        return bend_marks(
            self.candidate.table,
            trim_allowance=self.candidate.trim_allowance,
            outer_diameter=self.tube.outer_diameter,
            take_up=self.candidate.take_up,
        )


def candidate_words(setup: Setup) -> str:
    """Return which candidate of its run it is, and how much there is to bend."""
    candidate = setup.candidate
    chosen = ", chosen" if setup.rank == setup.run.chosen else ""
    return (
        f"candidate {setup.rank} of {len(setup.run.candidates)}{chosen}: "
        f"{counted(candidate.bends, 'bend')} in {counted(candidate.planes, 'plane')}"
    )


def turned_round_words(setup: Setup) -> str:
    """Return that all is counted from the other end than on the sheets."""
    first, last = setup.ends
    return (
        f"From its other end: the first end is the one at {first}. The sheets count "
        f"from the end at {last}: use no mark or turn of theirs with these."
    )


def stock_sentences(setup: Setup) -> Iterator[str]:
    """Yield what to cut, from what, and what to trim."""
    candidate, tube, text = setup.candidate, setup.tube, setup.lengths.text
    trim = candidate.trim_allowance
    yield (
        f"Tube: {tube.material}, {text(tube.outer_diameter)} outside, "
        f"{text(tube.inner_diameter)} inside; bend radius "
        f"{text(candidate.centreline.radius)} to the centre line."
    )
    yield (
        f"Cut a blank of {text(candidate.blank)}: {text(candidate.finished)} of finished "
        f"tube and {text(trim)} of trim allowance at each end."
    )
    over = over_stock(candidate, tube)
    if over:
        yield (
            f"The stock of {text(tube.stock_length)} is {text(over)} too short; it "
            f"takes {stock_help(candidate, tube, text=text)}."
        )
    else:
        yield (
            f"The stock of {text(tube.stock_length)} is long enough; "
            f"{text(tube.stock_length - candidate.blank)} are left over."
        )
    yield (
        f"When all bends are done, trim at {text(trim)} and at "
        f"{text(trim + candidate.finished)} from the blank's first end."
    )


def bend_sentences(setup: Setup) -> Iterator[str]:
    """Yield what bending does to the tube, and what warmth does to it later."""
    candidate, tube, lengths = setup.candidate, setup.tube, setup.lengths
    if candidate.bends:
        yield from wall_sentences(tube, candidate.centreline.radius, lengths)
        yield from springback_words(tube, candidate.table, lengths)
    first, *_, last = candidate.centreline.vertices
    yield from growth_sentences(tube, math.dist(first, last), lengths)


def plane_table(setup: Setup, stretch: PlaneStretch) -> TextTable:
    """Return the bends of one plane, a row each."""
    first = stretch.first
    bends = setup.candidate.table.bends[first - 1 : stretch.last]
    columns = {
        "bend": [str(number) for number in range(first, stretch.last + 1)],
        f"straight\n{setup.lengths.unit}": [
            setup.lengths.number(bend.straight) for bend in bends
        ],
        "rotation\ndegrees": [rotation(bend.rotation_deg) for bend in bends],
        "angle\ndegrees": [fixed(bend.angle_deg, 1) for bend in bends],
    }
    if setup.tube.springback is not None:
        columns["hold\ndegrees"] = [
            hold_at(setup.tube, bend.angle_deg) for bend in bends
        ]
    columns["way"] = [
        "" if number == first else way_in_plane(bend, number=number)
        for number, bend in enumerate(bends, start=first)
    ]
    return TextTable(
        headings=tuple(columns),
        rows=list(zip(*columns.values(), strict=True)),
        words=frozenset({len(columns) - 1}),
        least_width=_COLUMN,
    )


def marks_table(setup: Setup) -> TextTable:
    """Return the marks along the blank, a row a bend; the heat's of tube bent hot."""
    unit, marks = setup.lengths.unit, setup.marks
    columns = {
        f"start\n{unit}": [mark.start for mark in marks],
        f"centre\n{unit}": [mark.centre for mark in marks],
        f"end\n{unit}": [mark.end for mark in marks],
    }
    if setup.tube.is_bent_hot:
        columns[f"heat from\n{unit}"] = [mark.heated_from for mark in marks]
        columns[f"heat to\n{unit}"] = [mark.heated_to for mark in marks]
    return TextTable(
        headings=("bend", *columns),
        rows=[
            (str(number), *map(setup.lengths.number, places))
            for number, places in enumerate(
                zip(*columns.values(), strict=True), start=1
            )
        ],
        least_width=_COLUMN,
    )


def clockwise_words(ends: tuple[str, str]) -> str:
    """Return from where a turn is seen; `ends` are the ports of first and last end."""
    return (
        f"Clockwise is as seen from the first end ({ends[0]}), "
        f"looking along the tube towards {ends[1]}."
    )


def bender_words(ends: tuple[str, str]) -> str:
    """Return which end of a tube lies in a bender's clip, and which mark at its zero.

    Common practice, no source.

    Parameters
    ----------
    ends : two str
        The ports of the tube's first and last end.
    """
    first, last = ends
    return (
        f"In the bender: the clip holds the tube on the side of its first end ({first}), "
        "the start mark meets the bender's zero, and the bend runs on towards "
        f"{last}. Where the clip holds the other side, the end mark meets the zero. "
        "Benders differ: what the maker of yours says goes first."
    )


def caution_words(material: Material) -> str:
    """Return what can hurt, and where to read on."""
    read_on = "and the tube maker's data first. README.md says more."
    if material == "copper":
        return (
            "Cut copper has sharp edges, and where it was heated it stays hot for long: "
            f"gloves, {read_on}"
        )
    plastic = {"acrylic": "acrylic", "petg": "PETG"}[material]
    return (
        f"Hot tube and hot air burn, and overheated {plastic} gives off harmful fumes: "
        f"gloves, fresh air, {read_on}"
    )
