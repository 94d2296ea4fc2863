"""Which way to lay a machine so that air leaves its loop, or coolant does."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array, Point, cross, dot, unit
from loopsolver.hydraulics.insides import Insides, OpenPort, Slices, slices
from loopsolver.hydraulics.levels import standing
from loopsolver.hydraulics.pockets import Pocket, filled_up, pockets, poured
from loopsolver.hydraulics.summits import Summits, summits
from loopsolver.scene.axes import OPPOSITE, Side, Sides

MOST_TILTS: Final = 3
"""More tilts than these nobody will do in their order; common practice, no source."""

FREE: Final = 0.5
"""Less air or coolant than this is none [mL]: some ten drops."""

_WIDTH: Final = 16  # states that are followed after each tilt
_GRAIN: Final = 0.1  # states that differ by less anywhere are one [mL]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lie:
    """One way a machine may stand or lie.

    Attributes
    ----------
    down : tuple of Side
        The sides that are turned to the floor: one for a face, two for an edge, three
        for a corner; ("down",) where it stands as it is used.
    up : Point
        Against gravity then, in the case frame.
    """

    down: tuple[Side, ...]
    up: Point

    def sides(self, used: Sides) -> Sides:
        """Return right, away and up of whoever looks at a machine that lies so.

        `used` are those of the machine as it is used.
        """
        ways = (used.right, used.away, used.up)
        level = max(ways, key=lambda way: -abs(dot(way, self.up)))
        away = unit(cross(self.up, level))
        return Sides(right=unit(cross(away, self.up)), away=away, up=self.up)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tilted:
    """What is left after the first so many tilts.

    Attributes
    ----------
    lies : tuple of Lie
        In their order, with standing up between tilts, not in the end.
    left : tuple of Pocket
        What stays then, the largest first.
    stand : Summits
        How the loop stands while that is left.
    """

    lies: tuple[Lie, ...]
    left: tuple[Pocket, ...]
    stand: Summits

    @property
    def left_ml(self) -> float:
        """All that stays [mL]."""
        return math.fsum(one.volume_ml for one in self.left)


UPRIGHT: Final[tuple[Side, ...]] = ("down",)
"""What is down where a machine stands as it is used."""


def tilt_count(laid: Sequence[Lie]) -> int:
    """Return how many of some lies are tilts."""
    return sum(lie.down != UPRIGHT for lie in laid)


def lies(sides: Sides, *, allowed: Sequence[Side]) -> tuple[Lie, ...]:
    """Return the ways a machine may lie: upright, then faces, edges and corners.

    Parameters
    ----------
    sides : Sides
        Right, away and up of the machine as it is used.
    allowed : sequence of Side
        Sides that may be turned to the floor; "down" always may. All six give 26 ways.
    """
    may = {*allowed, "down"}
    pairs = (("left", "right"), ("near", "away"), ("down", "up"))
    ways = {"right": sides.right, "away": sides.away, "up": sides.up}
    choices = [(None, *(one for one in pair if one in may)) for pair in pairs]
    found = [
        tuple(side for side in choice if side is not None)
        for choice in itertools.product(*choices)
    ]
    found.sort(key=lambda down: (down != UPRIGHT, len(down)))
    return tuple(Lie(down=down, up=_up(down, ways)) for down in found if down)


def _up(down: Sequence[Side], ways: dict[str, Point]) -> Point:
    """Return the direction against gravity with some sides turned to the floor."""
    whole = np.zeros(3)
    for side in down:
        other = OPPOSITE[side]
        whole += ways[other] if other in ways else -np.array(ways[side])
    return unit([float(one) for one in whole])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rehearsal:
    """A loop that is turned this way and that, air or coolant moving in it.

    Attributes
    ----------
    inside : Insides
    out : OpenPort
        Where it leaves.
    sign : float
        1 for air, which rises; -1 for coolant, which sinks.
    is_open : callable
        Whether the opening is open in a lie.
    counted : Lie or None
        How the machine stands when it is counted what is left; None: as it lies.
    """

    inside: Insides
    out: OpenPort
    sign: float
    is_open: Callable[[Lie], bool]
    counted: Lie | None
    _cut: list[Slices] = field(default_factory=list)
    _stands: dict[tuple[Side, ...], Summits] = field(default_factory=dict)

    def stand(self, lie: Lie) -> Summits:
        """Return the loop's summits as it stands in a lie."""
        if lie.down not in self._stands:
            if not self._cut:
                self._cut.append(slices(self.inside))
            x, y, z = lie.up
            up = (self.sign * x, self.sign * y, self.sign * z)
            out = self.out if self.is_open(lie) else None
            stand = standing(self.inside, self._cut[0], up)
            self._stands[lie.down] = summits(stand, self._cut[0], out)
        return self._stands[lie.down]

    def moved(self, held: Array, lie: Lie) -> tuple[Array, tuple[Pocket, ...]]:
        """Return what each chamber and slice holds once a machine lies so, and where.

        Parameters
        ----------
        held : array (chambers + slices,)
            What each holds before [mL].
        lie : Lie
        """
        of = self.stand(lie)
        leaf = np.concatenate([of.chamber_leaf, of.slice_leaf])
        amounts = np.zeros(len(of.knots))
        np.add.at(amounts, leaf, held)
        found = pockets(of, poured(of, amounts))
        return self.spread(found), found

    def spread(self, found: Sequence[Pocket]) -> Array:
        """Return what each chamber and slice holds of some pockets [mL]."""
        count = len(self.inside.chambers)
        held = np.zeros(count + len(self._cut[0].at))
        for one in found:
            held[one.chambers] += one.in_chambers
            held[count + one.slices] += one.in_slices
        return held


def standing_still(of: Rehearsal, upright: Lie) -> Tilted:
    """Return what stays where a loop is filled, or drained, and never tilted."""
    stand = of.stand(upright)
    return Tilted(lies=(), left=filled_up(stand), stand=stand)


def best_tilts(
    of: Rehearsal,
    ways: Sequence[Lie],
    *,
    stopped: Callable[[], bool] = lambda: False,
) -> tuple[Tilted, ...]:
    """Return what is left after no tilt, one, two and three: the best that was found.

    Parameters
    ----------
    of : Rehearsal
    ways : sequence of Lie
        Upright first.
    stopped : callable
        Asked between tilts whether to end with what was found.

    Returns
    -------
    tuple of Tilted
        The last is the one to take: the fewest tilts that leave less than `FREE`, or
        less by `FREE` than any fewer do.

    Notes
    -----
    Breadth first over lies and what is where, the `_WIDTH` states with the least left
    followed on. Of these it finds the least; others are not tried.
    """
    first = standing_still(of, ways[0])
    found = [first]
    states = [(of.spread(first.left), first)]
    for _ in range(MOST_TILTS):
        if found[-1].left_ml < FREE or stopped():
            break
        states = _after_one_more(of, ways, states, stopped)
        if states:
            found.append(states[0][1])
    best = min(one.left_ml for one in found)
    enough = next(n for n, one in enumerate(found) if one.left_ml < best + FREE)
    return tuple(found[: enough + 1])


State = tuple[Array, Tilted]
"""What each chamber and slice holds [mL], and how it came to that."""


def _after_one_more(
    of: Rehearsal,
    ways: Sequence[Lie],
    states: Sequence[State],
    stopped: Callable[[], bool],
) -> list[State]:
    """Return states after one more tilt, the least left first, and no two alike."""
    after: dict[bytes, State] = {}
    for held, before in [*states, *_stood_up(of, states)]:
        for lie in ways[1:]:
            if stopped():
                break
            if before.lies and before.lies[-1] == lie:
                continue
            state = _tilted(of, held, (*before.lies, lie))
            key = np.round(state[0] / _GRAIN).astype(np.int64).tobytes()
            after.setdefault(key, state)
    order = sorted(after.values(), key=lambda one: round(one[1].left_ml, 3))
    return order[:_WIDTH]


def _stood_up(of: Rehearsal, states: Sequence[State]) -> Iterator[State]:
    """Yield tilted states after standing up, where the opening lets out what came there."""
    if of.counted is None:
        return
    for held, before in states:
        if before.lies:
            yield _tilted(of, held, (*before.lies, of.counted))


def _tilted(of: Rehearsal, held: Array, laid: tuple[Lie, ...]) -> State:
    """Return a state after the last of some lies, and what would be left then."""
    now, left = of.moved(held, laid[-1])
    stand = of.stand(laid[-1])
    if of.counted is not None:
        _, left = of.moved(now, of.counted)
        stand = of.stand(of.counted)
    return now, Tilted(lies=laid, left=left, stand=stand)


def leaning(up: Point, *, degrees: float = 1.0) -> Iterator[Point]:
    """Yield directions that lean from one by so many degrees, to eight sides.

    What is level by a spirit level is level within about one degree (common practice).
    """
    way = np.array(up)
    aside = np.eye(3)[int(np.abs(way).argmin())]
    first = np.cross(aside, way)
    first /= np.linalg.norm(first)
    second = np.cross(way, first)
    tip = math.radians(degrees)
    for turn in np.arange(8) * math.pi / 4.0:
        side = math.cos(turn) * first + math.sin(turn) * second
        yield unit([float(x) for x in math.cos(tip) * way + math.sin(tip) * side])
