"""How far a tube that is being bent goes below the level of its former.

The former lies flat and stays where it is. Both legs of the bend in hand lie level in
its groove, what is not bent yet goes straight on, and what is bent already stands up
or hangs down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loopsolver.geometry.vectors import cross, dot, offset, unit
from loopsolver.tube.centreline import Centreline, heights_along, legs, pieces


@dataclass(frozen=True, slots=True, kw_only=True)
class BelowFormer:
    """How far the bent part is below the middle of the groove at one bend [mm].

    Attributes
    ----------
    bend : int
        Number of the bend in hand.
    to_left, to_right : float
        Of the tube's centre line, where the former bends to the left or to the right as
        seen along the tube from its first end; 0 where it is nowhere below.
    """

    bend: int
    to_left: float
    to_right: float


def below_former(
    centreline: Centreline, *, trim_allowance: float
) -> tuple[BelowFormer, ...]:
    """Return how far the bent part hangs down, for every bend from the second on.

    Parameters
    ----------
    centreline : Centreline
    trim_allowance : float
        By which the first end is longer while the tube is bent [mm].

    Raises
    ------
    GeometryError
        As `centreline.pieces` does.

    Notes
    -----
    A bend to the left turns from the travel a to a direction b so that a x b points up.
    """
    directions = legs(centreline).directions
    first, *others = centreline.vertices
    longer = (offset(first, directions[0], -trim_allowance), *others)
    whole = pieces(replace(centreline, vertices=longer))
    found = []
    for index in range(1, len(directions) - 1):
        up = unit(cross(directions[index], directions[index + 1]))
        level = dot(up, others[index])
        heights = [
            height - level
            for piece in whole[: 2 * index + 1]
            for height in heights_along(piece, up)
        ]
        found.append(
            BelowFormer(
                bend=index + 1,
                to_left=0.0 - min(0.0, *heights),
                to_right=max(0.0, *heights),
            )
        )
    return tuple(found)
