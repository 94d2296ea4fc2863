"""Ways in words, as seen from before the case's front: where ports lie and point."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from loopsolver.geometry.vectors import AXES, Point, axis_name, difference, dot, point
from loopsolver.lengths import lengths_for
from loopsolver.scene.axes import OPPOSITE, SIDES, Side, Sides
from loopsolver.scene.model import Port, Scene
from loopsolver.words import listed

_POINTS: Final[dict[Side, str]] = {
    "right": "points to your right",
    "left": "points to your left",
    "away": "points away from you",
    "near": "points towards you",
    "up": "opens upwards",
    "down": "opens downwards",
}


def offset_words(offset: Point, sides: Sides, *, text: Callable[[float], str]) -> str:
    """Return how far it is along right, away and up: ``83.0 mm right and 112.0 mm up``.

    Ways that show as nothing are left out; ``nowhere`` if all do.

    Parameters
    ----------
    offset : Point
        In the case frame [mm].
    sides : Sides
    text : callable
        Puts a length [mm] into words.
    """
    words = [
        f"{text(abs(part))} {SIDES[place] if part > 0.0 else OPPOSITE[SIDES[place]]}"
        for place, part in zip((0, 2, 4), _parts(offset, sides), strict=True)
        if text(abs(part)) != text(0.0)
    ]
    return listed(words) or "nowhere"


def side_of(direction: Point, sides: Sides) -> Side | None:
    """Return the side along which a direction lies; None where it is between two."""
    name = axis_name(_parts(direction, sides))
    return None if name is None else dict(zip(AXES, SIDES, strict=True))[name]


def two_port_sentences(scene: Scene, first: Port, second: Port) -> Iterator[str]:
    """Yield where the second of two ports lies, and which way both of them point.

    The tube leaves the first and enters the second.
    """
    sides, text = scene.sides, lengths_for(scene.units).text
    way = offset_words(difference(second.position, first.position), sides, text=text)
    yield (
        "As seen from before the case's front, the middle of the second port's face is "
        f"{way} from that of the first's."
    )
    leaves, opens = side_of(first.direction, sides), side_of(second.direction, sides)
    if leaves is not None and opens is not None:
        yield (
            f"The first port {_POINTS[leaves]}; the second {_POINTS[opens]}, since the "
            f"tube enters {OPPOSITE[opens]}."
        )


def fitting_sentence(scene: Scene, port: Port) -> str:
    """Return what holds the tube at a port, and what nothing is known of."""
    text = lengths_for(scene.units).text
    fitting = port.fittings[0]
    return (
        f"Each port holds a fitting that is {text(fitting.height)} high, with the tube "
        f"{text(fitting.depth)} in it. No walls and no parts are known: see that the "
        "tube's way is free."
    )


def _parts(offset: Point, sides: Sides) -> Point:
    return point(dot(offset, way) for way in (sides.right, sides.away, sides.up))
