"""Ports askew to each other that listed angles cannot meet: a reason, never a tube.

The tube leaves along x and has to arrive at 80 degrees to it, by hand:

- One bend turns by its own angle, and 80 is none of the list.
- The legs of two bends join the ports' axes. Where the axes lie in one plane so does the
  leg between, and the angles add or subtract in it: 90 and 90 give 0 or 180, 45 and 45
  give 0 or 90, 45 and 90 give 45 or 135. None gives 80.
- Two bends of 90 degrees otherwise need a leg square to both axes: their common
  perpendicular. It is as long as the axes are apart and has to hold two tangents of 28
  and a straight of 15, 71 mm.
"""

import math

import numpy as np
import pytest

from loopsolver.routing.diagnosis.no_route import Reason
from loopsolver.routing.solve import Outcome, problems_of, solve_run
from loopsolver.scene.model import Scene
from tests.builders.port_texts import run, scene, seated
from tests.property.laid_tubes import candidate_complaints
from tests.unit.routing.explain_scenes import suggested

TURN = math.radians(80.0)
ARRIVAL = np.array([math.cos(TURN), math.sin(TURN), 0.0])
UP = np.array([0.0, 0.0, 1.0])
CROSSING = np.array([180.0, 100.0, 100.0])
"""Where the ports' axes cross, seen from above: 120 and 130 mm from the tube ends."""


def askew(lifted: float, **rules: object) -> Scene:
    goal = CROSSING + 130.0 * ARRIVAL + lifted * UP
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1.0, 0.0, 0.0)),
        seated("card", tuple(goal.tolist()), tuple((-ARRIVAL).tolist())),
        run("pump", "card"),
        **rules,
    )


def solved(of: Scene) -> Outcome:
    outcome = solve_run(of, of.runs[0])
    assert outcome.refused == 0
    return outcome


@pytest.mark.parametrize("angles", [[90], [45, 90], [45]], ids=str)
@pytest.mark.parametrize("bends", [1, 2])
def test_what_listed_angles_cannot_meet_in_one_plane_is_a_reason(
    angles: list[float], bends: int
) -> None:
    outcome = solved(askew(0.0, bend_angles=angles, max_bends=bends))
    assert outcome.candidates == ()
    assert isinstance(outcome.why, Reason)
    # One bend of 80 degrees does it where any angle may be.
    free = suggested(outcome.why, "bend angles")
    assert free.changes[0].after == "any"
    assert free.angles_deg == pytest.approx((80.0,), abs=1e-4)


@pytest.mark.parametrize("bends", [1, 2])
def test_any_angle_meets_them_with_one_bend(bends: int) -> None:
    of = askew(0.0, bend_angles="any", max_bends=bends)
    ways = solved(of).candidates
    one = min(ways, key=lambda c: c.bends)
    assert one.bends == 1
    assert one.table.bends[0].angle_deg == pytest.approx(80.0, abs=1e-4)
    assert np.allclose(one.centreline.vertices[1], CROSSING, atol=1e-3)
    cut = 2.0 * math.tan(TURN / 2.0) - TURN
    assert one.length == pytest.approx(120.0 + 130.0 - cut * 28.0, abs=1e-3)


def test_two_square_bends_meet_axes_that_are_far_enough_apart() -> None:
    """The leg between is the common perpendicular: up from where the axes cross."""
    lifted = 80.0
    of = askew(lifted, max_bends=2)
    found = solved(of).candidates
    assert found
    expected = [CROSSING, CROSSING + lifted * UP]
    assert np.allclose(found[0].centreline.vertices[1:-1], expected, atol=1e-6)
    cut = 2.0 * (2.0 - math.pi / 2.0) * 28.0
    assert found[0].length == pytest.approx(120.0 + lifted + 130.0 - cut, abs=1e-6)


@pytest.mark.parametrize("lifted", [20.0, 60.0, 70.5])
def test_two_square_bends_do_not_meet_axes_too_near_to_each_other(
    lifted: float,
) -> None:
    outcome = solved(askew(lifted, max_bends=2))
    assert outcome.candidates == ()
    assert isinstance(outcome.why, Reason)
    assert outcome.why.facts


def test_any_angle_meets_them_at_every_height() -> None:
    of = askew(60.0, bend_angles="any", max_bends=2)
    ways = solved(of).candidates
    assert ways
    (problem,) = problems_of(of, of.runs[0])
    assert all(not candidate_complaints(c, problem) for c in ways)
