"""Whether the candidates of a plan file are what its scene says: each judged afresh."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cache
from typing import Final

from loopsolver.clearance.gap import least_gap
from loopsolver.clearance.obstacles import Gap, Obstacle, obstacles_of_run
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Cylinder, signed_distance
from loopsolver.geometry.vectors import points_array
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan.checking import raise_any, requests_of
from loopsolver.plan.fault_words import breach_words, direction
from loopsolver.plan.model import PlannedRun
from loopsolver.routing.ends import (
    EndChoice,
    end_choice,
    has_room,
    outlets,
    problem_between,
    runs_through,
)
from loopsolver.routing.inspection import misplaced_ends
from loopsolver.routing.judge import Judge, gap_around, judged, make_judge_of_written
from loopsolver.routing.loop.ports import as_routed, port_pairs, with_ports
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.routing.rules import Breach
from loopsolver.scene.findings import Finding
from loopsolver.scene.lines import KeyPath
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import CLOSURE, GAP_RESOLUTION, WRITTEN

Used = Callable[[PlannedRun], Collection[int]]
"""Which candidates of a run are going to be used, by rank: those are judged."""

Choices = tuple[list[EndChoice], list[Finding]]
"""How a tube leaves its ports, and where its fittings are not so."""

_GAP: Final = WRITTEN + GAP_RESOLUTION
"""How far a gap in a plan file may be from the one that is measured afresh [mm]."""


def every_candidate(run: PlannedRun) -> Collection[int]:
    """Return the ranks of all candidates of a run."""
    return range(1, len(run.candidates) + 1)


def chosen_candidate(run: PlannedRun) -> Collection[int]:
    """Return the rank of the chosen candidate, or of the first, which says its ports."""
    return (run.chosen or 1,) if run.candidates else ()


def judged_afresh(
    runs: Sequence[PlannedRun], scene: Scene, *, used: Used, file: str
) -> tuple[PlannedRun, ...]:
    """Return the runs of a plan, the candidates that are used judged against the scene.

    Where two things are equally near to a tube, the one that is measured afresh takes
    the place of the one that stood there. Candidates that are not used stay unjudged;
    tubes as built are judged always.

    Raises
    ------
    PlanError
        With a line for everything that disagrees: run, candidate, key, what stands there
        and what is right.
    """
    requests = requests_of(scene)
    routed = as_routed(scene)
    faults: list[Finding] = []
    found: list[PlannedRun] = []
    for place, run in enumerate(runs):
        court = _Court(routed, requests[run.name])
        candidates = list(run.candidates)
        for rank in used(run):
            candidate, wrong = court.judged(candidates[rank - 1])
            candidates[rank - 1] = candidate
            here = ("runs", place, "candidates", rank - 1)
            faults += _of_run(run, wrong, here)
        built = run.built
        if built is not None:
            built, wrong = court.judged_built(run, built)
            faults += _of_run(run, wrong, ("runs", place, "built"))
        found.append(replace(run, candidates=tuple(candidates), built=built))
    raise_any(faults, file=file)
    return tuple(found)


def built_afresh(
    run: PlannedRun, tube: Candidate, scene: Scene, *, file: str, path: KeyPath
) -> Candidate:
    """Return a built tube of a run as it lies in a scene that may have changed since.

    Parameters
    ----------
    run : PlannedRun
        As it stands in the file.
    tube : Candidate
        The built tube; its gap is measured.
    scene : Scene
        One that has the run.
    path : KeyPath
        Where the built tube stands in the file.

    Raises
    ------
    PlanError
        If the scene does not offer it its ports and fittings any more.
    """
    court = _Court(as_routed(scene), requests_of(scene)[run.name])
    unmeasured = replace(tube.gap, distance=math.nan)
    built, wrong = court.judged_built(run, replace(tube, gap=unmeasured))
    raise_any(_of_run(run, wrong, path), file=file)
    return built


def _of_run(
    run: PlannedRun, wrong: Iterable[Finding], path: KeyPath
) -> Iterator[Finding]:
    """Yield findings below a place in the file, with the name of their run."""
    for one in wrong:
        yield replace(one, wanted=f"{one.wanted} (run {run.name!r})").below(path)


class _Court:
    """Judges candidates of one run; what they have in common is laid out once."""

    def __init__(self, scene: Scene, request: RunRequest) -> None:
        """Make the court of a run in a scene as it is routed."""
        self._scene = scene
        self._lengths = lengths_for(scene.units)
        self._request = request
        self._around = cache(
            lambda ports: obstacles_of_run(scene, with_ports(request, ports))
        )
        self._choices = cache(self._choices_at)
        self._judges: dict[tuple[tuple[EndFitting, ...], float], Judge] = {}

    def judged(self, candidate: Candidate) -> tuple[Candidate, list[Finding]]:
        """Return a candidate as it is measured afresh, and where its file disagrees."""
        faults = [*self._port_faults(candidate), *self._figure_faults(candidate)]
        if faults:
            return candidate, faults
        choices, wrong = self._choices(candidate.ends)
        if len(choices) != 2:
            return candidate, wrong
        first, last = choices
        lengths = self._lengths
        faults = [*wrong, *_seat_faults(candidate, choices, lengths)]
        judge = self._judge(candidate, first, last)
        verdict = judged(judge, candidate.centreline)
        broken = [*verdict.faults, *((verdict.own_way,) if verdict.own_way else ())]
        if not broken and runs_through(
            (first, last), candidate.centreline, tube_radius=self._scene.tube.radius
        ):
            broken = [Breach(rule="own fitting", at="fitting")]
        if not (faults or broken):
            line = candidate.centreline
            broken += misplaced_ends(self._scene, line, candidate.ends)
        for found, wanted in (breach_words(one, lengths) for one in broken):
            faults.append(Finding(path=("vertices",), found=found, wanted=wanted))
        if faults or verdict.gap is None:
            return candidate, faults
        return _with_gap(judge, candidate, verdict.gap, lengths)

    def judged_built(
        self, run: PlannedRun, built: Candidate
    ) -> tuple[Candidate, list[Finding]]:
        """Return a tube as built with its ends and gap as they are, and what disagrees.

        It is what it is: neither its seats nor the rules are asked of it. A gap that is
        no number was not measured yet.
        """
        told = built if built.ends else replace(built, ends=self._first_ends(run))
        faults = list(self._port_faults(told))
        if faults:
            return built, faults
        choices, wrong = self._choices(told.ends)
        if len(choices) != 2:
            return built, wrong
        first, last = choices
        judge = self._judge(told, first, last)
        fresh = gap_around(judge, built.centreline)
        said = built.gap.distance
        if abs(said - fresh.distance) > _GAP:
            exact = self._lengths.exact
            wanted = f"{exact(fresh.distance)}, to {fresh.name!r}"
            faults = [Finding(path=("gap",), found=exact(said), wanted=wanted)]
        return replace(built, gap=fresh, ends=(first.fitting, last.fitting)), faults

    def _first_ends(self, run: PlannedRun) -> tuple[EndFitting, ...]:
        """Return what holds a tube's ends where its file says nothing of them."""
        ports = [self._scene.port(name) for name in (run.from_port, run.to_port)]
        choices = (
            end_choice(self._scene, port, fitting, outlets(port, fitting)[0])
            for port in ports
            for fitting in port.fittings[:1]
        )
        return tuple(choice.fitting for choice in choices)

    def _port_faults(self, candidate: Candidate) -> Iterator[Finding]:
        """Yield where a candidate's ends are not on ports that the scene offers."""
        if len(candidate.ends) != 2:
            found = f"{len(candidate.ends)} of them"
            wanted = "two: what holds the tube's first and its other end"
            yield Finding(path=("ends",), found=found, wanted=wanted)
            return
        pairs = port_pairs(self._scene, self._request)
        first, last = (end.port for end in candidate.ends)
        offered = (
            dict.fromkeys(start for start, _ in pairs),
            dict.fromkeys(goal for start, goal in pairs if start == first) or [last],
        )
        for index, (port, ports) in enumerate(zip((first, last), offered, strict=True)):
            if port not in ports:
                wanted = _named(ports) or "no port, as other runs hold them"
                wanted = f"{wanted}, as in the scene"
                path = ("ends", index, "port")
                yield Finding(path=path, found=repr(port), wanted=wanted)

    def _figure_faults(self, candidate: Candidate) -> Iterator[Finding]:
        """Yield which figures are not those of the scene's tube and rules."""
        tube, rules, exact = self._scene.tube, self._scene.rules, self._lengths.exact
        if abs(candidate.trim_allowance - tube.trim_allowance) > WRITTEN:
            wanted = f"{exact(tube.trim_allowance)}, as in the scene"
            found = exact(candidate.trim_allowance)
            yield Finding(path=("trim_allowance",), found=found, wanted=wanted)
        if abs(candidate.take_up - tube.take_up) > WRITTEN:
            wanted = f"{tube.take_up:.4f}, as the scene's test bends say"
            found = f"{candidate.take_up:.4f}"
            yield Finding(path=("take_up",), found=found, wanted=wanted)
        if self._radius(candidate) is None:
            wanted = f"{' or '.join(map(exact, self._radii))}, as in the scene"
            found = exact(candidate.centreline.radius)
            yield Finding(path=("bend_radius",), found=found, wanted=wanted)
        is_free = (self._request.bend_angles_deg or rules.bend_angles_deg) == "any"
        if candidate.bends and is_free != bool(candidate.standard_deg):
            found = "what only free bend angles have"
            wanted = "none: the scene does not allow any bend angle"
            if is_free:
                found, wanted = "none", "one a bend: the scene allows any bend angle"
            yield Finding(path=("departures",), found=found, wanted=wanted)

    @property
    def _radii(self) -> tuple[float, ...]:
        return self._request.bend_radii or self._scene.tube.bend_radii

    def _radius(self, candidate: Candidate) -> float | None:
        """Return the scene's bend radius that a candidate has, None if it has another."""
        written = candidate.centreline.radius
        nearest = min(self._radii, key=lambda radius: abs(radius - written))
        return nearest if abs(nearest - written) <= WRITTEN else None

    def _choices_at(self, ends: tuple[EndFitting, ...]) -> Choices:
        """Return how a tube leaves its ports, and where its fittings are not so."""
        choices: list[EndChoice] = []
        faults: list[Finding] = []
        around = self._obstacles(ends)
        for index, end in enumerate(ends):
            path = ("ends", index, "fitting")
            port = self._scene.port(end.port)
            named = [one for one in port.fittings if one.name == end.fitting]
            if not named:
                offered = _named(one.name for one in port.fittings)
                wanted = f"{offered}, as {port.name} has it"
                faults.append(
                    Finding(path=path, found=repr(end.fitting), wanted=wanted)
                )
                continue
            fitting = named[0]
            outlet = min(
                outlets(port, fitting), key=lambda one: math.dist(one, end.outlet)
            )
            choice = end_choice(self._scene, port, fitting, outlet)
            choices.append(choice)
            faults += _fitting_faults(end, choice.fitting, index, self._lengths)
            if not has_room(self._scene, port, fitting, outlet, around):
                found = f"{end.fitting!r}, which comes too near to something there"
                wanted = "a fitting that has room"
                faults.append(Finding(path=path, found=found, wanted=wanted))
        return choices, faults

    def _obstacles(self, ends: Sequence[EndFitting]) -> tuple[Obstacle, ...]:
        """Return what the tubes between two ports keep clear of."""
        first, last = ends
        return self._around((first.port, last.port))

    def _judge(self, candidate: Candidate, first: EndChoice, last: EndChoice) -> Judge:
        """Return the judge of tubes with a candidate's ends and bend radius."""
        radius = self._radius(candidate) or candidate.centreline.radius
        key = ((first.fitting, last.fitting), radius)
        if key not in self._judges:
            around = self._obstacles(candidate.ends)
            self._judges[key] = make_judge_of_written(
                problem_between(self._scene, self._request, first, last, radius, around)
            )
        return self._judges[key]


def _fitting_faults(
    end: EndFitting, right: EndFitting, index: int, lengths: Lengths
) -> Iterator[Finding]:
    """Yield where a fitting does not stand as it can on its port."""
    here = ("ends", index)
    if end.is_elbow != right.is_elbow:
        found, wanted = (str(one.is_elbow).lower() for one in (end, right))
        yield Finding(path=(*here, "elbow"), found=found, wanted=wanted)
    for key, said, given, words in (
        ("outlet", end.outlet, right.outlet, direction),
        ("mouth", end.mouth, right.mouth, lengths.place),
    ):
        if math.dist(said, given) > WRITTEN:
            wanted = f"{words(given)}, as {end.fitting!r} stands on {end.port}"
            yield Finding(path=(*here, key), found=words(said), wanted=wanted)


def _seat_faults(
    candidate: Candidate, choices: Sequence[EndChoice], lengths: Lengths
) -> Iterator[Finding]:
    """Yield where a tube does not sit in its fittings."""
    vertices = candidate.centreline.vertices
    for choice, end in zip(choices, (0, len(vertices) - 1), strict=True):
        if math.dist(vertices[end], choice.end.seat) > CLOSURE:
            place = f"in {choice.fitting.fitting!r} on {choice.fitting.port}"
            wanted = f"{lengths.place(choice.end.seat)}, where the tube sits {place}"
            found = lengths.place(vertices[end])
            yield Finding(path=("vertices", end), found=found, wanted=wanted)


def _with_gap(
    judge: Judge, candidate: Candidate, fresh: Gap, lengths: Lengths
) -> tuple[Candidate, list[Finding]]:
    """Return a candidate with its gap as it is measured, and where its file disagrees."""
    said = candidate.gap
    path: KeyPath = ("gap",)
    if abs(said.distance - fresh.distance) > _GAP:
        found = lengths.exact(said.distance)
        wanted = f"{lengths.exact(fresh.distance)}, to {fresh.name!r}"
    elif said.name == fresh.name and math.dist(said.at, fresh.at) <= WRITTEN:
        return candidate, []
    elif _is_as_near(judge, candidate, fresh):
        return replace(candidate, gap=fresh), []
    elif said.name != fresh.name:
        path, found, wanted = ("nearest", "name"), repr(said.name), repr(fresh.name)
    else:
        path, found = ("nearest", "at"), lengths.place(said.at)
        wanted = lengths.place(fresh.at)
    return candidate, [Finding(path=path, found=found, wanted=wanted)]


def _is_as_near(judge: Judge, candidate: Candidate, fresh: Gap) -> bool:
    """Return whether what a candidate says is nearest is so, beside what was found."""
    said = candidate.gap
    solids = [one.solid for one in judge.around.obstacles if one.name == said.name]
    here = Obstacle(
        name="here", solid=Cylinder(frame=Frame(origin=said.at), diameter=0, height=0)
    )
    off_line = least_gap(candidate.centreline, [here], tube_radius=0.0).distance
    apart = [
        float(signed_distance(solid, points_array((said.at,)))[0]) for solid in solids
    ]
    least = fresh.distance + judge.problem.tube_radius
    return off_line <= _GAP and any(abs(one - least) <= _GAP for one in apart)


def _named(names: Iterable[str]) -> str:
    return " or ".join(repr(name) for name in names)
