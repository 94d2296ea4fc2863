"""What `route` and `compare` print alike: candidates side by side, and the loop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from loopsolver.cli.bending import doubt_document
from loopsolver.cli.output import say, say_table, say_wrapped, tell
from loopsolver.lengths import lengths_for
from loopsolver.report.bench import candidate_doubts
from loopsolver.report.comparing import comparisons
from loopsolver.report.lacking import why_lines
from loopsolver.report.loop import loop_sentences, loop_total
from loopsolver.report.nearness import touch_remark, touch_words
from loopsolver.report.purposes import purposes
from loopsolver.report.side_by_side import (
    ALONE,
    Beside,
    side_by_side_remarks,
    side_by_side_table,
)
from loopsolver.report.stock import over_stock

if TYPE_CHECKING:
    from pathlib import Path

    from loopsolver.plan import Plan, PlannedRun, Touch
    from loopsolver.routing.problem import Candidate
    from loopsolver.scene.model import Scene


def ranks_by(
    run: PlannedRun, by: str | None, *, beside: Beside = ALONE
) -> tuple[int, ...]:
    """Return the ranks of a run's candidates, best first by `by`, or as in the plan."""
    from loopsolver.plan import ranked

    if by is None:
        return run.ranks
    if by == "fit":
        return beside.fits.best_first(run)
    place = {id(one): rank for rank, one in enumerate(run.candidates, start=1)}
    return tuple(place[id(one)] for one in ranked(run.candidates, by=by))


def say_plan(
    plan: Plan,
    runs: Sequence[PlannedRun],
    *,
    by: str | None = None,
    beside: Beside = ALONE,
) -> None:
    """Print runs with their candidates side by side, the loop, and tubes too near."""
    if plan.scene.title:
        say(plan.scene.title)
        say()
    say_runs(plan, runs, by=by, beside=beside)
    if len(plan.runs) > 1:
        say()
        say_wrapped(loop_sentences(plan))
    say_wrapped(beside.drops.remarks if beside.drops else ())
    say_wrapped(beside.fits.remarks)
    _say_touches(plan, _touches_of(plan, runs))


def say_runs(
    plan: Plan,
    runs: Sequence[PlannedRun],
    *,
    by: str | None,
    beside: Beside = ALONE,
) -> None:
    """Print the candidates of runs side by side, and what sets them apart in words."""
    for run in runs:
        if not run.candidates and run.built is None:
            say_unchosen([run])
            continue
        say(f"{run.name}: {run.from_port} to {run.to_port}")
        order = ranks_by(run, by, beside=beside)
        say_table(side_by_side_table(plan, run, order, more=beside))
        for heading, told in side_by_side_remarks(plan, run, order, more=beside):
            if heading and told:
                say(heading)
            say_wrapped(told)
        if run.tube_in_place is None:
            say_why(run, mark="- ")
        say()
    if any(run.candidates for run in runs):
        say("* chosen")


def say_unchosen(runs: Sequence[PlannedRun]) -> None:
    """Print which runs have no chosen tube, and why."""
    for run in runs:
        say(f"{run.name}: {run.from_port} to {run.to_port}")
        say_why(run, mark="  ")
        say()


def say_why(run: PlannedRun, *, mark: str) -> None:
    """Print why no candidate of a run is chosen, each thing that would help by itself."""
    why, *possible = why_lines(run)
    say_wrapped([why], mark=mark)
    say_wrapped(possible, mark="  ")


def _touches_of(plan: Plan, runs: Sequence[PlannedRun]) -> list[Touch]:
    """Return where chosen tubes of these runs come too near to another chosen one."""
    from loopsolver.plan import touches

    names = {run.name for run in runs}
    return [touch for touch in touches(plan) if names & {touch.first, touch.second}]


def _say_touches(plan: Plan, found: Sequence[Touch]) -> None:
    """Print which chosen tubes come too near to each other, and what would help."""
    from loopsolver.plan import ways_out

    lengths, clearance = lengths_for(plan.scene.units), plan.scene.rules.clearance
    if found:
        say()
        say("Chosen tubes that are too near to each other:")
    say_wrapped(
        touch_remark(touch, ways_out(plan, touch), clearance=clearance, lengths=lengths)
        for touch in found
    )


def tell_built(runs: Sequence[PlannedRun]) -> None:
    """Tell which runs are built already: what is told of how to bend them is past."""
    for run in runs:
        if run.built is not None and run.chosen is not None:
            tell(
                f"run {run.name!r} is built already; what is told here is how candidate "
                f"{run.chosen} is bent, from which it was made"
            )


def tell_touches(plan: Plan, runs: Sequence[PlannedRun]) -> None:
    """Tell which of these runs' chosen tubes come too near to another chosen one."""
    lengths, clearance = lengths_for(plan.scene.units), plan.scene.rules.clearance
    for touch in _touches_of(plan, runs):
        words = touch_words(touch, clearance=clearance, lengths=lengths)
        tell(f"chosen tubes: {words}; `loopsolver compare` says what would help")


def plan_document(
    plan: Plan,
    runs: Sequence[PlannedRun],
    path: Path,
    *,
    by: str | None = None,
    beside: Beside = ALONE,
    **more: Any,
) -> dict[str, Any]:
    """Return runs with their candidates, and the loop, as plain JSON values.

    `more` goes in where the scene is told of.
    """
    return {
        "plan": str(path),
        "title": plan.scene.title,
        "units": "mm",
        **more,
        "stock_length": plan.scene.tube.stock_length,
        "clearance": plan.scene.rules.clearance,
        "runs": [run_document(plan, run, by=by, beside=beside) for run in runs],
        "loop": _loop_document(plan),
        "touches": _touches_document(plan, _touches_of(plan, runs)),
    }


def _loop_document(plan: Plan) -> dict[str, Any]:
    """Return the loop's total and how it was chosen as plain JSON values."""
    from loopsolver.plan import tubes_side_by_side
    from loopsolver.plan.document import LoopDocument

    total, looks, loop = loop_total(plan), tubes_side_by_side(plan), plan.loop
    how: dict[str, Any] = {}
    if loop is not None:
        how = LoopDocument.model_validate(loop).model_dump(by_alias=True)
        how["kept"] = list(loop.kept)
    return {
        "runs": total.tubes,
        "bends": total.bends,
        "elbows": total.elbows,
        "length": total.length,
        "side_by_side": looks.length,
        "evenly_spaced": looks.even,
        "parallel": looks.figure,
        **how,
    }


def _touches_document(plan: Plan, found: Sequence[Touch]) -> list[dict[str, Any]]:
    """Return touching tubes, and candidates that would not touch, as JSON values."""
    from loopsolver.plan import ways_out

    return [
        {
            "first": touch.first,
            "second": touch.second,
            "gap": touch.gap,
            "at": list(touch.at),
            "ways_out": [
                {"run": name, "candidate": rank} for name, rank in ways_out(plan, touch)
            ],
        }
        for touch in found
    ]


def run_document(
    plan: Plan,
    run: PlannedRun,
    *,
    by: str | None = None,
    beside: Beside = ALONE,
) -> dict[str, Any]:
    """Return a run with its candidates as plain JSON values; `by` says which is best."""
    order, lengths = ranks_by(run, by, beside=beside), lengths_for(plan.scene.units)
    others = beside.documents()
    good_for = purposes(plan.scene, run)
    met = [
        {"run": one.run, "gap": one.gap, "at": list(one.at)} for one in run.in_the_way
    ]
    return {
        "name": run.name,
        "from": run.from_port,
        "to": run.to_port,
        "chosen": run.chosen,
        "why": run.why,
        **_built_document(plan.scene, run.built),
        **({"in_the_way": met} if met else {}),
        "candidates": [
            {
                "rank": rank,
                **_candidate_document(plan.scene, run.candidate(rank)),
                "for": [
                    {"merit": one.merit, "bodies": list(one.bodies)}
                    for one in good_for[rank - 1]
                ],
                **others.get((run.name, rank), {}),
            }
            for rank in order
        ],
        "remarks": [
            {"rank": rank, "better": list(one.better), "worse": list(one.worse)}
            for rank, one in comparisons(run, order, lengths=lengths).items()
        ],
    }


def _built_document(scene: Scene, built: Candidate | None) -> dict[str, Any]:
    """Return what is still to be said of a tube once it is built; nothing of none."""
    if built is None:
        return {}
    told = _candidate_document(scene, built)
    over = ("blank", "fits_stock", "departures", "doubts")
    return {"built": {key: told[key] for key in told if key not in over}}


def _candidate_document(scene: Scene, candidate: Candidate) -> dict[str, Any]:
    gap = candidate.gap
    return {
        "bends": candidate.bends,
        "planes": candidate.planes,
        "length": candidate.length,
        "blank": candidate.blank,
        "bend_radius": candidate.centreline.radius,
        "gap": gap.distance,
        "nearest": {"name": gap.name, "at": list(gap.at)},
        "fits_stock": not over_stock(candidate, scene.tube),
        "elbows": candidate.elbows,
        "departures": list(candidate.departures_deg),
        "turns": list(candidate.turns_deg),
        "doubts": [doubt_document(one) for one in candidate_doubts(scene, candidate)],
    }
