"""What is known of candidates that are kept in a window, and the rest solved again.

Pure: what was known and what happened in, what is known then out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from loopsolver.plan import Plan
from loopsolver.plan.model import AS_BUILT
from loopsolver.routing.problem import Candidate
from loopsolver.view.panel_lines import PanelLine, Section, wrapped
from loopsolver.view.search_process import Failed, News, progress_words
from loopsolver.view.selection import ViewSelection, shown_run

_BEGINS: Final = "the search starts"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptStep:
    """A plan, and the candidates that are kept in it, by the names of their runs."""

    plan: Plan
    kept: Mapping[str, Candidate] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """The plans of a window, one after each keep.

    Attributes
    ----------
    steps : tuple of KeptStep
        As it was read, then one for each keep; the last is shown.
    written : Plan
        The one that stands in the file.
    progress : str
        What the search is at; nothing once it is over.
    trouble : str
        Why the last search came to nothing.
    """

    steps: tuple[KeptStep, ...]
    written: Plan
    progress: str = ""
    trouble: str = ""

    @property
    def plan(self) -> Plan:
        """The plan that is shown."""
        return self.steps[-1].plan

    @property
    def is_solving(self) -> bool:
        """Whether the rest is being solved."""
        return bool(self.progress)

    @property
    def is_written(self) -> bool:
        """Whether what is shown stands in the file."""
        return self.plan is self.written


def opened(plan: Plan) -> Keeping:
    """Return what is known of a plan as it was read."""
    names = () if plan.loop is None else plan.loop.kept
    runs = {run.name: run for run in plan.runs}
    kept = {
        name: chosen
        for name in names
        if name in runs and (chosen := runs[name].chosen_candidate) is not None
    }
    return Keeping(steps=(KeptStep(plan=plan, kept=kept),), written=plan)


def why_not(now: Keeping, selection: ViewSelection) -> str:
    """Return why the candidate shown cannot be kept; nothing where it can."""
    run = shown_run(now.plan, selection)
    if run is None or selection.rank is None:
        return "nothing to keep: the run has no candidate"
    if selection.rank == AS_BUILT:
        return "a tube as built stays in any case"
    return "undo first: the rest is still being solved" if now.is_solving else ""


def after_keep(now: Keeping, selection: ViewSelection) -> Keeping:
    """Return what is known once the candidate shown is kept: it is chosen at once."""
    plan, rank = now.plan, selection.rank
    run = plan.runs[selection.run]
    chosen = replace(run, chosen=rank, why=None, in_the_way=())
    runs = tuple(chosen if one is run else one for one in plan.runs)
    kept = {**now.steps[-1].kept, run.name: run.candidate(rank or 1)}
    step = KeptStep(plan=replace(plan, runs=runs, loop=None), kept=kept)
    return replace(now, steps=(*now.steps, step), progress=_BEGINS, trouble="")


def asked(now: Keeping) -> dict[str, Any]:
    """Return what the search is asked for beside the scene."""
    first, step = now.steps[0].plan, now.steps[-1]
    built = {run.name: run.built for run in step.plan.runs if run.built is not None}
    return {
        "by": "bends" if first.loop is None else first.loop.by,
        "runs": [run.name for run in first.runs] if first.missing else None,
        "keep": {name: one for name, one in step.kept.items() if name not in built},
        "built": built,
    }


def after_news(now: Keeping, news: News) -> Keeping:
    """Return what is known after the search has told something."""
    if not now.is_solving:
        return now
    match news:
        case Failed(why=why):
            return replace(undone(now), trouble=f"the search failed: {why}")
        case Plan():
            first = now.steps[0].plan
            of = replace(news, scene=first.scene, files=first.files)
            step = replace(now.steps[-1], plan=of)
            return replace(now, steps=(*now.steps[:-1], step), progress="")
    return replace(now, progress=progress_words(news) or now.progress)


def undone(now: Keeping) -> Keeping:
    """Return what is known with the last keep taken back, if there is one."""
    steps = now.steps[:-1] or now.steps
    return replace(now, steps=steps, progress="", trouble="")


def after_write(now: Keeping) -> Keeping:
    """Return what is known once the plan that is shown stands in the file."""
    return replace(now, written=now.plan)


def after_save(now: Keeping, plan: Plan) -> Keeping | None:
    """Return what is known once the scene was saved whose plan this is.

    What is kept stays where the save changed nothing that a tube could feel; else None.
    """
    if plan.runs != now.steps[0].plan.runs:
        return None
    steps = tuple(
        replace(step, plan=replace(step.plan, scene=plan.scene)) for step in now.steps
    )
    return replace(now, steps=steps, written=steps[0].plan)


def kept_section(now: Keeping | None) -> tuple[Section, ...]:
    """Return what is kept, how far the search is, and whether it is written."""
    if now is None or (len(now.steps) == 1 and not now.trouble and now.is_written):
        return ()
    rows = [
        row
        for name in now.steps[-1].kept
        for row in wrapped(f"kept: {_rank_words(now.plan, name)}")
    ]
    if now.is_solving:
        rows += wrapped("solving the rest:", style="heading")
        rows += wrapped(f"  {now.progress}", indent="    ")
        rows += wrapped("u takes it back", style="faint")
    elif not now.is_written:
        to_write = "not written yet: w writes, " if now.plan.files else ""
        rows += wrapped(f"{to_write}u undoes", style="faint")
    if now.trouble:
        rows += wrapped(now.trouble, style="warning")
    return (Section(lines=tuple(rows or [PanelLine(text="nothing is kept")])),)


def _rank_words(plan: Plan, name: str) -> str:
    run = plan.run(name)
    rank = "" if run.chosen is None else f", candidate {run.chosen}"
    return f"{name}{rank}"
