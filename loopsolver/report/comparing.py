"""Candidates of a run side by side: in a table, and in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from loopsolver.clearance.gap import is_clear
from loopsolver.clearance.obstacles import UNKNOWN_BEYOND
from loopsolver.lengths import Lengths
from loopsolver.plan.model import AS_BUILT, PlannedRun
from loopsolver.report.angles import departure
from loopsolver.report.nearness import within_or_into
from loopsolver.report.text_table import TextTable
from loopsolver.report.turns import angles_text, turns_text
from loopsolver.routing.problem import Candidate
from loopsolver.routing.worth import odd_turns
from loopsolver.scene.model import Scene
from loopsolver.tolerances import TOUCH
from loopsolver.words import by_number, counted


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
    """Return a remark where a candidate takes another former; None where it does not."""
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
        ("odd turn", odd_turns(candidate.turns_deg), odd_turns(other.turns_deg)),
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
    if abs(gap) >= lengths.visible and candidate.gap.name != UNKNOWN_BEYOND:
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
    """Yield what speaks for candidates of a run that are not chosen, a sentence each.

    Those for which nothing speaks share one; the table has their figures.
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
        yield f"{by_number('candidate', nothing)}: better in nothing"


def candidate_table(
    run: PlannedRun,
    order: Sequence[int],
    lengths: Lengths,
    *,
    others: Mapping[int, str] = MappingProxyType({}),
    drops: Mapping[int, str] = MappingProxyType({}),
    fits: Mapping[int, str] = MappingProxyType({}),
) -> TextTable:
    """Return a run's candidates as a table, the chosen one marked.

    Bend radius, elbows and angles have a column only where candidates differ in them;
    turns only where there are any; departures from standard angles only where any angle
    was allowed; `others` says by rank what the other runs would do, `drops` what a tube
    takes of the pressure [kPa], `fits` how many of ten go in. `AS_BUILT` in the order
    stands for the built tube.
    """
    columns = [
        one
        for one in _columns(run, lengths, others, drops, fits)
        if one.is_told([run.candidate(rank) for rank in order])
    ]
    return TextTable(
        headings=tuple(one.heading for one in columns),
        rows=[
            tuple(one.cell(rank, run.candidate(rank)) for one in columns)
            for rank in order
        ],
        words=frozenset({len(columns) - 1}),
        strong=frozenset(
            at for at, rank in enumerate(order) if rank == run.rank_in_place
        ),
    )


def built_remarks(scene: Scene, run: PlannedRun, *, lengths: Lengths) -> Iterator[str]:
    """Yield what a run's tube as built stands for, and whether it comes too near."""
    if run.built is None:
        return
    instead = "" if run.chosen is None else f", in place of candidate {run.chosen}"
    yield f"built: the tube as it was measured{instead}"
    gap, clearance = run.built.gap, scene.rules.clearance
    if not is_clear(gap.distance, clearance):
        near = within_or_into(gap.distance, gap.name, text=lengths.fine)
        yield f"built: it {near}, against a clearance of {lengths.text(clearance)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Column:
    """A column of the table of candidates.

    Attributes
    ----------
    heading : str
    cell : callable
        Returns what stands there for a candidate of that rank.
    is_told : callable
        Tells whether a run with these candidates needs the column.
    """

    heading: str
    cell: Callable[[int, Candidate], str]
    is_told: Callable[[Sequence[Candidate]], bool] = bool


def _columns(
    run: PlannedRun,
    lengths: Lengths,
    others: Mapping[int, str],
    drops: Mapping[int, str],
    fits: Mapping[int, str],
) -> tuple[_Column, ...]:
    """Return every column that a run's candidates may have, from the left."""
    unit, number = lengths.unit, lengths.number
    return (
        _Column(heading="", cell=lambda rank, _: "*" if rank == run.chosen else ""),
        _Column(
            heading="rank",
            cell=lambda rank, _: "built" if rank == AS_BUILT else str(rank),
        ),
        *_bend_columns(),
        _Column(heading=f"length\n{unit}", cell=lambda _, one: number(one.length)),
        _Column(heading=f"blank\n{unit}", cell=lambda _, one: number(one.blank)),
        _Column(
            heading=f"radius\n{unit}",
            cell=lambda _, one: number(one.centreline.radius),
            is_told=lambda every: len({one.centreline.radius for one in every}) > 1,
        ),
        _Column(heading=f"gap\n{unit}", cell=lambda _, one: number(one.gap.distance)),
        _Column(
            heading="elbows",
            cell=lambda _, one: str(one.elbows),
            is_told=lambda every: any(one.elbows for one in every),
        ),
        _Column(
            heading="off by\ndegrees",
            cell=lambda _, one: departures_text(one),
            is_told=lambda every: any(one.departures_deg for one in every),
        ),
        _by_rank("drop\nkPa", drops),
        _by_rank("fit,\nof 10", fits),
        _by_rank("others", others),
        _Column(heading="nearest", cell=lambda _, one: one.gap.name),
    )


def _bend_columns() -> tuple[_Column, ...]:
    """Return the columns for what a candidate has to be bent to."""
    return (
        _Column(heading="bends", cell=lambda _, one: str(one.bends)),
        _Column(heading="planes", cell=lambda _, one: str(one.planes)),
        _Column(
            heading="angles",
            cell=lambda _, one: angles_text(one.table),
            is_told=_differ_in_angle,
        ),
        _Column(
            heading="turns",
            cell=lambda _, one: turns_text(one.table),
            is_told=lambda every: any(one.bends > 1 for one in every),
        ),
    )


def _by_rank(heading: str, cells: Mapping[int, str]) -> _Column:
    """Return a column of what is told of candidates elsewhere, if anything is."""
    return _Column(
        heading=heading,
        cell=lambda rank, _: cells.get(rank, ""),
        is_told=lambda _: bool(cells),
    )


def _differ_in_angle(candidates: Sequence[Candidate]) -> bool:
    """Return whether not all bends of some candidates are of one angle."""
    told = [angles_text(one.table).split() for one in candidates]
    return len({angle for angles in told for angle in angles}) > 1


def departures_text(candidate: Candidate) -> str:
    """Return how far each bend is from a standard angle, bend by bend [degrees]."""
    return " ".join(map(departure, candidate.departures_deg))
