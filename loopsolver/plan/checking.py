"""Whether a plan file holds what it says, fault by fault."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError

from loopsolver.errors import GeometryError, PlanError
from loopsolver.letters import visible
from loopsolver.plan.document import (
    CandidateDocument,
    PlanDocument,
    RunDocument,
    wanted_at,
)
from loopsolver.plan.record import candidate_of, figures
from loopsolver.scene.circuit import possible_runs
from loopsolver.scene.model import Scene
from loopsolver.tolerances import WRITTEN
from loopsolver.tube.centreline import straights

_LONGEST_FOUND = 60
"""Longer values are cut in messages: a message is for reading [characters]."""

Location = tuple[int | str, ...]
Fault = tuple[Location, str, str]
"""Where, what was found, what is wanted."""


def parsed(content: bytes, *, file: str) -> PlanDocument:
    """Return the document in a plan file's bytes, its own figures checked.

    Raises
    ------
    PlanError
        With a line for every fault: file, key, what was found, what is wanted.
    """
    plain = _plain(content, file=file)
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
    _raise_any(_faults_inside(document), file=file)
    return document


def check_against_scene(document: PlanDocument, scene: Scene, *, file: str) -> None:
    """Do nothing where every run of the plan is one of the scene's; raise otherwise.

    Raises
    ------
    PlanError
        With a line for every fault.
    """
    _raise_any(_faults_against(document, scene), file=file)


def _plain(content: bytes, *, file: str) -> Any:
    """Return the JSON values of a file that has the marks of a plan."""
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


def _faults_inside(document: PlanDocument) -> Iterator[Fault]:
    """Yield what the plan file says that its own vertices do not bear out."""
    names: set[str] = set()
    for place, run in enumerate(document.runs):
        here = ("runs", place)
        if run.name in names:
            yield (*here, "name"), repr(run.name), "a name that no run before it has"
        names.add(run.name)
        yield from _choice_faults(run, here)
        for index, candidate in enumerate(run.candidates):
            where = (*here, "candidates", index)
            if candidate.rank != index + 1:
                yield (*where, "rank"), str(candidate.rank), f"{index + 1}, its place"
            yield from _candidate_faults(candidate, where)


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


def _candidate_faults(document: CandidateDocument, here: Location) -> Iterator[Fault]:
    candidate = candidate_of(document)
    try:
        shortest = min(straights(candidate.centreline))
        expected = figures(candidate)
    except GeometryError as error:
        yield (*here, "vertices"), "what no tube can follow", str(error)
        return
    if shortest < -WRITTEN:
        found = f"a leg {-shortest:.6g} mm too short for its bends"
        radius = f"bends of radius {document.bend_radius:.6g} mm"
        yield (*here, "vertices"), found, f"legs that leave room for {radius}"
        return
    said = document.model_dump(by_alias=True, exclude_none=True)
    wanted_rows, found_rows = expected.pop("bend_table"), said["bend_table"]
    for key, value in expected.items():
        yield from _difference(said[key], value, (*here, key))
    if len(found_rows) != len(wanted_rows):
        found, wanted = f"{len(found_rows)} rows", f"{len(wanted_rows)}, one a bend and"
        yield (*here, "bend_table"), found, f"{wanted} the closing straight"
        return
    for index, (row, wanted_row) in enumerate(
        zip(found_rows, wanted_rows, strict=True)
    ):
        for key in sorted(row.keys() | wanted_row.keys()):
            yield from _difference(
                row.get(key), wanted_row.get(key), (*here, "bend_table", index, key)
            )


def _difference(
    found: float | None, wanted: float | None, where: Location
) -> Iterator[Fault]:
    """Yield a fault where a figure is not the one that the vertices give."""
    if found is None:
        yield where, "nothing", f"{wanted}, as the vertices give"
        return
    if wanted is None:
        yield where, str(found), "nothing: the last row is the closing straight alone"
        return
    apart = abs(found - wanted)
    if where[-1] == "rotation":
        apart = min(apart, abs(360.0 - apart))
    if apart > WRITTEN:
        yield where, str(found), f"{wanted}, as the vertices give"


def _faults_against(document: PlanDocument, scene: Scene) -> Iterator[Fault]:
    requests = {run.name: run for run in (*scene.runs, *possible_runs(scene))}
    listed = ", ".join(repr(name) for name in requests) or "none"
    for place, run in enumerate(document.runs):
        here = ("runs", place)
        request = requests.get(run.name)
        if request is None:
            wanted = f"a run of the scene: {listed}"
            yield (*here, "name"), repr(run.name), wanted
            continue
        for key, port, ports in (
            ("from", run.from_port, request.from_ports),
            ("to", run.to_port, request.to_ports),
        ):
            if port not in ports:
                yield (*here, key), repr(port), f"{' or '.join(ports)}, as in the scene"


def _raise_any(faults: Iterator[Fault], *, file: str) -> None:
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
