"""Runs and candidates as a plan file holds them, with rounded figures, and back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields, is_dataclass, replace
from itertools import zip_longest
from typing import Any

from loopsolver.clearance.obstacles import Gap
from loopsolver.plan.document import (
    BendRowDocument,
    BuiltDocument,
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
from loopsolver.tube.bend_table import BendTable
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


def table_rows(table: BendTable) -> tuple[BendRowDocument, ...]:
    """Return a bend table row by row."""
    bends = (
        BendRowDocument(
            straight=bend.straight, rotation=bend.rotation_deg, angle=bend.angle_deg
        )
        for bend in table.bends
    )
    return (*bends, BendRowDocument(straight=table.closing_straight))


def candidate_document(candidate: Candidate, *, rank: int) -> CandidateDocument:
    """Return what stands in a plan file of a candidate; its limits are not looked at."""
    gap = candidate.gap
    return CandidateDocument.model_construct(
        rank=rank,
        bends=candidate.bends,
        planes=candidate.planes,
        length=candidate.length,
        blank=candidate.blank,
        trim_allowance=candidate.trim_allowance,
        take_up=candidate.take_up,
        gap=gap.distance,
        nearest=NearestDocument.model_construct(name=gap.name, at=gap.at),
        bend_radius=candidate.centreline.radius,
        elbows=candidate.elbows,
        ends=tuple(EndDocument.model_validate(end) for end in candidate.ends),
        departures=candidate.departures_deg,
        vertices=candidate.centreline.vertices,
        bend_table=table_rows(candidate.table),
    )


def built_document(built: Candidate) -> BuiltDocument:
    """Return what stands in a plan file of a tube as it was built."""
    return BuiltDocument(
        bend_table=table_rows(built.table),
        vertices=built.centreline.vertices,
        bend_radius=built.centreline.radius,
        gap=built.gap.distance,
        nearest=NearestDocument.model_construct(name=built.gap.name, at=built.gap.at),
        ends=tuple(EndDocument.model_validate(end) for end in built.ends),
    )


def built_of(run: RunDocument) -> Candidate | None:
    """Return the built tube that stands in a plan file of a run, if there is one.

    What does not stand there of its ends and its radius is as of the candidate that was
    chosen. Nothing is cut off it any more.
    """
    built = run.built
    if built is None:
        return None
    bent_from = run.candidates[(run.chosen or 1) - 1] if run.candidates else None
    told = built.ends or (bent_from.ends if bent_from else ())
    radius = built.bend_radius or (bent_from.bend_radius if bent_from else math.nan)
    near = built.nearest
    return Candidate(
        centreline=Centreline(vertices=built.vertices, radius=radius),
        gap=Gap(
            distance=math.nan if built.gap is None else built.gap,
            name="" if near is None else near.name,
            at=built.vertices[0] if near is None else near.at,
        ),
        trim_allowance=0.0,
        ends=_ends_of(told),
    )


def _ends_of(told: Sequence[EndDocument]) -> tuple[EndFitting, ...]:
    return tuple(EndFitting(**dict(end)) for end in told)


def candidate_of(document: CandidateDocument) -> Candidate:
    """Return the candidate that stands in a plan file."""
    return Candidate(
        centreline=Centreline(vertices=document.vertices, radius=document.bend_radius),
        gap=Gap(distance=document.gap, **dict(document.nearest)),
        trim_allowance=document.trim_allowance,
        take_up=document.take_up,
        ends=_ends_of(document.ends),
        standard_deg=STANDARD_DEG if document.departures else (),
    )


def total_of(plan: PlanDocument, *, by: str) -> tuple[float, ...]:
    """Return what the candidates add up to that a plan file chooses, part by part.

    A built tube that the others were chosen round stands in place of its run's.
    """
    kept = plan.loop.kept if plan.loop is not None else ()
    chosen = []
    for run in plan.runs:
        built = built_of(run) if run.name in kept else None
        if built is not None:
            chosen.append(built)
        elif run.chosen:
            chosen.append(candidate_of(run.candidates[run.chosen - 1]))
    costs = [RANKINGS[by](one) for one in chosen]
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
    built = None if run.built is None else built_document(as_written(run.built))
    told = {one.name: getattr(run, one.name) for one in fields(run)}
    return RunDocument.model_validate(
        {**told, "candidates": candidates, "built": built}
    )


def planned_run(document: RunDocument) -> PlannedRun:
    """Return the run that stands in a plan file.

    Between the ports of its built tube, or of the candidate that is chosen now, which
    may not have been then.
    """
    candidates = tuple(candidate_of(one) for one in document.candidates)
    built = built_of(document)
    ends = candidates[(document.chosen or 1) - 1].ends if candidates else ()
    if built is not None and built.ends:
        ends = built.ends
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
        built=built,
    )
