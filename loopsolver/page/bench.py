"""The work on one tube for the page: screen after screen, and the tube as it is bent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from loopsolver.plan import Plan, PlannedRun
from loopsolver.report.angles import degree_sign
from loopsolver.report.bent_tube import hold_at
from loopsolver.report.turns import turn_on_sheet, way_on_sheet
from loopsolver.tube.bend_table import Bend
from loopsolver.tube.marks import BendMark
from loopsolver.workshop.bench_figures import job_marks
from loopsolver.workshop.cautions import (
    LEAK_TEST,
    Caution,
    bending_cautions,
    cautions,
    cutting_cautions,
)
from loopsolver.workshop.job import Job, job_of
from loopsolver.workshop.port_check import check_words, held_words, port_check
from loopsolver.workshop.steps import (
    CUT_BLANK,
    CUT_ENDS,
    MARK_BENDS,
    Step,
    steps_after,
    steps_before,
    steps_of_bend,
)

Screen = dict[str, Any]


def bench_values(plan: Plan, run: PlannedRun, rank: int) -> dict[str, Any]:
    """Return the work on a candidate: lengths [mm] and angles [degrees], and the words.

    Parameters
    ----------
    plan : Plan
    run : PlannedRun
        Of the plan.
    rank : int
        Of the candidate that is bent.
    """
    meant = replace(run, chosen=rank)
    job = job_of(plan, meant)
    table, tube = job.table, job.tube
    back = tube.springback

    def held_deg(angle_deg: float) -> float:
        return angle_deg if back is None else back.held_deg(angle_deg)

    return {
        "radius": table.radius,
        "tubeRadius": tube.radius,
        "trim": job.trim_allowance,
        "takeUp": tube.take_up,
        "closing": table.closing_straight,
        "ends": [job.first.port, job.last.port],
        "bends": [
            {
                "straight": bend.straight,
                "rotation": bend.rotation_deg,
                "angle": bend.angle_deg,
                "held": bend.angle_deg
                if back is None
                else back.held_deg(bend.angle_deg),
                "marks": [mark.start, mark.centre, mark.end],
                "heat": (
                    [mark.heated_from, mark.heated_to] if tube.is_bent_hot else None
                ),
                "turn": turn_on_sheet(bend, number=mark.number),
            }
            for bend, mark in zip(table.bends, job_marks(job), strict=True)
        ],
        "screens": [_ports_screen(plan, meant, job), *_screens(job)],
    }


def _ports_screen(plan: Plan, run: PlannedRun, job: Job) -> Screen:
    """Return what is to be measured in the case before tube is cut."""
    check = port_check(plan, run)
    return _screen(
        "blank",
        title="Before you cut: do the ports lie where the plan has them?",
        facts=[
            (": ".join(held_words(held, check)), job.length(held.length))
            for held in check.held
        ],
        steps=[("", *check_words(check, job))],
    )


def _screens(job: Job) -> Iterator[Screen]:
    """Yield a screen for each step before the bends, each bend, and each step after."""
    material, count = job.tube.material, len(job.table.bends)
    work = cautions(material) if count else cutting_cautions(material)
    before = tuple(one for one in work if one is not LEAK_TEST)
    for step in steps_before(job):
        yield _step_screen("blank", step, job, care=before)
    for bend, mark in zip(job.table.bends, job_marks(job), strict=True):
        yield _screen(
            "bend",
            title=f"Bend {mark.number} of {count}",
            facts=list(_bend_facts(job, bend, mark)),
            steps=steps_of_bend(job, mark.number),
            care=bending_cautions(material),
            bend=mark.number,
        )
    for step in steps_after(job):
        yield _step_screen("bent", step, job, care=cutting_cautions(material))


def _step_screen(
    stage: str, step: Step, job: Job, *, care: Sequence[Caution]
) -> Screen:
    """Return the screen of one step, with the lengths that it goes by."""
    head, *how = step
    places = {
        f"Bend {mark.number}: start, centre, end": (
            f"{job.bare(mark.start)}, {job.bare(mark.centre)}, {job.length(mark.end)}"
        )
        for mark in job_marks(job)
    }
    facts = {
        CUT_BLANK: {"Blank": job.length(job.blank)},
        MARK_BENDS: places,
        CUT_ENDS: {
            "Off each end": job.length(job.trim_allowance),
            "Left": job.length(job.finished),
        },
    }
    found = list(facts.get(head, {}).items())
    return _screen(stage, title=head, facts=found, steps=[("", *how)], care=care)


def _bend_facts(job: Job, bend: Bend, mark: BendMark) -> Iterator[tuple[str, str]]:
    """Yield the figures of a bend, each under what it is."""
    turn = turn_on_sheet(bend, number=mark.number)
    if turn:
        yield "First", turn
    held = hold_at(job.tube, bend.angle_deg)
    if held:
        yield "Hold at", f"{held}°"
    yield "Angle", degree_sign(bend.angle_deg)
    is_hot = job.tube.is_bent_hot
    low, high = (mark.heated_from, mark.heated_to) if is_hot else (mark.start, mark.end)
    yield "Heat" if is_hot else "From start to end mark", job.span(low, high)
    yield "Centre mark", job.length(mark.centre)
    way = way_on_sheet(bend, number=mark.number)
    if way:
        yield "It lies", way.removeprefix("points ")


def _screen(
    stage: str,
    *,
    title: str,
    steps: Sequence[Step],
    facts: Sequence[tuple[str, str]] = (),
    care: Sequence[Caution] = (),
    bend: int = 0,
) -> Screen:
    """Return a screen; its picture is the blank, a bend in hand, or the bent tube."""
    return {
        "stage": stage,
        "bend": bend,
        "title": title,
        "facts": [list(fact) for fact in facts],
        "steps": [
            {"head": head, "text": text, "lines": lines} for head, text, *lines in steps
        ],
        "care": [list(one) for one in care],
    }
