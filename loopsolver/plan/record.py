"""Runs and candidates as a plan file holds them, with rounded figures, and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass, replace
from itertools import zip_longest
from typing import Any

from loopsolver.clearance.obstacles import Gap
from loopsolver.plan.document import (
    BendRowDocument,
    CandidateDocument,
    EndDocument,
    NearestDocument,
    PlanDocument,
    RunDocument,
    rounded,
)
from loopsolver.plan.model import LoopSummary, PlannedRun, WouldFit
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.diagnosis.no_route import InTheWay
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.routing.worth import STANDARD_DEG
from loopsolver.tolerances import WRITTEN
from loopsolver.tube.centreline import Centreline


def as_written(candidate: Candidate) -> Candidate:
    """Return a candidate with its figures rounded as they stand in a plan file."""
    written: Candidate = _all_rounded(candidate)
    return written if written.bends else replace(written, standard_deg=())


def _all_rounded(value: Any) -> Any:
    """Return a value with every figure in it as it stands in a plan file."""
    if isinstance(value, tuple):
        return tuple(_all_rounded(one) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        inside = {one.name: getattr(value, one.name) for one in fields(value)}
        return replace(value, **{key: _all_rounded(one) for key, one in inside.items()})
    return rounded(value) if isinstance(value, float) else value


def figures(candidate: Candidate) -> dict[str, Any]:
    """Return what a plan file says of a candidate that its vertices and radius give."""
    told = candidate_document(candidate, rank=1).told()
    return {
        key: told[key] for key in ("bends", "planes", "length", "blank", "bend_table")
    }


def candidate_document(candidate: Candidate, *, rank: int) -> CandidateDocument:
    """Return what stands in a plan file of a candidate; its limits are not looked at."""
    gap, table = candidate.gap, candidate.table
    rows = [
        BendRowDocument(
            straight=bend.straight, rotation=bend.rotation_deg, angle=bend.angle_deg
        )
        for bend in table.bends
    ]
    return CandidateDocument.model_construct(
        rank=rank,
        bends=candidate.bends,
        planes=candidate.planes,
        length=candidate.length,
        blank=candidate.blank,
        trim_allowance=candidate.trim_allowance,
        gap=gap.distance,
        nearest=NearestDocument.model_construct(name=gap.name, at=gap.at),
        bend_radius=candidate.centreline.radius,
        elbows=candidate.elbows,
        ends=tuple(EndDocument.model_validate(end) for end in candidate.ends),
        departures=candidate.departures_deg,
        vertices=candidate.centreline.vertices,
        bend_table=(*rows, BendRowDocument(straight=table.closing_straight)),
    )


def candidate_of(document: CandidateDocument) -> Candidate:
    """Return the candidate that stands in a plan file."""
    return Candidate(
        centreline=Centreline(vertices=document.vertices, radius=document.bend_radius),
        gap=Gap(distance=document.gap, **dict(document.nearest)),
        trim_allowance=document.trim_allowance,
        ends=tuple(EndFitting(**dict(end)) for end in document.ends),
        standard_deg=STANDARD_DEG if document.departures else (),
    )


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
    loop = plan.loop
    if loop is None or loop.by not in RANKINGS:
        return None
    if not is_total(loop.total, total_of(plan, by=loop.by)):
        return None
    would_fit = None if loop.would_fit is None else WouldFit(**dict(loop.would_fit))
    return LoopSummary(**{**dict(loop), "would_fit": would_fit})


def run_document(run: PlannedRun) -> RunDocument:
    """Return what stands in a plan file of one run."""
    candidates = tuple(
        candidate_document(as_written(one), rank=rank)
        for rank, one in enumerate(run.candidates, start=1)
    )
    told = {one.name: getattr(run, one.name) for one in fields(run)}
    return RunDocument.model_validate({**told, "candidates": candidates})


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
        in_the_way=tuple(InTheWay(**dict(one)) for one in document.in_the_way),
        refused=document.refused,
    )
