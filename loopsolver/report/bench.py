"""What is hard about bending a candidate at a bench, in words, and what would help."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.lengths import Lengths
from loopsolver.plan.model import PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tolerances import LEAST_TURN_DEG
from loopsolver.tube.bench_doubts import (
    BenchDoubt,
    FineTurn,
    HeatInBend,
    HeatInFitting,
    NoBend,
    NothingToTrim,
    ShortHold,
    ShortStraight,
    bench_doubts,
)
from loopsolver.tube.stock import COLD_HOLD
from loopsolver.words import by_number


def candidate_doubts(scene: Scene, candidate: Candidate) -> tuple[BenchDoubt, ...]:
    """Return what is doubtful about bending a candidate.

    An end of which the candidate does not say what holds it counts as not gripped.
    """
    held = ((end, scene.port(end.port).fittings) for end in candidate.ends)
    depths = [
        next((one.depth for one in fittings if one.name == end.fitting), 0.0)
        for end, fittings in held
    ]
    first, last = depths or (0.0, 0.0)
    return bench_doubts(
        candidate.table,
        tube=scene.tube,
        trim_allowance=candidate.trim_allowance,
        depths=(first, last),
    )


def end_names(run: PlannedRun, candidate: Candidate) -> tuple[str, str]:
    """Return the ports of a candidate's first and last end."""
    if not candidate.ends:
        return run.from_port, run.to_port
    first, last = candidate.ends
    return first.port, last.port


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtWords:
    """A doubt in words, in the parts in which many candidates may share it.

    Attributes
    ----------
    kind : str
        What is the matter in two words or three.
    what : str
        The same in full, for every tube.
    where : str
        Where, and how much; may be empty.
    remedy : str
        What would help, whatever the tube.
    """

    kind: str
    what: str
    where: str
    remedy: str

    @property
    def sentence(self) -> str:
        """All of it, of one tube."""
        return f"{_with_place(self.what, self.where)}; {self.remedy}"

    @property
    def short(self) -> str:
        """What little there is room for beside a picture."""
        return _with_place(self.kind, self.where)


NO_BEND: Final = DoubtWords(
    kind=NoBend.kind,
    what="no bend to give way between two fixed parts (MIL-H-8891A, 3.11.4.5)",
    where="",
    remedy="take a candidate with a bend, or hold a part softly",
)
"""What is doubtful about a straight tube."""


def _with_place(what: str, where: str) -> str:
    return f"{what}: {where}" if where else what


def bench_words(
    scene: Scene,
    run: PlannedRun,
    candidate: Candidate,
    *,
    text: Callable[[float], str],
) -> tuple[DoubtWords, ...]:
    """Return the doubts about bending a candidate in words; those alike are joined.

    Parameters
    ----------
    scene : Scene
    run : PlannedRun
    candidate : Candidate
        Of the run.
    text : callable
        Puts a length [mm] into words.
    """
    ends = end_names(run, candidate)
    matters: dict[tuple[str, str], list[DoubtWords]] = {}
    for doubt in candidate_doubts(scene, candidate):
        one = _doubt_words(doubt, ends=ends, text=text)
        matters.setdefault((one.what, one.remedy), []).append(one)
    return tuple(
        replace(alike[0], where=", ".join(one.where for one in alike))
        for alike in matters.values()
    )


def _doubt_words(
    doubt: BenchDoubt, *, ends: tuple[str, str], text: Callable[[float], str]
) -> DoubtWords:
    """Return a doubt in words; `ends` are the ports of the tube's first and last end."""
    match doubt:
        case ShortStraight():
            what = f"straight shorter than the grip of {text(doubt.grip)}"
            where = f"{text(doubt.length)} {_straight_place(doubt, ends)}"
            remedy = (
                "more straight_between_bends, or at an end more trim_allowance, in "
                "the scene asks for it"
            )
        case NothingToTrim():
            what = "no trim allowance, so nothing to hold and to cut square"
            where = ""
            remedy = f"{text(doubt.trim)} at each end would do"
        case ShortHold():
            what = f"less than {text(COLD_HOLD)} stays cold to hold"
            where = f"{text(doubt.cold)} at {ends[doubt.end]}"
            remedy = f"a trim allowance of {text(doubt.trim)} would do"
        case HeatInFitting():
            what = "heat reaches what a fitting grips"
            where = f"{text(doubt.length)} at {ends[doubt.end]}"
            remedy = "shade the tube there"
        case HeatInBend():
            what = "heat reaches a bend that is done"
            where = f"of bend {doubt.bend} {text(doubt.length)} of bend {doubt.done}"
            remedy = "shade it, then check it again"
        case FineTurn():
            what = f"no hand can set a turn under {LEAST_TURN_DEG:g} degrees"
            where = (
                f"{doubt.turn_deg:+.1f} degrees before bend {doubt.bend}, without "
                f"which the last end lies {text(doubt.miss)} off"
            )
            remedy = "bend it flat if the fittings bear that, or take another candidate"
        case NoBend():
            return NO_BEND
    return DoubtWords(kind=doubt.kind, what=what, where=where, remedy=remedy)


def _straight_place(doubt: ShortStraight, ends: Sequence[str]) -> str:
    """Return between which bends a straight lies, or at which end."""
    if doubt.number == 1:
        return f"at {ends[0]}, trim allowance included"
    if doubt.number == doubt.count:
        return f"at {ends[1]}, trim allowance included"
    return f"between bends {doubt.number - 1} and {doubt.number}"


def bench_remarks(
    scene: Scene, run: PlannedRun, order: Sequence[int], *, lengths: Lengths
) -> Iterator[str]:
    """Yield a sentence for each thing that is hard about bending a run's candidates.

    Candidates of which the same is said share a sentence.
    """
    matters: dict[str, dict[str, dict[str, list[int]]]] = {}
    for rank in order:
        told = bench_words(scene, run, run.candidate(rank), text=lengths.text)
        for one in told:
            places = matters.setdefault(one.what, {}).setdefault(one.remedy, {})
            places.setdefault(one.where, []).append(rank)
    for what, remedies in matters.items():
        for remedy, places in remedies.items():
            told_of = ", ".join(
                f"{where} ({by_number('candidate', ranks)})"
                if where
                else by_number("candidate", ranks)
                for where, ranks in places.items()
            )
            yield f"{what}: {told_of}; {remedy}"
