"""Turns drawings and labels into what VTK shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkActor2D,
    vtkPolyDataMapper,
    vtkPolyDataMapper2D,
    vtkProp,
)

from loopsolver.view import palette
from loopsolver.view.actors import StyledMesh
from loopsolver.view.labels import LabelKind, PlacedLabel
from loopsolver.view.palette import Colour
from loopsolver.view.panel import Weight, letter_width, text_actor
from loopsolver.view.surfaces import separate_lines

LABEL_HEIGHT: Final = 1.5
"""Height of a label as a share of its letters' size."""

LABEL_STYLES: Final[dict[LabelKind, tuple[Colour, Weight]]] = {
    "bend": (palette.darker(palette.BEND, by=0.55), "bold"),
    "port": (palette.darker(palette.PORT, by=0.35), "bold"),
    "body": (palette.INK, "regular"),
    "keep-out": (palette.darker(palette.KEEP_OUT, by=0.2), "regular"),
    "tube": (palette.FAINT_INK, "regular"),
    "axis": (palette.DATUM, "bold"),
    "wall": (palette.CASE, "regular"),
    "air": (palette.darker(palette.AIR, by=0.2), "bold"),
    "gap": (palette.darker(palette.LEAST_GAP, by=0.1), "bold"),
    "measure": (palette.darker(palette.MEASURE, by=0.2), "bold"),
    "heading": (palette.INK, "bold"),
}


def prop_of(drawing: StyledMesh, *, scale: float) -> vtkActor:
    """Return a drawing as an actor; `scale` widens its lines for denser screens."""
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(drawing.mesh)
    mapper.ScalarVisibilityOff()
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.PickableOff()
    look, style = drawing.look, actor.GetProperty()
    style.SetColor(*palette.as_fractions(look.colour))
    style.SetOpacity(look.opacity)
    if look.kind == "lines":
        style.SetLineWidth(look.line_width * scale)
        style.LightingOff()
    else:
        # Flat faces look the same with either, and large ones are drawn much faster so.
        if look.shine:
            style.SetInterpolationToPhong()
        style.SetBackfaceCulling(look.opacity < 1.0)
        style.SetAmbient(0.25)
        style.SetDiffuse(0.85)
        style.SetSpecular(look.shine)
        style.SetSpecularPower(28.0)
    return actor


def label_size(text: str, *, letters: float) -> tuple[float, float]:
    """Return width and height of a label, its rim included [pixels]."""
    return ((len(text) + 2) * letter_width(letters), letters * LABEL_HEIGHT)


def label_props(
    labels: Sequence[PlacedLabel], *, letters: float, scale: float
) -> list[vtkProp]:
    """Return placed labels: their words, and a line to what each of them names."""
    props: list[vtkProp] = [_leaders(labels, scale=scale)] if labels else []
    for label in labels:
        colour, weight = LABEL_STYLES[label.wish.kind]
        actor = text_actor(
            f" {label.wish.text} ",
            at=label.centre,
            size=letters,
            weight=weight,
            colour=colour,
        )
        style = actor.GetTextProperty()
        style.SetVerticalJustificationToCentered()
        style.SetJustificationToCentered()
        style.SetBackgroundColor(*palette.as_fractions(palette.PAPER))
        style.SetBackgroundOpacity(0.82)
        props.append(actor)
    return props


def _leaders(labels: Sequence[PlacedLabel], *, scale: float) -> vtkActor2D:
    """Return the lines from labels to their anchors, and a dot at each anchor."""
    moved = [label for label in labels if label.centre != label.wish.anchor]
    starts = np.array([(*label.wish.anchor, 0.0) for label in moved]).reshape(-1, 3)
    ends = np.array([(*_rim(label), 0.0) for label in moved]).reshape(-1, 3)
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(separate_lines(starts, ends))
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    style = actor.GetProperty()
    style.SetColor(*palette.as_fractions(palette.FAINT_INK))
    style.SetLineWidth(1.0 * scale)
    return actor


def _rim(label: PlacedLabel) -> tuple[float, float]:
    """Return the spot of a label's box that is nearest to its anchor."""
    left, bottom, right, top = label.box
    x, y = label.wish.anchor
    return (min(max(x, left), right), min(max(y, bottom), top))
