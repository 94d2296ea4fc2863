"""The overview page: all runs, what to have ready, and the cut plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from loopsolver.cutting.cut_plan import CutPlan
from loopsolver.drafting.blocks import (
    BODY,
    Block,
    flowed,
    headed,
    heading,
    indented,
    paragraph,
    space,
    stacked,
)
from loopsolver.drafting.drawing import Drawing, Face, Line, Text
from loopsolver.drafting.lettering import broken
from loopsolver.drafting.tables import Column, table
from loopsolver.plan import Plan, PlannedRun
from loopsolver.report.lacking import NO_REASON
from loopsolver.words import counted, tallied
from loopsolver.workshop.bench_figures import INSERT_GRIP, insert_length
from loopsolver.workshop.blanks import too_long_messages
from loopsolver.workshop.cut_drawing import cut_plan_blocks
from loopsolver.workshop.job import Job, job_of
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.wording import (
    PaperUnit,
    length_words,
    material_words,
    number_words,
    paper_unit,
    size_words,
    tube_sizes,
    unit_words,
)

_TITLE: Final = 4.6  # height of the title's capitals [mm]
_SMALL: Final = 2.1  # height of a note's capitals [mm]
_INDENT: Final = 5.0  # of what would help a run that is left out [mm]
_APART: Final = 1.2  # further between two such runs than between their lines [mm]


def overview_drawing(
    plan: Plan, cuts: CutPlan, *, width: float, height: float
) -> tuple[Drawing, ...]:
    """Return the overview of a plan, a drawing a page, most often one.

    Parameters
    ----------
    plan : Plan
    cuts : CutPlan
        Of the plan's blanks.
    width, height : float
        What a page has room for; every drawing is that large, from (0, 0) [mm].
    """
    unit = paper_unit(plan.scene.units)
    jobs = tuple(job_of(plan, run) for run in plan.runs if run.chosen is not None)
    blocks = [
        _title(plan, width=width),
        *_runs(plan, unit, width=width),
        *_ready(plan, jobs, cuts, unit, width=width),
        *_cut_plan(plan, cuts, unit, width=width),
    ]
    return flowed(blocks, width=width, height=height)


def _title(plan: Plan, *, width: float) -> Block:
    """Return the scene's title."""
    lines = broken(plan.scene.title, width=width, size=_TITLE, face=Face.STRONG)[:2]
    runs = len(plan.runs)
    missing = [run for run in plan.runs if run.chosen is None]
    unrouted = sum(not run.candidates for run in missing)
    said = f"Overview: {counted(runs, 'run')}"
    if unrouted:
        said += f", {unrouted} of them without a route"
    if left_out := len(missing) - unrouted:
        said += f", {left_out} of them left out"
    down = _TITLE + 7.0 * (len(lines) - 1)
    return Block(
        entities=(
            *(
                Text(
                    position=(0.0, -_TITLE - 7.0 * index),
                    text=line,
                    size=_TITLE,
                    face=Face.STRONG,
                )
                for index, line in enumerate(lines)
            ),
            Text(position=(0.0, -down - 5.2), text=said, size=BODY),
            Line(start=(0.0, -down - 8.0), end=(width, -down - 8.0), layer=Layers.TURN),
        ),
        height=down + 12.0,
    )


def _runs(plan: Plan, unit: PaperUnit, *, width: float) -> Iterator[Block]:
    """Yield the table of runs, and why those that are not in the loop are not."""
    yield heading(f"Runs, lengths in {unit_words(unit)}", width=width)
    columns = (
        Column(heading="", share=0.7, anchor="middle", face=Face.STRONG),
        Column(heading="run", share=4.2, anchor="start", face=Face.STRONG),
        Column(heading="from", share=3.0, anchor="start"),
        Column(heading="to", share=3.0, anchor="start"),
        Column(heading="bends", share=1.6),
        Column(heading="planes", share=1.8),
        Column(heading="finished", share=1.9),
        Column(heading="blank", share=1.7, face=Face.STRONG),
        Column(heading="gap", share=1.3),
    )
    yield from table(columns, [*_rows(plan, unit), _totals(plan, unit)], width=width)
    yield space(1.6)
    for number, run in enumerate(plan.runs, start=1):
        if run.chosen is None:
            yield _why(run, number=number, width=width)
    yield space(3.0)


def _why(run: PlannedRun, *, number: int, width: float) -> Block:
    """Return why a run is not in the loop, each thing that would help on its own line."""
    why, *helps = (run.why or NO_REASON).splitlines()
    verdict = "Left out" if run.candidates else "No route"
    return stacked(
        [
            headed(f"{number} {run.name}", f"{verdict}: {why}", width=width),
            *(
                indented(paragraph(words, width=width - _INDENT), _INDENT)
                for words in helps
            ),
            space(_APART),
        ]
    )


def _rows(plan: Plan, unit: PaperUnit) -> Iterator[tuple[str, ...]]:
    """Yield a row a run; one that is not in the loop has a dash in place of its figures."""
    for number, run in enumerate(plan.runs, start=1):
        ends = (str(number), run.name, run.from_port, run.to_port)
        candidate = run.chosen_candidate
        if candidate is None:
            yield (*ends, *["-"] * 5)
            continue
        lengths = (candidate.length, candidate.blank, candidate.gap.distance)
        yield (
            *ends,
            str(candidate.bends),
            str(candidate.planes),
            *(number_words(length, unit) for length in lengths),
        )


def _totals(plan: Plan, unit: PaperUnit) -> tuple[str, ...]:
    """Return the sums of bends, finished lengths and blanks."""
    chosen = [one for run in plan.runs if (one := run.chosen_candidate) is not None]
    return (
        "",
        "all",
        "",
        "",
        str(sum(one.bends for one in chosen)),
        "",
        number_words(sum(one.length for one in chosen), unit),
        number_words(sum(one.blank for one in chosen), unit),
        "",
    )


def _ready(
    plan: Plan, jobs: tuple[Job, ...], cuts: CutPlan, unit: PaperUnit, *, width: float
) -> Iterator[Block]:
    """Yield what to buy and to lay out before the work begins."""
    yield heading("To have ready", width=width)
    for head, text in _needs(plan, jobs, cuts, unit):
        yield headed(head, text, width=width, below=0.8)
    yield space(3.0)


def _needs(
    plan: Plan, jobs: tuple[Job, ...], cuts: CutPlan, unit: PaperUnit
) -> Iterator[tuple[str, str]]:
    """Yield what is needed: a head, and how much of it."""
    yield "Stock", _stock_words(plan, cuts, unit)
    if not jobs:
        return
    fittings, elbows = _fittings(jobs)
    yield "Fittings", tallied(fittings) if fittings else "none"
    yield "Elbows", tallied(elbows) if elbows else "none"
    yield "Ports to plug", _plug_words(plan, jobs)
    bent = [job for job in jobs if job.table.bends]
    radii = sorted({job.table.radius for job in bent})
    if radii:
        words = ", ".join(size_words(radius, unit) for radius in radii)
        yield "Former", f"centre-line radius {words}"
    longest = max(insert_length(job) for job in jobs)
    if longest > 0.0:
        bore = size_words(jobs[0].tube.inner_diameter, unit)
        yield (
            "Insert",
            f"for a bore of {bore}, at least {length_words(longest, unit)} long: from "
            "the nearer end under every length that is heated, and "
            f"{length_words(INSERT_GRIP, unit)} to draw it by (common practice, no "
            "source)",
        )


def _stock_words(plan: Plan, cuts: CutPlan, unit: PaperUnit) -> str:
    """Return how many stock tubes to buy, of what, and how sure the number is."""
    tube = plan.scene.tube
    spares = sum(cut.piece.spare > 0 for one in cuts.tubes for cut in one.cuts)
    count = len(cuts.tubes)
    words = (
        f"{counted(count, 'tube')} of {length_words(cuts.stock_length, unit)}, "
        f"{material_words(tube.material)}, {tube_sizes(tube, unit)}"
    )
    if spares:
        words += f", {counted(spares, 'spare blank')} included"
    if count:
        sure = (
            "fewer will not do"
            if cuts.is_least
            else f"at least {cuts.bound} are needed; whether fewer than {count} do is open"
        )
        words += f" ({sure})"
    return words + "".join(_longer_stock(cuts, unit))


def _longer_stock(cuts: CutPlan, unit: PaperUnit) -> Iterator[str]:
    """Yield, for each run whose blank no stock tube holds, what has to be bought."""
    wanted = Counter(piece.number for piece in cuts.too_long)
    by_number = {piece.number: piece for piece in cuts.too_long}
    for number, count in wanted.items():
        piece = by_number[number]
        yield (
            f"; and {count} longer, of {length_words(piece.length, unit)} or more, "
            f"for run {number}, {piece.run}"
        )


def _fittings(jobs: tuple[Job, ...]) -> tuple[Counter[str], Counter[str]]:
    """Return how many of each fitting and of each elbow all tube ends need."""
    fittings: Counter[str] = Counter()
    elbows: Counter[str] = Counter()
    for job in jobs:
        for end in (job.first, job.last):
            if end.fitting is not None:
                kind = elbows if end.fitting.turn_deg else fittings
                kind[end.fitting.name] += 1
    return fittings, elbows


def _plug_words(plan: Plan, jobs: tuple[Job, ...]) -> str:
    """Return which ports no run uses, and which wait for a run that has no tube yet."""
    used = {end.port for job in jobs for end in (job.first, job.last)}
    runs = (run for run in plan.runs if run.chosen is None)
    waiting = {port for run in runs for port in (run.from_port, run.to_port)} - used
    ports = [port.name for part in plan.scene.components for port in part.ports]
    idle = [name for name in ports if name not in used | waiting]
    words = f"{len(idle)}: {', '.join(idle)}" if idle else "none"
    if waiting:
        kept = ", ".join(name for name in ports if name in waiting)
        words += f"; and until they have a tube: {kept}"
    return words


def _cut_plan(
    plan: Plan, cuts: CutPlan, unit: PaperUnit, *, width: float
) -> Iterator[Block]:
    """Yield the pictures of the stock tubes, and what no tube can hold."""
    if not cuts.tubes and not cuts.too_long:
        return
    yield heading("Cut plan", width=width)
    for message in too_long_messages(plan, cuts, unit):
        yield headed("Too long", message, width=width, below=2.0)
    if not cuts.tubes:
        return
    saw = length_words(cuts.kerf, unit)
    yield paragraph(
        f"Cut blanks from left to right. Each cut takes {saw}, drawn black; check your "
        "own saw's. Keep leftovers for test bends.",
        width=width,
        size=_SMALL,
        below=3.0,
    )
    yield from cut_plan_blocks(cuts, width=width, unit=unit)
