"""SVG, attribute by attribute: pens, greys, lettering and pictures as SVG 1.1 has them."""

from __future__ import annotations

import base64
import xml.etree.ElementTree as ET

import pytest

from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Picture,
    Polygon,
    Text,
)
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.writers.svg import svg_document

SVG = "{http://www.w3.org/2000/svg}"
PEN = Layer(name="a & b", width=0.25, dash=(1.2, 0.8), grey=0.4)
NO_PEN = Layer(name="areas", width=0.0)


def root_of(*entities: Entity, title: str = "x") -> ET.Element:
    drawing = Drawing(entities=entities, low=(10.0, -20.0), high=(110.5, 40.0))
    return ET.fromstring(svg_document(drawing, title=title))


def group_of(entity: Entity) -> ET.Element:
    (group,) = root_of(entity).iter(f"{SVG}g")
    return group


def line(layer: Layer) -> Line:
    return Line(start=(10.0, -20.0), end=(10.00004, 39.99996), layer=layer)


def test_a_pen_is_a_group_with_its_width_its_dashes_and_its_grey() -> None:
    """0.4 of 255 is 102, which is 66 in hexadecimal digits."""
    group = group_of(line(PEN))
    assert group.get("data-layer") == "a & b"
    assert group.get("stroke") == "#666666"
    assert group.get("stroke-width") == "0.25"
    assert group.get("stroke-dasharray") == "1.2 0.8"
    assert group.get("fill") == "none"
    solid = group_of(line(Layer(name="edges", width=0.6)))
    assert solid.get("stroke") == "#000000"
    assert solid.get("stroke-dasharray") is None


def test_a_pen_without_width_draws_no_line() -> None:
    assert group_of(line(NO_PEN)).get("stroke") == "none"


def test_things_of_one_pen_in_a_row_share_a_group_and_keep_their_order() -> None:
    shapes = [line(PEN), line(PEN), line(NO_PEN), line(PEN)]
    groups = list(root_of(*shapes).iter(f"{SVG}g"))
    assert [len(group) for group in groups] == [2, 1, 1]


def test_numbers_are_to_a_ten_thousandth_and_never_minus_nought() -> None:
    """x from the left edge at 10, y down from the upper one at 40."""
    (drawn,) = group_of(line(PEN))
    assert [drawn.get(key) for key in ("x1", "y1", "x2", "y2")] == ["0", "60", "0", "0"]
    near = Circle(centre=(9.99999, 40.0), radius=2.25, layer=PEN)
    (drawn,) = group_of(near)
    assert [drawn.get(key) for key in ("cx", "cy", "r")] == ["0", "0", "2.25"]


def test_the_page_is_white_and_as_large_as_its_box() -> None:
    root = root_of()
    ground = next(root.iter(f"{SVG}rect"))
    assert (ground.get("width"), ground.get("height")) == ("100.5", "60")
    assert ground.get("fill") == "#fff"


@pytest.mark.parametrize(
    ("fill", "written"), [(None, None), (0.0, "#000000"), (1.0, "#ffffff")]
)
def test_areas_have_the_grey_they_are_filled_with(fill, written) -> None:
    corners = ((10.0, 0.0), (20.0, 0.0), (20.0, 10.0))
    for shape in (
        Circle(centre=(50.0, 0.0), radius=5.0, layer=PEN, fill=fill),
        Polygon(points=corners, layer=PEN, fill=fill),
    ):
        (drawn,) = group_of(shape)
        assert drawn.get("fill") == written


def test_lettering_has_its_height_weight_grey_and_anchor() -> None:
    """Capitals are 0.729 of the letters' size: 7.29 mm of capitals are size 10."""
    plain = Text(position=(20.0, 0.0), text="a < b", size=7.29)
    strong = Text(
        position=(20.0, 0.0),
        text="b",
        size=7.29,
        anchor="end",
        angle_deg=30.0,
        face=Face.STRONG,
        grey=1.0,
    )
    first, second = root_of(plain, strong).iter(f"{SVG}text")
    assert (first.get("x"), first.get("y"), first.text) == ("10", "40", "a < b")
    assert first.get("font-size") == second.get("font-size") == "10"
    assert (first.get("font-weight"), second.get("font-weight")) == (None, "bold")
    assert (first.get("fill"), second.get("fill")) == ("#000000", "#ffffff")
    assert (first.get("text-anchor"), second.get("text-anchor")) == ("start", "end")
    assert (first.get("transform"), second.get("transform")) == (
        None,
        "rotate(-30 10 40)",
    )
    assert {one.get("stroke") for one in (first, second)} == {"none"}
    assert "DejaVu Sans" in str(first.get("font-family"))


def test_a_picture_is_inside_the_file_with_its_size() -> None:
    shape = Picture(position=(20.0, 0.0), width=30.0, height=15.0, png=b"a picture")
    drawn = next(root_of(shape).iter(f"{SVG}image"))
    kind, _, data = str(drawn.get("href")).partition(",")
    assert kind == "data:image/png;base64"
    assert base64.b64decode(data) == b"a picture"
    keys = ("x", "y", "width", "height")
    assert [drawn.get(key) for key in keys] == ["10", "25", "30", "15"]
    (group,) = root_of(shape).iter(f"{SVG}g")
    assert group.get("data-layer") == "notes"


def test_a_title_is_one_line_of_200_letters_at_most() -> None:
    for given, kept in (("a &\n b", "a & b"), ("x" * 201, "x" * 200)):
        title = next(root_of(title=given).iter(f"{SVG}title"))
        assert title.text == kept
