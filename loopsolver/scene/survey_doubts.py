"""Doubts about readings: what disagrees, what nothing checks, what was not taken."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from loopsolver.geometry.vectors import offset
from loopsolver.lengths import Lengths, on_a_rule
from loopsolver.scene.body_doubts import along
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Measures, Scene
from loopsolver.scene.point_names import DATUM_POINT
from loopsolver.words import listed, some_of

if TYPE_CHECKING:
    from loopsolver.survey.adjustment import Adjustment
    from loopsolver.survey.reliability import Blame, Suspicion

_MOST_NAMED = 2
_MOST_BLAMED = 4


def survey_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return doubts about the readings of a scene and what they make of it; if any."""
    measures = scene.measures
    if measures is None or not measures.readings:
        return
    from loopsolver.survey.adjustment import adjust
    from loopsolver.survey.reliability import judged

    adjustment, lengths = adjust(measures.network), on_a_rule(scene.units)
    yield from _not_taken(measures)
    judgement = judged(adjustment)
    for suspicion in judgement.suspicions:
        yield _disagreement(adjustment, suspicion, scene)
    if judgement.scatter is not None:
        message = (
            f"all readings together scatter {judgement.scatter:.1f} times as much as "
            f"stated ({lengths.plain(scene.spread.reading)} where none is stated beside "
            "a reading); state more, or measure again with more care"
        )
        yield Doubt(kind="readings scatter", where="spread.reading", message=message)
    yield from _moved(adjustment, measures, lengths)
    yield from _unchecked(adjustment, scene)


def _not_taken(measures: Measures) -> Iterator[Doubt]:
    for number, one in enumerate(measures.readings, start=1):
        if not one.is_taken:
            message = f"{one.name} was not taken yet (value = []), and is left out"
            where = f"readings[{number}]"
            yield Doubt(kind="reading not taken", where=where, message=message)


def _disagreement(adjustment: Adjustment, suspicion: Suspicion, scene: Scene) -> Doubt:
    """Return which readings alone may be wrong, by how much, and what would tell."""
    from loopsolver.survey.further import possible, settling

    lengths, blamed = on_a_rule(scene.units), suspicion.blames
    first, *others = blamed[:_MOST_BLAMED]
    told = [_wrong(blame, lengths) for blame in others]
    if len(blamed) > _MOST_BLAMED:
        told.append(f"one of {len(blamed) - _MOST_BLAMED} more is wrong")
    ports = [port.name for part in scene.components for port in part.ports]
    candidates = possible(
        adjustment, [DATUM_POINT, *ports], spread=scene.spread.reading
    )
    tells = settling(adjustment, suspicion, candidates) if others else None
    cure = (
        "measure it again"
        if tells is None
        else f"a further reading would tell: {tells.name}"
    )
    if others:
        message = f"either it {_wrong_by(first, lengths)}, or {', or '.join(told)}"
    else:
        message = f"it {_wrong_by(first, lengths)}, as others have it"
    return Doubt(
        kind="readings disagree",
        where=_told(first, lengths),
        message=f"{message}; {cure}",
    )


def _told(blame: Blame, lengths: Lengths) -> str:
    """Return a reading with what was read: "pump.out to block.in along z (112.0 mm)"."""
    one = blame.observation
    if blame.value is None:
        return f"{one.name} ({lengths.plain(one.length + one.zero)})"
    read = lengths.plain(one.values[blame.value])
    return f"value {blame.value + 1} of {one.name} ({read})"


def _wrong_by(blame: Blame, lengths: Lengths) -> str:
    how = "long" if blame.too_long > 0.0 else "short"
    return f"is about {lengths.plain(abs(blame.too_long))} too {how}"


def _wrong(blame: Blame, lengths: Lengths) -> str:
    return f"{_told(blame, lengths)} {_wrong_by(blame, lengths)}"


def _moved(
    adjustment: Adjustment, measures: Measures, lengths: Lengths
) -> Iterator[Doubt]:
    """Return a doubt for every written place that moved by more than its spread."""
    moves: dict[str, list[str]] = {}
    spreads: dict[str, float] = {}
    rows = zip(adjustment.taken, adjustment.residuals, adjustment.spreads, strict=True)
    for one, residual, spread in rows:
        is_written = one not in measures.readings
        if is_written and one.along is not None and abs(residual) > spread:
            way = offset((0.0, 0.0, 0.0), one.along, math.copysign(1.0, residual))
            called = one.name.rsplit(" along ", 1)[0]
            by = f"{lengths.plain(abs(float(residual)))} along {along(way)}"
            moves.setdefault(called, []).append(by)
            spreads[called] = float(spread)
    for called, told in moves.items():
        message = (
            f"all readings together move it by {listed(told)}, more than its spread of "
            f"{lengths.plain(spreads[called])}; the place moved to is used"
        )
        yield Doubt(kind="moved by readings", where=called, message=message)


def _unchecked(adjustment: Adjustment, scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every run between ports whose distance nothing checks."""
    from loopsolver.survey.reliability import unchecked

    for run in scene.runs:
        if not len(run.from_ports) == len(run.to_ports) == 1:
            continue
        (start,), (goal,) = run.from_ports, run.to_ports
        alone = unchecked(adjustment, goal, start=start)
        axes = [letter for letter, every in zip("xyz", alone, strict=True) if every]
        if axes:
            names = dict.fromkeys(one.name for every in alone for one in every)
            letters = listed(axes)
            message = (
                f"nothing checks how far {goal} is from {start} along {letters}: a slip in "
                f"{some_of(list(names), most=_MOST_NAMED)} would not show; a reading from "
                f"the one to the other along {letters} would tell"
            )
            where = f"run {run.name!r}"
            yield Doubt(kind="nothing checks", where=where, message=message)
