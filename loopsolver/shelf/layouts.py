"""From the dimensions of a part to its bodies, ports and points, in the part's frame."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Literal

from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import AXES, Point

ShelfFlow = Literal["in", "out", "either"]
"""The way the coolant goes through a port, where every part of the kind has it so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A port of a part: the middle of its face, and the direction out of it."""

    position: Point
    direction: Point
    flow: ShelfFlow = "either"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLayout:
    """A part laid out in its own frame [mm].

    Attributes
    ----------
    bodies : tuple of Box or Cylinder
    ports : mapping of Opening
        By name.
    points : mapping of Point
        Holes and slots, by name.
    zones : mapping of Box
        What a standard case leaves free, by name.
    """

    bodies: tuple[Box | Cylinder, ...]
    ports: Mapping[str, Opening] = field(default_factory=dict)
    points: Mapping[str, Point] = field(default_factory=dict)
    zones: Mapping[str, Box] = field(default_factory=dict)


Lengths3 = tuple[float, float, float]
Sizes = Mapping[str, float]
Counts = Mapping[str, int]
LayOut = Callable[[Sizes, Counts], PartLayout]


def _box(corner: Lengths3, size: Lengths3) -> Box:
    """Return a box by its least x, y, z and its lengths."""
    x, y, z = (least + along / 2.0 for least, along in zip(corner, size, strict=True))
    return Box(frame=Frame(origin=(x, y, z)), size=size)


def _board(of: Sizes, _: Counts) -> PartLayout:
    body = _box((0.0, 0.0, 0.0), (of["thickness"], of["depth"], of["length"]))
    return PartLayout(bodies=(body,), zones=_zones(of) if "zone_a" in of else {})


def _zones(of: Sizes) -> dict[str, Box]:
    """Return the space above a board, and that under it, that its standard asks for."""
    floor, across, along = of["thickness"], of["depth"], of["length"]
    beside, front, rear = of["zone_b_width"], of["zone_c_depth"], of["zone_d_depth"]
    rest = along - beside

    def above(height: float, y: float, deep: float) -> Box:
        return _box((floor, y, beside), (height, deep, rest))

    return {
        "zone A": above(of["zone_a"], rear, across - front - rear),
        "zone B": _box((floor, 0.0, 0.0), (of["zone_b"], across, beside)),
        "zone C": above(of["zone_c"], across - front, front),
        "zone D": above(of["zone_d"], 0.0, rear),
        "zone under": _box((-of["under"], 0.0, 0.0), (of["under"], across, along)),
    }


def _card(of: Sizes, counts: Counts) -> PartLayout:
    thickness = counts["slots"] * of["pitch"] - of["gap"]
    middle, half = thickness - of["behind"], of["edge_width"] / 2.0
    edge = _box(
        (0.0, of["key"] - of["edge_start"], middle - half),
        (of["edge"], of["edge_start"] + of["edge_end"], of["edge_width"]),
    )
    body = _box(
        (of["edge"], 0.0, 0.0), (of["height"] - of["edge"], of["length"], thickness)
    )
    return PartLayout(bodies=(edge, body), points={"slot": (0.0, of["key"], middle)})


def _fan(of: Sizes, _: Counts) -> PartLayout:
    frame = of["frame"]
    middle = (frame / 2.0, frame / 2.0)
    return PartLayout(
        bodies=(_box((0.0, 0.0, 0.0), (frame, frame, of["depth"])),),
        points={**_holes([middle], of["pitch"]), "middle": (*middle, 0.0)},
    )


def _radiator(of: Sizes, counts: Counts) -> PartLayout:
    frame, fans, across = of["frame"], counts["fans"], of["width"] / 2.0
    length = of["tank"] + fans * frame + of["far_tank"]
    middles = [
        (across, of["tank"] + (place + 0.5) * frame)  # of each fan
        for place in range(fans)
    ]
    return PartLayout(
        bodies=(_box((0.0, 0.0, 0.0), (of["width"], length, of["thickness"])),),
        ports={
            name: Opening(
                position=(across + side * of["spacing"] / 2.0, of["tank"] / 2.0, 0.0),
                direction=AXES["-z"],
            )
            for name, side in (("in", -1.0), ("out", 1.0))
        },
        points={
            **_holes(middles, of["pitch"]),
            "middle": (across, of["tank"] + fans * frame / 2.0, 0.0),
        },
    )


def _holes(middles: list[tuple[float, float]], pitch: float) -> dict[str, Point]:
    """Return the four holes round the middle of each fan, in the plane z = 0."""
    corners = itertools.product(middles, (-0.5, 0.5), (-0.5, 0.5))
    return {
        f"hole_{number}": (x + right * pitch, y + up * pitch, 0.0)
        for number, ((x, y), up, right) in enumerate(corners, start=1)
    }


def _housing(of: Sizes, _: Counts) -> PartLayout:
    deep = of["depth"] if "depth" in of else of["length"]
    return PartLayout(
        bodies=(_box((0.0, 0.0, 0.0), (of["width"], deep, of["height"])),)
    )


def _tank(of: Sizes, _: Counts) -> PartLayout:
    across, height = of["diameter"] / 2.0, of["height"]
    frame = axis_frame((across, across, height / 2.0), AXES["+z"])
    return PartLayout(
        bodies=(Cylinder(frame=frame, diameter=of["diameter"], height=height),),
        ports={
            "top": Opening(position=(across, across, height), direction=AXES["+z"]),
            "bottom": Opening(position=(across, across, 0.0), direction=AXES["-z"]),
        },
    )


def _pump_top(of: Sizes, _: Counts) -> PartLayout:
    width, depth, height = of["width"], of["depth"], of["height"]
    return PartLayout(
        bodies=(_box((0.0, 0.0, 0.0), (width, depth, height)),),
        ports={
            "in": Opening(
                position=(width / 2.0, depth / 2.0, height),
                direction=AXES["+z"],
                flow="in",
            ),
            "out": Opening(
                position=(width / 2.0, 0.0, height - of["outlet"]),
                direction=AXES["-y"],
                flow="out",
            ),
        },
    )


def _block(of: Sizes, _: Counts) -> PartLayout:
    across, along = of["width"] / 2.0, of["length"] / 2.0

    def port(side: float, flow: ShelfFlow) -> Opening:
        at = (of["height"], across, along + side * of["spacing"] / 2.0)
        return Opening(position=at, direction=AXES["+x"], flow=flow)

    return PartLayout(
        bodies=(_box((0.0, 0.0, 0.0), (of["height"], of["width"], of["length"])),),
        ports={"in": port(1.0, "in"), "out": port(-1.0, "out")},
        points={"middle": (0.0, across, along)},
    )


def _port_plate(of: Sizes, counts: Counts) -> PartLayout:
    ports = counts["ports"]
    length = 2.0 * of["margin"] + (ports - 1) * of["spacing"]
    return PartLayout(
        bodies=(_box((0.0, 0.0, 0.0), (of["thickness"], of["width"], length)),),
        ports={
            f"port_{place + 1}": Opening(
                position=(
                    of["thickness"],
                    of["width"] / 2.0,
                    of["margin"] + place * of["spacing"],
                ),
                direction=AXES["+x"],
            )
            for place in range(ports)
        },
    )


LAYOUTS: Final[Mapping[str, LayOut]] = MappingProxyType(
    {
        "board": _board,
        "card": _card,
        "fan": _fan,
        "radiator": _radiator,
        "supply": _housing,
        "drive": _housing,
        "tank": _tank,
        "pump top": _pump_top,
        "block": _block,
        "port plate": _port_plate,
    }
)
"""By the kind of part."""
