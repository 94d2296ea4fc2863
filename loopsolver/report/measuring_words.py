"""What to measure, in words: for the screen, for a form, and as empty readings."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any, Final

from loopsolver.geometry.vectors import axis_name
from loopsolver.lengths import Lengths, on_a_rule
from loopsolver.plan import Plan
from loopsolver.report.measuring import (
    REPEATS,
    Measuring,
    RunEnds,
    RunToMeasure,
    ToMeasure,
)
from loopsolver.report.text_table import TextTable
from loopsolver.scene.model import Scene
from loopsolver.survey.network import Observation
from loopsolver.words import counted, some_of

HINTS: Final = (
    "Measure with the parts screwed down and the machine standing as it is built in: "
    "sheet metal gives way.",
    "A port counts where its axis leaves its face. From middle to middle, measure from "
    "outermost edge to outermost edge and from innermost edge to innermost, and take "
    "half of the sum.",
    "Along an axis of the case hold the rule square to the walls, not along a part. A "
    "part that does not stand square to the case shows in the straight distance.",
    "Lift the rule off between two readings of the same length. What it shows at its own "
    "end goes into zero, once, and is taken off every reading.",
)
"""How to measure, a sentence or two each. Common practice, no source."""

_MOST_NAMED: Final = 4


def run_words(run: RunToMeasure, lengths: Lengths) -> str:
    """Return how well a run's ports are known from each other, now and after."""
    now, then = lengths.brief(run.before), lengths.brief(run.after)
    ends = f"{run.ends.goal} from {run.ends.start}"
    if not run.lengths:
        return f"{ends} is known to {now}; all between them is measured already"
    return f"{ends} is known to {now}, with these to {then}{missed_words(run.ends)}"


def missed_words(ends: RunEnds) -> str:
    """Return how many tubes do not go in for it; '' where that is none of a hundred."""
    hundredths = round(100.0 * ends.missed)
    if not hundredths:
        return ""
    return f"; of 100 tubes about {hundredths} do not go in for it, by stated spreads"


def run_table(run: RunToMeasure, scene: Scene) -> TextTable:
    """Return the lengths to measure between a run's own ports."""
    return _table(run.lengths, scene)


def other_table(one: ToMeasure, scene: Scene) -> TextTable:
    """Return the one length that is none between a run's own ports."""
    return _table((one,), scene)


def _table(asked: tuple[ToMeasure, ...], scene: Scene) -> TextTable:
    lengths = on_a_rule(scene.units)
    return TextTable(
        headings=("", "from", "to", "how", "about", "a slip shows from"),
        rows=[
            (
                str(one.number),
                one.observation.start,
                one.observation.goal,
                how_words(one.observation, scene),
                lengths.plain(one.length),
                slip_words(one, lengths),
            )
            for one in asked
        ],
        words=frozenset({1, 2, 3}),
    )


def how_words(one: Observation, scene: Scene) -> str:
    """Return how the rule lies: straight, or along an axis and which way that is."""
    if one.along is None:
        return "straight"
    name = axis_name(one.along) or ""
    axis = "xyz".index(name[-1])
    if name.startswith("+"):
        return f"along {scene.axis_names[axis]}"
    return f"against {scene.axis_names[axis]}"


def slip_words(one: ToMeasure, lengths: Lengths) -> str:
    """Return from how much on a slip in a length would show in the others."""
    return "never" if math.isinf(one.slip_seen) else lengths.plain(one.slip_seen)


def best_words(told: Measuring) -> str:
    """Return which one length would help most, and how much."""
    best, gain = told.best, told.gain
    if best is None or gain is None:
        return "Nothing is left that could be measured and was not."
    lengths = on_a_rule(told.scene.units)
    where = f"number {best.number}, {best.observation.name}"
    return (
        f"If you measure only one more: {where}. All runs together, ports are then known "
        f"from each other to {lengths.fine(gain.after)} in place of "
        f"{lengths.fine(gain.before)}."
    )


def choice_words(subject: Scene | Plan) -> tuple[str, ...]:
    """Return which runs of a scene leave a choice of ports, a sentence each."""
    if isinstance(subject, Plan):
        return ()
    return tuple(
        f"Run {run.name!r} leaves a choice of ports, and the first of them are taken; a "
        "plan says which ones are used."
        for run in subject.runs
        if len(run.from_ports) * len(run.to_ports) > 1
    )


def empty_words(told: Measuring) -> str:
    """Return which readings of the scene have no value yet; '' if all have."""
    if not told.empty:
        return ""
    names = some_of(told.empty, most=_MOST_NAMED)
    return (
        f"{counted(len(told.empty), 'reading')} in the scene without a value yet, "
        f"counted as not taken: {names}."
    )


def spread_words(scene: Scene) -> str:
    """Return how well and how often to read."""
    lengths = on_a_rule(scene.units)
    return (
        f"{REPEATS} readings of each length, each to about "
        f"{lengths.brief(scene.spread.reading)} ([spread] reading): two of three lie "
        "within it. How well a port is known from another is told in space, all three "
        "axes together"
    )


def measuring_document(told: Measuring) -> dict[str, Any]:
    """Return what to measure as plain values, lengths in millimetres."""
    best = told.best
    return {
        "title": told.scene.title,
        "units": "mm",
        "readings_of_each": REPEATS,
        "spread": told.scene.spread.reading,
        "runs": [
            {
                "name": run.ends.name,
                "from": run.ends.start,
                "to": run.ends.goal,
                "missed": run.ends.missed,
                "known_to": run.before,
                "then_to": run.after,
                "lengths": [_document(one) for one in run.lengths],
            }
            for run in told.runs
        ],
        "other": None if told.other is None else _document(told.other),
        "best": None if best is None else best.number,
        "not_taken": list(told.empty),
    }


def _document(one: ToMeasure) -> dict[str, Any]:
    along = one.observation.along
    return {
        "number": one.number,
        "from": one.observation.start,
        "to": one.observation.goal,
        "along": None if along is None else axis_name(along),
        "about": one.length,
        "slip_shows_from": one.slip_seen if math.isfinite(one.slip_seen) else None,
    }


def empty_readings(told: Measuring) -> str:
    """Return tables of a scene file for all lengths, their values to be filled in."""
    units = told.scene.units
    head = (
        f"# What to measure, in this order. Put {REPEATS} readings of each, in {units}, "
        "between the\n# brackets: value = [312, 311.5, 312.5]. Then move these tables "
        "into the scene. A\n# reading without a value counts for nothing. If the rule "
        "shows more than 0 at its\n# own end, add zero = what it shows.\n"
    )
    return head + "".join(_tables(told))


def _tables(told: Measuring) -> Iterator[str]:
    for one in told.lengths:
        read = one.observation
        how = how_words(read, told.scene)
        yield f"\n[[readings]]                      # {one.number}: {how}\n"
        yield f"from = {json.dumps(read.start, ensure_ascii=False)}\n"
        yield f"to = {json.dumps(read.goal, ensure_ascii=False)}\n"
        if read.along is not None:
            yield f'along = "{axis_name(read.along)}"\n'
        yield "value = []\n"
