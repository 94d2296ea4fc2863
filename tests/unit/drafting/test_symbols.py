"""Symbols: how they stand round their places, laid out by hand."""

from __future__ import annotations

import pytest

from loopsolver.drafting.drawing import Circle, Polygon, Text
from loopsolver.drafting.layers import PageLayers
from loopsolver.drafting.lettering import text_width
from loopsolver.drafting.symbols import (
    arrow_head,
    lettered,
    numbered_disc,
    readable_deg,
)


@pytest.mark.parametrize(("number", "height"), [(1, 3.8), (9, 3.8), (10, 3.0)])
def test_a_number_stands_in_the_middle_of_its_disc(number: int, height: float) -> None:
    """One digit is 0.95 of the radius of 4 mm high, two are 0.75: so both fit in."""
    disc, says = numbered_disc((20.0, 30.0), number, radius=4.0)
    assert disc == Circle(
        centre=(20.0, 30.0), radius=4.0, layer=PageLayers.NOTE, fill=0.0
    )
    assert isinstance(says, Text)
    assert says.text == str(number)
    assert says.size == pytest.approx(height)
    # Capitals stand on their base line: half of their height is below the middle.
    assert says.anchor == "middle"
    assert says.position == pytest.approx((20.0, 30.0 - height / 2.0))
    half = text_width(says.text, says.size, says.face) / 2.0
    assert half**2 + (height / 2.0) ** 2 < 4.0**2


@pytest.mark.parametrize(("fill", "grey"), [(0.0, 1.0), (1.0, 0.0), (0.25, 0.75)])
def test_a_number_is_as_light_as_its_disc_is_dark(fill: float, grey: float) -> None:
    disc, says = numbered_disc((0.0, 0.0), 3, radius=2.0, fill=fill)
    assert isinstance(disc, Circle)
    assert isinstance(says, Text)
    assert (disc.fill, says.grey) == (fill, grey)


@pytest.mark.parametrize(
    ("angle_deg", "turned"),
    [
        (0.0, lambda a, u: (a, u)),
        (90.0, lambda a, u: (-u, a)),
        (-90.0, lambda a, u: (u, -a)),
    ],
)
@pytest.mark.parametrize(
    ("anchor", "share"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)]
)
def test_ground_is_cleared_round_lettering(angle_deg, turned, anchor, share) -> None:
    """Half a millimetre at both ends; 0.4 of the height below the line, 0.3 above."""
    ground, says = lettered(
        "pump", (50.0, 40.0), size=4.0, anchor=anchor, angle_deg=angle_deg
    )
    assert isinstance(ground, Polygon)
    assert (ground.layer, ground.fill) == (PageLayers.SOLID, 1.0)
    width = text_width("pump", 4.0)
    left, right = -0.5 - share * width, (1.0 - share) * width + 0.5
    corners = [(left, -1.6), (right, -1.6), (right, 5.2), (left, 5.2)]
    for point, corner in zip(ground.points, corners, strict=True):
        along, up = turned(*corner)
        assert point == pytest.approx((50.0 + along, 40.0 + up))
    assert says == Text(
        position=(50.0, 40.0), text="pump", size=4.0, anchor=anchor, angle_deg=angle_deg
    )


@pytest.mark.parametrize(
    ("angle_deg", "read_deg"),
    [
        (0.0, 0.0),
        (45.0, 45.0),
        (90.0, 90.0),  # upright, read from the right
        (95.0, 95.0),
        (96.0, -84.0),
        (135.0, -45.0),
        (180.0, 0.0),
        (270.0, 90.0),
        (-90.0, 90.0),
        (275.0, 95.0),
        (276.0, 276.0),
        (350.0, 350.0),
        (405.0, 45.0),
    ],
)
def test_lettering_is_never_on_its_head(angle_deg: float, read_deg: float) -> None:
    assert readable_deg(angle_deg) == pytest.approx(read_deg)


@pytest.mark.parametrize(
    ("heading_deg", "points"),
    [
        (0.0, ((10.0, 5.0), (7.6, 5.45), (7.6, 4.55))),
        (90.0, ((10.0, 5.0), (9.55, 2.6), (10.45, 2.6))),
    ],
)
def test_an_arrow_head_ends_at_its_tip(heading_deg: float, points) -> None:
    """2.4 mm long and 0.9 mm wide, filled."""
    head = arrow_head((10.0, 5.0), heading_deg)
    for point, wanted in zip(head.points, points, strict=True):
        assert point == pytest.approx(wanted)
    assert (head.layer, head.fill) == (PageLayers.DIMENSION, 0.0)
