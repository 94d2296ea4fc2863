"""Runs and candidates as a plan file holds them: rounded, as plain values, and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from loopsolver.clearance.obstacles import Gap
from loopsolver.plan.model import LoopSummary, PlannedRun
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.diagnosis.no_route import InTheWay
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.tolerances import WRITTEN, WRITTEN_DECIMALS
from loopsolver.tube.centreline import Centreline

if TYPE_CHECKING:
    from loopsolver.geometry.vectors import Point
    from loopsolver.plan.document import (
        CandidateDocument,
        PlanDocument,
        RunDocument,
    )


def as_written(candidate: Candidate) -> Candidate:
    """Return a candidate with its figures rounded as they stand in a plan file."""
    line, gap = candidate.centreline, candidate.gap
    return replace(
        candidate,
        centreline=replace(
            line,
            vertices=tuple(rounded_point(vertex) for vertex in line.vertices),
            radius=rounded(line.radius),
        ),
        gap=replace(gap, distance=rounded(gap.distance), at=rounded_point(gap.at)),
        trim_allowance=rounded(candidate.trim_allowance),
        ends=tuple(
            replace(
                end, outlet=rounded_point(end.outlet), mouth=rounded_point(end.mouth)
            )
            for end in candidate.ends
        ),
        standard_deg=candidate.standard_deg if candidate.bends else (),
    )


def figures(candidate: Candidate) -> dict[str, Any]:
    """Return what a plan file says of a candidate that its vertices and radius give."""
    table = candidate.table
    rows: list[dict[str, float]] = [
        {
            "straight": rounded(bend.straight),
            "rotation": _rounded_rotation(bend.rotation_deg),
            "angle": rounded(bend.angle_deg),
        }
        for bend in table.bends
    ]
    rows.append({"straight": rounded(table.closing_straight)})
    return {
        "bends": candidate.bends,
        "planes": candidate.planes,
        "length": rounded(candidate.length),
        "blank": rounded(candidate.blank),
        "bend_table": rows,
    }


def candidate_of(document: CandidateDocument) -> Candidate:
    """Return the candidate that stands in a plan file."""
    nearest = document.nearest
    return Candidate(
        centreline=Centreline(
            vertices=document.vertices, radius=float(document.bend_radius)
        ),
        gap=Gap(distance=document.gap, name=nearest.name, at=nearest.at),
        trim_allowance=document.trim_allowance,
        ends=tuple(
            EndFitting(
                port=end.port,
                fitting=end.fitting,
                outlet=end.outlet,
                mouth=end.mouth,
                is_elbow=end.elbow,
            )
            for end in document.ends
        ),
        standard_deg=STANDARD_DEG if document.departures else (),
    )


def loop_document(loop: LoopSummary | None) -> dict[str, Any]:
    """Return what stands in a plan file of the loop's choice; nothing if it was by hand."""
    if loop is None:
        return {}
    return {
        "loop": {
            "by": loop.by,
            "total": [rounded(part) for part in loop.total],
            "bound": [rounded(part) for part in loop.bound],
            "proven": loop.is_proven,
            "ended": loop.ended,
            "rounds": loop.rounds,
            "routes": loop.pool,
            "for_parallel": rounded(loop.for_parallel),
            **({"kept": list(loop.kept)} if loop.kept else {}),
        }
    }


def total_of(plan: PlanDocument, *, by: str) -> tuple[float, ...]:
    """Return what the candidates add up to that a plan file chooses, part by part."""
    chosen = [run.candidates[run.chosen - 1] for run in plan.runs if run.chosen]
    costs = [RANKINGS[by](candidate_of(one)) for one in chosen]
    return tuple(sum(parts) for parts in zip(*costs, strict=True))


def is_total(said: Sequence[float], total: Sequence[float]) -> bool:
    """Return whether a total that stands in a file is another one, but for rounding."""
    return all(
        abs(one - other) <= WRITTEN
        for one, other in zip_longest(said, total, fillvalue=0.0)
    )


def loop_summary(plan: PlanDocument) -> LoopSummary | None:
    """Return how the choice was made; None where the choices have been changed since."""
    document = plan.loop
    if document is None or document.by not in RANKINGS:
        return None
    if not is_total(document.total, total_of(plan, by=document.by)):
        return None
    return LoopSummary(
        by=document.by,
        total=document.total,
        bound=document.bound,
        is_proven=document.proven,
        ended=document.ended,
        rounds=document.rounds,
        pool=document.routes,
        for_parallel=document.for_parallel,
        kept=document.kept,
    )


def run_document(run: PlannedRun) -> dict[str, Any]:
    """Return what stands in a plan file of one run, as plain JSON values."""
    document: dict[str, Any] = {
        "name": run.name,
        "from": run.from_port,
        "to": run.to_port,
        "chosen": run.chosen,
    }
    if run.why is not None:
        document["why"] = run.why
    if run.in_the_way:
        document["in_the_way"] = [
            {
                "run": one.run,
                "gap": rounded(one.gap),
                "at": list(rounded_point(one.at)),
            }
            for one in run.in_the_way
        ]
    document["refused"] = run.refused
    document["candidates"] = [
        _candidate_document(rank, as_written(candidate))
        for rank, candidate in enumerate(run.candidates, start=1)
    ]
    return document


def _candidate_document(rank: int, candidate: Candidate) -> dict[str, Any]:
    derived = figures(candidate)
    table = derived.pop("bend_table")
    gap = candidate.gap
    return {
        "rank": rank,
        **derived,
        "trim_allowance": candidate.trim_allowance,
        "gap": gap.distance,
        "nearest": {"name": gap.name, "at": list(gap.at)},
        "bend_radius": candidate.centreline.radius,
        "elbows": candidate.elbows,
        "ends": [
            {
                "port": end.port,
                "fitting": end.fitting,
                "outlet": list(end.outlet),
                "mouth": list(end.mouth),
                "elbow": end.is_elbow,
            }
            for end in candidate.ends
        ],
        **_departures(candidate),
        "vertices": [list(vertex) for vertex in candidate.centreline.vertices],
        "bend_table": table,
    }


def _departures(candidate: Candidate) -> dict[str, list[float]]:
    """Return the departures of a candidate whose angles were free, else nothing."""
    off = [rounded(value) for value in candidate.departures_deg]
    return {"departures": off} if candidate.standard_deg else {}


def planned_run(document: RunDocument) -> PlannedRun:
    """Return the run that stands in a plan file.

    Between the ports of the candidate that is chosen now, which may not have been then.
    """
    candidates = tuple(candidate_of(one) for one in document.candidates)
    ends = candidates[(document.chosen or 1) - 1].ends if candidates else ()
    first, last = (end.port for end in ends) if len(ends) == 2 else ("", "")
    return PlannedRun(
        name=document.name,
        from_port=first or document.from_port,
        to_port=last or document.to_port,
        candidates=candidates,
        chosen=document.chosen,
        why=document.why,
        in_the_way=tuple(
            InTheWay(run=one.run, gap=one.gap, at=one.at) for one in document.in_the_way
        ),
        refused=document.refused,
    )


def rounded(value: float) -> float:
    """Return a figure as it stands in the file, never as minus zero."""
    return round(float(value), WRITTEN_DECIMALS) + 0.0


def _rounded_rotation(rotation_deg: float) -> float:
    """Return a rotation as it stands in the file, in (-180, 180]."""
    told_deg = rounded(rotation_deg)
    return 180.0 if told_deg <= -180.0 else told_deg


def rounded_point(values: Point) -> Point:
    """Return a point as it stands in the file."""
    x, y, z = values
    return (rounded(x), rounded(y), rounded(z))
