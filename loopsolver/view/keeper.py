"""Keeps candidates in a window: asks the search for the rest, and writes the plan."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Final

from loopsolver.errors import OutputError
from loopsolver.files import write_whole
from loopsolver.plan import Plan
from loopsolver.plan.file import scene_named_in
from loopsolver.view.keeping import (
    after_keep,
    after_news,
    after_write,
    asked,
    opened,
    undone,
    why_not,
)
from loopsolver.view.search_process import SearchProcess
from loopsolver.view.selection import ViewSelection

NO_FILE: Final = "the plan is in no file: it was not read from one"


class Keeper:
    """Keeps candidates of one plan.

    Parameters
    ----------
    plan : Plan
    """

    def __init__(self, plan: Plan) -> None:
        self.now = opened(plan)
        self._search: SearchProcess | None = None
        self._read = plan.sha256

    def keep(self, selection: ViewSelection) -> str:
        """Keep the candidate shown; return why it cannot be, or nothing."""
        why = why_not(self.now, selection)
        if not why:
            self.now = after_keep(self.now, selection)
        return why

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

    def undo(self) -> None:
        """Take back the last keep; a search for it ends."""
        if self.now.is_solving:
            self.close()
        self.now = undone(self.now)

    def close(self) -> None:
        """End the search."""
        if self._search is not None:
            self._search.close()
            self._search = None

    @property
    def why_ask(self) -> str:
        """Why writing needs a word first: the file is not as it was read, or was edited."""
        path = self._files()[0]
        if self.now.written.is_edited:
            return f"{path.name} was edited by hand; write over it?"
        if _sum(path) != self._read:
            return f"{path.name} has changed since it was read; write over it?"
        return ""

    def write(self) -> Path:
        """Write the plan that is shown into its file, and return that.

        Raises
        ------
        OutputError
            If it has no file, its scene has changed since, or it cannot be written.
        """
        path, scene_path = self._files()
        if _sum(scene_path) != self.now.plan.scene.sha256:
            msg = f"{scene_path.name} has changed since: route it again"
            raise OutputError(msg)
        text = self.now.plan.to_json(scene_path=scene_named_in(path, scene_path))
        data = text.encode()
        write_whole(path, data)
        self._read = hashlib.sha256(data).hexdigest()
        self.now = after_write(self.now)
        return path

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
