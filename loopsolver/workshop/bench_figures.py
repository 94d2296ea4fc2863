"""The figures of one tube that its bench sheet prints, and how sheets word them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from loopsolver.drafting.blocks import Block, paragraph, rule
from loopsolver.drafting.drawing import Face, Text, moved
from loopsolver.lengths import Lengths
from loopsolver.report.bench import NO_BEND
from loopsolver.report.stock import over_stock_words
from loopsolver.report.turns import turn_on_sheet
from loopsolver.routing.problem import Candidate
from loopsolver.tube.bench_doubts import BenchDoubt, bench_doubts
from loopsolver.tube.marks import BendMark, bend_marks
from loopsolver.tube.planes import plane_stretches
from loopsolver.tube.stock import MATERIAL_FACTS, Material, Tube
from loopsolver.words import counted
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers

INSERT_GRIP: Final = 50.0
"""What stands out of the tube to draw the insert by [mm]. Common practice, no source."""


_SMALL: Final = 2.0  # height of the names' capitals [mm]


def job_marks(job: Job) -> tuple[BendMark, ...]:
    """Return the marks of every bend along the job's blank."""
    return bend_marks(
        job.table,
        trim_allowance=job.trim_allowance,
        outer_diameter=job.tube.outer_diameter,
        take_up=job.tube.take_up,
    )


def job_doubts(job: Job) -> tuple[BenchDoubt, ...]:
    """Return what is doubtful about bending the job's tube."""
    return bench_doubts(
        job.table,
        tube=job.tube,
        trim_allowance=job.trim_allowance,
        depths=(job.first.depth, job.last.depth),
    )


def insert_length(job: Job) -> float:
    """Return the least length of the insert [mm]; 0 for a tube that is not heated.

    From the nearer end of the blank it reaches under every length that is heated: all
    that is soft at a time lies over it. It stands out by `INSERT_GRIP`, to be drawn out
    by hand. Common practice, no source.
    """
    marks = heated_marks(job)
    reaches = [min(mark.heated_to, job.blank - mark.heated_from) for mark in marks]
    return max(reaches) + INSERT_GRIP if reaches else 0.0


def heat_words(job: Job) -> str:
    """Return the material's usual heat range, or that it is bent cold."""
    facts = MATERIAL_FACTS[job.tube.material]
    if facts.forming_c is None:
        return "none, bent cold"
    low, high = facts.forming_c
    return (
        f"{low:.0f} to {high:.0f} °C ({fahrenheit(low):.0f} to "
        f"{fahrenheit(high):.0f} °F)"
    )


def has_turns(job: Job) -> bool:
    """Return whether any bend points another way than the one before it."""
    return any(
        turn_on_sheet(bend, number=number)
        for number, bend in enumerate(job.table.bends[1:], start=2)
    )


def plane_of(job: Job, number: int) -> int:
    """Return the number of the plane that a bend lies in, counted from 1."""
    stretches = plane_stretches(job.table)
    return next(n for n, one in enumerate(stretches, 1) if one.last >= number)


def heated_marks(job: Job) -> tuple[BendMark, ...]:
    """Return the marks of the bends that are made hot."""
    return job_marks(job) if job.tube.is_bent_hot else ()


def stop_words(material: Material) -> str:
    """Return the temperature to stay below, in both scales; '' where none is known.

    Fahrenheit to the nearest five, as round as its source gives it.
    """
    stop = MATERIAL_FACTS[material].stop_c
    if stop is None:
        return ""
    return f"{stop:.0f} °C ({5 * round(fahrenheit(stop) / 5.0)} °F)"


def fahrenheit(celsius: float) -> float:
    """Return a temperature in degrees Fahrenheit."""
    return celsius * 9.0 / 5.0 + 32.0


def tube_sizes(tube: Tube, lengths: Lengths) -> str:
    """Return outer and inner diameter, the unit said once: ``14.0 / 10.0 mm``."""
    outer = lengths.size(tube.outer_diameter).partition(" ")[0]
    return f"{outer} / {lengths.size(tube.inner_diameter)}"


def unit_words(lengths: Lengths) -> str:
    """Return the unit in full, for the heading of a table."""
    return "inches" if lengths.unit == "in" else "millimetres"


def material_words(material: Material) -> str:
    """Return a material's name as it is written in a sentence."""
    return "PETG" if material == "petg" else material


def figure_column(job: Job, candidate: Candidate, *, width: float) -> Iterator[Block]:
    """Yield the figures that are looked up most, each over its own line."""
    yield _large("Cut the blank", job.length(job.blank), width=width)
    over = over_stock_words(candidate, job.tube, text=job.length)
    if over:
        yield _entry("Too long", over, width=width)
    yield _large("Finished length", job.length(job.finished), width=width)
    trim = job.length(job.trim_allowance) if job.trim_allowance else "nothing"
    yield _entry("Cut off each end", trim, width=width)
    tube = f"{material_words(job.tube.material)}, {tube_sizes(job.tube, job.lengths)}"
    yield _entry("Tube", tube, width=width)
    bends, planes = len(job.table.bends), len(plane_stretches(job.table))
    said = f"{bends} in {counted(planes, 'plane')}" if bends else "none"
    yield _entry("Bends", said, width=width)
    if not bends:
        yield _entry("Doubtful", NO_BEND.sentence, width=width)
    else:
        radius = f"{job.size(job.table.radius)} to the centre line"
        yield _entry("Bend radius", radius, width=width)
        if job.tube.is_bent_hot:
            yield _entry(
                "Insert",
                f"at least {job.length(insert_length(job))} long, "
                f"{job.length(INSERT_GRIP)} of it to draw it by (common practice, no "
                "source)",
                width=width,
            )
        facts, source = MATERIAL_FACTS[job.tube.material], "common practice, no source"
        if facts.forming_c is not None:
            forming = facts.heat_source.partition(";")[0]
            source = f"{forming}; for tube {source}"
        yield _entry("Heat", f"{heat_words(job)} ({source})", width=width)
    gap = f"{job.length(candidate.gap.distance)} to {candidate.gap.name}"
    yield _entry("Least gap", gap, width=width)


def _large(name: str, value: str, *, width: float) -> Block:
    """Return a figure that must be read first."""
    size = 4.2
    return Block(
        entities=(
            Text(position=(0.0, -_SMALL), text=name, size=_SMALL),
            Text(
                position=(0.0, -_SMALL - 6.4), text=value, size=size, face=Face.STRONG
            ),
            rule(_SMALL + 8.6, width, Layers.GRID_STRONG),
        ),
        height=_SMALL + 11.0,
    )


def _entry(name: str, value: str, *, width: float) -> Block:
    """Return a figure under its name, over as many lines as it needs."""
    text = paragraph(value, width=width, below=0.0)
    label = Text(position=(0.0, -_SMALL), text=name, size=_SMALL, grey=0.25)
    down = _SMALL + 1.6
    under = down + text.height + 0.8
    return Block(
        entities=(
            label,
            *moved(text.entities, (0.0, -down)),
            rule(under, width, Layers.GRID_STRONG),
        ),
        height=under + 2.0,
    )
