"""Doubts about filling: a pump that runs dry, a part that keeps its air."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from loopsolver.geometry.solids import HalfSpace, Solid, highest
from loopsolver.geometry.vectors import Point, dot
from loopsolver.lengths import Lengths, on_a_rule
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Component, Scene

_LOW: Final = 0.5
"""Ports in the lower share of a part are low; common practice, no source."""


def filling_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return doubts about a scene that says how it is filled.

    A pump that stands higher than the part with the vent, its tank, runs dry before the
    tank does. A part whose ports are all low keeps air above them, whatever the tubes
    do, as long as the machine stands as it is used.
    """
    filling = scene.filling
    if filling is None:
        return
    up, lengths = scene.sides.up, on_a_rule(scene.units)
    vent = filling.vent
    tank = next(
        (part for part in scene.components if vent and part.name == vent.component),
        None,
    )
    for part in scene.components:
        if part is tank or not _solids(part):
            continue
        if part.water.pump and tank is not None and _solids(tank):
            yield from _above_its_tank(part, tank, up, lengths)
        yield from _low_ports(part, up, lengths)


def _above_its_tank(
    pump: Component, tank: Component, up: Point, lengths: Lengths
) -> Iterator[Doubt]:
    above = _span(pump, up)[0] - _span(tank, up)[0]
    if above > 0.0:
        message = (
            f"stands {lengths.text(above)} higher than the bottom of {tank.name}, its "
            f"tank, and runs dry before it does; set the pump lower, or {tank.name} higher"
        )
        yield Doubt(kind="filling", where=pump.name, message=message)


def _low_ports(part: Component, up: Point, lengths: Lengths) -> Iterator[Doubt]:
    if len(part.ports) < 2:
        return
    bottom, top = _span(part, up)
    port = max(dot(port.position, up) for port in part.ports)
    if port - bottom < _LOW * (top - bottom):
        message = (
            f"all its ports are low: air in the {lengths.text(top - port)} above them "
            "cannot leave while the machine stands as it is used; mount it with its "
            "ports up, or see `loopsolver fill` for tilts that let it out"
        )
        yield Doubt(kind="filling", where=part.name, message=message)


def _solids(part: Component) -> tuple[Solid, ...]:
    """Return where the coolant is in a part: its spaces, by default its bodies."""
    solids = part.water.spaces or tuple(body.solid for body in part.bodies)
    return tuple(one for one in solids if not isinstance(one, HalfSpace))


def _span(part: Component, up: Point) -> tuple[float, float]:
    """Return from which height to which a part's coolant reaches [mm]."""
    down = (-up[0], -up[1], -up[2])
    solids = _solids(part)
    return (
        -max(highest(one, down) for one in solids),
        max(highest(one, up) for one in solids),
    )
