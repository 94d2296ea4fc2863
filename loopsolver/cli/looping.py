"""The loop as a whole, printed and as JSON values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from loopsolver.cli.output import say, say_wrapped
from loopsolver.report.loop import loop_sentences, loop_total

if TYPE_CHECKING:
    from loopsolver.plan import Effect, Plan


def say_loop(plan: Plan) -> None:
    """Print the total of the chosen tubes, and how good the choice can be said to be."""
    if len(plan.runs) < 2:
        return
    say()
    say_wrapped(loop_sentences(plan))


def effect_document(effect: Effect) -> dict[str, Any]:
    """Return an effect as plain JSON values."""
    moved = effect.moved
    return {
        "fits": moved is not None,
        "moves": [{"run": name, "candidate": rank} for name, rank in moved or ()],
    }


def loop_json(plan: Plan) -> dict[str, Any]:
    """Return the loop's total and how it was chosen as plain JSON values."""
    from loopsolver.plan import tubes_side_by_side

    total = loop_total(plan)
    document: dict[str, Any] = {
        "runs": total.tubes,
        "bends": total.bends,
        "elbows": total.elbows,
        "length": total.length,
    }
    looks = tubes_side_by_side(plan)
    document |= {
        "side_by_side": looks.length,
        "evenly_spaced": looks.even,
        "parallel": looks.figure,
    }
    if plan.loop is not None:
        document |= {
            "by": plan.loop.by,
            "total": list(plan.loop.total),
            "bound": list(plan.loop.bound),
            "proven": plan.loop.is_proven,
            "ended": plan.loop.ended,
            "rounds": plan.loop.rounds,
            "routes": plan.loop.pool,
            "for_parallel": plan.loop.for_parallel,
            "kept": list(plan.loop.kept),
        }
    return document
