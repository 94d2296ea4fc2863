"""The loop as a whole: its total, how its tubes were chosen, and what a choice moves.

The facts come first, so that the panel of a window may lay them out in lines of its own;
then the sentences that a screen prints.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Literal

from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import LoopSummary, Plan, tubes_side_by_side
from loopsolver.plan.effects import Effect
from loopsolver.routing.control import Ended
from loopsolver.tolerances import EQUAL_TOTALS, SHORTEST_SIDE_BY_SIDE
from loopsolver.words import by_number, counted, quoted

ChoiceQuality = Literal[
    "edited", "by hand", "each its own best", "proven best", "best found"
]
"""How good the choice of a whole loop can be said to be."""

Spacing = Literal["none", "uneven", "even", "even in part"]
"""How the stretches of tube that run side by side stand apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopTotal:
    """The chosen tubes of a plan together.

    Attributes
    ----------
    tubes, runs : int
        How many tubes are chosen, of how many runs.
    bends, elbows : int
        Of all of them.
    length : float
        Of all of them, trimmed [mm].
    """

    tubes: int
    runs: int
    bends: int
    elbows: int
    length: float

    @property
    def is_whole(self) -> bool:
        """Whether every run has its tube."""
        return self.tubes == self.runs


@dataclass(frozen=True, slots=True, kw_only=True)
class Alongside:
    """How much of the chosen tubes runs side by side [mm], and how it is spaced."""

    length: float
    even: float
    spacing: Spacing


def loop_total(plan: Plan) -> LoopTotal:
    """Return the sum of a plan's chosen tubes, or of those that were built instead."""
    chosen = [one for run in plan.runs if (one := run.tube_in_place) is not None]
    return LoopTotal(
        tubes=len(chosen),
        runs=len(plan.runs),
        bends=sum(one.bends for one in chosen),
        elbows=sum(one.elbows for one in chosen),
        length=sum(one.length for one in chosen),
    )


def plan_side_by_side(plan: Plan) -> Alongside:
    """Return how much of a plan's chosen tubes runs side by side."""
    found = tubes_side_by_side(plan)
    least = SHORTEST_SIDE_BY_SIDE
    spacing: Spacing = "even in part"
    if found.length < least:
        spacing = "none"
    elif found.even < least:
        spacing = "uneven"
    elif found.length - found.even < least:
        spacing = "even"
    return Alongside(length=found.length, even=found.even, spacing=spacing)


def verdict(plan: Plan) -> ChoiceQuality:
    """Return how good the choice of a plan's loop can be said to be."""
    loop = plan.loop
    if plan.is_edited:
        return "edited"
    if loop is None:
        return "by hand"
    # Where nothing was laid in time, there may be a bound and no total.
    both = zip_longest(loop.total, loop.bound, fillvalue=0.0)
    if all(abs(total - bound) < EQUAL_TOTALS for total, bound in both):
        return "each its own best"
    return "proven best" if loop.is_proven else "best found"


def ranking_name(loop: LoopSummary) -> str:
    """Return what the choice had to make least; for parallel tubes that is bends."""
    return "bends" if loop.by == "parallel" else loop.by


# ------------------------------------------------------------------------- in sentences


def loop_sentences(plan: Plan) -> list[str]:
    """Return the total of a plan's chosen tubes, and how the choice was made."""
    lengths = lengths_for(plan.scene.units)
    total = _total_words(loop_total(plan), lengths)
    how_good = verdict(plan)
    if how_good == "edited":
        by_edit = "how good the choice is is not shown: the plan was edited by hand"
        return [total, by_edit]
    if plan.loop is None:
        by_hand = "chosen by hand; `loopsolver route` would choose for the whole loop"
        return [total, by_hand]
    bare = [run for run in plan.runs if run.tube_in_place is None]
    lacking = [run.name for run in bare if not run.candidates]
    left_out = [run.name for run in bare if run.candidates]
    sentences = [total]
    if lacking:
        sentences.append(f"without a route: {quoted(lacking)}")
    if left_out:
        sentences += _how_many(plan.loop, left_out)
    elif len(lacking) < len(plan.runs):
        sentences += _how_good(plan.loop, how_good, lengths)
    sentences += would_fit_words(plan.loop, lengths)
    if not lacking and not left_out:
        sentences.append(_side_by_side_words(plan_side_by_side(plan), lengths))
    return sentences + list(_how_ended(plan.loop.ended))


def _total_words(total: LoopTotal, lengths: Lengths) -> str:
    made_of = counted(total.bends, "bend")
    if total.elbows:
        made_of += f" and {counted(total.elbows, 'elbow')}"
    runs = counted(total.runs, "run")
    if not total.is_whole:
        runs = f"{total.tubes} of {runs}"
    return f"the loop: {made_of}, {lengths.text(total.length)} of tube in {runs}"


def _how_many(loop: LoopSummary, left_out: Sequence[str]) -> Iterator[str]:
    """Yield which runs are left out, and whether fewer could be."""
    yield f"left out, as not all fit together: {quoted(left_out)}"
    if loop.is_proven:
        yield f"proven: no choice of {_from_what(loop)} leaves out fewer"
    else:
        yield f"no choice of {_from_what(loop)} was found that leaves out fewer"


def would_fit_words(loop: LoopSummary, lengths: Lengths) -> Iterator[str]:
    """Yield with which changes all runs of a loop would fit, or what was tried in vain."""
    one = loop.would_fit
    if one is not None:
        made_of = counted(one.bends, "bend")
        if one.elbows:
            made_of += f" and {counted(one.elbows, 'elbow')}"
        yield (
            f"with {one.changes}, all {one.runs} would fit: {made_of}, "
            f"{lengths.text(one.length)} of tube"
        )
    elif loop.tried:
        yield loop.tried


def _how_good(
    loop: LoopSummary, how_good: ChoiceQuality, lengths: Lengths
) -> Iterator[str]:
    """Yield how good the choice is, and what tubes that pass through others would save."""
    by, from_what = ranking_name(loop), _from_what(loop)
    if how_good == "each its own best":
        yield (
            f"by {by} no choice of {from_what} is better: each tube is as good as the "
            "best of its run alone"
        )
        return
    if how_good == "best found":
        yield f"by {by} the best found of {from_what}; not proven"
    elif loop.for_parallel:
        yield (
            f"by {by} proven best of {from_what}, but for "
            f"{lengths.text(loop.for_parallel)} of tube given so that more runs parallel"
        )
    else:
        yield f"by {by} proven best of {from_what}"
    if by == "bends":
        more_bends = counted(round(loop.total[0] - loop.bound[0]), "bend")
        more_length = lengths.text(abs(loop.total[1] - loop.bound[1]))
        way = "more" if loop.total[1] >= loop.bound[1] else "less"
        yield (
            f"if tubes could pass through each other: {more_bends} fewer; this has "
            f"{more_length} {way} tube than that"
        )


def _from_what(loop: LoopSummary) -> str:
    """Return what the choice was made from."""
    found = f"the {counted(loop.pool, 'route')} found"
    if loop.rounds:
        found += f" in {counted(loop.rounds, 'round')}"
    return f"{found} with {quoted(loop.kept)} kept" if loop.kept else found


def _side_by_side_words(found: Alongside, lengths: Lengths) -> str:
    """Return over what length tubes run side by side."""
    if found.spacing == "none":
        return "no tubes run side by side"
    run = f"tubes run side by side over {lengths.text(found.length)}"
    if found.spacing == "uneven":
        return f"{run}, each stretch at another spacing"
    if found.spacing == "even":
        return f"{run}, evenly spaced"
    return f"{run}, evenly spaced over {lengths.text(found.even)} of it"


def _how_ended(ended: Ended) -> Iterator[str]:
    """Yield what ended the search while more might have been gained."""
    if ended == "time":
        yield "time ended the search; --seconds gives it more"
    elif ended == "stopped":
        yield "Ctrl-C ended the search before it was done"
    elif ended == "stopped early":
        yield (
            "Ctrl-C ended the search before all runs were routed; the others were "
            "chosen without them"
        )


# --------------------------------------------------------------- what a choice moves


def effect_words(effect: Effect) -> str:
    """Return what choosing a candidate does to the other runs, in a word or two."""
    if effect.moved is None:
        return "no fit"
    if not effect.moved:
        return "stay"
    return "1 moves" if len(effect.moved) == 1 else f"{len(effect.moved)} move"


def effect_remarks(found: Sequence[Effect]) -> Iterator[str]:
    """Yield, for candidates that would make others move, which and to what."""
    for effect in found:
        if effect.moved:
            others = " and ".join(f"{name!r} to {rank}" for name, rank in effect.moved)
            yield f"candidate {effect.rank} would move {others}"
    ranks = [effect.rank for effect in found if effect.moved is None]
    if ranks:
        yield (
            f"{by_number('candidate', ranks)}: beside it no listed candidates of the "
            "others fit; `loopsolver route --keep` looks for new ones"
        )
