"""What is being looked at: which run, which candidate, what is hidden. Pure values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from loopsolver.errors import LoopsolverError
from loopsolver.plan import Plan, PlannedRun
from loopsolver.plan.model import AS_BUILT
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.view.marks import ClickedMark
from loopsolver.view.section_plane import SectionPlane
from loopsolver.words import quoted

Hideable = Literal["bodies", "keep-outs", "other tubes", "names"]
"""What a key can hide."""

AnyRun = PlannedRun | RunRequest
"""A run that was routed, or one that is asked for."""

Subject = Scene | Plan
"""What a window or a picture shows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ViewSelection:
    """What is shown.

    Attributes
    ----------
    run : int
        Place of the run in the subject, counted from 0.
    rank : int or None
        Rank of the candidate, counted from 1, or `AS_BUILT`; None where there is none.
    hidden : frozenset of Hideable
    is_helping : bool
        Whether the list of keys is shown.
    tilt : int
        Which stage of the tilts is shown; 0 for the machine as it is used.
    shot : int
        Which shot of putting together is shown; 0 where all is together.
    bent : int or None
        How many bends of the tube on show are made; None where it is in its place.
    beside : int or None
        Rank of the candidate that is held beside the one shown, to compare them.
    plane : SectionPlane or None
        What cuts the build open.
    marks : tuple of ClickedMark, or None
        What was clicked to measure, at most two; None where nothing is measured.
    """

    run: int
    rank: int | None
    hidden: frozenset[Hideable] = frozenset()
    is_helping: bool = False
    tilt: int = 0
    shot: int = 0
    bent: int | None = None
    beside: int | None = None
    plane: SectionPlane | None = None
    marks: tuple[ClickedMark, ...] | None = None


def scene_of(subject: Subject) -> Scene:
    """Return the scene itself, or the plan's."""
    return subject.scene if isinstance(subject, Plan) else subject


def runs_of(subject: Subject) -> tuple[AnyRun, ...]:
    """Return the plan's runs, or those that the scene asks for."""
    return subject.runs


def ports_of(run: AnyRun) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the ports that a run may start at, and those that it may finish at."""
    if isinstance(run, PlannedRun):
        return (run.from_port,), (run.to_port,)
    return run.from_ports, run.to_ports


def first_selection(
    subject: Subject, *, run: str | None, candidate: int | None
) -> ViewSelection:
    """Return what is shown at the start.

    Parameters
    ----------
    subject : Scene or Plan
    run : str or None
        Name of a run; None for the first.
    candidate : int or None
        Rank of one of its candidates; None for the chosen one, or for the first where
        none is chosen.

    Raises
    ------
    LoopsolverError
        If there is no such run or candidate; the message says which there are.
    """
    place = _run_place(subject, run)
    if candidate is None:
        return ViewSelection(run=place, rank=_chosen_rank(subject, place))
    if isinstance(subject, Scene):
        msg = (
            f"candidate {candidate}: a scene has no candidates yet; "
            "route it and view the plan"
        )
        raise LoopsolverError(msg)
    if run is None and len(subject.runs) > 1:
        msg = f"candidate {candidate} of which run? There are {_names(subject)}"
        raise LoopsolverError(msg)
    count = len(subject.runs[place].candidates)
    if not 1 <= candidate <= count:
        there_are = f"1 to {count}" if count else "none: it has no route"
        name = subject.runs[place].name
        msg = f"run {name!r} has no candidate {candidate}; there are {there_are}"
        raise LoopsolverError(msg)
    return ViewSelection(run=place, rank=candidate)


def _names(subject: Subject) -> str:
    return quoted(entry.name for entry in runs_of(subject)) or "none"


def _run_place(subject: Subject, run: str | None) -> int:
    if run is None:
        return 0
    for place, entry in enumerate(runs_of(subject)):
        if entry.name == run:
            return place
    msg = f"no run {run!r}; there are {_names(subject)}"
    raise LoopsolverError(msg)


def _chosen_rank(subject: Subject, place: int) -> int | None:
    if isinstance(subject, Scene) or not subject.runs:
        return None
    run = subject.runs[place]
    if run.built is not None:
        return AS_BUILT
    # Of a run that was left out the candidates are there to be looked at.
    return run.chosen or (1 if run.candidates else None)


def step_run(subject: Subject, selection: ViewSelection, *, by: int) -> ViewSelection:
    """Return the selection with a later or earlier run, round and round."""
    count = len(runs_of(subject))
    if not count:
        return selection
    return with_run(subject, selection, (selection.run + by) % count)


def with_run(subject: Subject, selection: ViewSelection, place: int) -> ViewSelection:
    """Return the selection with the run at a place, and the tube that it has there."""
    if not 0 <= place < len(runs_of(subject)):
        return selection
    now = replace(selection, run=place, beside=None)
    return _with_tube(now, _chosen_rank(subject, place))


def with_candidate(
    subject: Subject, selection: ViewSelection, rank: int
) -> ViewSelection:
    """Return the selection with a candidate of the run shown, if it has that one."""
    run = shown_run(subject, selection)
    if run is None or rank not in ranks_of(run):
        return selection
    return _with_tube(selection, rank)


def _with_tube(selection: ViewSelection, rank: int | None) -> ViewSelection:
    """Return the selection with another tube; on the bench it is straight again."""
    on_bench = selection.bent is not None and rank is not None
    return replace(selection, rank=rank, bent=0 if on_bench else None)


def ranks_of(run: PlannedRun) -> tuple[int, ...]:
    """Return the ranks of a run's candidates, `AS_BUILT` first where it is built."""
    return (*((AS_BUILT,) if run.built is not None else ()), *run.ranks)


def step_candidate(
    subject: Subject, selection: ViewSelection, *, by: int
) -> ViewSelection:
    """Return the selection with a later or earlier candidate, round and round."""
    run = shown_run(subject, selection)
    if run is None or selection.rank is None:
        return selection
    ranks = ranks_of(run)
    at = (ranks.index(selection.rank) + by) % len(ranks)
    return _with_tube(selection, ranks[at])


def step_beside(subject: Subject, selection: ViewSelection) -> ViewSelection:
    """Return the selection with the candidate shown held beside the next; or no more."""
    if selection.beside is not None:
        return replace(selection, beside=None)
    now = step_candidate(subject, selection, by=1)
    if now.rank == selection.rank:
        return selection
    return replace(now, beside=selection.rank, bent=None, tilt=0, shot=0)


def carried_over(
    before: Subject, selection: ViewSelection, after: Subject
) -> ViewSelection:
    """Return the selection in another subject: the run of the same name, if it is there.

    Its candidate stays where the run has the same candidates, else it is the chosen one.
    """
    runs, others = runs_of(before), runs_of(after)
    old = runs[selection.run] if runs else None
    names = [run.name for run in others]
    place = names.index(old.name) if old is not None and old.name in names else 0
    new = others[place] if others else None
    is_same = (
        isinstance(old, PlannedRun)
        and isinstance(new, PlannedRun)
        and (old.candidates, old.built) == (new.candidates, new.built)
    )
    if is_same:
        return replace(selection, run=place)
    return with_run(after, replace(selection, run=place, rank=None), place)


def toggle(selection: ViewSelection, layer: Hideable) -> ViewSelection:
    """Return the selection with a layer hidden that was shown, or shown again."""
    return replace(selection, hidden=selection.hidden ^ {layer})


def shown_run(subject: Subject, selection: ViewSelection) -> PlannedRun | None:
    """Return the planned run that is shown; None in a scene, or without runs."""
    if isinstance(subject, Scene) or not subject.runs:
        return None
    return subject.runs[selection.run]


def shown_candidate(subject: Subject, selection: ViewSelection) -> Candidate | None:
    """Return the candidate that is shown, or None."""
    run = shown_run(subject, selection)
    if run is None or selection.rank is None:
        return None
    return run.candidate(selection.rank)
