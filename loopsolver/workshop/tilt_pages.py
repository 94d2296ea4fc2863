"""The machine drawn in each tilt: where air is and which way it goes, or coolant."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from loopsolver.drafting.blocks import (
    TITLE,
    Block,
    drawing_block,
    flowed,
    paragraph,
    titled,
)
from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Page,
    Polygon,
    Polyline,
    Text,
    moved,
)
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import broken
from loopsolver.drafting.paging import PAGE_MARGIN, PAPERS
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.geometry.vectors import Array, cross, dot, unit
from loopsolver.hydraulics.filling import Stay, TiltStage
from loopsolver.hydraulics.insides import Insides, insides
from loopsolver.hydraulics.tilts import Lie
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import Plan
from loopsolver.report.filling import (
    FILL_CAUTIONS,
    lie_words,
    millilitres,
    stay_words,
)
from loopsolver.scene.axes import Sides
from loopsolver.scene.walls import PICTURED, room
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import points_along
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.projection import (
    CORNERS_DEG,
    View,
    isometric,
    painted_order,
    room_corners,
    seen_faces,
)

_HIGH: Final = 150.0  # of the picture on its page [mm]
_ARROW: Final = 9.0  # length of an arrow, and how far a cup is below its place [mm]
_DISC: Final = 2.6  # radius of a pocket's mark [mm]
_FREE: Final = 14.0  # kept free round the machine for arrows [mm]
_FLOOR: Final = Layer(name="floor", width=0.5)
_WET: Final = Layer(name="tubes", width=1.1, grey=0.35)
_GREYS: Final = (0.95, 0.9, 0.98)
_LEAST_SEEN: Final = 0.5  # pockets of less are not marked [mL]


def tilt_pages(plan: Plan, stages: Sequence[TiltStage], *, is_air: bool) -> bytes:
    """Return a PDF of a machine in each of its lies, one a page, in their order."""
    paper = PAPERS["a4"]
    margin = 2.0 * PAGE_MARGIN
    width, height = paper.width - 2.0 * margin, paper.height - 2.0 * margin
    inside, lengths = insides(plan), lengths_for(plan.scene.units)
    pages = []
    for number in range(len(stages)):
        blocks = _blocks(plan, inside, stages, number, width, is_air=is_air)
        blocks += _told(stages[number], width, lengths)
        (page, *_) = flowed(blocks, width=width, height=height)
        pages.append(
            Page(
                width=paper.width,
                height=paper.height,
                entities=moved(page.entities, (margin, margin)),
            )
        )
    return pdf_document(
        pages, title=f"{'Air' if is_air else 'Draining'}: {plan.scene.title}"
    )


def _blocks(
    plan: Plan,
    inside: Insides,
    stages: Sequence[TiltStage],
    number: int,
    width: float,
    *,
    is_air: bool,
) -> list[Block]:
    """Return a page's title, caution and picture."""
    stage = stages[number]
    stuff = "air" if is_air else "coolant"
    if stage.lie == stages[0].lie:
        up_again = "Stand it up, and open the vent" if is_air else "Stand it up"
        way = "As it is used" if number == 0 else up_again
    else:
        way = f"Lay it {lie_words(stage.lie)}"
    left = millilitres(stage.left_ml)
    says = f"{number + 1} of {len(stages)}. Now {left} of {stuff} left."
    lines = broken(way, width=width, size=TITLE, face=Face.STRONG)
    return [
        titled(lines, says, width=width, layer=PageLayers.TABLE, below=12.0),
        paragraph(FILL_CAUTIONS[1], width=width, below=3.0),
        drawing_block(_picture(plan, inside, stage, width, is_air=is_air), below=4.0),
    ]


def _told(stage: TiltStage, width: float, lengths: Lengths) -> list[Block]:
    """Return what each mark of the picture stands for."""
    return [
        paragraph(f"{mark}: {stay_words(stay, lengths=lengths)}", width=width)
        for mark, stay in _marked(stage)
    ]


def _marked(stage: TiltStage) -> Iterator[tuple[str, Stay]]:
    """Yield the pockets that are seen, each with its letter."""
    seen = [one for one in stage.left if one.volume_ml >= _LEAST_SEEN]
    yield from zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", seen, strict=False)


def _picture(
    plan: Plan, inside: Insides, stage: TiltStage, width: float, *, is_air: bool
) -> Drawing:
    """Return the machine as it lies, fitted to the page's width."""
    scene = plan.scene
    corners = room_corners(room(scene, beyond=PICTURED))
    raw = isometric(_sides_of(stage.lie, scene.sides), azimuth_deg=CORNERS_DEG[0])
    view = _fitted(raw, corners, width)
    shapes: list[Entity] = [*_case(corners, view), *_parts(inside, view)]
    for bore in inside.bores:
        points = [
            points_along(piece, np.linspace(0.0, 1.0, 13)) for piece in bore.pieces
        ]
        shapes.append(Polyline(points=view.places(np.vstack(points)), layer=_WET))
    for mark, stay in _marked(stage):
        shapes += _mark(mark, view.place(stay.at), upward=is_air)
    if not is_air and scene.filling is not None and scene.filling.drain is not None:
        shapes += _cup(view.place(scene.port(scene.filling.drain).position))
    return Drawing(entities=tuple(shapes), low=(0.0, 0.0), high=(width, _HIGH))


def _sides_of(lie: Lie, used: Sides) -> Sides:
    """Return sides by which to look at a machine that lies: up is up on the paper."""
    level = max(
        (used.right, used.away, used.up), key=lambda way: -abs(dot(way, lie.up))
    )
    away = unit(cross(lie.up, level))
    return Sides(right=unit(cross(away, lie.up)), away=away, up=lie.up)


def _fitted(view: View, corners: Array, width: float) -> View:
    """Return the view at the scale at which the case fits the picture."""
    flat = np.array(view.places(corners))
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = np.array([width, _HIGH]) - 2.0 * _FREE
    scale = float((room / np.maximum(high - low, TOUCH)).min())
    x, y = 0.5 * np.array([width, _HIGH]) - 0.5 * scale * (low + high)
    return View(
        right=view.right,
        upward=view.upward,
        towards=view.towards,
        scale=scale,
        origin=(float(x), float(y)),
    )


def _case(corners: Array, view: View) -> Iterator[Entity]:
    """Yield the edges of the case."""
    flat = view.places(corners)
    for index in range(8):
        for axis in range(3):
            other = index | 1 << axis
            if other != index:
                yield Line(start=flat[index], end=flat[other], layer=Layers.CASE)


def _parts(inside: Insides, view: View) -> Iterator[Entity]:
    """Yield the spaces of the parts, the furthest first, with their names."""
    named = [(one.name, solid) for one in inside.chambers for solid in one.solids]
    solids = [solid for _, solid in named]
    for index in painted_order(solids, view):
        for shade, face in zip(_GREYS, seen_faces(solids[index], view), strict=False):
            yield Polygon(points=view.places(face), layer=Layers.BODY, fill=shade)
    for name, solid in dict(named).items():
        x, y = view.place(solid.frame.origin)
        yield Text(position=(x, y - 6.0), text=name, size=2.2, anchor="middle")


def _mark(letter: str, at: tuple[float, float], *, upward: bool) -> Iterator[Entity]:
    """Yield a pocket's disc with its letter, and an arrow the way it goes."""
    x, y = at
    sign = 1.0 if upward else -1.0
    tip = (x, y + sign * _ARROW)
    yield Line(start=(x, y + sign * _DISC), end=tip, layer=_FLOOR)
    for aside in (-1.3, 1.3):
        yield Line(start=tip, end=(x + aside, tip[1] - sign * 2.6), layer=_FLOOR)
    yield Circle(centre=at, radius=_DISC, layer=_FLOOR, fill=1.0)
    place = (x, y - 1.1)
    yield Text(position=place, text=letter, size=2.2, anchor="middle", face=Face.STRONG)


def _cup(under: tuple[float, float]) -> Iterator[Entity]:
    """Yield a cup under a place, and the drops into it."""
    x, y = under
    rim, foot = y - 5.0, y - 10.0
    points = ((x - 3.4, rim), (x - 2.6, foot), (x + 2.6, foot), (x + 3.4, rim))
    yield Polygon(points=points, layer=_FLOOR, fill=1.0)
    for drop in (1.5, 3.5, 6.5):
        yield Circle(centre=(x, y - drop), radius=0.5, layer=_FLOOR, fill=0.0)
