"""A part seen from above at a slant, as a picture in greys."""

from __future__ import annotations

import io
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.drafting.drawing import Picture
from loopsolver.geometry.mesh_samples import numbered
from loopsolver.geometry.vectors import Array, Indices
from loopsolver.tolerances import UNIT_LENGTH
from loopsolver.workshop.jigs.shell import Shell

_DOTS: Final = 6.0
"""A millimetre of paper: 152 dots an inch."""

TOWARDS: Final = (0.45, -0.75, 0.62)
"""From the part to who looks."""

_LIGHT: Final = (0.15, -0.45, 0.9)
_OVER: Final = 3  # samples a dot, each way: fewer leave holes in engraved lettering


def part_picture(shell: Shell, *, width: float, height: float) -> Picture:
    """Return a part fitted to a box whose lower left corner is (0, 0) [mm]."""
    from PIL import Image

    wide, tall = round(width * _DOTS), round(height * _DOTS)
    samples = _rendered(shell, _OVER * wide, _OVER * tall)
    dots = samples.reshape(tall, _OVER, wide, _OVER).mean(axis=(1, 3))
    data = io.BytesIO()
    Image.fromarray(dots.astype(np.uint8)).save(data, format="PNG")
    return Picture(position=(0.0, 0.0), width=width, height=height, png=data.getvalue())


def _rendered(shell: Shell, wide: int, tall: int) -> NDArray[np.uint8]:
    """Return the greys of a part, (tall, wide), each of what is nearest at its middle."""
    towards = np.array(TOWARDS) / np.linalg.norm(TOWARDS)
    right = np.cross((0.0, 0.0, 1.0), towards)
    right /= np.linalg.norm(right)
    seen = shell.surface @ np.array([right, np.cross(towards, right), towards]).T
    flat = seen[..., :2]
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    scale = min(*((np.array([wide, tall]) - 4.0 * _OVER) / (high - low)))
    flat = (flat - 0.5 * (low + high)) * scale + 0.5 * np.array([wide, tall])
    normals = np.cross(
        shell.surface[:, 1] - shell.surface[:, 0],
        shell.surface[:, 2] - shell.surface[:, 0],
    )
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), UNIT_LENGTH)
    a, b = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    area = 0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    of, x, y = _covered(flat, np.flatnonzero(area > 0.0))
    off = np.stack([x + 0.5, y + 0.5], axis=1) - flat[of, 0]
    s = (off[:, 0] * b[of, 1] - off[:, 1] * b[of, 0]) / (2.0 * area[of])
    t = (a[of, 0] * off[:, 1] - a[of, 1] * off[:, 0]) / (2.0 * area[of])
    depth = seen[..., 2]
    near = (
        depth[of, 0]
        + s * (depth[of, 1] - depth[of, 0])
        + t * (depth[of, 2] - depth[of, 0])
    )
    light = np.array(_LIGHT) / np.linalg.norm(_LIGHT)
    shade = (60.0 + 170.0 * np.clip(normals @ light, 0.0, 1.0)).astype(np.uint8)
    greys = np.full((tall, wide), 255, dtype=np.uint8)
    order = np.argsort(near, kind="stable")
    greys[tall - 1 - y[order], x[order]] = shade[of[order]]
    return greys


def _covered(flat: Array, which: Indices) -> tuple[Indices, Indices, Indices]:
    """Return the dots whose middles lie in triangles: of which, column and row of each.

    Row by row of each triangle `which`: from where two sides cut its middle line.
    """
    below = np.floor(flat[which, :, 1].min(axis=1)).astype(np.intp)
    above = np.ceil(flat[which, :, 1].max(axis=1)).astype(np.intp)
    at, number = numbered(above - below)
    row, of = below[at] + number, which[at]
    middle = (row + 0.5)[:, None]
    start, end = flat[of], np.roll(flat[of], -1, axis=1)
    is_cut = (start[..., 1] <= middle) != (end[..., 1] <= middle)
    rise = np.where(is_cut, end[..., 1] - start[..., 1], 1.0)
    share = (middle - start[..., 1]) / rise
    cut = start[..., 0] + share * (end[..., 0] - start[..., 0])
    met = np.flatnonzero(is_cut.any(axis=1))
    is_cut, cut = is_cut[met], cut[met]
    left = np.where(is_cut, cut, np.inf).min(axis=1)
    right = np.where(is_cut, cut, -np.inf).max(axis=1)
    first, beyond = (np.ceil(one - 0.5).astype(np.intp) for one in (left, right))
    each, number = numbered(beyond - first)
    return of[met][each], first[each] + number, row[met][each]
