"""What stands in a case as plain values, from which the page's own code makes surfaces.

Lengths in millimetres in the case frame, to a hundredth: finer than any screen shows.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from loopsolver.geometry.solids import Box, Cylinder, HalfSpace, Solid, placed_vertices
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import PICTURED, room
from loopsolver.view.ends import run_ends, used_ports
from loopsolver.view.selection import AnyRun

_DECIMALS: Final = 2
_AXIS_DECIMALS: Final = 6


def scene_values(scene: Scene, runs: Sequence[AnyRun]) -> dict[str, Any]:
    """Return what stands in a scene: its room, bodies, keep-outs and ports."""
    used = frozenset().union(*(used_ports(scene, run) for run in runs))
    low, high = room(scene, beyond=PICTURED)
    sides = scene.sides
    return {
        "room": [numbers(low), numbers(high)],
        "hasWalls": scene.case_inner is not None,
        "right": directions(sides.right),
        "away": directions(sides.away),
        "up": directions(sides.up),
        "axes": list(scene.axis_names),
        "tubeRadius": scene.tube.radius,
        "components": [
            {"name": part.name, "solids": solids(body.solid for body in part.bodies)}
            for part in scene.components
        ],
        "keepOuts": [
            {"name": body.name, "solids": solids([body.solid])}
            for body in scene.keep_outs
        ],
        "ports": [
            {
                "name": port.name,
                "at": numbers(port.position),
                "out": directions(port.direction),
                "isUsed": port.name in used,
            }
            for part in scene.components
            for port in part.ports
        ],
    }


def end_values(scene: Scene, run: AnyRun) -> dict[str, Any]:
    """Return the ends of a run without a tube: fittings, and what is to be joined."""
    starts, goals = run_ends(scene, run, None)
    return {
        "fittings": solids(solid for end in (*starts, *goals) for solid in end.fitting),
        "wanted": [
            [numbers(first.mouth), numbers(last.mouth)]
            for first in starts
            for last in goals
        ],
    }


def solids(some: Iterable[Solid]) -> list[dict[str, Any]]:
    """Return solids as plain values; a half space, which has no end, is left out."""
    return [_solid(one) for one in some if not isinstance(one, HalfSpace)]


def _solid(solid: Solid) -> dict[str, Any]:
    match solid:
        case Box():
            size = numbers(solid.size)
            return {"box": size, **_frame(solid)}
        case Cylinder():
            return {
                "cylinder": numbers([solid.diameter, solid.height]),
                **_frame(solid),
            }
        case HalfSpace():
            return {}
        case _:
            corners = placed_vertices(solid).astype("<f4")
            faces = solid.shape.faces.astype("<u4")
            return {"mesh": {"corners": _base64(corners), "faces": _base64(faces)}}


def _frame(solid: Box | Cylinder) -> dict[str, Any]:
    frame = solid.frame
    return {
        "middle": numbers(frame.origin),
        "axes": [directions(axis) for axis in frame.axes],
    }


def _base64(values: np.ndarray[Any, Any]) -> str:
    return base64.b64encode(values.tobytes()).decode("ascii")


def numbers(values: ArrayLike) -> list[Any]:
    """Return lengths [mm] as they stand in the page, never as minus zero."""
    return _listed(values, decimals=_DECIMALS)


def directions(values: ArrayLike) -> list[Any]:
    """Return a direction of unit length as it stands in the page."""
    return _listed(values, decimals=_AXIS_DECIMALS)


def _listed(values: ArrayLike, *, decimals: int) -> list[Any]:
    rounded = np.round(np.asarray(values, dtype=np.float64), decimals) + 0.0
    listed: list[Any] = rounded.tolist()
    return listed
