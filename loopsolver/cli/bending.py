"""One candidate as it is bent: what `bends` prints."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from loopsolver.cli.output import say, say_table, say_wrapped
from loopsolver.plan.document import rounded
from loopsolver.report.bench import bench_words, candidate_doubts
from loopsolver.report.bending import (
    Setup,
    bend_sentences,
    bender_words,
    candidate_words,
    caution_words,
    clockwise_words,
    marks_table,
    plane_table,
    stock_sentences,
    turned_round_words,
)
from loopsolver.report.stock import over_stock
from loopsolver.report.turns import turn_sentences
from loopsolver.tube.deformation import growth, least_across, least_radius, outer_wall

if TYPE_CHECKING:
    from loopsolver.tube.bench_doubts import BenchDoubt
    from loopsolver.tube.stock import Material


def say_setup(setup: Setup) -> None:
    """Print all that is needed to bend one tube."""
    first, last = setup.ends
    say(f"{setup.run.name}: {first} to {last}")
    say(candidate_words(setup))
    if setup.is_turned_round:
        say_wrapped([turned_round_words(setup)], mark="")
    say()
    say_wrapped(stock_sentences(setup), mark="")
    say()
    told = list(bend_sentences(setup))
    if told:
        say_wrapped(told, mark="")
        say()
    _say_doubts(setup)
    if setup.candidate.bends == 0:
        say("No bends: a straight tube.")
    else:
        _say_planes(setup)
        say()
        _say_marks(setup)


def _say_doubts(setup: Setup) -> None:
    """Print what is doubtful about bending the tube, if anything is."""
    told = bench_words(setup.scene, setup.run, setup.candidate, text=setup.lengths.text)
    if told:
        say("Doubtful at the bench:")
        say_wrapped(one.sentence for one in told)
        say()


def say_caution(material: Material) -> None:
    """Print what can hurt, and where to read on."""
    say_wrapped([caution_words(material)], mark="")


def setup_document(setup: Setup) -> dict[str, Any]:
    """Return all that is needed to bend one tube as plain JSON values."""
    from loopsolver.plan.record import as_written, figures

    candidate = as_written(setup.candidate)
    return {
        "name": setup.run.name,
        "from": setup.ends[0],
        "to": setup.ends[1],
        "candidate": setup.rank,
        "chosen": setup.run.chosen,
        "other_end": setup.is_turned_round,
        **figures(candidate),
        "bend_radius": candidate.centreline.radius,
        "trim_allowance": candidate.trim_allowance,
        "finished": rounded(candidate.finished),
        "stock_length": setup.tube.stock_length,
        "fits_stock": not over_stock(setup.candidate, setup.tube),
        "plane_stretches": [
            {
                "first": stretch.first,
                "last": stretch.last,
                "turn": rounded(stretch.turn_deg),
            }
            for stretch in setup.stretches
        ],
        "marks": _marks_document(setup),
        "hold": _hold_document(setup),
        "wall": _wall_document(setup),
        "doubts": [
            doubt_document(doubt)
            for doubt in candidate_doubts(setup.scene, setup.candidate)
        ],
    }


def _marks_document(setup: Setup) -> list[dict[str, float]]:
    """Return the marks of each bend; the heat's of tube bent hot."""
    heat = ("heated_from", "heated_to") if setup.tube.is_bent_hot else ()
    return [
        {
            "bend": mark.number,
            **{
                place: rounded(getattr(mark, place))
                for place in ("start", "centre", "end", *heat)
            },
        }
        for mark in setup.marks
    ]


def _hold_document(setup: Setup) -> list[dict[str, float]] | None:
    """Return what to hold each bend at, in degrees; None without test bends."""
    back = setup.tube.springback
    if back is None:
        return None
    return [
        {
            "angle": rounded(bend.angle_deg),
            "hold": rounded(back.held_deg(bend.angle_deg)),
            "spread": rounded(back.spread_deg(bend.angle_deg)),
        }
        for bend in setup.candidate.table.bends
    ]


def _wall_document(setup: Setup) -> dict[str, Any]:
    """Return what bending and warmth do to the tube [mm]."""
    line, tube = setup.candidate.centreline, setup.tube
    grown = growth(tube, math.dist(line.vertices[0], line.vertices[-1]))
    return {
        "outside_bend": [rounded(one) for one in outer_wall(tube, line.radius)],
        "least_across": rounded(least_across(tube)),
        "least_radius": rounded(least_radius(tube)),
        "growth": None if grown is None else [rounded(one) for one in grown],
    }


def doubt_document(doubt: BenchDoubt) -> dict[str, Any]:
    """Return a doubt as plain JSON values: its kind, and its figures."""
    figures = {
        name: rounded(value) if isinstance(value, float) else value
        for name, value in asdict(doubt).items()
    }
    return {"kind": doubt.kind, **figures}


def _say_planes(setup: Setup) -> None:
    table, lengths = setup.candidate.table, setup.lengths
    say("Bend table")
    for place, stretch in enumerate(setup.stretches, start=1):
        if place > 1:
            say()
            say_wrapped(
                [turn_sentences(stretch.turn_deg, number=stretch.first)], mark=""
            )
        say(f"Plane {place}")
        say_table(plane_table(setup, stretch))
    say(f"Closing straight: {lengths.text(table.closing_straight)}")
    if len(setup.stretches) > 1:
        say_wrapped([clockwise_words(setup.ends)], mark="")


def _say_marks(setup: Setup) -> None:
    """Print the marks; the heat's of tube that is heated, else how the bender is set."""
    say("Marks along the blank, from its first end")
    say_table(marks_table(setup))
    if not setup.tube.is_bent_hot:
        say_wrapped([bender_words(setup.ends)], mark="")
