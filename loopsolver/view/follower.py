"""Looks at a scene file and its meshes, and asks the search: a window's news."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from loopsolver.errors import SceneError
from loopsolver.report.scene_changes import is_same_build
from loopsolver.scene.mesh_files import mesh_names
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.source import parse_toml, read_source
from loopsolver.view.following import Following, after_news, after_save
from loopsolver.view.saves import FileLook, Saves
from loopsolver.view.search_process import SearchProcess


class Follower:
    """Follows one file, and searches for its tubes.

    Parameters
    ----------
    path : Path

    Raises
    ------
    SceneError
        If it cannot be used as it stands.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._held: tuple[str, Scene | SceneError] | None = None
        self._meshes: tuple[str, tuple[Path, ...]] = ("", ())
        look, found = self._look()
        if isinstance(found, SceneError):
            raise found
        self._saves = Saves(told=look, last=look)
        self.now = Following(scene=found)
        self._search = SearchProcess()
        self._search.begin(found)

    def follow(self) -> bool:
        """Look once; return whether there is anything new in `now`."""
        before = self.now
        look, found = self._look()
        told, self._saves = self._saves.told, self._saves.after(look)
        if self._saves.told != told:
            self._saved(found)
        for news in self._search.news():
            self.now = after_news(self.now, news)
        return self.now is not before

    def close(self) -> None:
        """End the search."""
        self._search.close()

    def _saved(self, found: Scene | SceneError) -> None:
        if isinstance(found, SceneError):
            self.now = replace(self.now, faults=found.faults, changes=())
            return
        is_same = is_same_build(self.now.scene, found)
        self.now = after_save(self.now, found)
        if not is_same:
            self._search.begin(found)

    def _look(self) -> tuple[FileLook, Scene | SceneError]:
        """Return what stands in the file, read anew only where it is another text.

        Or where a mesh file that it names is another one, by its size and time.
        """
        try:
            text, sha256 = read_source(self._path, file=str(self._path))
        except SceneError as error:
            return FileLook(state=str(error), is_usable=False), error
        if self._meshes[0] != sha256:
            self._meshes = (sha256, meshes_of(self._path, text))
        state = f"{sha256} {states_of(self._meshes[1])}"
        if self._held is None or self._held[0] != state:
            self._held = (state, _read(text, str(self._path), sha256))
        found = self._held[1]
        usable = not isinstance(found, SceneError)
        return FileLook(state=state, is_usable=usable), found


def meshes_of(path: Path, text: str) -> tuple[Path, ...]:
    """Return the mesh files that a scene file names; none where it is no TOML."""
    try:
        names = mesh_names(parse_toml(text, file=""))
    except SceneError:
        return ()
    return tuple(path.parent / name for name in names)


def states_of(files: Iterable[Path]) -> str:
    """Return what tells files from those that stood in their places before."""
    return str([_status(file) for file in files])


def _status(path: Path) -> tuple[int, int, int] | None:
    """Return what tells a file from the one before in its place; None of none."""
    try:
        status = path.stat()
    except (OSError, ValueError):
        return None
    return status.st_size, status.st_mtime_ns, status.st_ino


def _read(text: str, file: str, sha256: str) -> Scene | SceneError:
    try:
        return replace(scene_from_text(text, file=file), sha256=sha256)
    except SceneError as error:
        return error
