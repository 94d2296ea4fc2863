"""What is being looked at: which run, which candidate, what is hidden. Pure values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from loopsolver.errors import LoopsolverError
from loopsolver.plan import Plan, PlannedRun
from loopsolver.plan.model import AS_BUILT
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import RunRequest, Scene
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
    """

    run: int
    rank: int | None
    hidden: frozenset[Hideable] = frozenset()
    is_helping: bool = False
    tilt: int = 0
    shot: int = 0


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
    place = (selection.run + by) % count
    return replace(selection, run=place, rank=_chosen_rank(subject, place))


def step_candidate(
    subject: Subject, selection: ViewSelection, *, by: int
) -> ViewSelection:
    """Return the selection with a later or earlier candidate, round and round."""
    run = shown_run(subject, selection)
    if run is None or selection.rank is None:
        return selection
    first = 1 if run.built is None else AS_BUILT
    count = len(run.candidates) + 1 - first
    return replace(selection, rank=(selection.rank - first + by) % count + first)


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
    rank = selection.rank if is_same else _chosen_rank(after, place)
    return replace(selection, run=place, rank=rank)


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
