"""Whether a plan file holds what it says, fault by fault."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from types import MappingProxyType
from typing import Any, Final

from pydantic import ValidationError

from loopsolver.errors import PlanError
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.letters import visible
from loopsolver.plan.document import (
    CandidateDocument,
    PlanDocument,
    RunDocument,
    TubeDocument,
    wanted_at,
)
from loopsolver.plan.fault_words import breach_words, figure, total_words
from loopsolver.plan.ranking import RANKINGS
from loopsolver.plan.record import (
    built_of,
    candidate_document,
    candidate_of,
    is_total,
    table_rows,
    total_of,
)
from loopsolver.routing.problem import Candidate
from loopsolver.routing.rules import drawn, unbendable
from loopsolver.scene.circuit import possible_runs
from loopsolver.scene.findings import Finding
from loopsolver.scene.lines import KeyPath
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.tolerances import NO_ROUNDING, WRITTEN
from loopsolver.tube.centreline import Centreline
from loopsolver.words import quoted

_LONGEST_FOUND: Final = 60
"""Longer values are cut in messages: a message is for reading [characters]."""

_LISTS: Final = MappingProxyType(
    {
        "departures": ("of them", "one a bend"),
        "bend_table": ("rows", "one a bend and the closing straight"),
    }
)
"""Lists of a candidate's figures: what is counted, and how many there should be."""


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
    except ValueError as error:  # json reads a whole number of 4300 digits at most
        msg = f"{file}: found a number of too many digits; wanted a plan file"
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


def parsed(plain: Any, *, file: str) -> PlanDocument:
    """Return the document in a plan file's JSON values.

    Raises
    ------
    PlanError
        With a line for every fault: file, key, what was found, what is wanted.
    """
    try:
        return PlanDocument.model_validate_json(json.dumps(plain))
    except ValidationError as error:
        shapeless = [
            Finding(
                path=one["loc"],
                found="nothing" if one["type"] == "missing" else _shown(one["input"]),
                wanted=wanted_at(one["loc"]),
            )
            for one in error.errors(include_url=False)
        ]
        raise _plan_error(shapeless, file=file) from None


def faults_inside(document: PlanDocument, lengths: Lengths) -> Iterator[Finding]:
    """Yield what the plan file says that its own vertices do not bear out."""
    names = [run.name for run in document.runs]
    by = document.loop.by if document.loop is not None else ""
    for place, run in enumerate(document.runs):
        if run.name in names[:place]:
            path, wanted = ("runs", place, "name"), "a name that no run before it has"
            yield Finding(path=path, found=repr(run.name), wanted=wanted)
        wrong = [
            one.below(("candidates", index))
            for index, candidate in enumerate(run.candidates)
            for one in _candidate_faults(candidate, index + 1, lengths)
        ]
        order = () if wrong or by not in RANKINGS else _order_faults(run, by=by)
        built = _built_faults(run, lengths)
        for one in (*_choice_faults(run), *wrong, *order, *built):
            yield one.below(("runs", place))


def _choice_faults(run: RunDocument) -> Iterator[Finding]:
    """Yield where the chosen rank of a run does not go with its candidates."""
    count, chosen = len(run.candidates), run.chosen
    found = "null" if chosen is None else str(chosen)
    is_right = run.why if chosen is None else 1 <= chosen <= count
    if count and not is_right:
        wanted = f"the rank of a candidate, 1 to {count}"
        yield Finding(path=("chosen",), found=found, wanted=wanted)
    if not count and chosen is not None:
        wanted = "null, for a run without candidates"
        yield Finding(path=("chosen",), found=found, wanted=wanted)
    if not count and not run.why:
        wanted = "the reason why there is no route"
        yield Finding(path=("why",), found="nothing", wanted=wanted)


def _candidate_faults(
    document: CandidateDocument, place: int, lengths: Lengths
) -> Iterator[Finding]:
    """Yield which figures of a candidate are not those of its place and vertices."""
    if document.rank != place:
        wanted = f"{place}, its place"
        yield Finding(path=("rank",), found=str(document.rank), wanted=wanted)
    candidate = candidate_of(document)
    shapeless = _shape_faults(candidate.centreline, lengths)
    if shapeless:
        yield from shapeless
        return
    said = document.model_dump(by_alias=True)
    given = candidate_document(candidate, rank=place).told()
    if said["elbows"] != given["elbows"]:
        wanted = f"{given['elbows']}, as its ends give"
        yield Finding(path=("elbows",), found=str(said["elbows"]), wanted=wanted)
    for key in ("departures", "bends", "planes", "length", "blank", "bend_table"):
        yield from _differences(said.get(key, ()), given.get(key, []), (key,), lengths)


def _shape_faults(line: Centreline, lengths: Lengths) -> list[Finding]:
    """Return why vertices make no tube; nothing where they do."""
    tube = drawn(line)
    shapeless = [breach_words(one, lengths) for one in unbendable(tube)]
    shortest = min(tube.straights.tolist())
    if not shapeless and shortest < -WRITTEN:
        radius = f"bends of radius {lengths.exact(line.radius)}"
        found = f"a leg {lengths.exact(-shortest)} too short for its bends"
        shapeless = [(found, f"legs that leave room for {radius}")]
    return [
        Finding(path=("vertices",), found=found, wanted=wanted)
        for found, wanted in shapeless
    ]


def _built_faults(run: RunDocument, lengths: Lengths) -> Iterator[Finding]:
    """Yield where the table of a built tube is not that of its vertices."""
    document, built = run.built, built_of(run)
    if document is None or built is None:
        return
    if math.isnan(built.centreline.radius):
        wanted = "the radius of its bends, as the run has no candidate to tell it"
        yield Finding(path=("built", "bend_radius"), found="nothing", wanted=wanted)
        return
    faults = _shape_faults(built.centreline, lengths)
    if not faults:
        rows = document.model_dump(by_alias=True)["bend_table"]
        given = [row.told() for row in table_rows(built.table)]
        faults = list(_differences(rows, given, ("bend_table",), lengths))
    yield from (one.below(("built",)) for one in faults)


def _differences(
    said: Any, given: Any, path: KeyPath, lengths: Lengths
) -> Iterator[Finding]:
    """Yield where figures are not those that the vertices give, down to each number."""
    if isinstance(given, dict):
        for key in sorted(said.keys() | given.keys()):
            yield from _differences(
                said.get(key), given.get(key), (*path, key), lengths
            )
    elif not isinstance(given, list):
        yield from _difference(said, given, path, lengths)
    elif len(said) == len(given):
        for index, pair in enumerate(zip(said, given, strict=True)):
            yield from _differences(*pair, (*path, index), lengths)
    else:
        counted, each = _LISTS[str(path[-1])]
        found, wanted = f"{len(said)} {counted}", f"{len(given)}, {each}"
        yield Finding(path=path, found=found, wanted=wanted)


def _difference(
    said: float | None, given: float | None, path: KeyPath, lengths: Lengths
) -> Iterator[Finding]:
    """Yield a finding where a figure is not the one that the vertices give."""
    key = next(part for part in reversed(path) if isinstance(part, str))
    if said is not None and given is not None:
        apart = abs(said - given)
        if key == "rotation":
            apart = min(apart, abs(360.0 - apart))
        if apart <= WRITTEN:
            return
    found = "nothing" if said is None else figure(key, said, lengths)
    wanted = "nothing: the last row is the closing straight alone"
    if given is not None:
        wanted = f"{figure(key, given, lengths)}, as the vertices give"
    yield Finding(path=path, found=found, wanted=wanted)


def _order_faults(run: RunDocument, *, by: str) -> Iterator[Finding]:
    """Yield which candidates have the rank of a worse one, as far as the file says."""
    keys = [_order_key(candidate_of(one), by) for one in run.candidates]
    for index, (better, worse) in enumerate(pairwise(keys), start=1):
        if _is_after(better, worse):
            path = ("candidates", index, "rank")
            wanted = f"{index}: by {by} it goes before that one"
            yield Finding(path=path, found=str(index + 1), wanted=wanted)


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


def loop_faults(document: PlanDocument, lengths: Lengths) -> Iterator[Finding]:
    """Yield where the loop's total is wrong in a plan that was edited by hand.

    Where nothing else was changed, a total of other choices says that they were; in a
    file without a sum nobody knows.
    """
    loop = document.loop
    if loop is None or document.sum is None:
        return
    if loop.by not in RANKINGS:
        wanted = f"one of {', '.join(RANKINGS)}"
        yield Finding(path=("loop", "by"), found=repr(loop.by), wanted=wanted)
        return
    total = total_of(document, by=loop.by)
    if not is_total(loop.total, total):
        found = total_words(loop.total, loop.by, lengths)
        right = total_words(total, loop.by, lengths)
        wanted = f"{right}, as the chosen candidates give"
        yield Finding(path=("loop", "total"), found=found, wanted=wanted)


def faults_against(document: PlanDocument, scene: Scene) -> Iterator[Finding]:
    """Yield what of a plan is not as its scene has it, candidates left out."""
    tube = TubeDocument.model_validate(scene.tube)
    exact = lengths_for(scene.units).exact
    for path, found, wanted in (
        (("title",), document.title or scene.title, scene.title),
        *((("tube", key), getattr(document.tube, key), value) for key, value in tube),
        (("clearance",), document.clearance, scene.rules.clearance),
    ):
        if isinstance(wanted, str):
            is_so, told, right = found == wanted, repr(found), repr(wanted)
        else:
            is_so = abs(found - wanted) <= WRITTEN
            told, right = exact(found), exact(wanted)
        if not is_so:
            yield Finding(path=path, found=told, wanted=f"{right}, as in the scene")
    yield from _run_faults(document, scene)


def _run_faults(document: PlanDocument, scene: Scene) -> Iterator[Finding]:
    """Yield which runs the scene has not, or not in this order or between these ports."""
    requests = requests_of(scene)
    turns = {run.name: turn for turn, run in enumerate(scene.runs)}
    for place, (before, run) in enumerate(pairwise(document.runs), start=1):
        if turns.get(run.name, math.inf) < turns.get(before.name, -math.inf):
            path = ("runs", place, "name")
            wanted = f"it before {before.name!r}, as in the scene"
            yield Finding(path=path, found=repr(run.name), wanted=wanted)
    for place, run in enumerate(document.runs):
        request = requests.get(run.name)
        if request is None:
            wanted = f"a run of the scene: {quoted(requests) or 'none'}"
            path = ("runs", place, "name")
            yield Finding(path=path, found=repr(run.name), wanted=wanted)
            continue
        is_first_port = not run.candidates and request in scene.runs
        for key, port, ports in (
            ("from", run.from_port, request.from_ports),
            ("to", run.to_port, request.to_ports),
        ):
            wanted = f"{' or '.join(ports)}, as in the scene"
            if port in ports and is_first_port:
                wanted = f"{ports[0]}, the first in the scene"
            if port not in (ports[:1] if is_first_port else ports):
                yield Finding(
                    path=("runs", place, key), found=repr(port), wanted=wanted
                )


def requests_of(scene: Scene) -> dict[str, RunRequest]:
    """Return what a plan of the scene may hold as runs, by name."""
    return {run.name: run for run in (*possible_runs(scene), *scene.runs)}


def port_faults(document: PlanDocument) -> Iterator[Finding]:
    """Yield which runs join other ports than their candidates, known to be right."""
    for place, run in enumerate(document.runs):
        for key, port, end in (("from", run.from_port, 0), ("to", run.to_port, -1)):
            tubes = (*run.candidates, *((run.built,) if run.built else ()))
            ports = (one.ends[end].port for one in tubes if one.ends)
            own = tuple(dict.fromkeys(ports))
            if own and port not in own:
                path, wanted = ("runs", place, key), " or ".join(own)
                wanted = f"{wanted}, as its tubes have it"
                yield Finding(path=path, found=repr(port), wanted=wanted)


def raise_any(findings: Iterable[Finding], *, file: str) -> None:
    """Do nothing where nothing was found.

    Raises
    ------
    PlanError
        With a line for everything that was.
    """
    listed = list(findings)
    if listed:
        raise _plan_error(listed, file=file)


def _plan_error(findings: Iterable[Finding], *, file: str) -> PlanError:
    root = "the whole file"
    faults = (one.fault(file=file, line=None, root=root) for one in findings)
    return PlanError("\n".join(map(str, faults)))


def _shown(value: Any) -> str:
    """Return a value of a plan file as it stands there, cut where it is long."""
    text = visible(json.dumps(value, ensure_ascii=False, default=str))
    return text if len(text) <= _LONGEST_FOUND else f"{text[:_LONGEST_FOUND]}..."
