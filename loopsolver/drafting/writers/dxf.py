"""DXF drawings at true size: units millimetres, layers with plain names.

The library is taken in without its look round the user's home folder. On import it reads
settings from there, lists every font of the system and keeps the list there. None of
that has a place in a drawing: it costs a second or more the first time, and equal
drawings could come out different. So while it is imported it is shown an empty folder
with a list of no fonts.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from loopsolver.drafting.drawing import (
    Arc,
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Polygon,
    Polyline,
    Text,
)
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.lettering import printable

_PLACES: Final = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME")
_NO_FONTS: Final = '{"version": 2, "font-faces": []}'


@contextmanager
def _elsewhere() -> Iterator[None]:
    """Let an empty folder stand for the user's folders of settings and caches.

    Where there is no room for one, the library finds its own way.
    """
    before = {name: os.environ.get(name) for name in _PLACES}
    with ExitStack() as stack:
        with suppress(OSError):
            folder = stack.enter_context(TemporaryDirectory(ignore_cleanup_errors=True))
            os.environ.update(dict.fromkeys(_PLACES, folder))
            own = Path(folder) / "ezdxf"
            own.mkdir()
            (own / "font_manager_cache.json").write_text(_NO_FONTS, encoding="utf-8")
        try:
            yield
        finally:
            for name, value in before.items():
                os.environ.pop(name, None)
                if value is not None:
                    os.environ[name] = value


with _elsewhere():
    import ezdxf
    from ezdxf import units
    from ezdxf.colors import rgb2int
    from ezdxf.enums import TextEntityAlignment
    from ezdxf.filemanagement import new
    from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS
    from ezdxf.sections.classes import REQ_R2004

options = ezdxf.options  # type: ignore[attr-defined]

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
    before = options.write_fixed_meta_data_for_testing
    # Without the date and the serial number of this moment.
    options.write_fixed_meta_data_for_testing = True
    try:
        return _document_bytes(drawing, listed)
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
    # All classes that the document needs, in an order that is always the same.
    for name in (*REQ_R2004, *sorted(document.entitydb.dxf_types_in_use())):
        document.classes.add_class(name)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8", errors="replace")


def _grey(grey: float) -> int:
    """Return a grey as DXF writes true colours."""
    return rgb2int(3 * (round(255 * grey),))


def _add_layers(
    document: Any, entities: Iterable[Entity], listed: Sequence[Layer]
) -> None:
    """Add the layers that the entities need, with their pens, those listed first."""
    used = dict.fromkeys(one.layer for one in entities)
    for layer in dict.fromkeys((*listed, *used)):
        if layer not in used:
            continue
        attributes: dict[str, Any] = {
            "color": _FOREGROUND,
            "lineweight": _line_weight(layer.width),
        }
        if layer.dash:
            # As DXF counts a pattern: its sum, then its lengths, gaps negative.
            signed = (
                part if i % 2 == 0 else -part for i, part in enumerate(layer.dash)
            )
            pattern = [sum(layer.dash), *signed]
            document.linetypes.add(layer.name, pattern, description=layer.name)
            attributes["linetype"] = layer.name
        made = document.layers.add(layer.name, **attributes)
        if layer.grey > 0.0:
            made.rgb = 3 * (round(255 * layer.grey),)


def _line_weight(width: float) -> int:
    """Return the DXF line weight [mm/100] nearest to a width."""
    weights: tuple[int, ...] = VALID_DXF_LINEWEIGHTS
    return min(weights, key=lambda weight: abs(weight / 100.0 - width))


def _add(space: Any, entity: Entity) -> None:
    """Add one entity to the model space."""
    name = {"layer": entity.layer.name}
    match entity:
        case Line(start=start, end=end):
            space.add_line(start, end, dxfattribs=name)
        case Arc(centre=centre, radius=radius, start_deg=start_deg, end_deg=end_deg):
            space.add_arc(centre, radius, start_deg, end_deg, dxfattribs=name)
        case Polyline(points=points):
            space.add_lwpolyline(points, dxfattribs=name)
        case Circle() | Polygon():
            _add_area(space, entity, name)
        case Text():
            _add_text(space, entity, name)


def _add_area(space: Any, shape: Circle | Polygon, name: dict[str, Any]) -> None:
    """Add an outline, and its area where it is filled and not white."""
    if shape.fill is not None and shape.fill < 1.0:
        grey = {**name, "true_color": _grey(shape.fill)}
        paths = space.add_hatch(color=_FOREGROUND, dxfattribs=grey).paths
        if isinstance(shape, Circle):
            paths.add_edge_path().add_arc(shape.centre, shape.radius, 0.0, 360.0)
        else:
            paths.add_polyline_path(shape.points, is_closed=True)
    if shape.layer.width > 0.0:
        if isinstance(shape, Circle):
            space.add_circle(shape.centre, shape.radius, dxfattribs=name)
        else:
            space.add_lwpolyline(shape.points, close=True, dxfattribs=name)


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
