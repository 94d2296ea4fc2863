"""PDF pages at true size, with the wish that viewers do not scale them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import Any, Final

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Entity,
    Line,
    Page,
    Picture,
    Place,
    Polygon,
    Polyline,
    Text,
    Viewport,
)
from loopsolver.drafting.extent import overlaps
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.lettering import ANCHOR, CAPITAL, drawable, printable
from loopsolver.tolerances import WHOLE

POINTS: Final = 72.0 / 25.4
"""PDF points in a millimetre: 72 to the inch (ISO 32000-1, 8.3.2.3)."""


def pdf_document(pages: Sequence[Page], *, title: str) -> bytes:
    """Return a PDF document of those pages, each at its own true size.

    The viewer preference PrintScaling is None (ISO 32000-1, table 150), so that viewers
    that heed it print at 100 %. Equal pages give equal bytes.
    """
    stream = BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1)
    canvas.setTitle(printable(title)[:200])
    canvas.setAuthor("loopsolver")
    canvas.setCreator("loopsolver")
    canvas.setViewerPreference("PrintScaling", "None")
    for page in pages:
        canvas.setPageSize((page.width * POINTS, page.height * POINTS))
        canvas.scale(POINTS, POINTS)
        for viewport in page.viewports:
            _viewport(canvas, viewport)
        _draw(canvas, page.entities)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _viewport(canvas: Any, viewport: Viewport) -> None:
    """Draw the part of a drawing that a viewport shows, cut off at its edge."""
    (left, bottom), (right, top) = viewport.low, viewport.high
    canvas.saveState()
    frame = canvas.beginPath()
    frame.rect(viewport.at[0], viewport.at[1], right - left, top - bottom)
    canvas.clipPath(frame, stroke=0, fill=0)
    canvas.translate(viewport.at[0] - left, viewport.at[1] - bottom)
    seen = (
        entity
        for entity in viewport.drawing.entities
        if overlaps(entity, viewport.low, viewport.high)
    )
    _draw(canvas, seen)
    canvas.restoreState()


def _draw(canvas: Any, entities: Iterable[Entity]) -> None:
    """Draw entities in order, changing pens only where the layer changes."""
    layer: Layer | None = None
    canvas.setLineCap(0)
    canvas.setLineJoin(1)
    for entity in entities:
        match entity:
            case Text():
                _text(canvas, entity)
            case Picture():
                _picture(canvas, entity)
            case _:
                if entity.layer is not layer:
                    layer = entity.layer
                    canvas.setLineWidth(layer.width)
                    canvas.setStrokeGray(layer.grey)
                    canvas.setDash(list(layer.dash))
                _shape(canvas, entity)


def _shape(canvas: Any, entity: Line | Arc | Circle | Polyline | Polygon) -> None:
    """Draw one line, arc, circle or polygon with the pen in hand."""
    stroke = 1 if entity.layer.width > 0 else 0
    fill = entity.fill if isinstance(entity, Circle | Polygon) else None
    if fill is not None:
        canvas.setFillGray(fill)
    path = canvas.beginPath()
    match entity:
        case Line(start=start, end=end):
            path.moveTo(*start)
            path.lineTo(*end)
        case Arc():
            _arc(path, entity)
        case Circle(centre=centre, radius=radius):
            path.circle(*centre, radius)
        case Polyline(points=points):
            _polyline(path, points)
        case Polygon(points=points):
            _polyline(path, points)
            path.close()
    canvas.drawPath(path, stroke=stroke, fill=0 if fill is None else 1)


def _polyline(path: Any, points: Sequence[Place]) -> None:
    """Add straight lines from point to point to a path."""
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)


def _arc(path: Any, arc: Arc) -> None:
    """Add an arc to a path as cubic curves of at most 30 degrees each.

    Notes
    -----
    Control points at ``4/3 tan(step/4)`` of the radius along the tangents; at 30
    degrees the curve leaves the circle by less than a millionth of the radius.

    References
    ----------
    M. Goldapp, Approximation of circular arcs by cubic polynomials, Computer Aided
    Geometric Design 8 (1991). From memory.
    """
    sweep = math.radians(arc.end_deg - arc.start_deg)
    count = max(1, math.ceil(abs(sweep) / math.radians(30.0) - WHOLE))
    step = sweep / count
    reach = arc.radius * 4.0 / 3.0 * math.tan(step / 4.0)
    (x, y), radius = arc.centre, arc.radius
    angle = math.radians(arc.start_deg)

    def place(angle: float, along: float) -> Place:
        cos, sin = math.cos(angle), math.sin(angle)
        return (x + radius * cos - along * sin, y + radius * sin + along * cos)

    path.moveTo(*place(angle, 0.0))
    for _ in range(count):
        after = angle + step
        path.curveTo(*place(angle, reach), *place(after, -reach), *place(after, 0.0))
        angle = after


def _text(canvas: Any, text: Text) -> None:
    """Draw a line of lettering."""
    font, shown = drawable(text.text, text.face)
    if not shown:
        return
    size = text.size / CAPITAL
    start = -canvas.stringWidth(shown, font, size) * ANCHOR[text.anchor]
    canvas.saveState()
    canvas.translate(*text.position)
    if text.angle_deg:
        canvas.rotate(text.angle_deg)
    canvas.setFont(font, size)
    canvas.setFillGray(text.grey)
    canvas.drawString(start, 0.0, shown)
    canvas.restoreState()


def _picture(canvas: Any, picture: Picture) -> None:
    """Draw a PNG picture, its proportions kept, in the middle of its box."""
    canvas.drawImage(
        ImageReader(BytesIO(picture.png)),
        *picture.position,
        width=picture.width,
        height=picture.height,
        preserveAspectRatio=True,
        anchor="c",
        mask="auto",
    )
