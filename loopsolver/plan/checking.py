"""Whether a plan file holds what it says, fault by fault."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from pydantic import ValidationError

from loopsolver.errors import PlanError
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.letters import visible
from loopsolver.plan.document import (
    CandidateDocument,
    PlanDocument,
    RunDocument,
    wanted_at,
)
from loopsolver.plan.fault_words import breach_words, figure, total_words
from loopsolver.plan.ranking import RANKINGS
from loopsolver.plan.record import (
    candidate_of,
    figures,
    is_total,
    rounded,
    total_of,
)
from loopsolver.routing.problem import Candidate
from loopsolver.routing.rules import drawn, unbendable
from loopsolver.scene.circuit import possible_runs
from loopsolver.scene.model import Scene
from loopsolver.tolerances import NO_ROUNDING, WRITTEN
from loopsolver.words import quoted

_LONGEST_FOUND = 60
"""Longer values are cut in messages: a message is for reading [characters]."""

Location = tuple[int | str, ...]
Fault = tuple[Location, str, str]
"""Where, what was found, what is wanted."""


def parsed(plain: Any, *, file: str) -> PlanDocument:
    """Return the document in a plan file's JSON values.

    Raises
    ------
    PlanError
        With a line for every fault: file, key, what was found, what is wanted.
    """
    try:
        document = PlanDocument.model_validate_json(json.dumps(plain))
    except ValidationError as error:
        faults = [
            (
                one["loc"],
                "nothing" if one["type"] == "missing" else _found(one["input"]),
                wanted_at(one["loc"]),
            )
            for one in error.errors(include_url=False)
        ]
        raise PlanError(_told(faults, file=file)) from None
    return document


def check_inside(document: PlanDocument, lengths: Lengths, *, file: str) -> None:
    """Do nothing where a plan's figures are those of its own vertices; raise otherwise.

    Raises
    ------
    PlanError
        With a line for every fault.
    """
    raise_any(_faults_inside(document, lengths), file=file)


def check_against_scene(document: PlanDocument, scene: Scene, *, file: str) -> None:
    """Do nothing where every run of the plan is one of the scene's; raise otherwise.

    Raises
    ------
    PlanError
        With a line for every fault.
    """
    raise_any(_faults_against(document, scene), file=file)


def check_edited(document: PlanDocument, lengths: Lengths, *, file: str) -> None:
    """Do nothing where the loop's total is right in a plan that was edited by hand.

    Where nothing else was changed, a total of other choices says that they were; in a
    file without a sum nobody knows.

    Raises
    ------
    PlanError
        If it is not what the chosen candidates add up to.
    """
    raise_any(_loop_faults(document, lengths), file=file)


def _loop_faults(document: PlanDocument, lengths: Lengths) -> Iterator[Fault]:
    loop = document.loop
    if loop is None or document.sum is None:
        return
    if loop.by not in RANKINGS:
        yield ("loop", "by"), repr(loop.by), f"one of {', '.join(RANKINGS)}"
        return
    total = total_of(document, by=loop.by)
    if not is_total(loop.total, total):
        found, wanted = (
            total_words(one, loop.by, lengths) for one in (loop.total, total)
        )
        yield ("loop", "total"), found, f"{wanted}, as the chosen candidates give"


def plain_values(content: bytes, *, file: str) -> dict[str, Any]:
    """Return the JSON values of a file that has the marks of a plan.

    Raises
    ------
    PlanError
        If it has not.
    """
    try:
        plain = json.loads(content)
    except UnicodeDecodeError as error:
        msg = f"{file}: found bytes that are not UTF-8 text; wanted a plan file"
        raise PlanError(msg) from error
    except json.JSONDecodeError as error:
        msg = (
            f"{file}:{error.lineno}: found what is not JSON, at column {error.colno} "
            f"({error.msg}); wanted a plan written by loopsolver route"
        )
        raise PlanError(msg) from error
    except RecursionError as error:
        msg = f"{file}: found lists nested too deep; wanted a plan file"
        raise PlanError(msg) from error
    if not isinstance(plain, dict) or "loopsolver" not in plain:
        msg = f"{file}: found JSON that is no plan; wanted one that `route` wrote"
        raise PlanError(msg)
    version = plain.get("format")
    if isinstance(version, int) and version > 1:
        msg = (
            f"{file}: format: found {version}, of a newer loopsolver "
            f"({plain['loopsolver']}); wanted 1: update loopsolver, or route again"
        )
        raise PlanError(msg)
    return plain


def _faults_inside(document: PlanDocument, lengths: Lengths) -> Iterator[Fault]:
    """Yield what the plan file says that its own vertices do not bear out."""
    names: set[str] = set()
    for place, run in enumerate(document.runs):
        here = ("runs", place)
        if run.name in names:
            yield (*here, "name"), repr(run.name), "a name that no run before it has"
        names.add(run.name)
        yield from _choice_faults(run, here)
        faults = [
            fault
            for index, candidate in enumerate(run.candidates)
            for fault in _candidate_faults(
                candidate, (*here, "candidates", index), lengths
            )
        ]
        yield from faults
        if document.loop is not None and not faults:
            yield from _order_faults(run, here, by=document.loop.by)


def _choice_faults(run: RunDocument, here: Location) -> Iterator[Fault]:
    count = len(run.candidates)
    if count and run.chosen is None and not run.why:
        yield (*here, "chosen"), "null", f"the rank of a candidate, 1 to {count}"
    if count and run.chosen is not None and not 1 <= run.chosen <= count:
        wanted = f"the rank of a candidate, 1 to {count}"
        yield (*here, "chosen"), str(run.chosen), wanted
    if not count and run.chosen is not None:
        yield (*here, "chosen"), str(run.chosen), "null, for a run without candidates"
    if not count and not run.why:
        yield (*here, "why"), "nothing", "the reason why there is no route"


def _candidate_faults(
    document: CandidateDocument, here: Location, lengths: Lengths
) -> Iterator[Fault]:
    place = int(here[-1]) + 1
    if document.rank != place:
        yield (*here, "rank"), str(document.rank), f"{place}, its place"
    candidate = candidate_of(document)
    tube = drawn(candidate.centreline)
    impossible = unbendable(tube)
    if impossible:
        for one in impossible:
            yield (*here, "vertices"), *breach_words(one, lengths)
        return
    shortest = float(tube.straights.min())
    if shortest < -WRITTEN:
        found = f"a leg {lengths.exact(-shortest)} too short for its bends"
        radius = f"bends of radius {lengths.exact(document.bend_radius)}"
        yield (*here, "vertices"), found, f"legs that leave room for {radius}"
        return
    yield from _elbow_faults(document, candidate, here, lengths)
    said = document.model_dump(by_alias=True, exclude_none=True)
    expected = figures(candidate)
    wanted_rows, found_rows = expected.pop("bend_table"), said["bend_table"]
    for key, value in expected.items():
        yield from _difference(said[key], value, (*here, key), lengths)
    if len(found_rows) != len(wanted_rows):
        found, wanted = f"{len(found_rows)} rows", f"{len(wanted_rows)}, one a bend and"
        yield (*here, "bend_table"), found, f"{wanted} the closing straight"
        return
    for index, (row, wanted_row) in enumerate(
        zip(found_rows, wanted_rows, strict=True)
    ):
        for key in sorted(row.keys() | wanted_row.keys()):
            place_in = (*here, "bend_table", index, key)
            yield from _difference(row.get(key), wanted_row.get(key), place_in, lengths)


def _elbow_faults(
    document: CandidateDocument,
    candidate: Candidate,
    here: Location,
    lengths: Lengths,
) -> Iterator[Fault]:
    """Yield where the elbows or departures of a candidate are counted wrong."""
    if document.elbows != candidate.elbows:
        wanted = f"{candidate.elbows}, as its ends give"
        yield (*here, "elbows"), str(document.elbows), wanted
    said, given = document.departures, candidate.departures_deg
    if len(said) != len(given):
        found, wanted = f"{len(said)} of them", f"{len(given)}, one a bend"
        yield (*here, "departures"), found, wanted
        return
    for index, (one, value) in enumerate(zip(said, given, strict=True)):
        where = (*here, "departures", index)
        yield from _difference(one, rounded(value), where, lengths)


def _order_faults(run: RunDocument, here: Location, *, by: str) -> Iterator[Fault]:
    """Yield which candidates have the rank of a worse one, as far as the file says."""
    if by not in RANKINGS:
        return
    keys = [
        _order_key(candidate, by) for candidate in map(candidate_of, run.candidates)
    ]
    for index, (better, worse) in enumerate(pairwise(keys)):
        if _is_after(better, worse):
            place = (*here, "candidates", index + 1, "rank")
            wanted = f"{index + 1}: by {by} it goes before that one"
            yield place, str(index + 2), wanted


def _order_key(candidate: Candidate, by: str) -> tuple[float, ...]:
    """Return what `ranked` sorts by, part by part."""
    vertices = candidate.centreline.vertices
    places = (value for vertex in vertices for value in vertex)
    return (*RANKINGS[by](candidate), -candidate.gap.distance, *places)


def _is_after(key: Sequence[float], other: Sequence[float]) -> bool:
    """Return whether a key is surely larger than another, whatever rounding did."""
    for one, two in zip(key, other, strict=False):
        if abs(one - two) > WRITTEN:
            return one > two
        if abs(one - two) > NO_ROUNDING:
            return False
    return False


def _difference(
    found: float | None, wanted: float | None, where: Location, lengths: Lengths
) -> Iterator[Fault]:
    """Yield a fault where a figure is not the one that the vertices give."""
    key = next(part for part in reversed(where) if isinstance(part, str))
    if found is not None and wanted is not None:
        apart = abs(found - wanted)
        if key == "rotation":
            apart = min(apart, abs(360.0 - apart))
        if apart <= WRITTEN:
            return
    words = "nothing" if found is None else figure(key, found, lengths)
    right = "nothing: the last row is the closing straight alone"
    if wanted is not None:
        right = f"{figure(key, wanted, lengths)}, as the vertices give"
    yield where, words, right


def _faults_against(document: PlanDocument, scene: Scene) -> Iterator[Fault]:
    tube, exact = scene.tube, lengths_for(scene.units).exact
    for where, found, wanted in (
        (("title",), document.title or scene.title, scene.title),
        (("tube", "material"), document.tube.material, tube.material),
    ):
        if found != wanted:
            yield where, repr(found), f"{wanted!r}, as in the scene"
    for where, size, right in (
        (("tube", "outer_diameter"), document.tube.outer_diameter, tube.outer_diameter),
        (("tube", "inner_diameter"), document.tube.inner_diameter, tube.inner_diameter),
        (("tube", "stock_length"), document.tube.stock_length, tube.stock_length),
        (("clearance",), document.clearance, scene.rules.clearance),
    ):
        if abs(size - right) > WRITTEN:
            yield where, exact(size), f"{exact(right)}, as in the scene"
    yield from _run_faults(document, scene)


def _run_faults(document: PlanDocument, scene: Scene) -> Iterator[Fault]:
    """Yield which runs the scene has not, or not between these ports."""
    requests = {run.name: run for run in (*possible_runs(scene), *scene.runs)}
    there_are = quoted(requests) or "none"
    turns = {run.name: turn for turn, run in enumerate(scene.runs)}
    for before, run in pairwise(document.runs):
        if turns.get(run.name, math.inf) < turns.get(before.name, -math.inf):
            where = ("runs", document.runs.index(run), "name")
            yield where, repr(run.name), f"it before {before.name!r}, as in the scene"
    for place, run in enumerate(document.runs):
        here = ("runs", place)
        request = requests.get(run.name)
        if request is None:
            wanted = f"a run of the scene: {there_are}"
            yield (*here, "name"), repr(run.name), wanted
            continue
        for key, port, ports in (
            ("from", run.from_port, request.from_ports),
            ("to", run.to_port, request.to_ports),
        ):
            if port not in ports:
                yield (*here, key), repr(port), f"{' or '.join(ports)}, as in the scene"
            elif not run.candidates and request in scene.runs and port != ports[0]:
                wanted = f"{ports[0]}, the first in the scene"
                yield (*here, key), repr(port), wanted


def check_ports(document: PlanDocument, *, file: str) -> None:
    """Do nothing where every run joins ports that one of its candidates joins.

    Asked when the candidates are known to be right.

    Raises
    ------
    PlanError
        With a line for every fault.
    """
    raise_any(
        (
            (
                ("runs", place, key),
                repr(port),
                f"{' or '.join(own)}, as its tubes have it",
            )
            for place, run in enumerate(document.runs)
            for key, port, end in (("from", run.from_port, 0), ("to", run.to_port, -1))
            for own in (_ports_at(run, end),)
            if own and port not in own
        ),
        file=file,
    )


def _ports_at(run: RunDocument, end: int) -> tuple[str, ...]:
    """Return the ports at one end of a run's candidates."""
    ports = (one.ends[end].port for one in run.candidates if one.ends)
    return tuple(dict.fromkeys(ports))


def raise_any(faults: Iterable[Fault], *, file: str) -> None:
    """Do nothing where there is no fault.

    Raises
    ------
    PlanError
        With a line for every fault.
    """
    listed = list(faults)
    if listed:
        raise PlanError(_told(listed, file=file))


def _told(faults: list[Fault], *, file: str) -> str:
    return "\n".join(
        f"{file}: {_dotted(where)}: found {found}; wanted {wanted}"
        for where, found, wanted in faults
    )


def _dotted(where: Location) -> str:
    """Return a place as people count: ``runs[1].candidates[2].length``, from 1."""
    text = ""
    for part in where:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
    return text.lstrip(".") or "the whole file"


def _found(value: Any) -> str:
    plain = json.dumps(value, ensure_ascii=False, default=str)
    text = visible(plain)
    if len(text) > _LONGEST_FOUND:
        return f"{text[:_LONGEST_FOUND]}..."
    return text
