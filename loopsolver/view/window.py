"""The window and the picture of a scene or plan."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from loopsolver.view import rendering
from loopsolver.view.selection import Subject, first_selection

WINDOW_SIZE: Final = (1440, 900)
"""Width and height of a new window [pixels]."""

OVERSAMPLING: Final = 2
"""Pictures are drawn this much larger and averaged down, which smooths all edges."""


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
        If there is no such run or candidate.
    OutputError
        If the picture must not or cannot be written.
    MissingExtraError
        If this machine cannot draw in 3D.
    """
    from loopsolver.view import pictures

    selection = first_selection(subject, run=run, candidate=candidate)
    pictures.demand_writable(path, force=force)
    way = rendering.off_screen_environment()
    from loopsolver.view import still

    with rendering.environment(way):
        pixels = still.picture(subject, selection, size=size, oversampling=OVERSAMPLING)
    pictures.write_picture(pixels, path, force=force)


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
