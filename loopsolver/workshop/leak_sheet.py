"""A leak test drawn: the readings beside the line without a leak, and a form to fill."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from loopsolver.drafting.blocks import (
    Block,
    Column,
    drawing_block,
    flowed,
    heading,
    paragraph,
    space,
    table,
    titled,
)
from loopsolver.drafting.diagram import Diagram, Scale
from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Polygon,
    Polyline,
    Text,
)
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import broken
from loopsolver.drafting.paging import PAGE_MARGIN, PAPERS
from loopsolver.drafting.writers.alone import page_round, picture_file
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.hydraulics.leak_test import (
    SCHEDULE,
    GaugeReading,
    LeakFinding,
    Rig,
    expected_line,
)
from loopsolver.report.leak_test import (
    BEFOREHAND,
    LEAK_CAUTIONS,
    LIMITS_OF_IT,
    pressure_words,
    verdict_words,
)

_WIDTH: Final = 170.0  # of the picture [mm]
_FIELD: Final = 70.0  # height of the diagram's field [mm]
_LEFT: Final = 16.0  # beside it, for numbers [mm]
_BELOW: Final = 12.0  # under it, for numbers and name [mm]
_ABOVE: Final = 8.0  # over it, for the name [mm]
_DOT: Final = 1.1  # radius of a reading [mm]
_EXPECTED: Final = Layer(name="no leak", width=0.35, dash=(3.0, 1.2))
_READINGS: Final = Layer(name="readings", width=0.35)
_BAND_GREY: Final = 0.86
_SPARE_ROWS: Final = 4
_EDGE: Final = 6.0  # of a picture that is a page of its own [mm]


def leak_picture(
    readings: Sequence[GaugeReading], outcome: LeakFinding, rig: Rig
) -> Drawing:
    """Return readings over time, the line without a leak, its band, and the verdict."""
    line = expected_line(readings, rig, first=outcome.first)
    values = [one.gauge_kpa for one in readings]
    lows, highs = ([kpa + s * band for kpa, band in line] for s in (-1.0, 1.0))
    least, most = min(*lows, *values), max(*highs, *values)
    edge = 0.08 * (most - least)
    axes = _axes(
        last=readings[-1].minutes, low=max(0.0, least - edge), high=most + edge
    )
    times = [one.minutes for one in readings]
    band = [axes.place(*at) for at in zip(times, highs, strict=True)]
    band += [axes.place(*at) for at in zip(times[::-1], lows[::-1], strict=True)]
    expected = [axes.place(at, kpa) for at, (kpa, _) in zip(times, line, strict=True)]
    seen = [axes.place(one.minutes, one.gauge_kpa) for one in readings]
    shapes: list[Entity] = [
        Polygon(points=tuple(band), layer=PageLayers.SOLID, fill=_BAND_GREY),
        *axes.drawn(),
        Polyline(points=tuple(expected), layer=_EXPECTED),
        *(Line(start=a, end=b, layer=_READINGS) for a, b in pairwise(seen)),
        *(
            Circle(
                centre=at,
                radius=_DOT,
                layer=_READINGS,
                fill=1.0 if place < outcome.first else 0.0,
            )
            for place, at in enumerate(seen)
        ),
        *_key(axes, outcome),
    ]
    verdict = tuple(_verdict(verdict_words(outcome, readings, rig)))
    low = (0.0, verdict[-1].position[1] - 2.0)
    high = (_WIDTH, _BELOW + _FIELD + _ABOVE)
    return Drawing(entities=(*shapes, *verdict), low=low, high=high)


def _verdict(words: str) -> Iterator[Text]:
    """Yield the verdict, under the diagram."""
    lines = broken(words, width=_WIDTH, size=2.9, face=Face.STRONG)
    for number, line in enumerate(lines, start=1):
        place = (0.0, -2.0 - 5.0 * number)
        yield Text(position=place, text=line, size=2.9, face=Face.STRONG)


def _axes(*, last: float, low: float, high: float) -> Diagram:
    """Return the axes of a test that lasts so many minutes."""
    return Diagram(
        across=Scale(low=0.0, high=max(last, 1.0), name="min since pumping stopped"),
        up=Scale(low=low, high=high, name="kPa above the air outside"),
        corner=(_LEFT, _BELOW),
        width=_WIDTH - _LEFT - 2.0,
        height=_FIELD,
    )


def _key(axes: Diagram, outcome: LeakFinding) -> Iterator[Entity]:
    """Yield what the lines mean, above the field at the right."""
    y = axes.corner[1] + axes.height + 2.2
    x = axes.corner[0] + 58.0
    yield Line(start=(x, y + 1.0), end=(x + 9.0, y + 1.0), layer=_EXPECTED)
    yield Text(position=(x + 10.5, y), text="no leak, with its band", size=2.2)
    x += 52.0
    yield Circle(centre=(x, y + 1.0), radius=_DOT, layer=_READINGS, fill=0.0)
    yield Text(position=(x + 2.2, y), text="readings", size=2.2)
    if outcome.first:
        x += 20.0
        yield Circle(centre=(x, y + 1.0), radius=_DOT, layer=_READINGS, fill=1.0)
        yield Text(position=(x + 2.2, y), text="left out", size=2.2)


def leak_form(
    subject: str,
    *,
    volume_ml: float,
    pressure_kpa: float,
    readings: Sequence[GaugeReading] = (),
    picture: Drawing | None = None,
) -> bytes:
    """Return a form as PDF: cautions first, then a table and a diagram to fill.

    Parameters
    ----------
    subject : str
        What is tested.
    volume_ml, pressure_kpa : float
        Its air, and the test pressure.
    readings : sequence of GaugeReading
        Those to enter; without any the rows are empty.
    picture : Drawing or None
        Of the readings; None: an empty diagram.
    """
    paper = PAPERS["a4"]
    margin = 2.0 * PAGE_MARGIN
    width, height = paper.width - 2.0 * margin, paper.height - 2.0 * margin
    blocks = [
        *_beforehand(subject, volume_ml, pressure_kpa, width=width),
        *_rows(readings, width=width),
        space(4.0),
        drawing_block(picture or _blank(pressure_kpa), below=2.0),
        paragraph(LIMITS_OF_IT, width=width),
    ]
    laid = flowed(blocks, width=width, height=height)
    pages = [page_round(one, margin=margin) for one in laid]
    return pdf_document(pages, title=f"Leak test: {subject}")


def _beforehand(
    subject: str, volume_ml: float, pressure_kpa: float, *, width: float
) -> Iterator[Block]:
    """Yield the form's title, cautions and what is noted before pumping."""
    says = (
        f"{subject}; {volume_ml:.4g} mL of air; {pressure_words(pressure_kpa)}, no more"
    )
    yield titled(["Leak test"], says, width=width, layer=PageLayers.TABLE, below=12.0)
    yield heading("First of all", width=width)
    yield from (paragraph(f"- {words}", width=width) for words in LEAK_CAUTIONS)
    yield space(2.0)
    yield heading("Before pumping", width=width)
    yield from (paragraph(f"- {words}", width=width) for words in BEFOREHAND)
    yield paragraph(
        "Gauge: from ......... to .........   step .........      "
        "Thermometer: step .........      Date, by whom: ..................",
        width=width,
        below=2.0,
    )


def _rows(readings: Sequence[GaugeReading], *, width: float) -> tuple[Block, ...]:
    """Return the table of readings; every value is to be written with its unit."""
    columns = [
        Column(heading="after pumping", share=1.0),
        Column(heading="gauge, with its unit", share=1.0),
        Column(heading="air, with its unit", share=1.0),
        Column(heading="", share=0.1),
        Column(heading="seen, heard, done", share=1.6, anchor="start"),
    ]
    rows = [
        (
            f"{one.minutes:g} min",
            f"{one.gauge_kpa:g} kPa",
            f"{one.temperature_c:g} °C",
            "",
            "",
        )
        for one in readings
    ] or [
        *((f"{at:g} min", "", "", "", "") for at in SCHEDULE),
        *[("min", "", "", "", "")] * _SPARE_ROWS,
    ]
    return table(columns, rows, width=width)


def _blank(pressure_kpa: float) -> Drawing:
    """Return an empty diagram to draw readings into: the upper half of the pressure."""
    axes = _axes(last=SCHEDULE[-1], low=pressure_kpa / 2.0, high=1.05 * pressure_kpa)
    high = (_WIDTH, _BELOW + _FIELD + _ABOVE)
    return Drawing(entities=tuple(axes.drawn()), low=(0.0, 0.0), high=high)


def picture_alone(drawing: Drawing, *, ending: str) -> bytes:
    """Return the picture of a test as an SVG or PDF document."""
    return picture_file(drawing, title="Leak test", ending=ending, margin=_EDGE)
