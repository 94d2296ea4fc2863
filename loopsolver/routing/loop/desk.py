"""What a loop is chosen from: every run routed alone, its ways in one pool."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.routing.loop.joint import Chooser, Key, Selection
from loopsolver.routing.loop.laying import Laid, Router, way_of
from loopsolver.routing.loop.pool import Pool, Way
from loopsolver.routing.loop.ports import PortPair, port_pairs
from loopsolver.routing.problem import Candidate
from loopsolver.routing.reasons.stock import is_too_long
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.port_contests import port_contests

STOPPED_BEFORE: Final = (
    "the search was stopped before this run was routed; route again to have it"
)
"""Why a run has no way that was never looked for."""

NOT_ASKED: Final = (
    "none was found; the search was stopped before it was looked into what stands in "
    "the way: route again, or this run alone with --run"
)
"""Why a run has no way where nobody waited for the reasons."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """What routing a run alone, between all its ports, gave."""

    ways: tuple[Way, ...]
    refused: int


class Desk:
    """The runs of a loop with all their ways so far."""

    def __init__(self, scene: Scene, runs: Sequence[RunRequest], key: Key) -> None:
        """Make a desk on which nothing is routed yet."""
        self.router = Router(scene, runs)
        self.pool = Pool(tube_radius=scene.tube.radius, clearance=scene.rules.clearance)
        self.chooser = Chooser(self.pool, key)
        self.alone: dict[int, Alone] = {}
        self._given_up: set[int] = set()
        self._fits_stock: list[bool] = []
        self._of_any_length: set[int] = set()
        self._kept: dict[int, int] = {}
        self._laid: dict[PortPair, Laid] = {}

    def route_alone(self, run: int) -> None:
        """Route a run between all its ports, other tubes left out."""
        router = self.router
        pairs = port_pairs(router.scene, router.runs[run])
        laid = [self._between(run, ports) for ports in pairs]
        ways = tuple(way for each in laid for way in each.ways)
        if all(self._is_too_long(way) for way in ways):
            self._of_any_length.add(run)
        self.pool.add(ways)
        self.alone[run] = Alone(
            ways=ways,
            refused=sum(each.refused for each in laid),
        )

    @property
    def every_run(self) -> range:
        """The numbers of all runs."""
        return range(len(self.router.runs))

    @property
    def is_whole(self) -> bool:
        """Whether the search was not stopped before every run was routed alone."""
        return not self._given_up

    def leave_the_rest(self) -> None:
        """Leave all runs as they are that were not routed alone yet."""
        for run in self.every_run:
            if run not in self.alone:
                self.alone[run] = Alone(ways=(), refused=0)
                self._given_up.add(run)

    def why_none(self, run: int) -> str | None:
        """Return why a run has no way at all, in words; None where it has one."""
        if self.pool.of_run(run):
            return None
        request = self.router.runs[run]
        for ports in port_pairs(self.router.scene, request):
            why = self.router.why_none(run, ports)
            if why is not None:
                return why
        start, goal = " or ".join(request.from_ports), " or ".join(request.to_ports)
        scene = self.router.scene
        is_settled = scene.loop is None or scene.loop.order != "any"
        why = next(
            (
                contest.sentence
                for contest in (port_contests(scene) if is_settled else ())
                if request.name in contest.runs
            ),
            "the coolant goes the other way there, or other runs hold them",
        )
        return f"no two ports are left for a tube from {start} to {goal}: {why}"

    def why_unknown(self, run: int) -> str | None:
        """Return the same where the search was stopped: without looking into it."""
        if self.pool.of_run(run):
            return None
        return STOPPED_BEFORE if run in self._given_up else NOT_ASKED

    def keep(self, run: int, candidate: Candidate) -> None:
        """Settle a run on a candidate, whether it was found here or not."""
        way = way_of(self.router, run, candidate)
        self.pool.add([way])
        self._kept[run] = self.pool.number_of(way)
        self.chooser.hold(self._kept[run])

    def open_ways(self, runs: Collection[int]) -> list[int]:
        """Return the ways of some runs that may be chosen.

        Not those that the stock is too short for, unless one of them is kept or the run
        has no others.
        """
        for way in self.pool.ways[len(self._fits_stock) :]:
            self._fits_stock.append(not self._is_too_long(way))
        return [
            number
            for run in sorted(runs)
            for number in self.pool.of_run(run)
            if (
                self._kept[run] == number
                if run in self._kept
                else self._fits_stock[number] or run in self._of_any_length
            )
        ]

    def runs_of(self, selection: Selection) -> set[int]:
        """Return the runs that a selection has a way for."""
        return {self.pool.ways[way].run for way in selection.ways}

    def _is_too_long(self, way: Way) -> bool:
        return is_too_long(way.candidate, self.router.scene.tube)

    def _between(self, run: int, ports: PortPair) -> Laid:
        """Return a run's ways between two ports; the same ones serve both directions."""
        request = self.router.runs[run]
        own_rules = (request.bend_radii, request.bend_angles, request.max_bends)
        is_plain = own_rules == (None, None, None)
        back = self._laid.get(ports[::-1]) if is_plain else None
        if back is not None:
            ways = tuple(reversed_way(way, run=run) for way in back.ways)
            return Laid(ways=ways)
        laid = self.router.alone(run, ports)
        if is_plain:
            self._laid[ports] = laid
        return laid


def reversed_way(way: Way, *, run: int) -> Way:
    """Return a way as one of another run that joins the same ports the other way."""
    candidate = way.candidate
    line = candidate.centreline
    return Way(
        run=run,
        from_port=way.to_port,
        to_port=way.from_port,
        candidate=replace(
            candidate,
            centreline=replace(line, vertices=line.vertices[::-1]),
            ends=candidate.ends[::-1],
        ),
        fittings=way.fittings,
        elbows=way.elbows,
    )
