"""A plan, and its way to and from its file."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from loopsolver.errors import OutputError, PlanError
from loopsolver.files import check_not_read, check_place, pasteable, write_whole
from loopsolver.lengths import lengths_for
from loopsolver.letters import is_visible, visible
from loopsolver.plan.checking import (
    faults_against,
    faults_inside,
    loop_faults,
    parsed,
    plain_values,
    port_faults,
    raise_any,
)
from loopsolver.plan.document import LoopDocument, PlanDocument, TubeDocument
from loopsolver.plan.judging import Used, every_candidate, judged_afresh
from loopsolver.plan.model import LoopSummary, PlannedRun
from loopsolver.plan.record import loop_summary, planned_run, run_document
from loopsolver.plan.untold import sum_of, with_choices_changed, without_untold
from loopsolver.scene.circuit import loop_parts
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import load_scene
from loopsolver.showing import Shown
from loopsolver.words import quoted

_WIDTH = 88
"""A list or object that fits a line this wide stands on one line of the file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan(Shown):
    """The candidates of all runs of a scene, and which one of each is chosen.

    Attributes
    ----------
    scene : Scene
    runs : tuple of PlannedRun
    loop : LoopSummary or None
        How the choice was made; None for a plan whose choices were made by hand.
    is_edited : bool
        Whether it stood in a file that was edited by hand, but for what is chosen, or
        has no sum, as older ones. What no scene can tell is left out of it then.
    files : tuple of Path
        Those that it was read from, its own and its scene's; empty for one that was
        not.
    sha256 : str
        Of the plan file's bytes as they were read, hex digits. Plans that differ in this
        and in `files` alone are equal.
    """

    scene: Scene
    runs: tuple[PlannedRun, ...]
    loop: LoopSummary | None = None
    is_edited: bool = False
    files: tuple[Path, ...] = field(default=(), compare=False)
    sha256: str = field(default="", compare=False)

    @property
    def missing(self) -> tuple[str, ...]:
        """The names of those runs of the scene that the plan does not hold."""
        held = {run.name for run in self.runs}
        return tuple(run.name for run in self.scene.runs if run.name not in held)

    @property
    def unlinked(self) -> tuple[str, ...]:
        """The parts of a loop of any order that no run of the plan leaves."""
        loop = self.scene.loop
        if loop is None or loop.order != "any":
            return ()
        left = {run.from_port.split(".", 1)[0] for run in self.runs}
        return tuple(part for part in loop_parts(self.scene) if part not in left)

    def run(self, name: str) -> PlannedRun:
        """Return the run of that name.

        Raises
        ------
        PlanError
            If the plan has no such run; the message lists those it has.
        """
        for run in self.runs:
            if run.name == name:
                return run
        held = quoted(run.name for run in self.runs) or "none"
        msg = f"no run {name!r} in this plan; there are {held}"
        raise PlanError(msg)

    def to_json(self, *, scene_path: str) -> str:
        """Return the plan file's text; `scene_path` is what stands under "scene".

        The figures are those of the rounded vertices, so that a plan that is read and
        written again gives the same text.
        """
        from loopsolver import __version__

        scene, loop = self.scene, self.loop
        told = PlanDocument(
            format=1,
            loopsolver=__version__,
            scene=scene_path,
            scene_sha256=scene.sha256,
            meshes=dict(scene.meshes),
            units="mm",
            title=scene.title,
            tube=TubeDocument.model_validate(scene.tube),
            clearance=scene.rules.clearance,
            loop=None if loop is None else LoopDocument.model_validate(loop),
            runs=tuple(run_document(run) for run in self.runs),
        ).told()
        if not scene.meshes:
            del told["meshes"]
        return _laid_out({**told, "sum": sum_of(told)}, indent=0) + "\n"

    def write(
        self, path: Path | str, *, scene_path: Path | str, force: bool = False
    ) -> None:
        """Write the plan file, whole or not at all.

        Parameters
        ----------
        path : Path or str
            Of the plan file.
        scene_path : Path or str
            Of the scene's file; the plan names it as seen from its own folder.
        force : bool
            Write over a file that is no plan of loopsolver's.

        Raises
        ------
        OutputError
            If the file cannot be written, if what stands there is no plan of
            loopsolver's, or if the scene was made in Python and has no file for the
            plan to name.
        """
        path, scene_path = Path(path), Path(scene_path)
        if not self.scene.sha256:
            msg = (
                f"{path}: the plan's scene was not read from a file, and a plan file must "
                "name one; read the scene with load_scene"
            )
            raise OutputError(msg)
        check_plan_place(path, read=(scene_path,), force=force)
        text = self.to_json(scene_path=scene_named_in(path, scene_path))
        write_whole(path, text.encode())

    @classmethod
    def read(cls, path: Path | str, *, used: Used | None = None) -> Plan:
        """Return the plan in a plan file, judged against its scene, which is read again.

        Parameters
        ----------
        path : Path or str
            Of the plan file.
        used : Used, optional
            Which candidates of a run are going to be used, by rank. The others are not
            judged and must not be shown; left out, every one is judged.

        Raises
        ------
        PlanError
            If it is no plan, if its figures disagree with each other or with the scene,
            or if its scene is not there or has changed since.
        SceneError
            If the scene, though unchanged, can no longer be read.
        """
        path, file = Path(path), str(path)
        data = _bytes_of(path)
        document, is_edited = _document(data, file=file)
        scene_path = path.parent / document.scene
        scene = _unchanged_scene(path, scene_path, document)
        lengths = lengths_for(scene.units)
        raise_any(faults_inside(document, lengths), file=file)
        raise_any(faults_against(document, scene), file=file)
        loop = loop_summary(document)
        if is_edited:
            raise_any(loop_faults(document, lengths), file=file)
            loop, document = None, without_untold(document)
        elif document.loop is not None and loop is None:
            document = with_choices_changed(document)
        runs = tuple(planned_run(run) for run in document.runs)
        used = used or every_candidate
        runs = judged_afresh(runs, scene, used=used, file=file)
        raise_any(port_faults(document), file=file)
        files = (path, scene_path)
        return cls(
            scene=scene,
            runs=runs,
            loop=loop,
            is_edited=is_edited,
            files=files,
            sha256=hashlib.sha256(data).hexdigest(),
        )


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


def document_in(path: Path) -> tuple[PlanDocument, bool]:
    """Return what stands in a plan file, and whether more than choices was changed."""
    return _document(_bytes_of(path), file=str(path))


def _document(data: bytes, *, file: str) -> tuple[PlanDocument, bool]:
    plain = plain_values(data, file=file)
    document = parsed(plain, file=file)
    return document, document.sum != sum_of(plain)


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


def _unchanged_scene(path: Path, scene: Path, document: PlanDocument) -> Scene:
    """Return the scene of a plan; raise where it is not what the plan was made of."""
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
    loaded = load_scene(scene)
    for name, sha256 in loaded.meshes:
        if document.meshes.get(name, "").lower() != sha256:
            msg = (
                f"{path}: mesh {visible(name)} of scene {visible(document.scene)} has "
                "changed since this plan was written; run `loopsolver route "
                f"{pasteable(os.path.normpath(scene))}` again"
            )
            raise PlanError(msg)
    return loaded


def _is_plan(path: Path) -> bool:
    """Tell whether a file is a plan as loopsolver wrote it, but for what is chosen."""
    try:
        _, is_edited = document_in(path)
    except PlanError:
        return False
    return not is_edited


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
