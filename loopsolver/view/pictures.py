"""PNG files: small, whole or not there, and marked as our own."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from io import BytesIO
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from loopsolver.errors import OutputError
from loopsolver.files import check_not_read, check_place, write_whole
from loopsolver.view import palette

Pixels = NDArray[np.uint8]
"""A picture, (height, width, 3)."""

MARK: Final = "loopsolver"
"""Under this name every picture carries its own sum, so that we know ours again."""

PALETTE_COLOURS: Final = 256

STRONG_COLOURS: Final = 96
"""How many of them are for strong colours: tubes, ports, warnings."""

STRONG_SPREAD: Final = 56
"""A colour is strong if its strongest part exceeds its weakest by more, of 255."""

EVERY: Final = 4
"""Of so many pixels one is looked at for the common colours: that tells them as well."""

KEPT_COLOURS: Final = (
    palette.PAPER,
    palette.PANEL,
    palette.INK,
    palette.FAINT_INK,
    palette.WARNING_INK,
    palette.STRAIGHT,
    palette.BEND,
    palette.OTHER_STRAIGHT,
    palette.PORT,
    palette.WANTED,
    palette.KEEP_OUT,
)
"""Colours that carry a meaning: they are in every picture's palette as they are."""


def _common_colours(pixels: Pixels, *, count: int) -> Pixels:
    """Return so many colours that stand for those of some pixels (n, 3)."""
    if not len(pixels):
        return np.empty((0, 3), dtype=np.uint8)
    picture = Image.fromarray(pixels[None])
    few = picture.quantize(count, method=Image.Quantize.MEDIANCUT)
    return np.array(few.getpalette(), dtype=np.uint8).reshape(-1, 3)[:count]


def _colours(pixels: Pixels) -> Pixels:
    """Return a palette for a picture, at most `PALETTE_COLOURS` rows.

    Strong colours are few on the picture but carry its meaning: they get a share of
    their own, or the pale ones would take nearly all.
    """
    flat = pixels.reshape(-1, 3)[::EVERY]
    parts = np.ascontiguousarray(flat.T)  # along its first axis numpy is quick
    spread = parts.max(axis=0) - parts.min(axis=0)
    strong = spread > STRONG_SPREAD
    kept = np.array(KEPT_COLOURS, dtype=np.uint8)
    rest = PALETTE_COLOURS - len(kept) - STRONG_COLOURS
    return np.vstack(
        [
            kept,
            _common_colours(flat[strong], count=STRONG_COLOURS),
            _common_colours(flat[~strong], count=rest),
        ]
    )


def _indices(pixels: Pixels, colours: Pixels) -> Pixels:
    """Return for each pixel the place of the nearest colour, (height, width).

    Of pixels beside each other that are alike only the first is looked at: most are.
    """
    flat = pixels.reshape(-1, 3)
    codes = flat[:, 0].astype(np.uint32) << 16
    codes |= flat[:, 1].astype(np.uint32) << 8
    codes |= flat[:, 2]
    firsts = np.flatnonzero(np.diff(codes, prepend=codes[0] + 1))
    different, which = np.unique(codes[firsts], return_inverse=True)
    wanted = np.column_stack(
        [different >> 16, (different >> 8) & 255, different & 255]
    ).astype(np.float32)
    there = colours.astype(np.float32)
    # |a - b|^2 without |a|^2, which is the same for every b.
    apart = (there**2).sum(axis=1) - 2.0 * wanted @ there.T
    nearest = np.argmin(apart, axis=1).astype(np.uint8)
    lengths = np.diff(firsts, append=len(codes))
    indices: Pixels = np.repeat(nearest[which], lengths).reshape(pixels.shape[:2])
    return indices


def png_bytes(pixels: Pixels) -> bytes:
    """Return a picture as the bytes of a PNG of at most 256 colours.

    Same pixels, same bytes: no date is kept, and colours are not dithered.
    """
    colours = _colours(pixels)
    small = Image.fromarray(_indices(pixels, colours)).convert("P")
    small.putpalette(colours.tobytes())
    text = PngInfo()
    text.add_text("Software", "loopsolver")
    text.add_text(MARK, _sum(small))
    buffer = BytesIO()
    small.save(buffer, format="PNG", pnginfo=text)
    return buffer.getvalue()


def quick_png_bytes(pixels: Pixels) -> bytes:
    """Return a picture as the bytes of a PNG in all its colours; same pixels, same bytes.

    Some six times as quick as `png_bytes`, for pictures that go into another file.
    """
    buffer = BytesIO()
    Image.fromarray(pixels).save(buffer, format="PNG")
    return buffer.getvalue()


def is_own_picture(path: Path) -> bool:
    """Return whether a file is a PNG as loopsolver wrote it: its mark, all its pixels."""
    try:
        with Image.open(path, formats=["PNG"]) as picture:
            return picture.info.get(MARK) == _sum(picture)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return False


def _sum(picture: Image.Image) -> str:
    """Return the SHA-256 of a picture's size and colours, as hex digits."""
    shown = picture.convert("RGBA")
    data = f"{shown.width} {shown.height} ".encode() + shown.tobytes()
    return hashlib.sha256(data).hexdigest()


def demand_writable(path: Path, *, read: Iterable[Path] = (), force: bool) -> None:
    """Raise where a picture must not or cannot be put.

    Raises
    ------
    OutputError
        If the name does not end in .png, no file can stand there, it is one of those
        that are `read`, or it is no picture as loopsolver wrote it (unless `force`).
    """
    if path.suffix.lower() != ".png":
        msg = f"{path}: a picture's name ends in .png, found {path.suffix or 'no ending'!r}"
        raise OutputError(msg)
    check_place(path)
    check_not_read(path, read)
    if path.exists() and not force and not is_own_picture(path):
        msg = (
            f"{path}: stands there already and is no picture of loopsolver's, or was "
            "changed since; give another name, or --force to write over it"
        )
        raise OutputError(msg)


def write_picture(
    pixels: Pixels, path: Path, *, read: Iterable[Path] = (), force: bool = False
) -> None:
    """Write a picture as PNG, whole or not at all.

    Raises
    ------
    OutputError
        If the file must not or cannot be written.
    """
    demand_writable(path, read=read, force=force)
    write_whole(path, png_bytes(pixels))


def free_name(folder: Path, stem: str) -> Path:
    """Return a name in a folder that no file has yet: stem.png, stem-2.png, ..."""
    path, number = folder / f"{stem}.png", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.png"
    return path
