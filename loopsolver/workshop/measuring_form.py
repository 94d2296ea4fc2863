"""The form to measure with: a sketch of each length, and blanks for its readings.

What a length is about is left out, so that nobody reads what they expect.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from loopsolver.drafting.blocks import (
    TITLE,
    Block,
    beside,
    boxed,
    drawing_block,
    flowed,
    heading,
    indented,
    paragraph,
    space,
    stacked,
    titled,
)
from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Text,
    direction_deg,
    rectangle,
)
from loopsolver.drafting.extent import box
from loopsolver.drafting.lettering import broken, cut_to_width
from loopsolver.drafting.paging import (
    Foot,
    Paper,
    bound,
    pages_of_extracts,
    room,
    whole_drawing,
)
from loopsolver.drafting.symbols import arrow_head, numbered_disc
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.geometry.vectors import offset
from loopsolver.lengths import on_a_rule
from loopsolver.report.measuring import REPEATS, Measuring, ToMeasure
from loopsolver.report.measuring_words import HINTS, best_words, how_words, run_words
from loopsolver.scene.model import Scene
from loopsolver.tolerances import COINCIDENT
from loopsolver.tube.centreline import Centreline
from loopsolver.workshop.bench_figures import unit_words
from loopsolver.workshop.case_picture import staged
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.picture_labels import labels

_SKETCH: Final = (62.0, 50.0)  # width and height of a sketch [mm]
_BLANK: Final = (30.0, 11.0)  # of a blank to write in [mm]
_APART: Final = 4.0  # between blanks, and between sketch and blanks [mm]
_DISC: Final = 3.2  # radius of a length's number [mm]
_ARROWS: Final = 6.0  # shorter than this on paper a length has no room for heads [mm]
_CLEAR: Final = 2.5  # of the length, free of names [mm]
_INSET: Final = 2.4  # of what is framed [mm]


def measuring_form(told: Measuring, *, paper: Paper) -> tuple[int, bytes]:
    """Return the form as a PDF document, and how many pages it has."""
    scene = told.scene
    low, high = room(paper.sizes[0])
    width, height = high[0] - low[0], high[1] - low[1]
    drawings = form_drawings(told, width=width, height=height)
    foot = Foot(
        what="What to measure",
        lines=(
            scene.title,
            "Not at true size: the sketches show which length is meant.",
        ),
        units=scene.units,
        belongs=f"{scene.file_name} {scene.sha256[:8]}".strip(),
    )
    extracts = [whole_drawing(drawing) for drawing in drawings]
    pages = bound(pages_of_extracts(extracts, size=paper.sizes[0], foot=foot))
    return len(pages), pdf_document(pages, title=f"{scene.title}: what to measure")


def form_drawings(
    told: Measuring, *, width: float, height: float
) -> tuple[Drawing, ...]:
    """Return the form, a drawing a page; every one is that large, from (0, 0) [mm]."""
    return flowed(tuple(_blocks(told, width)), width=width, height=height)


def _blocks(told: Measuring, width: float) -> Iterator[Block]:
    """Yield the form from its title down."""
    scene, lengths = told.scene, on_a_rule(told.scene.units)
    lines = broken(scene.title, width=width, size=TITLE, face=Face.STRONG)[:2]
    says = f"What to measure: {REPEATS} readings of each, in {unit_words(lengths)}"
    yield titled(lines, says, width=width, layer=Layers.TURN, below=12.0)
    yield _about(width, lengths.unit)
    for hint in HINTS:
        yield paragraph(hint, width=width)
    yield paragraph(best_words(told), width=width, face=Face.STRONG, below=3.0)
    best = told.best
    for run in told.runs:
        yield heading(run.ends.name, width=width)
        yield paragraph(f"{run_words(run, lengths)}.", width=width, below=2.4)
        for one in run.lengths:
            yield _length(one, scene, width=width, is_best=one is best)
    if told.other is not None:
        yield heading("Besides", width=width)
        yield _length(told.other, scene, width=width, is_best=told.other is best)


def _about(width: float, unit: str) -> Block:
    """Return the blanks that are filled in once."""
    says = ("measured on", "with which rule", f"at its own end it shows (zero), {unit}")
    share = (width - 2.0 * _APART) / 3.0
    entities: list[Entity] = []
    for place, label in enumerate(says):
        left = place * (share + _APART)
        entities += _blank((left, 0.0), (share, _BLANK[1]), label)
    return Block(entities=tuple(entities), height=_BLANK[1] + 3.0)


def _blank(corner: Place, size: tuple[float, float], label: str) -> Iterator[Entity]:
    """Yield a box to write in, hung from its upper left corner, with its small label."""
    (left, top), (wide, high) = corner, size
    low, far = (left + 0.1, top - high), (left + wide - 0.1, top - 0.1)
    yield rectangle(low, far, layer=Layers.NOTE)
    text = cut_to_width(label, width=wide - 2.0, size=1.9)
    yield Text(position=(left + 1.0, top - 2.9), text=text, size=1.9, grey=0.3)


def _length(one: ToMeasure, scene: Scene, *, width: float, is_best: bool) -> Block:
    """Return a length: its sketch, what it is, and its blanks; the best one framed."""
    inner = width - 2.0 * _INSET
    sketch = drawing_block(_sketch(one, scene))
    at = _SKETCH[0] + _APART
    block = beside(sketch, _asked(one, scene, width=inner - at, is_best=is_best), at=at)
    if is_best:
        return stacked([boxed(block, width=width, inset=_INSET), space(3.0)])
    return stacked([indented(block, _INSET), space(4.0)])


def _asked(one: ToMeasure, scene: Scene, *, width: float, is_best: bool) -> Block:
    """Return what is measured, in words, above the blanks for its readings."""
    read, unit = one.observation, on_a_rule(scene.units).unit
    disc = numbered_disc((_DISC, -_DISC), one.number, radius=_DISC)
    indent = 2.0 * _DISC + 2.0
    name = cut_to_width(
        f"{read.start} to {read.goal}", width=width - indent, size=2.9, face=Face.STRONG
    )
    head = Text(position=(indent, -_DISC - 1.4), text=name, size=2.9, face=Face.STRONG)
    how = (
        "Straight across, from the one point to the other."
        if read.along is None
        else f"{how_words(read, scene).capitalize()} alone, however far aside it lies."
    )
    blanks = [
        entity
        for place in range(REPEATS)
        for entity in _blank(
            (place * (_BLANK[0] + _APART), 0.0), _BLANK, f"reading {place + 1}, {unit}"
        )
    ]
    return stacked(
        [
            Block(entities=(*disc, head), height=2.0 * _DISC + 2.0),
            paragraph(how, width=width),
            *(
                [paragraph("If only one, this one.", width=width, face=Face.STRONG)]
                if is_best
                else []
            ),
            space(2.0),
            Block(entities=tuple(blanks), height=_BLANK[1] + 2.0),
        ]
    )


def _sketch(one: ToMeasure, scene: Scene) -> Drawing:
    """Return the case with the length to measure as a strong line between its points."""
    wide, high = _SKETCH
    if math.dist(one.start, one.goal) < COINCIDENT:
        return Drawing(entities=(), low=(0.0, 0.0), high=_SKETCH)
    line = Centreline(vertices=(one.start, one.goal), radius=scene.tube.bend_radii[0])
    view, ground, axes = staged(scene, line, width=wide, height=high)
    start, goal = view.place(one.start), view.place(one.goal)
    along = one.observation.along
    turn = goal if along is None else view.place(offset(one.start, along, one.length))
    entities = (
        *ground,
        *([] if turn == goal else [Line(start=turn, end=goal, layer=Layers.LEG)]),
        *_strong(start, turn),
        *(
            Circle(centre=at, radius=0.8, layer=Layers.NOTE, fill=0.0)
            for at in (start, goal)
        ),
        *labels(
            line,
            view.places,
            tags=(one.observation.start, one.observation.goal),
            reach=_CLEAR,
            paper=(0.0, 0.0, wide, high),
            taken=map(box, axes),
        ),
        *axes,
    )
    return Drawing(entities=entities, low=(0.0, 0.0), high=_SKETCH)


def _strong(start: Place, end: Place) -> Iterator[Entity]:
    """Yield a strong line, with a head at either end where there is room."""
    yield Line(start=start, end=end, layer=Layers.TUBE)
    if math.dist(start, end) > _ARROWS:
        heading_deg = direction_deg(start, end)
        yield arrow_head(end, heading_deg)
        yield arrow_head(start, heading_deg + 180.0)
