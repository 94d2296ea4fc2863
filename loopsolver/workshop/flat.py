"""The planes of a tube laid flat, one after the other, as they lie on the bench.

The first leg of every plane runs to the right. The first plane's first bend turns to
the left; each later plane's first bend turns to the same side as the bend before it. So
from sheet to sheet the tube is turned about its own axis by the rotation of the bend
table and by nothing else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopsolver.drafting.drawing import Place, between, polar
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.planes import plane_stretches
from loopsolver.tube.setting_out import take_out


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatBend:
    """One bend of a plane that is laid flat.

    Attributes
    ----------
    number : int
        Counted along the whole tube, from 1.
    angle_deg : float
        Change of direction, above 0.
    side : int
        1 where the tube turns to the left, -1 where it turns to the right.
    vertex, centre, start, end : Place
        Vertex, middle of the arc's circle, and the two tangent points [mm].
    """

    number: int
    angle_deg: float
    side: int
    vertex: Place
    centre: Place
    start: Place
    end: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatPlane:
    """One plane of a tube laid flat; the vertex of its first bend is the origin.

    Attributes
    ----------
    number, count : int
        Which plane of how many.
    points : tuple of Place
        The vertex (or tube end) before, the plane's own vertices, the one after [mm].
    bends : tuple of FlatBend
        Empty for a straight tube.
    lead_in, lead_out : float
        How much of the first and last leg belongs to the bends of the neighbouring
        planes [mm]; 0 at a tube end.
    turn_before_deg, turn_after_deg : float or None
        Rotation of this plane against the one before, and of the next one against this,
        in (-180, 180]; None where there is none.
    is_mirrored : bool
        Whether it is shown as seen from its other side.
    """

    number: int
    count: int
    points: tuple[Place, ...]
    bends: tuple[FlatBend, ...]
    lead_in: float = 0.0
    lead_out: float = 0.0
    turn_before_deg: float | None = None
    turn_after_deg: float | None = None
    is_mirrored: bool = False

    @property
    def set_name(self) -> str:
        """Which set of sheets it belongs to; they are followed within one set only."""
        return "mirrored" if self.is_mirrored else "plain"

    def sheet_name(self, number: int) -> str:
        """Return what the sheet of that number in its set is called on every sheet."""
        return f"{self.set_name} sheet {number}"

    @property
    def tube_start(self) -> Place:
        """Where the plane's first straight begins [mm]."""
        return _towards(self.points[0], self.points[1], self.lead_in)

    @property
    def tube_end(self) -> Place:
        """Where the plane's last straight ends [mm]."""
        return _towards(self.points[-1], self.points[-2], self.lead_out)

    @property
    def straights(self) -> tuple[tuple[Place, Place], ...]:
        """The plane's straights, from tangent point to tangent point [mm]."""
        starts = (self.tube_start, *(bend.end for bend in self.bends))
        ends = (*(bend.start for bend in self.bends), self.tube_end)
        return tuple(zip(starts, ends, strict=True))


def _towards(start: Place, other: Place, by: float) -> Place:
    """Return the point `by` from `start` on the way to another one."""
    length = math.dist(start, other)
    return between(start, other, by / length) if length else start


def sides(table: BendTable) -> tuple[int, ...]:
    """Return to which side each bend turns when the planes lie flat in order.

    1 for left. A bend turned by about 180 degrees against the one before goes to the
    other side; any other rotation is taken up by turning the tube.
    """
    found: list[int] = []
    firsts = {stretch.first for stretch in plane_stretches(table)}
    for number, bend in enumerate(table.bends, start=1):
        side = found[-1] if found else 1
        is_turned_back = number not in firsts and abs(bend.rotation_deg) > 90.0
        found.append(-side if is_turned_back else side)
    return tuple(found)


def flat_planes(table: BendTable) -> tuple[FlatPlane, ...]:
    """Return the planes of a tube laid flat, in order; one for a straight tube."""
    stretches = plane_stretches(table)
    if not stretches:
        points = ((0.0, 0.0), (table.closing_straight, 0.0))
        return (FlatPlane(number=1, count=1, points=points, bends=()),)
    turns_deg = [None, *(stretch.turn_deg for stretch in stretches[1:]), None]
    return tuple(
        _laid_flat(
            table,
            range(stretch.first, stretch.last + 1),
            number=number,
            count=len(stretches),
            turns_deg=(turns_deg[number - 1], turns_deg[number]),
        )
        for number, stretch in enumerate(stretches, start=1)
    )


def _laid_flat(
    table: BendTable,
    numbers: range,
    *,
    number: int,
    count: int,
    turns_deg: tuple[float | None, float | None],
) -> FlatPlane:
    """Return the plane that holds the bends of those numbers."""
    outs = _take_outs(table)
    points, bends = _bent_flat(table, numbers, outs)
    return FlatPlane(
        number=number,
        count=count,
        points=points,
        bends=bends,
        lead_in=outs[numbers.start - 1],
        lead_out=outs[numbers.stop],
        turn_before_deg=turns_deg[0],
        turn_after_deg=turns_deg[1],
    )


def _bent_flat(
    table: BendTable, numbers: range, outs: Sequence[float]
) -> tuple[tuple[Place, ...], tuple[FlatBend, ...]]:
    """Return the vertices and bends of those numbers laid flat, from what each takes."""
    legs = [
        outs[n - 1] + table.straights[n - 1] + outs[n]
        for n in range(numbers.start, numbers.stop + 1)
    ]
    to_side = sides(table)
    heading_deg = 0.0
    points: list[Place] = [(-legs[0], 0.0), (0.0, 0.0)]
    bends: list[FlatBend] = []
    for index, leg in zip(numbers, legs[1:], strict=True):
        angle_deg, side = table.bends[index - 1].angle_deg, to_side[index - 1]
        start = polar(points[-1], -outs[index], heading_deg)
        after_deg = heading_deg + side * angle_deg
        bends.append(
            FlatBend(
                number=index,
                angle_deg=angle_deg,
                side=side,
                vertex=points[-1],
                centre=polar(start, table.radius, heading_deg + 90.0 * side),
                start=start,
                end=polar(points[-1], outs[index], after_deg),
            )
        )
        heading_deg = after_deg
        points.append(polar(points[-1], leg, heading_deg))
    return tuple(points), tuple(bends)


def _take_outs(table: BendTable) -> list[float]:
    """Return what each vertex takes of its legs, the two ends' nothing with them [mm]."""
    angles = (math.radians(bend.angle_deg) for bend in table.bends)
    return [0.0, *(take_out(table.radius, angle) for angle in angles), 0.0]


def mirrored(plane: FlatPlane) -> FlatPlane:
    """Return a plane as it looks from its other side: left and right exchanged."""
    return replace(
        plane,
        is_mirrored=not plane.is_mirrored,
        points=tuple(_mirrored(point) for point in plane.points),
        bends=tuple(
            replace(
                bend,
                side=-bend.side,
                vertex=_mirrored(bend.vertex),
                centre=_mirrored(bend.centre),
                start=_mirrored(bend.start),
                end=_mirrored(bend.end),
            )
            for bend in plane.bends
        ),
    )


def _mirrored(place: Place) -> Place:
    """Return a place on the other side of the first leg."""
    return (place[0], 0.0 - place[1])
