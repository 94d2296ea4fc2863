"""What holds a run at its two ends: ports, fittings, where the tube sits."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain

from loopsolver.clearance.obstacles import Obstacle, elbow_bodies, fitting_body
from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import Point
from loopsolver.plan import PlannedRun
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.scene.model import Port, Scene, mouth, seat
from loopsolver.view.selection import AnyRun, ports_of


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEnd:
    """One end of a run.

    Attributes
    ----------
    port : Port
    bodies : tuple of Obstacle
        The fitting's body or bodies; empty where none is settled.
    seat, mouth : Point
        Where the tube ends, and the middle of the open rim; the port's position where
        no fitting is settled [mm].
    outlet : Point
        Direction in which a tube leaves; unit length.
    """

    port: Port
    bodies: tuple[Obstacle, ...]
    seat: Point
    mouth: Point
    outlet: Point

    @property
    def fitting(self) -> tuple[Solid, ...]:
        """The solids of the fitting's bodies."""
        return tuple(body.solid for body in self.bodies)


Ends = tuple[tuple[RunEnd, ...], tuple[RunEnd, ...]]
"""The ends that a run may start at, and those that it may finish at."""


def run_ends(scene: Scene, run: AnyRun, candidate: Candidate | None) -> Ends:
    """Return the ends of a candidate; without one, those that the run may have.

    Where a run may choose among ports, none of them carries a fitting yet.
    """
    if candidate is not None and candidate.ends:
        first, last = candidate.ends
        line = candidate.centreline.vertices
        return (
            (_settled(scene, first, line[0]),),
            (_settled(scene, last, line[-1]),),
        )
    start, goal = (
        tuple(_possible(scene.port(name), alone=len(side) == 1) for name in side)
        for side in ports_of(run)
    )
    return start, goal


def _settled(scene: Scene, end: EndFitting, tube_end: Point) -> RunEnd:
    port = scene.port(end.port)
    used = next((f for f in port.fittings if f.name == end.fitting), None)
    bodies: tuple[Obstacle, ...] = ()
    if used is not None and end.is_elbow:
        bodies = elbow_bodies(port, used, end.outlet)
    elif used is not None:
        bodies = (fitting_body(port, used),)
    return RunEnd(
        port=port, bodies=bodies, seat=tube_end, mouth=end.mouth, outlet=end.outlet
    )


def _possible(port: Port, *, alone: bool) -> RunEnd:
    straight = [fitting for fitting in port.fittings if not fitting.turn_deg]
    if not (alone and straight):
        spot = port.position
        return RunEnd(
            port=port, bodies=(), seat=spot, mouth=spot, outlet=port.direction
        )
    fitting = straight[0]
    return RunEnd(
        port=port,
        bodies=(fitting_body(port, fitting),),
        seat=seat(port, fitting),
        mouth=mouth(port, fitting),
        outlet=port.direction,
    )


def used_ports(scene: Scene, run: AnyRun) -> frozenset[str]:
    """Return the names of all ports that a run, or a candidate of it, may use."""
    candidates: tuple[Candidate | None, ...] = (None,)
    if isinstance(run, PlannedRun):
        candidates = (None, *run.candidates)
    return frozenset(
        end.port.name
        for candidate in candidates
        for end in chain(*run_ends(scene, run, candidate))
    )
