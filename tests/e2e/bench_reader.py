"""What a person at the bench reads off printed words, and the tube that they lay by it.

Words are taken as they stand; vectors are turned by Rodrigues' rotation formula. None
of loopsolver's geometry is asked. Clockwise is as seen along the tube from its first
end: right-handed about the way on.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
import pypdfium2

X, Y, Z = np.eye(3)

WAY = (
    r"(?:points ([\d.]+)(?:°| degrees) (clockwise|anticlockwise) of bend (\d+)"
    r"|same plane, to the (same side as|side opposite to) bend (\d+))"
)
TURN = r"turn the tube ([\d.]+)(?:°| degrees) (clockwise|anticlockwise)"
HALF_TURN = "turn the tube by 180°"
SHEET = r": (plain|mirrored) sheet (\d+) of (\d+)"


@dataclass(frozen=True, kw_only=True)
class Move:
    """One bend as it is read: clockwise is above zero, degrees; lengths in mm.

    `points` is against where the bend before points; `turn` is how the tube is turned
    before it goes to a former that stays where it is.
    """

    straight: float
    angle: float
    points: float
    turn: float


def turned(vector, axis, angle):
    """Rodrigues' rotation formula, right-handed about a unit axis [radians]."""
    return (
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + np.multiply.outer(vector @ axis, axis) * (1.0 - math.cos(angle))
    )


def clockwise(amount, sense):
    """Return an amount of degrees, below zero where it goes anticlockwise."""
    return float(amount) * {"clockwise": 1.0, "anticlockwise": -1.0}[sense]


def one_line(text):
    """Return words as they are read on over the ends of lines."""
    return " ".join(text.split())


def table_of(printed):
    """Return radius, rows (straight, angle, way in its plane) and closing straight [mm].

    Of what `bends` printed; the signed column of rotations is not looked at.
    """
    words = one_line(printed)
    said = re.search(r"bend radius ([\d.]+) (mm|in)\b", words)
    assert said is not None
    number, unit = said.groups()
    scale = 25.4 if unit == "in" else 1.0
    table = printed[: printed.index("Marks along")]
    rows = re.findall(
        r"^ +(\d+) +([\d.]+) +-?[\d.]+ +([\d.]+)(?: +(\w.*?))? *$", table, re.MULTILINE
    )
    assert [int(row[0]) for row in rows] == list(range(1, len(rows) + 1))
    (closing,) = re.findall(r"Closing straight: ([\d.]+)", words)
    found = [(scale * float(one), float(angle), way) for _, one, angle, way in rows]
    return scale * float(number), found, scale * float(closing)


def moves_of_bends(printed):
    """Return the moves that `bends` printed."""
    _, rows, _ = table_of(printed)
    said = {
        int(number): (clockwise(*points), clockwise(*turn), int(before))
        for number, *points, before, t, s, at in re.findall(
            r"Bend (\d+) points ([\d.]+) degrees (\w+) of bend (\d+)\. On a former that "
            r"stays where it is, turn the tube ([\d.]+) degrees (\w+) before bend (\d+)",
            one_line(printed),
        )
        for turn in [(t, s)]
        if at == number
    }
    moves = []
    for number, (straight, angle, way) in enumerate(rows, start=1):
        points = turn = 0.0
        if number in said:
            points, turn, before = said.pop(number)
            assert before == number - 1
            assert not way
        elif way == f"opposite to bend {number - 1}":
            points = turn = 180.0
        else:
            assert way == ("" if number == 1 else f"same way as bend {number - 1}")
        moves.append(Move(straight=straight, angle=angle, points=points, turn=turn))
    assert not said
    return moves


def moves_of_words(text, printed):
    """Return the moves in the words of a bench sheet or a turn card.

    Lengths and angles are those that `bends` printed.
    """
    _, rows, _ = table_of(printed)
    said = {1: (0.0, 0.0)}
    for found in re.finditer(
        rf"Bend (\d+):[^;:]*?[;:]? ?{WAY}(?: before it: | \()?"
        rf"({TURN}|{HALF_TURN}|no turn)?",
        one_line(text),
    ):
        number, amount, sense, before, side, other, turn, by, way = found.groups()
        assert int(before or other) == int(number) - 1
        opposite = 180.0 if side == "side opposite to" else 0.0
        points = clockwise(amount, sense) if amount else opposite
        half = 180.0 if turn == HALF_TURN else 0.0
        said[int(number)] = (points, clockwise(by, way) if by else half)
    assert sorted(said) == list(range(1, len(rows) + 1))
    return [
        Move(straight=straight, angle=angle, points=points, turn=turn)
        for (straight, angle, _), (points, turn) in zip(
            rows, (said[number] for number in sorted(said)), strict=True
        )
    ]


def tangent(radius, angle):
    """Return from a bend's vertex to where it starts [mm], by plain trigonometry."""
    return radius * math.tan(math.radians(angle) / 2.0)


def laid_as_they_point(moves, radius, closing):
    """Return the vertices of a tube whose bends point as the words say."""
    along, inside = X, Y
    vertices = [np.zeros(3)]
    place = vertices[0]
    for move in moves:
        out, angle = tangent(radius, move.angle), math.radians(move.angle)
        inside = turned(inside, along, math.radians(move.points))
        vertices.append(place + (move.straight + out) * along)
        along, inside = (
            math.cos(angle) * along + math.sin(angle) * inside,
            math.cos(angle) * inside - math.sin(angle) * along,
        )
        place = vertices[-1] + out * along
    return np.array([*vertices, place + closing * along])


def bent_on_a_former(moves, radius, closing):
    """Return the vertices of a tube that is turned and pushed on at a former.

    The former stays where it is and bends what comes towards +y; what is still
    straight points along +x, and what is bent already lies behind the origin.
    """
    made = np.zeros((1, 3))
    for move in moves:
        out, angle = tangent(radius, move.angle), math.radians(move.angle)
        made = turned(made, X, math.radians(move.turn))
        made = np.vstack([made - (move.straight + out) * X, np.zeros(3)])
        made = turned(made, Z, -angle) - out * X
    return np.vstack([made - closing * X, np.zeros(3)])


def laid_on_sheets(paths, turns):
    """Return the vertices of a tube that is laid on one sheet after the other.

    Parameters
    ----------
    paths : list of arrays
        Vertices on each sheet, from the one before it to the one after it, (n, 2).
    turns : list of float
        How the tube is turned between a sheet and the next, clockwise above zero.
    """
    level = [np.column_stack([path, np.zeros(len(path))]) for path in paths]
    made = level[0]
    for path, turn in zip(level[1:], turns, strict=True):
        # Slid and swung on the table until the last leg lies on the sheet's first one.
        (a, b), (c, d) = made[-2:], path[:2]
        swing = math.atan2(*(d - c)[1::-1]) - math.atan2(*(b - a)[1::-1])
        made = turned(made - b, Z, swing)
        along = (d - c) / np.linalg.norm(d - c)
        made = d + turned(made, along, math.radians(turn))
        made = np.vstack([made[:-1], path[1:]])
    return made


def pages_of(pdf):
    """Return the words on each page of a PDF document."""
    document = pypdfium2.PdfDocument(pdf)
    return [one_line(page.get_textpage().get_text_bounded()) for page in document]


def words_by_sheet(pages):
    """Return all words on each template, by set and number, in their order."""
    found: dict[tuple[str, int], str] = {}
    for page in pages:
        heading = re.search(SHEET, page)
        if heading:
            name = (heading[1], int(heading[2]))
            found[name] = f"{found.get(name, '')} {page}"
    return found


def turn_to_next(words, name):
    """Return how a sheet has the tube turned for the next one of its own set."""
    kind, number = name
    says = rf"To lay it flat on {kind} sheet {number + 1}, {TURN}\."
    (found,) = re.findall(says, words)
    (leans,) = re.findall(WAY + ", seen along the tube from its first end", words)
    assert clockwise(*leans[:2]) == -clockwise(*found)
    return clockwise(*found)


def furthest_apart(one, other):
    """Return by how much points miss others after the best move, mirroring left out.

    W. Kabsch, Acta Crystallographica A 32 (1976) 922.
    """
    a, b = one - one.mean(axis=0), other - other.mean(axis=0)
    left, _, right = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
    return np.abs(a @ left @ flip @ right - b).max()
