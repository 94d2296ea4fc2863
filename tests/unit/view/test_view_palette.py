"""The colours against published measures of contrast and of colour-blind sight."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from loopsolver.view import palette

# Machado, Oliveira, Fernandes, "A physiologically-based model for simulation of color
# vision deficiency", IEEE Trans. Vis. Comput. Graph. 15 (2009), table 1, severity 1.0;
# to be applied to linear RGB.
MACHADO = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
# sRGB to CIE XYZ (D65), IEC 61966-2-1.
TO_XYZ = np.array(
    [
        [0.4124, 0.3576, 0.1805],
        [0.2126, 0.7152, 0.0722],
        [0.0193, 0.1192, 0.9505],
    ]
)
WHITE = np.array([0.9505, 1.0, 1.089])


def linear(colour):
    """sRGB to linear, IEC 61966-2-1."""
    share = np.asarray(colour) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def contrast(first, second):
    """Contrast ratio of WCAG 2.1, "relative luminance" and "contrast ratio"."""
    lights = sorted(
        (float(linear(c) @ (0.2126, 0.7152, 0.0722)) for c in (first, second)),
        reverse=True,
    )
    return (lights[0] + 0.05) / (lights[1] + 0.05)


def lab(rgb_linear):
    """CIE 1976 L*a*b* of linear sRGB, CIE 15."""
    ratio = TO_XYZ @ np.clip(rgb_linear, 0.0, 1.0) / WHITE
    bent = np.where(
        ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116
    )
    x, y, z = bent
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def test_contrast_of_black_and_white_is_21():
    # WCAG 2.1: ratios range from 1 to 21.
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)


@pytest.mark.parametrize("back", [palette.PANEL, palette.PAPER], ids=["panel", "paper"])
@pytest.mark.parametrize(
    "ink",
    [
        palette.INK,
        palette.FAINT_INK,
        palette.WARNING_INK,
        palette.darker(palette.PORT, by=0.35),
        palette.darker(palette.KEEP_OUT, by=0.2),
    ],
)
def test_words_are_readable(ink, back):
    # WCAG 2.1, criterion 1.4.3 (AA): at least 4.5 to 1.
    assert contrast(ink, back) >= 4.5


@pytest.mark.parametrize(
    "colour",
    [palette.STRAIGHT, palette.PORT, palette.WANTED, palette.FITTING, palette.KEEP_OUT],
)
def test_things_that_matter_stand_out_from_the_paper(colour):
    # WCAG 2.1, criterion 1.4.11: graphical objects at least 3 to 1.
    assert contrast(colour, palette.PAPER) >= 3.0


@pytest.mark.parametrize("sight", [None, *MACHADO])
def test_straights_bends_and_other_tubes_stay_apart_for_every_sight(sight):
    matrix = np.eye(3) if sight is None else np.array(MACHADO[sight])
    colours = [palette.STRAIGHT, palette.BEND, palette.OTHER_STRAIGHT, palette.WANTED]
    seen = [lab(matrix @ linear(colour)) for colour in colours]
    for first, second in combinations(seen, 2):
        # A just noticeable difference is about 2.3 (Mahy, Van Eycken, Oosterlinck 1994);
        # ten times that is apart at a glance.
        assert np.linalg.norm(first - second) > 23.0


def test_straights_and_bends_stay_apart_in_grey():
    lightness = [lab(linear(colour))[0] for colour in (palette.STRAIGHT, palette.BEND)]
    assert lightness[1] - lightness[0] > 25.0


def test_darker_takes_the_share_of_black():
    assert palette.darker((200, 100, 50), by=0.5) == (100, 50, 25)
    assert palette.darker((200, 100, 50), by=0.0) == (200, 100, 50)


def test_colours_are_handed_to_vtk_as_shares_of_the_most() -> None:
    """51 and 102 are a fifth and two fifths of 255."""
    assert palette.as_fractions((255, 51, 102)) == pytest.approx((1.0, 0.2, 0.4))
    assert palette.as_fractions((51, 102, 0)) == pytest.approx((0.2, 0.4, 0.0))


def test_every_colour_is_of_three_bytes() -> None:
    named = [one for one in vars(palette).values() if isinstance(one, tuple)]
    colours = [one for one in named if isinstance(one[0], int)]
    colours += [one for row in named if row not in colours for one in row]
    assert len(colours) > 20
    assert all(0 <= part <= 255 for colour in colours for part in colour)
    assert all(len(colour) == 3 for colour in colours)
