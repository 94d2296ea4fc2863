"""What speaks for each candidate of a run among the others: as data, and in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from loopsolver.clearance.obstacles import UNKNOWN_BEYOND
from loopsolver.plan.model import PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.routing.ways_round import passed_otherwise, poles_in
from loopsolver.routing.worth import odd_turns
from loopsolver.scene.model import Scene
from loopsolver.tolerances import LEAST_TOLD, NO_SHORTER
from loopsolver.words import listed

Merit = Literal["fewest bends", "shortest", "most gap", "square turns", "other side"]

MOST_BODIES_NAMED: Final = 2
"""So many bodies are named at most that a tube passes on their other side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Purpose:
    """One thing that a candidate is for.

    Attributes
    ----------
    merit : Merit
    bodies : tuple of str
        What it passes on the other side than candidate 1 does; otherwise empty.
    """

    merit: Merit
    bodies: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """It in words: ``round the other side of memory``."""
        if self.merit != "other side":
            return self.merit
        named, more = (
            self.bodies[:MOST_BODIES_NAMED],
            len(self.bodies) - MOST_BODIES_NAMED,
        )
        of = listed([*named, *([f"{more} more"] if more > 0 else [])])
        return f"round the other side of {of}"


def purposes(scene: Scene, run: PlannedRun) -> tuple[tuple[Purpose, ...], ...]:
    """Return what each candidate of a run is for, rank by rank.

    Where several share a merit, the first of them has it; where most do, none.
    """
    candidates, poles = run.candidates, poles_in(scene)
    if not candidates:
        return ()
    first: dict[int, list[Purpose]] = {}
    for merit, place in _merits(candidates):
        first.setdefault(place, []).append(Purpose(merit=merit))
    for place, candidate in enumerate(candidates):
        bodies = passed_otherwise(candidate.centreline, candidates[0].centreline, poles)
        if bodies:
            aside = Purpose(merit="other side", bodies=bodies)
            first.setdefault(place, []).append(aside)
    return tuple(tuple(first.get(place, ())) for place in range(len(candidates)))


def _merits(candidates: Sequence[Candidate]) -> Iterator[tuple[Merit, int]]:
    """Yield each merit in a figure, and the place of the candidate that has it."""
    every: tuple[tuple[Merit, list[float], float], ...] = (
        ("fewest bends", [one.bends for one in candidates], 0.0),
        ("shortest", [one.length for one in candidates], NO_SHORTER),
        ("most gap", [-one.gap.distance for one in candidates], LEAST_TOLD),
    )
    for merit, figures, equal in every:
        if merit == "most gap" and candidates[0].gap.name == UNKNOWN_BEYOND:
            continue
        best = [n for n, f in enumerate(figures) if f <= min(figures) + equal]
        if 2 * len(best) <= len(figures):
            yield merit, best[0]
    odd = [odd_turns(one.turns_deg) for one in candidates]
    if odd and odd[0] and 0 in odd:
        yield "square turns", odd.index(0)


def purpose_remarks(
    scene: Scene, run: PlannedRun, order: Sequence[int]
) -> Iterator[str]:
    """Yield what candidates of a run are for, a line each, less those with nothing.

    Parameters
    ----------
    scene : Scene
    run : PlannedRun
    order : sequence of int
        The ranks, in the order in which they are told of.
    """
    every = purposes(scene, run)
    for rank in order:
        if every[rank - 1]:
            words = ", ".join(one.words for one in every[rank - 1])
            yield f"candidate {rank}: {words}"
