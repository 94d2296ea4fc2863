"""How a plan's tubes look: over what length they run side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopsolver.plan.file import Plan

if TYPE_CHECKING:
    from loopsolver.routing.loop.parallels import SideBySide


def tubes_side_by_side(plan: Plan) -> SideBySide:
    """Return over what length the chosen tubes run side by side, and how evenly."""
    from loopsolver.routing.loop.parallels import side_by_side

    chosen = [run.chosen_candidate for run in plan.runs]
    return side_by_side(
        [one.centreline for one in chosen if one is not None],
        outer_diameter=plan.scene.tube.outer_diameter,
    )
