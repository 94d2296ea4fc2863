"""A run in its case as it was rendered elsewhere, lettered like the drawn view."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import Drawing, Entity, Picture, Place, Polyline
from loopsolver.drafting.extent import Extent, box, extent, overlaps
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.symbols import lettered
from loopsolver.geometry.vectors import Array
from loopsolver.tube.centreline import Centreline, sample
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.picture_labels import SPACING, labels

_LETTERS: Final = 2.0
"""Height of the capitals in the axes' names [mm]."""

_APART: Final = 3.5
"""How far one of them is moved where it would cover another [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rendering:
    """A rendered picture of a case, and how it came about.

    Attributes
    ----------
    png : bytes
    aspect : float
        Width over height.
    projection : Array
        (4, 4), homogeneous: from points of the case [mm] to shares of the picture's
        width and height, counted from its lower left corner.
    axis_reach : float
        Where beyond the tips of the datum's arrows their names go [mm from the datum].
    """

    png: bytes
    aspect: float
    projection: Array
    axis_reach: float

    def shares(self, points: Array) -> Array:
        """Return where points (n, 3) are on the picture, (n, 2), as shares of it."""
        whole = np.column_stack([points, np.ones(len(points))]) @ self.projection.T
        shares: Array = whole[:, :2] / whole[:, 3:4]
        return shares


def rendered_picture(
    rendering: Rendering,
    centreline: Centreline,
    *,
    radius: float,
    tags: tuple[str, str],
    axis_names: Sequence[str],
    width: float,
    height: float,
) -> Drawing:
    """Return a rendering in the middle of a box, with the names of bends and ends.

    Parameters
    ----------
    radius : float
        Of the tube [mm].
    tags : pair of str
        Lettering at the tube's ends.
    axis_names : sequence of 3 str
        At the tips of the datum's arrows.
    width, height : float
        Of the box, whose lower left corner is (0, 0) [mm].
    """
    picture = _middle_of(rendering, width=width, height=height)
    size = (picture.width, picture.height)

    def project(points: Array) -> tuple[Place, ...]:
        flat = rendering.shares(points) * size + picture.position
        return tuple((float(x), float(y)) for x, y in flat)

    points = sample(centreline, spacing=SPACING)
    path = project(points)
    paper = box(picture)
    tips = project(rendering.axis_reach * np.eye(3))
    axes = tuple(_axis_names(axis_names, tips, paper=paper))
    lettering = labels(
        centreline,
        project,
        tags=tags,
        reach=radius * _greatest_scale(points, path),
        paper=paper,
        taken=map(box, axes),
    )
    # In black and white the colours of the run's bends tell nothing: a line as well.
    line = Polyline(points=path, layer=Layers.CENTRE)
    return Drawing(
        entities=(picture, line, *axes, *lettering),
        low=(0.0, 0.0),
        high=(width, height),
    )


def _middle_of(rendering: Rendering, *, width: float, height: float) -> Picture:
    """Return a rendering as large as it fits in the middle of a box."""
    wide = min(width, height * rendering.aspect)
    high = wide / rendering.aspect
    return Picture(
        position=((width - wide) / 2.0, (height - high) / 2.0),
        width=wide,
        height=high,
        png=rendering.png,
    )


def _greatest_scale(points: Array, path: tuple[Place, ...]) -> float:
    """Return the greatest scale along a path [mm on paper for a mm in the case].

    A stretch that runs across the view, and near the eye, shows how wide the tube is.
    """
    steps = np.linalg.norm(np.diff(np.array(path), axis=0), axis=1)
    return float((steps / np.linalg.norm(np.diff(points, axis=0), axis=1)).max())


def _axis_names(
    names: Sequence[str], tips: tuple[Place, ...], *, paper: Extent
) -> Iterator[Entity]:
    """Yield the names of the datum's arrows at their tips: apart, none over the rim."""
    named: list[tuple[Place, Place]] = []
    for name, (x, y) in zip(names, tips, strict=True):
        half = text_width(name, _LETTERS) / 2.0 + 1.0
        middle = min(max(x, paper[0] + half), paper[2] - half)
        for aside in (0.0, -_APART, _APART, -2.0 * _APART, 2.0 * _APART):
            at = (middle, y - 1.0 + aside)
            lettering = lettered(name, at, size=_LETTERS, anchor="middle")
            if not any(overlaps(lettering[0], low, high) for low, high in named):
                break
        named.append(extent(lettering))
        yield from lettering
