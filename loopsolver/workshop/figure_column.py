"""The column of figures on a bench sheet: those of a run that are looked up most."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from loopsolver.drafting.blocks import BODY, Block, paragraph, space, stacked
from loopsolver.drafting.drawing import Face, Line, Text
from loopsolver.report.stock import over_stock_words
from loopsolver.routing.problem import Candidate
from loopsolver.tube.marks import blank_length
from loopsolver.tube.planes import plane_stretches
from loopsolver.tube.stock import MATERIAL_FACTS
from loopsolver.words import counted
from loopsolver.workshop.bench_figures import INSERT_GRIP, heat_words, insert_length
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.wording import material_words, tube_sizes

_SMALL: Final = 2.0  # height of the names' capitals [mm]


def figure_column(job: Job, candidate: Candidate, *, width: float) -> Iterator[Block]:
    """Yield the figures that are looked up most, each over its own line."""
    blank = blank_length(job.table, trim_allowance=job.trim_allowance)
    yield _large("Cut the blank", job.length(blank), width=width)
    over = over_stock_words(candidate, job.tube, text=job.length)
    if over:
        yield _entry("Too long", over, width=width)
    yield _large("Finished length", job.length(job.table.length), width=width)
    trim = job.length(job.trim_allowance) if job.trim_allowance else "nothing"
    yield _entry("Cut off each end", trim, width=width)
    tube = f"{material_words(job.tube.material)}, {tube_sizes(job.tube, job.unit)}"
    yield _entry("Tube", tube, width=width)
    yield _entry("Bends", _bends_words(job), width=width)
    if job.table.bends:
        radius = f"{job.size(job.table.radius)} to the centre line"
        yield _entry("Bend radius", radius, width=width)
        yield from _insert_and_heat(job, width=width)
    gap = f"{job.length(candidate.gap.distance)} to {candidate.gap.name}"
    yield _entry("Least gap", gap, width=width)


def _bends_words(job: Job) -> str:
    """Return how many bends there are, in how many planes."""
    bends, planes = len(job.table.bends), len(plane_stretches(job.table))
    return f"{bends} in {counted(planes, 'plane')}" if bends else "none"


def _insert_and_heat(job: Job, *, width: float) -> Iterator[Block]:
    """Yield insert length and heat range; for copper, that it is bent cold."""
    if job.tube.is_bent_hot:
        yield _entry(
            "Insert",
            f"at least {job.length(insert_length(job))} long, "
            f"{job.length(INSERT_GRIP)} of it to draw it by (common practice, no source)",
            width=width,
        )
    yield _entry("Heat", f"{heat_words(job)} ({_heat_source(job)})", width=width)


def _heat_source(job: Job) -> str:
    """Return where the heat range comes from."""
    facts = MATERIAL_FACTS[job.tube.material]
    if facts.forming_c is None:
        return "common practice, no source"
    forming = facts.source.partition(";")[0].removeprefix("forming: ")
    return f"{forming}; for tube common practice, no source"


def _large(name: str, value: str, *, width: float) -> Block:
    """Return a figure that must be read first."""
    size = 4.2
    return Block(
        entities=(
            Text(position=(0.0, -_SMALL), text=name, size=_SMALL),
            Text(
                position=(0.0, -_SMALL - 6.4), text=value, size=size, face=Face.STRONG
            ),
            _rule(_SMALL + 8.6, width),
        ),
        height=_SMALL + 11.0,
    )


def _entry(name: str, value: str, *, width: float) -> Block:
    """Return a figure under its name, over as many lines as it needs."""
    text = paragraph(value, width=width, size=BODY, face=Face.REGULAR, below=0.0)
    label = Text(position=(0.0, -_SMALL), text=name, size=_SMALL, grey=0.25)
    down = _SMALL + 1.6
    under = down + text.height + 0.8
    return Block(
        entities=(
            label,
            *stacked([space(down), text]).entities,
            _rule(under, width),
        ),
        height=under + 2.0,
    )


def _rule(down: float, width: float) -> Line:
    return Line(start=(0.0, -down), end=(width, -down), layer=Layers.GRID_STRONG)
