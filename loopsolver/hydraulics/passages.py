"""A plan's tubes and parts as passages that the coolant goes through."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from loopsolver.hydraulics.band import Band, exactly
from loopsolver.hydraulics.bends import mitre_loss
from loopsolver.hydraulics.liquids import LiquidState, water
from loopsolver.hydraulics.losses import (
    CLOSE_DIAMETERS,
    CurveLoss,
    TubeBend,
    TubeLoss,
)
from loopsolver.hydraulics.network import Passage
from loopsolver.plan.model import PlannedRun
from loopsolver.scene.circuit import circuit
from loopsolver.scene.model import Component, Fitting, RunRequest, Scene
from loopsolver.scene.water import NOTHING_KNOWN
from loopsolver.tube.centreline import bend_angles, straights

if TYPE_CHECKING:
    from loopsolver.plan.file import Plan
    from loopsolver.routing.problem import Candidate

STEP: Final = Band(low=0.0, main=0.15, high=0.3)
"""Loss of a straight fitting that states none: what a step of bore costs.

From 13 mm to 10 mm it is 0.27, the other way 0.17 (Borda and Carnot: (1 - A1 / A2)²);
where the bore is the tube's own it is nothing. Common practice, no source.
"""


def fitting_loss(fitting: Fitting) -> Band:
    """Return a fitting's loss, as stated or as usual, in velocity heads of the tube."""
    if fitting.loss is not None:
        return exactly(fitting.loss)
    return mitre_loss(math.radians(fitting.turn_deg)) if fitting.turn_deg else STEP


def tube_loss(candidate: Candidate, scene: Scene) -> TubeLoss:
    """Return what a tube with its two fittings takes of the pressure."""
    inner, line = scene.tube.inner_diameter, candidate.centreline
    lengths = straights(line)
    least = CLOSE_DIAMETERS * inner
    between = [math.inf, *lengths[1:-1], math.inf]
    bends = tuple(
        TubeBend(
            ratio=line.radius / inner,
            angle=angle,
            is_close=min(between[at], between[at + 1]) < least,
        )
        for at, angle in enumerate(bend_angles(line))
    )
    fittings = exactly(0.0)
    for end in candidate.ends:
        fittings += fitting_loss(fitting_at(scene, end.port, end.fitting))
    return TubeLoss(
        inner_diameter=inner,
        straight=math.fsum(lengths),
        bends=bends,
        fittings=fittings,
    )


def fitting_at(scene: Scene, port: str, name: str) -> Fitting:
    """Return the fitting of that name that a port may carry."""
    return next(one for one in scene.port(port).fittings if one.name == name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """Everything on one closed circuit of a plan.

    Attributes
    ----------
    passages : tuple of Passage
        Parts in the order of the file, then tubes in that of the plan.
    parts : tuple of str
        Of the parts that have a passage; the first of `passages`.
    unknown : tuple of str
        Parts with neither a pump curve nor a loss.
    unclear : tuple of str
        Parts that state figures, though more than one tube comes in and goes out.
    unlaid : tuple of str
        Runs without a chosen tube.
    """

    passages: tuple[Passage, ...]
    parts: tuple[str, ...]
    unknown: tuple[str, ...]
    unclear: tuple[str, ...]
    unlaid: tuple[str, ...]


def rings(plan: Plan, state: LiquidState, temperature_c: float) -> tuple[Ring, ...]:
    """Return the closed circuits of a plan; tubes that lead nowhere are on none."""
    runs = _on_circles(plan.runs)
    plain = water(temperature_c)
    like_water = CurveLoss(
        points=(),
        thicker=state.viscosity / plain.viscosity,
        heavier=state.density / plain.density,
    )
    return tuple(
        _ring(plan.scene, _one_way(plan.scene, together), like_water)
        for together in _together(runs)
    )


def _ends(run: PlannedRun) -> tuple[str, str]:
    """Return the parts that a run joins."""
    return run.from_port.split(".")[0], run.to_port.split(".")[0]


def _on_circles(runs: Iterable[PlannedRun]) -> list[PlannedRun]:
    """Return the runs without those that lead nowhere, one after the other."""
    kept = [run for run in runs if len({*_ends(run)}) == 2]
    while True:
        count = Counter(part for run in kept for part in _ends(run))
        onward = [run for run in kept if all(count[part] > 1 for part in _ends(run))]
        if len(onward) == len(kept):
            return kept
        kept = onward


def _together(runs: Sequence[PlannedRun]) -> list[list[PlannedRun]]:
    """Return the runs of each circuit, in their order."""
    groups: list[set[str]] = []
    for run in runs:
        met = [group for group in groups if group & {*_ends(run)}]
        groups = [group for group in groups if group not in met]
        groups.append({*_ends(run)}.union(*met))
    groups.sort(key=lambda group: [_ends(run)[0] in group for run in runs].index(True))
    return [[run for run in runs if _ends(run)[0] in group] for group in groups]


def _one_way(scene: Scene, runs: Sequence[PlannedRun]) -> list[PlannedRun]:
    """Return the runs, those turned that are written against the others."""
    counts = [Counter(ends) for ends in zip(*map(_ends, runs), strict=True)]
    if counts[0] == counts[1]:
        return list(runs)
    settled = replace(
        scene,
        loop=None,
        runs=tuple(
            RunRequest(
                name=run.name, from_ports=(run.from_port,), to_ports=(run.to_port,)
            )
            for run in runs
        ),
    )
    turned = circuit(settled).turned
    return [run.from_other_end() if run.name in turned else run for run in runs]


def _ring(scene: Scene, runs: Sequence[PlannedRun], like_water: CurveLoss) -> Ring:
    ends = {name for run in runs for name in (run.from_port, run.to_port)}
    places: dict[str, str] = {name: name for name in ends}
    parts: list[Passage] = []
    unclear: list[str] = []
    on_it = [
        part for part in scene.components if any(one.name in ends for one in part.ports)
    ]
    for part in on_it:
        way = _way_through(part, runs)
        stated = part.water if way.is_single else NOTHING_KNOWN
        if not way.is_single and (part.water.loss or part.water.pump):
            unclear.append(part.name)
        losses = (replace(like_water, points=stated.loss),) if stated.loss else ()
        parts.append(
            Passage(
                name=part.name,
                start=way.start,
                end=way.end,
                losses=losses,
                pump=stated.pump,
            )
        )
        places |= dict.fromkeys(way.at_hub, part.name)
    tubes = [_tube_passage(run, places, scene) for run in runs]
    known = {one.name for one in parts if one.losses or one.pump}
    return Ring(
        passages=(*parts, *tubes),
        parts=tuple(one.name for one in parts),
        unknown=tuple(
            part.name for part in on_it if part.name not in {*known, *unclear}
        ),
        unclear=tuple(unclear),
        unlaid=tuple(run.name for run in runs if run.tube_in_place is None),
    )


def _tube_passage(run: PlannedRun, places: Mapping[str, str], scene: Scene) -> Passage:
    laid = run.tube_in_place
    return Passage(
        name=run.name,
        is_tube=True,
        start=places[run.from_port],
        end=places[run.to_port],
        losses=() if laid is None else (tube_loss(laid, scene),),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """How the coolant goes through a part.

    Attributes
    ----------
    start, end : str
        A port, or the part's own name: its inside, where flows divide or meet.
    at_hub : tuple of str
        Ports that lead right into the inside.
    is_single : bool
        Whether all of its coolant goes this way.
    """

    start: str
    end: str
    at_hub: tuple[str, ...] = ()
    is_single: bool = True


def _way_through(part: Component, runs: Sequence[PlannedRun]) -> _Way:
    """Return the way through a part: from port to port, or from its one port inward."""
    entered = [run.to_port for run in runs if run.to_port.split(".")[0] == part.name]
    left = [run.from_port for run in runs if run.from_port.split(".")[0] == part.name]
    used = [port for port in part.ports if port.name in {*entered, *left}]
    flows = {port.name: port.flow for port in used}
    inlets = [name for name in flows if flows[name] == "in"]
    outlets = [name for name in flows if flows[name] == "out"]
    inlets += [one for one in entered if one not in {*inlets, *outlets}]
    outlets += [one for one in left if one not in {*inlets, *outlets}]
    if len(used) == 2:
        first, last = used[0].name, used[1].name
        if first in outlets or last in inlets:
            first, last = last, first
        return _Way(start=first, end=last)
    if len(inlets) == 1 or len(outlets) != 1:
        first = (inlets or outlets)[0]
        return _Way(
            start=first,
            end=part.name,
            at_hub=tuple(name for name in flows if name != first),
            is_single=len(inlets) == 1,
        )
    return _Way(
        start=part.name,
        end=outlets[0],
        at_hub=tuple(name for name in flows if name != outlets[0]),
    )
