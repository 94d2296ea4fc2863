"""How hard the search tries: every number of tries, samples and steps, in one value.

`Effort().times(10)` does about ten times the work at every place. What counts as near
enough is in `loopsolver.tolerances`; what a builder takes is beside what asks for it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

from loopsolver.routing.effort.angled import (
    NO_TRIES,
    LayingOutEffort,
    ShorteningEffort,
    ShortlistEffort,
)
from loopsolver.routing.effort.growth import grows, times


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareEffort:
    """For square bends on a lattice."""

    fill: float = grows(6.0, -1 / 3)
    """Widest step between two coordinates [mm], as long as there are not too many nodes."""

    most_nodes: int = grows(1_200_000)
    """Faces are drawn together, then steps widened, until there are no more nodes."""

    routes_a_sequence: int = grows(3)
    """Most routes taken from one sequence of directions and one pair of boxes."""

    squeezed_routes: int = grows(6)
    """Where it has none, so many that it has with less clearance are looked at."""

    twin_places: int = grows(3)
    """Places between two routes at which it is tried whether one slides into the other."""

    draw_step: float = grows(1.0, -1)
    """A level is drawn in by steps of this, so that it cannot jump a thin obstacle [mm]."""

    free_places: int = grows(4)
    """Places of a free level to either side that are compared for the larger gap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VarietyEffort:
    """For candidates that differ from the best: with more gap, or another way round."""

    share: float = 0.25
    """Each search for them does so much of the usual work."""

    roomier: int = grows(2)
    """Searches with more clearance, each in want of MORE_GAP times the gap before."""

    closings: int = grows(2)
    """Searches with the way closed beside a body, where there is one way round only."""

    narrower: int = 15
    """So many lists of fewer angles, and greater steps of turns, are searched as well.

    There are no more: so what these give is not lost where more is allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopEffort:
    """For the choice of one route for every run."""

    patience: int = grows(40)
    """Rounds without improvement after which the choice stands; most of them are known."""

    searches_a_run: int = grows(1)
    """Searches without improvement, for each run, after which it stands as well."""

    searches_for_none: int = 4
    """So many times as many searches are spent while a run has no route at all."""

    better_routes: int = grows(3)
    """How many better routes of a run room is made for."""

    shifted_routes: int = grows(2, 1 / 2)
    """How many of a run's best routes are tried with their levels elsewhere."""

    level_places: int = grows(10, 1 / 2)
    """Places that are tried for one level: those nearest to where it is."""

    port_pairs: int = grows(2)
    """Between how many pairs of ports a run is laid beside others: its best ones."""

    orders: int = grows(2)
    """So many orders are laid without improvement before the choice stands."""

    routes_soon: int = grows(2)
    """Most routes between each of many pairs of ports, before one of them is chosen."""

    routes_beside: int = grows(4)
    """Most routes taken from one search beside laid tubes."""

    beside_share: float = 0.3
    """Such a search shortens so many of the usual routes."""

    searches_for_any: int = grows(2)
    """The same where it is only asked whether all runs fit, and then no more than..."""

    patience_for_any: int = grows(10)
    """... so many rounds without improvement."""

    other_ports: int = grows(4)
    """Other ports of a component that are tried for a run that has no place."""

    parallel_sweeps: int = grows(20)
    """How often all pairs of runs are gone through for tubes side by side at most.

    A guard; two or three are usual.
    """

    leg_shift_passes: int = grows(3, 1 / 2)
    """How often legs are shifted: each time finds tubes where the one before left them."""

    leg_shifts: int = grows(16, 1 / 2)
    """Most leg shifts of a run that are looked at: the smallest ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CongestionEffort:
    """For negotiations about contested space, where runs are left out of the choice."""

    negotiations: int = grows(12)
    """So many at most, each with another order of the runs."""

    in_vain: int = grows(4)
    """So many without improvement end them."""

    rounds: int = grows(12)
    """In each, all runs are laid so many times at most."""

    offers: int = grows(4)
    """Most routes taken from one search: those that cost hardly more than the cheapest."""

    most_judged: int = grows(12)
    """Of the routes of one search no more than so many are put to the check."""

    most_nodes: int = grows(200_000)
    """Of the lattice that all runs have in common."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagnosisEffort:
    """For finding out why a run has no route, and what would give it one.

    Probes and not time are counted, so that the same scene gets the same answer
    everywhere.
    """

    leads: int = grows(24)
    """So many quick probes may be made for finding what helps at all."""

    probes: int = grows(60)
    """So many for one run in all: the others find about how little is enough."""

    searches: int = grows(12)
    """So many changes at most are tried with all that `route` searches."""

    most_judged: int = grows(60)
    """Of the lattice's routes no more than so many are put to the check."""

    most_bodies: int = grows(4)
    """So many bodies are taken away, one after the other, to see whether that helps."""

    most_walls: int = grows(3)
    """So many case walls are moved out, one after the other."""

    first_move: float = 0.5
    """Moves of a body are sought from this on, in twice as long steps [mm]."""

    rolls: int = grows(24, 1 / 2)
    """Sides to which a first bend is tried, evenly spaced."""

    room_step: float = grows(2.0, -1 / 2)
    """How far apart the first bends lie that are tried along a port's axis [mm]."""

    furthest_seen: float = 2000.0
    """First bends are tried no further from a port than this [mm]."""

    free_step: float = grows(1.0, -1)
    """Least step by which it is felt how far a port's axis is free [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How hard the search tries, by what it tries."""

    square: SquareEffort = field(default_factory=SquareEffort)
    laying_out: LayingOutEffort = field(default_factory=LayingOutEffort)
    shortlist: ShortlistEffort = field(default_factory=ShortlistEffort)
    shortening: ShorteningEffort = field(default_factory=ShorteningEffort)
    variety: VarietyEffort = field(default_factory=VarietyEffort)
    loop: LoopEffort = field(default_factory=LoopEffort)
    congestion: CongestionEffort = field(default_factory=CongestionEffort)
    diagnosis: DiagnosisEffort = field(default_factory=DiagnosisEffort)

    def times(self, factor: float) -> Effort:
        """Return the effort that does about so many times the work at every place.

        >>> Effort().times(4).square.routes_a_sequence
        12
        """
        return times(self, factor)

    @property
    def beside(self) -> Effort:
        """What is done for each of a loop's many searches beside laid tubes.

        None looks over the waypoint graph, or for what just fits between coordinates.
        """
        shortlist = times(self.shortlist, self.loop.beside_share)
        return replace(
            self,
            square=replace(self.square, squeezed_routes=0),
            shortlist=replace(shortlist, over_graph=NO_TRIES),
        )

    @property
    def for_any(self) -> Effort:
        """What is done where it is asked whether there is any tube: one is enough."""
        return replace(self, shortlist=self.shortlist.for_one)

    @property
    def for_whole_loop(self) -> Effort:
        """What is done where it is asked whether all runs of a loop fit: any way will do.

        A run alone is laid as it is beside others else; nothing is done for variety.
        """
        loop = replace(
            self.loop,
            patience=self.loop.patience_for_any,
            searches_for_none=self.loop.searches_for_any,
            beside_share=1.0,
        )
        variety = replace(self.variety, roomier=0, closings=0, narrower=0)
        soon = replace(self.beside, variety=variety, loop=loop)
        return replace(soon, shortlist=replace(soon.shortlist, last_resort=NO_TRIES))

    @property
    def quick(self) -> Effort:
        """What is done where it is only asked whether a tube is found soon."""
        return replace(self, shortlist=self.shortlist.quick)


SECONDS: Final = 300.0
"""How long the whole search may take unless the user says otherwise [s].

Far more than a loop of six runs needs on a slow machine: rounds end by themselves.
"""

USUAL: Final = Effort()
"""The effort of a search that nobody asked more of."""
