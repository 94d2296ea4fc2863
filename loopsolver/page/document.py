"""What the page shows of a scene or plan, as plain values: words, and lengths in mm.

All figures that are read are words already, in the unit of the scene; numbers are for
the pictures alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from loopsolver import __version__
from loopsolver.lengths import lengths_for
from loopsolver.page.bench import bench_values
from loopsolver.page.shapes import directions, end_values, numbers, scene_values, solids
from loopsolver.plan import Plan, PlannedRun, touches, ways_out
from loopsolver.plan.model import AS_BUILT
from loopsolver.report.bench import bench_words
from loopsolver.report.bending import (
    Setup,
    bend_sentences,
    bender_words,
    candidate_words,
    clockwise_words,
    marks_table,
    plane_table,
    stock_sentences,
)
from loopsolver.report.lacking import missing_words, not_shown_words, why_lines
from loopsolver.report.loop import loop_sentences
from loopsolver.report.nearness import touch_remark
from loopsolver.report.side_by_side import (
    Beside,
    beside,
    side_by_side_remarks,
    side_by_side_table,
)
from loopsolver.report.text_table import TextTable
from loopsolver.report.turns import turn_sentences
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tube.centreline import sample
from loopsolver.view.camera import best_eye
from loopsolver.view.ends import run_ends
from loopsolver.view.selection import (
    Subject,
    ViewSelection,
    ports_of,
    runs_of,
    scene_of,
)
from loopsolver.words import listed
from loopsolver.workshop.cautions import cautions

_SPACING = 6.0
"""Distance between the points by which the first view is chosen [mm]."""


def page_values(subject: Subject, selection: ViewSelection) -> dict[str, Any]:
    """Return all that the page shows; `selection` is what it shows first."""
    scene, runs = scene_of(subject), runs_of(subject)
    told = _plan_values(subject) if isinstance(subject, Plan) else _unplanned(subject)
    return {
        "madeBy": f"loopsolver {__version__}",
        "title": scene.title or scene.file_name,
        "first": {"run": selection.run, "rank": selection.rank},
        "scene": {**scene_values(scene, runs), "eye": _eye(subject)},
        "cautions": [list(one) for one in cautions(scene.tube.material)],
        **told,
    }


def _eye(subject: Subject) -> list[float]:
    """Return the direction from the build to the eye that sees its tubes best."""
    scene = scene_of(subject)
    lines = [
        sample(run.tube_in_place.centreline, spacing=_SPACING)
        for run in runs_of(subject)
        if isinstance(run, PlannedRun) and run.tube_in_place is not None
    ]
    bodies = [body.solid for part in scene.components for body in part.bodies]
    return directions(best_eye(lines, bodies, sides=scene.sides).towards_eye)


def _unplanned(scene: Scene) -> dict[str, Any]:
    """Return what there is to tell of a scene that is not routed yet."""
    return {
        "runs": [_wanted(scene, run) for run in scene.runs],
        "loop": [],
        "notes": [],
    }


def _wanted(scene: Scene, run: RunRequest) -> dict[str, Any]:
    starts, goals = (listed(ports, last="or") for ports in ports_of(run))
    return {
        "name": run.name,
        "joins": f"{starts} to {goals}",
        "inPlace": None,
        "why": ["not routed yet: `loopsolver route` looks for its tubes"],
        "comparison": None,
        "tubes": [],
        **end_values(scene, run),
    }


def _plan_values(plan: Plan) -> dict[str, Any]:
    more = beside(plan, plan.runs)
    return {
        "runs": [_run(plan, run, more) for run in plan.runs],
        "loop": [*_loop(plan), *(more.drops.remarks if more.drops else ())],
        "notes": [*_notes(plan), *more.fits.remarks],
    }


def _loop(plan: Plan) -> Iterator[str]:
    """Yield the loop in sentences, and which chosen tubes are too near to each other."""
    lengths, clearance = lengths_for(plan.scene.units), plan.scene.rules.clearance
    if len(plan.runs) > 1:
        yield from loop_sentences(plan)
    for touch in touches(plan):
        yield touch_remark(
            touch, ways_out(plan, touch), clearance=clearance, lengths=lengths
        )


def _notes(plan: Plan) -> Iterator[str]:
    if plan.is_edited:
        yield not_shown_words()
    yield from missing_words(plan)


def _run(plan: Plan, run: PlannedRun, more: Beside) -> dict[str, Any]:
    """Return a run with its candidates, the built tube first where there is one."""
    is_empty = not run.candidates and run.built is None
    ranks = run.ranks if run.built is None else (AS_BUILT, *run.ranks)
    remarks = side_by_side_remarks(plan, run, run.ranks, more=more)
    return {
        "name": run.name,
        "joins": f"{run.from_port} to {run.to_port}",
        "inPlace": run.rank_in_place,
        "why": list(why_lines(run)) if run.tube_in_place is None else [],
        "comparison": None
        if is_empty
        else {
            "table": _table(side_by_side_table(plan, run, run.ranks, more=more)),
            "ranks": list(ranks),
            "remarks": [[heading, told] for heading, told in remarks if told],
        },
        "tubes": [_tube(plan, run, rank) for rank in ranks],
        **(end_values(plan.scene, run) if is_empty else {}),
    }


def _tube(plan: Plan, run: PlannedRun, rank: int) -> dict[str, Any]:
    """Return a candidate, or the tube as built, of which there is nothing to bend."""
    candidate, scene = run.candidate(rank), plan.scene
    is_built = rank == AS_BUILT
    setup = Setup(run=run, rank=rank, scene=scene)
    return {
        "rank": rank,
        "ports": list(setup.ends),
        "name": "the tube as built" if is_built else candidate_words(setup),
        "figures": [list(figure) for figure in _figures(candidate, setup)],
        "vertices": numbers(candidate.centreline.vertices),
        "radius": candidate.centreline.radius,
        "gapAt": numbers(candidate.gap.at),
        "fittings": solids(
            solid
            for side in run_ends(scene, run, candidate)
            for end in side
            for solid in end.fitting
        ),
        "bending": None if is_built else _bending(setup),
        "bench": None if is_built else bench_values(plan, run, rank),
    }


def _figures(candidate: Candidate, setup: Setup) -> Iterator[tuple[str, str]]:
    text = setup.lengths.text
    yield "length", text(candidate.length)
    yield "blank", text(candidate.blank)
    yield "gap", f"{text(candidate.gap.distance)} to {candidate.gap.name}"


def _bending(setup: Setup) -> dict[str, Any]:
    """Return a candidate as it is bent: what `loopsolver bends` prints of it."""
    candidate, text = setup.candidate, setup.lengths.text
    has_bends, has_turns = candidate.bends > 0, len(setup.stretches) > 1
    told = bench_words(setup.scene, setup.run, candidate, text=text)
    return {
        "sentences": [*stock_sentences(setup), *bend_sentences(setup)],
        "doubts": [one.sentence for one in told],
        "planes": [
            {
                "heading": f"Plane {number}",
                "turn": ""
                if number == 1
                else turn_sentences(stretch.turn_deg, number=stretch.first),
                "table": _table(plane_table(setup, stretch)),
            }
            for number, stretch in enumerate(setup.stretches, start=1)
        ]
        if has_bends
        else [],
        "closing": f"Closing straight: {text(candidate.table.closing_straight)}",
        "clockwise": clockwise_words(setup.ends) if has_turns else "",
        "marks": _table(marks_table(setup)) if has_bends else None,
        "bender": ""
        if setup.tube.is_bent_hot or not has_bends
        else bender_words(setup.ends),
    }


def _table(told: TextTable) -> dict[str, Any]:
    return {
        "headings": [heading.split("\n") for heading in told.headings],
        "rows": [list(row) for row in told.rows],
        "words": sorted(told.words),
        "strong": sorted(told.strong),
    }
