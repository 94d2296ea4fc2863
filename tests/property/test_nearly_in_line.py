"""Ports that miss being in line by a little: bends are free, yet no bend is added.

Ports are placed in line along one or two axes, so that square bends join them, with room
to spare. Then the far port is moved out of line. The square route, its last two vertices
moved along with the port, is still a route, with bends a few degrees off: so free bends
must do with no more bends than square ones, and no worse than that route.

By default one case is solved for each distance, with one axis and with two; ten of each,
which takes about three minutes, with::

    LOOPSOLVER_FULL=1 pytest tests/property/test_nearly_in_line.py
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from scipy.optimize import brentq

from loopsolver.geometry.vectors import AXES, point
from loopsolver.routing.angled.free import free_candidates
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, RouteProblem, TubeEnd
from loopsolver.routing.worth import DEGREE_WORTH
from tests.builders.problems import (
    BEND_RADIUS,
    BETWEEN,
    STRAIGHT,
    box_at,
    end_at,
    run_between,
)
from tests.full import few_or_all
from tests.property.laid_tubes import Tube, candidate_complaints, complaints, tube_of
from tests.unit.routing.touching import Array

INNER = (240.0, 440.0, 420.0)
BODIES = 12

OUT_OF_LINE = (0.1, 0.3, 1.0, 2.0, 3.5, 5.0)
"""How far the port is moved along each axis [mm]."""

SEEDS = few_or_all(range(1), range(10))

NO_WORSE = 0.5
"""Candidates may be worth this much less than the known route [mm of tube].

A route is not drawn together further once two rounds gain a hundredth of a millimetre.
"""

STANDARD = np.array([45.0, 90.0])


@dataclass(frozen=True)
class InLine:
    """A run of free angles whose ports are in line along `axes`, and a square route."""

    problem: RouteProblem
    axes: tuple[int, ...]
    vertices: Array

    @property
    def bends(self) -> int:
        return len(self.vertices) - 2

    def moved(self, shift: Array) -> tuple[RouteProblem, Tube]:
        """The run with its far port moved, and the square route moved along."""
        goal = self.problem.goal
        seat = point(np.array(goal.seat) + shift)
        route = self.vertices.copy()
        route[-2:] += shift
        run = replace(self.problem, goal=replace(goal, seat=seat), max_bends=self.bends)
        return run, Tube(vertices=route, radius=BEND_RADIUS)


def ports(rng: np.random.Generator, axes: tuple[int, ...]) -> tuple[TubeEnd, TubeEnd]:
    """Two ends along axes of the case, at the same place along some of them."""
    seats = rng.uniform(0.1, 0.9, (2, 3)) * INNER
    seats[1, axes] = seats[0, axes]
    ways = [AXES[str(name)] for name in rng.choice(sorted(AXES), 2)]
    return end_at(seats[0], ways[0]), end_at(seats[1], ways[1])


@cache
def in_line(number: int, count: int) -> InLine:
    """A run in line along so many axes that square bends solve with room to spare."""
    rng = np.random.default_rng([number, count])
    for axes in _axes(rng, count):
        start, goal = ports(rng, axes)
        boxes = [
            box_at(
                rng.uniform(0.0, 1.0, 3) * INNER, rng.uniform(10.0, 90.0, 3), f"b{i}"
            )
            for i in range(BODIES)
        ]
        run = run_between(start, goal, angles="any", boxes=boxes, inner=INNER)
        square = _with_room_to_spare(run)
        if not square or square[0].bends < 2:
            continue
        vertices = np.array(square[0].centreline.vertices)
        along = int(np.abs(vertices[-2] - vertices[-3]).argmax())
        if set(axes) != {along}:
            # Moved out of line, the port turns a leg, and bends off square in general.
            return InLine(problem=run, axes=axes, vertices=vertices)
    raise AssertionError


def _axes(rng: np.random.Generator, count: int) -> Iterator[tuple[int, ...]]:
    while True:
        yield tuple(int(axis) for axis in rng.choice(3, count, replace=False))


def _with_room_to_spare(run: RouteProblem) -> tuple[Candidate, ...]:
    """Square candidates that keep their distance by so much more that they can move.

    Moving the far port by s moves no point of the tube further than s, but for bends
    whose take-outs change; it takes s from a straight, and as much again for take-outs.
    """
    most = math.sqrt(2.0) * max(OUT_OF_LINE)
    roomy = replace(
        run,
        bend_angles_deg=(90.0,),
        clearance=run.clearance + 1.1 * most,
        straight_between_bends=BETWEEN + 2.0 * most,
        start=replace(run.start, straight=STRAIGHT + 2.0 * most),
        goal=replace(run.goal, straight=STRAIGHT + 2.0 * most),
        candidates=1,
        max_bends=3,
    )
    return find_candidates(roomy).candidates


def worth_of(tube: Tube) -> float:
    """Length, and what its departures from 45 and 90 cost [mm of tube]."""
    off = np.abs(np.degrees(tube.angles)[:, None] - STANDARD).min(axis=1)
    return tube.length + DEGREE_WORTH * float(off.sum())


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("count", [1, 2], ids=["one-axis", "two-axes"])
@pytest.mark.parametrize("far", OUT_OF_LINE, ids="{:g}mm".format)
def test_no_bend_is_added_and_bends_stay_nearly_square(
    far: float, count: int, seed: int
) -> None:
    case = in_line(10 * OUT_OF_LINE.index(far) + seed, count)
    rng = np.random.default_rng(seed)
    shift = np.zeros(3)
    shift[list(case.axes)] = far * rng.choice([-1.0, 1.0], count)
    run, known = case.moved(shift)
    assert complaints(known, run) == []
    found = find_candidates(run).candidates
    assert found
    assert [candidate_complaints(c, run) for c in found] == [[]] * len(found)
    fewest = found[0].bends
    assert fewest <= case.bends
    alike = [tube_of(c) for c in found if c.bends == case.bends]
    # Only fewer bends make up for a bend count that is not shown.
    assert alike or fewest < case.bends
    if alike:
        best = min(alike, key=worth_of)
        assert worth_of(best) <= worth_of(known) + NO_WORSE


DRAWN = 0.05
"""How near lengths come to closed forms: some rounds' least gain, 0.01 mm [mm]."""


@pytest.mark.parametrize("far", OUT_OF_LINE, ids="{:g}mm".format)
def test_a_straight_run_out_of_line_gets_two_slight_bends(far: float) -> None:
    """Ports that face each other 250 mm apart, out of line by a little.

    With equal bends w the offset is made by a leg of far / sin(w) between the vertices,
    and the straights at both ends are the least when w is: 2 (S + R tan(w/2)) + far /
    tan(w) = 250. Then the tube is the shortest of two bends.
    """
    apart = 250.0
    run = run_between(
        end_at((125, 250, 250), (1, 0, 0)),
        end_at((125 + apart, 250, 250 + far), (-1, 0, 0)),
        angles="any",
        max_bends=2,
    )

    def legs(w: float) -> float:
        return STRAIGHT + BEND_RADIUS * math.tan(w / 2.0)

    w = brentq(lambda w: 2.0 * legs(w) + far / math.tan(w) - apart, 1e-6, 0.5)
    tube = (
        2.0 * STRAIGHT + far / math.sin(w) + 2.0 * BEND_RADIUS * (w - math.tan(w / 2))
    )
    found = list(free_candidates(run, make_judge(run)))
    assert [candidate_complaints(c, run) for c in found] == [[]] * len(found)
    assert {c.bends for c in found} == {2}
    shortest = min(found, key=lambda c: c.length)
    assert shortest.length == pytest.approx(tube, abs=DRAWN)


@pytest.mark.parametrize("far", OUT_OF_LINE, ids="{:g}mm".format)
def test_a_corner_out_of_plane_is_cut_by_two_bends_of_nearly_45(far: float) -> None:
    """Axes at a right angle that pass each other: no single bend joins them.

    The corner is cut by as much as the straights allow, by t on either axis: then both
    bends are the same, cos(w) = t / sqrt(2 t^2 + far^2), and the tube is the shortest and
    its bends the nearest to 45.
    """
    leg = 120.0
    run = run_between(
        end_at((150, 150, 250), (1, 0, 0)),
        end_at((150 + leg, 150 + leg, 250 + far), (0, -1, 0)),
        angles="any",
        max_bends=2,
    )

    def bend(t: float) -> float:
        return math.acos(t / math.sqrt(2.0 * t * t + far * far))

    def spare(t: float) -> float:
        return leg - t - STRAIGHT - BEND_RADIUS * math.tan(bend(t) / 2.0)

    t = brentq(spare, 30.0, leg)
    w = bend(t)
    tube = (
        2.0 * STRAIGHT
        + math.sqrt(2.0 * t * t + far * far)
        + 2.0 * BEND_RADIUS * (w - math.tan(w / 2.0))
    )
    found = find_candidates(run).candidates
    assert [candidate_complaints(c, run) for c in found] == [[]] * len(found)
    best = found[0]
    assert best.bends == 2
    assert best.length == pytest.approx(tube, abs=DRAWN)
    off = math.degrees(w) - 45.0
    assert best.departures_deg == pytest.approx([off, off], abs=0.05)
