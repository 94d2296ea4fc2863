"""Doubts about ports: where they sit, and whether fitting and tube have room there."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from typing import Final

import numpy as np

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.separation import overlap
from loopsolver.geometry.solids import (
    Cylinder,
    Solid,
    bounds,
    signed_distance,
)
from loopsolver.geometry.vectors import axis_name, offset
from loopsolver.lengths import on_a_rule
from loopsolver.scene.body_doubts import along
from loopsolver.scene.circuit import loop_ports
from loopsolver.scene.doubt import Doubt, DoubtKind
from loopsolver.scene.model import (
    Component,
    Fitting,
    Port,
    Scene,
    built_in_fitting,
    mouth,
)
from loopsolver.scene.surroundings import (
    Surroundings,
    Thing,
    surroundings,
    with_bounds,
)
from loopsolver.tolerances import NEARLY_IN_LINE, OFF_SURFACE, OVERLAP_DOUBT, TOUCH
from loopsolver.words import listed

_FACING: Final = -0.999
"""Cosine between directions of ports that face each other, to about 2.5 degrees."""


def port_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return doubts about the ports of a scene's components.

    Room is looked at where a run or the loop may end, and at every port of a scene
    without any.
    """
    used = {name for run in scene.runs for name in (*run.from_ports, *run.to_ports)}
    used.update(loop_ports(scene))
    around = surroundings(scene)
    for component in scene.components:
        yield from _not_measured(component)
        for port in component.ports:
            misplaced = [
                *_off_surface(port, component, scene),
                *_inside(port, around, scene),
            ]
            yield from misplaced
            if (port.name in used or not used) and not misplaced:
                yield from _fitting_doubts(port, around, scene)
    yield from _fittings_in_each_other(scene)


def _not_measured(component: Component) -> Iterator[Doubt]:
    """Return a doubt where ports stand on sizes that are a rule of thumb."""
    if component.unmeasured:
        message = (
            f"its ports stand on sizes that no standard holds: "
            f"{listed(component.unmeasured)}; measure them and write them into its part, "
            "or give its ports positions of their own"
        )
        yield Doubt(kind="not measured", where=component.name, message=message)


def _off_surface(port: Port, component: Component, scene: Scene) -> Iterator[Doubt]:
    distances = [_distance(body.solid, port) for body in component.bodies]
    nearest = min(distances, default=0.0)
    if abs(nearest) <= OFF_SURFACE:
        return
    amount = on_a_rule(scene.units).plain(abs(nearest))
    lies = f"lies {amount} inside" if nearest < 0.0 else f"stands {amount} away from"
    message = (
        f"{lies} the bodies of {component.name}; a port's position is the middle of its "
        "face, on the surface, in the component's frame"
    )
    yield Doubt(kind="off surface", where=port.name, message=message)


def _inside(port: Port, around: Surroundings, scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every foreign body in which the port lies."""
    for place in around.near(np.array([port.position, port.position])):
        body = around.things[place]
        depth = -_distance(body.solid, port)
        if body.owner not in ("", port.component) and depth > OVERLAP_DOUBT:
            amount = on_a_rule(scene.units).plain(depth)
            message = f"lies {amount} inside {body.name}; measure both again"
            yield Doubt(kind="inside a body", where=port.name, message=message)


def _fitting_doubts(port: Port, around: Surroundings, scene: Scene) -> Iterator[Doubt]:
    if port.fittings == (built_in_fitting(scene.tube.outer_diameter),):
        yield _built_in(port, scene)
    troubles = [_trouble(port, each, around, scene) for each in port.fittings]
    if all(trouble is not None for trouble in troubles):  # else another one does
        yield from (trouble for trouble in troubles[:1] if trouble is not None)


def _trouble(
    port: Port, fitting: Fitting, around: Surroundings, scene: Scene
) -> Doubt | None:
    """Return why a fitting, or the tube beyond it, has no room at a port, or None."""
    kind: DoubtKind = "fitting in the way"
    message = _fitting_in_the_way(port, fitting, around, scene)
    if message is None and fitting.turn_deg == 0.0:  # that of an elbow swivels
        kind = "no room"
        message = _straight_blocked(port, fitting, around, scene)
        message = message or _no_room_to_bend(port, fitting, scene)
    if message is None:
        return None
    return Doubt(kind=kind, where=port.name, message=message)


def _built_in(port: Port, scene: Scene) -> Doubt:
    fitting, text = port.fittings[0], on_a_rule(scene.units).plain
    message = (
        f"names no fitting, so the built-in one is used: height {text(fitting.height)}, "
        f"depth {text(fitting.depth)}, diameter {text(fitting.diameter)}, straight "
        f"{text(fitting.straight_beyond)} beyond; measure yours and write a "
        "[fittings.NAME] table, or every tube end may be off"
    )
    return Doubt(kind="built-in fitting", where=port.name, message=message)


def _fitting_in_the_way(
    port: Port, fitting: Fitting, around: Surroundings, scene: Scene
) -> str | None:
    def allowed(thing: Thing) -> float:
        return OFF_SURFACE if thing.owner == port.component else OVERLAP_DOUBT

    hit = _hit(_fitting_body(port, fitting), around, port, allowed=allowed)
    if hit is None:
        return None
    (name, depth), text = hit, on_a_rule(scene.units).plain
    return (
        f"its fitting {fitting.name} ({text(fitting.height)} high, "
        f"{text(fitting.diameter)} across) reaches {text(depth)} into {name}; check the "
        f"port's direction ({along(port.direction)} in the case), or use a smaller "
        "fitting"
    )


def _straight_blocked(
    port: Port, fitting: Fitting, around: Surroundings, scene: Scene
) -> str | None:
    beyond, clearance = fitting.straight_beyond, scene.rules.clearance
    if beyond <= TOUCH:
        return None
    centre = offset(mouth(port, fitting), port.direction, beyond / 2.0)
    room = Cylinder(
        frame=axis_frame(centre, port.direction),
        diameter=scene.tube.outer_diameter + 2.0 * clearance,
        height=beyond,
    )
    hit = _hit(room, around, port, allowed=lambda _: TOUCH)
    if hit is None:
        return None
    (name, lacking), text = hit, on_a_rule(scene.units).plain
    return (
        f"the tube goes straight for {text(beyond)} beyond its fitting {fitting.name} and "
        f"keeps {text(clearance)} clear, for which {name} is {text(lacking)} "
        "too near; use a lower or an elbow fitting, or less straight_beyond or clearance"
    )


def _no_room_to_bend(port: Port, fitting: Fitting, scene: Scene) -> str | None:
    """Return that a case wall ahead is too near for any bend, or None.

    No bend keeps the tube nearer to its port than one of 90 degrees does: it reaches
    one bend radius and half a diameter beyond the straight.
    """
    ahead = axis_name(port.direction)
    inner = scene.case_inner
    if inner is None or ahead is None or _faces_another(port, scene):
        return None
    axis = "xyz".index(ahead[1])
    side = inner[axis] if ahead[0] == "+" else 0.0
    room = abs(side - port.position[axis])
    own = [run.bend_radii for run in scene.runs if run.bend_radii is not None]
    radius = min(itertools.chain(scene.tube.bend_radii, *own))
    before = fitting.height + fitting.straight_beyond
    wide = scene.reach
    if room >= before + radius + wide - TOUCH:
        return None
    text = on_a_rule(scene.units).plain
    return (
        f"case wall {ahead} is {text(room)} ahead, but the tube needs "
        f"{text(before + radius + wide)} to turn away ({text(before)} for the fitting and "
        f"its straight, {text(radius)} bend radius, {text(wide)} for half a tube and the "
        "clearance); use a lower or an elbow fitting, or a smaller bend radius"
    )


def _fittings_in_each_other(scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every two used ports whose fittings cannot both be there."""
    ends = (end for run in scene.runs for end in (run.from_ports, run.to_ports))
    names = [end[0] for end in ends if len(end) == 1]
    ports = [scene.port(name) for name in dict.fromkeys(names)]
    preferred = with_bounds(
        Thing(name=port.name, solid=_fitting_body(port, port.fittings[0]))
        for port in ports
    )
    for place, first in enumerate(ports):
        for other in preferred.near(preferred.bounds[place], after=place):
            depth = _least_depth(first, ports[other])
            if depth > OVERLAP_DOUBT:
                amount = on_a_rule(scene.units).plain(depth)
                message = (
                    f"their fittings overlap by {amount}; use narrower fittings or "
                    "another port"
                )
                where = f"{first.name} and {ports[other].name}"
                yield Doubt(kind="fitting in the way", where=where, message=message)


def _least_depth(first: Port, second: Port) -> float:
    """Return how deep fittings on two ports reach into each other at least [mm]."""
    pairs = itertools.product(first.fittings, second.fittings)
    return min(
        0.0 if apart is None else -apart.distance
        for one, other in pairs
        for apart in (
            overlap(
                _fitting_body(first, one),
                _fitting_body(second, other),
                allowed=OVERLAP_DOUBT,
            ),
        )
    )


def _faces_another(port: Port, scene: Scene) -> bool:
    """Whether a run may go from this port straight across to one that faces it."""
    return any(
        _is_facing(port, scene.port(name))
        for run in scene.runs
        for near, far in itertools.permutations((run.from_ports, run.to_ports))
        if port.name in near
        for name in far
    )


def _is_facing(port: Port, other: Port) -> bool:
    direction = np.asarray(port.direction)
    across = np.subtract(other.position, port.position)
    sideways = np.linalg.norm(across - direction * (across @ direction))
    opposed = direction @ np.asarray(other.direction) < _FACING
    return bool(opposed and across @ direction > 0.0 and sideways < NEARLY_IN_LINE)


def _hit(
    body: Cylinder,
    around: Surroundings,
    port: Port,
    *,
    allowed: Callable[[Thing], float],
) -> tuple[str, float] | None:
    """Return what a body at a port reaches into deepest and how deep, or None."""
    hits = (
        (thing, -apart.distance)
        for place in around.near(bounds(body))
        for thing in (around.things[place],)
        if (apart := overlap(thing.solid, body, allowed=allowed(thing)))
    )
    deepest = max(hits, key=lambda hit: hit[1], default=None)
    if deepest is None:
        return None
    thing, depth = deepest
    itself = " itself" if thing.owner == port.component else ""
    return f"{thing.name}{itself}", depth


def _fitting_body(port: Port, fitting: Fitting) -> Cylinder:
    """Return a fitting's body on its port; of an elbow the part along the port's axis."""
    centre = offset(port.position, port.direction, fitting.height / 2.0)
    return Cylinder(
        frame=axis_frame(centre, port.direction),
        diameter=fitting.diameter,
        height=fitting.height,
    )


def _distance(solid: Solid, port: Port) -> float:
    return float(signed_distance(solid, np.array([port.position]))[0])
