"""From a scene to a plan whose reasons are in words: what the public name calls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from loopsolver.plan import Plan
from loopsolver.plan.composing import planned_scene
from loopsolver.report.no_route import why_in_words
from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.effort import SECONDS
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene


def route_scene(
    scene: Scene,
    *,
    by: str = "bends",
    runs: Sequence[str] | None = None,
    keep: Mapping[str, Candidate] = MappingProxyType({}),
    built: Mapping[str, Candidate] = MappingProxyType({}),
    seconds: float = SECONDS,
    control: Control = UNATTENDED,
) -> Plan:
    """Return a plan with the candidates of every run, chosen so that the loop fits.

    See `loopsolver.plan.composing.planned_scene` for the parameters and errors.
    """
    return planned_scene(
        scene,
        worded=why_in_words,
        by=by,
        runs=runs,
        keep=keep,
        built=built,
        seconds=seconds,
        control=control,
    )
