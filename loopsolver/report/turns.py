"""Where a bend points, against the bend before it, and how the tube is turned for it.

On a former that stays where it is every bend is made towards the same side of the room.
So the tube itself is turned the other way to bring its new side there: a bend that
points clockwise of the one before needs the tube turned anticlockwise.
"""

from __future__ import annotations

from loopsolver.report.angles import clock, clock_sense, degrees, rotation, short
from loopsolver.tube.bend_table import Bend, BendTable
from loopsolver.tube.planes import is_in_plane


def angles_text(table: BendTable) -> str:
    """Return the bends' angles, bend by bend [degrees]."""
    return " ".join(short(bend.angle_deg) for bend in table.bends)


def turns_text(table: BendTable) -> str:
    """Return the turn before each bend but the first [degrees]."""
    turns = [rotation(bend.rotation_deg) for bend in table.bends[1:]]
    return " ".join(turn.removesuffix(".0") for turn in turns)


def angles_and_turns(table: BendTable) -> str:
    """Return a tube's shape in a line: ``90 90 90, turns 37 -90``."""
    if len(table.bends) < 2:
        return angles_text(table)
    return f"{angles_text(table)}, turns {turns_text(table)}"


def turn_sentences(rotation_deg: float, *, number: int) -> str:
    """Return where a bend points, against the bend before it, and how to get there.

    Parameters
    ----------
    rotation_deg : float
        Right-handed about the direction of travel, in (-180, 180] [degrees].
    number : int
        Of the bend, counted from 1.

    Notes
    -----
    On a former that stays where it is, every bend is made towards the same side of the
    room, so the tube itself is turned the other way to bring the new side there.
    """
    forward, back = clock_sense(rotation_deg), clock_sense(-rotation_deg)
    amount = degrees(abs(rotation_deg))
    return (
        f"Bend {number} points {amount} {forward} of bend {number - 1}. On a former "
        f"that stays where it is, turn the tube {amount} {back} before bend {number}."
    )


def way_in_plane(bend: Bend, *, number: int) -> str:
    """Return to which side a bend goes, against the bend before it in its plane."""
    if abs(bend.rotation_deg) < 90.0:
        return f"same way as bend {number - 1}"
    return f"opposite to bend {number - 1}"


def way_on_sheet(bend: Bend, *, number: int) -> str:
    """Return where a bend points, against the bend before it; '' for the first.

    Notes
    -----
    Which way is clockwise, and that a bend points to its inside, has to be said beside
    it.
    """
    if number == 1:
        return ""
    if is_in_plane(bend.rotation_deg):
        side = (
            "the same side as"
            if abs(bend.rotation_deg) < 90.0
            else "the side opposite to"
        )
        return f"same plane, to {side} bend {number - 1}"
    return f"points {clock(bend.rotation_deg)} of bend {number - 1}"


def turn_on_sheet(bend: Bend, *, number: int) -> str:
    """Return how the tube is turned before a bend round a former that stays; '' if not.

    Every bend is made towards the same side there, so the tube is turned the other way
    to bring its new side there.
    """
    if number == 1:
        return ""
    if is_in_plane(bend.rotation_deg):
        return "turn the tube by 180°" if abs(bend.rotation_deg) > 90.0 else ""
    return f"turn the tube {clock(-bend.rotation_deg)}"
