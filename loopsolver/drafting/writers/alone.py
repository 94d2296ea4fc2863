"""A drawing as a file of its own: a page, or an SVG or PDF, just so large as it is."""

from __future__ import annotations

from loopsolver.drafting.drawing import Drawing, Page, moved
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.drafting.writers.svg import svg_document


def page_round(drawing: Drawing, *, margin: float) -> Page:
    """Return a page that holds a drawing, and a margin on all sides [mm]."""
    by = (margin - drawing.low[0], margin - drawing.low[1])
    return Page(
        width=drawing.width + 2.0 * margin,
        height=drawing.height + 2.0 * margin,
        entities=moved(drawing.entities, by),
    )


def picture_file(
    drawing: Drawing, *, title: str, ending: str, margin: float = 0.0
) -> bytes:
    """Return a drawing as an SVG document, or as a PDF document with a margin [mm]."""
    if ending == ".svg":
        return svg_document(drawing, title=title)
    return pdf_document([page_round(drawing, margin=margin)], title=title)
