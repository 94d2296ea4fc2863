"""Air that stays in the loop: where it is as the machine is used, and in each tilt."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

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
from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.contents import WantedLabel
from loopsolver.view.panel_lines import PanelLine, Section, wrapped
from loopsolver.view.selection import Subject, ViewSelection, scene_of
from loopsolver.view.surfaces import ball, merged

LOOKING: Final = "looking for the tilts that let the air out ..."

MARK: Final = 1.4
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
    return replace(selection, tilt=(selection.tilt + 1) % max(1, len(stages)))


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
        return f"no tilts: no tube leads to the part of {filling.vent}"
    if stages[0].left_ml < FREE:
        return "no tilts: no air stays"
    return "" if len(stages) > 1 else "no tilts that are allowed leave less air"


def seen(stage: TiltStage) -> Iterator[Stay]:
    """Yield the pockets that are marked: of less than `FREE` there is none."""
    return (one for one in stage.left if one.volume_ml >= FREE)


def marks(stage: TiltStage, *, tube_diameter: float) -> tuple[StyledMesh, ...]:
    """Return a ball where each pocket is."""
    radius = MARK * tube_diameter / 2.0
    mesh = merged([ball(one.at, radius=radius) for one in seen(stage)])
    return (StyledMesh(mesh=mesh, look=Look(colour=palette.AIR, shine=0.4)),)


def mark_names(stage: TiltStage) -> tuple[WantedLabel, ...]:
    """Return how much air is where, as labels."""
    return tuple(
        WantedLabel(text=f"{millilitres(one.volume_ml)} air", kind="air", at=one.at)
        for one in seen(stage)
    )


def air_section(stages: Sequence[TiltStage], tilt: int, *, lengths: Lengths) -> Section:
    """Return what air is where in a stage, and how to lay the machine for it."""
    stage = stages[tilt]
    left = millilitres(stage.left_ml)
    if not tilt:
        words = f"{left} of air stay as it is used" if any(seen(stage)) else ""
        return Section(lines=tuple(wrapped(words or "no air stays")), yields=2)
    places = [
        row
        for one in seen(stage)
        for row in wrapped(f"  {stay_words(one, lengths=lengths)}", indent="    ")
    ]
    blank = PanelLine(text="")
    return Section(
        lines=(
            PanelLine(text=f"step {tilt} of {len(stages) - 1}", style="faint"),
            *wrapped(stage_words(stages, tilt), style="heading"),
            blank,
            *wrapped(FILL_CAUTIONS[1], style="warning"),
            blank,
            *wrapped(f"{left} of air then, in the chosen tubes' loop:"),
            *places,
        )
    )
