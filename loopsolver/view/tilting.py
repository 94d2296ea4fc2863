"""Air that stays in the loop: where it is as the machine is used, and in each tilt."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import Final

import numpy as np

from loopsolver.hydraulics.filling import Stay, TiltStage, bleeding
from loopsolver.hydraulics.tilts import FREE
from loopsolver.lengths import Lengths
from loopsolver.plan import Plan
from loopsolver.report.filling import (
    FILL_CAUTIONS,
    millilitres,
    stage_words,
    stay_words,
)
from loopsolver.scene.axes import Sides
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import PICTURED, room
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.labels import WantedLabel
from loopsolver.view.palette import Colour
from loopsolver.view.panel_lines import PanelLine, Section, wrapped
from loopsolver.view.selection import Subject, ViewSelection, scene_of
from loopsolver.view.surfaces import ball, merged, surface

LOOKING: Final = "looking for the tilts that let the air out ..."

_ROUND: Final = ((0, 0), (1, 0), (1, 1), (0, 1))  # corners of the floor, in turn

AIR_MARK: Final = 1.4
"""Diameter of a mark in diameters of the tube, so that it shows round a tube."""


class Air:
    """Where a loop's air is: at once as the machine is used, in tilts once looked for.

    Parameters
    ----------
    subject : Scene or Plan
        Nothing is known of a scene, nor of a plan without a vent.

    Attributes
    ----------
    stages : tuple of TiltStage
        What is known: none, the machine as it is used, or all until it is so again.
    is_sought : bool
        Whether there is no more to be known.
    """

    def __init__(self, subject: Subject) -> None:
        self._subject = subject
        self.stages: tuple[TiltStage, ...] = ()
        if isinstance(subject, Plan):
            self.stages = bleeding(subject, stopped=lambda: True)
        self.is_sought = not self.stages or self.stages[0].left_ml < FREE

    def seek(self) -> None:
        """Look for the tilts, if not done yet: it takes seconds."""
        if not self.is_sought and isinstance(self._subject, Plan):
            self.stages = bleeding(self._subject)
        self.is_sought = True


def step_tilt(selection: ViewSelection, stages: Sequence[TiltStage]) -> ViewSelection:
    """Return the selection with the next stage, after the last the machine as used."""
    tilt = (selection.tilt + 1) % max(1, len(stages))
    return replace(selection, tilt=tilt, shot=0)


def sides_at(used: Sides, stages: Sequence[TiltStage], tilt: int) -> Sides:
    """Return right, away and up of whoever looks at the machine in a stage."""
    return stages[tilt].lie.sides(used) if tilt else used


def why_none(subject: Subject, stages: Sequence[TiltStage]) -> str:
    """Return why there are no tilts to show; nothing where there are some."""
    filling = scene_of(subject).filling
    if filling is None or filling.vent is None:
        return "no tilts: the scene names no [filling] vent"
    if not isinstance(subject, Plan):
        return "no tilts: the loop is not routed yet"
    if not stages:
        return f"no tilts: no tube leads to the part of {filling.vent.name}"
    if stages[0].left_ml < FREE:
        return "no tilts: no air stays"
    return "" if len(stages) > 1 else "no tilts that are allowed leave less air"


def _seen(stage: TiltStage) -> Iterator[Stay]:
    """Yield the pockets that are marked: of less than `FREE` there is none."""
    return (one for one in stage.left if one.volume_ml >= FREE)


def marks(stage: TiltStage, *, tube_diameter: float) -> tuple[StyledMesh, ...]:
    """Return a ball where each pocket is."""
    radius = AIR_MARK * tube_diameter / 2.0
    mesh = merged([ball(one.at, radius=radius) for one in _seen(stage)])
    return (StyledMesh(mesh=mesh, look=Look(colour=palette.AIR, shine=0.4)),)


def mark_names(stage: TiltStage) -> tuple[WantedLabel, ...]:
    """Return how much air is where, as labels."""
    return tuple(
        WantedLabel(text=f"{millilitres(one.volume_ml)} air", kind="air", at=one.at)
        for one in _seen(stage)
    )


def ground(scene: Scene, stage: TiltStage) -> tuple[StyledMesh, ...]:
    """Return the floor of the room under the machine as it lies."""
    sides = stage.lie.sides(scene.sides)
    axes = np.array([sides.right, sides.away, sides.up])
    own = (
        np.array(list(product(*zip(*room(scene, beyond=PICTURED), strict=True))))
        @ axes.T
    )
    low, high = own.min(axis=0), own.max(axis=0)
    across, deep = (low[0], high[0]), (low[1], high[1])
    corners = [(across[n], deep[m], low[2]) for n, m in _ROUND]
    normals = np.tile(axes[2], (4, 1))
    face = surface(np.array(corners) @ axes, np.array([[0, 1, 2, 3]]), normals)
    return (StyledMesh(mesh=face, look=Look(colour=palette.FLOOR_GRID, opacity=0.6)),)


def air_key(stage: TiltStage) -> list[tuple[str, Colour]]:
    """Return what the marks mean, where there are some, and their colour."""
    left = f"air that stays, {millilitres(stage.left_ml)}"
    return [(left, palette.AIR)] if any(_seen(stage)) else []


def tilt_section(
    stages: Sequence[TiltStage], tilt: int, *, lengths: Lengths
) -> Section:
    """Return how to lay the machine for a stage, and what air is where then."""
    stage, blank = stages[tilt], PanelLine(text="")
    places = [
        row
        for one in _seen(stage)
        for row in wrapped(f"  {stay_words(one, lengths=lengths)}", indent="    ")
    ]
    left = f"With the chosen tubes {millilitres(stage.left_ml)} of air are left then"
    return Section(
        lines=(
            PanelLine(text=f"step {tilt} of {len(stages) - 1}", style="faint"),
            *wrapped(stage_words(stages, tilt), style="heading"),
            blank,
            *wrapped(FILL_CAUTIONS[1], style="warning"),
            blank,
            *wrapped(f"{left}:" if places else f"{left}."),
            *places,
        )
    )
