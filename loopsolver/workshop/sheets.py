"""All sheets of a plan: which files there are, what they are called, what they hold."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from loopsolver.cutting.cut_plan import CutPlan, cut_plan_csv
from loopsolver.drafting.drawing import Drawing, Viewport
from loopsolver.drafting.extracts import pages_of_extracts, whole_drawing
from loopsolver.drafting.paging import PAPERS, Foot, Leaf, Paper, bound, room
from loopsolver.drafting.writers.dxf import dxf_document
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.drafting.writers.svg import svg_document
from loopsolver.lengths import lengths_for
from loopsolver.plan import Plan, PlannedRun
from loopsolver.workshop.bench_figures import has_turns
from loopsolver.workshop.bench_sheet import bench_sheet
from loopsolver.workshop.flat import FlatPlane, flat_planes
from loopsolver.workshop.job import Job, job_of
from loopsolver.workshop.layers import LISTED
from loopsolver.workshop.overview import overview_drawing
from loopsolver.workshop.proof_pages import proof_leaves
from loopsolver.workshop.rendered_picture import Rendering
from loopsolver.workshop.strip_parts import strip_extracts
from loopsolver.workshop.template import standalone, template, template_leaves
from loopsolver.workshop.turn_card import turn_card
from loopsolver.workshop.wrap import wrap_strip

Seen = Callable[[FlatPlane], FlatPlane]
"""From which side a plane is shown: `as_bent` or `flat.mirrored`."""

OVERVIEW: Final = "overview"
CUT_PLAN: Final = "cut-plan"
"""Stems of the files that are about all runs; no run's files are called so."""

_LONGEST_NAME: Final = 60
_SHEET_NAME: Final = re.compile(
    r"(.+?)(-plane-[0-9]+)?(-proof)?(-mirrored)?\.(pdf|svg|dxf)"
)
_LIKE_A_SHEET: Final = re.compile(r".*-(plane(-[0-9]+)?|proof|mirrored)")
"""Ends of names that say which sheet of a run a file is; no run's own name ends so."""

_RESERVED: Final = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFile:
    """One file for the bench; `pages` is 0 for what is not printed page by page."""

    name: str
    content: bytes
    pages: int = 0


def as_bent(plane: FlatPlane) -> FlatPlane:
    """Return a plane as it is: the side that lies up when its first bend turns left."""
    return plane


def file_stem(name: str) -> str:
    """Return a run's name as part of a file name.

    Letters and digits of any alphabet stay, everything else becomes a hyphen.

    Examples
    --------
    >>> file_stem("pump to card")
    'pump-to-card'
    >>> file_stem("../<script>")
    'script'
    >>> file_stem("pump, mirrored")
    'pump-mirrored-run'
    """
    kept = "".join(
        letter if letter.isalnum() else "-"
        for letter in unicodedata.normalize("NFC", name)
    )
    stem = re.sub("-+", "-", kept).strip("-").lower()[:_LONGEST_NAME]
    while len(stem.encode("utf-8", errors="replace")) > 2 * _LONGEST_NAME:
        stem = stem[:-1]
    stem = stem.strip("-") or "run"
    if _LIKE_A_SHEET.fullmatch(stem):
        return f"{stem}-run"
    return f"run-{stem}" if _RESERVED.fullmatch(stem) else stem


def file_stems(names: Sequence[str]) -> tuple[str, ...]:
    """Return a file name's stem for every run; equal ones are told apart by number."""
    taken = {OVERVIEW, CUT_PLAN}
    stems: list[str] = []
    for name in names:
        stem, number = file_stem(name), 2
        while stem in taken:
            stem, number = f"{file_stem(name)}-{number}", number + 1
        taken.add(stem)
        stems.append(stem)
    return tuple(stems)


def set_of(name: str) -> str:
    """Return which set a sheet's file belongs to: its run's stem, or the overview.

    Examples
    --------
    >>> set_of("pump-to-card-plane-2-mirrored.svg"), set_of("cut-plan.csv")
    ('pump-to-card', 'overview')
    """
    match = _SHEET_NAME.fullmatch(name)
    return match[1] if match else OVERVIEW


def paper_named(name: str) -> Paper:
    """Return the paper of that name on the command line: ``a4`` or ``letter``."""
    return PAPERS[name]


def plan_sha256(plan: Plan) -> str:
    """Return a hash that changes when what is to be bent changes."""
    return hashlib.sha256(plan.to_json(scene_path="").encode()).hexdigest()


def plan_words(plan: Plan) -> str:
    """Return how a page names the plan that it belongs to: its hash's beginning."""
    return f"plan {plan_sha256(plan)[:8]}"


def sheet_files(
    plan: Plan,
    runs: Sequence[PlannedRun],
    *,
    paper: Paper,
    seen: Seen = as_bent,
    renderings: Mapping[str, Rendering] = MappingProxyType({}),
) -> tuple[SheetFile, ...]:
    """Return the sheets of those runs of a plan; runs without a route have none.

    Parameters
    ----------
    renderings : mapping of run name to Rendering
        Of runs in the case; a run without one gets a drawn view.
    """
    stems = _stems(plan)
    of_plan = plan_words(plan)
    return tuple(
        file
        for run in runs
        if run.chosen_candidate is not None
        for file in run_files(
            job_of(plan, run),
            stem=stems[run.name],
            paper=paper,
            of_plan=of_plan,
            seen=seen,
            before=_bench_drawings(plan, run, paper, renderings.get(run.name)),
        )
    )


def _stems(plan: Plan) -> dict[str, str]:
    """Return the file name's stem of every run by its name."""
    names = [run.name for run in plan.runs]
    return dict(zip(names, file_stems(names), strict=True))


def proof_files(
    plan: Plan, runs: Sequence[PlannedRun], *, paper: Paper
) -> tuple[SheetFile, ...]:
    """Return for each of those runs its outline to cut in card, a document each."""
    stems = _stems(plan)
    of_plan = plan_words(plan)
    files: list[SheetFile] = []
    for run in runs:
        if run.chosen_candidate is None:
            continue
        job = job_of(plan, run)
        pages = bound(proof_leaves(job, paper=paper, belongs=of_plan))
        files.append(
            SheetFile(
                name=f"{stems[run.name]}-proof.pdf",
                content=pdf_document(pages, title=f"{job.name}: proof in card"),
                pages=len(pages),
            )
        )
    return tuple(files)


def run_files(
    job: Job,
    *,
    stem: str,
    paper: Paper,
    of_plan: str,
    seen: Seen = as_bent,
    before: Sequence[Drawing] = (),
) -> tuple[SheetFile, ...]:
    """Return the sheets of one run: the pages to print, and each template by itself.

    Parameters
    ----------
    of_plan : str
        To which plan they belong, in words.
    before : sequence of Drawing
        The bench sheet, whose pages go in front of the templates.
    """
    planes = [seen(plane) for plane in flat_planes(job.table)]
    drawings = [template(job, plane, paper=paper) for plane in planes]
    mark = "-mirrored" if any(plane.is_mirrored for plane in planes) else ""
    belongs = f"{planes[0].set_name} set, {of_plan}"
    leaves = list(_bench_leaves(job, before, paper=paper, belongs=belongs))
    files: list[SheetFile] = []
    for plane, drawing in zip(planes, drawings, strict=True):
        leaves += template_leaves(job, plane, drawing, paper=paper, belongs=belongs)
        alone = standalone(job, plane, drawing, belongs=belongs)
        title = f"{job.name}, {plane.sheet_name(plane.number)} of {plane.count}"
        files += _template_files(f"{stem}-plane-{plane.number}{mark}", alone, title)
    leaves += strip_leaves(job, paper=paper, belongs=belongs)
    pages = bound(leaves)
    printed = SheetFile(
        name=f"{stem}{mark}.pdf",
        content=pdf_document(pages, title=f"{job.name}: sheets for the bench"),
        pages=len(pages),
    )
    return (printed, *files)


def _template_files(
    name: str, drawing: Drawing, title: str
) -> tuple[SheetFile, SheetFile]:
    """Return a template by itself, in both formats."""
    return (
        SheetFile(name=f"{name}.svg", content=svg_document(drawing, title=title)),
        SheetFile(name=f"{name}.dxf", content=dxf_document(drawing, listed=LISTED)),
    )


def _bench_drawings(
    plan: Plan, run: PlannedRun, paper: Paper, rendering: Rendering | None
) -> tuple[Drawing, ...]:
    """Return a run's bench sheet, upright, a drawing a page."""
    low, high = room(paper.sizes[0])
    return bench_sheet(
        plan, run, width=high[0] - low[0], height=high[1] - low[1], rendering=rendering
    )


def _bench_leaves(
    job: Job, drawings: Sequence[Drawing], *, paper: Paper, belongs: str
) -> tuple[Leaf, ...]:
    """Return the pages of a run's bench sheet."""
    foot = Foot(
        name=f"{job.number} {job.name}",
        what=": bench sheet",
        lines=(job.title,),
        units=job.units,
        belongs=belongs,
    )
    return _upright(drawings, foot=foot, paper=paper)


def overview_files(plan: Plan, cuts: CutPlan, *, paper: Paper) -> tuple[SheetFile, ...]:
    """Return what is about all runs: the overview to print, the cut plan as a table."""
    low, high = room(paper.sizes[0])
    drawings = overview_drawing(
        plan, cuts, width=high[0] - low[0], height=high[1] - low[1]
    )
    foot = Foot(
        what="Overview",
        lines=(plan.scene.title,),
        units=plan.scene.units,
        belongs=plan_words(plan),
    )
    pages = bound(_upright(drawings, foot=foot, paper=paper))
    title = f"{plan.scene.title}: overview"
    table = cut_plan_csv(cuts, lengths=lengths_for(plan.scene.units))
    return (
        SheetFile(
            name=f"{OVERVIEW}.pdf",
            content=pdf_document(pages, title=title),
            pages=len(pages),
        ),
        SheetFile(name=f"{CUT_PLAN}.csv", content=table.encode("utf-8")),
    )


def _upright(
    drawings: Sequence[Drawing], *, foot: Foot, paper: Paper
) -> tuple[Leaf, ...]:
    """Return drawings that fill a page each as upright pages."""
    size = paper.sizes[0]
    low, _ = room(size)
    return tuple(
        Leaf(
            size=size,
            foot=foot,
            viewports=(
                Viewport(drawing=drawing, low=drawing.low, high=drawing.high, at=low),
            ),
        )
        for drawing in drawings
    )


def strip_leaves(job: Job, *, paper: Paper, belongs: str) -> tuple[Leaf, ...]:
    """Return the pages of a run's wrap strip and, where there are turns, its card.

    None for a straight tube, on which nothing has to be marked.
    """
    if not job.table.bends:
        return ()
    strip = wrap_strip(job)
    cards = (whole_drawing(turn_card(job)),) if has_turns(job) else ()
    grey = "room for the bend" if job.tube.material == "copper" else "heated"
    foot = Foot(
        name=f"{job.number} {job.name}",
        what=": wrap strip and turn card" if cards else ": wrap strip",
        lines=(
            job.title,
            "Cut out, diamonds too; wrap printed side out. "
            f"Grey: {grey}. Numbered line: inside of the bend.",
        ),
        units=job.units,
        belongs=belongs,
    )
    layouts = (
        pages_of_extracts((*strip_extracts(strip, size), *cards), size=size, foot=foot)
        for size in paper.sizes
    )
    return min(layouts, key=len)
