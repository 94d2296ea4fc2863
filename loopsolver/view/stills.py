"""Pictures of a stage that nobody sees: drawn off screen, one after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from PIL import Image

from loopsolver.geometry.vectors import Array
from loopsolver.view import camera
from loopsolver.view.canvas import new_canvas
from loopsolver.view.panel import Furniture
from loopsolver.view.pictures import Pixels
from loopsolver.view.selection import Subject, ViewSelection
from loopsolver.view.stage import Stage


def stills(
    subject: Subject,
    selections: Sequence[ViewSelection],
    *,
    size: tuple[int, int],
    furniture: Furniture,
    oversampling: int,
) -> Iterator[tuple[Pixels, Array]]:
    """Yield pictures of a scene or plan, one a selection.

    All of one stage, which is laid out once.

    Parameters
    ----------
    subject : Scene or Plan
    selections : sequence of ViewSelection
        At least one.
    size : tuple of 2 ints
        Width and height [pixels].
    furniture : Furniture
        What stands round the build.
    oversampling : int
        How much larger it is drawn before it is averaged down.
    """
    width, height = size
    canvas = new_canvas((width * oversampling, height * oversampling), title="")
    canvas.window.ShowWindowOff()
    canvas.window.OffScreenRenderingOn()
    canvas.window.SetMultiSamples(0)
    stage = Stage(
        canvas, subject, selections[0], scale=float(oversampling), furniture=furniture
    )
    try:
        eyes = [stage.first_eye, *(stage.eye_for(one) for one in selections[1:])]
        for selection, eye in zip(selections, eyes, strict=True):
            stage.look(eye, measure=camera.framing)
            stage.update(selection)
            stage.render()
            drawn = Image.fromarray(canvas.pixels())
            pixels = np.asarray(drawn.reduce(oversampling), dtype=np.uint8)
            yield pixels, stage.projection
    finally:
        canvas.window.Finalize()
