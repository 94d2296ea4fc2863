"""A tube's two ends in their fittings: which way it goes in, and how deep."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

from loopsolver.clearance.obstacles import elbow_solids, fitting_body
from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import Point, angle_between, offset
from loopsolver.plan.model import PlannedRun
from loopsolver.routing.problem import EndFitting
from loopsolver.scene.model import Fitting, Scene
from loopsolver.tolerances import TOUCH
from loopsolver.tube.centreline import Centreline


class Play(NamedTuple):
    """How far a tube may be off in a fitting, without force.

    Attributes
    ----------
    sideways : float
        Its centre line beside the fitting's axis, at the mouth [mm].
    tilt : float
        Between both [rad]; with a bore the mouth and the seat share its play.
    """

    sideways: float
    tilt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedEnd:
    """One end of a tube in its fitting.

    Attributes
    ----------
    port, part : str
        Full name of the port, and the component that carries it.
    into : Point
        Along the tube out of its end, deeper into the fitting; unit length.
    mouth : Point
        Middle of the fitting's open rim [mm].
    fitting : Fitting
    bodies : tuple of Solid
        What the fitting takes up.
    play : Play
    """

    port: str
    part: str
    into: Point
    mouth: Point
    fitting: Fitting
    bodies: tuple[Solid, ...]
    play: Play

    @property
    def depth(self) -> float:
        """How far the tube goes in [mm]."""
        return self.fitting.depth

    @property
    def tip(self) -> Point:
        """Where the tube ends in it [mm]."""
        return offset(self.mouth, self.into, self.depth)

    @property
    def out(self) -> Point:
        """Which way the tube comes out of it; unit length."""
        x, y, z = self.into
        return (0.0 - x, 0.0 - y, 0.0 - z)

    def lets_out(self, way: Point) -> bool:
        """Whether the tube comes out of it along a way, so far as its play tells."""
        angle = angle_between(self.out, way)
        aside = math.sin(angle) * self.depth
        return angle < 0.5 * math.pi and aside <= self.play.sideways


def _play(fitting: Fitting, outer_diameter: float) -> Play:
    if fitting.bore is None:
        return Play(fitting.accepts.sideways, fitting.accepts.tilt)
    play = max(fitting.bore - outer_diameter, 0.0)
    return Play(0.5 * play, math.atan(play / max(fitting.depth, TOUCH)))


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedTube:
    """The tube of a run as it is in place, and what holds its two ends."""

    name: str
    centreline: Centreline
    joints: tuple[FittedEnd, FittedEnd]

    @property
    def is_straight(self) -> bool:
        """Whether it has no bend."""
        return len(self.centreline.vertices) == 2

    def from_other_end(self) -> FittedTube:
        """Return the same tube told from its other end."""
        line = self.centreline
        turned = Centreline(vertices=line.vertices[::-1], radius=line.radius)
        return replace(self, centreline=turned, joints=self.joints[::-1])


def fitted_tubes(scene: Scene, runs: tuple[PlannedRun, ...]) -> tuple[FittedTube, ...]:
    """Return the chosen tubes of a plan's runs; runs without one are left out."""
    found = []
    for run in runs:
        chosen = run.tube_in_place
        if chosen is not None and len(chosen.ends) == 2:
            first, last = (_joint(scene, end) for end in chosen.ends)
            line = chosen.centreline
            found.append(
                FittedTube(name=run.name, centreline=line, joints=(first, last))
            )
    return tuple(found)


def _joint(scene: Scene, end: EndFitting) -> FittedEnd:
    port = scene.port(end.port)
    fitting = next(one for one in port.fittings if one.name == end.fitting)
    x, y, z = end.outlet
    return FittedEnd(
        port=end.port,
        part=port.component,
        into=(0.0 - x, 0.0 - y, 0.0 - z),
        mouth=end.mouth,
        fitting=fitting,
        bodies=elbow_solids(port, fitting, end.outlet)
        if end.is_elbow
        else (fitting_body(port, fitting).solid,),
        play=_play(fitting, scene.tube.outer_diameter),
    )
