"""A scene as one run sees it: named solids to keep clear of."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.geometry.solids import Solid
from loopsolver.scene.model import Fitting, Port, RunRequest, Scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """A solid to keep clear of, under the name that messages use."""

    name: str
    solid: Solid


def walls(scene: Scene) -> tuple[Obstacle, ...]:
    """Return the six case walls, named 'case wall -x' ... 'case wall +z'."""
    raise NotImplementedError


def fitting_body(port: Port, fitting: Fitting) -> Obstacle:
    """Return the body of a fitting on its port, named 'fitting on pump.out'."""
    raise NotImplementedError


def obstacles_of_run(scene: Scene, run: RunRequest) -> tuple[Obstacle, ...]:
    """Return all that a run keeps clear of, its own two fittings left out.

    Component bodies, keep-outs, case walls, and the fittings on ports that other runs
    use. Other tubes are no part of it.
    """
    raise NotImplementedError


def own_fittings(scene: Scene, run: RunRequest) -> tuple[Obstacle, ...]:
    """Return the bodies of the run's own two fittings."""
    raise NotImplementedError
