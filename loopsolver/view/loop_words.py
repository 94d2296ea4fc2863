"""The loop as a whole on the panel: its total, and what a choice does to the others."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from loopsolver.lengths import lengths_for
from loopsolver.plan import Effect, Ended, Plan, tubes_side_by_side
from loopsolver.view.lines import Line, Section, counted, figure, wrapped

EQUAL_TOTALS: Final = 1e-3
"""Totals nearer to each other than this are the same: a micrometre, or no bend."""

SHORTEST_TOLD: Final = 1.0
"""Stretches side by side that are shorter are not worth a line [mm]."""

_ENDINGS: Final[dict[Ended, str]] = {
    "done": "",
    "time": "; time ended the search",
    "stopped": "; Ctrl-C ended the search",
    "stopped early": "; Ctrl-C ended the search",
}


def effect_lines(effect: Effect) -> tuple[Line, ...]:
    """Return what choosing a candidate would do to the other runs."""
    if effect.moved is None:
        words = "no listed candidates of the others fit beside it"
        return tuple(wrapped(words, style="warning"))
    if not effect.moved:
        return tuple(figure("other runs", "stay as they are"))
    first, *rest = effect.moved
    lines = figure("would move", _move(first))
    for move in rest:
        lines += figure("", _move(move))
    return tuple(lines)


def _move(move: tuple[str, int]) -> str:
    name, rank = move
    return f'"{name}" to {rank}'


def loop_section(plan: Plan) -> Section:
    """Return the total of the chosen tubes, in the columns of the list of runs."""
    lengths = lengths_for(plan.scene.units)
    chosen = [one for run in plan.runs if (one := run.chosen_candidate) is not None]
    whole = len(chosen) == len(plan.runs)
    name = "the loop" if whole else f"{len(chosen)} of {len(plan.runs)} runs"
    bends = counted(sum(one.bends for one in chosen), "bend")
    length = f"{lengths.number(sum(one.length for one in chosen))} {lengths.unit}"
    lines = [Line(text=f"  {name:<20}{bends:>9}{length:>11}")]
    elbows = sum(one.elbows for one in chosen)
    if elbows:
        lines.append(Line(text=f"{counted(elbows, 'elbow'):>31}"))
    if whole:
        lines += _side_by_side(plan)
        lines += wrapped(f"  {_how_good(plan)}", style="faint", indent="  ")
    return Section(lines=tuple(lines), yields=1)


def _side_by_side(plan: Plan) -> Iterator[Line]:
    """Yield over what length tubes run side by side, and how much of it evenly."""
    lengths = lengths_for(plan.scene.units)
    found = tubes_side_by_side(plan)
    is_even = found.length - found.even < SHORTEST_TOLD
    rows = {
        "side by side, evenly" if is_even else "side by side": found.length,
        "  evenly spaced": 0.0 if is_even else found.even,
    }
    if found.length < SHORTEST_TOLD:
        yield Line(text="  no tubes run side by side", style="faint")
        return
    for name, length in rows.items():
        if length >= SHORTEST_TOLD:
            amount = f"{lengths.number(length)} {lengths.unit}"
            yield Line(text=f"  {name:<29}{amount:>11}")


def _how_good(plan: Plan) -> str:
    """Return how the choice was made, and how good it can be said to be."""
    loop = plan.loop
    if plan.is_edited:
        return "edited by hand: how good is not shown"
    if loop is None:
        return "chosen by hand"
    by = "bends" if loop.by == "parallel" else loop.by
    differences = (abs(a - b) for a, b in zip(loop.total, loop.bound, strict=True))
    if all(difference < EQUAL_TOTALS for difference in differences):
        words = f"each run its own best by {by}"
    elif loop.is_proven:
        words = f"by {by} proven best of {counted(loop.pool, 'route')}"
    else:
        words = f"by {by} the best found, not proven"
    if loop.is_proven and loop.for_parallel:
        given = lengths_for(plan.scene.units)
        amount = f"{given.number(loop.for_parallel)} {given.unit}"
        words += f"; {amount} given to run parallel"
    return words + _ENDINGS[loop.ended]
