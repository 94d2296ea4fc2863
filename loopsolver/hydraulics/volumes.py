"""How much a loop holds: its tubes, the fittings' bores, its parts as stated or weighed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from loopsolver.geometry.vectors import Point, difference, norm, offset
from loopsolver.plan import Plan
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.scene.model import Component, Port, Scene

CUBIC_MM_PER_ML: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Volumes:
    """What a loop holds, each by its name [mL].

    Attributes
    ----------
    tubes : tuple of (str, float)
        By run, those with a chosen tube.
    fittings_ml : float
        From port faces to tube ends, taken to be as wide as the tube is inside.
    parts : tuple of (str, float or None)
        The parts that a tube leads to; None: neither stated nor weighed.
    """

    tubes: tuple[tuple[str, float], ...]
    fittings_ml: float
    parts: tuple[tuple[str, float | None], ...]

    @property
    def unknown(self) -> tuple[str, ...]:
        """The parts whose volume is not known."""
        return tuple(name for name, volume in self.parts if volume is None)

    @property
    def known_ml(self) -> float:
        """All that is known, together [mL]."""
        parts = (volume or 0.0 for _, volume in self.parts)
        return math.fsum(
            (*(volume for _, volume in self.tubes), self.fittings_ml, *parts)
        )


def bore_ml(inner_diameter: float, length: float) -> float:
    """Return what a tube holds [mL].

    Parameters
    ----------
    inner_diameter, length : float
        Inside, and of the centre line [mm].

    Notes
    -----
    Cross-section times centre line, exact for a bend as well (Pappus and Guldin).
    """
    return math.pi / 4.0 * inner_diameter**2 * length / CUBIC_MM_PER_ML


def wet_parts(plan: Plan) -> tuple[Component, ...]:
    """Return the parts that a run of a plan leads to, as the scene has them."""
    used = {
        name.split(".", 1)[0]
        for run in plan.runs
        for name in (run.from_port, run.to_port)
    }
    return tuple(part for part in plan.scene.components if part.name in used)


def volumes(plan: Plan) -> Volumes:
    """Return what the loop of a plan holds, its chosen tubes taken."""
    inner = plan.scene.tube.inner_diameter
    chosen = [(run.name, run.tube_in_place) for run in plan.runs]
    laid = [(name, one) for name, one in chosen if one is not None]
    bores = (
        norm(difference(b, a))
        for _, one in laid
        for path in fitting_paths(plan.scene, one)
        for a, b in pairwise(path)
    )
    return Volumes(
        tubes=tuple((name, bore_ml(inner, one.length)) for name, one in laid),
        fittings_ml=bore_ml(inner, math.fsum(bores)),
        parts=tuple((part.name, part.water.volume_ml) for part in wet_parts(plan)),
    )


def fitting_paths(
    scene: Scene, candidate: Candidate
) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Return the way from each port's face to the tube's end in it [mm].

    From the face outwards; an elbow's turns where its outlet's axis meets the port's.
    """
    vertices = candidate.centreline.vertices
    first, last = (
        _inside(scene.port(end.port), end, seat)
        for end, seat in zip(candidate.ends, (vertices[0], vertices[-1]), strict=True)
    )
    return first, last


def _inside(port: Port, end: EndFitting, seat: Point) -> tuple[Point, ...]:
    if not end.is_elbow:
        return port.position, seat
    height = next(one.height for one in port.fittings if one.name == end.fitting)
    return port.position, offset(port.position, port.direction, height), seat
