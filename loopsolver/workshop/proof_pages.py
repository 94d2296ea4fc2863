"""The pages of a run's proof: what is done with the cards, the cards and their gauges."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

from loopsolver.drafting.blocks import Block, headed, paragraph, stacked
from loopsolver.drafting.drawing import Drawing, Entity, Face, moved, rectangle
from loopsolver.drafting.paging import (
    Leaf,
    Paper,
    Size,
    pages_of_extracts,
    room,
    whole_drawing,
)
from loopsolver.drafting.tiling import best_size, joints_of, tiled, tiles_of
from loopsolver.report.angles import clock, degree_sign
from loopsolver.words import counted
from loopsolver.workshop.card_proof import (
    Card,
    Joint,
    card_drawing,
    cards,
    gauges,
    is_gauged,
    joints,
)
from loopsolver.workshop.flat import flat_planes
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.port_check import elbow_words, job_mouths

Arranged = Callable[[Sequence[Drawing], float], Iterable[Drawing]]
"""How drawings are put into rows of a width [mm]."""

_NOTE: Final = 110.0  # width of what is to be done, beside a card in tiles [mm]


def proof_leaves(job: Job, *, paper: Paper, belongs: str) -> tuple[Leaf, ...]:
    """Return the pages of a run's proof, laid so that they are few.

    Of equally few those that do not begin with a page of words alone. `belongs` says to
    which plan they belong.
    """
    layouts = (
        _laid(job, paper=paper, size=size, arranged=arranged, belongs=belongs)
        for size in paper.sizes
        for arranged in (_rows, _one_by_one)
    )
    return min(layouts, key=lambda leaves: (len(leaves), len(leaves[0].viewports) == 1))


def _laid(
    job: Job, *, paper: Paper, size: Size, arranged: Arranged, belongs: str
) -> tuple[Leaf, ...]:
    """Return the pages of a proof: what fits on such a page, then tiled cards.

    What is to be done stands over the first cards; beside the first one in tiles where
    all are so large.
    """
    foot = job.foot(": proof to cut in card", job.title, belongs=belongs)
    low, high = room(size)
    width, height = high[0] - low[0], high[1] - low[1]
    small: list[Drawing] = []
    large: list[Card] = []
    planes = flat_planes(job.table)
    for card in cards(planes):
        drawing = card_drawing(job, card, paper=paper)
        if drawing.width <= width and drawing.height <= height:
            small.append(drawing)
        else:
            large.append(card)
    note = None if small else _note(job)
    pieces = [*arranged([*small, *gauges(joints(planes))], width)]
    if small:
        words = _words(job, width=width)
        top = Drawing(
            entities=words.entities, low=(0.0, -words.height), high=(width, 0.0)
        )
        pieces.insert(0, top)
    leaves = pages_of_extracts(
        [whole_drawing(one) for one in pieces], size=size, foot=foot
    )
    for card in large:
        drawing = _in_tiles(job, card, paper=paper, note=note)
        leaves += tiled(drawing, paper=paper, foot=foot)
        note = None
    return leaves


def _in_tiles(job: Job, card: Card, *, paper: Paper, note: Drawing | None) -> Drawing:
    """Return a large card, its lettering clear of the joints between that paper."""
    drawing = card_drawing(job, card, paper=paper, note=note)
    joints = joints_of(tiles_of(drawing, best_size(drawing, paper)))
    return card_drawing(job, card, paper=paper, joints=joints, note=note)


def _words(job: Job, *, width: float) -> Block:
    """Return what is done with the cards of a run, as a block of that width [mm]."""
    title = f"Proof of {job.name}: the tube's outline in card, at true size"
    return stacked(
        [
            paragraph(title, width=width, size=2.9, face=Face.STRONG, below=2.0),
            *(headed(*words, width=width, below=1.2) for words in proof_words(job)),
        ]
    )


def _note(job: Job) -> Drawing:
    """Return what is done with the cards, in a frame to stand beside one."""
    inset = 3.0
    block = _words(job, width=_NOTE - 2.0 * inset)
    height = block.height + 2.0 * inset
    frame = rectangle((0.0, 0.0), (_NOTE, height), layer=Layers.FRAME, fill=1.0)
    lettering = moved(block.entities, (inset, height - inset))
    return Drawing(entities=(frame, *lettering), low=(0.0, 0.0), high=(_NOTE, height))


def _one_by_one(drawings: Sequence[Drawing], _width: float) -> Sequence[Drawing]:
    """Return drawings as they are, each to have the page's width to itself."""
    return drawings


def _rows(drawings: Sequence[Drawing], width: float) -> Iterator[Drawing]:
    """Yield drawings side by side, as many in a row as that width holds [mm]."""
    row: list[Drawing] = []
    for drawing in drawings:
        if row and sum(one.width for one in (*row, drawing)) > width:
            yield _side_by_side(row)
            row = []
        row.append(drawing)
    if row:
        yield _side_by_side(row)


def _side_by_side(row: Sequence[Drawing]) -> Drawing:
    """Return drawings as one, their lower edges level."""
    shapes: list[Entity] = []
    x = 0.0
    for drawing in row:
        shapes += moved(drawing.entities, (x - drawing.low[0], -drawing.low[1]))
        x += drawing.width
    height = max(drawing.height for drawing in row)
    return Drawing(entities=tuple(shapes), low=(0.0, 0.0), high=(x, height))


def joint_words(joint: Joint) -> str:
    """Return how two cards are joined, in sentences."""
    first, second = joint.number, joint.number + 1
    side = "printed side" if joint.turn_deg > 0.0 else "back"
    hold = (
        f"Tape gauge {joint.letter} into that corner."
        if is_gauged(joint)
        else "No gauge can be cut for that: set it by eye, and tape it."
    )
    return (
        f"Push cards {first} and {second} into each other to the ends of their slits. "
        f"Half {joint.letter} of card {second} then stands "
        f"{degree_sign(abs(joint.turn_deg))} from half {joint.letter} of card {first}, on "
        f"the {side} of card {first}. {hold} Seen along the "
        f"tube from its first end, card {second} is then turned "
        f"{clock(joint.turn_deg)} from card {first}."
    )


def proof_words(job: Job) -> Iterator[tuple[str, str]]:
    """Yield what is done with the cards: a head, and sentences."""
    held = joints(flat_planes(job.table))
    count = len(held) + 1
    pieces = counted(count, "card")
    slits = ", each slit to its tick" if held else ""
    gauges = ", and the gauges" if any(map(is_gauged, held)) else ""
    yield (
        "Cut",
        f"Print on stiff card, or glue the print to it. Cut out {pieces} along the "
        f"thick lines{slits}{gauges}. Printed side is the side you see now; the cards "
        "are the same for plain and for mirrored templates.",
    )
    for joint in held:
        yield f"Joint {joint.letter}", joint_words(joint)
    if any(joint.sticks_out for joint in held):
        yield (
            "Snip",
            "Card that goes straight on past a joint is no tube: once the joint is "
            "taped, snip it off where it is in the way.",
        )
    yield (
        "Hold",
        f"{elbow_words(job_mouths(job))}, and hold the card where the tube will be: "
        "each end goes into its fitting until the line across is level with the rim; "
        "or cut it off there and hold it against the rim. If an end misses, or does "
        "not point straight in, measure both ports again before you cut tube. Card has "
        "no thickness: it shows the way and the ends, not whether the tube clears what "
        "is beside it.",
    )
