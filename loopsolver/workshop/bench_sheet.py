"""The bench sheet of one run: picture, figures, bend table, steps, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from loopsolver.drafting.blocks import (
    BODY,
    TITLE,
    Block,
    Column,
    beside,
    boxed,
    drawing_block,
    flowed,
    headed,
    heading,
    indented,
    kept_whole,
    paragraph,
    space,
    stacked,
    table,
    titled,
)
from loopsolver.drafting.drawing import Drawing, Face, Text
from loopsolver.drafting.lettering import cut_to_width, text_width
from loopsolver.plan import Plan, PlannedRun
from loopsolver.report.angles import degree_sign
from loopsolver.report.bench import bench_words
from loopsolver.report.bent_tube import bench_sentences, hold_at
from loopsolver.report.fit import bench_fit_words
from loopsolver.workshop.bench_figures import (
    figure_column,
    job_marks,
    plane_of,
    unit_words,
)
from loopsolver.workshop.case_picture import case_picture
from loopsolver.workshop.cautions import cautions, cutting_cautions
from loopsolver.workshop.job import Job, job_of
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.port_check import check_words, held_words, port_check
from loopsolver.workshop.rendered_picture import Rendering, rendered_picture
from loopsolver.workshop.steps import Step, work_steps

_FIGURES: Final = 66.0  # width of the column of figures [mm]
_GAP: Final = 5.0  # between the picture and it [mm]
_PICTURES: Final = (84.0, 64.0)
"""Heights of the picture [mm]: the lower one where it saves a page."""

_NUMBER: Final = 8.0  # width of the column of the steps' numbers [mm]
_STEP: Final = 2.4  # height of the steps' capitals [mm]
_CHECKED: Final = 3.2  # height of the capitals of distances to check [mm]
_VALUE: Final = 28.0  # width of their column [mm]
_SMALL: Final = 2.0  # the least that is used anywhere [mm]


def bench_sheet(
    plan: Plan,
    run: PlannedRun,
    *,
    width: float,
    height: float,
    rendering: Rendering | None = None,
) -> tuple[Drawing, ...]:
    """Return the bench sheet of a run's chosen candidate, a drawing a page.

    Parameters
    ----------
    plan : Plan
    run : PlannedRun
        One of the plan's.
    width, height : float
        What a page has room for; every drawing is that large, from (0, 0) [mm].
    rendering : Rendering, optional
        Of the run in its case, in place of the drawn view.

    Raises
    ------
    PlanError
        If no candidate of the run is chosen.
    """
    job = job_of(plan, run)
    title = _title(plan, run, width=width)
    bends = [
        *_bend_table(job, width=width),
        *_chance(plan, run, width=width),
        *_doubts(plan, job, run, width=width),
    ]
    care = _cautions(job, width=width)
    steps = [
        heading("Steps, in the order of the work", width=width),
        *(_step(n, step, width=width) for n, step in enumerate(work_steps(job), 1)),
    ]
    # Care before the work and the steps in one piece, if that takes no page more.
    orders = (
        [title, top, space(2.0), *bends, *rest]
        for top in _tops(plan, run, job, width=width, rendering=rendering)
        for rest in (
            [care, space(5.0), *kept_whole(steps, height=height)],
            [care, space(5.0), *steps],
            [*steps, space(2.0), care],
        )
    )
    sheets = (flowed(order, width=width, height=height) for order in orders)
    return min(sheets, key=len)


def _tops(
    plan: Plan,
    run: PlannedRun,
    job: Job,
    *,
    width: float,
    rendering: Rendering | None,
) -> Iterator[Block]:
    """Yield the upper part of the sheet, with a large picture of the run and smaller."""
    wide = width - _FIGURES - _GAP
    check = _port_check(plan, run, job, width=wide)
    candidate = run.candidate(run.chosen or 1)
    figures = stacked(list(figure_column(job, candidate, width=_FIGURES)))
    line, tags = job.centreline, (job.first.port, job.last.port)
    for high in _PICTURES:
        view = (
            case_picture(plan.scene, line, tags=tags, width=wide, height=high)
            if rendering is None
            else rendered_picture(
                rendering,
                line,
                radius=job.tube.radius,
                tags=tags,
                axis_names=plan.scene.axis_names,
                width=wide,
                height=high,
            )
        )
        picture = drawing_block(view, below=4.0)
        yield beside(stacked([check, picture]), figures, at=wide + _GAP)


def _title(plan: Plan, run: PlannedRun, *, width: float) -> Block:
    """Return the run's name over what it joins and the scene's title."""
    number = plan.runs.index(run) + 1
    counter = f"run {number} of {len(plan.runs)}"
    room = width - text_width(counter, BODY) - 6.0
    name = cut_to_width(run.name, width=room, size=TITLE, face=Face.STRONG)
    rank = f"candidate {run.chosen} of {len(run.candidates)}"
    joins = f"{run.from_port} to {run.to_port}, {rank}"
    says = cut_to_width(f"{joins}; {plan.scene.title}", width=width, size=BODY)
    return titled(
        [name], says, width=width, layer=Layers.TURN, below=11.0, aside=counter
    )


def _port_check(plan: Plan, run: PlannedRun, job: Job, *, width: float) -> Block:
    """Return the two distances to hold a rule to before anything is cut or heated."""
    check = port_check(plan, run)
    inside = width - 4.8
    lines = [
        paragraph(
            "Before you cut: do the ports lie where the plan has them?",
            width=inside,
            size=_STEP,
            face=Face.STRONG,
            below=0.8,
        )
    ]
    for held in check.held:
        value = Text(
            position=(0.0, -_CHECKED),
            text=job.length(held.length),
            size=_CHECKED,
            face=Face.STRONG,
        )
        words = headed(
            *held_words(held, check), width=inside - _VALUE, size=_SMALL, below=1.6
        )
        shown = Block(entities=(value,), height=1.4 * _CHECKED)
        lines.append(beside(shown, words, at=_VALUE))
    lines += [
        paragraph(words, width=inside, size=_SMALL, below=1.0)
        for words in check_words(check, job)
    ]
    return stacked([boxed(stacked(lines), width=width, inset=1.8), space(2.0)])


def _bend_table(job: Job, *, width: float) -> Iterator[Block]:
    """Yield the bend table with the marks along the blank."""
    if not job.table.bends:
        return
    yield heading(
        "Bend table, and marks from the first end of the blank, in "
        f"{unit_words(job.lengths)}",
        width=width,
    )
    columns = _columns(job)
    yield from table(columns, list(_rows(job, len(columns))), width=width)
    yield space(1.4)
    first, *_, last = job.centreline.vertices
    said = (
        "Straight: tube before the bend, trim allowance not counted. Rotation: against "
        "the plane of the bend before, clockwise is above zero, seen along the tube "
        "from the first end.",
        *bench_sentences(job.tube, job.table, math.dist(first, last), job.lengths),
    )
    yield paragraph(" ".join(said), width=width, size=_SMALL, below=4.5)


def _chance(plan: Plan, run: PlannedRun, *, width: float) -> Iterator[Block]:
    """Yield how likely the tube goes in, and what decides that most."""
    words = " ".join(bench_fit_words(plan, run, run.chosen or 1))
    if words:
        yield paragraph(words, width=width, size=_STEP, below=4.5)


def _doubts(plan: Plan, job: Job, run: PlannedRun, *, width: float) -> Iterator[Block]:
    """Yield what is doubtful about bending the tube, under a heading; else nothing.

    What is doubtful about a straight tube stands beside its figures.
    """
    candidate = run.candidate(run.chosen or 1)
    told = bench_words(plan.scene, run, candidate, text=job.length)
    if not told or not job.table.bends:
        return
    yield heading("Doubtful at the bench", width=width)
    for one in told:
        said = f"{one.sentence[0].upper()}{one.sentence[1:]}."
        yield paragraph(said, width=width, size=_STEP)
    yield space(2.0)


def _columns(job: Job) -> list[Column]:
    """Return the columns of the bend table; those of the heat for what is heated."""
    columns = [
        Column(heading="bend", share=1.0, anchor="middle", face=Face.STRONG),
        Column(heading="plane", share=1.1, anchor="middle"),
        Column(heading="straight", share=1.6),
        Column(heading="rotation", share=1.6),
        Column(heading="angle", share=1.4, face=Face.STRONG),
        *_hold_column(job),
        Column(heading="start", share=1.5),
        Column(heading="centre", share=1.5, face=Face.STRONG),
        Column(heading="end", share=1.5),
    ]
    if job.tube.is_bent_hot:
        columns.append(Column(heading="heat from", share=1.8))
        columns.append(Column(heading="heat to", share=1.5))
    return columns


def _hold_column(job: Job) -> list[Column]:
    """Return the column of what a bend is held at, if test bends tell it."""
    if job.tube.springback is None:
        return []
    return [Column(heading="hold", share=1.4, face=Face.STRONG)]


def _rows(job: Job, count: int) -> Iterator[tuple[str, ...]]:
    """Yield so many cells for each bend, and for the straight that closes the tube."""
    for bend, mark in zip(job.table.bends, job_marks(job), strict=True):
        places = (mark.start, mark.centre, mark.end, mark.heated_from, mark.heated_to)
        cells = (
            str(mark.number),
            str(plane_of(job, mark.number)),
            job.bare(bend.straight),
            degree_sign(bend.rotation_deg),
            degree_sign(bend.angle_deg),
            *(f"{hold_at(job.tube, bend.angle_deg)}°" for _ in _hold_column(job)),
            *map(job.bare, places),
        )
        yield cells[:count]
    closing = job.bare(job.table.closing_straight)
    yield ("end", "", closing, *[""] * (count - 3))


def _step(number: int, step: Step, *, width: float) -> Block:
    """Return one step with its number, its lines set in."""
    room = width - _NUMBER
    head, text, *told = step
    body = headed(head, text, width=room, size=_STEP, below=1.0)
    lines = [
        indented(
            paragraph(f"\N{EN DASH} {line}", width=room - 3.0, size=_STEP, below=1.0),
            3.0,
        )
        for line in told
    ]
    label = Text(
        position=(_NUMBER - 2.6, -_STEP),
        text=str(number),
        size=_STEP,
        anchor="end",
        face=Face.STRONG,
    )
    whole = indented(stacked([body, *lines, space(1.4)]), _NUMBER)
    return Block(entities=(label, *whole.entities), height=whole.height)


def _cautions(job: Job, *, width: float) -> Block:
    """Return all cautions in one frame."""
    inside = width - 4.8
    material = job.tube.material
    said = cautions(material) if job.table.bends else cutting_cautions(material)
    head = paragraph("Take care", width=inside, size=2.9, face=Face.STRONG, below=1.6)
    told = (headed(*one, width=inside, size=2.2, below=1.4) for one in said)
    return boxed(stacked([head, *told]), width=width)
