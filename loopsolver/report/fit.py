"""How likely tubes go in, in words: how many of ten, what decides it, what to do best."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from loopsolver.errors import LoopsolverError
from loopsolver.lengths import Lengths, fixed
from loopsolver.report.angles import degrees
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tolerances import ORDER_DECIMALS
from loopsolver.tube.centreline import straight_name
from loopsolver.words import listed

if TYPE_CHECKING:
    from loopsolver.fitup.chance import Cause, Chance
    from loopsolver.fitup.spread import Source
    from loopsolver.plan import Plan, PlannedRun

TOLD: Final = 3
"""How many of what decides it are told."""

CAUTION: Final = (
    "Do not force a tube into line: it presses its seals on one side, and what is bent by "
    "force stays under stress."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fits:
    """How likely the candidates of a plan go in.

    Attributes
    ----------
    chances : mapping
        By run and rank.
    reasons : mapping
        Why there are none, by run.
    """

    chances: Mapping[tuple[str, int], Chance] = field(default_factory=dict)
    reasons: Mapping[str, str] = field(default_factory=dict)

    def of(self, run: str) -> dict[int, Chance]:
        """Return the chances of a run's candidates by rank."""
        return {
            rank: chance for (name, rank), chance in self.chances.items() if name == run
        }

    def cells(self, run: str) -> dict[int, str]:
        """Return how many of ten go in, in words, by rank."""
        return {rank: of_ten(chance) for rank, chance in self.of(run).items()}

    def best_first(self, run: PlannedRun) -> tuple[int, ...]:
        """Return a run's ranks, those that stand most spread first; then as they are."""
        told = self.of(run.name)
        stood = {rank: told[rank].stands if rank in told else 0.0 for rank in run.ranks}
        return tuple(
            sorted(run.ranks, key=lambda rank: -round(stood[rank], ORDER_DECIMALS))
        )

    @property
    def remarks(self) -> tuple[str, ...]:
        """What the figures rest on, or why there are none."""
        told = (
            "fit: so many of 10 go in without force, an estimate from stated spreads; "
            "`loopsolver fit` says what decides it"
        )
        lacking = [
            f"{run}: no chance is told: {why}" for run, why in self.reasons.items()
        ]
        return (*([told] if self.chances else ()), *lacking)


def fits(plan: Plan, wanted: Mapping[str, Sequence[int]] | None = None) -> Fits:
    """Return how likely candidates go in: all of a plan, or some ranks of some runs."""
    from loopsolver.fitup.chance import chance_of
    from loopsolver.scene.port_spreads import port_spreads

    ports = port_spreads(plan.scene)
    chances: dict[tuple[str, int], Chance] = {}
    reasons: dict[str, str] = {}
    for run in plan.runs:
        for rank in run.ranks if wanted is None else wanted.get(run.name, ()):
            try:
                chance = chance_of(plan.scene, run.candidate(rank), ports)
            except LoopsolverError as error:
                reasons[run.name] = str(error)
            else:
                chances[run.name, rank] = chance
    return Fits(chances=chances, reasons=reasons)


def missed_for_places(plan: Plan) -> dict[str, float]:
    """Return how many tubes do not go in for where their ports are, by run, 0 to 1.

    Of the chosen ones; 0 where none is chosen or nothing can be told.
    """
    wanted = {run.name: (run.chosen,) for run in plan.runs if run.chosen is not None}
    missed = dict.fromkeys((run.name for run in plan.runs), 0.0)
    for (name, _), chance in fits(plan, wanted).chances.items():
        parts = (one.part for one in chance.causes if one.source.kind == "place")
        missed[name] = (1.0 - chance.likely) * math.fsum(parts)
    return missed


def of_ten(chance: Chance) -> str:
    """Return between which counts of ten tubes go in: ``8 to 9``, or ``9``."""
    least, most = (math.floor(10.0 * one + 0.5) for one in (chance.least, chance.most))
    return f"{least}" if least == most else f"{least} to {most}"


def bench_fit_words(plan: Plan, run: PlannedRun, rank: int) -> Iterator[str]:
    """Yield how likely a candidate goes in and what to take care of, for its sheet."""
    chance = fits(plan, {run.name: (rank,)}).of(run.name).get(rank)
    if chance is None:
        return
    yield (
        f"Of ten such tubes {of_ten(chance)} go in without force: an estimate from stated "
        "spreads."
    )
    for cause in chance.causes[:1]:
        advice = advice_words(plan.scene, run.candidate(rank), cause)
        yield f"{advice[0].upper()}{advice[1:]}."


def times_words(times: float) -> str:
    """Return a multiple in two digits, or that it is beyond all use."""
    return f"{times:.2g}" if times < 99.0 else "more than 99"


def fit_words(chance: Chance) -> str:
    """Return how many of ten go in, and what spread leaves nine."""
    verb = "still do" if chance.stands >= 1.0 else "would"
    return (
        f"an estimate from stated spreads: {of_ten(chance)} of 10 go in without force; 9 "
        f"of 10 {verb} at {times_words(chance.stands)} times these spreads"
    )


def decides_words(scene: Scene, candidate: Candidate, chance: Chance) -> str:
    """Return the three that decide it most, with their parts."""
    told = [
        f"{source_words(scene, candidate, one.source)} ({round(100.0 * one.part)} %)"
        for one in chance.causes[:TOLD]
    ]
    return f"decided by {listed(told)}" if told else "nothing in it is uncertain"


def source_words(scene: Scene, candidate: Candidate, source: Source) -> str:
    """Return what an error is an error of."""
    number = source.number
    match source.kind:
        case "straight":
            return straight_name(number - 1, candidate.bends + 1)
        case "turn":
            return f"the turn before bend {number}"
        case "angle":
            return f"the angle of bend {number}"
        case "bias":
            return "what all bends have in common"
        case "place":
            return f"where {_from_port(candidate)} is along {scene.axis_names[number]}"
        case "direction":
            return f"which way {candidate.ends[number].port} points"


def advice_words(scene: Scene, candidate: Candidate, cause: Cause) -> str:
    """Return the one measurement, or bend, that is best done with most care."""
    number = cause.source.number
    match cause.source.kind:
        case "straight":
            return f"mark straight {number} with most care"
        case "turn":
            return f"set the turn before bend {number} with most care, by the turn card"
        case "angle":
            return (
                f"bend bend {number} with most care, and hold it to its template cold"
            )
        case "bias":
            more = "another bend" if scene.tube.springback else "two bends"
            return f"make {more} to try first, and write what you got to [[test_bends]]"
        case "place":
            axis = scene.axis_names[number]
            return f"measure {_from_port(candidate)} along {axis} once more"
        case "direction":
            port = candidate.ends[number].port
            return f"see which way {port} points, with a straight piece of tube in it"


def chance_document(chance: Chance) -> dict[str, Any]:
    """Return a chance as plain JSON values."""
    return {
        "least": chance.least,
        "likely": chance.likely,
        "most": chance.most,
        "times_stated_spread": chance.stands,
        "is_estimate": True,
    }


def causes_document(
    scene: Scene, candidate: Candidate, chance: Chance
) -> list[dict[str, Any]]:
    """Return what decides it as plain JSON values, the greatest part first."""
    return [
        {
            "what": source_words(scene, candidate, one.source),
            "kind": one.source.kind,
            "number": one.source.number,
            "part": one.part,
        }
        for one in chance.causes[:TOLD]
    ]


def _from_port(candidate: Candidate) -> str:
    first, far = candidate.ends
    return f"{far.port} from {first.port}"


def fit_basis(scene: Scene, lengths: Lengths) -> Iterator[str]:
    """Yield what the figures rest on, a sentence each, and a caution."""
    from loopsolver.fitup.chance import KNOWN_TO
    from loopsolver.fitup.placement import MOST_ROLL

    spread, springback = scene.spread, scene.tube.springback
    bias = (
        f"what all bends have in common {_degrees(spread.bias)}"
        if springback is None
        else "what all bends have in common as test bends tell it"
    )
    ports = (
        "the places of ports as their readings tell them"
        if scene.measures
        else f"each coordinate of a port {lengths.brief(spread.reading)}"
    )
    yield (
        "An estimate from stated spreads ([spread]), not a measurement: two of three lie "
        f"within these: straights {lengths.brief(spread.straight)}, bends "
        f"{_degrees(spread.angle)}, turns {_degrees(spread.turn)}, {bias}, directions of "
        f"ports {_degrees(spread.square)}, {ports}."
    )
    yield _range_words(scene, lengths, percent=round(100.0 * KNOWN_TO))
    yield (
        "Without force: trimmed within the trim allowance, rolled by at most "
        f"{degrees(math.degrees(MOST_ROLL))}, tilt and offset shared between both "
        "fittings."
    )
    yield CAUTION


def _range_words(scene: Scene, lengths: Lengths, *, percent: int) -> str:
    """Return what the lower and the higher count are for."""
    fittings = {
        fitting
        for part in scene.components
        for port in part.ports
        for fitting in port.fittings
    }
    bends = f"bends and turns {percent} % worse"
    if any(fitting.bore is not None for fitting in fittings):
        bore = lengths.brief(scene.spread.bore)
        return (
            f"The lower count is for bores narrower by their spread, {bore}, and {bends}; "
            "the higher one for wider and better ones."
        )
    return (
        f"The lower count is for {bends}, the higher one for better ones. No fitting "
        "states its bore: they take what they accept, which decides as much; measure "
        "the bore and write it to the fitting."
    )


def _degrees(angle: float) -> str:
    return degrees(math.degrees(angle)).replace("1 degrees", "1 degree", 1)


def built_rooms(scene: Scene, runs: Sequence[PlannedRun]) -> dict[str, float]:
    """Return how much of what fittings take built tubes leave over, by run.

    As a part of it; below 0 a tube does not go in as it is.
    """
    from loopsolver.fitup.correction import as_it_is
    from loopsolver.fitup.seating import seating_of
    from loopsolver.tube.chain import chain_of

    return {
        run.name: as_it_is(chain_of(run.built.table), seating_of(scene, run.built)).room
        for run in runs
        if run.built is not None
    }


def built_words(name: str, room: float) -> str:
    """Return whether a built tube goes in.

    >>> built_words("pump to card", 0.4)
    'pump to card, as built: it goes in; that takes 60 % of what its fittings allow'
    """
    if room >= 0.0:
        taken = fixed(100.0 * (1.0 - room), 0)
        takes = f"that takes {taken} % of what its fittings allow"
        return f"{name}, as built: it goes in; {takes}"
    return (
        f"{name}, as built: it does not go in; `loopsolver correct` says what mends it"
    )
