"""Scenes whose bends and turns are of other kinds than they were drawn for."""

from dataclasses import replace
from typing import Final

from loopsolver.scene.model import BendAngles, Scene, TurnStep

KINDS: Final[dict[str, tuple[BendAngles, TurnStep]]] = {
    "square, any turn": ((90.0,), "any"),
    "two angles, any turn": ((45.0, 90.0), "any"),
    "two angles, turns of 45": ((45.0, 90.0), 45.0),
    "slight, any turn": ((45.0,), "any"),
    "any angle": ("any", "any"),
}


def turned(scene: Scene, kind: str) -> Scene:
    """The scene with bends and turns of a kind."""
    angles_deg, step_deg = KINDS[kind]
    rules = replace(scene.rules, bend_angles_deg=angles_deg, turn_step_deg=step_deg)
    return replace(scene, rules=rules)
