"""Doubts about what was measured: readings that disagree, and those nothing checks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from loopsolver.geometry.vectors import AXES, axis_name
from loopsolver.lengths import Lengths, fixed, on_a_rule
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene
from loopsolver.survey.adjustment import Adjustment
from loopsolver.survey.chances import CRITICAL
from loopsolver.survey.further import possible, settling
from loopsolver.survey.network import Observation
from loopsolver.survey.reliability import Blame, Suspicion, judged, unchecked
from loopsolver.words import counted, listed, some_of

_MOST_NAMED: Final = 4


def reading_doubts(scene: Scene, adjustment: Adjustment) -> Iterator[Doubt]:
    """Yield what is doubtful about a scene's readings, if it has any.

    Those not taken yet; blunders, and what would tell which reading it is; a scatter
    larger than was stated; and what of a run's ports nothing checks.
    """
    if not any(one.kind == "reading" for one in adjustment.network.observations):
        return
    yield from _not_taken(adjustment)
    text, judgement = on_a_rule(scene.units), judged(adjustment)
    for suspicion in judgement.suspicions:
        settled_by = _settled_by(adjustment, suspicion)
        yield Doubt(
            kind="readings disagree",
            where="readings",
            message=blunder_words(suspicion, settled_by, text),
        )
    if judgement.scatter is not None:
        yield Doubt(
            kind="readings scatter",
            where="readings",
            message=scatter_words(judgement.scatter),
        )
    yield from _unchecked(scene, adjustment)


def _not_taken(adjustment: Adjustment) -> Iterator[Doubt]:
    names = [one.name for one in adjustment.network.observations if not one.is_taken]
    if names:
        message = (
            f"{counted(len(names), 'reading')} not taken yet, "
            f"{some_of(names, most=_MOST_NAMED)}: without a value it counts for nothing; "
            "measure it and fill it in, or take its table out"
        )
        yield Doubt(kind="reading not taken", where="readings", message=message)


# --------------------------------------------------------------------- blunders


def _settled_by(adjustment: Adjustment, suspicion: Suspicion) -> Observation | None:
    """Return what would tell the blamed apart: of their own ends, not yet read."""
    blamed = [blame.observation for blame in suspicion.blames[:_MOST_NAMED]]
    ends = dict.fromkeys(end for one in blamed for end in (one.start, one.goal))
    points = [end for end in ends if not _is_plane(end)]
    read = {_measured(one) for one in adjustment.taken}
    spread = min(one.spread for one in blamed)
    candidates = possible(adjustment, points, spread=spread)
    candidates = (one for one in candidates if _measured(one) not in read)
    return settling(adjustment, suspicion, candidates)


def _is_plane(end: str) -> bool:
    return end.rpartition(".")[2].removeprefix("wall ") in AXES


def _measured(one: Observation) -> tuple[frozenset[str], tuple[float, ...]]:
    """Return what an observation measures, whichever way round."""
    return frozenset((one.start, one.goal)), tuple(map(abs, one.along or ()))


def blunder_words(
    suspicion: Suspicion, settled_by: Observation | None, lengths: Lengths
) -> str:
    """Return which reading is wrong, or which of several, by how much, and what tells.

    Parameters
    ----------
    suspicion : Suspicion
    settled_by : Observation or None
        A further reading that would tell which of them it is, if any would.
    lengths : Lengths
        How lengths are worded.
    """
    blames, more = suspicion.blames[:_MOST_NAMED], suspicion.blames[_MOST_NAMED:]
    amounts = [lengths.brief(abs(one.too_long)) for one in blames]
    first, *others = (_blame_words(blame, lengths) for blame in blames)
    words = f"{first} is wrong by about {amounts[0]}"
    for other, amount in zip(others, amounts[1:], strict=True):
        by = "" if amount == amounts[0] else f" by about {amount}"
        words = f"{words}, or {other} is{by}"
    if more:
        words = f"{words}, or one of {len(more)} others is"
    if len(suspicion.blames) == 1:
        return f"{words}; measure it again"
    if settled_by is None:
        return f"either {words}; measure them again"
    return f"either {words}; {_as_measured(settled_by)} would tell"


def _blame_words(blame: Blame, lengths: Lengths) -> str:
    """Return which reading is blamed, as it was read and as it should be read."""
    one = blame.observation
    if blame.value is None:
        shown, which = one.length + one.zero, one.name
    else:
        shown = one.values[blame.value]
        which = f"one of {len(one.values)} values of {one.name}"
    right = lengths.number(shown - blame.too_long)
    return f"{which} ({lengths.number(shown)}, should be {right})"


def _as_measured(one: Observation) -> str:
    return one.name if one.along is not None else f"{one.name} straight across"


def scatter_words(times: float) -> str:
    """Return that readings scatter so many times as much as was stated."""
    return (
        f"your readings scatter {fixed(times, 1)} times as much as stated, and no single "
        f"one stands out by more than {fixed(CRITICAL, 1)} times that: state a spread "
        "that is as much larger, or measure again what was hard to reach"
    )


# -------------------------------------------------------------- what nothing checks


def _unchecked(scene: Scene, adjustment: Adjustment) -> Iterator[Doubt]:
    """Yield a doubt for each run along whose ports' difference nothing checks."""
    for run in scene.runs:
        if not len(run.from_ports) == len(run.to_ports) == 1:
            continue
        start, goal = run.from_ports[0], run.to_ports[0]
        alone = unchecked(adjustment, goal, start=start)
        axes = [letter for letter, by in zip("xyz", alone, strict=True) if by]
        if axes:
            by = dict.fromkeys(one.name for column in alone for one in column)
            yield Doubt(
                kind="unchecked",
                where=f"run {run.name!r}",
                message=unchecked_words(start, goal, axes, tuple(by), scene),
            )


def unchecked_words(
    start: str, goal: str, axes: Sequence[str], by: Sequence[str], scene: Scene
) -> str:
    """Return that nothing checks where a port lies from another, and what would.

    `by` are the names of what alone holds it.
    """
    height = (axis_name(scene.up) or "--")[1]
    level = [axis for axis in axes if axis != height]
    what = [f"the height of {goal}"] if height in axes else []
    if level:
        what.append(f"{'its place' if what else goal} along {listed(level)}")
    reads = "a reading" if len(axes) == 1 else "readings"
    return (
        f"nothing checks {listed(what)} from {start}: a slip in any of "
        f"{some_of(by, most=_MOST_NAMED)} goes unseen; {reads} from {start} to {goal} "
        f"along {listed(axes)} would show it"
    )
