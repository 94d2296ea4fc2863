"""How long the next candidate takes to be seen, against opening the window."""

from __future__ import annotations

import pytest

from loopsolver.view import camera, rendering
from loopsolver.view.canvas import new_canvas
from loopsolver.view.panel import IN_WINDOW
from loopsolver.view.selection import first_selection, step_candidate
from loopsolver.view.stage import Stage
from loopsolver.view.window import WINDOW_SIZE
from tests.builders import demo_build
from tests.interleaved import in_turn


class Shown:
    """A window on a plan that is never seen, and what is selected in it."""

    def __init__(self, plan):
        self.canvas = new_canvas(WINDOW_SIZE, title="")
        self.canvas.window.ShowWindowOff()
        self.canvas.window.OffScreenRenderingOn()
        self.canvas.window.SetMultiSamples(0)
        self.plan = plan
        self.selection = first_selection(plan, run=None, candidate=None)
        self.stage = Stage(
            self.canvas, plan, self.selection, scale=1.0, furniture=IN_WINDOW
        )
        self.stage.look(self.stage.first_eye, measure=camera.framing)
        self.stage.update(self.selection)
        self.stage.render()

    def step(self):
        self.selection = step_candidate(self.plan, self.selection, by=1)
        self.stage.update(self.selection)
        self.stage.render()

    def close(self):
        self.canvas.window.Finalize()


@pytest.mark.bench
def test_the_next_candidate_of_a_crowded_build_against_opening_it(measured):
    plan = demo_build.plan()
    plan = type(plan)(scene=demo_build.crowded_scene(42), runs=plan.runs)
    bodies = sum(len(part.bodies) for part in plan.scene.components)
    assert bodies >= 40
    with rendering.environment(rendering.off_screen_environment()):
        shown = Shown(plan)
        pair = in_turn(
            {"next candidate": shown.step, "opening": lambda: Shown(plan).close()},
            pairs=2,
        )
        shown.close()
    measured(f"the window, {bodies} bodies", pair, most=1.0)
    assert pair.ratio <= 1.0
