"""What no tube between two ports betters: figures that are known before any search.

Tubes of no, of one and of two bends are settled by the ports, but for one leg at most,
along which it is looked for room. What has more bends is no shorter than the straight way
between the places where its ends may first bend.

References
----------
Along a free leg as far ahead as there surely is no room: sphere tracing, J. C. Hart, The
Visual Computer 12 (1996). From memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from loopsolver.clearance.gap import is_clear
from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.vectors import offset
from loopsolver.routing.angled.direct import corner_route, straight_route
from loopsolver.routing.angled.listed import centreline_of
from loopsolver.routing.angled.partial_routes import AngledRun
from loopsolver.routing.angled.sequences import least_worth
from loopsolver.routing.angled.two_bend_closures import Pairs, paired
from loopsolver.routing.judge import Judge, gap_around, make_judge
from loopsolver.routing.no_way import room_beyond
from loopsolver.routing.problem import Candidate, RouteProblem, TubeEnd
from loopsolver.routing.rules import broken_rules
from loopsolver.routing.worth import TURN_WORTH
from loopsolver.scene.model import TurnStep
from loopsolver.tolerances import (
    FLAT,
    OUT_OF_PLANE,
    SAME_ANGLE,
    SQUARE_COSINE,
    TOUCH,
    WRITTEN,
)
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.setting_out import (
    arc_length,
    chord,
    gain,
    offset_advance,
    offset_travel,
    take_out,
)

ThreeLegs = tuple[float, float, float]
"""First, middle and last leg of a tube of two bends."""

SLACK: Final = 10.0 * TOUCH
"""Tubes that better closed forms by no more than this are as good [mm]: by rounding."""

FEW_ANGLES: Final = 4
"""Of so many angles at most all sequences of three bends are looked through."""

MOST_PLACES: Final = 80
"""Of a free leg so many lengths are looked at; beyond them there may be room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastTube(Candidate):
    """Figures that no tube of as many bends betters. It is no tube itself.

    Attributes
    ----------
    least_bends : int
    least_length, least_worth : float
        The length [mm], and it with what departures and odd turns are worth [mm].
    """

    least_bends: int
    least_length: float
    least_worth: float

    @property
    def bends(self) -> int:
        """Least number of bends."""
        return self.least_bends

    @property
    def length(self) -> float:
        """Least developed length [mm]."""
        return self.least_length

    @property
    def worth(self) -> float:
        """Least length and worth of departures and odd turns [mm of tube]."""
        return self.least_worth

    @property
    def planes(self) -> int:
        """Least number of plane stretches."""
        return min(self.least_bends, 1)

    @property
    def finished(self) -> float:
        """Least length of tube that is needed [mm]."""
        return min(self.take_up, 1.0) * self.least_length


@dataclass(frozen=True, slots=True, kw_only=True)
class _TwoBends:
    """Tubes with two bends of given angles, one for each length of the free leg, if any.

    Attributes
    ----------
    legs : tuple of float
        Where the free leg has no length [mm].
    slopes : tuple of float
        How much each leg grows with it.
    limits : tuple of float
        Least and greatest length of it by the rules [mm].
    """

    legs: ThreeLegs
    slopes: ThreeLegs
    limits: tuple[float, float]

    def line(self, problem: RouteProblem, free: float) -> Centreline:
        """Return the tube whose free leg has a length [mm]."""
        start, goal = problem.start, problem.goal
        first, last = (
            leg + free * slope
            for leg, slope in (
                (self.legs[0], self.slopes[0]),
                (self.legs[2], self.slopes[2]),
            )
        )
        vertices = (
            start.seat,
            offset(start.seat, start.direction, first),
            offset(goal.seat, goal.direction, last),
            goal.seat,
        )
        return Centreline(vertices=vertices, radius=problem.bend_radius)


def least_tubes(problem: RouteProblem) -> tuple[LeastTube, ...]:
    """Return figures of which every tube of a problem is at best as good as some.

    None where there surely is no tube.
    """
    judge = make_judge(problem)
    ends = (problem.start, problem.goal)
    room = [room_beyond(problem, end, judge.around) for end in ends]
    if not is_clear(min(room), problem.clearance):
        return ()
    gap = min(*room, math.dist(*problem.room))
    known = [_figures(problem, line, gap=gap) for line in settled_tubes(problem, judge)]
    if known and not known[0].bends:
        return tuple(known[:1])
    known.append(_of_more_bends(problem, gap=gap))
    return tuple(one for one in known if one.bends <= problem.max_bends)


def settled_tubes(problem: RouteProblem, judge: Judge) -> Iterator[Centreline]:
    """Yield the tubes that ports settle and that may have room, the fewest bends first.

    Without a bend, with one, and the shortest with two of every two listed angles.
    """
    listed = problem.bend_angles_deg
    gaps = ((line, gap_around(judge, line).distance) for line in _direct(problem))
    lines = [line for line, gap in gaps if is_clear(gap, problem.clearance)]
    if listed != "any":
        angles = [math.radians(deg) for deg in listed]
        every = (_closing(problem, *some) for some in product(angles, repeat=2))
        lines += filter(None, (_shortest(judge, one) for one in every if one))
    for line in lines:
        if not broken_rules(problem, line, slack=WRITTEN, slack_deg=WRITTEN):
            yield line


def _figures(problem: RouteProblem, line: Centreline, *, gap: float) -> LeastTube:
    """Return what no tube betters that goes as this one does."""
    own = Candidate(
        centreline=line,
        gap=Gap(distance=gap, name="", at=line.vertices[0]),
        trim_allowance=problem.trim_allowance,
        standard_deg=problem.standard_deg,
        take_up=problem.take_up,
    )
    return LeastTube(
        centreline=line,
        gap=own.gap,
        trim_allowance=own.trim_allowance,
        take_up=own.take_up,
        least_bends=own.bends,
        least_length=own.length + SLACK,
        least_worth=own.worth + SLACK,
    )


def _of_more_bends(problem: RouteProblem, *, gap: float) -> LeastTube:
    """Return what no tube of more bends betters than `settled_tubes` has."""
    ends = (problem.start, problem.goal)
    near, far = (offset(end.seat, end.direction, end.straight) for end in ends)
    bends = 2 if problem.bend_angles_deg == "any" else 3
    length = _straight_on(problem, bends) + SLACK
    worth = length if bends == 2 else _with_three_bends(problem) + SLACK
    if math.isinf(worth):
        bends, worth = 4, length
    return LeastTube(
        centreline=Centreline(vertices=(near, far), radius=problem.bend_radius),
        gap=Gap(distance=gap, name="", at=near),
        trim_allowance=problem.trim_allowance,
        take_up=problem.take_up,
        least_bends=bends,
        least_length=length,
        least_worth=max(length, worth),
    )


def _straight_on(problem: RouteProblem, bends: int) -> float:
    """Return what no tube of so many bends or more is shorter than [mm].

    Between its straights at the ports lie straights and chords of arcs that lead from
    the one to the other; each arc is longer than its chord.
    """
    ends = (problem.start, problem.goal)
    near, far = (offset(end.seat, end.direction, end.straight) for end in ends)
    listed, radius = problem.bend_angles_deg, problem.bend_radius
    least = 0.0 if listed == "any" else math.radians(min(listed))
    curved = bends * (arc_length(radius, least) - chord(radius, least))
    return sum(end.straight for end in ends) + math.dist(near, far) + curved


def _with_three_bends(problem: RouteProblem) -> float:
    """Return what no tube of three listed bends betters in worth [mm].

    Turns are multiples of 45 degrees, or one at least is worth what an odd one is.
    Infinite where there is none.
    """
    listed, rays = problem.bend_angles_deg, _rays(problem)
    shortest = _straight_on(problem, 3)
    if listed == "any" or len(listed) > FEW_ANGLES:
        return shortest
    if rays.is_parallel.item():
        return _three_square_bends(problem, rays) if listed == (90.0,) else shortest
    is_free = problem.turn_step_deg == "any"
    step_deg: TurnStep = 45.0 if is_free else problem.turn_step_deg
    open_space = replace(problem, turn_step_deg=step_deg, obstacles=())
    # Of its ends no more is asked than the problem says.
    run = AngledRun(
        problem=open_space,
        field=open_space.field,
        angles=tuple(map(math.radians, listed)),
        start=(),
        goal=(),
    )
    worth = least_worth(run, bends=3)
    if not is_free:
        return worth
    if listed != (90.0,) or abs(rays.k.item()) > SQUARE_COSINE:
        return min(worth, shortest + TURN_WORTH)
    start, goal = problem.start, problem.goal
    ways = ((start, goal), (goal, start))
    odd = min(_with_legs_along(problem, *ends) for ends in ways)
    return min(worth, odd + TURN_WORTH)


def _with_legs_along(problem: RouteProblem, one: TubeEnd, other: TubeEnd) -> float:
    """Return what no tube of three square bends betters whose first turn is 0 or 180 [mm].

    So its third leg goes along the first, or back. Across, the second leads to where the
    last begins, which is best as short as it may be. Ports that are square to each other
    leave no other tubes, told from either end: the sines of both turns have the product 0.
    """
    radius = problem.bend_radius
    between = 2.0 * radius + problem.straight_between_bends
    first, last = one.straight + radius, other.straight + radius
    on, out = np.subtract(other.seat, one.seat), np.asarray(one.direction)
    ahead = float(on @ out)
    back = max(between, first - ahead)
    along = ahead if ahead >= first + between else ahead + 2.0 * back
    across = on - ahead * out + last * np.asarray(other.direction)
    aside = max(between, float(np.linalg.norm(across)))
    return along + aside + last - 3.0 * gain(radius, math.pi / 2.0)


def _three_square_bends(problem: RouteProblem, rays: Pairs) -> float:
    """Return the length of the shortest tube of three square bends, ports parallel [mm].

    Both legs between the bends lie across the ports, square to each other: their squares
    sum up to that of how far the ports are aside, and the sum of them is least where one
    is as short as it may be.
    """
    radius = problem.bend_radius
    between = 2.0 * radius + problem.straight_between_bends
    ahead, aside = rays.ahead.item(), rays.aside.item()
    first, last = (end.straight + radius for end in (problem.start, problem.goal))
    is_facing = rays.k.item() > 0.0
    if aside < math.sqrt(2.0) * between or (is_facing and ahead < first + last):
        return math.inf
    along = ahead if is_facing else abs(ahead - first + last) + first + last
    across = between + math.sqrt(aside * aside - between * between)
    return along + across - 3.0 * gain(radius, math.pi / 2.0)


def _direct(problem: RouteProblem) -> Iterator[Centreline]:
    """Yield the tube without a bend and that with one, where the ports allow them."""
    straight, corner = straight_route(problem), corner_route(problem)
    if straight is not None:
        yield centreline_of(straight, problem)
    if corner is not None:
        yield centreline_of(corner[0], problem)


def _rays(problem: RouteProblem) -> Pairs:
    """Return the rays from both ports."""
    start, goal = problem.start, problem.goal
    return paired(
        start=np.array([start.seat]),
        out=np.array([start.direction]),
        home=-np.array([goal.direction]),
        end=np.array([goal.seat]),
    )


def _closing(problem: RouteProblem, a: float, b: float) -> _TwoBends | None:
    """Return the tubes with two bends of given angles [rad]; see `two_bend_closures`."""
    start, goal, rays = problem.start, problem.goal, _rays(problem)
    out, home = take_out(problem.bend_radius, a), take_out(problem.bend_radius, b)
    least = (
        start.straight + out,
        out + problem.straight_between_bends + home,
        goal.straight + home,
    )
    far = math.dist(*problem.room)
    k, ahead, aside = rays.k.item(), rays.ahead.item(), rays.aside.item()
    if rays.is_parallel.item():
        is_offset = k > 0.0 and abs(a - b) < SAME_ANGLE
        is_return = k < 0.0 and abs(a + b - math.pi) < SAME_ANGLE
        if aside <= OUT_OF_PLANE or not (is_offset or is_return):
            return None
        left, turned = ahead - offset_advance(aside, a), 1.0 if is_offset else -1.0
        legs = (0.0, offset_travel(aside, a), turned * left)
        return _within(legs, (1.0, 0.0, -turned), least, far)
    homeward, rest = rays.homeward.item(), 1.0 - k * k
    x = (math.cos(a) - k * math.cos(b)) / rest
    y = (math.cos(b) - k * math.cos(a)) / rest
    height = 1.0 - x * x - y * y - 2.0 * x * y * k
    if height > FLAT:
        middle = aside / math.sqrt(height)
        legs = (ahead - middle * x, middle, homeward - middle * y)
        return _within(legs, (0.0, 0.0, 0.0), least, 0.0)
    if height < -FLAT or aside >= OUT_OF_PLANE:
        return None
    legs = (0.0, ahead / x, homeward - ahead / x * y)
    return _within(legs, (1.0, -1.0 / x, y / x), least, far)


def _within(
    legs: ThreeLegs, slopes: ThreeLegs, least: ThreeLegs, most: float
) -> _TwoBends | None:
    """Return tubes whose legs have their least lengths, the free one `most` [mm]."""
    low, high = 0.0, most
    for leg, slope, at_least in zip(legs, slopes, least, strict=True):
        spare = leg - at_least + TOUCH
        if slope > 0.0:
            low = max(low, -spare / slope)
        elif slope < 0.0:
            high = min(high, -spare / slope)
        elif spare < 0.0:
            return None
    if low > high:
        return None
    return _TwoBends(legs=legs, slopes=slopes, limits=(low, high))


def _shortest(judge: Judge, tubes: _TwoBends) -> Centreline | None:
    """Return the shortest of some tubes that may have room.

    A tube is nowhere further from another than the first legs differ, times the greatest
    slope: so much is passed over as it lacks room.
    """
    low, high = tubes.limits
    grows, quickest = sum(tubes.slopes) >= 0.0, max(1.0, *map(abs, tubes.slopes))
    line = None
    for _ in range(MOST_PLACES):
        if low > high:
            return None
        line = tubes.line(judge.problem, low if grows else high)
        gap, wanted = gap_around(judge, line).distance, judge.problem.clearance
        if is_clear(gap, wanted):
            break
        passed_over = (wanted - gap) / quickest
        low, high = (low + passed_over, high) if grows else (low, high - passed_over)
    return line
