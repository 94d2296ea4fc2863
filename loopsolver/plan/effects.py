"""What choosing another candidate of one run would do to the other runs."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.plan.model import Plan
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.problem import Candidate


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What choosing one candidate would do, the others' listed candidates given.

    Attributes
    ----------
    run, rank : str, int
        The candidate.
    moved : tuple of (str, int), or None
        Other runs that would have to take another candidate, and which; empty where all
        can stay as they are chosen; None where no candidates of theirs fit beside it.
    """

    run: str
    rank: int
    moved: tuple[tuple[str, int], ...] | None


def effects(plan: Plan) -> tuple[Effect, ...]:
    """Return what choosing each candidate of each run would do to the others.

    As few other runs move as possible; runs without a chosen candidate take no part.
    """
    from loopsolver.routing.loop.joint import Chooser
    from loopsolver.routing.loop.laying import Router, way_of
    from loopsolver.routing.loop.pool import Pool
    from loopsolver.scene.model import RunRequest

    runs = [run for run in plan.runs if run.chosen is not None]
    if any(len(one.ends) != 2 for run in runs for one in run.candidates):
        return ()
    requests = [
        RunRequest(name=run.name, from_ports=(run.from_port,), to_ports=(run.to_port,))
        for run in runs
    ]
    router = Router(plan.scene, requests)
    scene = plan.scene
    pool = Pool(tube_radius=scene.tube.radius, clearance=scene.rules.clearance)
    ranks: dict[int, tuple[int, int]] = {}
    for number, run in enumerate(runs):
        for rank, candidate in enumerate(run.candidates, start=1):
            way = way_of(router, number, candidate)
            pool.add([way])
            ranks[pool.number_of(way)] = (number, rank)
    chosen = {id(run.chosen_candidate) for run in runs}
    by_bends = RANKINGS["bends"]

    def staying(candidate: Candidate) -> tuple[float, ...]:
        return (0.0 if id(candidate) in chosen else 1.0, *by_bends(candidate))

    chooser = Chooser(pool, staying)
    found = []
    for tried, (number, rank) in ranks.items():
        among = [
            w for w, (run_of, _) in ranks.items() if run_of != number or w == tried
        ]
        best = chooser.best(among)
        moved = None
        if len(best.ways) == len(runs):
            moved = tuple(
                (runs[n].name, r)
                for n, r in (ranks[w] for w in best.ways)
                if n != number and r != runs[n].chosen
            )
        found.append(Effect(run=runs[number].name, rank=rank, moved=moved))
    return tuple(found)
