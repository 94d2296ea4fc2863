"""A run's outline to cut in card, plane by plane, and to hold between the ports.

Where the tube leaves a plane its card is slit along the centre line, and so is the next
card. Both slits go to the middle of the straight that the two planes share. There the
cards are pushed into each other, as far as the slits go, and stand at the turn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import (
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Polygon,
    Text,
    direction_deg,
    moved,
    polar,
)
from loopsolver.drafting.extent import box, extent, framed
from loopsolver.drafting.lettering import cut_to_width, text_width
from loopsolver.drafting.paging import Paper
from loopsolver.drafting.placing import Ground, Joints
from loopsolver.drafting.symbols import numbered_disc, readable_deg
from loopsolver.drafting.tiling import printed_tiles
from loopsolver.report.angles import degree_sign
from loopsolver.workshop.annotations import end_labels
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.tube_shapes import (
    Outlet,
    centre_line,
    centre_path,
    edges,
    line_across,
    outlets_in_plane,
)

_LEAST_SLIT: Final = 15.0  # shorter ones do not hold the cards at their turn [mm]
_MOST_SLIT: Final = 25.0  # longer ones leave the card limp [mm]
_GAUGE: Final = 25.0  # length of a gauge's two sides [mm]
_GAUGED_DEG: Final = 10.0  # nearer to 0 and to 180 no gauge can be cut
_EDGE: Final = 2.0  # kept free round a card on the page [mm]
_STEP: Final = 6.0  # between places that are tried for a note [mm]
_LARGEST: Final = 2.2  # height of the lettering's capitals on wide tube [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Where two cards are pushed into each other.

    Attributes
    ----------
    number : int
        Of the earlier card, counted from 1.
    turn_deg : float
        Rotation of the later plane against the earlier one, in (-180, 180].
    straight : float
        Length of the straight that both planes share [mm].
    """

    number: int
    turn_deg: float
    straight: float

    @property
    def letter(self) -> str:
        """The name of the two halves of card that lie together at a turn of 0."""
        return chr(ord("A") + (self.number - 1) % 26)

    @property
    def slit(self) -> float:
        """Length of either slit: from a card's end to the middle of the straight [mm]."""
        return max(_LEAST_SLIT, min(_MOST_SLIT, 0.5 * self.straight))

    @property
    def sticks_out(self) -> bool:
        """Whether card goes on straight beyond the straight, where the tube does not."""
        return self.slit > 0.5 * self.straight


def joints(planes: Sequence[FlatPlane]) -> tuple[Joint, ...]:
    """Return the joints of a tube's cards, the first end's first."""
    return tuple(
        Joint(
            number=plane.number,
            turn_deg=plane.turn_after_deg,
            straight=math.dist(*plane.straights[-1]),
        )
        for plane in planes
        if plane.turn_after_deg is not None
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """The card of one plane.

    Attributes
    ----------
    plane : FlatPlane
        It begins and ends where the card does: at a tube end, or over a joint.
    joints : tuple of Joint
        With the card before it and with the card after it, where there are such.
    """

    plane: FlatPlane
    joints: tuple[Joint, ...]


def cards(planes: Sequence[FlatPlane]) -> tuple[Card, ...]:
    """Return the cards of a tube's planes, each over its joints by their slits."""
    held = {joint.number: joint for joint in joints(planes)}
    found: list[Card] = []
    for plane in planes:
        before, after = held.get(plane.number - 1), held.get(plane.number)
        reaching = replace(
            plane,
            lead_in=plane.lead_in + _left_out(before),
            lead_out=plane.lead_out + _left_out(after),
        )
        own = tuple(joint for joint in (before, after) if joint is not None)
        found.append(Card(plane=reaching, joints=own))
    return tuple(found)


def _left_out(joint: Joint | None) -> float:
    """Return how much of a shared straight a card leaves out; negative beyond it [mm]."""
    return 0.0 if joint is None else 0.5 * joint.straight - joint.slit


def is_gauged(joint: Joint) -> bool:
    """Return whether a gauge can be cut for a joint's turn."""
    return _GAUGED_DEG <= abs(joint.turn_deg) <= 180.0 - _GAUGED_DEG


def card_drawing(
    job: Job,
    card: Card,
    *,
    paper: Paper,
    joints: Joints = ((), ()),
    note: Drawing | None = None,
) -> Drawing:
    """Return a card at true size; its printed side is that of the plane's template.

    Parameters
    ----------
    joints : Joints
        Where pages are joined: lettering keeps clear of it.
    note : Drawing, optional
        To be placed beside it, where it costs the fewest pages.
    """
    plane = card.plane
    uncut = replace(job, trim_allowance=0.0)
    ends = outlets_in_plane(plane, uncut)
    ground = Ground()
    ground.take_path(
        centre_path(plane, job),
        half_width=job.tube.radius + 1.0,
    )
    ground.take_joints(joints)
    shapes = [
        *_outline(job, plane),
        *(shape for outlet in ends for shape in _end(outlet, job)),
        *(shape for joint in card.joints for shape in _slit(job, plane, joint)),
        *_numbers(job, plane),
        _identity(job, plane, joints),
        *end_labels(ends, uncut, ground),
    ]
    if note is not None:
        shapes += _placed(note, shapes, ground, paper=paper)
    return framed(shapes, _EDGE)


def _placed(
    note: Drawing, rest: Sequence[Entity], ground: Ground, *, paper: Paper
) -> tuple[Entity, ...]:
    """Return a note where the drawing of it and the rest takes the fewest pages.

    Of such places the first that is free: inside the box round the rest from its upper
    left corner on, else below that box or to the right of it.
    """
    low, high = extent(rest)
    across = np.arange(low[0], high[0] - note.width, _STEP)
    down = np.arange(high[1] - note.height, low[1], -_STEP)
    inside = ((float(x), float(y)) for y in down for x in across)
    free = (
        place
        for place in inside
        if ground.is_free(
            (*place, place[0] + note.width, place[1] + note.height), spare=2.0
        )
    )
    found = next(free, None)
    outside = (
        (low[0], low[1] - note.height - _EDGE),
        (high[0] + _EDGE, high[1] - note.height),
    )
    tried = [
        moved(note.entities, (x - note.low[0], y - note.low[1]))
        for x, y in (*([found] if found else []), *outside)
    ]

    def pages(shapes: tuple[Entity, ...]) -> int:
        return len(printed_tiles(framed([*rest, *shapes], _EDGE), paper))

    return min(tried, key=pages)


def _outline(job: Job, plane: FlatPlane) -> Iterator[Entity]:
    """Yield what is cut round a card, and the tube's centre line."""
    yield from centre_line(plane, job)
    yield from edges(plane, job)
    for end, other in (
        (plane.tube_start, plane.points[1]),
        (plane.tube_end, plane.points[-2]),
    ):
        yield line_across(end, direction_deg(other, end), job.tube.radius, Layers.TUBE)


def _end(outlet: Outlet, job: Job) -> Iterator[Entity]:
    """Yield the line where the rim of the fitting comes, and which end it is."""
    fitting = outlet.end.fitting
    if fitting is None:
        return
    out_deg = outlet.out_deg
    mouth = polar(outlet.seat, -fitting.depth, out_deg)
    yield line_across(mouth, out_deg, job.tube.radius, Layers.FITTING)
    size = _lettering(job)
    says = outlet.name.removesuffix(" end")
    if text_width(says, size) <= fitting.depth - 1.0:
        middle = polar(outlet.seat, -0.5 * fitting.depth, out_deg)
        yield _along(
            says,
            polar(middle, 0.25 * job.tube.outer_diameter, out_deg + 90.0),
            out_deg,
            size,
        )


def _lettering(job: Job) -> float:
    """Return the height of the capitals that fit on half the width of a card [mm]."""
    return min(_LARGEST, 0.18 * job.tube.outer_diameter)


def _along(says: str, middle: Place, along_deg: float, size: float) -> Text:
    """Return lettering along a direction, round its middle."""
    angle_deg = readable_deg(along_deg)
    return Text(
        position=polar(middle, -0.5 * size, angle_deg + 90.0),
        text=says,
        size=size,
        anchor="middle",
        angle_deg=angle_deg,
    )


def _numbers(job: Job, plane: FlatPlane) -> Iterator[Entity]:
    """Yield the numbers of a card's bends, each in the middle of its bend."""
    for bend in plane.bends:
        outward_deg = direction_deg(bend.centre, bend.vertex)
        middle = polar(bend.centre, job.table.radius, outward_deg)
        disc = min(3.0, 0.3 * job.tube.outer_diameter)
        yield from numbered_disc(middle, bend.number, radius=disc)


def _slit(job: Job, plane: FlatPlane, joint: Joint) -> Iterator[Entity]:
    """Yield the slit of a joint, the tick at its end, and its letter on the left half.

    Left is as seen along the tube, printed side up.
    """
    outer = job.tube.outer_diameter
    is_after = joint.number == plane.number
    end, other = (
        (plane.tube_end, plane.points[-2])
        if is_after
        else (plane.tube_start, plane.points[1])
    )
    inward_deg = direction_deg(end, other)
    middle = polar(end, joint.slit, inward_deg)
    along_deg = inward_deg + 180.0 if is_after else inward_deg
    yield Line(start=end, end=middle, layer=Layers.CUT)
    yield line_across(middle, along_deg, 0.15 * outer, Layers.CUT)
    size = 0.25 * outer
    letter = polar(polar(middle, size, inward_deg), 0.25 * outer, along_deg + 90.0)
    yield Text(
        position=polar(letter, -0.5 * size, along_deg + 90.0),
        text=joint.letter,
        size=size,
        anchor="middle",
        angle_deg=along_deg,
        face=Face.STRONG,
    )


def _identity(job: Job, plane: FlatPlane, joints: Joints) -> Text:
    """Return whose card it is, along its longest straight, right of the centre line.

    In the middle, or where no joint between pages cuts it.
    """
    start, end = max(_free_straights(job, plane), key=lambda one: math.dist(*one))
    length, along_deg = math.dist(start, end), direction_deg(start, end)
    size = _lettering(job)
    short = f"{plane.number} of {plane.count}"
    full = f"card {short}, run {job.number} {job.name}"
    name = cut_to_width(full, width=length - 2.0, size=size)
    says = name if short in name else short
    spare = 1.0 - text_width(says, size) / length
    aside = polar(start, 0.25 * job.tube.outer_diameter, along_deg - 90.0)
    tried = [
        _along(
            says,
            polar(aside, (0.5 + part * spare) * length, along_deg),
            along_deg,
            size,
        )
        for part in (0.0, -0.25, 0.25, -0.45, 0.45)
    ]
    pages = Ground()
    pages.take_joints(joints)
    return next((text for text in tried if pages.is_free(box(text))), tried[0])


def _free_straights(job: Job, plane: FlatPlane) -> tuple[tuple[Place, Place], ...]:
    """Return a card's straights, less what goes into fittings."""
    straights = list(plane.straights)
    if plane.turn_before_deg is None:
        start, end = straights[0]
        begin = polar(start, job.first.depth, direction_deg(start, end))
        straights[0] = (begin, end)
    if plane.turn_after_deg is None:
        start, end = straights[-1]
        stop = polar(end, -job.last.depth, direction_deg(start, end))
        straights[-1] = (start, stop)
    return tuple(straights)


def gauges(held: Iterable[Joint]) -> Iterator[Drawing]:
    """Yield a wedge for each joint that can have one: its tip is as wide as the turn."""
    for joint in filter(is_gauged, held):
        turn_deg = abs(joint.turn_deg)
        points = ((0.0, 0.0), (_GAUGE, 0.0), polar((0.0, 0.0), _GAUGE, turn_deg))
        says = f"gauge {joint.letter}: {degree_sign(turn_deg)}"
        wedge = Polygon(points=points, layer=Layers.TUBE)
        name = Text(position=(0.0, -4.5), text=says, size=_LARGEST)
        yield framed([wedge, name], _EDGE)
