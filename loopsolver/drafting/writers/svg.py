"""SVG drawings at true size: width and height in mm, one user unit a millimetre."""

from __future__ import annotations

import base64
import math
from itertools import groupby
from operator import attrgetter
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Picture,
    Place,
    Polygon,
    Polyline,
    Text,
    polar,
)
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.lettering import CAPITAL, printable

_FAMILY: Final = "'DejaVu Sans', 'Bitstream Vera Sans', sans-serif"


def svg_document(drawing: Drawing, *, title: str) -> bytes:
    """Return an SVG document of a drawing, in its box, one user unit a millimetre.

    Entities stand in groups whose `data-layer` is the plain name of their layer.
    """
    width, height = _number(drawing.width), _number(drawing.height)
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" '
        f'height="{height}mm" viewBox="0 0 {width} {height}">\n'
        f"<title>{escape(printable(title)[:200])}</title>\n"
        f'<rect width="{width}" height="{height}" fill="#fff"/>\n'
    )
    groups = (
        _group(layer, [_element(entity, drawing) for entity in members])
        for layer, members in groupby(drawing.entities, key=attrgetter("layer"))
    )
    text = head + "".join(groups) + "</svg>\n"
    return text.encode("utf-8", errors="replace")


def _number(value: float) -> str:
    """Return a number to a ten-thousandth, without idle zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _grey(grey: float) -> str:
    """Return a grey as SVG writes colours."""
    return "#" + 3 * f"{round(255 * grey):02x}"


def _group(layer: Layer, elements: list[str]) -> str:
    """Return a group of elements drawn with one pen."""
    stroke = _grey(layer.grey) if layer.width > 0 else "none"
    dash = (
        f' stroke-dasharray="{" ".join(map(_number, layer.dash))}"'
        if layer.dash
        else ""
    )
    return (
        f'<g data-layer={quoteattr(layer.name)} fill="none" stroke="{stroke}" '
        f'stroke-width="{_number(layer.width)}" stroke-linejoin="round"{dash}>\n'
        + "".join(f"{element}\n" for element in elements)
        + "</g>\n"
    )


def _at(place: Place, drawing: Drawing) -> tuple[str, str]:
    """Return a place as SVG counts it: from the upper left corner, y downward."""
    return (
        _number(place[0] - drawing.low[0]),
        _number(drawing.high[1] - place[1]),
    )


def _fill(fill: float | None) -> str:
    """Return the fill attribute, if there is a fill."""
    return "" if fill is None else f' fill="{_grey(fill)}"'


def _element(entity: Entity, drawing: Drawing) -> str:
    """Return one entity as an SVG element."""
    match entity:
        case Line(start=start, end=end):
            (x1, y1), (x2, y2) = _at(start, drawing), _at(end, drawing)
            return f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>'
        case Arc():
            return _arc(entity, drawing)
        case Circle(centre=centre, radius=radius, fill=fill):
            x, y = _at(centre, drawing)
            return f'<circle cx="{x}" cy="{y}" r="{_number(radius)}"{_fill(fill)}/>'
        case Polyline() | Polygon():
            kind = type(entity).__name__.lower()
            points = " ".join(",".join(_at(point, drawing)) for point in entity.points)
            return f'<{kind} points="{points}"{_fill(getattr(entity, "fill", None))}/>'
        case Text():
            return _text(entity, drawing)
        case Picture():
            return _picture(entity, drawing)


def _arc(arc: Arc, drawing: Drawing) -> str:
    """Return an arc as a path, in parts of at most half a turn."""
    sweep_deg = arc.end_deg - arc.start_deg
    count = max(1, math.ceil(sweep_deg / 180.0))
    places = [
        _at(
            polar(arc.centre, arc.radius, arc.start_deg + sweep_deg * i / count),
            drawing,
        )
        for i in range(count + 1)
    ]
    radius = _number(arc.radius)
    parts = (f"A {radius} {radius} 0 0 0 {x} {y}" for x, y in places[1:])
    return f'<path d="M {" ".join(places[0])} {" ".join(parts)}"/>'


def _text(text: Text, drawing: Drawing) -> str:
    """Return a line of lettering."""
    x, y = _at(text.position, drawing)
    turn = (
        f' transform="rotate({_number(-text.angle_deg)} {x} {y})"'
        if text.angle_deg
        else ""
    )
    weight = ' font-weight="bold"' if text.face is Face.STRONG else ""
    return (
        f'<text x="{x}" y="{y}" font-family={quoteattr(_FAMILY)} '
        f'font-size="{_number(text.size / CAPITAL)}"{weight} stroke="none" '
        f'fill="{_grey(text.grey)}" text-anchor="{text.anchor}"{turn}>'
        f"{escape(printable(text.text))}</text>"
    )


def _picture(picture: Picture, drawing: Drawing) -> str:
    """Return a picture with its data inside."""
    left, bottom = picture.position
    x, y = _at((left, bottom + picture.height), drawing)
    data = base64.b64encode(picture.png).decode("ascii")
    return (
        f'<image x="{x}" y="{y}" width="{_number(picture.width)}" '
        f'height="{_number(picture.height)}" href="data:image/png;base64,{data}"/>'
    )
