"""DXF, entity by entity, as the library reads its own file back; codes: DXF reference."""

from __future__ import annotations

import io
from typing import Any

import pytest
from ezdxf.filemanagement import read

from loopsolver.drafting.drawing import (
    Anchor,
    Arc,
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Picture,
    Polygon,
    Polyline,
    Text,
)
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.writers.dxf import dxf_document

PEN = Layer(name="pen", width=0.25)
AREAS = Layer(name="areas", width=0.0)


def document_of(*entities: Entity) -> Any:
    drawing = Drawing(entities=entities, low=(10.0, -20.0), high=(110.0, 40.0))
    return read(io.StringIO(dxf_document(drawing).decode()))


def only(*entities: Entity, kind: str) -> Any:
    (found,) = document_of(*entities).modelspace().query(kind)
    return found


@pytest.mark.parametrize(
    # Line weights of DXF near these: 0, 0.13, 0.15, 0.18, 0.2, 0.25, 0.6 mm.
    ("width", "weight"),
    [(0.25, 25), (0.6, 60), (0.12, 13), (0.06, 5), (0.0, 0), (0.19, 18)],
)
def test_a_layer_has_the_nearest_weight_there_is(width: float, weight: int) -> None:
    pen = Layer(name="pen", width=width)
    line = Line(start=(0.0, 0.0), end=(1.0, 0.0), layer=pen)
    layer = document_of(line).layers.get("pen")
    assert abs(layer.dxf.lineweight - weight) <= 1
    assert layer.dxf.color == 7  # black on white, white on black
    assert layer.dxf.linetype == "Continuous"
    assert layer.rgb is None


def test_a_layer_has_its_dashes_and_its_grey() -> None:
    """Lengths are positive and gaps negative; 0.4 of 255 is 102."""
    pen = Layer(name="axis", width=0.2, dash=(6.0, 1.2, 2.0, 1.2), grey=0.4)
    line = Line(start=(0.0, 0.0), end=(1.0, 0.0), layer=pen)
    document = document_of(line)
    layer = document.layers.get("axis")
    assert tuple(layer.rgb) == (102, 102, 102)
    assert layer.dxf.linetype == "axis"
    tags = document.linetypes.get("axis").pattern_tags.tags
    lengths = [tag.value for tag in tags if tag.code == 49]
    assert lengths == [6.0, -1.2, 2.0, -1.2]
    (whole,) = (tag.value for tag in tags if tag.code == 40)
    assert whole == pytest.approx(10.4)


def test_shapes_are_what_they_are() -> None:
    line = only(Line(start=(1.0, 2.0), end=(3.0, 4.0), layer=PEN), kind="LINE")
    assert (tuple(line.dxf.start)[:2], tuple(line.dxf.end)[:2]) == ((1, 2), (3, 4))
    assert line.dxf.layer == "pen"
    arc = only(
        Arc(centre=(1.0, 2.0), radius=5.0, start_deg=30, end_deg=100, layer=PEN),
        kind="ARC",
    )
    assert tuple(arc.dxf.center)[:2] == (1.0, 2.0)
    assert (arc.dxf.radius, arc.dxf.start_angle, arc.dxf.end_angle) == (5.0, 30, 100)
    corners = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0))
    path = only(Polyline(points=corners, layer=PEN), kind="LWPOLYLINE")
    assert [tuple(one)[:2] for one in path] == list(corners)
    assert not path.closed
    outline = only(Polygon(points=corners, layer=PEN), kind="LWPOLYLINE")
    assert [tuple(one)[:2] for one in outline] == list(corners)
    assert outline.closed
    circle = only(Circle(centre=(1.0, 2.0), radius=5.0, layer=PEN), kind="CIRCLE")
    assert (tuple(circle.dxf.center)[:2], circle.dxf.radius) == ((1.0, 2.0), 5.0)


@pytest.mark.parametrize(
    ("fill", "colour"),
    # 0.5 of 255 rounds to 128, half to even.
    [(None, None), (0.0, 0x000000), (0.5, 0x808080), (1.0, None)],
)
@pytest.mark.parametrize("layer", [PEN, AREAS])
def test_areas_are_filled_where_they_are_not_white_and_drawn_with_a_pen(
    fill: float | None, colour: int | None, layer: Layer
) -> None:
    corners = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0))
    for shape, kind in (
        (Circle(centre=(1.0, 2.0), radius=5.0, layer=layer, fill=fill), "CIRCLE"),
        (Polygon(points=corners, layer=layer, fill=fill), "LWPOLYLINE"),
    ):
        space = document_of(shape).modelspace()
        hatches = list(space.query("HATCH"))
        assert [one.dxf.true_color for one in hatches] == (
            [] if colour is None else [colour]
        )
        assert len(space.query(kind)) == (layer is PEN)
        for hatch in hatches:
            assert hatch.dxf.layer == layer.name
            (path,) = hatch.paths
            if kind == "CIRCLE":
                (edge,) = path.edges
                assert tuple(edge.center) == (1.0, 2.0)
                assert edge.radius == 5.0
                assert (edge.start_angle, edge.end_angle) == (0.0, 360.0)
            else:
                assert path.is_closed
                assert [tuple(one)[:2] for one in path.vertices] == list(corners)


@pytest.mark.parametrize(
    # Group 72: 0 left, 1 centre, 2 right.
    ("anchor", "code"),
    [("start", 0), ("middle", 1), ("end", 2)],
)
def test_lettering_stands_at_its_anchor(anchor: Anchor, code: int) -> None:
    text = Text(position=(5.0, 6.0), text="x", size=3.0, anchor=anchor, angle_deg=30.0)
    made = only(text, kind="TEXT")
    assert made.dxf.halign == code
    place = made.dxf.insert if anchor == "start" else made.dxf.align_point
    assert tuple(place)[:2] == (5.0, 6.0)
    assert (made.dxf.height, made.dxf.rotation) == (3.0, 30.0)
    assert not made.dxf.hasattr("true_color")


def test_lettering_has_its_face_and_its_grey() -> None:
    strong = Text(position=(0, 0), text="x", size=3.0, face=Face.STRONG, grey=0.4)
    document = document_of(strong, Text(position=(0, 9), text="y", size=3.0))
    first, second = document.modelspace().query("TEXT")
    styles = {name: document.styles.get(name).dxf.font for name in
              (first.dxf.style, second.dxf.style)}  # fmt: skip
    assert list(styles.values()) == ["DejaVuSans-Bold.ttf", "DejaVuSans.ttf"]
    assert first.dxf.true_color == 0x666666


def test_codes_in_lettering_are_taken_apart() -> None:
    """%%c is a diameter sign and ^J a line break in DXF text."""
    text = Text(position=(0.0, 0.0), text="50%%c ^J", size=3.0)
    assert only(text, kind="TEXT").dxf.text == "50% %c ^ J"


def test_pictures_are_left_out() -> None:
    picture = Picture(position=(0.0, 0.0), width=2.0, height=1.0, png=b"")
    document = document_of(picture)
    assert len(document.modelspace()) == 0
