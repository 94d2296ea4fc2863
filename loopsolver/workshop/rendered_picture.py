"""A run in its case as it was rendered elsewhere, lettered like the drawn view."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.tube.centreline import Centreline, sample
from loopsolver.workshop.dimensions import lettered
from loopsolver.workshop.drawing import (
    Drawing,
    Entity,
    Layer,
    Picture,
    Place,
    Polyline,
)
from loopsolver.workshop.extent import box
from loopsolver.workshop.picture_labels import SPACING, Tag, labels


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
    tags: Tag,
    width: float,
    height: float,
) -> Drawing:
    """Return a rendering in the middle of a box, with the names of bends and ends.

    Parameters
    ----------
    radius : float
        Of the tube [mm].
    tags : Tag
        Lettering at the tube's ends.
    width, height : float
        Of the box, whose lower left corner is (0, 0) [mm].
    """
    wide = min(width, height * rendering.aspect)
    high = wide / rendering.aspect
    left, bottom = (width - wide) / 2.0, (height - high) / 2.0

    def project(points: Array) -> tuple[Place, ...]:
        flat = rendering.shares(points) * (wide, high) + (left, bottom)
        return tuple((float(x), float(y)) for x, y in flat)

    points = sample(centreline, spacing=SPACING)
    path = project(points)
    axes = tuple(_axis_names(project(rendering.axis_reach * np.eye(3))))
    steps = np.linalg.norm(np.diff(np.array(path), axis=0), axis=1)
    reals = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return Drawing(
        entities=(
            Picture(
                position=(left, bottom), width=wide, height=high, png=rendering.png
            ),
            # In black and white the colours of the run's bends tell nothing.
            Polyline(points=path, layer=Layer.CENTRE),
            *axes,
            *labels(
                centreline,
                project,
                tags=tags,
                # A stretch that runs across the view shows the tube's scale best.
                reach=radius * float((steps / reals).max()),
                paper=(left, bottom, left + wide, bottom + high),
                taken=map(box, axes),
            ),
        ),
        low=(0.0, 0.0),
        high=(width, height),
    )


def _axis_names(tips: tuple[Place, ...]) -> Iterator[Entity]:
    """Yield the names of the datum's arrows at their tips."""
    for name, (x, y) in zip("xyz", tips, strict=True):
        yield from lettered(name, (x, y - 1.0), size=2.0, anchor="middle")
