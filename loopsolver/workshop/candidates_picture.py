"""All candidates of a run as small views side by side, with what sets them apart.

Every view of a run is from the same place and at the same scale. Where a candidate goes
another way than the chosen one its tube is dark, and the chosen one is dashed beside it;
figures that differ are in strong letters.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Final

import numpy as np

from loopsolver.drafting.blocks import (
    TITLE,
    Block,
    drawing_block,
    heading,
    paragraph,
    space,
    stacked,
)
from loopsolver.drafting.drawing import (
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Polygon,
    Polyline,
    Text,
    between,
    moved,
    rectangle,
)
from loopsolver.drafting.extent import extent
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import broken, cut_to_width, text_width
from loopsolver.drafting.writers.alone import picture_file
from loopsolver.files import check_drawing, write_drawing
from loopsolver.geometry.vectors import Array
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import Plan, PlannedRun
from loopsolver.report.comparing import comparison
from loopsolver.report.lacking import why_lines
from loopsolver.report.purposes import purposes
from loopsolver.report.turns import angles_and_turns
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Centreline, sample
from loopsolver.words import counted
from loopsolver.workshop.case_picture import (
    Shades,
    case_entities,
    fitted,
    staged,
    tube_entities,
    white,
)
from loopsolver.workshop.picture_labels import SPACING
from loopsolver.workshop.projection import View

_VIEW: Final = (62.0, 58.0)  # width and height of a view [mm]
_APART: Final = 4.0
_BESIDE: Final = 3  # views in a row
_WORDS: Final = 27.0  # height of what stands under a view [mm]
_LETTERS: Final = 2.0  # height of its capitals [mm]
_LINE: Final = 3.7  # from base line to base line [mm]
_WIDTH: Final = _BESIDE * (_VIEW[0] + _APART) - _APART
_MORE: Final = 35.0  # of the case round all candidates [mm in the case]
_ANOTHER_WAY: Final = 0.35  # grey of a tube where it leaves the chosen one's way
_SMALL_TUBE: Final = Layer(name="tube edges", width=0.3)
_CHOSEN: Final = Layer(name="chosen tube", width=0.35, dash=(1.6, 1.0))


def write_candidates_picture(
    plan: Plan, orders: Mapping[str, Sequence[int]], path: Path, *, force: bool
) -> None:
    """Write the candidates of some runs, in the order of their ranks, as SVG or PDF.

    Raises
    ------
    OutputError
        If the name has another ending, or the file must not or cannot be written.
    """
    check_drawing(path, read=plan.files, force=force)
    drawing, ending = candidates_drawing(plan, orders), path.suffix.lower()
    data = picture_file(drawing, title=plan.scene.title, ending=ending, margin=8.0)
    write_drawing(path, data, read=plan.files, force=force)


def candidates_drawing(plan: Plan, orders: Mapping[str, Sequence[int]]) -> Drawing:
    """Return the candidates of some runs, run under run, as one drawing."""
    block = stacked(
        [
            *_head(plan),
            *(
                block
                for name, ranks in orders.items()
                for block in _run_blocks(plan, plan.run(name), ranks)
            ),
        ]
    )
    by = (0.0, block.height)
    return Drawing(
        entities=moved(block.entities, by), low=(0.0, 0.0), high=(_WIDTH, block.height)
    )


def _head(plan: Plan) -> Iterator[Block]:
    """Yield the scene's title, and how the views are to be read."""
    yield paragraph(plan.scene.title, width=_WIDTH, size=TITLE, face=Face.STRONG)
    yield paragraph(
        "All views of a run are from one place, at one scale. Dark: where a candidate "
        "leaves the way of the chosen one, which is dashed. In strong letters: what "
        "differs from it. Thin dashes: behind a part.",
        width=_WIDTH,
        below=_APART,
    )


def _run_blocks(plan: Plan, run: PlannedRun, ranks: Sequence[int]) -> Iterator[Block]:
    """Yield the rows of a run's candidates under its name, or why there are none."""
    yield heading(f"{run.name}: {run.from_port} to {run.to_port}", width=_WIDTH)
    if not ranks:
        for line in why_lines(run):
            yield paragraph(line, width=_WIDTH)
        yield space(_APART)
        return
    first = run.chosen_candidate or run.candidate(ranks[0])
    wide, high = _VIEW
    whole, _, axes = staged(plan.scene, first.centreline, width=wide, height=high)
    every = [sample(run.candidate(one).centreline, spacing=SPACING) for one in ranks]
    view = fitted(whole, _round(np.concatenate(every)), width=wide, height=high)
    ground = tuple(_within(case_entities(plan.scene, view)))
    said = axes[-1]  # from where it is seen
    lengths = lengths_for(plan.scene.units)
    for start in range(0, len(ranks), _BESIDE):
        entities: list[Entity] = []
        for column, rank in enumerate(ranks[start : start + _BESIDE]):
            shown = (
                *ground,
                *_tube(plan.scene, run, rank, view),
                rectangle(*_corner([said]), layer=PageLayers.SOLID, fill=1.0),
                said,
                rectangle((0.0, 0.0), _VIEW, layer=PageLayers.FRAME),
                *_caption(plan.scene, run, rank, lengths),
            )
            entities += moved(shown, (column * (wide + _APART), _WORDS))
        drawing = Drawing(
            entities=tuple(entities), low=(0.0, 0.0), high=(_WIDTH, high + _WORDS)
        )
        yield drawing_block(drawing, below=_APART)


def _round(points: Array) -> Array:
    """Return the corners of the box round some places, with room for more, (8, 3)."""
    low, high = points.min(axis=0) - _MORE, points.max(axis=0) + _MORE
    return np.array(list(product(*zip(low, high, strict=True))))


def _corner(entities: Sequence[Entity]) -> tuple[Place, Place]:
    """Return the box of a view's lower left corner that holds some entities."""
    _, (right, top) = extent(entities)
    return (0.0, 0.0), (right + 1.0, top + 1.0)


def _within(entities: Sequence[Entity]) -> Iterator[Entity]:
    """Yield lines and convex faces as far as they lie in a view."""
    for one in entities:
        match one:
            case Polygon(points=points):
                kept = _cut(points)
                if len(kept) > 2:
                    yield replace(one, points=kept)
            case Line(start=start, end=end):
                kept = _cut((start, end))
                if len(kept) > 1:
                    yield replace(one, start=kept[0], end=kept[1])


def _cut(points: Sequence[Place]) -> tuple[Place, ...]:
    """Return a convex outline as far as it lies in a view.

    References
    ----------
    I. E. Sutherland, G. W. Hodgman, Reentrant polygon clipping, Communications of the
    ACM 17 (1974), 32-42.
    """
    kept = list(points)
    for axis, limit, way in (
        (0, 0.0, 1),
        (0, _VIEW[0], -1),
        (1, 0.0, 1),
        (1, _VIEW[1], -1),
    ):
        found: list[Place] = []
        for start, end in zip(kept, kept[1:] + kept[:1], strict=True):
            here, there = (way * (one[axis] - limit) for one in (start, end))
            if here >= 0.0:
                found.append(start)
            if here * there < 0.0:
                found.append(between(start, end, here / (here - there)))
        kept = found
    return tuple(dict.fromkeys(kept))


def _tube(scene: Scene, run: PlannedRun, rank: int, view: View) -> Iterator[Entity]:
    """Yield a candidate's tube, dark where it goes another way than the chosen one."""
    line, chosen = run.candidate(rank).centreline, run.chosen_candidate
    shades: Shades = white
    if chosen is not None and rank != run.chosen:
        places = view.places(sample(chosen.centreline, spacing=SPACING))
        yield Polyline(points=places, layer=_CHOSEN)
        shades = _leaving(chosen.centreline, scene.tube.radius)
    yield from tube_entities(line, scene, view, shades=shades, layer=_SMALL_TUBE)


def _leaving(chosen: Centreline, radius: float) -> Shades:
    """Return the greys of a tube: dark where it is further than that from the chosen."""
    places = sample(chosen, spacing=SPACING)

    def shades(points: Array) -> Array:
        away = np.linalg.norm(points[:, None] - places, axis=2).min(axis=1)
        greys: Array = np.where(away > radius, _ANOTHER_WAY, 1.0)
        return greys

    return shades


def _caption(
    scene: Scene, run: PlannedRun, rank: int, lengths: Lengths
) -> Iterator[Text]:
    """Yield what stands under a view: rank, figures, and what sets it apart."""
    candidate, chosen = run.candidate(rank), run.chosen_candidate
    is_chosen = rank == run.chosen
    down = -_LINE
    title = f"Candidate {rank}{', chosen' if is_chosen else ''}"
    yield Text(position=(0.0, down), text=title, size=2.4, face=Face.STRONG)
    usual = _figures(chosen or candidate, lengths)
    for line, same in zip(_figures(candidate, lengths), usual, strict=True):
        down -= _LINE
        across = 0.0
        for said, other in zip(line, same, strict=True):
            face = Face.REGULAR if said == other else Face.STRONG
            text = cut_to_width(said, width=_VIEW[0] - across, size=_LETTERS, face=face)
            yield Text(position=(across, down), text=text, size=_LETTERS, face=face)
            across += text_width(text, _LETTERS, face) + 2.5
    words = ", ".join(one.words for one in purposes(scene, run)[rank - 1])
    if not is_chosen and chosen is not None:
        against = comparison(candidate, chosen, lengths).words
        words = f"{words}: {against}" if words else against
    for text in broken(words, width=_VIEW[0], size=_LETTERS)[:3] if words else ():
        down -= _LINE
        yield Text(position=(0.0, down), text=text, size=_LETTERS)


def _figures(candidate: Candidate, lengths: Lengths) -> tuple[tuple[str, ...], ...]:
    """Return the figures of a candidate, line by line, as many for every one."""
    gap = candidate.gap
    return (
        (
            counted(candidate.bends, "bend"),
            counted(candidate.planes, "plane"),
            f"{lengths.plain(candidate.length)} of tube",
        ),
        (angles_and_turns(candidate.table) or "straight",),
        (f"gap {lengths.plain(gap.distance)}", f"to {gap.name}"),
    )
