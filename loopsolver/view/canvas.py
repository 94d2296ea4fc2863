"""The VTK window, seen or unseen, with a part for the words and one for the build.

VTK's own window is used, not pyvista's plotter: that loads all of matplotlib's plotting
first, which takes as long as everything else together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import vtkmodules.vtkInteractionStyle
import vtkmodules.vtkRenderingFreeType
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - these three register VTK's makers
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkUnsignedCharArray
from vtkmodules.vtkRenderingCore import vtkLight, vtkRenderer, vtkRenderWindow

from loopsolver.letters import visible
from loopsolver.view import palette
from loopsolver.view.pictures import Pixels

_LIGHTS: Final = (
    (-0.5, 0.7, 1.0, 0.75),
    (1.0, 0.1, 0.6, 0.4),
    (0.0, 0.0, 1.0, 0.35),
)
"""Lights that go with the camera: direction in the picture, and strength."""


BORDERS: Final = (16, 96)
"""What a desktop's bars and a window's frame take of a screen's width and height [pixels].

Common practice, no source.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Canvas:
    """A window and its two renderers: `words` lies under all of it, `build` on top."""

    window: vtkRenderWindow
    words: vtkRenderer
    build: vtkRenderer

    @property
    def size(self) -> tuple[int, int]:
        """Width and height [pixels]."""
        width, height = self.window.GetSize()
        return (width, height)

    def pixels(self) -> Pixels:
        """Return what the window shows, (height, width, 3)."""
        width, height = self.size
        data = vtkUnsignedCharArray()
        self.window.GetPixelData(0, 0, width - 1, height - 1, 0, data, 0)
        flat = np.asarray(vtk_to_numpy(data), np.uint8)  # type: ignore[no-untyped-call]
        return np.ascontiguousarray(flat.reshape(height, width, 3)[::-1])

    def build_pixels(self, left: int, bottom: int) -> Pixels:
        """Return what the window shows right of and above a corner of the build."""
        pixels = self.pixels()
        return pixels[: len(pixels) - bottom, left:]

    def another_build(self) -> vtkRenderer:
        """Return one more part for a build, with lights of its own."""
        return _lit(self.window)

    def fit_screen(self) -> None:
        """Make a window that is not shown yet no larger than its screen has room for."""
        wide, high = self.window.GetScreenSize()
        width, height = self.size
        self.window.SetSize(
            min(width, wide - BORDERS[0]), min(height, high - BORDERS[1])
        )

    def is_drawn_by_processor(self) -> bool:
        """Return whether no graphics card does the drawing; to be asked after some."""
        words = self.window.ReportCapabilities().lower()
        return any(name in words for name in ("llvmpipe", "softpipe", "swrast"))


def _renderer(colour: palette.Colour) -> vtkRenderer:
    renderer = vtkRenderer()
    renderer.SetBackground(*palette.as_fractions(colour))
    return renderer


def new_canvas(size: tuple[int, int], *, title: str) -> Canvas:
    """Return a window that has not been drawn yet."""
    window = vtkRenderWindow()
    window.SetSize(*size)
    window.SetWindowName(visible(title))
    words = _renderer(palette.PANEL)
    words.InteractiveOff()
    window.AddRenderer(words)
    return Canvas(window=window, words=words, build=_lit(window))


def _lit(window: vtkRenderWindow) -> vtkRenderer:
    """Return a part of a window for a build, with the lights that go with its camera."""
    build = _renderer(palette.PAPER)
    build.AutomaticLightCreationOff()
    for x, y, z, strength in _LIGHTS:
        light = vtkLight()
        light.SetLightTypeToCameraLight()
        light.SetPosition(x, y, z)
        light.SetIntensity(strength)
        build.AddLight(light)
    window.AddRenderer(build)
    return build
