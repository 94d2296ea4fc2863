"""A candidate and the loop in figures: lengths, gaps, bend table, what moves what."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, repeat
from typing import Final

from loopsolver.clearance.gap import is_clear
from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.vectors import Point
from loopsolver.lengths import Lengths, fixed, lengths_for
from loopsolver.plan import Effect, Ended, Plan
from loopsolver.report.angles import departure
from loopsolver.report.loop import (
    loop_total,
    plan_side_by_side,
    ranking_name,
    verdict,
    would_fit_words,
)
from loopsolver.report.nearness import within_or_into
from loopsolver.report.turns import angles_and_turns
from loopsolver.routing.problem import Candidate
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.centreline import Centreline
from loopsolver.view.panel_lines import PanelLine, Section, figure, wrapped
from loopsolver.words import counted, listed

_ENDINGS: Final[dict[Ended, str]] = {
    "done": "",
    "time": "; time ended the search",
    "stopped": "; Ctrl-C ended the search",
    "stopped early": "; Ctrl-C ended the search",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class NearTube:
    """The other tube, and how near it comes to the one shown.

    Or how near one of the two comes to a fitting at the ends of the other; or two fittings
    to each other.

    Attributes
    ----------
    run : str
        The run of the other tube.
    gap : float
        From surface to surface, negative where they run into each other [mm].
    at : Point
        Where, on the centre line of the one shown; by its fitting, of the other; of two
        fittings, on the axis of the one shown.
    to : Point
        Where on the centre line of the other; with a fitting, the same as `at`; of two
        fittings, on the axis of the other.
    fitting : Obstacle or None
        The fitting that a tube, or another fitting, comes near to; None for two tubes.
    other_line : Centreline or None
        Of the other tube where that comes near to a fitting of the one shown.
    own_fitting : Obstacle or None
        Of the run that is shown, where a fitting comes near to one of another run.
    """

    run: str
    gap: float
    at: Point
    to: Point
    fitting: Obstacle | None = None
    other_line: Centreline | None = None
    own_fitting: Obstacle | None = None


def bend_table_lines(
    table: BendTable,
    *,
    lengths: Lengths,
    departures_deg: Sequence[float] = (),
    marked: int = 0,
) -> tuple[PanelLine, ...]:
    """Return the bend table in columns: one row a bend, then the closing straight.

    Parameters
    ----------
    table : BendTable
    lengths : Lengths
        How lengths are shown.
    departures_deg : sequence of float
        How far each bend is from a standard angle, where any angle was allowed: one a
        bend, or none and no column for them.
    marked : int
        Number of a bend whose row is marked; 0 for none.
    """
    names = ["straight", "rotation", "angle"]
    units = [f"L {lengths.unit}", "R deg", "A deg"]
    rows = [
        [
            lengths.number(bend.straight),
            fixed(bend.rotation_deg, 1),
            fixed(bend.angle_deg, 1),
        ]
        for bend in table.bends
    ]
    if departures_deg:
        names.append("off by")
        units.append("deg")
        for row, off_deg in zip(rows, departures_deg, strict=True):
            row.append(departure(off_deg))
    width = 9 if departures_deg else 11

    def line(first: str, cells: Sequence[str]) -> str:
        return f"{first:>4}" + "".join(f"{cell:>{width}}" for cell in cells)

    lines = [
        PanelLine(text=line("bend", names), style="faint"),
        PanelLine(text=line("", units), style="faint"),
        *(PanelLine(text=line(str(at), row)) for at, row in enumerate(rows, start=1)),
        PanelLine(text=line("end", [lengths.number(table.closing_straight)])),
    ]
    if marked:
        text = f"▸{lines[marked + 1].text[1:]}"
        lines[marked + 1] = PanelLine(text=text, style="heading")
    if departures_deg:
        lines += wrapped("off by: from the nearest standard angle", style="faint")
    return tuple(lines)


def candidate_lines(
    candidate: Candidate,
    *,
    clearance: float,
    near: NearTube | None,
    lengths: Lengths,
    formers: Sequence[float] = (),
) -> tuple[PanelLine, ...]:
    """Return the figures of a candidate.

    Parameters
    ----------
    candidate : Candidate
    clearance : float
        Least gap that the rules ask for [mm].
    near : NearTube or None
        The nearest chosen other tube.
    lengths : Lengths
        How lengths are shown.
    formers : sequence of float
        Centre-line radii of the formers that the run may be bent round [mm].
    """
    text = lengths.text
    bends = str(candidate.bends)
    if candidate.bends:
        bends += f" in {counted(candidate.planes, 'plane')}"
    shape = angles_and_turns(candidate.table)
    radius = text(candidate.centreline.radius)
    if len(formers) > 1:
        either = [lengths.short(former) for former in formers]
        radius += f", of {listed(either, last='or')}"
    lines = [
        *figure("bends", bends),
        *(figure("degrees", shape) if candidate.bends else ()),
        *_elbow_lines(candidate),
        *figure("length", text(candidate.length)),
        *figure("blank", text(candidate.blank)),
        *figure("bend radius", radius),
        *figure("gap", f"{text(candidate.gap.distance)} to {candidate.gap.name}"),
    ]
    if near is None:
        return tuple(lines)
    if is_clear(near.gap, clearance):
        nearest = f"{text(near.gap)} to {near.run}"
        return (*lines, *figure("nearest tube", nearest))
    problem = f"{_too_near(near, text)}; {text(clearance)} is wanted"
    return (*lines, *wrapped(problem, style="warning"))


def _too_near(near: NearTube, text: Callable[[float], str]) -> str:
    """Return how near to another run a tube comes, or that run to its fittings."""
    other = f"the tube of {near.run}"
    if near.fitting is not None and near.other_line is not None:
        return (
            f"{other} {within_or_into(near.gap, f'the {near.fitting.name}', text=text)}"
        )
    if near.fitting is not None:
        other = f"the {near.fitting.name} of {near.run}"
    if near.own_fitting is not None:
        return (
            f"the {near.own_fitting.name} {within_or_into(near.gap, other, text=text)}"
        )
    if near.gap < 0.0:
        return within_or_into(near.gap, other, text=text)
    return f"{text(near.gap)} to {other}"


def _elbow_lines(candidate: Candidate) -> list[PanelLine]:
    """Return how many elbows there are and at which ports; nothing if there are none."""
    if not candidate.elbows:
        return []
    ports = " and ".join(end.port for end in candidate.ends if end.is_elbow)
    return figure("elbows", f"{candidate.elbows}, at {ports}")


def beside_section(
    held: tuple[int, Candidate], shown: tuple[int, Candidate], *, lengths: Lengths
) -> Section:
    """Return two candidates side by side in figures, each with its rank."""

    def row(name: str, figures: Callable[[Candidate], str]) -> PanelLine:
        values = (f"{figures(one):>14}" for _, one in (held, shown))
        return PanelLine(text=f"{name:<14}{''.join(values)}")

    ranks = "".join(f"{f'candidate {rank}':>14}" for rank, _ in (held, shown))
    return Section(
        lines=(
            PanelLine(text=f"{'side by side':<14}{ranks}", style="faint"),
            row("bends", lambda one: str(one.bends)),
            row("length", lambda one: lengths.plain(one.length)),
            row("blank", lambda one: lengths.plain(one.blank)),
            row("gap", lambda one: lengths.plain(one.gap.distance)),
        )
    )


def effect_lines(effect: Effect) -> tuple[PanelLine, ...]:
    """Return what choosing a candidate would do to the other runs."""
    if effect.moved is None:
        words = "no listed candidates of the others fit beside it"
        return tuple(wrapped(words, style="warning"))
    if not effect.moved:
        return tuple(figure("other runs", "stay as they are"))
    moves = (f'"{name}" to {rank}' for name, rank in effect.moved)
    heads = chain(("would move",), repeat(""))
    return tuple(
        row
        for head, move in zip(heads, moves, strict=False)
        for row in figure(head, move)
    )


def loop_section(plan: Plan) -> Section:
    """Return the total of the chosen tubes, in the columns of the list of runs."""
    total = loop_total(plan)
    name = "the loop" if total.is_whole else f"{total.tubes} of {total.runs} runs"
    length = lengths_for(plan.scene.units).plain(total.length)
    row = f"  {name:<20}{counted(total.bends, 'bend'):>9}{length:>11}"
    lines = [PanelLine(text=row)]
    if total.elbows:
        lines.append(PanelLine(text=f"{counted(total.elbows, 'elbow'):>31}"))
    if total.is_whole:
        lines += _side_by_side(plan)
        lines += wrapped(f"  {_how_good(plan)}", style="faint", indent="  ")
    elif plan.loop is not None and verdict(plan) != "edited":
        for words in would_fit_words(plan.loop, lengths_for(plan.scene.units)):
            lines += wrapped(f"  {words}", indent="  ")
    return Section(lines=tuple(lines), yields=1)


def _side_by_side(plan: Plan) -> Iterator[PanelLine]:
    """Yield over what length tubes run side by side, and how much of it evenly."""
    found = plan_side_by_side(plan)
    if found.spacing == "none":
        yield PanelLine(text="  no tubes run side by side", style="faint")
        return
    name = "side by side, evenly" if found.spacing == "even" else "side by side"
    rows = {name: found.length}
    if found.spacing == "even in part":
        rows["  evenly spaced"] = found.even
    plain = lengths_for(plan.scene.units).plain
    for name, length in rows.items():
        yield PanelLine(text=f"  {name:<29}{plain(length):>11}")


def _how_good(plan: Plan) -> str:
    """Return how the choice was made, and how good it can be said to be."""
    loop, how_good = plan.loop, verdict(plan)
    if how_good == "edited":
        return "edited by hand: how good is not shown"
    if loop is None:
        return "chosen by hand"
    by = ranking_name(loop)
    words = f"by {by} the best found, not proven"
    if how_good == "each its own best":
        words = f"each run its own best by {by}"
    elif how_good == "proven best":
        words = f"by {by} proven best of {counted(loop.pool, 'route')}"
    if loop.is_proven and loop.for_parallel:
        amount = lengths_for(plan.scene.units).plain(loop.for_parallel)
        words += f"; {amount} given to run parallel"
    return words + _ENDINGS[loop.ended]
