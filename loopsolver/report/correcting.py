"""What to do with a bent tube, in words: never in signs, and in millimetres too."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from loopsolver.fitup.advice import Advice, Cure, Reached, Why
from loopsolver.fitup.correction import MOST_CHANGE_DEG, BendChange
from loopsolver.lengths import Lengths, fixed
from loopsolver.plan import PlannedRun
from loopsolver.report.angles import clock_sense, degrees
from loopsolver.report.bending import clockwise_words
from loopsolver.report.bent_tube import hold_at
from loopsolver.report.nearness import within_or_into
from loopsolver.scene.model import Scene
from loopsolver.tube.stock import Tube
from loopsolver.words import by_number, listed

_ROLLED: Final = 0.25  # degrees: less is not worth a word
_STRAINED: Final = 3.0  # spreads of a reading: with more, readings do not go together
_SLIP_DEG: Final = 15.0  # more is no badly bent bend but another one, or a slip
_SLIP: Final = 10.0  # [mm]
_ENDS: Final = ("first", "far")

_WHY: Final[dict[Why, str]] = {
    "trim": "the trim runs out before it fits",
    "heat": "the heat would reach what must stay cold",
    "wall": "its bends are tighter than the material bears, and more heat makes the wall "
    "outside them thinner still",
    "cold": "copper that was bent cold cracks when it is bent back or turned (or anneal it "
    "first)",
    "much": f"no change of up to {degrees(MOST_CHANGE_DEG)} at one bend or two mends it",
}

HEATED_AGAIN: Final = (
    "Heat a bend again once or twice at most: bubbles and haze add up. Take the tube out "
    "of its fittings first; near a bonded joint do not heat it (common practice, no "
    "source)."
)
"""What to mind where a bend is heated a second time."""


def advice_sentences(told: Advice, scene: Scene, lengths: Lengths) -> Iterator[str]:
    """Yield what to do with a tube, the least first."""
    if told.fits:
        yield f"It fits as it is{_placing(told.as_it_is, told, lengths)}."
        yield from _nearness(told.as_it_is, scene, lengths)
        leads = ["With more room, by heat"]
    else:
        yield "It does not fit as it is."
        leads = ["Best", "Second best"]
    for lead, cure in zip(leads, told.cures, strict=False):
        yield f"{lead}: {cure_words(cure, told, scene.tube, lengths)}."
        yield from _nearness(cure, scene, lengths)
    if told.whys:
        whys = [_WHY[why] for why in told.whys]
        yield f"Bend it anew: {listed(whys + _lacking_words(told, lengths))}."
    if not told.fits:
        yield from _reached_sentences(told.reached, told, lengths)
    yield from _doubts(told, lengths)
    if told.cures and scene.tube.is_bent_hot:
        yield HEATED_AGAIN


def _lacking_words(told: Advice, lengths: Lengths) -> list[str]:
    """Return by how much ends are too short, or too long for what lies next to them."""
    return [
        f"the {which} end {'lacks' if length > 0.0 else 'is too long by'} "
        f"{lengths.text(abs(length))}"
        for which, length in zip(_ENDS, told.lacking, strict=True)
        if abs(length) >= lengths.visible
    ]


def cure_words(cure: Cure, told: Advice, tube: Tube, lengths: Lengths) -> str:
    """Return what to do at the bends, and how to place the tube then."""
    parts = [change_words(one) for one in cure.correction.changes]
    moves = f"the far end moves {lengths.brief(cure.far_end_moves)}"
    becomes = list(_becoming(cure, told, tube))
    then = f"; {listed(becomes)}" if becomes else ""
    return (
        f"{listed(parts)}: {moves}{then}; it then fits{_placing(cure, told, lengths)}"
    )


def change_words(change: BendChange) -> str:
    """Return what to do at one bend.

    >>> change_words(BendChange(bend=2, angle_deg=-1.5))
    'open bend 2 by 1.5 degrees (towards straight)'
    >>> change_words(BendChange(bend=3, turn_deg=2.0))
    'turn bend 3 by 2 degrees clockwise'
    """
    parts = []
    if change.angle_deg:
        verb, how = ("close", "further round")
        if change.angle_deg < 0.0:
            verb, how = ("open", "towards straight")
        amount = degrees(abs(change.angle_deg))
        parts.append(f"{verb} bend {change.bend} by {amount} ({how})")
    if change.turn_deg:
        which = "it" if parts else f"bend {change.bend}"
        amount = degrees(abs(change.turn_deg))
        parts.append(f"turn {which} by {amount} {clock_sense(change.turn_deg)}")
    return " and ".join(parts)


def _becoming(cure: Cure, told: Advice, tube: Tube) -> Iterator[str]:
    """Yield what changed bends come to have, where they were measured."""
    table = cure.tube.table
    for one in cure.correction.changes:
        if one.angle_deg and told.measured.angles[one.bend - 1] is not None:
            angle_deg = table.bends[one.bend - 1].angle_deg
            hold = hold_at(tube, angle_deg)
            held = f" (hold it at {hold} until it is cold)" if hold else ""
            yield f"bend {one.bend} then has {degrees(angle_deg)}{held}"


def _placing(cure: Cure, told: Advice, lengths: Lengths) -> str:
    """Return how a tube is placed, in brackets, and what its fittings then take."""
    sits, ends = cure.correction.sits, cure.tube.ends
    steps = []
    roll_deg = _roll_deg(cure)
    if roll_deg:
        steps.append(
            f"roll it {degrees(abs(roll_deg))} {clock_sense(roll_deg)} in "
            f"{ends[0].fitting!r} on {ends[0].port}"
        )
    for which, slide, end in zip(_ENDS, sits.slides[0].tolist(), (0, -1), strict=True):
        is_measured = told.measured.straights[end] is not None
        amount = lengths.text(abs(slide))
        if amount == lengths.text(0.0) or (is_measured and slide > 0.0):
            continue
        more, than = ("", "") if is_measured else ("more ", " than planned")
        if slide > 0.0:
            steps.append(f"leave {amount} {more}on the {which} end{than}")
        else:
            steps.append(f"trim {amount} {more}off the {which} end{than}")
    taken = fixed(100.0 * (1.0 - cure.correction.room), 0)
    placed = f" ({', '.join(steps)})" if steps else ""
    return f"{placed}; that takes {taken} % of what its fittings allow"


def _roll_deg(cure: Cure) -> float:
    """Return how far a tube is rolled, 0 where that is not worth a word [degrees]."""
    roll_deg = math.degrees(float(cure.correction.sits.rolls[0]))
    is_worth_it = abs(roll_deg) >= _ROLLED and cure.correction.chain.angles
    return roll_deg if is_worth_it else 0.0


def _nearness(cure: Cure, scene: Scene, lengths: Lengths) -> Iterator[str]:
    """Yield where a tube then comes nearer to something than the clearance."""
    clearance = scene.rules.clearance
    if cure.is_clear(clearance):
        return
    gap, name = cure.tube.gap.distance, cure.tube.gap.name
    if cure.tube_gap < gap:
        gap, name = cure.tube_gap, f"the tube {cure.nearest_tube!r}"
    near = within_or_into(gap, name, text=lengths.fine)
    yield f"But it then {near}, against a clearance of {lengths.text(clearance)}."


def _reached_sentences(
    reached: Sequence[Reached], told: Advice, lengths: Lengths
) -> Iterator[str]:
    """Yield which bends cannot be heated by themselves."""
    for one in reached:
        what = f"bend {one.other}"
        if one.other is None:
            end = told.as_it_is.tube.ends[one.end]
            what = f"what {end.fitting!r} on {end.port} grips"
        yield (
            f"Bend {one.bend} is left alone: its heat would reach "
            f"{lengths.text(one.length)} into {what}."
        )


def _doubts(told: Advice, lengths: Lengths) -> Iterator[str]:
    """Yield what makes an advice less sure than it sounds."""
    measured = told.measured
    yield from _far_off(told, lengths)
    if told.believed.strain > _STRAINED:
        yield (
            "What was measured does not go together: a reading would have to be off by "
            f"{fixed(told.believed.strain, 1)} times what readings usually are. Measure "
            "again."
        )
    if measured.is_known:
        return
    if measured.is_miss_alone:
        yield (
            "Only the miss was measured. It says what cures the far end, not which bend "
            "is wrong."
        )
    else:
        missing = listed([*_not_measured(told)])
        source = "as planned" if measured.miss is None else "as the miss makes likely"
        yield f"Not measured, and taken {source}: {missing}."
    if measured.miss is not None and measured.leans is None:
        yield (
            "How the last straight points was not measured: with --leans this is surer."
        )


def _far_off(told: Advice, lengths: Lengths) -> Iterator[str]:
    """Yield which measured bends, turns and straights are no planned ones badly made."""
    planned, measured = told.planned, told.measured
    for what, first, values, drawn in (
        ("Bend", 1, measured.angles, planned.angles),
        ("The turn before bend", 2, measured.turns, planned.turns[1:]),
    ):
        pairs = zip(values, drawn, strict=True)
        for number, (value, wanted) in enumerate(pairs, start=first):
            if value is None:
                continue
            off_deg = abs(math.degrees(math.remainder(value - wanted, math.tau)))
            if off_deg > _SLIP_DEG:
                yield (
                    f"{what} {number} is {degrees(off_deg)} off what is planned: look "
                    "again which bend it is, and which way round its turn goes."
                )
    between = zip(measured.straights[1:-1], planned.straights[1:-1], strict=True)
    for number, (length, drawn_length) in enumerate(between, start=2):
        off = 0.0 if length is None else length - drawn_length
        if abs(off) > _SLIP:
            yield (
                f"Straight {number} is {lengths.text(abs(off))} off what is planned: look "
                "again from where to where it is measured, from bend to bend."
            )


def _not_measured(told: Advice) -> Iterator[str]:
    """Yield what of a tube's shape was not measured, its two ends left out."""
    measured = told.measured
    for noun, values, first in (
        ("angle", measured.angles, 1),
        ("turn before bend", measured.turns, 2),
        ("straight", measured.straights[1:-1], 2),
    ):
        numbers = [n for n, one in enumerate(values, start=first) if one is None]
        if numbers:
            yield by_number(noun, numbers)


def seen_words(told: Advice, run: PlannedRun) -> Iterator[str]:
    """Yield what clockwise means, where it was said."""
    cures = told.cures if not told.fits else (told.as_it_is, *told.cures)
    turned = (one.turn_deg for cure in cures for one in cure.correction.changes)
    if any(turned) or any(map(_roll_deg, cures)):
        yield clockwise_words((run.from_port, run.to_port))
