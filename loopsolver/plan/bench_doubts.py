"""Candidates that are hard to bend at a bench: which, and by how much."""

from __future__ import annotations

from loopsolver.plan.model import PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tube.bench_doubts import BenchDoubt, bench_doubts


def candidate_doubts(scene: Scene, candidate: Candidate) -> tuple[BenchDoubt, ...]:
    """Return what is doubtful about bending a candidate.

    An end of which the candidate does not say what holds it counts as not gripped.
    """
    first, last = _depths(scene, candidate) or (0.0, 0.0)
    return bench_doubts(
        candidate.table,
        tube=scene.tube,
        trim_allowance=candidate.trim_allowance,
        depths=(first, last),
    )


def _depths(scene: Scene, candidate: Candidate) -> list[float]:
    """Return how far either end goes into its fitting [mm]; empty where not settled."""
    return [
        next(
            (
                fitting.depth
                for fitting in scene.port(end.port).fittings
                if fitting.name == end.fitting
            ),
            0.0,
        )
        for end in candidate.ends
    ]


def end_names(run: PlannedRun, candidate: Candidate) -> tuple[str, str]:
    """Return the ports of a candidate's first and last end."""
    if not candidate.ends:
        return run.from_port, run.to_port
    first, last = candidate.ends
    return first.port, last.port
