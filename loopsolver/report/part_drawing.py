"""A part of the shelf drawn in characters, to be told apart on any terminal."""

from __future__ import annotations

import string
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from loopsolver.geometry.solids import bounds
from loopsolver.geometry.vectors import Point
from loopsolver.shelf.layouts import PartLayout

_TALL: Final = 2.0
"""How many times as high as wide a character is; common practice, no source."""

_VIEWS: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {"+x": ("+y", "+z"), "-y": ("+x", "+z"), "+z": ("+x", "+y"), "-z": ("-x", "+y")}
)
"""What points right and what up, by where one looks from."""

_OPENING: Final = ("opening_low", "opening_high")
"""The corners of the rear opening, where a part has them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartDrawing:
    """A part in characters.

    Attributes
    ----------
    lines : tuple of str
    marks : mapping of str
        The character that stands for a port or point, by its name.
    right, up : str
        The axes that point right and up, such as ``+y``.
    has_opening : bool
        Whether the rear opening is drawn, in ``#``.
    """

    lines: tuple[str, ...]
    marks: Mapping[str, str]
    right: str
    up: str
    has_opening: bool


def part_drawing(layout: PartLayout, *, seen: str, wide: int, high: int) -> PartDrawing:
    """Return a part as it is seen from the side `seen`, at most `wide` by `high`."""
    right, up = _VIEWS[seen]
    flat = [_flat(np.asarray(bounds(body)), right, up) for body in layout.bodies]
    corners = np.concatenate(flat)
    least, most = corners.min(axis=0), corners.max(axis=0)
    extent = most - least
    per_mm = min((wide - 1) / extent[0], (high - 1) * _TALL / extent[1])

    def cell(at: np.ndarray) -> tuple[int, int]:
        column, row = (at - least) * per_mm / (1.0, _TALL)
        return rows - 1 - min(max(round(row), 0), rows - 1), min(
            max(round(column), 0), columns - 1
        )

    columns = round(extent[0] * per_mm) + 1
    rows = round(extent[1] * per_mm / _TALL) + 1
    canvas = [[" "] * columns for _ in range(rows)]
    for each in flat:
        _outline(canvas, *cell(each.min(axis=0)), *cell(each.max(axis=0)))
    marks = dict(_marks(layout))
    opening = [layout.points[name] for name in _OPENING if name in layout.points]
    if opening:
        (low, column), (top, _) = (
            cell(_flat(np.array([at]), right, up)[0]) for at in opening
        )
        for row in range(top, low + 1):
            canvas[row][column] = "#"
    for name, at in _places(layout):
        if name not in _OPENING:
            row, column = cell(_flat(np.array([at]), right, up)[0])
            canvas[row][column] = marks[name]
    return PartDrawing(
        lines=tuple("".join(line).rstrip() for line in canvas),
        marks=marks,
        right=right,
        up=up,
        has_opening=bool(opening),
    )


def _places(layout: PartLayout) -> Iterator[tuple[str, Point]]:
    yield from layout.points.items()
    for name, port in layout.ports.items():
        yield name, port.position


def _flat(points: np.ndarray, right: str, up: str) -> np.ndarray:
    """Return points as they lie in the picture: right and up [mm]."""
    columns = [
        points[:, "xyz".index(axis[1])] * (1.0 if axis[0] == "+" else -1.0)
        for axis in (right, up)
    ]
    return np.stack(columns, axis=1)


def _outline(
    canvas: list[list[str]], low: int, left: int, top: int, right: int
) -> None:
    for column in range(left, right + 1):
        canvas[low][column] = canvas[top][column] = "-"
    for row in range(top, low + 1):
        canvas[row][left] = canvas[row][right] = "|"
    for row, column in ((low, left), (low, right), (top, left), (top, right)):
        canvas[row][column] = "+"


def _marks(layout: PartLayout) -> Iterator[tuple[str, str]]:
    """Yield a character for every port, a capital letter, and every point."""
    taken: set[str] = set()
    for names, letters in (
        (layout.ports, string.ascii_uppercase),
        (layout.points, string.ascii_lowercase),
    ):
        for name in names:
            mark = next(each for each in _wished(name, letters) if each not in taken)
            taken.add(mark)
            yield name, "#" if name in _OPENING else mark


def _wished(name: str, letters: str) -> Iterable[str]:
    """Return characters that could stand for a name, the first choice first."""
    last = name.rpartition("_")[2]
    own = last[0].upper() if letters.isupper() else last[0]
    return (own if len(last) == 1 or own.isalpha() else "", *letters, *string.printable)
