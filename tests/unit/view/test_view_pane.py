"""A part of the window: groups made once, shown, cut and forgotten. Nothing is drawn."""

from __future__ import annotations

from typing import Any

import pytest
from vtkmodules.vtkRenderingCore import vtkRenderer

from loopsolver.view import camera
from loopsolver.view.actors import Look, StyledMesh
from loopsolver.view.camera import Eye
from loopsolver.view.pane import Pane
from loopsolver.view.section_plane import SectionPlane
from loopsolver.view.surfaces import ball

PLANE = SectionPlane(axis=1, at=30.0, keeps=-1)


@pytest.fixture
def pane() -> Pane:
    return Pane(vtkRenderer(), scale=1.0)


class Drawn:
    """Draws a ball, and counts how often it is asked to."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self) -> tuple[StyledMesh, ...]:
        self.times += 1
        mesh = ball((0.0, 0.0, 0.0), radius=1.0)
        return (StyledMesh(mesh=mesh, look=Look(colour=(1, 2, 3))),)


def actors_of(pane: Pane) -> list[Any]:
    found = pane.renderer.GetActors()
    return [found.GetItemAsObject(at) for at in range(found.GetNumberOfItems())]


def test_a_group_is_made_once_and_hidden_when_it_is_not_wanted(pane: Pane) -> None:
    draw = Drawn()
    for _ in range(3):
        assert pane.group(("run_beside", 1), draw) == ("run_beside", 1)
    assert draw.times == 1
    (actor,) = actors_of(pane)
    pane.show({("run_beside", 1)}, plane=None)
    assert actor.GetVisibility()
    pane.show(set(), plane=None)
    assert not actor.GetVisibility()


def test_what_passes_is_forgotten_once_it_is_hidden(pane: Pane) -> None:
    draw = Drawn()
    pane.group(("measure", "a"), draw)
    pane.group("bodies", draw)
    pane.show({("measure", "a")}, plane=None)
    assert len(actors_of(pane)) == 2
    pane.show({"bodies"}, plane=None)
    assert len(actors_of(pane)) == 1


def test_kinds_of_a_plan_are_forgotten_with_it_and_all_with_the_scene(
    pane: Pane,
) -> None:
    for key in (("air", 0), ("air", 1), ("fittings", 1), "case"):
        pane.group(key, Drawn())
    pane.drop_kinds({"air"})
    assert len(actors_of(pane)) == 2
    pane.drop_all()
    assert actors_of(pane) == []


def test_a_plane_cuts_all_but_the_case_and_the_tools(pane: Pane) -> None:
    """Also what is made while the build is cut open; without a plane nothing is cut."""
    pane.group("case", Drawn())
    pane.group("bodies", Drawn())
    pane.show({"case", "bodies"}, plane=PLANE)
    pane.group(("fittings", 1), Drawn())
    whole, cut, later = (actor.GetMapper() for actor in actors_of(pane))
    assert planes_of(whole) == []
    for mapper in (cut, later):
        (plane,) = planes_of(mapper)
        assert plane.GetNormal() == (0.0, -1.0, 0.0)
        assert plane.GetOrigin() == (0.0, 30.0, 0.0)
    pane.show({"case", "bodies", ("fittings", 1)}, plane=None)
    assert planes_of(cut) == []


def planes_of(mapper: Any) -> list[Any]:
    found = mapper.GetClippingPlanes()
    count = 0 if found is None else found.GetNumberOfItems()
    return [found.GetItem(at) for at in range(count)]


def test_it_tells_from_where_it_is_looked_at(pane: Pane) -> None:
    eye = Eye(towards_eye=(0.6, -0.8, 0.0), up=(0.0, 0.0, 1.0))
    pane.renderer.SetViewport(0.0, 0.0, 1.0, 1.0)
    lens = pane.renderer.GetActiveCamera()
    lens.SetFocalPoint(1.0, 2.0, 3.0)
    lens.SetPosition(1.0 + 60.0, 2.0 - 80.0, 3.0)
    lens.SetViewUp(*eye.up)
    assert pane.eye.towards_eye == pytest.approx(eye.towards_eye)
    assert pane.eye.up == pytest.approx(eye.up)
    assert camera.from_behind(pane.eye).towards_eye == pytest.approx((-0.6, 0.8, 0.0))
