"""One case as a person sees it, written down in any frame that they may measure in.

The case is known by right, away and up from its left front lower corner, as seen from
before its front: `RIGHT`, `AWAY` and `UP` number these three. A frame is three words,
as in ``[case] axes``; its datum is the corner from which all three of them count.
Nothing here is taken from loopsolver.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopsolver.geometry.solids import HalfSpace
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import room

RIGHT, AWAY, UP = range(3)
INSIDE = (210.0, 330.0, 290.0)
"""Free inside, by right, away and up."""

WAYS = {
    "right": (RIGHT, 1),
    "left": (RIGHT, -1),
    "away": (AWAY, 1),
    "near": (AWAY, -1),
    "up": (UP, 1),
    "down": (UP, -1),
}

Frame = tuple[str, str, str]
Triple = tuple[float, float, float]

FRAMES: tuple[Frame, ...] = tuple(
    (x, y, z)
    for x, y, z in itertools.permutations(WAYS, 3)
    if {WAYS[word][0] for word in (x, y, z)} == {RIGHT, AWAY, UP}
)
"""All 48 ways to lay x, y and z along the edges of a case."""


def matrix(frame: Frame) -> np.ndarray:
    """Return the 3x3 matrix that turns right, away, up into x, y, z."""
    rows = np.zeros((3, 3))
    for row, word in enumerate(frame):
        way, sign = WAYS[word]
        rows[row, way] = sign
    return rows


def is_right_handed(frame: Frame) -> bool:
    """Whether the determinant says so: R x A = U, with a right hand's three fingers."""
    return bool(np.linalg.det(matrix(frame)) > 0.0)


RIGHT_HANDED = tuple(frame for frame in FRAMES if is_right_handed(frame))
LEFT_HANDED = tuple(frame for frame in FRAMES if not is_right_handed(frame))


def datum(frame: Frame) -> np.ndarray:
    """Return where the frame's datum corner is, by right, away and up [mm]."""
    signs = np.sum(matrix(frame), axis=0)
    return np.where(signs < 0.0, INSIDE, 0.0)


def measured(place: object, frame: Frame) -> np.ndarray:
    """Return a place, given by right, away and up, as measured in a frame [mm]."""
    return matrix(frame) @ (np.asarray(place, float) - datum(frame))


def seen(position: object, frame: Frame) -> np.ndarray:
    """Return by right, away and up what was measured in a frame [mm]."""
    return matrix(frame).T @ np.asarray(position, float) + datum(frame)


def seen_way(direction: object, frame: Frame) -> np.ndarray:
    """Return by right, away and up a direction given in a frame."""
    return matrix(frame).T @ np.asarray(direction, float)


def _list(values: object) -> str:
    return f"[{', '.join(f'{value + 0.0:.10g}' for value in np.asarray(values))}]"


def _way(direction: object, frame: Frame) -> str:
    parts = matrix(frame) @ np.asarray(direction, float)
    axis = int(np.argmax(np.abs(parts)))
    return f'"{"+" if parts[axis] > 0 else "-"}{"xyz"[axis]}"'


def _turned(angle_deg: float, about: int, frame: Frame) -> list[float]:
    """Return a turn about right, away or up as one about x, y or z [degrees].

    A turn keeps its sense when its axis is named by another, but a mirror reverses it.
    """
    rows = matrix(frame)
    axis = int(np.argmax(np.abs(rows[:, about])))
    turns = [0.0, 0.0, 0.0]
    turns[axis] = angle_deg * rows[axis, about] * np.linalg.det(rows)
    return turns


RIGHTWARDS = (1.0, 0.0, 0.0)
AWAYWARDS = (0.0, 1.0, 0.0)

PUMP = (120.0, 40.0, 30.0)
"""The pump's left front lower corner."""

PUMP_OUT = (150.0, 90.0, 60.0)
CARD_IN = (40.0, 240.0, 200.0)
"""The middle of both ports' faces."""

SUPPLY = (40.0, 60.0, 20.0)
SUPPLY_TURN_DEG = 20.0
"""The supply's turn about up, anticlockwise as seen from above."""

STAND_OFF = 8.0
"""Where a tube's end sits before a port: height of a fitting less its depth [mm]."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """A box by its left front lower corner, turned about it; perhaps with a port.

    All by right, away and up; the turn is anticlockwise as seen from above. `port` is
    the middle of its face, and the way it points.
    """

    name: str
    corner: Triple
    box: Triple
    turn_deg: float = 0.0
    port: tuple[str, Triple, Triple] | None = None


PARTS = (
    Part(name="pump", corner=PUMP, box=(60, 50, 80), port=("out", PUMP_OUT, AWAYWARDS)),
    Part(
        name="card",
        corner=(20, 210, 170),
        box=(20, 60, 60),
        port=("in", CARD_IN, RIGHTWARDS),
    ),
    Part(name="supply", corner=SUPPLY, box=(40, 60, 50), turn_deg=SUPPLY_TURN_DEG),
)
"""The pump, at the front, lets a tube out away from its rear face; the card, left of the
middle and higher, takes it in by a port that points right. The tube must go away, up
and left: no other two square bends will do."""


def text(frame: Frame, *, case_keys: str, parts: Sequence[Part] = PARTS) -> str:
    """Return the scene file of the case, measured in a frame."""
    size = np.abs(matrix(frame)) @ INSIDE
    return f"""\
format = 1
[case]
inner = {_list(size)}
{case_keys}
[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
bend_radius = 28
[rules]
max_bends = 3
[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5
{chr(10).join(_component(part, frame) for part in parts)}
[[runs]]
name = "pump to card"
from = "pump.out"
to = "card.in"
"""


def _component(part: Part, frame: Frame) -> str:
    rows, tables = matrix(frame), f"components.{part.name}"
    lines = [
        f"[{tables}]",
        f"position = {_list(measured(part.corner, frame))}",
        f"[[{tables}.bodies]]",
        f"box = {_list(np.abs(rows) @ part.box)}",
        f"centre = {_list(rows @ np.divide(part.box, 2.0))}",
    ]
    if part.turn_deg:
        turns = _turned(part.turn_deg, UP, frame)
        lines.insert(2, f"rotation = {_list(turns)}")
    if part.port is not None:
        name, place, way = part.port
        lines += [
            f"[{tables}.ports.{name}]",
            f"position = {_list(rows @ np.subtract(place, part.corner))}",
            f"direction = {_way(way, frame)}",
        ]
    return "\n".join(lines)


def stated(frame: Frame) -> str:
    """Return the line that states a frame."""
    return f'axes = ["{frame[0]}", "{frame[1]}", "{frame[2]}"]'


def middles_seen(scene: Scene) -> dict[str, np.ndarray]:
    """Return where parts are, seen from the case's middle, by right, away and up [mm].

    A part is where its bodies' middles are on the average.
    """
    assert scene.axes is not None
    middle = np.divide(room(scene)[1], 2.0)
    centres = {
        part.name: [
            body.solid.frame.origin
            for body in part.bodies
            if not isinstance(body.solid, HalfSpace)
        ]
        for part in scene.components
    }
    return {
        name: seen_way(np.mean(origins, axis=0) - middle, scene.axes)
        for name, origins in centres.items()
    }
