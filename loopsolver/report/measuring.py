"""What to measure for the tubes of a scene, in which order, and what comes of it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.errors import LoopsolverError
from loopsolver.geometry.vectors import AXES, Point, offset
from loopsolver.plan import Plan
from loopsolver.report.fit import missed_for_places
from loopsolver.scene.model import Scene
from loopsolver.scene.point_names import DATUM_POINT, WALLS
from loopsolver.survey.adjustment import Adjustment, adjust
from loopsolver.survey.further import Gain, in_order, most_helpful, possible
from loopsolver.survey.network import Observation
from loopsolver.survey.reliability import checks
from loopsolver.tolerances import ORDER_DECIMALS

REPEATS: Final = 3
"""How often each length is to be read: the rule lifted off in between."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToMeasure:
    """A length to measure.

    Attributes
    ----------
    number : int
        From 1, in the order to measure.
    observation : Observation
        Without values; its spread is that of one of them.
    start, goal : Point
        Where it is measured from and to; from a wall, beside the goal [mm].
    length : float
        About what it will read [mm].
    slip_seen : float
        The slip, in all of its values alike, that then shows in 80 of 100 cases; infinite
        where nothing else checks it [mm].
    """

    number: int
    observation: Observation
    start: Point
    goal: Point
    length: float
    slip_seen: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEnds:
    """A run between two ports, by their full names.

    Attributes
    ----------
    missed : float
        How many of its tubes would not go in for not knowing better where one port is
        from the other, 0 to 1; 0 for a run of a scene, whose tube is not known.
    """

    name: str
    start: str
    goal: str
    missed: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunToMeasure:
    """What to measure between the two ports of a run.

    Attributes
    ----------
    ends : RunEnds
    before, after : float
        How far off the one port lies from the other, in space, now and with all that is
        to be measured [mm]: the root of the mean square.
    lengths : tuple of ToMeasure
    """

    ends: RunEnds
    before: float
    after: float
    lengths: tuple[ToMeasure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measuring:
    """All that is to be measured.

    Attributes
    ----------
    scene : Scene
    runs : tuple of RunToMeasure
        First those that miss most for it, then the least known.
    other : ToMeasure or None
        The one length that would help most now, all runs together, where it is none of
        those between a run's own ports.
    gain : Gain or None
        What the one that helps most would do, whichever it is.
    empty : tuple of str
        Names of readings in the scene that have no value yet.
    """

    scene: Scene
    runs: tuple[RunToMeasure, ...]
    other: ToMeasure | None
    gain: Gain | None
    empty: tuple[str, ...]

    @property
    def lengths(self) -> tuple[ToMeasure, ...]:
        """All lengths in their order."""
        told = [one for run in self.runs for one in run.lengths]
        return (*told, *([] if self.other is None else [self.other]))

    @property
    def best(self) -> ToMeasure | None:
        """The one that would help most now."""
        if self.gain is None:
            return None
        name = self.gain.observation.name
        return next(one for one in self.lengths if one.observation.name == name)


def ends_of(subject: Scene | Plan, names: Sequence[str] | None) -> tuple[RunEnds, ...]:
    """Return the runs of those names, all if none is named, with the ports they use.

    A run of a scene that leaves a choice of ports is taken between the first of them; in
    a plan the choice is made.

    Raises
    ------
    LoopsolverError
        If there is no run of a name, or none at all.
    """
    if isinstance(subject, Plan):
        missed = missed_for_places(subject)
        every = [
            RunEnds(
                name=r.name, start=r.from_port, goal=r.to_port, missed=missed[r.name]
            )
            for r in subject.runs
        ]
    else:
        every = [
            RunEnds(name=run.name, start=run.from_ports[0], goal=run.to_ports[0])
            for run in subject.runs
        ]
    known = [run.name for run in every]
    for name in names or ():
        if name not in known:
            msg = f"no run {name!r}; there are {', '.join(map(repr, known)) or 'none'}"
            raise LoopsolverError(msg)
    if not every:
        msg = (
            "no run whose ports are known; measure for a plan, in which they are chosen"
        )
        raise LoopsolverError(msg)
    return tuple(run for run in every if not names or run.name in names)


def measuring(scene: Scene, runs: Sequence[RunEnds]) -> Measuring:
    """Return what to measure for some runs of a scene, and the one that helps most.

    For each run the distances between its own two ports, along the axes and straight, in
    the order in which each helps most after those before; what was read already is left
    out.

    Raises
    ------
    LoopsolverError
        If the scene was made in Python: then it holds no places as written.
    """
    if scene.measures is None:
        msg = "a scene made in Python holds no readings; write it to a file first"
        raise LoopsolverError(msg)
    readings = scene.measures.readings
    spread = scene.spread.reading / math.sqrt(REPEATS)
    now = adjust(scene.measures.network)
    taken = {_measured(one) for one in readings if one.is_taken}
    known = {run: _off(now, run) for run in runs}
    own = {
        run: _own(now, run, taken, spread=spread)
        for run in sorted(runs, key=lambda run: _first(run, known[run]))
    }
    asked = [one for lengths in own.values() for one in lengths]
    others = _anywhere(now, runs, spread=spread)
    gain = most_helpful(
        now,
        [*asked, *(one for one in others if _measured(one) not in taken)],
        pairs=[(run.start, run.goal) for run in runs],
    )
    further = [gain.observation] if gain and gain.observation not in asked else []
    then = _with(now, asked)
    told = iter(_to_measure([*asked, *further], now, scene.spread.reading))
    return Measuring(
        scene=scene,
        runs=tuple(
            RunToMeasure(
                ends=run,
                before=known[run],
                after=_off(then, run),
                lengths=tuple(itertools.islice(told, len(lengths))),
            )
            for run, lengths in own.items()
        ),
        other=next(told, None),
        gain=gain,
        empty=tuple(one.name for one in readings if not one.is_taken),
    )


def _to_measure(
    asked: Sequence[Observation], now: Adjustment, spread: float
) -> Iterator[ToMeasure]:
    """Yield each length in its order, with the slip that shows when all are measured."""
    seen = {one.observation.name: one.least_seen for one in checks(_with(now, asked))}
    lengths = now.lengths(asked).tolist()
    for number, (one, length) in enumerate(zip(asked, lengths, strict=True), start=1):
        start, goal = (now.position(end) for end in (one.start, one.goal))
        if one.start in WALLS and one.along is not None:
            start = offset(goal, one.along, -length)
        yield ToMeasure(
            number=number,
            observation=replace(one, spread=spread),
            start=start,
            goal=goal,
            length=length,
            slip_seen=seen[one.name],
        )


def _first(run: RunEnds, known: float) -> tuple[float, float]:
    """Return by what a run comes before others: what it misses, then how it is known."""
    return -round(run.missed, ORDER_DECIMALS), -round(known, ORDER_DECIMALS)


def _own(
    now: Adjustment, run: RunEnds, taken: set[_Measured], *, spread: float
) -> list[Observation]:
    """Return what is to be measured between a run's own ports, the best first.

    Without the straight distance where it lies along an axis: it is the same.
    """
    way = np.subtract(now.position(run.goal), now.position(run.start))
    is_slanting = bool(np.sum(np.abs(way) > spread) > 1)
    candidates = [
        one
        for one in possible(now, (run.start, run.goal), spread=spread)
        if _measured(one) not in taken and (is_slanting or one.along is not None)
    ]
    gains = in_order(
        now, candidates, pairs=[(run.start, run.goal)], most=len(candidates)
    )
    return [gain.observation for gain in gains]


def _anywhere(
    now: Adjustment, runs: Sequence[RunEnds], *, spread: float
) -> Iterator[Observation]:
    """Yield what else can be measured: between any ports, from the datum and walls."""
    ports = tuple(dict.fromkeys(port for run in runs for port in (run.start, run.goal)))
    yield from possible(now, ports, spread=spread)
    standing = {one.name for one in now.network.stations}
    for port in ports:
        straight, *_ = possible(now, (DATUM_POINT, port), spread=spread)
        yield straight
        for wall in WALLS:
            if wall in standing:
                axis = wall[-1]
                side = "-" if "+" in wall else "+"
                yield Observation(
                    name=f"{wall} to {port} along {axis}",
                    start=wall,
                    goal=port,
                    along=AXES[f"{side}{axis}"],
                    values=(),
                    spread=spread,
                )


def _with(now: Adjustment, more: Sequence[Observation]) -> Adjustment:
    """Return the adjustment with more lengths, read as the places have them."""
    lengths = now.lengths(more).tolist()
    read = (
        replace(one, values=(length,))
        for one, length in zip(more, lengths, strict=True)
    )
    network = now.network
    return adjust(replace(network, observations=(*network.observations, *read)))


def _off(now: Adjustment, run: RunEnds) -> float:
    """Return how far off a run's goal lies from its start: root of the mean square."""
    return math.sqrt(float(np.trace(now.relative_covariance(run.start, run.goal))))


_Measured = tuple[frozenset[str], tuple[float, ...]]


def _measured(one: Observation) -> _Measured:
    """Return what an observation measures, whichever way round."""
    return frozenset((one.start, one.goal)), tuple(map(abs, one.along or ()))
