"""The curves of pump and loop with their band, drawn, and where they cross."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

from loopsolver.drafting.drawing import (
    Circle,
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
from loopsolver.drafting.layers import Layer, PageLayers
from loopsolver.drafting.lettering import cut_to_width
from loopsolver.files import check_drawing, write_drawing
from loopsolver.hydraulics.band import GREATEST, LEAST, MAIN
from loopsolver.hydraulics.loop_flow import LoopFlow, RingFlow
from loopsolver.report.flow import circuit_name, spread_text, two_digits

_WIDTH: Final = 170.0  # of a diagram with its lettering [mm]
_HEIGHT: Final = 120.0
_LOW: Final = (20.0, 18.0)  # corners of the field between the axes [mm]
_HIGH: Final = (164.0, 102.0)
_LETTERS: Final = 2.6  # height of capitals [mm]
_SAMPLES: Final = 60
_PUMP: Final = Layer(name="pump curve", width=0.6)
_LOOP: Final = Layer(name="loop curve", width=0.6, dash=(3.0, 1.5))
_BAND_GREY: Final = 0.85


def write_flow_picture(
    flow: LoopFlow, path: Path, *, title: str, read: Iterable[Path], force: bool
) -> None:
    """Write the curves of every circuit, one under the other, as SVG or PDF.

    Raises
    ------
    OutputError
        If the name has another ending, or the file must not or cannot be written.
    """
    check_drawing(path, read=read, force=force)
    from loopsolver.drafting.writers.alone import picture_file

    drawing, ending = flow_drawing(flow, title=title), path.suffix.lower()
    data = picture_file(drawing, title=title, ending=ending)
    write_drawing(path, data, read=read, force=force)


def flow_drawing(flow: LoopFlow, *, title: str) -> Drawing:
    """Return the curves of every circuit, one under the other."""
    entities: list[Entity] = []
    count = len(flow.circuits)
    for number, circuit in enumerate(flow.circuits, start=1):
        name = circuit_name(flow.circuits, number) or title
        up = (0.0, (count - number) * _HEIGHT)
        entities += moved(_diagram(circuit, name), up)
    return Drawing(
        entities=tuple(entities), low=(0.0, 0.0), high=(_WIDTH, count * _HEIGHT)
    )


def _diagram(circuit: RingFlow, name: str) -> Iterator[Entity]:
    """Yield one circuit's field, axes, curves and crossings, back to front."""
    net = circuit.network
    pumps = [net.passages[at].pump for at in net.pumps_in_line if circuit.crossings]
    most = net.most() if pumps else 1.5 * circuit.flow.main
    points = [flow for pump in pumps for flow, _ in pump if flow < most]
    even = [most * number / _SAMPLES for number in range(_SAMPLES + 1)]
    flows = sorted({*even, *points})
    pumped = [net.pumped(one) for one in flows] if pumps else []
    ceiling = 1.1 * max([*pumped, circuit.pressure.main])
    main, least, greatest = (
        [net.loop_pressure(one, choose) for one in flows]
        for choose in (MAIN, LEAST, GREATEST)
    )

    def at(flow: float, pressure: float) -> Place:
        (left, bottom), (right, top) = _LOW, _HIGH
        height = max(pressure / ceiling, 0.0)
        return left + (right - left) * flow / most, bottom + (top - bottom) * height

    def curve(pressures: Sequence[float]) -> list[Place]:
        return _up_to(
            _HIGH[1], [at(*one) for one in zip(flows, pressures, strict=True)]
        )

    outline = (*curve(least), *reversed(curve(greatest)))
    yield Polygon(points=outline, layer=PageLayers.SOLID, fill=_BAND_GREY)
    yield from _axes(most, ceiling, at)
    yield Polyline(points=tuple(curve(main)), layer=_LOOP)
    if pumps:
        yield Polyline(points=tuple(curve(pumped)), layer=_PUMP)
    for pump in pumps if len(pumps) == 1 else ():
        for point in pump:
            yield Circle(centre=at(*point), radius=0.9, layer=_PUMP, fill=1.0)
    yield from _crossings(circuit, at)
    yield from _lettering(circuit, name, is_pumped=bool(pumps))


def _up_to(top: float, places: Sequence[Place]) -> list[Place]:
    """Return a curve up to where it first leaves the field at its top."""
    kept: list[Place] = []
    for place in places:
        if place[1] > top:
            share = (top - kept[-1][1]) / (place[1] - kept[-1][1]) if kept else 0.0
            return [*kept, between(kept[-1], place, share)] if kept else []
        kept.append(place)
    return kept


def _axes(
    most: float, ceiling: float, at: Callable[[float, float], Place]
) -> Iterator[Entity]:
    """Yield grid, frame and numbers of both axes."""
    for flow in _ticks(most):
        foot, head = at(flow, 0.0), at(flow, ceiling)
        yield Line(start=foot, end=head, layer=PageLayers.GRID)
        place = (foot[0], foot[1] - 4.5)
        yield Text(position=place, text=f"{flow:g}", size=_LETTERS, anchor="middle")
    for pressure in _ticks(ceiling):
        left, right = at(0.0, pressure), at(most, pressure)
        yield Line(start=left, end=right, layer=PageLayers.GRID)
        place = (left[0] - 2.0, left[1] - _LETTERS / 2.0)
        yield Text(position=place, text=f"{pressure:g}", size=_LETTERS, anchor="end")
    yield rectangle(_LOW, _HIGH, layer=PageLayers.FRAME)
    middle = (_LOW[0] + _HIGH[0]) / 2.0, (_LOW[1] + _HIGH[1]) / 2.0
    yield Text(
        position=(middle[0], 5.0), text="flow, L/min", size=_LETTERS, anchor="middle"
    )
    yield Text(
        position=(6.0, middle[1]),
        text="pressure, kPa",
        size=_LETTERS,
        anchor="middle",
        angle_deg=90.0,
    )


def _ticks(most: float) -> Iterator[float]:
    """Yield round numbers from 0 to `most`: five to ten of them, by 1, 2 or 5."""
    decade = 10.0 ** math.floor(math.log10(most))
    step = next(
        one * decade for one in (0.1, 0.2, 0.5, 1.0) if most <= 10 * one * decade
    )
    for number in range(math.floor(most / step) + 1):
        yield number * step


def _crossings(
    circuit: RingFlow, at: Callable[[float, float], Place]
) -> Iterator[Entity]:
    """Yield the points where the curves cross; open where the loop does not stay."""
    net = circuit.network
    for one in circuit.crossings:
        place = at(one.flow, net.loop_pressure(one.flow, MAIN))
        fill = 0.0 if one.is_steady else 1.0
        yield Circle(centre=place, radius=1.4, layer=PageLayers.NOTE, fill=fill)
    if not circuit.crossings:
        place = at(circuit.flow.main, circuit.pressure.main)
        yield Circle(centre=place, radius=1.4, layer=PageLayers.NOTE, fill=0.0)


def _lettering(circuit: RingFlow, name: str, *, is_pumped: bool) -> Iterator[Entity]:
    """Yield the title, the operating point in words, and what the curves are."""
    width = _HIGH[0] - _LOW[0]
    yield Text(
        position=(_LOW[0], 113.0),
        text=cut_to_width(name, width=width, size=2.8, face=Face.STRONG),
        size=2.8,
        face=Face.STRONG,
    )
    pressure = two_digits(circuit.pressure.main)
    said = f"{spread_text(circuit.flow, 'L/min')} at {pressure} kPa"
    yield Text(position=(_LOW[0], 106.0), text=said, size=_LETTERS)
    left = _HIGH[0] - 68.0
    if is_pumped:
        yield Line(start=(left, 107.3), end=(left + 10.0, 107.3), layer=_PUMP)
        yield Text(position=(left + 12.0, 106.0), text="pump", size=_LETTERS)
    left += 26.0
    box = (left, 106.0), (left + 10.0, 108.6)
    yield rectangle(*box, layer=PageLayers.SOLID, fill=_BAND_GREY)
    yield Line(start=(left, 107.3), end=(left + 10.0, 107.3), layer=_LOOP)
    yield Text(position=(left + 12.0, 106.0), text="loop, its band", size=_LETTERS)
