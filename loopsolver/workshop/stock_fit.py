"""Whether a blank can be cut from the stock at hand, and what would help."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from loopsolver.tolerances import TOUCH

if TYPE_CHECKING:
    from loopsolver.routing.problem import Candidate
    from loopsolver.tube.stock import Tube


def over_stock(candidate: Candidate, tube: Tube) -> float:
    """Return by how much a blank is longer than the stock [mm]; 0 where it fits."""
    over = candidate.blank - tube.stock_length
    return over if over > TOUCH else 0.0


def stock_help(
    candidate: Candidate, tube: Tube, *, text: Callable[[float], str]
) -> str:
    """Return what would help a candidate whose blank is longer than the stock.

    A smaller trim allowance, where one diameter or more is left to hold the tube by
    (common practice, no source).

    Parameters
    ----------
    candidate : Candidate
    tube : Tube
    text : callable
        Puts a length [mm] into words.
    """
    spare = (tube.stock_length - candidate.length) / 2.0
    if spare < tube.outer_diameter:
        return "longer stock, or two tubes with a coupling"
    return (
        f"longer stock, or at most {text(spare)} of trim allowance at each end "
        f"instead of {text(candidate.trim_allowance)}"
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
