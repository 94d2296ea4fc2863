"""How the command line words a scene's lengths, angles and counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopsolver.lengths import Lengths, fixed, lengths_for

if TYPE_CHECKING:
    from loopsolver.scene.model import Scene


def lengths_of(scene: Scene) -> Lengths:
    """Return how a scene's lengths are printed."""
    return lengths_for(scene.units)


def rotation(angle_deg: float) -> str:
    """Return a rotation as a bare number in (-180, 180]."""
    words = fixed(angle_deg, 1)
    return "180.0" if words == "-180.0" else words


def degrees(angle_deg: float) -> str:
    """Return an angle with its unit: ``90 degrees``, ``88.5 degrees``."""
    return f"{fixed(angle_deg, 1).removesuffix('.0')} degrees"


def counted(number: int, noun: str, plural: str | None = None) -> str:
    """Return a number with its noun: ``1 bend``, ``2 bends``."""
    return f"{number} {noun if number == 1 else plural or f'{noun}s'}"
