"""Candidates, stock and touching tubes in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from loopsolver.cli.lengths import Lengths, counted
from loopsolver.tolerances import TOUCH

if TYPE_CHECKING:
    from loopsolver.plan import PlannedRun, Touch
    from loopsolver.routing.problem import Candidate
    from loopsolver.scene.model import Scene
    from loopsolver.tube.stock import Tube


def comparison(
    candidate: Candidate, other: Candidate, *, rank: int, lengths: Lengths
) -> str:
    """Return in words in what a candidate is better and worse than another.

    Parameters
    ----------
    candidate, other : Candidate
    rank : int
        Of `other`.
    lengths : Lengths
    """
    better: list[str] = []
    worse: list[str] = []
    for words, is_better in _differences(candidate, other, lengths):
        (better if is_better else worse).append(words)
    against = f"than candidate {rank}"
    if not better and not worse:
        return f"equal to candidate {rank} in every figure, by another way"
    if not worse:
        return f"{', '.join(better)} {against}"
    if not better:
        return f"{', '.join(worse)} {against}; better in nothing"
    return f"{', '.join(better)} {against}, but {', '.join(worse)}"


def former_remark(
    candidate: Candidate, other: Candidate, *, lengths: Lengths
) -> str | None:
    """Return that a candidate takes another former than another one; None if not."""
    radius, usual = candidate.centreline.radius, other.centreline.radius
    if abs(radius - usual) <= TOUCH:
        return None
    return f"bent round {lengths.text(radius)} instead of {lengths.text(usual)}"


def _differences(
    candidate: Candidate, other: Candidate, lengths: Lengths
) -> Iterator[tuple[str, bool]]:
    """Yield each figure that differs, in words, and whether it is for the better."""
    for noun, here, there in (
        ("bend", candidate.bends, other.bends),
        ("plane", candidate.planes, other.planes),
    ):
        if here != there:
            fewer = here < there
            amount = counted(abs(here - there), noun)
            yield f"{amount} {'fewer' if fewer else 'more'}", fewer
    length = candidate.length - other.length
    if abs(length) >= lengths.visible:
        word = "shorter" if length < 0.0 else "longer"
        yield f"{lengths.text(abs(length))} {word}", length < 0.0
    gap = candidate.gap.distance - other.gap.distance
    if abs(gap) >= lengths.visible:
        word = "larger" if gap > 0.0 else "smaller"
        near = f" (to {candidate.gap.name})"
        yield f"gap {lengths.text(abs(gap))} {word}{near}", gap > 0.0


def comparisons(
    run: PlannedRun, order: Sequence[int], *, lengths: Lengths
) -> Iterator[str]:
    """Yield a sentence for every candidate of a run against the chosen one.

    Parameters
    ----------
    run : PlannedRun
    order : sequence of int
        The ranks, in the order in which they are told of.
    lengths : Lengths
    """
    chosen = run.chosen_candidate
    if chosen is None or run.chosen is None:
        return
    for rank in order:
        if rank != run.chosen:
            words = comparison(
                run.candidate(rank), chosen, rank=run.chosen, lengths=lengths
            )
            former = former_remark(run.candidate(rank), chosen, lengths=lengths)
            more = "" if former is None else f"; {former}"
            yield f"candidate {rank}: {words}{more}"


def stock_remark(candidate: Candidate, tube: Tube, *, lengths: Lengths) -> str | None:
    """Return what is wrong with a blank that is longer than the stock; None if it fits.

    Says what would help: a smaller trim allowance, where one diameter or more is enough
    to hold the tube by (common practice, no source).
    """
    over = candidate.blank - tube.stock_length
    if over <= TOUCH:
        return None
    spare = (tube.stock_length - candidate.length) / 2.0
    words = (
        f"its blank of {lengths.text(candidate.blank)} is {lengths.text(over)} longer "
        f"than the stock of {lengths.text(tube.stock_length)}"
    )
    if spare < tube.outer_diameter:  # less cannot be held while bending
        return f"{words}; it takes longer stock, or two tubes with a coupling"
    return (
        f"{words}; it takes longer stock, or a trim allowance of at most "
        f"{lengths.text(spare)} at each end instead of "
        f"{lengths.text(candidate.trim_allowance)}"
    )


def stock_remarks(
    run: PlannedRun, order: Sequence[int], *, scene: Scene, lengths: Lengths
) -> Iterator[str]:
    """Yield a sentence for every candidate of a run that the stock is too short for."""
    for rank in order:
        words = stock_remark(run.candidate(rank), scene.tube, lengths=lengths)
        if words is not None:
            yield f"candidate {rank}: {words}"


def touch_remark(
    touch: Touch,
    others: Sequence[tuple[str, int]],
    *,
    clearance: float,
    lengths: Lengths,
) -> str:
    """Return in words how near two chosen tubes come, where, and what would help.

    Parameters
    ----------
    touch : Touch
    others : sequence of (str, int)
        Runs and ranks: candidates that would keep clear if chosen instead.
    clearance : float
        Least gap asked for [mm].
    lengths : Lengths
    """
    where = ", ".join(lengths.number(value) for value in touch.at)
    place = f"at x, y, z = {where} {lengths.unit}"
    pair = f"{touch.first!r} and {touch.second!r}"
    wanted = f"clearance of {lengths.text(clearance)}"
    if touch.gap <= 0.0:
        told = f"{pair} run into each other by {lengths.fine(-touch.gap)} {place}"
        told = f"{told}, against a {wanted}"
    else:
        short = lengths.fine(clearance - touch.gap)
        told = (
            f"{pair} come within {lengths.fine(touch.gap)} of each other {place}, "
            f"{short} less than the {wanted}"
        )
    if not others:
        return f"{told}; no other candidate of either alone keeps clear of all tubes"
    listed = " or ".join(f"candidate {rank} of {name!r}" for name, rank in others)
    return f"{told}; {listed} would keep clear of all chosen tubes"
