"""What a search that found nothing has looked at, and what is certain; and the range.

The cases are laid by hand: a wall from side to side of the case lets no tube through, and
one of a given angle where two axes cross is the only tube of one bend.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loopsolver.geometry.vectors import Point
from loopsolver.routing.candidates import most_bends_searched
from loopsolver.routing.diagnosis.explain import searched
from loopsolver.routing.diagnosis.no_route import OutOfRange, Searched
from loopsolver.scene.model import BendAngles, TurnStep
from tests.builders.problems import box_at, end_at, run_between
from tests.unit.routing.explain_scenes import At, after, build, reason, routes

ACROSS = box_at((250, 250, 250), (20, 500, 500))
ASIDE = box_at((250, 250, 250), (20, 200, 200))


@pytest.mark.parametrize(
    ("angles_deg", "turn_step_deg", "max_bends", "proven"),
    [
        ("any", "any", 1, "all"),
        ((45.0, 90.0), "any", 1, "all"),
        ((90.0,), 90.0, 5, "all"),
        ((90.0,), "any", 5, "square"),
        ((90.0,), 45.0, 5, "square"),
        ("any", "any", 5, "one bend"),
        ("any", 90.0, 5, "one bend"),
        ((45.0, 90.0), 90.0, 5, "one bend"),
    ],
)
def test_what_is_certain_behind_a_wall(
    angles_deg: BendAngles, turn_step_deg: TurnStep, max_bends: int, proven: str
) -> None:
    ends = end_at((60, 250, 250), "+x"), end_at((440, 250, 250), "-x")
    run = run_between(*ends, angles=angles_deg, boxes=[ACROSS], max_bends=max_bends)
    run = replace(run, turn_step_deg=turn_step_deg)
    assert searched([run], most=10) == Searched(proven=proven, bends=max_bends)  # type: ignore[arg-type]
    assert searched([run], most=1).bends == 1


def test_a_lattice_that_has_a_tube_proves_nothing() -> None:
    ends = end_at((60, 250, 250), "+x"), end_at((440, 250, 250), "-x")
    shut, ajar = (
        replace(run_between(*ends, angles=(90.0,), boxes=[wall]), turn_step_deg=90.0)
        for wall in (ACROSS, ASIDE)
    )
    assert searched([shut, shut], most=5).proven == "all"
    assert searched([shut, ajar], most=5).proven == "one bend"


def test_how_many_bends_are_looked_through() -> None:
    """README: tubes of up to ten bends, of five where turns and angles are listed."""
    ends = end_at((60, 250, 250), "+x"), end_at((440, 250, 250), "-x")
    run = run_between(*ends, angles="any")
    listed = replace(run, bend_angles_deg=(45.0, 90.0))
    assert most_bends_searched(run) == 10
    assert most_bends_searched(listed) == 10
    assert most_bends_searched(replace(listed, turn_step_deg=45.0)) == 5


def crossing(angle_deg: float) -> tuple[At, At]:
    """Two ends whose axes cross 120 mm from either, where a bend of an angle is due."""
    turn = math.radians(angle_deg)
    way: Point = (math.cos(turn), math.sin(turn), 0.0)
    corner = (250.0, 150.0, 150.0)
    goal = tuple(c + 120.0 * w for c, w in zip(corner, way, strict=True))
    back = tuple(-w for w in way)
    return At((130.0, 150.0, 150.0), "+x"), At(goal, back)  # type: ignore[arg-type]


def test_a_bend_beyond_the_range_is_named_and_offered() -> None:
    """A bend of 129.4 degrees is due: 130 is the least whole degree that allows it."""
    scene = build(
        *crossing(129.4),
        inner=(400.0, 400.0, 300.0),
        bend_angles_deg="any",
        max_bends=1,
    )
    told = reason(scene)
    (fact,) = [one for one in told.facts if isinstance(one, OutOfRange)]
    assert fact.limit_deg == 120.0
    assert fact.angle_deg == pytest.approx(129.4)
    (remedy,) = [
        one for one in told.suggestions if one.changes[0].rule == "sharpest bend"
    ]
    (change,) = remedy.changes
    assert (change.before, change.after) == (120.0, 130.0)
    assert routes(after(scene, change))
    assert not routes(after(scene, replace(change, after=129.0)))


def test_a_bend_within_the_range_needs_nothing() -> None:
    scene = build(
        *crossing(119.4),
        inner=(400.0, 400.0, 300.0),
        bend_angles_deg="any",
        max_bends=1,
    )
    assert routes(scene)
