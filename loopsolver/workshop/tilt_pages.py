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
    Place,
    Polygon,
    Polyline,
    Text,
)
from loopsolver.drafting.extent import box_round
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import broken, text_width
from loopsolver.drafting.paging import PAGE_MARGIN, PAPERS
from loopsolver.drafting.placing import Ground
from loopsolver.drafting.symbols import lettered
from loopsolver.drafting.writers.alone import page_round
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.geometry.vectors import Array
from loopsolver.hydraulics.filling import Stay, TiltStage
from loopsolver.hydraulics.insides import Insides, insides
from loopsolver.hydraulics.tilts import FREE
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import Plan
from loopsolver.report.filling import (
    FILL_CAUTIONS,
    millilitres,
    stage_words,
    stay_words,
)
from loopsolver.scene.axes import Sides
from loopsolver.scene.walls import PICTURED, room
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import points_along
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.picture_labels import places_round
from loopsolver.workshop.projection import (
    CORNERS_DEG,
    View,
    isometric,
    painted_order,
    room_corners,
    seen_faces,
)

_HIGH: Final = 170.0  # of the picture on its page [mm]
_ARROW: Final = 9.0  # length of an arrow, and how far a cup is below its place [mm]
_DISC: Final = 2.6  # radius of a pocket's mark [mm]
_FREE: Final = 14.0  # kept free round the machine for arrows [mm]
_LETTERS: Final = 2.2  # height of capitals [mm]
_MARK: Final = Layer(name="marks", width=0.5)
_WET: Final = Layer(name="tubes", width=1.1, grey=0.35)
_GREYS: Final = (0.95, 0.9, 0.98)
_FLOOR_GREY: Final = 0.85


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
        laid = flowed(blocks, width=width, height=height)
        pages += [page_round(one, margin=margin) for one in laid]
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
    way = stage_words(stages, number, is_air=is_air)
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
    seen = [one for one in stage.left if one.volume_ml >= FREE]
    yield from zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", seen, strict=False)


def _picture(
    plan: Plan, inside: Insides, stage: TiltStage, width: float, *, is_air: bool
) -> Drawing:
    """Return the machine as it lies, fitted to the page's width."""
    scene, sides = plan.scene, stage.lie.sides(plan.scene.sides)
    corners = room_corners(room(scene, beyond=PICTURED))
    floor = _footprint(corners, sides)
    raw = isometric(sides, azimuth_deg=_azimuth(sides))
    view = _fitted(raw, np.vstack([corners, floor]), width)
    shapes: list[Entity] = [
        Polygon(points=view.places(floor), layer=PageLayers.SOLID, fill=_FLOOR_GREY),
        *_case(corners, view),
        *_parts(inside, view),
    ]
    ground = Ground()
    for bore in inside.bores:
        points = [
            points_along(piece, np.linspace(0.0, 1.0, 13)) for piece in bore.pieces
        ]
        flat = view.places(np.vstack(points))
        ground.take_path(flat, half_width=_WET.width)
        shapes.append(Polyline(points=flat, layer=_WET))
    drain = None if is_air or scene.filling is None else scene.filling.drain
    if drain is not None:
        under = view.place(drain.position)
        ground.take_box((under[0] - 4.0, under[1] - 10.0, under[0] + 4.0, under[1]))
        shapes += _cup(under)
    for mark, stay in _marked(stage):
        shapes += _mark(mark, view.place(stay.at), ground, upward=is_air)
    shapes += _names(inside, view, ground)
    return Drawing(entities=tuple(shapes), low=(0.0, 0.0), high=(width, _HIGH))


def _azimuth(sides: Sides) -> float:
    """Return from where no face of the case is seen on its edge, near a corner's view."""

    def least_seen(azimuth_deg: float) -> tuple[float, float]:
        towards = isometric(sides, azimuth_deg=azimuth_deg).towards
        least = min(abs(part) for part in towards)
        return round(least, 3), -abs(azimuth_deg - CORNERS_DEG[0])

    return max((225.0, 210.0, 240.0, 195.0, 255.0), key=least_seen)


def _footprint(corners: Array, sides: Sides) -> Array:
    """Return the outline of what stands under a machine as it lies, (n, 3) [mm]."""
    from scipy.spatial import ConvexHull

    axes = np.array([sides.right, sides.away, sides.up])
    lying = corners @ axes.T
    lying[:, 2] = lying[:, 2].min()
    outline: Array = lying[ConvexHull(lying[:, :2]).vertices] @ axes
    return outline


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
    """Yield the spaces of the parts, the furthest first."""
    solids = [solid for one in inside.chambers for solid in one.solids]
    for index in painted_order(solids, view):
        for shade, face in zip(_GREYS, seen_faces(solids[index], view), strict=False):
            yield Polygon(points=view.places(face), layer=Layers.BODY, fill=shade)


def _names(inside: Insides, view: View, ground: Ground) -> Iterator[Entity]:
    """Yield the names of the parts, each as near to its middle as there is room."""
    for one in inside.chambers:
        if not one.solids:
            continue
        at = view.place(np.mean([each.frame.origin for each in one.solids], axis=0))
        half = text_width(one.name, _LETTERS) / 2.0 + 0.6
        for x, y in (at, *places_round(at, 3.0, -90.0)):
            box = box_round((x, y), half, 0.9 * _LETTERS)
            if ground.is_free(box, spare=0.4):
                ground.take_box(box)
                under = (x, y - 0.5 * _LETTERS)
                yield from lettered(one.name, under, size=_LETTERS, anchor="middle")
                break


def _mark(letter: str, at: Place, ground: Ground, *, upward: bool) -> Iterator[Entity]:
    """Yield a pocket's disc with its letter, and an arrow the way it goes.

    Where there is another one already it stands beside, with a line to its place.
    """
    sign = 1.0 if upward else -1.0
    for x, y in (at, *places_round(at, 2.0 * _DISC, 0.0)):
        reach = sorted((y - sign * _DISC, y + sign * _ARROW))
        box = (x - _DISC, reach[0], x + _DISC, reach[1])
        if ground.is_clear_of_boxes(box, spare=0.4):
            break
    ground.take_box(box)
    if (x, y) != at:
        yield Line(start=at, end=(x, y), layer=_MARK)
        yield Circle(centre=at, radius=0.8, layer=_MARK, fill=0.0)
    tip = (x, y + sign * _ARROW)
    yield Line(start=(x, y + sign * _DISC), end=tip, layer=_MARK)
    for aside in (-1.3, 1.3):
        yield Line(start=tip, end=(x + aside, tip[1] - sign * 2.6), layer=_MARK)
    yield Circle(centre=(x, y), radius=_DISC, layer=_MARK, fill=1.0)
    yield Text(
        position=(x, y - 0.5 * _LETTERS),
        text=letter,
        size=_LETTERS,
        anchor="middle",
        face=Face.STRONG,
    )


def _cup(under: tuple[float, float]) -> Iterator[Entity]:
    """Yield a cup under a place, and the drops into it."""
    x, y = under
    rim, foot = y - 5.0, y - 10.0
    points = ((x - 3.4, rim), (x - 2.6, foot), (x + 2.6, foot), (x + 3.4, rim))
    yield Polygon(points=points, layer=_MARK, fill=1.0)
    for drop in (1.5, 3.5, 6.5):
        yield Circle(centre=(x, y - drop), radius=0.5, layer=_MARK, fill=0.0)
