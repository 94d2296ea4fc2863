"""The steps of the work on one tube, in order, with the tube's own numbers.

Where no source is named, a step is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from loopsolver.report.angles import degree_sign
from loopsolver.report.bending import bender_words
from loopsolver.report.bent_tube import hold_at
from loopsolver.report.turns import turn_on_sheet, way_on_sheet
from loopsolver.tolerances import TOUCH
from loopsolver.tube.below_former import below_former
from loopsolver.tube.bench_doubts import HeatInBend, HeatInFitting
from loopsolver.tube.marks import BendMark, heat_reach
from loopsolver.tube.planes import plane_stretches
from loopsolver.tube.setting_out import arc_length
from loopsolver.tube.stock import COLD_HOLD
from loopsolver.workshop.bench_figures import (
    INSERT_GRIP,
    has_turns,
    heat_words,
    heated_marks,
    insert_length,
    job_doubts,
    job_marks,
    stop_words,
)
from loopsolver.workshop.job import Job, SheetEnd

Step = tuple[str, ...]
"""One step of the work: its head, how it is done, and what is set in, a line each."""


_SOFTEN: Final[Step] = (
    "Soften hard tube, if you need to",
    "Optional: annealed tube bends with less force and round tighter formers. "
    "It takes a flame: only where open fire is allowed, and by someone used to "
    "it. Let the tube cool, then clean it.",
)


CUT_BLANK: Final = "Cut the blank"
MARK_BENDS: Final = "Mark the bends"
CUT_ENDS: Final = "Cut both ends to the line"
"""Heads of the steps that go by lengths."""


def work_steps(job: Job) -> tuple[Step, ...]:
    """Return the steps for one tube in the order of the work.

    Plastic tube is bent hot over an insert, copper cold in a hand bender; both are bent
    before their ends are cut to length.
    """
    bends = job_marks(job)
    bending = (*_bending(job, bends), *_check_and_next(job)) if bends else ()
    return (*steps_before(job), *bending, *steps_after(job))


def steps_before(job: Job) -> tuple[Step, ...]:
    """Return the steps that come before the first bend."""
    steps = [*_test_bends(job), _cut_blank(job)]
    if job.table.bends:
        # Marks would not outlive the flame, so copper is softened before it is marked.
        steps += [] if job.tube.is_bent_hot else [_SOFTEN]
        steps += [_mark(job), *([_insert(job)] if job.tube.is_bent_hot else [])]
    return tuple(steps)


def steps_of_bend(job: Job, number: int) -> tuple[Step, ...]:
    """Return the steps of one bend, counted from 1, with what is told of it alone."""
    mark = job_marks(job)[number - 1]
    head, *how = _CHECK
    told = (*_shared_heat(job, number), *_reheated(job, number))
    return (*_bending(job, (mark,)), (head, *how, *told))


def steps_after(job: Job) -> tuple[Step, ...]:
    """Return the steps that come after the last bend."""
    whole = (_check_whole(job),) if job.table.bends else ()
    return (*whole, _trim(job), *_ending(job))


def _cut_blank(job: Job) -> Step:
    tool = (
        "with a tube cutter, a little feed a turn, and take off the burr inside"
        if job.tube.material == "copper"
        else "with a fine saw, square, and ease the edge inside so that nothing scrapes"
    )
    return (
        CUT_BLANK,
        f"{job.length(job.blank)} long, {tool}. Name one end the first end: it goes to "
        f"{job.first.port}, and every mark is measured from it.",
    )


def _test_bends(job: Job) -> Iterator[Step]:
    """Yield how to make the test bends that the scene does not have.

    At 30 and 90 degrees, or at 20 and 120 where a bend is sharper: an article of a
    bending machine's builder. Legs long enough to hold: common practice, no source.
    """
    if not job.table.bends or job.tube.springback is not None:
        return
    sharpest_deg = max(bend.angle_deg for bend in job.table.bends)
    angles_deg = (30.0, 90.0) if sharpest_deg <= 90.0 else (20.0, 120.0)
    leg = COLD_HOLD + heat_reach(job.tube.outer_diameter)
    arc = arc_length(job.table.radius, math.radians(angles_deg[-1]))
    little, much = map(degree_sign, angles_deg)
    yield (
        "Make two test bends",
        f"On spare pieces of {job.length(2.0 * leg + arc)}, over the same former, hold "
        f"{little} and {much} until cold. What they got, with blank and legs, goes into "
        "the scene as [[test_bends]]; print again to see what to hold.",
    )


def _mark(job: Job) -> Step:
    """Return how the marks get through the strip onto the tube that it covers."""
    is_copper = job.tube.material == "copper"
    turns = ", on its inside" if has_turns(job) else ""
    pen = "a felt pen" if is_copper else "a wax crayon (solvents craze the tube)"
    off = "" if is_copper else " Take the strip off before you heat."
    return (
        MARK_BENDS,
        "Cut the diamonds out of the strip and tape it round the blank, its zero on "
        f"the first end. With {pen} draw a cross through each, corner to corner: a "
        f"bend's start, centre or end{turns}. Measure what has none from the bend "
        f"table.{off}",
    )


def _insert(job: Job) -> Step:
    return (
        "Wet the insert and slide it in",
        f"An insert that fits the bore of {job.size(job.tube.inner_diameter)}, "
        f"at least {job.length(insert_length(job))} long: from the nearer end it "
        f"lies under every length to heat, and {job.length(INSERT_GRIP)} stand out "
        "to draw it by. A film of water is enough: shake off the drops, and leave "
        "both ends of the tube open.",
    )


def _bending(job: Job, bends: Sequence[BendMark]) -> Iterator[Step]:
    """Yield the steps that bend a tube, with a line for each of some bends.

    Plastic hot and over an insert, copper cold in a hand bender.
    """
    if not job.tube.is_bent_hot:
        yield _bend_cold(job, bends)
        return
    limit = stop_words(job.tube.material)
    stop = f" and below {limit}" if limit else ""
    yield (
        "Heat, turning the tube",
        "Warm the length to heat evenly, the air always moving and the tube always "
        "turning, until it sags by itself: usually at "
        f"{heat_words(job)}{stop}. Stop if it bubbles, clouds or smokes.",
        *_shaded_ends(job, bends),
    )
    yield (
        "Bend over the former",
        f"Radius {job.size(job.table.radius)} to the centre line. In one "
        f"motion, the centre mark on the middle of the former, {_how_far(job)}."
        f"{_seen_words(job)}",
        *_bend_lines(job, bends),
        *_below_lines(job),
    )
    yield (
        "Hold",
        "Keep it on the former, still, until it is stiff and no more than warm to "
        "the hand. Do not quench it.",
    )


def _bend_cold(job: Job, bends: Sequence[BendMark]) -> Step:
    return (
        "Bend in a hand bender",
        f"One that fits the outer diameter of "
        f"{job.size(job.tube.outer_diameter)} and bends round "
        f"{job.size(job.table.radius)} to the centre line; a loose former kinks "
        f"the tube. Cold. Pull evenly, {_how_far(job)}. "
        f"{bender_words((job.first.port, job.last.port))}"
        f"{_seen_words(job)}",
        *_bend_lines(job, bends),
        *_below_lines(job),
    )


def _how_far(job: Job) -> str:
    """Return how far a bend is bent, since it springs back."""
    if job.tube.springback is None:
        return "as far past the angle as a test bend springs back"
    return "to the angle to hold; let go, it springs back to its own"


def _bend_lines(job: Job, bends: Sequence[BendMark]) -> tuple[str, ...]:
    """Return a line for each bend: its angle, where it lies, how it is turned."""
    lines = []
    for mark in bends:
        bend = job.table.bends[mark.number - 1]
        verb, *ends = (
            ("heat", mark.heated_from, mark.heated_to)
            if job.tube.is_bent_hot
            else ("from", mark.start, mark.end)
        )
        held = hold_at(job.tube, bend.angle_deg)
        angle = degree_sign(bend.angle_deg)
        angle = f"hold at {held}° for {angle}" if held else angle
        said = f"Bend {mark.number}: {angle}, {verb} {job.span(*ends)}"
        if mark.number > 1:
            turn = turn_on_sheet(bend, number=mark.number)
            said += f"; {way_on_sheet(bend, number=mark.number)}"
            said += f" ({turn})" if turn else ""
        lines.append(f"{said}.")
    return tuple(lines)


def _shaded_ends(job: Job, bends: Sequence[BendMark]) -> tuple[str, ...]:
    """Return a line for each end whose grip gets hot, that it be shaded."""
    ports = (job.first.port, job.last.port)
    told_of = {mark.number for mark in bends}
    return tuple(
        f"Bend {one.bend}: shade the end for {ports[one.end]}. The heat reaches "
        f"{job.length(one.length)} into what its fitting grips, and a seal wants it "
        "round and smooth."
        for one in job_doubts(job)
        if isinstance(one, HeatInFitting) and one.bend in told_of
    )


def _below_lines(job: Job) -> tuple[str, ...]:
    """Return how far the bent part goes below a former that lies flat, if it does."""
    found = below_former(job.centreline, trim_allowance=job.trim_allowance)
    told = []
    for side, depths in (
        ("left", [(one.to_left, one.bend) for one in found]),
        ("right", [(one.to_right, one.bend) for one in found]),
    ):
        depth, bend = max(depths, key=lambda one: one[0], default=(0.0, 0))
        below = "not"
        if depth > job.tube.radius:
            below = f"by up to {job.length(depth + job.tube.radius)} (bend {bend})"
        told.append(f"{below} if it bends to the {side}")
    if all(words.startswith("not") for words in told):
        return ()
    return (
        "The bent part hangs below the groove of a former that lies flat and stays where "
        f"it is: {', '.join(told)}, seen along the tube from its first end. Raise the "
        "former, or set it at the bench's edge.",
    )


_CHECK: Final[Step] = (
    "Check on the template",
    "Lay the bend on the template of its plane: both edges must lie on the "
    "lines. If they do not, correct this bend before the next one.",
)


def _check_and_next(job: Job) -> Iterator[Step]:
    """Yield the check after each bend, and the way back to the next one."""
    yield _CHECK
    count = len(job.table.bends)
    if count == 1:
        return
    order = (
        "bend 1, then bend 2" if count == 2 else f"bends 1 to {count}, in that order"
    )
    insert = (
        " with the insert under the next length to heat" if heated_marks(job) else ""
    )
    yield (
        "Next bend",
        f"The same again{insert}: {order}.",
        *_shared_heat(job),
        *_reheated(job),
    )


def _seen_words(job: Job) -> str:
    """Return what the words of the turns mean, if the tube has one."""
    if not has_turns(job):
        return ""
    return (
        " Turns in brackets are for a former that stays where it is. A bend points to "
        "its inside; clockwise is as seen along the tube from its first end."
    )


def _shared_heat(job: Job, number: int | None = None) -> tuple[str, ...]:
    """Return a warning that names the neighbours whose heated lengths overlap.

    Of all bends, or of one and the bend before it.
    """
    shared = [
        f"{before.number} and {after.number} by {job.length(overlap)}"
        for before, after in pairwise(heated_marks(job))
        if (overlap := before.heated_to - after.heated_from) > TOUCH
        and number in {None, after.number}
    ]
    if not shared:
        return ()
    return (
        f"Heated lengths overlap: bends {', '.join(shared)}. Shade the bend that is done "
        "from the hot air.",
    )


def _reheated(job: Job, number: int | None = None) -> tuple[str, ...]:
    """Return a line for each bend that the heat for a later one, or for one, reaches."""
    return tuple(
        f"Check bend {one.done} again on its template after bend {one.bend}, whose heat "
        f"reaches {job.length(one.length)} into it."
        for one in job_doubts(job)
        if isinstance(one, HeatInBend) and number in {None, one.bend}
    )


def _check_whole(job: Job) -> Step:
    planes = len(plane_stretches(job.table))
    several = "both planes" if planes == 2 else f"all {planes} planes"
    sheets = "its template" if planes == 1 else f"the templates of {several}"
    return (
        "Check the whole tube",
        f"On {sheets}, then held to both ports in the case: it must point straight "
        "into both fittings.",
    )


def _trim(job: Job) -> Step:
    how = (
        "With the tube cutter, square: tape marks the line and saves the surface."
        if job.tube.material == "copper"
        else "Wind tape round at the line, clamp the tube softly and saw square with a "
        "fine saw, the last strokes without pressure."
    )
    return (CUT_ENDS, f"{_trim_words(job)} {how}")


def _trim_words(job: Job) -> str:
    """Return what is cut off and what must be left."""
    if not job.trim_allowance:
        return (
            "The blank had no trim allowance: take off only what makes the ends square; "
            f"{job.length(job.finished)} are wanted, measured along the centre line."
        )
    trim = job.length(job.trim_allowance)
    return (
        f"{trim} come off each end; {job.length(job.finished)} are left, measured "
        "along the centre line."
    )


def _ending(job: Job) -> Iterator[Step]:
    """Yield what is done with a tube that has its length."""
    copper = job.tube.material == "copper"
    yield (
        "Deburr and chamfer",
        "Deburr inside and outside. Chamfer the outer edge all round with coarse, "
        "then fine paper, wet, until it is smooth to the finger: an edge cuts the "
        "seal.",
    )
    yield ("Mark how far it goes in", _depth_words((job.first, job.last), job))
    wipe = (
        "until no chip is left"
        if copper
        else "with clean water; no alcohol or solvent, which can craze the tube"
    )
    yield (
        "Rinse and dry",
        f"Rinse inside and outside {wipe}. Let it dry right through.",
    )
    yield (
        "Fit",
        "Wet the seals with the liquid of the loop and push each end straight in, "
        "turning a little, up to its mark. A tube that has to be forced is not "
        "done: correct its bends.",
    )


def _depth_words(ends: Sequence[SheetEnd], job: Job) -> str:
    """Return how deep each end sits in its fitting."""
    depths = {end.port: end.fitting.depth for end in ends if end.fitting is not None}
    stop = "at the mark the tube has reached the stop in the fitting."
    if not depths:
        return "As deep as the fitting's maker says, at both ends."
    if len(set(depths.values())) == 1 and len(depths) == len(ends):
        return f"{job.length(min(depths.values()))} from both ends: {stop}"
    marks = [f"{job.length(mm)} from the end for {port}" for port, mm in depths.items()]
    return f"{' and '.join(marks)}: {stop}"
