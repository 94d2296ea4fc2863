"""Where there is room on a drawing for lettering."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.drafting.drawing import Place
from loopsolver.drafting.extent import Extent, box_round

Array = NDArray[np.float64]

_STEP = 1.5  # lines are kept as beads this far apart [mm]


Joints = tuple[tuple[float, ...], tuple[float, ...]]
"""Where the pages of a drawing are joined: all x, then all y [mm]."""

NEAR_JOINT: Final = 6.0
"""What is nearer to a joint between pages is on both of them, cut on one [mm]."""


class Ground:
    """The drawing board: what is taken already, and whether a box is still free."""

    def __init__(self) -> None:
        self._beads: Array = np.empty((0, 3))
        self._boxes: Array = np.empty((0, 4))
        self._joints: Joints = ((), ())

    def take_line(self, start: Place, end: Place, *, half_width: float = 0.4) -> None:
        """Take a straight line of some width [mm]."""
        count = max(2, math.ceil(math.dist(start, end) / _STEP) + 1)
        part = np.linspace(0.0, 1.0, count)[:, None]
        along = (1.0 - part) * np.asarray(start) + part * np.asarray(end)
        beads = np.column_stack([along, np.full(count, half_width)])
        self._beads = np.vstack([self._beads, beads])

    def take_path(self, points: Iterable[Place], *, half_width: float) -> None:
        """Take the straight lines from point to point."""
        for start, end in pairwise(points):
            self.take_line(start, end, half_width=half_width)

    def take_box(self, box: Extent) -> None:
        """Take an upright box."""
        self._boxes = np.vstack([self._boxes, box])

    def take_joints(self, joints: Joints) -> None:
        """Keep boxes off joints between pages, all x and all y; lines may cross them."""
        self._joints = joints

    def is_free(self, box: Extent, *, spare: float = 1.0) -> bool:
        """Return whether nothing lies in a box or within `spare` of it [mm]."""
        return self.is_off_joints(box) and self._is_clear(box, spare=spare)

    def is_off_joints(self, box: Extent) -> bool:
        """Return whether a box lies on one page only, clear of where pages are joined."""
        return not any(
            box[axis] - NEAR_JOINT < place < box[2 + axis] + NEAR_JOINT
            for axis in (0, 1)
            for place in self._joints[axis]
        )

    def _is_clear(self, box: Extent, *, spare: float) -> bool:
        """Return whether no line and no box lies in a box or so near to it [mm]."""
        left, bottom, right, top = box
        x, y, radius = self._beads.T
        across = np.maximum(np.maximum(left - x, x - right), 0.0)
        up = np.maximum(np.maximum(bottom - y, y - top), 0.0)
        if np.any(np.hypot(across, up) < radius + spare):
            return False
        return self.is_clear_of_boxes(box, spare=spare)

    def is_clear_of_boxes(self, box: Extent, *, spare: float = 1.0) -> bool:
        """Return whether a box meets no other box, whatever lines it meets."""
        left, bottom, right, top = box
        lefts, bottoms, rights, tops = self._boxes.T
        meets = (
            (lefts < right + spare)
            & (rights > left - spare)
            & (bottoms < top + spare)
            & (tops > bottom - spare)
        )
        return not bool(np.any(meets))

    def is_strip_free(self, start: Place, end: Place, *, half_width: float) -> bool:
        """Return whether nothing lies along a straight strip of that half width."""
        count = max(2, math.ceil(math.dist(start, end) / _STEP) + 1)
        part = (np.arange(count) / (count - 1))[:, None]
        places = np.asarray(start) + part * (np.asarray(end) - np.asarray(start))
        half = half_width / 2.0
        return all(
            self._is_clear(box_round((x, y), half, half), spare=1.0 + half)
            for x, y in places
        )
