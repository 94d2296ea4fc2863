"""A scene as one run sees it: named solids to keep clear of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Cylinder, HalfSpace, Solid
from loopsolver.geometry.vectors import AXES, Point, offset
from loopsolver.scene.model import Fitting, Port, RunRequest, Scene
from loopsolver.scene.walls import case_walls, room

UNKNOWN_BEYOND: Final = "nothing known"
"""Stands for what is next to a tube where no wall, part or other fitting is stated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """A solid to keep clear of, under the name that messages use.

    One that `lies_between` others of the same thing reaches no further than these along
    any axis: a lattice takes no coordinates from it.
    """

    name: str
    solid: Solid
    lies_between: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A least gap [mm], what it is to, and where.

    Attributes
    ----------
    distance : float
        From the tube's outer surface; negative where they overlap.
    name : str
        The obstacle's name.
    at : Point
        The point of the centre line that is nearest.
    """

    distance: float
    name: str
    at: Point


def walls(scene: Scene) -> tuple[Obstacle, ...]:
    """Return the six case walls, named 'case wall -x' ... 'case wall +z'."""
    return tuple(Obstacle(name=name, solid=wall) for name, wall in case_walls(scene))


def fitting_body(port: Port, fitting: Fitting) -> Obstacle:
    """Return the body of a fitting on its port, named 'fitting on pump.out'.

    A cylinder about the port's axis, from the port's face to the mouth.
    """
    centre = offset(port.position, port.direction, 0.5 * fitting.height)
    body = Cylinder(
        frame=axis_frame(centre, port.direction),
        diameter=fitting.diameter,
        height=fitting.height,
    )
    return Obstacle(name=f"fitting on {port.name}", solid=body)


def elbow_bodies(
    port: Port, fitting: Fitting, outlet: Point
) -> tuple[Obstacle, Obstacle]:
    """Return stem and arm of an elbow, both named 'elbow on pump.out'."""
    name = f"elbow on {port.name}"
    stem, arm = elbow_solids(port, fitting, outlet)
    return Obstacle(name=name, solid=stem), Obstacle(name=name, solid=arm)


def elbow_solids(
    port: Port, fitting: Fitting, outlet: Point
) -> tuple[Cylinder, Cylinder]:
    """Return stem and arm of an elbow whose outlet points along `outlet`.

    The stem stands on the port's face and ends a radius beyond the outlet's axis; the
    arm runs from the port's axis to the mouth.
    """
    corner = offset(port.position, port.direction, fitting.height)
    stem_height = fitting.height + 0.5 * fitting.diameter
    stem = Cylinder(
        frame=axis_frame(
            offset(port.position, port.direction, 0.5 * stem_height), port.direction
        ),
        diameter=fitting.diameter,
        height=stem_height,
    )
    arm = Cylinder(
        frame=axis_frame(offset(corner, outlet, 0.5 * fitting.reach), outlet),
        diameter=fitting.diameter,
        height=fitting.reach,
    )
    return stem, arm


def obstacles_of_run(scene: Scene, run: RunRequest) -> tuple[Obstacle, ...]:
    """Return all that a run keeps clear of, its own two fittings left out.

    Component bodies, keep-outs, case walls, and the fittings on ports that other runs
    use. Other tubes are no part of it. A run that may choose between several ports has
    settled on none of them yet, so it brings no fitting; a port that another run holds
    keeps its fitting even where this run has it among its choices.

    Where there is none of all these, the sides of the room in which tubes are looked
    for are next to the tube: that far round it nothing is known.
    """
    parts = [body for component in scene.components for body in component.bodies]
    bodies = (
        Obstacle(name=body.name, solid=body.solid)
        for body in (*parts, *scene.keep_outs)
    )
    around = (*bodies, *walls(scene), *_foreign_fittings(scene, run))
    return around or tuple(_nothing_known(scene))


def _nothing_known(scene: Scene) -> Iterator[Obstacle]:
    """Yield all that is outside the room in which tubes are looked for."""
    low, high = room(scene)
    for inwards in AXES.values():
        corner = low if sum(inwards) > 0.0 else high
        side = HalfSpace(point=corner, normal=inwards)
        yield Obstacle(name=UNKNOWN_BEYOND, solid=side)


def _foreign_fittings(scene: Scene, run: RunRequest) -> Iterator[Obstacle]:
    """Yield the fittings on ports that only other runs hold, each port once."""
    own = settled_ports((run,))
    for name in settled_ports(scene.runs):
        if name not in own:
            port = scene.port(name)
            yield fitting_body(port, port.fittings[0])


def settled_ports(runs: Iterable[RunRequest]) -> dict[str, None]:
    """Return the ports that runs are sure to use, as keys in their order, each once."""
    return dict.fromkeys(
        ports[0]
        for run in runs
        for ports in (run.from_ports, run.to_ports)
        if len(ports) == 1
    )
