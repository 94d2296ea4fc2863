"""Shadows and blocked bends of grown cylinders: those of the core, further off."""

from dataclasses import replace

import numpy as np
import pytest

from loopsolver.clearance.arcs import blocked_bends
from loopsolver.clearance.shadows import cast_shadow
from loopsolver.geometry.solids import Cylinder
from loopsolver.geometry.vectors import point
from tests.builders.small_runs import random_frame
from tests.unit.clearance.test_arcs import PAIRS, random_nodes, sampled
from tests.unit.clearance.test_shadows import covered_on
from tests.unit.routing.touching import BLOCKED, UNSURE, straights, verdicts

CASES = 240


def random_grown(seed: int) -> tuple[np.random.Generator, Cylinder]:
    """A grown cylinder, most of them balls or rods with round ends."""
    rng = np.random.default_rng(seed)
    kind = seed % 4
    frame = random_frame(
        rng, point(rng.uniform(-25, 25, 3)), square=0.0 if kind == 3 else 1.0
    )
    return rng, Cylinder(
        frame=frame,
        diameter=float(rng.uniform(1.0, 20.0)) if kind == 2 else 0.0,
        height=0.0 if kind == 0 else float(rng.uniform(1.0, 40.0)),
        rounding=float(rng.uniform(1.0, 8.0)),
    )


@pytest.mark.parametrize("part", range(4))
def test_blocked_bends_are_those_whose_sampled_arc_is_too_near(part: int) -> None:
    blocked = 0
    for seed in range(part, CASES, 4):
        rng, solid = random_grown(seed)
        nodes, arms = random_nodes(rng), PAIRS[seed % len(PAIRS)]
        radius, reach = float(rng.uniform(5.0, 40.0)), float(rng.uniform(0.5, 12.0))
        core = replace(solid, rounding=0.0)
        wanted = sampled(core, nodes, arms, radius=radius, reach=reach + solid.rounding)
        found = np.zeros([len(c) for c in nodes], dtype=bool)
        said = blocked_bends(solid, nodes, arms=arms, radius=radius, reach=reach)
        if said is not None:
            found[said[0]] |= said[1]
        sure = wanted != UNSURE
        assert (found.ravel() == (wanted == BLOCKED))[sure].all(), f"seed {seed}"
        blocked += int((wanted == BLOCKED).sum())
    assert blocked > CASES / 4


@pytest.mark.parametrize("axis", range(3))
def test_shadows_cover_what_lies_too_near_and_nothing_else(axis: int) -> None:
    covered = 0
    for seed in range(60):
        rng, solid = random_grown(seed)
        nodes, reach = random_nodes(rng), float(rng.uniform(0.5, 8.0))
        shadow = cast_shadow(solid, nodes, axis=axis, reach=reach)
        others = [a for a in range(3) if a != axis]
        for row, u in enumerate(nodes[others[0]]):
            for column, v in enumerate(nodes[others[1]]):
                low, high = covered_on(shadow, row, column)
                at = rng.uniform(-35.0, 35.0, 8)
                ends = np.zeros((8, 3))
                ends[:, axis], ends[:, others[0]], ends[:, others[1]] = at, u, v
                tiny = ends + 1e-9 * np.eye(3)[axis]
                core = replace(solid, rounding=0.0)
                verdict = verdicts(
                    straights(ends, tiny), core, limit=reach + solid.rounding
                )
                inside = (at > low) & (at < high)
                sure = (verdict != UNSURE) & (np.abs(at - low) > 1e-4)
                sure &= np.abs(at - high) > 1e-4
                assert (inside == (verdict == BLOCKED))[sure].all(), f"seed {seed}"
                covered += int(inside.sum())
    assert covered > 100
