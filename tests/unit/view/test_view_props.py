"""What VTK is handed: faces, lines and labels, read back from its own objects."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import pyvista as pv
from vtkmodules.util.numpy_support import vtk_to_numpy

from loopsolver.view import palette
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.labels import LabelKind, LabelWish, PlacedLabel
from loopsolver.view.palette import Colour
from loopsolver.view.props import LABEL_STYLES, label_props, label_size, prop_of

FACES = Look(colour=(255, 51, 102))
LINES = Look(kind="lines", colour=(51, 102, 0), line_width=1.5)


def style_of(look: Look, *, scale: float = 1.0) -> Any:
    return prop_of(StyledMesh(mesh=pv.Box(), look=look), scale=scale).GetProperty()


def test_a_thing_has_the_colour_of_its_look_whatever_its_mesh_holds() -> None:
    mesh = pv.Box()
    prop = prop_of(StyledMesh(mesh=mesh, look=FACES), scale=1.0)
    assert prop.GetProperty().GetColor() == pytest.approx((1.0, 0.2, 0.4))
    assert prop.GetMapper().GetInput() is mesh
    assert not prop.GetMapper().GetScalarVisibility()
    assert not prop.GetPickable()


def test_lines_are_wider_on_denser_screens_and_need_no_light() -> None:
    style = style_of(LINES, scale=2.0)
    assert style.GetLineWidth() == pytest.approx(3.0)
    assert not style.GetLighting()


def test_faces_are_lit() -> None:
    """Never black in the shade, and never brighter than white (sum of both shares)."""
    style = style_of(FACES)
    assert style.GetLighting()
    assert 0.1 < style.GetAmbient() < 0.5 < style.GetDiffuse() < 1.0
    assert style.GetAmbient() + style.GetDiffuse() == pytest.approx(1.1)
    assert style.GetSpecular() == 0.0


def test_only_what_shines_is_shaded_spot_by_spot() -> None:
    """VTK's names: 0 flat, 1 Gouraud, 2 Phong."""
    assert style_of(FACES).GetInterpolation() == 1
    shining = style_of(replace(FACES, shine=0.4))
    assert shining.GetInterpolation() == 2
    assert shining.GetSpecular() == pytest.approx(0.4)
    assert 10.0 < shining.GetSpecularPower() < 60.0  # neither dull nor a mirror


@pytest.mark.parametrize(("opacity", "hides_backs"), [(1.0, False), (0.3, True)])
def test_backs_of_clear_things_are_left_out(opacity: float, hides_backs: bool) -> None:
    style = style_of(replace(FACES, opacity=opacity))
    assert style.GetOpacity() == pytest.approx(opacity)
    assert bool(style.GetBackfaceCulling()) == hides_backs


def test_a_label_has_room_for_a_letter_on_either_side() -> None:
    """Six letters of 12 wide (20 x 0.602, the font's, in whole pixels), 1.5 high."""
    assert label_size("pump", letters=20.0) == pytest.approx((6 * 12, 30.0))


def label(centre: tuple[float, float], *, kind: LabelKind = "body") -> PlacedLabel:
    wish = LabelWish(text="pump", kind=kind, anchor=(100.0, 100.0), size=(60.0, 20.0))
    return PlacedLabel(wish=wish, centre=centre)


DARK: dict[LabelKind, tuple[Colour, bool]] = {
    "bend": ((110, 68, 9), True),  # (245, 150, 20), more than half of it black
    "port": ((0, 83, 73), True),  # (0, 128, 112), a third and a bit of black
    "body": (palette.INK, False),
    "keep-out": ((128, 50, 43), False),  # (160, 62, 54), a fifth of black
    "tube": (palette.FAINT_INK, False),
    "axis": (palette.DATUM, True),
    "wall": (palette.CASE, False),
    "air": ((98, 50, 141), True),  # (122, 62, 176), a fifth of black
    "gap": ((178, 22, 76), True),  # (198, 24, 84), a tenth of black
    "measure": ((141, 0, 106), True),  # (176, 0, 132), a fifth of black
    "heading": (palette.INK, True),
}


@pytest.mark.parametrize("kind", DARK)
def test_a_label_stands_on_paper_in_its_kind_of_ink(kind: LabelKind) -> None:
    assert set(LABEL_STYLES) == set(DARK)
    _lines, words = label_props([label((140.0, 130.0), kind=kind)], letters=14, scale=1)
    text: Any = words
    assert text.GetInput() == " pump "
    assert text.GetPosition() == (140.0, 130.0)
    style = text.GetTextProperty()
    colour, is_bold = DARK[kind]
    assert style.GetColor() == pytest.approx([one / 255 for one in colour], abs=0.005)
    assert ("Bold" in style.GetFontFile()) == is_bold
    assert style.GetFontSize() == 14
    assert style.GetJustificationAsString() == "Centered"
    assert style.GetVerticalJustificationAsString() == "Centered"
    paper = [one / 255 for one in palette.PAPER]
    assert style.GetBackgroundColor() == pytest.approx(paper)
    assert 0.5 < style.GetBackgroundOpacity() < 1.0


@pytest.mark.parametrize(
    ("centre", "rim"),
    [
        ((200.0, 150.0), (170.0, 140.0)),  # up to the right: its lower left corner
        ((20.0, 40.0), (50.0, 50.0)),  # down to the left: its upper right corner
        ((110.0, 150.0), (100.0, 140.0)),  # above: straight up
        ((200.0, 95.0), (170.0, 100.0)),  # to the right: straight across
    ],
)
def test_a_line_leads_from_what_is_named_to_the_rim_of_its_label(
    centre: tuple[float, float], rim: tuple[float, float]
) -> None:
    """The label is 60 wide and 20 high; one that stands on its thing needs no line."""
    placed = [label((100.0, 100.0)), label(centre), label(centre)]
    lines: Any = label_props(placed, letters=14.0, scale=2.0)[0]
    mesh = lines.GetMapper().GetInput()
    points = vtk_to_numpy(mesh.GetPoints().GetData())
    assert points.tolist() == [[100.0, 100.0, 0.0], [*rim, 0.0]] * 2
    cells = vtk_to_numpy(mesh.GetLines().GetConnectivityArray())
    assert cells.tolist() == [0, 1, 2, 3]
    assert np.diff(vtk_to_numpy(mesh.GetLines().GetOffsetsArray())).tolist() == [2, 2]
    assert lines.GetProperty().GetLineWidth() == pytest.approx(2.0)
    faint = [one / 255 for one in palette.FAINT_INK]
    assert lines.GetProperty().GetColor() == pytest.approx(faint)


def test_where_no_line_is_needed_none_is_drawn() -> None:
    lines: Any = label_props([label((100.0, 100.0))], letters=14.0, scale=1.0)[0]
    assert lines.GetMapper().GetInput().GetNumberOfPoints() == 0
    assert label_props([], letters=14.0, scale=1.0) == []
