"""DXF drawings at true size: units millimetres, layers with plain names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from io import StringIO
from typing import Any, Final

from loopsolver.drafting.drawing import (
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
from loopsolver.drafting.lettering import printable
from loopsolver.drafting.writers.dxf_library import (
    REQ_R2004,
    VALID_DXF_LINEWEIGHTS,
    TextEntityAlignment,
    new,
    options,
    rgb2int,
    units,
)

_ALIGNMENT: Final = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}
_FOREGROUND: Final = 7  # black on white, white on black


def dxf_document(drawing: Drawing, *, listed: Sequence[Layer] = ()) -> bytes:
    """Return a DXF document of a drawing; 1 drawing unit is 1 mm.

    Pictures are left out, and so are white areas, which only clear the ground for
    lettering on paper. Equal drawings give equal bytes.

    Parameters
    ----------
    listed : sequence of Layer
        Which layers are listed first, in this order; the others as they are used.
    """
    with _undated():
        return _document_bytes(drawing, listed)


@contextmanager
def _undated() -> Iterator[None]:
    """Keep the date and the serial number of this moment out of documents."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _document_bytes(drawing: Drawing, listed: Sequence[Layer]) -> bytes:
    """Return the bytes of a document that holds a drawing."""
    document = new("R2010", units=units.MM)
    document.header["$EXTMIN"] = (*drawing.low, 0.0)
    document.header["$EXTMAX"] = (*drawing.high, 0.0)
    document.styles.add("lettering", font="DejaVuSans.ttf")
    document.styles.add("lettering strong", font="DejaVuSans-Bold.ttf")
    _add_layers(document, drawing.entities, listed)
    space = document.modelspace()
    for entity in drawing.entities:
        _add(space, entity)
    _add_classes(document)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8", errors="replace")


def _add_classes(document: Any) -> None:
    """Add the classes that a document needs, in an order that is always the same.

    Left to itself the library goes through a set, whose order changes from run to run.
    """
    for name in (*REQ_R2004, *sorted(document.entitydb.dxf_types_in_use())):
        document.classes.add_class(name)


def _grey(grey: float) -> int:
    """Return a grey as DXF writes true colours."""
    return rgb2int(3 * (round(255 * grey),))


def _add_layers(
    document: Any, entities: Iterable[Entity], listed: Sequence[Layer]
) -> None:
    """Add the layers that the entities need, with their pens, those listed first."""
    used = dict.fromkeys(one.layer for one in entities if not isinstance(one, Picture))
    for layer in dict.fromkeys((*listed, *used)):
        if layer not in used:
            continue
        attributes: dict[str, Any] = {
            "color": _FOREGROUND,
            "lineweight": _line_weight(layer.width),
        }
        if layer.dash:
            document.linetypes.add(
                layer.name, _dashes(layer.dash), description=layer.name
            )
            attributes["linetype"] = layer.name
        made = document.layers.add(layer.name, **attributes)
        if layer.grey > 0.0:
            made.rgb = 3 * (round(255 * layer.grey),)


def _line_weight(width: float) -> int:
    """Return the DXF line weight [mm/100] nearest to a width."""
    weights: tuple[int, ...] = VALID_DXF_LINEWEIGHTS
    return min(weights, key=lambda weight: abs(weight / 100.0 - width))


def _dashes(dash: tuple[float, ...]) -> list[float]:
    """Return a dash pattern as DXF counts it: its sum, then lengths, gaps negative."""
    signed = [length if i % 2 == 0 else -length for i, length in enumerate(dash)]
    return [sum(dash), *signed]


def _add(space: Any, entity: Entity) -> None:
    """Add one entity to the model space."""
    if isinstance(entity, Picture):
        return
    name = {"layer": entity.layer.name}
    match entity:
        case Line(start=start, end=end):
            space.add_line(start, end, dxfattribs=name)
        case Arc(centre=centre, radius=radius, start_deg=start_deg, end_deg=end_deg):
            space.add_arc(centre, radius, start_deg, end_deg, dxfattribs=name)
        case Circle():
            _add_circle(space, entity, name)
        case Polyline(points=points):
            space.add_lwpolyline(points, dxfattribs=name)
        case Polygon():
            _add_polygon(space, entity, name)
        case Text():
            _add_text(space, entity, name)


def _filled(space: Any, fill: float, name: dict[str, Any]) -> Any:
    """Return a new solid hatch of that grey."""
    return space.add_hatch(
        color=_FOREGROUND, dxfattribs={**name, "true_color": _grey(fill)}
    )


def _add_circle(space: Any, circle: Circle, name: dict[str, Any]) -> None:
    """Add a circle, and its area where it is filled and not white."""
    if circle.fill is not None and circle.fill < 1.0:
        edge = _filled(space, circle.fill, name).paths.add_edge_path()
        edge.add_arc(circle.centre, circle.radius, 0.0, 360.0)
    if circle.layer.width > 0.0:
        space.add_circle(circle.centre, circle.radius, dxfattribs=name)


def _add_polygon(space: Any, polygon: Polygon, name: dict[str, Any]) -> None:
    """Add an outline, and its area where it is filled and not white."""
    if polygon.fill is not None and polygon.fill < 1.0:
        hatch = _filled(space, polygon.fill, name)
        hatch.paths.add_polyline_path(polygon.points, is_closed=True)
    if polygon.layer.width > 0.0:
        space.add_lwpolyline(polygon.points, close=True, dxfattribs=name)


def _add_text(space: Any, text: Text, name: dict[str, Any]) -> None:
    """Add a line of lettering; carets and percent signs are codes in DXF text.

    What is not black carries its grey: white on a black disc, whatever the ground is.
    """
    strong = text.face is Face.STRONG
    if text.grey > 0.0:
        name = {**name, "true_color": _grey(text.grey)}
    made = space.add_text(
        printable(text.text).replace("%%", "% %").replace("^", "^ "),
        height=text.size,
        rotation=text.angle_deg,
        dxfattribs={**name, "style": "lettering strong" if strong else "lettering"},
    )
    made.set_placement(text.position, align=_ALIGNMENT[text.anchor])
