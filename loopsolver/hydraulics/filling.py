"""How a loop is filled, bled and drained: what stays where, and which tilts free it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Point, dot, point
from loopsolver.hydraulics.carried_air import Carried, carrying
from loopsolver.hydraulics.insides import (
    Bore,
    Insides,
    insides,
    opening,
    slices,
    tangent,
)
from loopsolver.hydraulics.levels import standing
from loopsolver.hydraulics.pockets import Pocket, filled_up
from loopsolver.hydraulics.summits import Summits, summits
from loopsolver.hydraulics.tilts import (
    Lie,
    Rehearsal,
    Tilted,
    best_tilts,
    leaning,
    lies,
)
from loopsolver.hydraulics.volumes import Volumes, volumes
from loopsolver.plan import Plan
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Straight, piece_length

SPARE: Final = 10.0
"""More coolant than a loop holds, to mix [per cent]; common practice, no source."""

LEVEL_DEG: Final = 1.0
"""What leans by less is level by any spirit level [degrees]; common practice, no source."""

_SOME: Final = 0.02  # of a pocket; a part or tube that holds less of it is not named


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """Air, or coolant, that stays in one place.

    Attributes
    ----------
    volume_ml : float
    parts : tuple of str
        Parts that hold some of it, the most first.
    tubes : tuple of (str, float)
        Runs that hold some of it, and how far from the tube's start its summit is [mm].
    unsure : tuple of str
        Those parts whose volume is not known: what their spaces would hold is taken.
    at : Point
        Its summit in the case frame [mm].
    """

    volume_ml: float
    parts: tuple[str, ...]
    tubes: tuple[tuple[str, float], ...]
    unsure: tuple[str, ...]
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltStep:
    """What stays after so many tilts; no tilt for the machine as it is used."""

    lies: tuple[Lie, ...]
    left: tuple[Stay, ...]

    @property
    def left_ml(self) -> float:
        """All that stays [mL]."""
        return math.fsum(one.volume_ml for one in self.left)


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltStage:
    """How a machine stands or lies in the course of the tilts, and what is where then."""

    lie: Lie
    left: tuple[Stay, ...]

    @property
    def left_ml(self) -> float:
        """All that is there [mL]."""
        return math.fsum(one.volume_ml for one in self.left)


@dataclass(frozen=True, slots=True, kw_only=True)
class FillPlan:
    """All about filling a loop.

    Attributes
    ----------
    volumes : Volumes
    air : tuple of TiltStep
        What air stays after no tilt, one and more; empty without a vent that a tube
        leads to.
    bleeding : tuple of TiltStage
        Where it is as the last of these is done, from the filled loop on.
    by_chance_ml : float
        How much more stays where the machine leans by a degree, whichever way.
    level : tuple of (str, float)
        Runs with straights that are level, and how much of them is [mm].
    carried : tuple of Carried
    drain : tuple of TiltStep
        What coolant stays; empty without a drain that a tube leads to.
    draining : tuple of TiltStage
        Where it is as the last of these is done.
    lowest : Stay or None
        The lowest place of the loop, with no volume.
    ways : int
        How many ways to lie the scene allows, upright among them.
    is_stopped : bool
        Whether the search for tilts was ended early.
    """

    volumes: Volumes
    air: tuple[TiltStep, ...]
    bleeding: tuple[TiltStage, ...]
    by_chance_ml: float
    level: tuple[tuple[str, float], ...]
    carried: tuple[Carried, ...]
    drain: tuple[TiltStep, ...]
    draining: tuple[TiltStage, ...]
    lowest: Stay | None
    ways: int
    is_stopped: bool


def fill_plan(plan: Plan, *, stopped: Callable[[], bool] = lambda: False) -> FillPlan:
    """Return how a plan's loop is filled, bled and drained.

    Parameters
    ----------
    plan : Plan
    stopped : callable
        Asked between tilts whether to end with the best that was found.
    """
    scene, inside = plan.scene, insides(plan)
    ways = _ways(scene)
    upright = ways[0]
    bled = _bled(scene, inside, upright)
    drain = opening(inside, scene.filling.drain) if scene.filling else None
    drained = drain and Rehearsal(
        inside=inside, out=drain, sign=-1.0, is_open=lambda _: True, counted=None
    )
    air, coolant = (
        best_tilts(one, ways, stopped=stopped) if one else () for one in (bled, drained)
    )
    return FillPlan(
        volumes=volumes(plan),
        air=tuple(_step(inside, one) for one in air),
        bleeding=tuple(_stages(bled, air, upright)) if bled else (),
        by_chance_ml=_by_chance(inside, air[0]) if air else 0.0,
        level=tuple(_level(inside, upright.up)),
        carried=tuple(carrying(inside, upright.up)),
        drain=tuple(_step(inside, one) for one in coolant),
        draining=tuple(_stages(drained, coolant, upright)) if drained else (),
        lowest=_lowest(inside, upright.up),
        ways=len(ways),
        is_stopped=stopped(),
    )


def bleeding(
    plan: Plan, *, stopped: Callable[[], bool] = lambda: False
) -> tuple[TiltStage, ...]:
    """Return where air is in the course of the best tilts, as `FillPlan.bleeding` does.

    Parameters
    ----------
    plan : Plan
    stopped : callable
        As for `fill_plan`; where it is so from the start, the machine as it is used is
        the only stage, which is quick.
    """
    if plan.scene.filling is None or plan.scene.filling.vent is None:
        return ()
    inside, ways = insides(plan), _ways(plan.scene)
    bled = _bled(plan.scene, inside, ways[0])
    if not bled:
        return ()
    return tuple(_stages(bled, best_tilts(bled, ways, stopped=stopped), ways[0]))


def _ways(scene: Scene) -> tuple[Lie, ...]:
    """Return the ways a machine may lie, upright first."""
    filling = scene.filling
    return lies(scene.sides, allowed=() if filling is None else filling.tilts)


def _bled(scene: Scene, inside: Insides, upright: Lie) -> Rehearsal | None:
    """Return a loop that air leaves by the vent, open where the machine stands."""
    vent = opening(inside, scene.filling.vent) if scene.filling else None
    if vent is None:
        return None
    return Rehearsal(
        inside=inside,
        out=vent,
        sign=1.0,
        is_open=lambda lie: lie == upright,
        counted=upright,
    )


def _step(inside: Insides, of: Tilted) -> TiltStep:
    return TiltStep(
        lies=of.lies, left=tuple(_stay(inside, of.stand, one) for one in of.left)
    )


def _stages(
    of: Rehearsal, steps: Sequence[Tilted], upright: Lie
) -> Iterator[TiltStage]:
    """Yield what is where while the last of some steps is done, one lie after another."""
    held = of.spread(steps[0].left)
    yield TiltStage(
        lie=upright,
        left=tuple(_stay(of.inside, steps[0].stand, one) for one in steps[0].left),
    )
    laid = steps[-1].lies
    for lie in (*laid, upright) if laid and of.counted is not None else laid:
        held, found = of.moved(held, lie)
        left = tuple(_stay(of.inside, of.stand(lie), one) for one in found)
        yield TiltStage(lie=lie, left=left)


def _stay(inside: Insides, stand: Summits, of: Pocket) -> Stay:
    """Return a pocket in the words of a build: parts, tubes and where in them."""
    some = _SOME * of.volume_ml
    in_parts = sorted(
        (
            (float(amount), inside.chambers[place])
            for place, amount in zip(of.chambers, of.in_chambers, strict=True)
            if amount > some
        ),
        key=lambda one: -one[0],
    )
    cut = stand.cut
    tubes = []
    for place, bore in enumerate(inside.bores):
        held = (cut.bore[of.slices] == place) & (of.in_slices > 0.0)
        if of.in_slices[held].sum() > some:
            own = of.slices[held]
            heights = stand.stand.heights[own] + stand.stand.rise[own]
            best = int(own[int(heights.argmax())])
            along = _along(bore, int(cut.piece[best]), float(cut.at[best]))
            tubes.append((bore.name, along))
    return Stay(
        volume_ml=of.volume_ml,
        parts=tuple(one.name for _, one in in_parts),
        tubes=tuple(tubes),
        unsure=tuple(one.name for _, one in in_parts if not one.is_known),
        at=_summit(stand, of),
    )


def _summit(stand: Summits, of: Pocket) -> Point:
    """Return the place that a pocket's air rose to: a part's middle, or a bore's [mm]."""
    if len(of.chambers) and of.in_chambers.sum() >= of.in_slices.sum():
        chamber = stand.stand.inside.chambers[int(of.chambers[of.in_chambers.argmax()])]
        return point(np.mean([one.frame.origin for one in chamber.solids], axis=0))
    heights = stand.stand.heights[of.slices]
    return point(stand.cut.middle[int(of.slices[int(heights.argmax())])])


def _along(bore: Bore, piece: int, share: float) -> float:
    """Return how far from the tube's start a place on a bore is [mm]."""
    before = math.fsum(piece_length(one) for one in bore.pieces[:piece])
    return max(0.0, before + share * piece_length(bore.pieces[piece]) - bore.lead)


def _by_chance(inside: Insides, still: Tilted) -> float:
    """Return how much more air stays where the machine leans by a degree [mL]."""
    cut = still.stand.cut
    most = max(
        math.fsum(
            one.volume_ml
            for one in filled_up(
                summits(standing(inside, cut, up), cut, still.stand.out)
            )
        )
        for up in leaning(still.stand.stand.up, degrees=LEVEL_DEG)
    )
    return max(0.0, most - still.left_ml)


def _level(inside: Insides, up: Point) -> Iterator[tuple[str, float]]:
    """Yield the runs with level straights, and how much of them is level [mm]."""
    for bore in inside.bores:
        length = math.fsum(
            piece_length(one)
            for one in bore.pieces
            if isinstance(one, Straight)
            and abs(dot(tangent(one, 0.0), up)) < math.sin(math.radians(LEVEL_DEG))
        )
        if length > 2.0 * inside.radius:
            yield bore.name, length


def _lowest(inside: Insides, up: Point) -> Stay | None:
    """Return the lowest place of a loop, as a place where nothing is."""
    down = (-up[0], -up[1], -up[2])
    cut = slices(inside)
    stand = standing(inside, cut, down)
    depths = [(stand.chamber_top(n), n) for n in range(len(inside.chambers))]
    deepest = max(depths, default=None)
    if deepest is None:
        return None
    edges = stand.heights + stand.rise
    if len(edges) and edges.max() > deepest[0] + inside.radius:
        place = int(edges.argmax())
        bore = inside.bores[int(cut.bore[place])]
        along = _along(bore, int(cut.piece[place]), float(cut.at[place]))
        at = point(cut.middle[place])
        return Stay(
            volume_ml=0.0, parts=(), tubes=((bore.name, along),), unsure=(), at=at
        )
    chamber = inside.chambers[deepest[1]]
    at = point(np.mean([one.frame.origin for one in chamber.solids], axis=0))
    return Stay(volume_ml=0.0, parts=(chamber.name,), tubes=(), unsure=(), at=at)
