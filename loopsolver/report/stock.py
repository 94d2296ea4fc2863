"""Whether a blank can be cut from the stock at hand, and what would help."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from loopsolver.lengths import Lengths
from loopsolver.plan.model import PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.tolerances import TOUCH
from loopsolver.tube.bench_doubts import cold_ends
from loopsolver.tube.stock import COLD_HOLD, Tube


def over_stock(candidate: Candidate, tube: Tube) -> float:
    """Return by how much a blank is longer than the stock [mm]; 0 where it fits."""
    over = candidate.blank - tube.stock_length
    return over if over > TOUCH else 0.0


def stock_help(
    candidate: Candidate, tube: Tube, *, text: Callable[[float], str]
) -> str:
    """Return what would help a candidate whose blank is longer than the stock.

    A smaller trim allowance, where it is one diameter or more (common practice, no
    source); of a tube bent hot, with what stays cold to hold it by then.

    Parameters
    ----------
    candidate : Candidate
    tube : Tube
    text : callable
        Puts a length [mm] into words.
    """
    spare = (tube.stock_length - candidate.finished) / 2.0
    if spare < tube.outer_diameter:
        return "longer stock, or two tubes with a coupling"
    return (
        f"longer stock, or at most {text(spare)} of trim allowance at each end "
        f"instead of {text(candidate.trim_allowance)}"
        f"{_hold_words(candidate, tube, spare, text=text)}"
    )


def _hold_words(
    candidate: Candidate, tube: Tube, trim: float, *, text: Callable[[float], str]
) -> str:
    """Return how little stays cold to hold with a trim allowance; '' if that is enough."""
    if not (candidate.bends and tube.is_bent_hot):
        return ""
    cold = min(
        cold_ends(
            candidate.table, trim_allowance=trim, outer_diameter=tube.outer_diameter
        )
    )
    return (
        "" if cold >= COLD_HOLD - TOUCH else f" ({text(cold)} stay cold to hold then)"
    )


def over_stock_words(
    candidate: Candidate, tube: Tube, *, text: Callable[[float], str]
) -> str:
    """Return that a blank is longer than the stock, and what would help; '' if it fits."""
    over = over_stock(candidate, tube)
    if not over:
        return ""
    return (
        f"{text(over)} longer than the stock of {text(tube.stock_length)}; takes "
        f"{stock_help(candidate, tube, text=text)}"
    )


def stock_remarks(
    run: PlannedRun, order: Sequence[int], *, tube: Tube, lengths: Lengths
) -> Iterator[str]:
    """Yield a sentence for each remedy: for which candidates the stock is too short."""
    by_help: dict[str, list[str]] = {}
    for rank in order:
        candidate = run.candidate(rank)
        over = over_stock(candidate, tube)
        if over:
            words = stock_help(candidate, tube, text=lengths.text)
            one = f"candidate {rank} by {lengths.text(over)}"
            by_help.setdefault(words, []).append(one)
    stock = lengths.text(tube.stock_length)
    for words, told in by_help.items():
        yield f"blank longer than the stock of {stock}: {', '.join(told)}; takes {words}"
