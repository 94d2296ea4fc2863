"""The figures of one tube that its bench sheet prints, and the words for heat."""

from __future__ import annotations

from typing import Final

from loopsolver.report.turns import turn_on_sheet
from loopsolver.tube.bench_doubts import BenchDoubt, bench_doubts
from loopsolver.tube.marks import BendMark, bend_marks, blank_length
from loopsolver.tube.planes import plane_stretches
from loopsolver.tube.stock import MATERIAL_FACTS, Material
from loopsolver.workshop.job import Job

INSERT_GRIP: Final = 50.0
"""What stands out of the tube to draw the insert by [mm]. Common practice, no source."""


def job_marks(job: Job) -> tuple[BendMark, ...]:
    """Return the marks of every bend along the job's blank."""
    return bend_marks(
        job.table,
        trim_allowance=job.trim_allowance,
        outer_diameter=job.tube.outer_diameter,
    )


def job_doubts(job: Job) -> tuple[BenchDoubt, ...]:
    """Return what is doubtful about bending the job's tube."""
    first, last = (
        0.0 if end.fitting is None else end.fitting.depth
        for end in (job.first, job.last)
    )
    return bench_doubts(
        job.table,
        tube=job.tube,
        trim_allowance=job.trim_allowance,
        depths=(first, last),
    )


def insert_length(job: Job) -> float:
    """Return the least length of the insert [mm]; 0 for a tube that is not heated.

    From the nearer end of the blank it reaches under every length that is heated: all
    that is soft at a time lies over it. It stands out by `INSERT_GRIP`, to be drawn out
    by hand. Common practice, no source.
    """
    whole = blank_length(job.table, trim_allowance=job.trim_allowance)
    reaches = [
        min(mark.heated_to, whole - mark.heated_from) for mark in heated_marks(job)
    ]
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
