"""The colours of the window and of pictures, and what each of them stands for.

Straights and bends differ in lightness as well as in hue, so that they stay apart for
colour-blind eyes and on a grey print; the other tubes are pale, not of another hue.
"""

from __future__ import annotations

from typing import Final

Colour = tuple[int, int, int]
"""Red, green and blue, 0 to 255."""

PAPER: Final[Colour] = (250, 249, 246)
"""Behind the build."""

PANEL: Final[Colour] = (233, 236, 239)
"""Behind the words."""

INK: Final[Colour] = (28, 33, 41)
FAINT_INK: Final[Colour] = (82, 90, 102)
WARNING_INK: Final[Colour] = (158, 18, 48)

STRAIGHT: Final[Colour] = (23, 92, 168)
BEND: Final[Colour] = (245, 150, 20)
OTHER_STRAIGHT: Final[Colour] = (176, 190, 205)
OTHER_BEND: Final[Colour] = (140, 156, 174)
OLD_STRAIGHT: Final[Colour] = (214, 212, 207)
OLD_BEND: Final[Colour] = (196, 194, 188)
"""A tube of before the last save, until there is a new one: grey, no hue at all."""

TUBE_END: Final[Colour] = (60, 66, 74)
FITTING: Final[Colour] = (84, 90, 98)
PORT: Final[Colour] = (0, 128, 112)
WANTED: Final[Colour] = (198, 24, 84)
"""What is asked for and not there yet: the line between two ports without a tube."""

LEAST_GAP: Final[Colour] = (198, 24, 84)
CLASH: Final[Colour] = (226, 24, 0)
"""Where another tube is too near: a wide ring, so that its shape tells as well."""

MEASURE: Final[Colour] = (176, 0, 132)
"""What is measured by hand: a stronger violet red, thin and with its number."""

CUT: Final[Colour] = (16, 120, 190)
"""The section plane: its rim, and the edges where it cuts."""

TO_BEND: Final[Colour] = (250, 214, 150)
"""Where a straight blank will be bent: the colour of bends, paler."""

AIR: Final[Colour] = (122, 62, 176)
"""Where air stays: violet, which nothing else is."""

KEEP_OUT: Final[Colour] = (160, 62, 54)

CASE: Final[Colour] = (70, 78, 90)
FLOOR: Final[Colour] = (226, 228, 228)
FLOOR_GRID: Final[Colour] = (204, 208, 210)
DATUM: Final[Colour] = (40, 46, 56)

BODIES: Final[tuple[Colour, ...]] = (
    (120, 146, 176),
    (186, 160, 122),
    (126, 168, 148),
    (176, 136, 156),
    (150, 150, 178),
    (176, 172, 120),
)
"""Muted, in turn from component to component: a body is surroundings, not the matter."""


def as_fractions(colour: Colour) -> tuple[float, float, float]:
    """Return a colour as red, green and blue from 0 to 1."""
    red, green, blue = colour
    return (red / 255.0, green / 255.0, blue / 255.0)


def darker(colour: Colour, *, by: float) -> Colour:
    """Return a colour mixed with black; `by` is the share of black, 0 to 1."""
    red, green, blue = (round(part * (1.0 - by)) for part in colour)
    return (red, green, blue)
