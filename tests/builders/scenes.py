"""Scenes as values: tubes, rules, bodies, ports and parts, written down by hand.

Lengths are millimetres in the case frame. What is not asked for is as in `tube` and
`rules`, or, for a small tube, as in `small_tube` and `small_rules`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any, Final

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.scene.model import (
    Body,
    Component,
    Fitting,
    Flow,
    Port,
    Rules,
    RunRequest,
    Scene,
)
from loopsolver.tube.stock import Tube

COLLAR: Final = Fitting(
    name="collar", height=20.0, depth=12.0, diameter=22.0, straight_beyond=5.0
)
"""The fitting of a tube of 14 mm: the tube ends 8 mm before the port's face."""

SMALL_COLLAR: Final = Fitting(
    name="collar", height=14.0, depth=8.0, diameter=16.0, straight_beyond=4.0
)
"""The fitting of a tube of 10 mm: the tube ends 6 mm before the port's face."""


def tube(**changes: Any) -> Tube:
    """Return acrylic tube of 14 / 10 mm, bent round 28 mm, save for the changes.

    It is bought by 500 mm, and 30 mm are trimmed off each end.
    """
    usual = Tube(
        material="acrylic",
        outer_diameter=14.0,
        inner_diameter=10.0,
        bend_radii=(28.0,),
        stock_length=500.0,
        trim_allowance=30.0,
    )
    return replace(usual, **changes)


def rules(**changes: Any) -> Rules:
    """Return rules, save for the changes: clearance 3 mm, 15 mm straight between bends.

    At most five bends of 90 degrees, and six candidates.
    """
    usual = Rules(
        clearance=3.0,
        straight_between_bends=15.0,
        bend_angles_deg=(90.0,),
        max_bends=5,
        candidates=6,
    )
    return replace(usual, **changes)


def elbow(**changes: Any) -> Fitting:
    """Return an elbow of 22 mm that turns by 90 degrees, save for the changes.

    From the port's face its axis is 18 mm away, and its mouth 20 mm from that corner.
    """
    usual = Fitting(
        name="elbow",
        height=18.0,
        depth=12.0,
        diameter=22.0,
        straight_beyond=5.0,
        turn_deg=90.0,
        reach=20.0,
    )
    return replace(usual, **changes)


SMALL: Final[dict[str, Any]] = {
    "outer_diameter": 10.0,
    "inner_diameter": 7.0,
    "bend_radii": (18.0,),
    "stock_length": 800.0,
    "trim_allowance": 20.0,
}


def small_tube(**changes: Any) -> Tube:
    """Return acrylic tube of 10 / 7 mm, bent round 18 mm, save for the changes.

    It is bought by 800 mm, and 20 mm are trimmed off each end.
    """
    return tube(**{**SMALL, **changes})


def small_rules(**changes: Any) -> Rules:
    """Return the rules of a small tube: as `rules`, with 8 mm straight between bends."""
    return rules(**{"straight_between_bends": 8.0, **changes})


def scene(
    *components: Component,
    inner: Point,
    runs: Iterable[RunRequest] = (),
    keep_outs: Iterable[Body] = (),
    **more: Any,
) -> Scene:
    """Return a scene in millimetres whose third axis points up.

    `inner` is the inside of the case; tube and rules are the usual ones, unless given.
    """
    usual = {
        "title": "Invented",
        "units": "mm",
        "up": AXES["+z"],
        "tube": tube(),
        "rules": rules(),
    }
    return Scene(
        **{**usual, **more},
        case_inner=inner,
        components=components,
        keep_outs=tuple(keep_outs),
        runs=tuple(runs),
    )


def box(name: str, low: Sequence[float], high: Sequence[float]) -> Body:
    """Return a body: a box along the axes between two corners [mm]."""
    centre = point((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    size = point(b - a for a, b in zip(low, high, strict=True))
    return Body(name=name, solid=Box(frame=Frame(origin=centre), size=size))


def part(name: str, *inside: Body | Port) -> Component:
    """Return a component of bodies and ports."""
    return Component(
        name=name,
        bodies=tuple(one for one in inside if isinstance(one, Body)),
        ports=tuple(one for one in inside if isinstance(one, Port)),
    )


def port(
    name: str,
    position: Point,
    direction: Point | str,
    *,
    fittings: tuple[Fitting, ...] = (COLLAR,),
    flow: Flow = "either",
) -> Port:
    """Return a port by its full name, the middle of its face [mm] and the way it points.

    A direction may be an axis by name, such as "+x".
    """
    way = AXES[direction] if isinstance(direction, str) else direction
    return Port(
        name=name, position=position, direction=way, fittings=fittings, flow=flow
    )


def wanted(
    name: str, start: str | tuple[str, ...], goal: str | tuple[str, ...], **own: Any
) -> RunRequest:
    """Return the run that is wanted from a port to another, or from one of several."""
    return RunRequest(
        name=name,
        from_ports=(start,) if isinstance(start, str) else start,
        to_ports=(goal,) if isinstance(goal, str) else goal,
        **own,
    )
