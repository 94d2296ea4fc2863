"""The sheet of how a build goes together: a numbered step each, with a small picture."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np

from loopsolver.assembly.order import AssemblyOrder
from loopsolver.assembly.removal import Removal
from loopsolver.assembly.stations import stations
from loopsolver.drafting.blocks import (
    TITLE,
    Block,
    beside,
    drawing_block,
    flowed,
    heading,
    paragraph,
    space,
    stacked,
    titled,
)
from loopsolver.drafting.drawing import (
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Polygon,
    Polyline,
    direction_deg,
)
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.lettering import broken
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
from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import Point
from loopsolver.plan import Plan
from loopsolver.report.assembling import (
    ASSEMBLY_CAUTIONS,
    AssemblyStep,
    assembly_steps,
    cleaning_sentences,
    insertion_sentences,
    order_sentences,
)
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Centreline, sample
from loopsolver.workshop.case_picture import staged
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.projection import View, seen_faces
from loopsolver.workshop.sheets import ASSEMBLY, SheetFile, plan_words

_PICTURE: Final = (72.0, 64.0)  # width and height of a step's picture [mm]
_BESIDE: Final = 6.0  # between picture and words [mm]
_DISC: Final = 3.2  # radius of a step's number [mm]
_NUMBER: Final = 9.0  # kept free for it, left of the picture [mm]
_GHOST: Final = 55.0  # how far outside its place a tube is drawn as well [mm]
_SPACING: Final = 5.0  # of a tube's points [mm]
_LEAST_ARROW: Final = 2.0  # shorter ways have no arrow [mm on paper]
_IN_PLACE: Final = Layer(name="tubes in place", width=0.7, grey=0.6)
_GOING_IN: Final = Layer(name="tube that goes in", width=1.1)
_BEFORE: Final = Layer(name="tube before it", width=0.5, dash=(1.4, 1.0))
_ASIDE: Final = Layer(name="parts drawn aside", width=0.3, dash=(0.8, 0.8))
_LOOSE: Final = Layer(name="loose parts", width=0.5)


def assembly_sheet(plan: Plan, of: AssemblyOrder, *, paper: Paper) -> SheetFile:
    """Return the sheet of a plan as a document to print."""
    scene = plan.scene
    low, high = room(paper.sizes[0])
    width, height = high[0] - low[0], high[1] - low[1]
    blocks = tuple(_blocks(scene, of, width))
    drawings = flowed(blocks, width=width, height=height)
    foot = Foot(
        what="How it goes together",
        lines=(scene.title, "Not at true size: the pictures show what is meant."),
        units=scene.units,
        belongs=plan_words(plan),
    )
    extracts = [whole_drawing(drawing) for drawing in drawings]
    pages = bound(pages_of_extracts(extracts, size=paper.sizes[0], foot=foot))
    content = pdf_document(pages, title=f"{scene.title}: how it goes together")
    return SheetFile(name=f"{ASSEMBLY}.pdf", content=content, pages=len(pages))


def _blocks(scene: Scene, of: AssemblyOrder, width: float) -> Iterator[Block]:
    """Yield the sheet from its title down."""
    lines = broken(scene.title, width=width, size=TITLE, face=Face.STRONG)[:2]
    yield titled(
        lines, "How it goes together", width=width, layer=Layers.TURN, below=12.0
    )
    for words in ASSEMBLY_CAUTIONS:
        yield paragraph(words, width=width, face=Face.STRONG)
    yield space(3.0)
    yield heading("How each tube goes in", width=width)
    for words in insertion_sentences(of, scene):
        yield paragraph(words, width=width, below=1.6)
    yield space(3.0)
    yield heading("Order", width=width)
    for words in order_sentences(of, scene):
        yield paragraph(words, width=width)
    lines_of = {one.tube.name: one.tube.centreline for one in of.insertions}
    placed: tuple[str, ...] = ()
    for number, step in enumerate(assembly_steps(of, scene), start=1):
        yield _step(scene, step, number, lines_of, placed, width)
        if step.removal is not None:
            placed = (*placed, step.removal.tube)
    yield space(3.0)
    yield heading("Taking out", width=width)
    for words in cleaning_sentences(of):
        yield paragraph(words, width=width)


def _step(
    scene: Scene,
    step: AssemblyStep,
    number: int,
    lines_of: Mapping[str, Centreline],
    placed: Sequence[str],
    width: float,
) -> Block:
    """Return a step: its number, a picture where a tube goes in, and the words."""
    disc = Block(
        entities=numbered_disc(
            (_DISC + 0.2, -_DISC - 0.2), number, radius=_DISC, layer=Layers.TURN
        ),
        height=2.0 * _DISC + 1.6,
    )
    left = _NUMBER
    picture = None
    if step.removal is not None:
        drawn = _picture(scene, step.removal, lines_of, placed)
        picture = drawing_block(drawn, below=3.0)
        left += _PICTURE[0] + _BESIDE
    lines = stacked(
        [
            paragraph(step.head, width=width - left, face=Face.STRONG, below=1.6),
            *(paragraph(words, width=width - left) for words in step.how),
        ]
    )
    if picture is None:
        return beside(disc, lines, at=left)
    words = beside(picture, lines, at=left - _NUMBER)
    return beside(disc, words, at=_NUMBER)


def _picture(
    scene: Scene,
    removal: Removal,
    lines_of: Mapping[str, Centreline],
    placed: Sequence[str],
) -> Drawing:
    """Return the case with what is in, the tube that goes in, and what is drawn aside."""
    width, height = _PICTURE
    line = lines_of[removal.tube]
    view, ground, axes = staged(scene, line, width=width, height=height)
    shapes: list[Entity] = [*ground]
    for name in placed:
        points = sample(lines_of[name], spacing=_SPACING)
        shapes.append(Polyline(points=view.places(points), layer=_IN_PLACE))
    shapes += _aside(scene, removal, view)
    points = sample(line, spacing=_SPACING)
    outside, *_ = stations(removal, out=_GHOST)
    before = outside.moved(points)
    shapes.append(Polyline(points=view.places(before), layer=_BEFORE))
    shapes.append(Polyline(points=view.places(points), layer=_GOING_IN))
    middle = len(points) // 2
    shapes += _arrow(view.place(before[middle]), view.place(points[middle]))
    shapes += axes
    return Drawing(entities=tuple(shapes), low=(0.0, 0.0), high=(width, height))


def _aside(scene: Scene, removal: Removal, view: View) -> Iterator[Entity]:
    """Yield the loose parts in their places, where they stand aside, and the way back."""
    shift = removal.freeing.shift
    if shift is None:
        return
    for part in scene.components:
        if part.name in removal.freeing.parts:
            bodies = [body.solid for body in part.bodies]
            yield from _outlines(bodies, (0.0, 0.0, 0.0), view, _LOOSE)
            yield from _outlines(bodies, shift.vector, view, _ASIDE)
            middle = np.mean([port.position for port in part.ports], axis=0)
            yield from _arrow(view.place(middle + shift.vector), view.place(middle))


def _outlines(
    solids: Sequence[Solid], by: Point, view: View, layer: Layer
) -> Iterator[Entity]:
    """Yield the faces of solids that are seen, moved by a vector, as bare outlines."""
    for solid in solids:
        for face in seen_faces(solid, view):
            yield Polygon(points=view.places(face + np.asarray(by)), layer=layer)


def _arrow(start: Place, end: Place) -> Iterator[Entity]:
    """Yield an arrow, if it is long enough to be seen."""
    if math.dist(start, end) >= _LEAST_ARROW:
        yield Line(start=start, end=end, layer=Layers.NOTE)
        yield arrow_head(end, direction_deg(start, end))
