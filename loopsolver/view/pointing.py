"""What is under the mouse: a tube that is seen, or a place to measure from. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from loopsolver.geometry.vectors import Array
from loopsolver.view import contents
from loopsolver.view.marks import ClickedMark
from loopsolver.view.measuring import mark_at
from loopsolver.view.panel_lines import ToRun
from loopsolver.view.section_plane import cut_sight
from loopsolver.view.selection import Subject, ViewSelection, scene_of
from loopsolver.view.sight import Sight, meeting, sight_at


class SeenPart(Protocol):
    """A part of the window that shows the build: where it is, and how it is seen."""

    @property
    def origin(self) -> tuple[int, int]:
        """Its lower left corner in the window [pixels]."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height [pixels]."""

    @property
    def projection(self) -> Array:
        """From points [mm] to shares of its width and height, (4, 4)."""


SeenParts = Sequence[tuple[SeenPart, ViewSelection]]
"""The parts that are seen, and what each shows."""


def sight_through(parts: SeenParts, x: float, y: float) -> Sight | None:
    """Return the ray through a place in the window; None where no build is.

    The place is counted from the window's lower left corner [pixels].
    """
    for part, shown in parts:
        (left, bottom), (width, height) = part.origin, part.size
        if left <= x < left + width and bottom <= y < bottom + height:
            spot = (x - left + 0.5, y - bottom + 0.5)
            sight = sight_at(spot, projection=part.projection, size=part.size)
            return cut_sight(sight, shown.plane)
    return None


def tube_at(subject: Subject, parts: SeenParts, x: float, y: float) -> ToRun | None:
    """Return the run whose tube is seen at a place in the window.

    Bodies are seen through, so that tubes behind them can be clicked.
    """
    sight, now = sight_through(parts, x, y), parts[-1][1]
    if sight is None or now.bent is not None or now.shot:
        return None
    radius = scene_of(subject).tube.radius
    found = [
        (met, place)
        for place, points in contents.runs_seen(subject, now)
        if (met := meeting(sight, points, radius=radius))
    ]
    return ToRun(place=min(found)[1]) if found else None


def place_at(
    subject: Subject, parts: SeenParts, x: float, y: float
) -> ClickedMark | None:
    """Return what a place in the window means where something is measured."""
    sight, now = sight_through(parts, x, y), parts[-1][1]
    if sight is None:
        return None
    scene = scene_of(subject)
    return mark_at(
        sight,
        scene=scene,
        tubes=contents.tubes_seen(subject, now),
        layers=contents.solids_shown(scene, now),
    )
