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
from loopsolver.drafting.drawing import Drawing
from loopsolver.drafting.paging import (
    PAPERS,
    Foot,
    Leaf,
    Paper,
    Size,
    bound,
    pages_of_extracts,
    room,
    whole_drawing,
)
from loopsolver.drafting.tiling import tiled
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
from loopsolver.workshop.template import foot_of, standalone, template
from loopsolver.workshop.turn_card import turn_card
from loopsolver.workshop.wrap import wrap_strip

Seen = Callable[[FlatPlane], FlatPlane]
"""From which side a plane is shown: `as_bent` or `flat.mirrored`."""

OVERVIEW: Final = "overview"
CUT_PLAN: Final = "cut-plan"
ASSEMBLY: Final = "assembly"
JIGS: Final = "jigs"
"""Stems of the files that are about all runs; no run's files are called so."""

_LONGEST_NAME: Final = 60
_SHEET_NAME: Final = re.compile(
    r"(.+?)(-plane-[0-9]+)?(-proof)?(-mirrored)?\.(pdf|svg|dxf)"
)
_CRADLE_NAME: Final = re.compile(r"(cradle-.+)-bends-[0-9]+-[0-9]+(-part-[0-9])?\.stl")
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
    taken = {OVERVIEW, CUT_PLAN, ASSEMBLY, JIGS}
    stems: list[str] = []
    for name in names:
        stem, number = file_stem(name), 2
        while stem in taken:
            stem, number = f"{file_stem(name)}-{number}", number + 1
        taken.add(stem)
        stems.append(stem)
    return tuple(stems)


def set_of(name: str) -> str:
    """Return which set a file belongs to: its run's sheets, its cradles, all other jigs.

    Or the overview.

    Examples
    --------
    >>> set_of("pump-to-card-plane-2-mirrored.svg"), set_of("cut-plan.csv")
    ('pump-to-card', 'overview')
    >>> set_of("cradle-pump-to-card-bends-1-2-part-2.stl"), set_of("chamfer-stop.stl")
    ('cradle-pump-to-card', 'jigs')
    """
    if name.endswith(".stl"):
        cradle = _CRADLE_NAME.fullmatch(name)
        return cradle[1] if cradle else JIGS
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
    stems = run_stems(plan)
    of_plan = plan_words(plan)
    width, height = _upright(paper)
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
            before=bench_sheet(
                plan,
                run,
                width=width,
                height=height,
                rendering=renderings.get(run.name),
            ),
        )
    )


def run_stems(plan: Plan) -> dict[str, str]:
    """Return the file name's stem of every run by its name."""
    names = [run.name for run in plan.runs]
    return dict(zip(names, file_stems(names), strict=True))


def proof_files(
    plan: Plan, runs: Sequence[PlannedRun], *, paper: Paper
) -> tuple[SheetFile, ...]:
    """Return for each of those runs its outline to cut in card, a document each."""
    stems = run_stems(plan)
    of_plan = plan_words(plan)
    jobs = (job_of(plan, run) for run in runs if run.chosen_candidate is not None)
    return tuple(
        _printed(
            f"{stems[job.name]}-proof",
            proof_leaves(job, paper=paper, belongs=of_plan),
            title=f"{job.name}: proof in card",
        )
        for job in jobs
    )


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
    foot = job.foot(": bench sheet", job.title, belongs=belongs)
    leaves = list(_filled(before, paper=paper, foot=foot))
    files: list[SheetFile] = []
    for plane, drawing in zip(planes, drawings, strict=True):
        foot = foot_of(job, plane, belongs=belongs)
        leaves += tiled(drawing, paper=paper, foot=foot)
        alone = standalone(drawing, foot)
        title = f"{job.name}, {plane.sheet_name(plane.number)} of {plane.count}"
        name = f"{stem}-plane-{plane.number}{mark}"
        svg, dxf = svg_document(alone, title=title), dxf_document(alone, listed=LISTED)
        files.append(SheetFile(name=f"{name}.svg", content=svg))
        files.append(SheetFile(name=f"{name}.dxf", content=dxf))
    leaves += strip_leaves(job, paper=paper, belongs=belongs)
    title = f"{job.name}: sheets for the bench"
    return (_printed(f"{stem}{mark}", leaves, title=title), *files)


def _printed(stem: str, leaves: Sequence[Leaf], *, title: str) -> SheetFile:
    """Return leaves as a document to print."""
    pages = bound(leaves)
    content = pdf_document(pages, title=title)
    return SheetFile(name=f"{stem}.pdf", content=content, pages=len(pages))


def _upright(paper: Paper) -> Size:
    """Return width and height of what a page of upright paper can show [mm]."""
    low, high = room(paper.sizes[0])
    return (high[0] - low[0], high[1] - low[1])


def _filled(
    drawings: Sequence[Drawing], *, paper: Paper, foot: Foot
) -> tuple[Leaf, ...]:
    """Return drawings that fill a page each as upright pages."""
    extracts = [whole_drawing(drawing) for drawing in drawings]
    return pages_of_extracts(extracts, size=paper.sizes[0], foot=foot)


def overview_files(plan: Plan, cuts: CutPlan, *, paper: Paper) -> tuple[SheetFile, ...]:
    """Return what is about all runs: the overview to print, the cut plan as a table."""
    width, height = _upright(paper)
    drawings = overview_drawing(plan, cuts, width=width, height=height)
    foot = Foot(
        what="Overview",
        lines=(plan.scene.title,),
        units=plan.scene.units,
        belongs=plan_words(plan),
    )
    leaves = _filled(drawings, paper=paper, foot=foot)
    table = cut_plan_csv(cuts, lengths=lengths_for(plan.scene.units))
    return (
        _printed(OVERVIEW, leaves, title=f"{plan.scene.title}: overview"),
        SheetFile(name=f"{CUT_PLAN}.csv", content=table.encode("utf-8")),
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
    foot = job.foot(
        ": wrap strip and turn card" if cards else ": wrap strip",
        job.title,
        "Cut out, diamonds too; wrap printed side out. "
        f"Grey: {grey}. Numbered line: inside of the bend.",
        belongs=belongs,
    )
    layouts = (
        pages_of_extracts((*strip_extracts(strip, size), *cards), size=size, foot=foot)
        for size in paper.sizes
    )
    return min(layouts, key=len)
