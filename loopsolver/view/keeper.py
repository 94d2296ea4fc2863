"""Keeps candidates in a window: asks the search for the rest, and writes the plan."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Final

from loopsolver.errors import OutputError
from loopsolver.files import write_whole
from loopsolver.plan import Plan
from loopsolver.plan.file import scene_named_in
from loopsolver.view.keeping import (
    after_keep,
    after_news,
    after_save,
    after_write,
    asked,
    opened,
    undone,
    why_not,
)
from loopsolver.view.search_process import SearchProcess
from loopsolver.view.selection import ViewSelection

NO_PLAN: Final = "candidates are kept where a plan is viewed"
NOT_YET: Final = "nothing is kept before the search is over"
LET_GO: Final = "the save changed what tubes feel: nothing is kept any more"
NO_FILE: Final = "the plan is in no file: `route SCENE --keep NAME=RANK` writes one"


class Keeper:
    """Keeps candidates of one plan; what is asked of it returns what is said of it.

    Parameters
    ----------
    plan : Plan

    Attributes
    ----------
    now : Keeping
        What is known.
    on_yes : callable or None
        What is done if the answer to the last question is yes.
    """

    def __init__(self, plan: Plan) -> None:
        self.now = opened(plan)
        self.on_yes: Callable[[], str] | None = None
        self._search: SearchProcess | None = None
        self._read = plan.sha256

    def keep(self, selection: ViewSelection) -> str:
        """Keep the candidate shown; the rest is to be solved again."""
        why = why_not(self.now, selection)
        if not why:
            self.now = after_keep(self.now, selection)
        return why

    def go_on_with(self, plan: Plan | None) -> bool:
        """Take on a scene that was saved, with its plan; return whether keeps stay."""
        after = None if plan is None else after_save(self.now, plan)
        if after is None:
            self.close()
        self.now = after or self.now
        return after is not None

    def solve(self) -> None:
        """Have the rest solved again, once it is shown what is kept."""
        if self._search is None:
            self._search = SearchProcess()
        self._search.begin(self.now.plan.scene, **asked(self.now))

    def follow(self) -> bool:
        """Hear what the search has told; return whether there is anything new."""
        before = self.now
        for news in self._search.news() if self._search else ():
            self.now = after_news(self.now, news)
        return self.now is not before

    def undo(self) -> str:
        """Take back the last keep; a search for it ends."""
        if len(self.now.steps) == 1:
            return "nothing to undo"
        if self.now.is_solving:
            self.close()
        self.now = undone(self.now)
        return "taken back"

    def close(self) -> None:
        """End the search."""
        if self._search is not None:
            self._search.close()
            self._search = None

    def write(self) -> str:
        """Write the plan; where its file is not as it was read, ask first."""
        if self.now.is_written:
            return "nothing to write: no candidate was kept"
        if self.now.is_solving:
            return "not written: the rest is still being solved"
        try:
            path, _ = self._files()
        except OutputError as error:
            return f"not written: {error}"
        if not self.now.written.is_edited and _sum(path) == self._read:
            return self._write()
        self.on_yes = self._write
        why = "was edited by hand" if self.now.written.is_edited else "has changed"
        return f"{path.name} {why}: y writes over it, any other key leaves it"

    def ask_to_leave(self, leave: Callable[[], str]) -> str:
        """Ask whether to leave a plan that is not written."""
        self.on_yes = leave
        return "the plan is not written: y closes, any other key stays"

    def _write(self) -> str:
        try:
            path, scene_path = self._files()
            scene = self.now.plan.scene
            of_meshes = [(scene_path.parent / name, sha) for name, sha in scene.meshes]
            for read, sha256 in ((scene_path, scene.sha256), *of_meshes):
                if _sum(read) != sha256:
                    return f"not written: {read.name} has changed since it was read"
            name = scene_named_in(path, scene_path)
            data = self.now.plan.to_json(scene_path=name).encode()
            write_whole(path, data)
        except OutputError as error:
            return f"not written: {error}"
        self._read = hashlib.sha256(data).hexdigest()
        self.now = after_write(self.now)
        return f"written to {path.name}"

    def _files(self) -> tuple[Path, Path]:
        if len(self.now.plan.files) != 2:
            raise OutputError(NO_FILE)
        path, scene_path = self.now.plan.files
        return path, scene_path


def _sum(path: Path) -> str:
    """Return the SHA-256 of a file; nothing where it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
