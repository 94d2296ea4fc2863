"""A part seen from above at a slant, as a picture in greys."""

from __future__ import annotations

import io
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.drafting.drawing import Picture
from loopsolver.tolerances import UNIT_LENGTH
from loopsolver.workshop.jigs.shell import Shell

_DOTS: Final = 6.0
"""A millimetre of paper: 152 dots an inch."""

_TOWARDS: Final = (0.45, -0.75, 0.62)  # from the part to who looks
_LIGHT: Final = (0.15, -0.45, 0.9)
_OVER: Final = 4.0  # samples a dot
_GOLDEN: Final = (0.7548776662466927, 0.5698402909980532)
"""Steps of the even sequence of samples: powers of the root of ``x^3 = x + 1``."""


def part_picture(shell: Shell, *, width: float, height: float) -> Picture:
    """Return a part fitted to a box whose lower left corner is (0, 0) [mm]."""
    from PIL import Image

    dots = _rendered(shell, round(width * _DOTS), round(height * _DOTS))
    data = io.BytesIO()
    Image.fromarray(dots).save(data, format="PNG")
    return Picture(position=(0.0, 0.0), width=width, height=height, png=data.getvalue())


def _rendered(shell: Shell, wide: int, tall: int) -> NDArray[np.uint8]:
    """Return the greys of a part, (tall, wide), seen dot by dot: the nearest sample."""
    towards = np.array(_TOWARDS) / np.linalg.norm(_TOWARDS)
    right = np.cross((0.0, 0.0, 1.0), towards)
    right /= np.linalg.norm(right)
    seen = shell.surface @ np.array([right, np.cross(towards, right), towards]).T
    flat = seen[..., :2]
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    scale = min(*((np.array([wide, tall]) - 4.0) / (high - low)))
    flat = (flat - 0.5 * (low + high)) * scale + 0.5 * np.array([wide, tall])
    normals = np.cross(
        shell.surface[:, 1] - shell.surface[:, 0],
        shell.surface[:, 2] - shell.surface[:, 0],
    )
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), UNIT_LENGTH)
    a, b = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    area = 0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    front = area > 0.0
    counts = np.where(front, np.ceil(_OVER * area) + 3, 0).astype(int)
    of = np.repeat(np.arange(len(flat)), counts)
    s, t = (np.arange(len(of)) * one % 1.0 for one in _GOLDEN)
    over = s + t > 1.0
    s, t = np.where(over, 1.0 - s, s), np.where(over, 1.0 - t, t)
    at = flat[of, 0] + s[:, None] * a[of] + t[:, None] * b[of]
    depth = seen[..., 2]
    near = (
        depth[of, 0]
        + s * (depth[of, 1] - depth[of, 0])
        + t * (depth[of, 2] - depth[of, 0])
    )
    x, y = np.floor(at).astype(int).clip(0, (wide - 1, tall - 1)).T
    light = np.array(_LIGHT) / np.linalg.norm(_LIGHT)
    shade = (60.0 + 170.0 * np.clip(normals @ light, 0.0, 1.0)).astype(np.uint8)
    greys = np.full((tall, wide), 255, dtype=np.uint8)
    order = np.argsort(near, kind="stable")
    greys[tall - 1 - y[order], x[order]] = shade[of[order]]
    return greys
