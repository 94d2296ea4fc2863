"""The loop as a whole in words: its total, and what a choice does to the other runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from loopsolver.cli.lengths import counted, lengths_of
from loopsolver.cli.output import say, say_wrapped
from loopsolver.lengths import Lengths

if TYPE_CHECKING:
    from loopsolver.plan import Effect, Ended, LoopSummary, Plan


def say_loop(plan: Plan) -> None:
    """Print the total of the chosen tubes, and how good the choice can be said to be."""
    if len(plan.runs) < 2:
        return
    say()
    say_wrapped(loop_sentences(plan))


def loop_sentences(plan: Plan) -> list[str]:
    """Return the total of a plan's chosen tubes, and how the choice was made."""
    lengths = lengths_of(plan.scene)
    chosen = [run.chosen_candidate for run in plan.runs if run.chosen_candidate]
    bends = counted(sum(one.bends for one in chosen), "bend")
    elbows = sum(one.elbows for one in chosen)
    made_of = f"{bends} and {counted(elbows, 'elbow')}" if elbows else bends
    length = lengths.text(sum(one.length for one in chosen))
    runs = counted(len(plan.runs), "run")
    if len(chosen) < len(plan.runs):
        runs = f"{len(chosen)} of {runs}"
    total = f"the loop: {made_of}, {length} of tube in {runs}"
    if plan.is_edited:
        return [
            total,
            "how good the choice is is not shown: the plan was edited by hand",
        ]
    if plan.loop is None:
        by_hand = "chosen by hand; `loopsolver route` would choose for the whole loop"
        return [total, by_hand]
    lacking = [run.name for run in plan.runs if not run.candidates]
    left_out = [run.name for run in plan.runs if run.candidates and not run.chosen]
    return [
        total,
        *([f"without a route: {_names(lacking)}"] if lacking else []),
        *(
            _how_many(plan.loop, left_out)
            if left_out
            else _how_good(plan.loop, lengths)
            if chosen
            else ()
        ),
        *(() if lacking or left_out else [_looks(plan, lengths)]),
        *_how_ended(plan.loop.ended),
    ]


def _names(names: Sequence[str]) -> str:
    return ", ".join(repr(name) for name in names)


def _how_many(loop: LoopSummary, left_out: Sequence[str]) -> Iterator[str]:
    """Yield which runs are left out, and whether fewer could be."""
    yield f"left out, as not all fit together: {_names(left_out)}"
    if loop.is_proven:
        yield f"proven: no choice of {_from_what(loop)} leaves out fewer"
    else:
        yield f"no choice of {_from_what(loop)} was found that leaves out fewer"


def _how_ended(ended: Ended) -> Iterator[str]:
    """Yield what ended the search before nothing more was to be gained."""
    if ended == "time":
        yield "time ended the search; --seconds gives it more"
    elif ended == "stopped":
        yield "Ctrl-C ended the search before it was done"
    elif ended == "stopped early":
        yield (
            "Ctrl-C ended the search before all runs were routed; the others were "
            "chosen without them"
        )


def _from_what(loop: LoopSummary) -> str:
    """Return what the choice was made from."""
    found = f"the {counted(loop.pool, 'route')} found"
    if loop.rounds:
        found += f" in {counted(loop.rounds, 'round')}"
    return f"{found} with {_names(loop.kept)} kept" if loop.kept else found


def _looks(plan: Plan, lengths: Lengths) -> str:
    """Return over what length tubes run side by side."""
    from loopsolver.plan import tubes_side_by_side

    found = tubes_side_by_side(plan)
    if found.length < 1.0:
        return "no tubes run side by side"
    run = f"tubes run side by side over {lengths.text(found.length)}"
    if found.even < 1.0:
        return f"{run}, each stretch at another spacing"
    if found.length - found.even < 1.0:
        return f"{run}, evenly spaced"
    return f"{run}, evenly spaced over {lengths.text(found.even)} of it"


def _how_good(loop: LoopSummary, lengths: Lengths) -> Iterator[str]:
    by = "bends" if loop.by == "parallel" else loop.by
    from_what = _from_what(loop)
    if all(abs(a - b) < 1e-3 for a, b in zip(loop.total, loop.bound, strict=True)):
        yield (
            f"by {by} no choice of {from_what} is better: each tube is as good as the "
            "best of its run alone"
        )
        return
    if loop.is_proven and loop.for_parallel:
        yield (
            f"by {by} proven best of {from_what}, but for "
            f"{lengths.text(loop.for_parallel)} of tube given so that more runs parallel"
        )
    elif loop.is_proven:
        yield f"by {by} proven best of {from_what}"
    else:
        yield f"by {by} the best found of {from_what}; not proven"
    if by == "bends":
        more_bends = loop.total[0] - loop.bound[0]
        more_length = lengths.text(abs(loop.total[1] - loop.bound[1]))
        way = "more" if loop.total[1] >= loop.bound[1] else "less"
        yield (
            f"if tubes could pass through each other: {counted(round(more_bends), 'bend')} "
            f"fewer; this has {more_length} {way} tube than that"
        )


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
    ranks = [str(effect.rank) for effect in found if effect.moved is None]
    if ranks:
        which = f"candidate {ranks[0]}"
        if len(ranks) > 1:
            which = f"candidates {', '.join(ranks[:-1])} and {ranks[-1]}"
        yield (
            f"{which}: beside it no listed candidates of the others fit; `loopsolver "
            "route --keep` looks for new ones"
        )


def effect_document(effect: Effect) -> dict[str, Any]:
    """Return an effect as plain JSON values."""
    moved = effect.moved
    return {
        "fits": moved is not None,
        "moves": [{"run": name, "candidate": rank} for name, rank in moved or ()],
    }


def loop_document(plan: Plan) -> dict[str, Any]:
    """Return the loop's total and how it was chosen as plain JSON values."""
    from loopsolver.plan import tubes_side_by_side

    chosen = [run.chosen_candidate for run in plan.runs if run.chosen_candidate]
    document: dict[str, Any] = {
        "runs": len(chosen),
        "bends": sum(one.bends for one in chosen),
        "elbows": sum(one.elbows for one in chosen),
        "length": sum(one.length for one in chosen),
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
