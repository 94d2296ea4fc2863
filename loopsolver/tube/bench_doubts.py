"""What is doubtful about bending one tube: too little to hold, heat in a wrong place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import ClassVar

from loopsolver.tolerances import LEAST_TURN_DEG, TOUCH
from loopsolver.tube.bend_table import BendTable, lay_forward
from loopsolver.tube.marks import BendMark, bend_marks, blank_length, heat_reach
from loopsolver.tube.planes import is_in_plane
from loopsolver.tube.stock import COLD_HOLD, MATERIAL_FACTS, Tube


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortStraight:
    """A straight that is shorter than the grip beside a bend.

    Attributes
    ----------
    number, count : int
        Which straight of how many, counted from 1.
    length, grip : float
        What there is, at a tube end with the trim allowance, and what is asked [mm].
    """

    kind: ClassVar[str] = "short straight"

    number: int
    count: int
    length: float
    grip: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NothingToTrim:
    """A tube that is bent without any trim allowance; `trim` would do [mm]."""

    kind: ClassVar[str] = "nothing to trim"

    trim: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortHold:
    """An end of a tube bent hot of which too little stays cold to hold.

    Attributes
    ----------
    end : int
        0 for the first end, 1 for the last.
    cold : float
        What stays cold [mm].
    trim : float
        The least trim allowance with which both ends would do, in whole mm [mm].
    """

    kind: ClassVar[str] = "short hold"

    end: int
    cold: float
    trim: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatInFitting:
    """Heat that reaches into what a fitting grips later on.

    Attributes
    ----------
    end : int
        0 for the first end, 1 for the last.
    bend : int
        Number of the bend that is heated.
    length : float
        How much of what is gripped gets hot [mm].
    """

    kind: ClassVar[str] = "heat in fitting"

    end: int
    bend: int
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatInBend:
    """Heat for one bend that reaches another one, which is done by then.

    Attributes
    ----------
    bend, done : int
        Number of the bend that is heated, and of the one it reaches.
    length : float
        How much of that bend's arc gets hot [mm].
    """

    kind: ClassVar[str] = "heat in bend"

    bend: int
    done: int
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FineTurn:
    """A turn before a bend that is too small to be set by hand.

    Attributes
    ----------
    bend : int
        Number of the bend it comes before.
    turn_deg : float
        Off the plane of the bend before, with its sign [degrees].
    miss : float
        How far off the tube's last end lies where the turn is left out [mm].
    """

    kind: ClassVar[str] = "fine turn"

    bend: int
    turn_deg: float
    miss: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoBend:
    """A straight tube: between two parts that are fixed nothing gives way.

    MIL-H-8891A, 3.11.4.5: a straight tube between two rigid connections is not used. US
    Navy 14105, p. 5-3: a bend takes up vibration and expansion.
    """

    kind: ClassVar[str] = "no bend"


BenchDoubt = (
    ShortStraight
    | NothingToTrim
    | ShortHold
    | HeatInFitting
    | HeatInBend
    | FineTurn
    | NoBend
)


def bench_doubts(
    table: BendTable,
    *,
    tube: Tube,
    trim_allowance: float,
    depths: tuple[float, float],
) -> tuple[BenchDoubt, ...]:
    """Return what is doubtful about bending a tube, or about none being in it.

    Bends are made in order, from the first end.

    Parameters
    ----------
    table : BendTable
    tube : Tube
    trim_allowance : float
        Left over at each end [mm].
    depths : two floats
        How far its first and last end go into their fittings [mm].
    """
    if not table.bends:
        return (NoBend(),)
    marks = bend_marks(
        table,
        trim_allowance=trim_allowance,
        outer_diameter=tube.outer_diameter,
        take_up=tube.take_up,
    )
    whole = blank_length(table, trim_allowance=trim_allowance, take_up=tube.take_up)
    found: list[BenchDoubt] = [
        *_short_straights(table, tube, trim_allowance),
        *_short_holds(table, tube, trim_allowance),
    ]
    if tube.is_bent_hot:
        found += _heat_in_fittings(marks, trim_allowance, whole, depths)
        found += _heat_in_bends(marks)
    return (*found, *_fine_turns(table))


def cold_ends(
    table: BendTable, *, trim_allowance: float, outer_diameter: float
) -> tuple[float, float]:
    """Return how much of either end of a blank no bend's heat reaches [mm].

    Trim allowance and straight together, less the heat's reach; never below 0. For a
    tube with a bend at least.
    """
    ends = (table.straights[0], table.straights[-1])
    reach = heat_reach(outer_diameter)
    first, last = (max(0.0, trim_allowance + straight - reach) for straight in ends)
    return first, last


def _short_straights(
    table: BendTable, tube: Tube, trim_allowance: float
) -> Iterator[ShortStraight]:
    if tube.grip is None:
        return
    straights = list(table.straights)
    straights[0] += trim_allowance
    straights[-1] += trim_allowance
    for number, length in enumerate(straights, start=1):
        if length < tube.grip - TOUCH:
            yield ShortStraight(
                number=number, count=len(straights), length=length, grip=tube.grip
            )


def _short_holds(
    table: BendTable, tube: Tube, trim_allowance: float
) -> Iterator[NothingToTrim | ShortHold]:
    """Yield the ends that are too short to hold; if there is no trim, that alone."""
    outer = tube.outer_diameter
    usual = MATERIAL_FACTS[tube.material].trim_allowance
    shortest = min(table.straights[0], table.straights[-1])
    wanted = math.ceil(COLD_HOLD + heat_reach(outer) - shortest - TOUCH)
    if trim_allowance <= TOUCH:
        trim = max(usual, wanted) if tube.is_bent_hot else usual
        yield NothingToTrim(trim=float(trim))
        return
    if not tube.is_bent_hot:
        return
    colds = cold_ends(table, trim_allowance=trim_allowance, outer_diameter=outer)
    for end, cold in enumerate(colds):
        if cold < COLD_HOLD - TOUCH:
            yield ShortHold(end=end, cold=cold, trim=float(wanted))


def _heat_in_fittings(
    marks: Sequence[BendMark],
    trim_allowance: float,
    whole: float,
    depths: tuple[float, float],
) -> Iterator[HeatInFitting]:
    """Yield where the nearest bend's heat reaches what is gripped at either end."""
    low, high = trim_allowance, whole - trim_allowance
    gripped = ((low, low + depths[0]), (high - depths[1], high))
    for end, (mark, span) in enumerate(
        zip((marks[0], marks[-1]), gripped, strict=True)
    ):
        length = _shared((mark.heated_from, mark.heated_to), span)
        if length > TOUCH:
            yield HeatInFitting(end=end, bend=mark.number, length=length)


def _heat_in_bends(marks: Sequence[BendMark]) -> Iterator[HeatInBend]:
    """Yield where a bend's heat reaches the arc of one that is made before it."""
    for done, mark in combinations(marks, 2):
        length = _shared((mark.heated_from, mark.heated_to), (done.start, done.end))
        if length > TOUCH:
            yield HeatInBend(bend=mark.number, done=done.number, length=length)


def _shared(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Return the length of what two stretches share [mm]; below 0 where they part."""
    return min(one[1], other[1]) - max(one[0], other[0])


def _fine_turns(table: BendTable) -> Iterator[FineTurn]:
    """Yield turns that differ from none by more than nothing and less than a hand sees."""
    for index, bend in enumerate(table.bends[1:], start=1):
        flat_deg = 0.0 if abs(bend.rotation_deg) < 90.0 else 180.0
        turn_deg = math.remainder(bend.rotation_deg - flat_deg, 360.0)
        if is_in_plane(bend.rotation_deg) or abs(turn_deg) >= LEAST_TURN_DEG:
            continue
        bends = list(table.bends)
        bends[index] = replace(bend, rotation_deg=flat_deg)
        without = replace(table, bends=tuple(bends))
        miss = math.dist(_last_end(table), _last_end(without))
        yield FineTurn(bend=index + 1, turn_deg=turn_deg, miss=miss)


def _last_end(table: BendTable) -> Sequence[float]:
    """Return where a tube's last end lies, its first end laid down the same way."""
    laid = lay_forward(
        table,
        start=(0.0, 0.0, 0.0),
        direction=(1.0, 0.0, 0.0),
        first_bend_towards=(0.0, 1.0, 0.0),
    )
    return laid.vertices[-1]
