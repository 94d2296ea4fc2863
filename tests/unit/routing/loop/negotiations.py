"""Negotiations by themselves, without what each run finds alone."""

import random

from loopsolver.routing.control import UNATTENDED, Control
from loopsolver.routing.loop.congestion import Negotiation
from loopsolver.routing.loop.routed_runs import RoutedRuns
from loopsolver.routing.loop.set_packing import CandidateCost, Selection
from loopsolver.scene.model import Scene
from tests.published.grid_scenes import Grid, cells_and_bends, scene_of


def negotiated_grid(grid: Grid, *, times: int) -> Selection:
    """What is chosen for a published grid; a bend costs as much as a cell."""
    return negotiated_scene(scene_of(grid), cells_and_bends, times=times)


def negotiated_scene(scene: Scene, key: CandidateCost, *, times: int) -> Selection:
    """What is chosen from the routes of so many negotiations."""
    nothing_alone = Control(stopped=lambda: True)
    routed = RoutedRuns(scene, scene.runs, key, control=nothing_alone)
    nothing = Selection(routes=(), total=(), is_proven=False)
    negotiation = Negotiation(routed, routed.every_run, nothing, control=UNATTENDED)
    for number in range(1, times + 1):
        negotiation.hold(random.Random(number))
    return routed.packing.best(routed.open_routes(routed.every_run))
