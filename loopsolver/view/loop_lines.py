"""The loop as a whole on the panel: its facts in lines that are short enough."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from loopsolver.lengths import lengths_for
from loopsolver.plan import Effect, Ended, Plan
from loopsolver.report.loop import loop_total, plan_side_by_side, ranking_name, verdict
from loopsolver.view.panel_lines import PanelLine, Section, figure, wrapped
from loopsolver.words import counted

_ENDINGS: Final[dict[Ended, str]] = {
    "done": "",
    "time": "; time ended the search",
    "stopped": "; Ctrl-C ended the search",
    "stopped early": "; Ctrl-C ended the search",
}


def effect_lines(effect: Effect) -> tuple[PanelLine, ...]:
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
