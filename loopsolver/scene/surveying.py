"""A scene file's positions, places, ports and readings as one network of observations.

Stations are the datum, the walls, and the origin and ports of components; a point or
face of a component is a mark on its origin. Bodies and points are as written; positions,
places and ports as written are observations with the usual spread, as readings are; a
port of the shelf lies as far off as its part's sizes may put it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import numpy as np

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.vectors import AXES, Point, axis_name, point
from loopsolver.scene.measured_tables import ReadingTable
from loopsolver.scene.point_names import DATUM_POINT, ORIGIN, WALLS
from loopsolver.scene.quantities import Measured
from loopsolver.scene.schema import ComponentTable, SceneFile
from loopsolver.scene.standing import means, own_point, ports_of_shelf
from loopsolver.survey.network import Mark, Network, Observation, Station

_ALONG = tuple((letter, AXES[f"+{letter}"]) for letter in "xyz")


def network_of(data: SceneFile, frames: Mapping[str, Frame]) -> Network:
    """Return the network of a faultless scene file.

    Parameters
    ----------
    data : SceneFile
    frames : mapping of str to Frame
        Where components stand as written; what is left to the readings, about where.
    """
    observations = tuple(_observations(data, frames))
    stations = tuple(_stations(data, frames))
    standing = {one.name for one in stations}
    named = {name for one in observations for name in (one.start, one.goal)}
    return Network(
        stations=stations,
        marks=tuple(_mark(name, data) for name in sorted(named - standing)),
        observations=observations,
    )


def _stations(data: SceneFile, frames: Mapping[str, Frame]) -> Iterator[Station]:
    yield Station(name=DATUM_POINT, start=(0.0, 0.0, 0.0), free=())
    if data.case.inner is not None:
        inner = means(data.case.inner)
        for wall in WALLS:
            at = inner if "+" in wall else (0.0, 0.0, 0.0)
            yield Station(name=wall, start=at, free=())
    for name, part in data.components.items():
        origin = frames[name].origin
        yield Station(name=f"{name}.{ORIGIN}", start=origin)
        for port in part.ports:
            at = point(np.add(origin, own_point(part, port)))
            yield Station(name=f"{name}.{port}", start=at)


def _mark(name: str, data: SceneFile) -> Mark:
    part, _, own = name.partition(".")
    offset = point(own_point(data.components[part], own))
    return Mark(name=name, station=f"{part}.{ORIGIN}", offset=offset)


def _observations(
    data: SceneFile, frames: Mapping[str, Frame]
) -> Iterator[Observation]:
    usual = data.spread.reading
    for name, part in data.components.items():
        yield from _position(name, part, usual)
        yield from _place(name, part, usual)
        own = [(letter, frames[name].turn(axis)) for letter, axis in _ALONG]
        shelf = {port: each.spreads[port] for port, each in ports_of_shelf(part)}
        for port, table in part.ports.items():
            full = f"{name}.{port}"
            spreads = shelf.get(port, (0.0, 0.0, 0.0))
            for way, one, spread in zip(own, table.position, spreads, strict=True):
                ends, off = (f"{name}.{ORIGIN}", full), max(spread, usual)
                yield from _coordinates(f"port {full}", *ends, [way], [one], off)
    for reading in data.readings:
        yield _reading(reading, usual)


def _position(name: str, part: ComponentTable, usual: float) -> Iterator[Observation]:
    """Yield a component's position, coordinate by coordinate."""
    for (letter, axis), one in zip(_ALONG, part.position or (), strict=False):
        called = f"position of {name}"
        if one.wall is None:
            way, ends = [(letter, axis)], (DATUM_POINT, f"{name}.{ORIGIN}")
        else:
            inward = AXES[("+" if one.wall[0] == "-" else "-") + letter]
            way, ends = [(letter, inward)], (f"wall {one.wall}", f"{name}.{one.wall}")
        yield from _coordinates(called, *ends, way, [one], usual)


def _place(name: str, part: ComponentTable, usual: float) -> Iterator[Observation]:
    if part.place is not None:
        ends = (part.place.start, f"{name}.{part.place.point}")
        called = f"place of {name}"
        yield from _coordinates(called, *ends, _ALONG, part.place.offset, usual)


def _coordinates(
    called: str,
    start: str,
    goal: str,
    ways: Iterable[tuple[str, Point]],
    values: Iterable[Measured],
    usual: float,
) -> Iterator[Observation]:
    """Yield what is written of a point from another, coordinate by coordinate."""
    for (letter, way), one in zip(ways, values, strict=True):
        if one.values:
            yield Observation(
                name=f"{called} along {letter}",
                start=start,
                goal=goal,
                along=way,
                values=one.values,
                spread=usual,
            )


def _reading(table: ReadingTable, usual: float) -> Observation:
    along = "" if table.along is None else axis_name(table.along) or "its direction"
    how = f" along {along.removeprefix('+')}" if along else ""
    return Observation(
        name=f"{table.start} to {table.goal}{how}",
        start=table.start,
        goal=table.goal,
        along=table.along,
        values=table.value.values,
        spread=table.spread or usual,
        zero=table.zero,
    )
