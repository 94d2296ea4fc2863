"""The walls of a case as solids."""

from __future__ import annotations

from loopsolver.geometry.solids import HalfSpace
from loopsolver.scene.model import Scene


def case_walls(scene: Scene) -> tuple[tuple[str, HalfSpace], ...]:
    """Return the six case walls under the names that messages use.

    Each is all the space behind the wall, so that nothing can be outside the case.
    """
    x, y, z = scene.case_inner
    return (
        ("case wall -x", HalfSpace(point=(0.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))),
        ("case wall +x", HalfSpace(point=(x, 0.0, 0.0), normal=(-1.0, 0.0, 0.0))),
        ("case wall -y", HalfSpace(point=(0.0, 0.0, 0.0), normal=(0.0, 1.0, 0.0))),
        ("case wall +y", HalfSpace(point=(0.0, y, 0.0), normal=(0.0, -1.0, 0.0))),
        ("case wall -z", HalfSpace(point=(0.0, 0.0, 0.0), normal=(0.0, 0.0, 1.0))),
        ("case wall +z", HalfSpace(point=(0.0, 0.0, z), normal=(0.0, 0.0, -1.0))),
    )
