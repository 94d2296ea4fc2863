"""The blanks of a plan: cut from stock tubes, and those that no stock tube can hold."""

from __future__ import annotations

from loopsolver.cutting.cut_plan import SAW_KERF, CutPlan, Piece, cut_plan
from loopsolver.lengths import lengths_for
from loopsolver.plan import Plan
from loopsolver.report.stock import over_stock_words


def blanks(plan: Plan, *, spares: int = 0) -> tuple[Piece, ...]:
    """Return the blank of every run that has a route and is not built yet, in order.

    Parameters
    ----------
    spares : int
        How many more of each blank are wanted.
    """
    return tuple(
        Piece(number=number, run=run.name, length=candidate.blank, spare=spare)
        for number, run in enumerate(plan.runs, start=1)
        if (candidate := run.chosen_candidate) is not None and run.built is None
        for spare in range(spares + 1)
    )


def cut_blanks(plan: Plan, *, spares: int = 0, kerf: float | None = None) -> CutPlan:
    """Return the cut plan of all blanks of a plan, from the stock of its scene.

    Parameters
    ----------
    spares : int
        How many more of each blank are wanted.
    kerf : float or None
        Width of a saw cut [mm]; None for that of a fine saw.
    """
    return cut_plan(
        blanks(plan, spares=spares),
        stock_length=plan.scene.tube.stock_length,
        kerf=SAW_KERF if kerf is None else kerf,
    )


def too_long_messages(plan: Plan, cuts: CutPlan) -> tuple[str, ...]:
    """Return a sentence on each run whose blank no stock tube can hold."""
    text = lengths_for(plan.scene.units).plain
    messages = []
    for number, piece in {piece.number: piece for piece in cuts.too_long}.items():
        candidate = plan.runs[number - 1].chosen_candidate
        if candidate is not None:
            words = over_stock_words(candidate, plan.scene.tube, text=text)
            messages.append(
                f"{piece.run}: the blank of {text(piece.length)} is {words}"
            )
    return tuple(messages)
