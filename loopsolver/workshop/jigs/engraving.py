"""Lettering sunk into a printed part: outlines of letters, fitted to a rectangle."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from loopsolver.drafting.drawing import Face, Place, between
from loopsolver.drafting.lettering import CAPITAL, text_width
from loopsolver.geometry.vectors import Array
from loopsolver.workshop.jigs.shell import FlatSide, Surface, fan, ring
from loopsolver.workshop.jigs.sunk import sunk

Rectangle = tuple[Place, Place]
"""Lower left and upper right corner of a rectangle [mm]."""

Wordings = Sequence[Sequence[str]]
"""Lines of lettering to choose from."""

MARGIN: Final = 1.0
"""Kept free round lettering [mm]."""

SUNK: Final = 0.6
"""Depth of the lettering [mm]: three layers of 0.2 mm. Common practice, no source."""

LEAST_CAPITALS: Final = 2.6
"""Smaller ones run together under a nozzle of 0.4 mm [mm]. Common practice, no source."""

_MOST_CAPITALS: Final = 6.0
_LEADING: Final = 1.7  # from base line to base line, over the height of the capitals
_APART: Final = 0.15  # further between letters than in print, in capitals' heights
_SPACE: Final = 0.3  # further between words, the same
_FINEST: Final = 2  # decimals of a letter's corners [mm]
_STEPS: Final = 2  # straight pieces that stand for a curve of a letter


def lettered_face(
    outline: Array, ground: FlatSide, choices: Wordings, *, room: Rectangle
) -> Surface:
    """Return a convex flat face with the first of some choices of lines that fits.

    Without lettering where none fits in capitals that can be printed.

    Parameters
    ----------
    outline : Array, (n, 3)
        Counter-clockwise as seen from outside [mm].
    ground : FlatSide
        Right and up as the lettering is read.
    choices : Wordings
        The fullest words first.
    room : Rectangle
        What the lettering is kept within, on the face [mm].
    """
    low, high = room
    width, tallest = high[0] - low[0], high[1] - low[1]
    for lines in choices:
        widest = max(map(_width, lines))
        tall = 1.0 + _LEADING * (len(lines) - 1)
        size = min(width / (widest + 0.4), tallest / (tall + 0.8), _MOST_CAPITALS)
        if size >= LEAST_CAPITALS:
            top = (0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1] + tall * size))
            block = sunk(
                [one for line in _placed(lines, size, top) for one in line],
                low=(
                    top[0] - (0.5 * widest + 0.2) * size,
                    top[1] - (tall + 0.4) * size,
                ),
                high=(top[0] + (0.5 * widest + 0.2) * size, top[1] + 0.4 * size),
                depth=SUNK,
                ground=ground,
                height=float(np.mean(outline @ ground.axes[2])),
            )
            return np.concatenate([ring(outline, block.outline, ground), block.surface])
    return fan(outline)


def upright_face(outline: Array, ground: FlatSide, choices: Wordings) -> Surface:
    """Return a convex face, lettered within what lies between its edges.

    That is a rectangle where at most one corner at either end stands out along
    `ground.right`, and one at top and bottom along `ground.up`.
    """
    flat = outline @ ground.axes[:2].T
    low, high = (np.sort(flat, axis=0)[at] for at in (1, -2))
    room = (low[0] + MARGIN, low[1] + MARGIN), (high[0] - MARGIN, high[1] - MARGIN)
    return lettered_face(outline, ground, choices, room=room)


def _placed(
    lines: Sequence[str], size: float, top: Place
) -> Iterator[list[tuple[Place, ...]]]:
    """Yield the outlines of each line, below a place in the middle over them all."""
    for number, line in enumerate(lines):
        x = top[0] - 0.5 * _width(line) * size
        y = top[1] - (1.0 + number * _LEADING) * size
        found = []
        for letter in line:
            found += [
                tuple(
                    (
                        round(x + across * size, _FINEST),
                        round(y + up * size, _FINEST),
                    )
                    for across, up in outline
                )
                for outline in letter_outlines(letter)
            ]
            x += _width(letter) * size
        yield found


def _width(text: str) -> float:
    """Return how wide a text is, its letters apart, over the height of the capitals."""
    apart = _APART * len(text) + _SPACE * text.count(" ")
    return text_width(text, 1.0, Face.STRONG) + apart


@lru_cache(maxsize=128)
def letter_outlines(letter: str) -> tuple[tuple[Place, ...], ...]:
    """Return a letter of the strong lettering font, capitals one unit high."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    glyphs, names, em = _font()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[names[ord(letter)]].draw(pen)
    unit = em * CAPITAL
    return tuple(
        tuple((x / unit, y / unit) for x, y in one) for one in _outlines(pen.value)
    )


@lru_cache(maxsize=1)
def _font() -> tuple[Any, Any, int]:
    """Return the font's glyphs, their names by letter, and its units to the em."""
    import reportlab
    from fontTools.ttLib import TTFont

    font = TTFont(Path(reportlab.__file__).parent / "fonts" / "VeraBd.ttf")
    return font.getGlyphSet(), font.getBestCmap(), font["head"].unitsPerEm


def _outlines(strokes: Sequence[tuple[str, Any]]) -> Iterator[list[Place]]:
    """Yield the outlines that a pen drew, with chords for the curves [font units]."""
    from fontTools.pens.basePen import decomposeQuadraticSegment

    points: list[Place] = []
    for kind, args in strokes:
        if kind == "moveTo":
            points = [args[0]]
        elif kind == "lineTo":
            points.append(args[0])
        elif kind == "qCurveTo":
            for bend, end in decomposeQuadraticSegment(args):
                points += _chords(points[-1], bend, end)
        else:
            yield points


def _chords(start: Place, bend: Place, end: Place) -> Iterator[Place]:
    """Yield points along a quadratic curve, after its start."""
    for step in range(1, _STEPS + 1):
        share = step / _STEPS
        yield between(between(start, bend, share), between(bend, end, share), share)
