"""Whatever is said to help does, and 1 mm or 1 degree less of it does not.

The changes are made to the scene by hand, and it is asked for tubes as `route` asks.
"""

from __future__ import annotations

from functools import cache
from itertools import count
from typing import Final

import pytest

from loopsolver.routing.diagnosis.no_route import Reason
from loopsolver.routing.diagnosis.rule_changes import Change, Rule
from loopsolver.routing.solve import best_route, solve_run
from loopsolver.scene.model import BendAngles, Scene
from tests.full import few_or_all
from tests.unit.routing.diagnosis.test_explain_crowded import crowded
from tests.unit.routing.explain_scenes import after

LESS: Final[dict[Rule, float]] = {
    "clearance": 0.1,
    "straight at an end": 1.0,
    "straight between bends": 1.0,
    "bend radius": 1.0,
    "bends": 1.0,
    "sharpest bend": 1.0,
    "slightest bend": 1.0,
    "body": 1.0,
    "case wall": 1.0,
}
"""What is not enough is so much less generous, by the rule [mm, degrees or bends]."""

KINDS: Final[tuple[tuple[BendAngles, int], ...]] = (
    ((90.0,), 3),
    ((45.0, 90.0), 2),
    ("any", 2),
)
CASES: Final = [(kind, number) for kind in range(3) for number in range(20)]
"""Scenes without a route: twenty of each list of angles."""


def helps(scene: Scene, change: Change, *, less: float = 0.0) -> bool:
    changed = after(scene, change, less=less)
    return best_route(changed, changed.runs[0]) is not None


def own(change: Change) -> bool:
    """Whether 1 mm or 1 degree less than a change is what the scene says itself."""
    assert isinstance(change.after, int | float)
    assert isinstance(change.before, int | float)
    return abs(change.after - change.before) <= LESS[change.rule] + 1e-9


def check(scene: Scene) -> None:
    """Check that what is said to help a scene's run does, and a little less does not."""
    why = solve_run(scene, scene.runs[0]).why
    assert isinstance(why, Reason)
    for one in why.suggestions:
        made = after(scene, *one.changes)
        best = best_route(made, made.runs[0])
        assert best is not None, one
        assert best.bends == one.bends
        assert best.length == pytest.approx(one.length)
        (change, *more) = one.changes
        if more or change.rule not in LESS or change.after is None:
            continue
        assert one.too_little is None, one
        assert own(change) or not helps(scene, change, less=LESS[change.rule]), one


def without_route(angles: BendAngles, bends: int, seed: int) -> Scene | None:
    """Return a random scene where its run has no route."""
    scene = crowded(
        seed, bodies=20, bend_angles_deg=angles, max_bends=bends, square=0.9
    )
    is_none = best_route(scene, scene.runs[0]) is None
    return scene if is_none else None


@cache
def case(kind: int, number: int) -> tuple[int, Scene]:
    """The so manieth random scene of a list of angles without a route, and its seed."""
    first = case(kind, number - 1)[0] + 1 if number else 0
    angles, bends = KINDS[kind]
    found = ((seed, without_route(angles, bends, seed)) for seed in count(first))
    return next((seed, scene) for seed, scene in found if scene is not None)


@pytest.mark.parametrize(("kind", "number"), few_or_all(CASES[::20], CASES))
def test_a_little_less_of_what_helps_does_not(kind: int, number: int) -> None:
    check(case(kind, number)[1])
