"""Pictures drawn without a window."""

from __future__ import annotations

import numpy as np
from PIL import Image

from loopsolver.view import camera
from loopsolver.view.canvas import new_canvas
from loopsolver.view.panel import Furniture
from loopsolver.view.pictures import Pixels
from loopsolver.view.selection import Selection, Subject
from loopsolver.view.stage import Stage


def picture(
    subject: Subject,
    selection: Selection,
    *,
    size: tuple[int, int],
    furniture: Furniture,
    oversampling: int,
) -> Pixels:
    """Return the picture of a scene or plan, (height, width, 3).

    Parameters
    ----------
    subject : Scene or Plan
    selection : Selection
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
        canvas, subject, selection, scale=float(oversampling), furniture=furniture
    )
    stage.update_words()
    stage.look(stage.first_eye, measure=camera.framing)
    stage.update(selection)
    stage.render()
    pixels = canvas.pixels()
    canvas.window.Finalize()
    return np.asarray(Image.fromarray(pixels).reduce(oversampling), dtype=np.uint8)
