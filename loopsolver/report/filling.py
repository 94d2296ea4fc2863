"""Filling, bleeding and draining a loop in words: how much, what stays, which tilts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from loopsolver.hydraulics.carried_air import PUBLISHED_LEAST, STICKING
from loopsolver.hydraulics.filling import (
    LEVEL_DEG,
    FillPlan,
    Stay,
    TiltStage,
    TiltStep,
)
from loopsolver.hydraulics.tilts import FREE, UPRIGHT, Lie, tilt_count
from loopsolver.hydraulics.volumes import Volumes
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.report.text_table import TextTable
from loopsolver.scene.axes import Side
from loopsolver.scene.model import Scene
from loopsolver.words import counted, in_commas, listed

FILL_CAUTIONS: Final = (
    # Common practice, after HSE HSG85 (work dead).
    "Fill with only the pump powered, from a supply of its own, the machine's plug "
    "pulled out and its power supply unplugged from the board; paper under every joint.",
    "Never tilt a loop with an open port over the board: cap the vent before each tilt, "
    "and open it again when the machine stands.",
    "Radiators, pumps and drives have positions that their makers forbid: their sheets "
    "come first.",
    "Never fill to the brim: coolant grows by about 1 % from 20 to 50 °C, and a rigid "
    "loop has no room for it. Leave air at the top of the tank.",
)
"""What can go wrong in filling, the worst first."""

_FACES: Final[Mapping[Side, str]] = {
    "left": "left side",
    "right": "right side",
    "near": "front",
    "away": "back",
    "up": "top",
    "down": "bottom",
}
_STUFF: Final = {True: "air", False: "coolant"}


def millilitres(volume: float) -> str:
    """Return a volume in whole millilitres, to a tenth below ten.

    >>> millilitres(237.4), millilitres(7.53), millilitres(0.0)
    ('237 mL', '7.5 mL', '0 mL')
    """
    if round(volume, 1) == 0.0:
        return "0 mL"
    return f"{volume:.1f} mL" if round(volume, 1) < 10.0 else f"{volume:.0f} mL"


def lie_words(lie: Lie) -> str:
    """Return how a machine lies.

    >>> lie_words(Lie(down=("away",), up=(0.0, 1.0, 0.0)))
    'on its back'
    >>> lie_words(Lie(down=("left", "down"), up=(0.0, 0.7, 0.7)))
    'on the edge between its left side and its bottom'
    """
    names = [f"its {_FACES[side]}" for side in lie.down]
    if len(names) == 1:
        return {"down": "as it is used", "up": "upside down"}.get(
            lie.down[0], f"on {names[0]}"
        )
    kind = "edge" if len(names) == 2 else "corner"
    return f"on the {kind} between {listed(names)}"


def stage_words(
    stages: Sequence[TiltStage], number: int, *, is_air: bool = True
) -> str:
    """Return what to do for one of some stages, counted from 0."""
    lie = stages[number].lie
    if lie != stages[0].lie:
        return f"Lay it {lie_words(lie)}"
    if number == 0:
        return "As it is used"
    return "Stand it up, and open the vent" if is_air else "Stand it up"


def volume_table(volumes: Volumes) -> TextTable:
    """Return what each tube and part holds."""
    rows = [
        *((name, f"{volume:.1f}") for name, volume in volumes.tubes),
        ("fittings, as wide as the tube", f"{volumes.fittings_ml:.1f}"),
        *(
            (name, "not known" if volume is None else f"{volume:.1f}")
            for name, volume in volumes.parts
        ),
    ]
    more = " and what is not known" if volumes.unknown else ""
    total = (f"the loop{more}", f"{volumes.known_ml:.1f}")
    return TextTable(
        headings=("", "mL"),
        rows=(*rows, total),
        words=frozenset({0}),
        strong=frozenset({len(rows)}),
    )


def mix_words(volumes: Volumes, *, spare: float) -> str:
    """Return how much coolant to mix."""
    whole = volumes.known_ml * (1.0 + spare / 100.0)
    words = f"Mix {math.ceil(whole)} mL of coolant: {spare:g} % more than is known"
    if not volumes.unknown:
        return f"{words.replace('is known', 'the loop holds')}."
    return (
        f"{words}, and what {in_commas(volumes.unknown)} hold besides: state "
        "water.volume, or weigh each empty and full of water (water.weighed)."
    )


def air_sentences(of: FillPlan, scene: Scene, *, lengths: Lengths) -> Iterator[str]:
    """Yield where air stays, and which tilts let it out."""
    filling = scene.filling
    if filling is None or filling.vent is None:
        yield (
            "Without a vent there is no answer to where air stays: name the port or point "
            'that is open to the air while filling, [filling] vent = "tank.fill".'
        )
        return
    if not of.air:
        yield f"No tube leads to the part of {filling.vent.name}: nothing can leave there."
        return
    yield from _steps(of, filling.vent.name, lengths=lengths, is_air=True)
    if of.level:
        runs = (f"{name} ({lengths.text(length)})" for name, length in of.level)
        more = ""
        if of.by_chance_ml > FREE:
            kept = millilitres(of.by_chance_ml)
            more = f"; leaning by a degree may keep {kept} of air more"
        yield (
            f"Level within {LEVEL_DEG:g}°, where air and coolant go by chance: "
            f"{in_commas(runs)}{more}."
        )


def drain_sentences(of: FillPlan, scene: Scene, *, lengths: Lengths) -> Iterator[str]:
    """Yield the lowest place, what stays behind, and which tilts free it."""
    if of.lowest is not None:
        yield f"The loop is lowest in {_where(of.lowest, lengths)}."
    filling = scene.filling
    if filling is None or filling.drain is None:
        yield (
            "Without a drain there is no answer to what stays behind: name the port or "
            'point, [filling] drain = "pump.low".'
        )
        return
    if not of.drain:
        yield f"No tube leads to the part of {filling.drain.name}: nothing can leave there."
        return
    yield from _steps(of, filling.drain.name, lengths=lengths, is_air=False)


def _steps(of: FillPlan, port: str, *, lengths: Lengths, is_air: bool) -> Iterator[str]:
    """Yield what stays upright and after each tilt."""
    stuff, steps = _STUFF[is_air], of.air if is_air else of.drain
    first, *others = steps
    done = f"Filled by {port}" if is_air else f"Drained by {port}"
    stays = _left(first, stuff, lengths, is_whole=True)
    yield f"{done}, the machine as it is used: {stays}."
    for step in others:
        is_last = step is others[-1]
        yield (
            f"{counted(tilt_count(step.lies), 'tilt')}, {_way(step.lies, is_air=is_air)}: "
            f"{_left(step, stuff, lengths, is_whole=is_last)}."
        )
    unsure = sorted(
        {name for step in steps for one in step.left for name in one.unsure}
    )
    if unsure:
        yield (
            f"At most, where the volume of {in_commas(unsure)} is not known: what the "
            "spaces or bodies would hold is taken for it."
        )
    if others or first.left_ml >= FREE:
        yield _how_far(of, is_any=bool(others))


def _how_far(of: FillPlan, *, is_any: bool) -> str:
    """Return how far tilts were sought, and whether any was found."""
    ways = f"of the {of.ways} ways it may stand and lie"
    if of.ways == 1:
        return (
            "No tilt is allowed: [filling] tilts names the sides that may be turned to "
            'the floor, tilts = ["left", "away"].'
        )
    if of.is_stopped:
        return f"The search was stopped: other tilts {ways} may leave less."
    if is_any:
        return f"These are the best found {ways}."
    return f"No tilts {ways} leave less."


def _way(laid: Sequence[Lie], *, is_air: bool) -> str:
    """Return how to lay a machine, one lie after the other."""
    words = [
        "stand it up" if lie.down == UPRIGHT else f"lay it {lie_words(lie)}"
        for lie in laid
    ]
    return "; ".join([*words, "stand it up"] if is_air else words)


def _left(step: TiltStep, stuff: str, lengths: Lengths, *, is_whole: bool) -> str:
    """Return what stays; where, if that is wanted too."""
    if step.left_ml < FREE:
        return f"no {stuff} stays"
    if not is_whole:
        return f"{millilitres(step.left_ml)} of {stuff} stay"
    seen = [one for one in step.left if one.volume_ml >= FREE] or list(step.left[:1])
    return (
        f"{millilitres(step.left_ml)} of {stuff} stay: "
        f"{in_commas(stay_words(one, lengths=lengths) for one in seen)}"
    )


def stay_words(stay: Stay, *, lengths: Lengths) -> str:
    """Return how much stays where."""
    volume = millilitres(stay.volume_ml)
    if stay.unsure:
        volume = f"at most {volume}"
    return f"{volume} in {_where(stay, lengths)}"


def _where(stay: Stay, lengths: Lengths) -> str:
    """Return the parts and tubes of a place."""
    tubes = [
        f"the tube {name}"
        + ("" if stay.parts else f", {lengths.text(along)} from its start")
        for name, along in stay.tubes
    ]
    return listed([*stay.parts, *tubes]) or "no place"


def carried_sentences(
    of: FillPlan, scene: Scene, *, flows: Mapping[str, float]
) -> Iterator[str]:
    """Yield whether the flow itself carries air, and how little is known of that.

    `flows` holds the flow in each run, where it is known [L/min].
    """
    if not of.carried:
        return
    worst = max(of.carried, key=lambda one: one.flow_l_min)
    words = (
        f"The flow carries air down every tube from {worst.flow_l_min:.2g} L/min on "
        f"({worst.run}, {worst.slope_deg:.0f}° down), if Wisner's 0.825 + 0.25 "
        "sqrt(sin(slope)) holds"
    )
    slow = [
        f"{one.run} ({flows[one.run]:.2g} of {one.flow_l_min:.2g} L/min)"
        for one in of.carried
        if one.run in flows and flows[one.run] < one.flow_l_min
    ]
    if flows:
        too_slow = f"too slow in {in_commas(slow)}"
        words += f"; here it is {too_slow if slow else 'enough'}"
    yield f"{words}."
    inner = scene.tube.inner_diameter
    sizes = lengths_for(scene.units)
    if inner < PUBLISHED_LEAST:
        yield (
            "Nothing published covers inside diameters under "
            f"{sizes.size(PUBLISHED_LEAST)}, and this tube has {sizes.size(inner)}: take "
            "that for a guess. In parts, where the coolant slows down, air stays in any "
            "case."
        )
    if inner < STICKING:
        yield (
            f"In tube of less than {sizes.size(STICKING)} inside bubbles stick even where "
            "it stands upright (Bretherton): knock at it while the pump runs."
        )
