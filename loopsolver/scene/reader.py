"""Scene files: TOML in, a Scene out, or every fault of the file at once.

Key paths in messages are written as in the file, array elements counted from 1:
``components.pump.ports.out.direction``, ``runs[2].from``, ``case.inner[3]``.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopsolver.errors import Fault, SceneError
from loopsolver.letters import visible
from loopsolver.scene.findings import Finding
from loopsolver.scene.lines import KeyPath, key_lines, line_of, written_path
from loopsolver.scene.model import Readings, Scene
from loopsolver.scene.source import parse_toml, read_source

if TYPE_CHECKING:
    from pydantic import ValidationError

    from loopsolver.units import LengthUnit


def load_scene(path: Path | str) -> Scene:
    """Return the scene in a file.

    Parameters
    ----------
    path : Path or str
        A TOML text in UTF-8 of at most `limits.FILE_BYTES`.

    Raises
    ------
    SceneError
        With every fault of the file: its place, what was found, what is wanted.
    """
    text, sha256 = read_source(Path(path), file=str(path))
    return _scene(text, file=str(path), sha256=sha256)


def scene_from_text(text: str, *, file: str) -> Scene:
    """Return the scene in a text; `file` is the path that messages name.

    Raises
    ------
    SceneError
        With every fault of the text: its place, what was found, what is wanted.
    """
    sha256 = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
    return _scene(text, file=file, sha256=sha256)


def _scene(text: str, *, file: str, sha256: str) -> Scene:
    # pydantic is heavy: whoever only imports loopsolver does not wait for it
    from pydantic import ValidationError

    from loopsolver.scene.build import build_scene
    from loopsolver.scene.parts import with_parts
    from loopsolver.scene.references import ports_by_component
    from loopsolver.scene.schema import SceneFile, reading_for
    from loopsolver.scene.settling import settled_places

    data = parse_toml(text, file=file)
    reading = reading_for(data)
    data = with_parts(data, reading)
    findings = [*_findings_between(data, unit=reading.unit)]
    try:
        tables = SceneFile.model_validate(data, context=reading)
    except ValidationError as error:
        findings += _findings_in(error)
    if findings:
        raise SceneError(_faults(findings, text, file=file))
    places = settled_places(tables, reading)
    if isinstance(places, list):
        raise SceneError(_faults(places, text, file=file))
    return build_scene(
        tables,
        file_name=Path(file).name,
        sha256=sha256,
        default_title=visible(Path(file).stem),
        places=places,
        ports=ports_by_component(data),
        readings=tuple(_readings(tables)),
    )


def _findings_between(
    data: dict[str, Any], *, unit: LengthUnit | None
) -> Iterator[Finding]:
    """Yield what no table shows by itself: names that lead nowhere, axes that clash."""
    from loopsolver.scene.handedness import axes_findings
    from loopsolver.scene.loop_references import loop_findings
    from loopsolver.scene.point_names import (
        opening_findings,
        placing_findings,
        reading_findings,
    )
    from loopsolver.scene.references import reference_findings

    yield from reference_findings(data)
    yield from placing_findings(data)
    yield from reading_findings(data)
    yield from opening_findings(data)
    yield from loop_findings(data)
    yield from axes_findings(data, unit=unit)


def _findings_in(error: ValidationError) -> Iterator[Finding]:
    """Return the findings that the tables of the file raised."""
    for detail in error.errors(include_url=False):
        for finding in detail["ctx"]["findings"]:
            yield finding.below(detail["loc"])


def _faults(findings: Iterable[Finding], text: str, *, file: str) -> tuple[Fault, ...]:
    """Return findings with their lines, in the order of the file."""
    lines = key_lines(text)
    faults = (
        finding.fault(file=file, line=line_of(lines, finding.path))
        for finding in dict.fromkeys(findings)
    )
    return tuple(sorted(faults, key=lambda fault: (fault.line or 0, fault.key_path)))


def _readings(tables: Any, path: KeyPath = ()) -> Iterator[Readings]:
    """Return every measurement that was taken more than once."""
    from loopsolver.scene.quantities import Measured
    from loopsolver.scene.toml_table import Table

    children: Iterable[tuple[str | int, Any]] = ()
    match tables:
        case Measured(values=values) if len(values) > 1:
            yield Readings(where=written_path(path), values=values)
        case Table() | dict():
            children = tables.items()
        case list():
            children = enumerate(tables)
    for key, child in children:
        yield from _readings(child, (*path, key))
