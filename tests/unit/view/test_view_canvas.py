"""The canvas: its lights, its grounds, and how what it shows becomes rows of pixels."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from vtkmodules.util.numpy_support import numpy_to_vtk

from loopsolver.view import palette
from loopsolver.view.canvas import Canvas, new_canvas


@pytest.fixture
def canvas() -> Canvas:
    return new_canvas((320, 200), title="Moss\x1b[31m")


def lights_of(canvas: Canvas) -> list[Any]:
    lights = canvas.build.GetLights()
    return [lights.GetItemAsObject(at) for at in range(lights.GetNumberOfItems())]


def test_a_new_window_has_its_size_and_a_title_that_can_be_seen(canvas: Canvas) -> None:
    assert canvas.size == (320, 200)
    assert canvas.window.GetWindowName() == r"Moss\x1b[31m"


def test_words_lie_on_the_panel_and_the_build_on_paper(canvas: Canvas) -> None:
    for renderer, colour in (
        (canvas.words, palette.PANEL),
        (canvas.build, palette.PAPER),
    ):
        assert renderer.GetBackground() == pytest.approx([c / 255 for c in colour])
        assert canvas.window.HasRenderer(renderer)


def test_the_mouse_turns_the_build_and_never_the_words(canvas: Canvas) -> None:
    assert not canvas.words.GetInteractive()
    assert canvas.build.GetInteractive()


def test_another_build_is_lit_alike_on_the_same_paper(canvas: Canvas) -> None:
    another = canvas.another_build()
    assert canvas.window.HasRenderer(another)
    assert another.GetLights().GetNumberOfItems() == len(lights_of(canvas))
    assert another.GetBackground() == canvas.build.GetBackground()


def test_lights_go_with_the_camera_and_fall_on_all_that_faces_it(
    canvas: Canvas,
) -> None:
    """The strongest from above the left shoulder, as drawings are lit by custom.

    A face that is lit by all of them at once is no more than half too bright: the sum of
    three strengths. Common practice, no source.
    """
    assert not canvas.build.GetAutomaticLightCreation()
    lights = lights_of(canvas)
    assert len(lights) == 3
    assert all(light.LightTypeIsCameraLight() for light in lights)
    strengths = [light.GetIntensity() for light in lights]
    assert all(0.0 < one < 1.0 for one in strengths)
    assert sum(strengths) == pytest.approx(1.5)
    directions = [light.GetPosition() for light in lights]
    assert all(z > 0.5 for _x, _y, z in directions)
    assert all(abs(part) <= 1.0 for one in directions for part in one)
    strongest = directions[strengths.index(max(strengths))]
    assert strongest[0] < 0.0 < strongest[1]
    # One from the other side, so that nothing is black, and one along the view.
    others = [one for one in directions if one != strongest]
    assert any(x > 0.5 for x, _y, _z in others)
    assert (0.0, 0.0, 1.0) in others


class Shown:
    """A window of three by two pixels, as VTK hands it over: rows from the bottom."""

    def GetSize(self) -> tuple[int, int]:  # noqa: N802 - VTK's name
        return (3, 2)

    def GetPixelData(  # noqa: N802
        self, *given: Any
    ) -> None:
        left, bottom, right, top, front, data, _right = given
        assert (left, bottom, right, top) == (0, 0, 2, 1)
        assert not front
        rows = np.arange(18, dtype=np.uint8).reshape(6, 3)
        data.DeepCopy(numpy_to_vtk(rows))


def test_pixels_are_rows_from_the_top(canvas: Canvas) -> None:
    window: Any = Shown()
    seen = Canvas(window=window, words=canvas.words, build=canvas.build).pixels()
    assert seen.tolist() == [
        [[9, 10, 11], [12, 13, 14], [15, 16, 17]],
        [[0, 1, 2], [3, 4, 5], [6, 7, 8]],
    ]
    assert seen.flags.c_contiguous


@pytest.mark.parametrize(
    ("says", "is_so"),
    [
        ("OpenGL renderer string: llvmpipe (LLVM 15)", True),
        ("OpenGL renderer string: Softpipe", True),
        ("swrast", True),
        ("OpenGL renderer string: a graphics card", False),
    ],
)
def test_which_drawing_is_done_by_the_processor(
    canvas: Canvas, says: str, is_so: bool
) -> None:
    """The names that Mesa's drawing by software has (from memory)."""

    class Told:
        def ReportCapabilities(self) -> str:  # noqa: N802 - VTK's name
            return says

    window: Any = Told()
    told = Canvas(window=window, words=canvas.words, build=canvas.build)
    assert told.is_drawn_by_processor() == is_so
