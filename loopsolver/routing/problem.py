"""One run as a problem for the search, and what comes of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.clearance.distance_field import DistanceField, distance_field
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.geometry.vectors import Point
from loopsolver.routing.effort import USUAL, Effort
from loopsolver.routing.worth import (
    DEGREE_WORTH,
    STANDARD_DEG,
    departures_deg,
    turns_worth,
)
from loopsolver.scene.limits import USUAL_BEND_RANGE
from loopsolver.scene.model import BendAngles, BendRange, TurnStep
from loopsolver.scene.walls import Room
from loopsolver.showing import Shown
from loopsolver.tolerances import WRITTEN_DECIMALS
from loopsolver.tube.bend_table import BendTable, bend_table
from loopsolver.tube.centreline import Centreline, arcs_length, developed_length
from loopsolver.tube.planes import plane_stretches

WHATEVER_COST: Final[tuple[float, ...]] = (math.inf,)
"""What every candidate costs less than."""

Longest = Callable[[int, int], float]
"""From bends and elbows to what a tube must be shorter than to be any good [mm]."""


def whatever_longest(_bends: int, _elbows: int) -> float:
    """Return no bound."""
    return math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeEnd:
    """One end of a run: where the tube sits and how it leaves.

    Attributes
    ----------
    seat : Point
        Where the tube end stops inside the fitting [mm].
    direction : Point
        Along the tube, away from the port; unit length.
    straight : float
        Length from the seat that must be straight [mm].
    covered : float
        Length from the seat over which no gap is asked for: what the fitting holds [mm].
    """

    seat: Point
    direction: Point
    straight: float
    covered: float


def least_bend_deg(bend_range: BendRange, bends: int) -> float:
    """Return the least angle of any bend of a tube of so many [degrees].

    Two slight bends are how a small offset is made; among more, a slight bend is a
    bend too many.
    """
    return bend_range[0] if bends > 2 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteProblem:
    """All that the search knows of a run. Lengths in millimetres, angles in degrees.

    `room` is where the tube is looked for, the case's inside if it has walls; `effort`
    says how hard is tried. `longest` says of every bend count from 0 on what its tubes must
    be shorter than to be any good [mm]; where it ends, any length will do.
    """

    start: TubeEnd
    goal: TubeEnd
    bend_radius: float
    tube_radius: float
    clearance: float
    straight_between_bends: float
    bend_angles_deg: BendAngles
    max_bends: int
    candidates: int
    room: Room
    obstacles: tuple[Obstacle, ...]
    own_fittings: tuple[Obstacle, ...] = ()
    trim_allowance: float = 0.0
    take_up: float = 1.0
    turn_step_deg: TurnStep = "any"
    bend_range: BendRange = USUAL_BEND_RANGE
    effort: Effort = USUAL
    longest: tuple[float, ...] = ()

    @property
    def reach(self) -> float:
        """What the centre line must keep from every obstacle [mm]."""
        return self.tube_radius + self.clearance

    @property
    def is_on_lattice(self) -> bool:
        """Whether square bends and square turns leave nothing but the lattice's tubes."""
        return self.bend_angles_deg == (90.0,) and self.turn_step_deg == 90.0

    @property
    def may_be_square(self) -> bool:
        """Whether bends of 90 degrees are allowed."""
        least_deg, greatest_deg = self.bend_range
        if self.bend_angles_deg == "any":
            return least_deg <= 90.0 <= greatest_deg
        return 90.0 in self.bend_angles_deg

    @property
    def standard_deg(self) -> tuple[float, ...]:
        """Where any angle is allowed the standard ones, else none [degrees]."""
        return STANDARD_DEG if self.bend_angles_deg == "any" else ()

    def least_bend_deg(self, bends: int) -> float:
        """Return the least angle of any bend of a tube of so many [degrees]."""
        return least_bend_deg(self.bend_range, bends)

    def must_be_below(self, bends: int) -> float:
        """Return what tubes of so many bends must be shorter than to be any good [mm]."""
        return self.longest[bends] if bends < len(self.longest) else math.inf

    @property
    def field(self) -> DistanceField:
        """The distance field of the obstacles, as fine as the effort asks for."""
        effort = self.effort.laying_out
        return distance_field(
            self.obstacles, step=effort.field_step, most_nodes=effort.field_nodes
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class EndFitting:
    """What holds one end of a tube.

    Attributes
    ----------
    port, fitting : str
        Full name of the port, name of the fitting on it.
    outlet : Point
        Direction in which the tube leaves; unit length.
    mouth : Point
        Middle of the fitting's open rim [mm].
    is_elbow : bool
        Whether the fitting turns the tube.
    """

    port: str
    fitting: str
    outlet: Point
    mouth: Point
    is_elbow: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate(Shown):
    """One verified route of a run, with its figures.

    Attributes
    ----------
    centreline : Centreline
        From tube end to tube end, in the case frame [mm].
    gap : Gap
        Least gap to anything but its own fittings and other tubes.
    trim_allowance : float
        Left over at each end of the blank [mm].
    ends : pair of EndFittings
        What holds the tube's first and its other end; empty while it is not settled.
    standard_deg : tuple of float
        Where any bend angle was allowed, the standard angles that departures are
        counted from [degrees]; otherwise empty.
    take_up : float
        How much tube a bend takes up, as a share of its arc.
    """

    centreline: Centreline
    gap: Gap
    trim_allowance: float
    ends: tuple[EndFitting, ...] = ()
    standard_deg: tuple[float, ...] = ()
    take_up: float = 1.0

    @property
    def elbows(self) -> int:
        """Number of elbow fittings at its ends."""
        return sum(end.is_elbow for end in self.ends)

    @property
    def covered(self) -> tuple[float, float]:
        """Length at either end that lies in its own fittings [mm]."""
        if len(self.ends) != 2:
            return 0.0, 0.0
        first, last = self.ends
        vertices = self.centreline.vertices
        return math.dist(vertices[0], first.mouth), math.dist(vertices[-1], last.mouth)

    @property
    def departures_deg(self) -> tuple[float, ...]:
        """How far each bend is from the nearest standard angle; empty where fixed."""
        if not self.standard_deg:
            return ()
        return departures_deg(self.centreline, standard_deg=self.standard_deg)

    @property
    def departure_worth(self) -> float:
        """What the departures are worth to a builder [mm of tube]."""
        return DEGREE_WORTH * sum(abs(off_deg) for off_deg in self.departures_deg)

    @property
    def turns_deg(self) -> tuple[float, ...]:
        """The turn before each bend but the first, in (-180, 180] [degrees]."""
        return tuple(bend.rotation_deg for bend in self.table.bends[1:])

    @property
    def worth(self) -> float:
        """The length [mm], and what departures and odd turns are worth in tube."""
        return self.length + self.departure_worth + turns_worth(self.turns_deg)

    @property
    def bends(self) -> int:
        """Number of bends."""
        return len(self.centreline.vertices) - 2

    @property
    def table(self) -> BendTable:
        """The bend table."""
        return bend_table(self.centreline)

    @property
    def cost(self) -> tuple[float, ...]:
        """What it costs a builder, the most important part first: the least is best.

        Bends and elbows together; the length [mm], to which departures from standard
        angles and odd turns add what they are worth; elbows.
        """
        worth = round(self.worth, WRITTEN_DECIMALS)
        return (self.bends + self.elbows, worth, self.elbows)

    @property
    def planes(self) -> int:
        """Number of plane stretches."""
        return len(plane_stretches(self.table))

    @property
    def length(self) -> float:
        """Developed length [mm]."""
        return developed_length(self.centreline)

    @property
    def blank(self) -> float:
        """Length of the straight piece that is bent [mm]."""
        return self.finished + 2.0 * self.trim_allowance

    @property
    def finished(self) -> float:
        """Length of the tube that is needed, without the trim allowance [mm].

        The developed length, but that a bend takes up more or less than its arc.
        """
        taken_more = (self.take_up - 1.0) * arcs_length(self.centreline)
        return self.length + taken_more

    def from_other_end(self) -> Candidate:
        """Return the same tube told from its other end."""
        line = self.centreline
        turned = Centreline(vertices=line.vertices[::-1], radius=line.radius)
        return replace(self, centreline=turned, ends=self.ends[::-1])


@dataclass(frozen=True, slots=True)
class CostOf:
    """What makes a candidate good: the least is best, the first part before the others.

    Attributes
    ----------
    cost : callable
        From a candidate to its cost.
    below : callable
        From a cost, bends and elbows to what a tube must be shorter than to cost less [mm].
    """

    cost: Callable[[Candidate], tuple[float, ...]]
    below: Callable[[tuple[float, ...], int, int], float]

    def __call__(self, candidate: Candidate) -> tuple[float, ...]:
        """Return what a candidate costs."""
        return self.cost(candidate)


def by_bends(below: tuple[float, ...], bends: int, elbows: int) -> float:
    """Return what tubes must be shorter than where `Candidate.cost` counts [mm]."""
    most, *more = below
    if bends + elbows == most:
        return more[0]
    return math.inf if bends + elbows < most else 0.0


def best_first(candidate: Candidate) -> tuple[float, ...]:
    """Return what candidates are sorted by: their cost, then the larger gap."""
    return (*candidate.cost, -round(candidate.gap.distance, WRITTEN_DECIMALS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Routes of one problem: verified candidates, and how many failed the check."""

    candidates: tuple[Candidate, ...]
    refused: int = 0
