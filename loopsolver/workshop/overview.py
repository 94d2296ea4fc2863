"""The overview page: all runs, what to have ready, and the cut plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from loopsolver.cutting.cut_plan import CutPlan
from loopsolver.drafting.blocks import (
    TITLE,
    Block,
    Column,
    flowed,
    headed,
    heading,
    indented,
    paragraph,
    space,
    stacked,
    table,
    titled,
)
from loopsolver.drafting.drawing import Drawing, Face
from loopsolver.drafting.lettering import broken
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import Plan, PlannedRun
from loopsolver.report.lacking import NO_REASON
from loopsolver.words import counted, tallied
from loopsolver.workshop.bench_figures import (
    INSERT_GRIP,
    insert_length,
    material_words,
    tube_sizes,
    unit_words,
)
from loopsolver.workshop.blanks import blanks, too_long_messages
from loopsolver.workshop.cut_drawing import cut_plan_blocks
from loopsolver.workshop.job import Job, job_of
from loopsolver.workshop.layers import Layers

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
    lengths = lengths_for(plan.scene.units)
    jobs = tuple(job_of(plan, run) for run in plan.runs if run.chosen is not None)
    blocks = [
        _title(plan, width=width),
        *_runs(plan, lengths, width=width),
        heading("To have ready", width=width),
        *(
            headed(head, text, width=width, below=0.8)
            for head, text in _needs(plan, jobs, cuts, lengths)
        ),
        space(3.0),
        *_cut_plan(plan, cuts, lengths, width=width),
    ]
    return flowed(blocks, width=width, height=height)


def _title(plan: Plan, *, width: float) -> Block:
    """Return the scene's title."""
    lines = broken(plan.scene.title, width=width, size=TITLE, face=Face.STRONG)[:2]
    runs = len(plan.runs)
    missing = [run for run in plan.runs if run.chosen is None]
    unrouted = sum(not run.candidates for run in missing)
    said = f"Overview: {counted(runs, 'run')}"
    if unrouted:
        said += f", {unrouted} of them without a route"
    if left_out := len(missing) - unrouted:
        said += f", {left_out} of them left out"
    return titled(lines, said, width=width, layer=Layers.TURN, below=12.0)


def _runs(plan: Plan, lengths: Lengths, *, width: float) -> Iterator[Block]:
    """Yield the table of runs, and why those that are not in the loop are not."""
    yield heading(f"Runs, lengths in {unit_words(lengths)}", width=width)
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
    yield from table(
        columns, [*_rows(plan, lengths), _totals(plan, lengths)], width=width
    )
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


def _rows(plan: Plan, lengths: Lengths) -> Iterator[tuple[str, ...]]:
    """Yield a row a run; one that is not in the loop has dashes in place of figures.

    One that is built needs no blank.
    """
    for number, run in enumerate(plan.runs, start=1):
        ends = (str(number), run.name, run.from_port, run.to_port)
        tube = run.tube_in_place
        if tube is None:
            yield (*ends, *["-"] * 5)
            continue
        blank = lengths.number(tube.blank) if run.built is None else "built"
        yield (
            *ends,
            str(tube.bends),
            str(tube.planes),
            lengths.number(tube.finished),
            blank,
            lengths.number(tube.gap.distance),
        )


def _totals(plan: Plan, lengths: Lengths) -> tuple[str, ...]:
    """Return the sums of bends, finished lengths and blanks that are still needed."""
    chosen = [one for run in plan.runs if (one := run.tube_in_place) is not None]
    return (
        "",
        "all",
        "",
        "",
        str(sum(one.bends for one in chosen)),
        "",
        lengths.number(sum(one.finished for one in chosen)),
        lengths.number(sum(one.length for one in blanks(plan))),
        "",
    )


def _needs(
    plan: Plan, jobs: tuple[Job, ...], cuts: CutPlan, lengths: Lengths
) -> Iterator[tuple[str, str]]:
    """Yield what to buy and to lay out before the work: a head, and how much of it."""
    yield "Stock", _stock_words(plan, cuts, lengths)
    if not jobs:
        return
    held = [end.fitting for job in jobs for end in (job.first, job.last) if end.fitting]
    fittings = Counter(one.name for one in held if not one.turn_deg)
    elbows = Counter(one.name for one in held if one.turn_deg)
    yield "Fittings", tallied(fittings) if fittings else "none"
    yield "Elbows", tallied(elbows) if elbows else "none"
    yield "Ports to plug", _plug_words(plan, jobs)
    bent = [job for job in jobs if job.table.bends]
    radii = sorted({job.table.radius for job in bent})
    if radii:
        words = ", ".join(lengths.size(radius) for radius in radii)
        yield "Former", f"centre-line radius {words}"
    longest = max(insert_length(job) for job in jobs)
    if longest > 0.0:
        bore = lengths.size(jobs[0].tube.inner_diameter)
        yield (
            "Insert",
            f"for a bore of {bore}, at least {lengths.plain(longest)} long: from "
            "the nearer end under every length that is heated, and "
            f"{lengths.plain(INSERT_GRIP)} to draw it by (common practice, no "
            "source)",
        )


def _stock_words(plan: Plan, cuts: CutPlan, lengths: Lengths) -> str:
    """Return how many stock tubes to buy, of what, and how sure the number is."""
    tube = plan.scene.tube
    spares = sum(cut.piece.spare > 0 for one in cuts.tubes for cut in one.cuts)
    count = len(cuts.tubes)
    words = (
        f"{counted(count, 'tube')} of {lengths.plain(cuts.stock_length)}, "
        f"{material_words(tube.material)}, {tube_sizes(tube, lengths)}"
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
    return words + "".join(_longer_stock(cuts, lengths))


def _longer_stock(cuts: CutPlan, lengths: Lengths) -> Iterator[str]:
    """Yield, for each run whose blank no stock tube holds, what has to be bought."""
    wanted = Counter((one.number, one.run, one.length) for one in cuts.too_long)
    for (number, run, length), count in wanted.items():
        yield (
            f"; and {count} longer, of {lengths.plain(length)} or more, "
            f"for run {number}, {run}"
        )


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
    plan: Plan, cuts: CutPlan, lengths: Lengths, *, width: float
) -> Iterator[Block]:
    """Yield the pictures of the stock tubes, and what no tube can hold."""
    if not cuts.tubes and not cuts.too_long:
        return
    yield heading("Cut plan", width=width)
    for message in too_long_messages(plan, cuts):
        yield headed("Too long", message, width=width, below=2.0)
    if not cuts.tubes:
        return
    saw = lengths.plain(cuts.kerf)
    yield paragraph(
        f"Cut blanks from left to right. Each cut takes {saw}, drawn black; check your "
        "own saw's. Keep leftovers for test bends.",
        width=width,
        size=_SMALL,
        below=3.0,
    )
    yield from cut_plan_blocks(cuts, width=width, lengths=lengths)
