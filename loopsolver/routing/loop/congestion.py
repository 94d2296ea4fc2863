"""Negotiated congestion: prices on contested space for runs that find no room.

Every run is laid alone, through other tubes if need be, but pays for the space that they
take. From round to round that costs more; and where two tubes have been in each other's
way, the space stays dear. So the runs that need a place most come to have it. All routes
that are found join the pool, and the programme picks across rounds and negotiations.

References
----------
L. McMurchie and C. Ebeling, PathFinder: a negotiation-based performance-driven router
for FPGAs, Proceedings of the ACM symposium on field-programmable gate arrays (1995):
present and historical cost of shared places, all nets laid anew in every round. From
memory. The prices on lengths of tube near another are our own.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice
from typing import Final

import numpy as np

from loopsolver.clearance.obstacles import Gap, Obstacle, obstacles_of_run
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Cylinder
from loopsolver.geometry.vectors import Array, Point, axis_name, difference, dot, unit
from loopsolver.routing.control import Control, RoundDone
from loopsolver.routing.diagnosis.stock import is_too_long
from loopsolver.routing.ends import EndChoice, end_choices, problem_between
from loopsolver.routing.loop.contested_space import (
    Edges,
    crowded_coordinates,
    near_edges,
    no_edges,
    tolls_of,
)
from loopsolver.routing.loop.obstruction import tube_obstacles
from loopsolver.routing.loop.ports import port_pairs
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.set_packing import Selection
from loopsolver.routing.problem import Candidate, EndFitting, RouteProblem
from loopsolver.routing.square.field import Field, known_throughout, make_field
from loopsolver.routing.square.lattice import SquareRun
from loopsolver.routing.square.polish import Vertices
from loopsolver.routing.square.priced import priced_routes
from loopsolver.routing.worth import BEND_WORTH
from loopsolver.scene.model import RunRequest
from loopsolver.tolerances import GAP_RESOLUTION, SQUARE_COSINE
from loopsolver.tube.centreline import Centreline

FIRST_PRICE: Final = 1.0
"""What the space near one other tube costs at first, in tube: as much as its length."""

DEARER: Final = 1.3
"""From round to round it costs so many times as much. McMurchie and Ebeling leave it open;
the published grids of the tests are laid soonest with about that."""

LASTING: Final = 1.0
"""What space that two tubes were in each other's way in costs ever after, each time."""

BALLS_WIDER: Final = 0.2
"""Bends are priced by balls so far apart that these are wider by so much [mm]."""


WaysOut = tuple[EndChoice, ...]
"""All ways in which a tube may leave at one end."""


def negotiated(
    routed: RoutedRuns,
    runs: Collection[int],
    best: Selection,
    *,
    control: Control,
    after: int,
) -> tuple[Selection, int]:
    """Return the best selection after negotiations, and how many of them there were.

    Each is a round, and told of as one.

    Parameters
    ----------
    routed : RoutedRuns
    runs : collection of int
        Those that are to be chosen together.
    best : Selection
        What was chosen before; where a run cannot negotiate, its route stays.
    control : Control
        Asked before each search.
    after : int
        How many rounds there were before.
    """
    held = [run for run in runs if routed.is_open(run)]
    negotiation = Negotiation(routed, held, best, control=control)
    effort = control.effort.congestion
    number = bettered = 0
    while (
        len(negotiation.bidders) > 1
        and number < effort.negotiations
        and number - bettered < effort.in_vain
        and not control.is_over()
    ):
        number += 1
        negotiation.hold(random.Random(number))
        found = routed.packing.best(routed.open_routes(runs), control=control)
        if found.worth < best.worth:
            best, bettered = found, number
        chosen = tuple(routed.pool.routes[route].candidate for route in best.routes)
        control.tell(RoundDone(rounds=after + number, best=chosen))
    is_proven = best.is_proven and not (number and control.is_over())
    return replace(best, is_proven=is_proven), number


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bidder:
    """A run that may be laid on the lattice: its ends, and the lattice round it."""

    run: int
    starts: WaysOut
    goals: WaysOut
    field: Field

    @property
    def problem(self) -> RouteProblem:
        return self.field.run.problem

    def candidate(self, vertices: Vertices) -> Candidate:
        """Return a route on the lattice as a candidate whose gap nobody has measured."""
        problem = self.problem
        return Candidate(
            centreline=Centreline(vertices=vertices, radius=problem.bend_radius),
            gap=Gap(distance=0.0, name="", at=vertices[0]),
            trim_allowance=problem.trim_allowance,
            ends=(
                _end_at(self.starts, vertices[0], vertices[1]),
                _end_at(self.goals, vertices[-1], vertices[-2]),
            ),
            standard_deg=problem.standard_deg,
            take_up=problem.take_up,
        )


def _end_at(choices: Sequence[EndChoice], seat: Point, beside: Point) -> EndFitting:
    """Return what holds a tube that leaves a seat towards the vertex beside it."""
    leaving = unit(difference(beside, seat))
    return next(
        one.fitting
        for one in choices
        if one.end.seat == seat and dot(one.end.direction, leaving) > SQUARE_COSINE
    )


class Negotiation:
    """Lays the runs of a loop anew and anew, at prices that all of them raise."""

    def __init__(
        self,
        routed: RoutedRuns,
        runs: Collection[int],
        best: Selection,
        *,
        control: Control,
    ) -> None:
        """Lay out a lattice for all runs that may lie on one, among the others' routes."""
        self.control = control
        self.routed, self.router, self.pool = routed, routed.router, routed.pool
        self._near: dict[int, Edges] = {}
        self._checked: dict[tuple[int, Vertices], int | None] = {}
        wanting = {run: one for run in runs if (one := self._wanting(run)) is not None}
        self._apart = 2.0 * (routed.router.scene.tube.radius + GAP_RESOLUTION)
        self._apart += routed.router.scene.rules.clearance
        self.bidders: tuple[_Bidder, ...] = ()
        if wanting:
            self._coordinates = crowded_coordinates(
                [problem for problem, *_ in wanting.values()],
                [
                    one.end
                    for _, *sides in wanting.values()
                    for side in sides
                    for one in side
                ],
                apart=self._apart,
                most_nodes=control.effort.congestion.most_nodes,
            )
            others = [
                solid
                for route in best.routes
                if self.pool.routes[route].run not in wanting
                for solid in self.router.solids_of(self.pool.routes[route])
            ]
            self.bidders = tuple(
                self._bidder(run, *one, others) for run, one in wanting.items()
            )

    def _wanting(self, run: int) -> tuple[RouteProblem, WaysOut, WaysOut] | None:
        """Return a run as a problem with its ends, if it may lie on the lattice."""
        scene, request = self.router.scene, self.router.runs[run]
        pairs = port_pairs(scene, request)
        starts, goals = (
            tuple(
                choice
                for name in dict.fromkeys(pair[side] for pair in pairs)
                for choice in self._choices(request, name)
            )
            for side in (0, 1)
        )
        if not starts or not goals:
            return None
        problem = problem_between(
            scene,
            request,
            starts[0],
            goals[0],
            min(request.bend_radii or scene.tube.bend_radii),
            obstacles_of_run(scene, request),
            effort=self.control.effort,
        )
        return (problem, starts, goals) if problem.may_be_square else None

    def _choices(self, request: RunRequest, name: str) -> Iterator[EndChoice]:
        """Yield how a tube may leave a port along an axis, by an elbow if it must."""
        scene = self.router.scene
        choices = end_choices(scene, request, scene.port(name))
        for choice in choices:
            if choice.fitting.is_elbow and not choices[0].fitting.is_elbow:
                return
            if axis_name(choice.end.direction):
                yield choice

    def _bidder(
        self,
        run: int,
        problem: RouteProblem,
        starts: WaysOut,
        goals: WaysOut,
        laid: Sequence[Obstacle],
    ) -> _Bidder:
        """Return a run on the lattice. Its own fittings are for the check to heed."""
        alone = replace(problem, obstacles=(*problem.obstacles, *laid), own_fittings=())
        field = make_field(SquareRun(problem=alone, frame=Frame()), self._coordinates)
        return _Bidder(
            run=run, starts=starts, goals=goals, field=known_throughout(field)
        )

    def hold(self, shuffle: random.Random) -> None:
        """Lay the runs until none is in another's way, or rounds are over.

        What is found joins the pool.
        """
        effort = self.control.effort.congestion
        lasting = no_edges(self._coordinates)
        laid: dict[int, int] = {}
        price = 0.0
        for _ in range(effort.rounds):
            for bidder in shuffle.sample(self.bidders, len(self.bidders)):
                others = [route for run, route in laid.items() if run != bidder.run]
                found = self._cheapest(bidder, self._tolls(lasting, others, price))
                if self.control.is_over():
                    return
                if found is not None:
                    laid[bidder.run] = found
            clashing = [
                pair
                for pair in combinations(sorted(laid.values()), 2)
                if self.pool.clash(*pair)
            ]
            if not clashing:
                return
            for one, two in clashing:
                for edges, a, b in zip(
                    lasting, self._near_to(one), self._near_to(two), strict=True
                ):
                    np.add(edges, LASTING * np.minimum(a, b), out=edges)
            price = price * DEARER or FIRST_PRICE

    def _tolls(
        self, lasting: Edges, others: Sequence[int], price: float
    ) -> tuple[Array, Array, Array]:
        """Return what space costs beside other routes, and what it costs ever after."""
        edges = [each.copy() for each in lasting]
        for route in others:
            for each, near in zip(edges, self._near_to(route), strict=True):
                np.add(each, price * near, out=each)
        x, y, z = edges
        return tolls_of((x, y, z))

    def _near_to(self, route: int) -> Edges:
        """Return how much of each edge is too near to a route."""
        if route not in self._near:
            scene, one = self.router.scene, self.pool.routes[route]
            tube = tube_obstacles(
                one.centreline,
                tube_radius=scene.tube.radius,
                reach=scene.reach,
                name="",
                wider=BALLS_WIDER,
            )
            rods = [
                (each.solid, self._apart - each.solid.rounding)
                for each in tube
                if isinstance(each.solid, Cylinder)
            ]
            brought = [(each.solid, scene.reach) for each in one.brought]
            self._near[route] = near_edges([*rods, *brought], self._coordinates)
        return self._near[route]

    def _cheapest(
        self, bidder: _Bidder, tolls: tuple[Array, Array, Array]
    ) -> int | None:
        """Return the cheapest route that passes the check; take in others as cheap."""
        effort = self.control.effort.congestion
        field = replace(bidder.field, tolls=tolls)
        found: list[int] = []
        with self.control.timed():
            starts, goals = (
                [choice.end for choice in side]
                for side in (bidder.starts, bidder.goals)
            )
            offers = priced_routes(field, starts, goals, bend_worth=BEND_WORTH)
            least = np.inf
            for cost, vertices in islice(offers, effort.most_judged):
                if cost > least + BEND_WORTH or len(found) == effort.offers:
                    break
                route = self._route(bidder, vertices)
                if route is not None:
                    least = min(least, cost)
                    found.append(route)
        return found[0] if found else None

    def _route(self, bidder: _Bidder, vertices: Vertices) -> int | None:
        """Return the number of a route in the pool; None where it does not pass."""
        key = (bidder.run, vertices)
        if key not in self._checked:
            route = self.router.checked(bidder.run, bidder.candidate(vertices))
            self._checked[key] = None
            if route is not None and not is_too_long(
                route.candidate, self.router.scene.tube
            ):
                self.pool.add([route])
                self._checked[key] = self.pool.number_of(route)
        return self._checked[key]
