"""What a window that follows a scene file knows: the scene, its tubes, what changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from loopsolver.errors import Fault
from loopsolver.lengths import lengths_for
from loopsolver.plan import Plan, PlannedRun, ranked
from loopsolver.report.scene_changes import is_same_build, scene_changes, tube_changes
from loopsolver.routing.control import Explaining, RoundDone, RunRouted, RunStarted
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.view.search_process import Doubtful, Failed, News, progress_words
from loopsolver.view.selection import Subject

_BY = "bends"
"""How candidates are ranked, as `route` does where nothing else is asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Following:
    """What is known while a file is followed.

    Attributes
    ----------
    scene : Scene
        The last that could be used.
    plan : Plan or None
        Its plan, once the search is over.
    found : mapping of str to PlannedRun
        Runs of which tubes were found so far, by name.
    before : mapping of str to Candidate
        The tubes that were shown before the last save, by the names of their runs.
    changes, tubes : tuple of str
        What the last save changed, in the scene and in its tubes.
    faults : tuple of Fault
        Why the file cannot be used as it stands; none where it can.
    doubts : tuple of str
        What is doubtful in the scene: where and of what kind.
    progress : str
        What the search is at.
    """

    scene: Scene
    plan: Plan | None = None
    found: Mapping[str, PlannedRun] = field(default_factory=dict)
    before: Mapping[str, Candidate] = field(default_factory=dict)
    changes: tuple[str, ...] = ()
    tubes: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    doubts: tuple[str, ...] = ()
    progress: str = "the search starts"

    @property
    def subject(self) -> Subject:
        """What is shown: the plan, or the scene with the tubes that were found so far."""
        if self.plan is not None:
            return self.plan
        if not self.scene.runs:
            return self.scene
        runs = [
            self.found.get(run.name)
            or PlannedRun(
                name=run.name,
                from_port=run.from_ports[0],
                to_port=run.to_ports[0],
                candidates=(),
                chosen=None,
            )
            for run in self.scene.runs
        ]
        return Plan(scene=self.scene, runs=tuple(runs))

    @property
    def pending(self) -> frozenset[str]:
        """The names of the runs of which nothing is known yet."""
        if self.plan is not None:
            return frozenset()
        return frozenset(run.name for run in self.scene.runs) - self.found.keys()

    @property
    def old(self) -> tuple[Candidate, ...]:
        """The tubes of before for which there are no new ones yet."""
        if self.plan is not None:
            return ()
        wanted = self.pending if self.scene.runs else self.before
        return tuple(tube for name, tube in self.before.items() if name in wanted)

    @property
    def shown(self) -> dict[str, Candidate]:
        """The tubes that are shown, old ones among them, by the names of their runs."""
        runs = self.found.values() if self.plan is None else self.plan.runs
        new = {run.name: run.chosen_candidate for run in runs}
        kept = self.before if self.plan is None else {}
        return {
            name: tube for name, tube in {**kept, **new}.items() if tube is not None
        }


def after_save(now: Following, scene: Scene) -> Following:
    """Return what is known after a save that can be used.

    Where it changed nothing that a tube could feel, the tubes stay.
    """
    if is_same_build(now.scene, scene):
        now = replace(now, scene=scene, faults=())
        if now.plan is None:  # what is being searched is what an earlier save changed
            return now
        nothing = ("nothing that a tube could feel",)
        plan = replace(now.plan, scene=scene)
        return replace(now, plan=plan, changes=nothing, tubes=())
    return Following(
        scene=scene,
        before=now.shown,
        changes=scene_changes(now.scene, scene) or ("how well places are known",),
    )


def after_news(now: Following, news: News) -> Following:
    """Return what is known after the search has told something of the scene."""
    match news:
        case Doubtful(doubts=doubts):
            told = dict.fromkeys(f"{one.where}: {one.kind}" for one in doubts)
            now = replace(now, doubts=tuple(told))
        case RunRouted(name=name, candidates=candidates):
            now = replace(now, found={**now.found, **_found(now, name, candidates)})
        case RoundDone():
            now = _after_round(now, news)
        case RunStarted() | Explaining():
            now = replace(now, progress=progress_words(news))
        case Failed(why=why):
            now = replace(now, progress=f"the search failed: {why}")
        case Plan():
            lengths = lengths_for(now.scene.units)
            tubes = tuple(tube_changes(now.before, news.runs, lengths))
            plan = replace(news, scene=now.scene)
            now = replace(now, plan=plan, tubes=tubes, progress="")
    return now


def _found(
    now: Following, name: str, candidates: tuple[Candidate, ...]
) -> dict[str, PlannedRun]:
    """Return a run with the candidates that were found, by its name, if any were.

    Where the order of the loop is free, runs are known once the search is over.
    """
    if not candidates or all(run.name != name for run in now.scene.runs):
        return {}
    best = ranked(candidates, by=_BY)[: now.scene.rules.candidates]
    return {name: _run(name, best, chosen=1)}


def _run(name: str, candidates: tuple[Candidate, ...], *, chosen: int) -> PlannedRun:
    first, last = candidates[chosen - 1].ends
    return PlannedRun(
        name=name,
        from_port=first.port,
        to_port=last.port,
        candidates=candidates,
        chosen=chosen,
    )


def _after_round(now: Following, done: RoundDone) -> Following:
    """Return what is known after a round, each run with the best choice so far."""
    found = dict(now.found)
    best = {tuple(end.port for end in one.ends): one for one in done.best}
    for name, run in now.found.items():
        one = best.get((run.from_port, run.to_port))
        if one is not None:
            others = tuple(other for other in run.candidates if other != one)
            found[name] = _run(name, (one, *others), chosen=1)
    return replace(now, found=found, progress=progress_words(done))
