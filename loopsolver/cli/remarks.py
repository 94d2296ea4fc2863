"""Candidates, stock and touching tubes in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopsolver.cli.lengths import counted
from loopsolver.lengths import Lengths
from loopsolver.tolerances import TOUCH
from loopsolver.workshop.stock_fit import over_stock, stock_help

if TYPE_CHECKING:
    from loopsolver.plan import PlannedRun, Touch
    from loopsolver.routing.problem import Candidate
    from loopsolver.scene.model import Scene
    from loopsolver.tube.stock import Tube


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """In what a candidate is better and worse than another, in words."""

    better: tuple[str, ...]
    worse: tuple[str, ...]

    @property
    def words(self) -> str:
        """Both together: ``38.2 mm shorter, but 1 bend more``."""
        if not self.better and not self.worse:
            return "equal in every figure, by another way"
        if not self.better:
            return f"{', '.join(self.worse)}; better in nothing"
        better = ", ".join(self.better)
        return f"{better}, but {', '.join(self.worse)}" if self.worse else better


def comparison(candidate: Candidate, other: Candidate, lengths: Lengths) -> Comparison:
    """Return in what a candidate is better and worse than another."""
    differences = tuple(_differences(candidate, other, lengths))
    return Comparison(
        better=tuple(words for words, is_better in differences if is_better),
        worse=tuple(words for words, is_better in differences if not is_better),
    )


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
) -> dict[int, Comparison]:
    """Return how every other candidate of a run stands against the chosen one, by rank.

    Parameters
    ----------
    run : PlannedRun
    order : sequence of int
        The ranks, in the order in which they are told of.
    lengths : Lengths
    """
    chosen = run.chosen_candidate
    if chosen is None:
        return {}
    return {
        rank: comparison(run.candidate(rank), chosen, lengths)
        for rank in order
        if rank != run.chosen
    }


def comparison_remarks(
    run: PlannedRun, order: Sequence[int], *, lengths: Lengths
) -> Iterator[str]:
    """Yield in words what speaks for other candidates of a run than the chosen one.

    Those for which nothing speaks share a sentence; the table has their figures.
    """
    chosen = run.chosen_candidate
    nothing: list[int] = []
    for rank, one in comparisons(run, order, lengths=lengths).items():
        if one.worse and not one.better:
            nothing.append(rank)
            continue
        former = chosen and former_remark(run.candidate(rank), chosen, lengths=lengths)
        yield f"candidate {rank}: {one.words}{f'; {former}' if former else ''}"
    if nothing:
        yield f"{named_ranks(nothing)}: better in nothing"


def named_ranks(ranks: Sequence[int]) -> str:
    """Return candidates by rank: ``candidate 2``, ``candidates 2, 4 and 5``."""
    if len(ranks) == 1:
        return f"candidate {ranks[0]}"
    return f"candidates {', '.join(map(str, ranks[:-1]))} and {ranks[-1]}"


def stock_remarks(
    run: PlannedRun, order: Sequence[int], *, tube: Tube, lengths: Lengths
) -> Iterator[str]:
    """Yield which candidates of a run the stock is too short for, by what would help."""
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


def bench_remarks(
    scene: Scene, run: PlannedRun, order: Sequence[int], *, lengths: Lengths
) -> Iterator[str]:
    """Yield what is doubtful about bending a run's candidates, a sentence a matter.

    Candidates for which all the same is to be said share it.
    """
    from loopsolver.plan.bench_doubts import bench_words

    matters: dict[str, dict[str, dict[str, list[int]]]] = {}
    for rank in order:
        told = bench_words(scene, run, run.candidate(rank), text=lengths.text)
        for one in told:
            places = matters.setdefault(one.what, {}).setdefault(one.remedy, {})
            places.setdefault(one.where, []).append(rank)
    for what, remedies in matters.items():
        for remedy, places in remedies.items():
            listed = ", ".join(
                f"{where} ({named_ranks(ranks)})" if where else named_ranks(ranks)
                for where, ranks in places.items()
            )
            yield f"{what}: {listed}; {remedy}"


def touch_words(touch: Touch, *, clearance: float, lengths: Lengths) -> str:
    """Return in words how near two chosen tubes come, and where.

    Parameters
    ----------
    touch : Touch
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
        return f"{told}, against a {wanted}"
    short = lengths.fine(clearance - touch.gap)
    return (
        f"{pair} come within {lengths.fine(touch.gap)} of each other {place}, "
        f"{short} less than the {wanted}"
    )


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
    told = touch_words(touch, clearance=clearance, lengths=lengths)
    if not others:
        return f"{told}; no other candidate of either alone keeps clear of all tubes"
    listed = " or ".join(f"candidate {rank} of {name!r}" for name, rank in others)
    return f"{told}; {listed} would keep clear of all chosen tubes"
