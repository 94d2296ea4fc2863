"""A plan to and from its file."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopsolver.errors import OutputError, PlanError
from loopsolver.files import check_not_read, check_place, pasteable, write_whole
from loopsolver.lengths import lengths_for
from loopsolver.letters import is_visible, visible
from loopsolver.plan.model import Plan
from loopsolver.plan.record import (
    loop_document,
    loop_summary,
    planned_run,
    rounded,
    run_document,
)

if TYPE_CHECKING:
    from loopsolver.plan.document import PlanDocument
    from loopsolver.plan.judging import Used

_WIDTH = 88
"""A list or object that fits a line this wide stands on one line of the file."""


def plan_text(plan: Plan, *, scene_path: str) -> str:
    """Return the text of a plan file; `scene_path` is what stands under "scene".

    The figures are those of the rounded vertices, so that a plan that is read and
    written again gives the same text.
    """
    return _laid_out(plan_document(plan, scene_path=scene_path), indent=0) + "\n"


def plan_document(plan: Plan, *, scene_path: str) -> dict[str, Any]:
    """Return what stands in a plan file, as plain JSON values."""
    from loopsolver import __version__
    from loopsolver.plan.untold import sum_of

    scene = plan.scene
    document = {
        "format": 1,
        "loopsolver": __version__,
        "scene": scene_path,
        "scene_sha256": scene.sha256,
        "units": "mm",
        "title": scene.title,
        "tube": {
            "material": scene.tube.material,
            "outer_diameter": rounded(scene.tube.outer_diameter),
            "inner_diameter": rounded(scene.tube.inner_diameter),
            "stock_length": rounded(scene.tube.stock_length),
        },
        "clearance": rounded(scene.rules.clearance),
        **loop_document(plan.loop),
        "runs": [run_document(run) for run in plan.runs],
    }
    return {**document, "sum": sum_of(document)}


def write_plan(plan: Plan, path: Path, *, scene_path: Path, force: bool) -> None:
    """Write a plan file, whole or not at all.

    Raises
    ------
    OutputError
        If the file cannot be written, if what stands there is no plan of loopsolver's,
        or if the scene was made in Python and has no file for the plan to name.
    """
    if not plan.scene.sha256:
        msg = (
            f"{path}: the plan's scene was not read from a file, and a plan file must "
            "name one; read the scene with load_scene"
        )
        raise OutputError(msg)
    check_plan_place(path, read=(scene_path,), force=force)
    text = plan_text(plan, scene_path=scene_named_in(path, scene_path))
    write_whole(path, text.encode())


def check_plan_place(path: Path, *, read: Sequence[Path], force: bool) -> None:
    """Do nothing where a plan may be written; raise where it may not.

    Raises
    ------
    OutputError
        If no file can stand there, if it is one of those that are `read`, or if one
        does that is no plan as loopsolver wrote it.
    """
    check_place(path)
    check_not_read(path, read)
    if path.exists() and not force and not _is_plan(path):
        msg = (
            f"{path}: stands there already and is no plan of loopsolver's, or more than "
            '"chosen" was changed in it; choose another name with -o, or overwrite it '
            "with --force"
        )
        raise OutputError(msg)


def load_plan(path: Path, *, used: Used) -> Plan:
    """Return the plan in a plan file, held against its scene, which is read again.

    Parameters
    ----------
    path : Path
    used : Used
        Which candidates are going to be used; the others stay unjudged.

    Raises
    ------
    PlanError
        If it is no plan, if its figures disagree with each other or with the scene, or
        if its scene is not there or has changed.
    SceneError
        If the scene, though unchanged, can no longer be read.
    """
    from loopsolver.plan.checking import (
        check_against_scene,
        check_edited,
        check_inside,
        check_ports,
        parsed,
        plain_values,
    )
    from loopsolver.plan.judging import judged_afresh
    from loopsolver.plan.untold import sum_of, with_choices_changed, without_untold
    from loopsolver.scene.reader import load_scene

    plain = plain_values(_bytes_of(path), file=str(path))
    document = parsed(plain, file=str(path))
    scene_path = path.parent / document.scene
    _check_scene_unchanged(path, scene_path, document)
    scene = load_scene(scene_path)
    lengths = lengths_for(scene.units)
    check_inside(document, lengths, file=str(path))
    check_against_scene(document, scene, file=str(path))
    is_edited = document.sum != sum_of(plain)
    loop = loop_summary(document)
    if is_edited:
        check_edited(document, lengths, file=str(path))
        loop, document = None, without_untold(document)
    elif document.loop is not None and loop is None:
        document = with_choices_changed(document)
    runs = judged_afresh(
        tuple(planned_run(run) for run in document.runs),
        scene,
        used=used,
        file=str(path),
    )
    check_ports(document, file=str(path))
    return Plan(scene=scene, runs=runs, loop=loop, is_edited=is_edited)


def files_of_plan(path: Path) -> tuple[Path, ...]:
    """Return the files that a plan is read from: its own, and the scene it names."""
    document, _ = _document_in(path)
    return path, path.parent / document.scene


def _document_in(path: Path) -> tuple[PlanDocument, bool]:
    """Return what stands in a plan file, and whether only choices were changed in it."""
    from loopsolver.plan.checking import parsed, plain_values
    from loopsolver.plan.untold import sum_of

    plain = plain_values(_bytes_of(path), file=str(path))
    document = parsed(plain, file=str(path))
    return document, document.sum == sum_of(plain)


def _bytes_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError as error:
        msg = (
            f"{path}: there is no such file; wanted a plan written by loopsolver route"
        )
        raise PlanError(msg) from error
    except OSError as error:
        msg = f"{path}: could not be read: {error.strerror}"
        raise PlanError(msg) from error


def _check_scene_unchanged(path: Path, scene: Path, document: PlanDocument) -> None:
    try:
        found = hashlib.sha256(scene.read_bytes()).hexdigest()
    except (OSError, ValueError) as error:  # ValueError: a name with a zero byte
        reason = error.strerror if isinstance(error, OSError) else error
        msg = (
            f"{path}: scene: found {document.scene!r}, which could not be read from "
            f"{str(scene)!r} ({reason}); wanted the scene file that the plan was "
            "written from: put it back, or route again"
        )
        raise PlanError(msg) from error
    if found != document.scene_sha256.lower():
        msg = (
            f"{path}: scene {visible(document.scene)} has changed since this plan was "
            f"written; run `loopsolver route {pasteable(os.path.normpath(scene))}` again"
        )
        raise PlanError(msg)


def _is_plan(path: Path) -> bool:
    """Tell whether a file is a plan as loopsolver wrote it, but for what is chosen."""
    try:
        _, is_as_written = _document_in(path)
    except PlanError:
        return False
    return is_as_written


def scene_named_in(path: Path, scene_path: Path) -> str:
    """Return the scene's path as a plan at `path` names it, with forward slashes.

    Raises
    ------
    OutputError
        If its bytes are not UTF-8, which JSON cannot hold.
    """
    scene = os.path.realpath(scene_path)
    try:
        named = Path(os.path.relpath(scene, os.path.realpath(path.parent))).as_posix()
    except ValueError:  # another drive: there is no way from here to there
        named = Path(scene).as_posix()
    if named.encode(errors="replace").decode() != named:
        msg = (
            f"{scene_path}: found a name that is not UTF-8; wanted one that is, for "
            "the plan to name its scene: rename the file or its folder"
        )
        raise OutputError(msg)
    return named


def _json(value: Any) -> str:
    """Return JSON on one line, letters that cannot be seen as JSON's own escapes."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    if is_visible(text):
        return text
    return "".join(one if is_visible(one) else json.dumps(one)[1:-1] for one in text)


def _laid_out(value: Any, *, indent: int) -> str:
    """Return JSON text with every list or object that fits one line on one line."""
    line = _json(value)
    if indent + len(line) <= _WIDTH or not isinstance(value, dict | list) or not value:
        return line
    inner = indent + 2
    if isinstance(value, dict):
        parts = [
            f"{_json(key)}: {_laid_out(one, indent=inner)}"
            for key, one in value.items()
        ]
        opening, closing = "{", "}"
    else:
        parts = [_laid_out(one, indent=inner) for one in value]
        opening, closing = "[", "]"
    body = ",\n".join(" " * inner + part for part in parts)
    return f"{opening}\n{body}\n{' ' * indent}{closing}"
