"""The window and the picture of a scene or plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from loopsolver.errors import LoopsolverError
from loopsolver.view import rendering
from loopsolver.view.selection import Selection, Subject, first_selection

if TYPE_CHECKING:
    from loopsolver.view.panel import Furniture
    from loopsolver.view.pictures import Pixels

WINDOW_SIZE: Final = (1440, 900)
"""Width and height of a new window [pixels]."""

SIZES: Final = (160, 8192)
"""Least and greatest width and height of a picture [pixels]."""


def screenshot(
    subject: Subject,
    path: Path,
    *,
    run: str | None = None,
    candidate: int | None = None,
    size: tuple[int, int] = (1600, 1000),
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
    pictures.demand_writable(path, force=force)
    pixels = _drawn(subject, selection, size=size, furniture=ON_PICTURE)
    pictures.write_picture(pixels, path, force=force)


def picture_of_build(
    subject: Subject,
    *,
    run: str | None = None,
    candidate: int | None = None,
    size: tuple[int, int],
) -> bytes:
    """Return a picture of the build alone, without words beside it, as PNG.

    Parameters and errors are those of `screenshot`; it is meant for pages that have the
    words themselves.
    """
    from loopsolver.view import pictures
    from loopsolver.view.panel import BARE

    selection = first_selection(subject, run=run, candidate=candidate)
    return pictures.png_bytes(_drawn(subject, selection, size=size, furniture=BARE))


def _drawn(
    subject: Subject,
    selection: Selection,
    *,
    size: tuple[int, int],
    furniture: Furniture,
) -> Pixels:
    """Return a picture drawn off screen."""
    least, greatest = SIZES
    if not all(least <= length <= greatest for length in size):
        msg = (
            f"a picture of {size[0]} by {size[1]} pixels cannot be drawn; "
            f"wanted: {least} to {greatest} each way"
        )
        raise LoopsolverError(msg)
    way = rendering.off_screen_environment()
    from loopsolver.view import still

    # Drawn larger and averaged down, which smooths all edges, where memory allows it.
    oversampling = 2 if 2 * max(size) <= greatest else 1
    with rendering.environment(way):
        return still.picture(
            subject,
            selection,
            size=size,
            furniture=furniture,
            oversampling=oversampling,
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
    selection = first_selection(subject, run=run, candidate=candidate)
    rendering.demand_display()
    trial = rendering.start_trial({})
    # While the trial runs, what takes long to load is loaded.
    from loopsolver.view.interaction import open_window

    rendering.demand_window(trial.result())
    open_window(subject, selection, size=WINDOW_SIZE)
