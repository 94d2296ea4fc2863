"""The window and the picture of a scene or plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from loopsolver.errors import LoopsolverError
from loopsolver.geometry.vectors import Array
from loopsolver.view import rendering
from loopsolver.view.selection import (
    Subject,
    ViewSelection,
    first_selection,
    scene_of,
    toggle,
)

if TYPE_CHECKING:
    from loopsolver.plan import Plan
    from loopsolver.view.panel import Furniture
    from loopsolver.view.pictures import Pixels

WINDOW_SIZE: Final = (1440, 900)
"""Width and height of a new window [pixels]."""

SIZES: Final = (160, 8192)
"""Least and greatest width and height of a picture [pixels]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildPicture:
    """A picture of the build alone, for a page that letters it.

    Attributes
    ----------
    png : bytes
        In all its colours, coded for speed and not for size.
    projection : Array
        (4, 4), homogeneous: from points of the case [mm] to shares of the picture's
        width and height, from its lower left corner.
    axis_reach : float
        Where the names of the datum's arrows go, from the datum along each axis [mm].
    """

    png: bytes
    projection: Array
    axis_reach: float


def screenshot(
    subject: Subject,
    path: Path,
    *,
    run: str | None = None,
    candidate: int | None = None,
    size: tuple[int, int] = (1600, 1000),
    read: Sequence[Path] = (),
    force: bool = False,
) -> None:
    """Write a picture of a scene or plan as PNG; no display is needed.

    Parameters
    ----------
    subject : Scene or Plan
    path : Path
        Of the picture; its name ends in .png.
    run : str or None
        Name of the run to show; the first if None.
    candidate : int or None
        Rank of the candidate to show; the chosen one if None.
    size : tuple of 2 ints
        Width and height [pixels].
    read : sequence of Path
        Files that the subject was read from; none of them is ever written over.
    force : bool
        Write over a file that is no picture of loopsolver's.

    Raises
    ------
    LoopsolverError
        If there is no such run or candidate, or the size is out of reach.
    OutputError
        If the picture must not or cannot be written.
    MissingExtraError
        If this machine cannot draw in 3D.
    """
    from loopsolver.view import pictures
    from loopsolver.view.panel import ON_PICTURE

    selection = first_selection(subject, run=run, candidate=candidate)
    pictures.demand_writable(path, read=read, force=force)
    ((pixels, _),) = _drawn(subject, [selection], size=size, furniture=ON_PICTURE)
    pictures.write_picture(pixels, path, read=read, force=force)


def pictures_of_build(
    subject: Subject, *, runs: Sequence[str], size: tuple[int, int]
) -> tuple[BuildPicture, ...]:
    """Return a picture of the build alone, unlettered, for each of some runs.

    Much quicker than one by one. Errors are those of `screenshot`.

    Parameters
    ----------
    subject : Scene or Plan
    runs : sequence of str
        Their names.
    size : tuple of 2 ints
        Width and height [pixels].
    """
    from loopsolver.view import actors, pictures
    from loopsolver.view.panel import BARE

    selections = [
        toggle(first_selection(subject, run=run, candidate=None), "names")
        for run in runs
    ]
    reach = actors.DATUM_NAME_AT * actors.datum_arrow_length(scene_of(subject))
    return tuple(
        BuildPicture(
            png=pictures.quick_png_bytes(pixels),
            projection=projection,
            axis_reach=reach,
        )
        for pixels, projection in _drawn(subject, selections, size=size, furniture=BARE)
    )


def _drawn(
    subject: Subject,
    selections: Sequence[ViewSelection],
    *,
    size: tuple[int, int],
    furniture: Furniture,
) -> list[tuple[Pixels, Array]]:
    """Return pictures drawn off screen, one a selection."""
    least, greatest = SIZES
    if not all(least <= length <= greatest for length in size):
        msg = (
            f"a picture of {size[0]} by {size[1]} pixels cannot be drawn; "
            f"wanted: {least} to {greatest} each way"
        )
        raise LoopsolverError(msg)
    if not selections:
        return []
    way = rendering.off_screen_environment()
    from loopsolver.view.stills import stills

    # Drawn larger and averaged down, which smooths all edges, where memory allows it.
    oversampling = 2 if 2 * max(size) <= greatest else 1
    with rendering.environment(way):
        return list(
            stills(
                subject,
                selections,
                size=size,
                furniture=furniture,
                oversampling=oversampling,
            )
        )


def show(
    subject: Subject, *, run: str | None = None, candidate: int | None = None
) -> None:
    """Open a window on a scene or plan and return when it is closed.

    Parameters
    ----------
    subject : Scene or Plan
    run : str or None
        Name of the run to show; the first if None.
    candidate : int or None
        Rank of the candidate to show; the chosen one if None.

    Raises
    ------
    LoopsolverError
        If there is no such run or candidate, or no display.
    MissingExtraError
        If this machine cannot draw in 3D.
    """
    _open(subject, first_selection(subject, run=run, candidate=candidate))


def play(plan: Plan) -> None:
    """Open a window that plays how a plan goes together; errors are those of `show`."""
    first = first_selection(plan, run=None, candidate=None)
    _open(plan, replace(first, shot=1))


def _open(subject: Subject, selection: ViewSelection) -> None:
    """Open a window on a selection and return when it is closed."""
    rendering.demand_display()
    trial = rendering.RunningTrial({})
    # While the trial runs, what takes long to load is loaded.
    from loopsolver.view.interaction import Window

    rendering.demand_window(trial.result())
    Window(subject, selection, size=WINDOW_SIZE).run()


def watch(path: Path, *, run: str | None = None, candidate: int | None = None) -> None:
    """Open a window that follows a scene file, and return when it is closed.

    Parameters
    ----------
    path : Path
    run : str or None
        Name of the run to show; the first if None.

    Raises
    ------
    SceneError
        If the file cannot be used as it stands.
    LoopsolverError
        If there is no such run, or no display.
    MissingExtraError
        If this machine cannot draw in 3D.
    """
    from loopsolver.scene.reader import load_scene

    first_selection(load_scene(path), run=run, candidate=candidate)
    rendering.demand_display()
    trial = rendering.RunningTrial({})
    # While the trial runs, what takes long to load is loaded.
    from loopsolver.view.follower import Follower
    from loopsolver.view.interaction import Window

    rendering.demand_window(trial.result())
    follower = Follower(path)
    try:
        subject = follower.now.subject
        selection = first_selection(subject, run=run, candidate=None)
        Window(subject, selection, size=WINDOW_SIZE, follower=follower).run()
    finally:
        follower.close()
