"""What would let all runs of a loop fit: one change after the other, until one does.

Where a single run is left out, `hindrance` tries what gives it a place beside the others
as they are laid. Here all of them are laid anew, as `route` lays them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from types import MappingProxyType

from loopsolver.clearance.gap import is_clear, tube_gap
from loopsolver.routing.control import (
    Control,
    Event,
    Explaining,
    RoundDone,
    RunRouted,
)
from loopsolver.routing.diagnosis.no_route import (
    OtherFitting,
    OtherPort,
)
from loopsolver.routing.diagnosis.relaxations import A_MILLIMETRE, least_place
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.diagnosis.whole_loop import (
    LoopChange,
    LoopRemedies,
    LoopRemedy,
)
from loopsolver.routing.loop.changes import (
    Changes,
    as_used,
    clearances,
    formers,
    offering,
    offers,
    with_changes,
)
from loopsolver.routing.loop.solving import Loop
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.port_contests import port_contests

Solve = Callable[[Scene, Control], Loop]
"""From a scene to the choice that `route` makes for its loop."""


def loop_remedies(
    scene: Scene,
    loop: Loop,
    solve: Solve,
    *,
    kept: Mapping[str, Candidate] = MappingProxyType({}),
    control: Control,
) -> LoopRemedies:
    """Return the first change after which all runs of a loop are laid, if any is.

    Tried are other ports; other bend angles for all; elbows; another order of the parts;
    a smaller former; less clearance. Of the last two the least that will do is told.
    Left out is what cannot help, whatever is searched.

    Parameters
    ----------
    scene : Scene
    loop : Loop
        The choice for the scene, in which runs are left out.
    solve : callable
    kept : mapping of run names to Candidates
        What is settled.
    control : Control
        Where it is stopped, or its time is over, nothing more is tried.
    """
    trials = _Trials(solve=solve, control=control, kept=kept, count=len(loop.runs))
    tried: list[LoopChange] = []
    for named, remedy_of in _tries(scene, loop, trials):
        control.tell(Explaining(name=f"the loop as a whole ({_kind(named[0])})"))
        remedy = remedy_of()
        if remedy is not None or control.ending is not None:
            is_all_tried = remedy is not None
            return LoopRemedies(
                found=remedy, tried=tuple(tried), is_all_tried=is_all_tried
            )
        tried += named
    return LoopRemedies(found=None, tried=tuple(tried))


_Try = tuple[Changes, Callable[[], LoopRemedy | None]]
"""What is named as tried, and what tries it."""


def _tries(scene: Scene, loop: Loop, trials: _Trials) -> Iterator[_Try]:
    """Yield what may help, one after the other."""
    for offered in offers(scene, loop):
        if offered and not trials.is_hopeless(offering(scene, offered)):
            yield offered, partial(_used, scene, offered, trials)
    graded = [
        (offered, apart)
        for offered, apart in ((formers(scene), 1), (clearances(scene), A_MILLIMETRE))
        if offered and not trials.is_hopeless(with_changes(scene, offered[:1]))
    ]
    widest = tuple(offered[0] for offered, _ in graded)
    if widest:
        yield widest, partial(_of_graded, scene, graded, trials)


def _kind(change: LoopChange) -> str:
    """Return what kind of change is tried, for who waits for it."""
    match change:
        case Change(rule="bend angles"):
            return "bend angles"
        case Change():
            return "former and clearance"
        case OtherPort():
            return "other ports"
        case OtherFitting():
            return "elbows"
    return "another order"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trials:
    """Changed scenes are tried by this: whether all runs are laid.

    Attributes
    ----------
    solve : callable
    control : Control
    kept : mapping of run names to Candidates
    count : int
        How many runs there are to lay.
    """

    solve: Solve
    control: Control
    kept: Mapping[str, Candidate]
    count: int

    def is_hopeless(self, scene: Scene) -> bool:
        """Return whether ports are too few, or kept tubes too near, for all to be laid."""
        radius = scene.tube.radius
        gaps = (
            tube_gap(
                one.centreline,
                other.centreline,
                first_radius=radius,
                second_radius=radius,
            )[0]
            for one, other in combinations(self.kept.values(), 2)
        )
        is_near = any(not is_clear(gap, scene.rules.clearance) for gap in gaps)
        return is_near or bool(port_contests(scene))

    def soon(self, scene: Scene) -> Loop | None:
        """Return some choice for a scene's loop that leaves out no run, found quickly."""
        effort = self.control.effort.for_whole_loop

        def is_whole(event: Event) -> bool:
            return isinstance(event, RoundDone) and len(event.best) == self.count

        return self._whole(scene, replace(self.control, effort=effort), is_whole)

    def best(self, scene: Scene) -> Loop | None:
        """Return the choice that `route` makes where it leaves out no run."""
        return self._whole(scene, self.control, lambda _: False)

    def _whole(
        self, scene: Scene, control: Control, is_enough: Callable[[Event], bool]
    ) -> Loop | None:
        """Return a choice for a scene's loop where it leaves out no run.

        The search ends once a run has no route at all, and where it would be looked into
        why one is left out.
        """
        wanted = {run.name for run in scene.runs} - self.kept.keys()
        last: list[Event] = []

        def tell(event: Event) -> None:
            is_out = isinstance(event, Explaining) or (
                isinstance(event, RunRouted)
                and not event.candidates
                and event.name in wanted
            )
            last.extend([event] if is_out or is_enough(event) else [])

        def stopped() -> bool:
            return bool(last) or self.control.ending is not None

        if stopped() or self.is_hopeless(scene):
            return None
        loop = self.solve(scene, replace(control, tell=tell, stopped=stopped))
        return loop if all(run.chosen for run in loop.runs) else None


def _used(scene: Scene, offered: Changes, trials: _Trials) -> LoopRemedy | None:
    """Return what of an offer all runs need that are laid with it, if they are."""
    soon = trials.soon(offering(scene, offered))
    if soon is None:
        return None
    used = tuple(one for each in offered if (one := as_used(each, soon)))
    for one in used if len(used) > 1 else ():
        fewer = tuple(other for other in used if other is not one)
        if fewer and trials.soon(with_changes(scene, fewer)) is not None:
            used = fewer
    loop = trials.best(with_changes(scene, used))
    return None if loop is None else _remedy(used, loop)


def _of_graded(
    scene: Scene, graded: Sequence[tuple[Changes, int]], trials: _Trials
) -> LoopRemedy | None:
    """Return the least change of the first rule that helps.

    None is tried by itself where all of them together do not help.
    """
    widest = tuple(offered[0] for offered, _ in graded)
    if len(graded) > 1 and trials.soon(with_changes(scene, widest)) is None:
        return None
    each = (_least(scene, offered, trials, apart=apart) for offered, apart in graded)
    return next((one for one in each if one is not None), None)


def _least(
    scene: Scene, offered: Changes, trials: _Trials, *, apart: int
) -> LoopRemedy | None:
    """Return the least generous change of a rule after which all runs are laid.

    The most generous comes first. Quick searches say about which it is; then all that
    `route` searches tries one that is `apart` less, and goes on until a run is left out.
    """
    soon: dict[int, Loop | None] = {}
    best: dict[int, Loop | None] = {}

    def of(
        found: dict[int, Loop | None], whole: Callable[[Scene], Loop | None], place: int
    ) -> bool:
        if place not in found:
            found[place] = whole(with_changes(scene, offered[place : place + 1]))
        return found[place] is not None

    if not of(soon, trials.soon, 0):
        return None
    count, works = len(offered), partial(of, best, trials.best)
    low, _ = least_place(partial(of, soon, trials.soon), 0, count, reach=count)
    while not works(low):
        if not low or trials.control.is_over():
            return None
        low //= 2
    least, _ = least_place(works, low, count, apart=apart)
    loop = best[least]
    return None if loop is None else _remedy(offered[least : least + 1], loop)


def _remedy(changes: Changes, loop: Loop) -> LoopRemedy:
    chosen = [run.chosen.candidate for run in loop.runs if run.chosen is not None]
    return LoopRemedy(
        changes=changes,
        runs=len(chosen),
        bends=sum(one.bends for one in chosen),
        elbows=sum(one.elbows for one in chosen),
        length=sum(one.length for one in chosen),
    )
