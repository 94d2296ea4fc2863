"""Where labels go on the picture: near their things, apart, and uncut.

All positions are in pixels from the picture's lower left corner.

References
----------
One label after the other at its best free place, the greedy method in J. Christensen, J.
Marks and S. Shieber, An empirical study of algorithms for point-feature label placement,
ACM Transactions on Graphics 14 (1995).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from loopsolver.geometry.vectors import Array, Point

LabelKind = Literal[
    "bend",
    "port",
    "body",
    "keep-out",
    "tube",
    "axis",
    "wall",
    "air",
    "gap",
    "measure",
    "heading",
]
"""What a label names; it decides how the label looks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedLabel:
    """A label that is wanted, and the place in the case that it names [mm]."""

    text: str
    kind: LabelKind
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelWish:
    """A label that would be good to have.

    Attributes
    ----------
    text : str
    kind : LabelKind
    anchor : tuple of 2 floats
        The spot on the picture that it names [pixels].
    size : tuple of 2 floats
        Width and height of the label, its rim included [pixels].
    """

    text: str
    kind: LabelKind
    anchor: tuple[float, float]
    size: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedLabel:
    """A label that has found a place; `centre` is its middle [pixels]."""

    wish: LabelWish
    centre: tuple[float, float]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top [pixels]."""
        (x, y), (width, height) = self.centre, self.wish.size
        return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


SPACE: Final = 4.0
"""Least room between two labels [pixels]."""

_DISTANCES: Final = (24.0, 42.0, 64.0, 90.0, 120.0)
"""How far from its anchor a label may stand, in label heights of 24 pixels."""

_COVERING: Final = 60.0
"""What it costs a label to hide one spot of what is to be seen, in pixels of distance."""


_TOO_DEAR: Final = 210.0
"""A label that would cost more is left out: it would hide more than it tells."""


def _offsets(height: float) -> Array:
    """Return the places to try, seen from the anchor, nearest first, (n, 2)."""
    places = [(0.0, 0.0)]
    for distance in _DISTANCES:
        for step in range(16):
            turn = 2.0 * math.pi * step / 16.0
            reach = distance * height / 24.0
            places.append((reach * 1.5 * math.cos(turn), reach * math.sin(turn)))
    return np.array(places)


def place_labels(
    wishes: Sequence[LabelWish],
    *,
    frame: tuple[float, float, float, float],
    keep_free: Array,
) -> tuple[PlacedLabel, ...]:
    """Return those labels that can stand readably, the first wishes served first.

    Each takes the place that is near its anchor and hides least; one that finds no
    room within reach is left out.

    Parameters
    ----------
    wishes : sequence of LabelWish
        Most wanted first.
    frame : left, bottom, right, top [pixels]
        No label leaves it.
    keep_free : array (n, 2) [pixels]
        Spots that are better not hidden: the tube on show.
    """
    boxes: list[Array] = []
    placed: list[PlacedLabel] = []
    for wish in wishes:
        centre = _best_place(wish, frame=frame, keep_free=keep_free, boxes=boxes)
        if centre is None:
            continue
        label = PlacedLabel(wish=wish, centre=centre)
        placed.append(label)
        boxes.append(np.asarray(label.box))
    return tuple(placed)


def _best_place(
    wish: LabelWish,
    *,
    frame: tuple[float, float, float, float],
    keep_free: Array,
    boxes: Sequence[Array],
) -> tuple[float, float] | None:
    """Return the middle of the best free place for one label, or None."""
    anchor, half = np.asarray(wish.anchor), np.asarray(wish.size) / 2.0
    left, bottom, right, top = frame
    if not (left <= anchor[0] <= right and bottom <= anchor[1] <= top):
        return None
    middles = anchor + _offsets(wish.size[1])
    low, high = np.array([left, bottom]) + half, np.array([right, top]) - half
    free = np.all((middles >= low) & (middles <= high), axis=1)
    if boxes:
        there = np.array(boxes)[:, None, :]
        below = middles + half + SPACE <= there[..., :2]
        above = middles - half - SPACE >= there[..., 2:]
        free &= (below | above).any(axis=2).all(axis=0)
    if not free.any():
        return None
    cost = np.linalg.norm(middles - anchor, axis=1)
    if len(keep_free):
        away = np.abs(keep_free[None, :, :] - middles[:, None, :])
        cost = cost + _COVERING * np.all(away <= half + 2.0, axis=2).sum(axis=1)
    best = int(np.argmin(np.where(free, cost, np.inf)))
    if cost[best] > _TOO_DEAR:
        return None
    return (float(middles[best, 0]), float(middles[best, 1]))
