"""Which port and which fitting hold a tube's ends, as its sheets show them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.errors import PlanError
from loopsolver.plan import Plan
from loopsolver.scene.model import Fitting
from loopsolver.workshop.job import job_of
from tests.builders.plans import ending
from tests.builders.scenes import COLLAR, elbow, part, port
from tests.builders.small_build import plan_with

LONG = Fitting(name="long collar", height=30, depth=10, diameter=24, straight_beyond=5)
ELBOW = elbow()


def plan_of(fittings, start, **given):
    """Return a plan of one straight run along +x from `start`."""
    end = (292.0, start[1], start[2])
    plan = plan_with(routes=[(start, end)], units="in")
    both = part(
        "parts",
        port("pump.out", (50.0, 50.0, 50.0), "+x", fittings=fittings),
        port("card.in", (300.0, start[1], start[2]), "-x"),
    )
    (run,) = plan.runs
    candidate = replace(run.candidates[0], **given)
    run = replace(run, from_port="pump.out", to_port="card.in", candidates=(candidate,))
    return Plan(scene=replace(plan.scene, components=(both,)), runs=(run,))


@pytest.mark.parametrize(
    ("fitting", "start"),
    [
        (COLLAR, (58.0, 50.0, 50.0)),  # 20 out of the face, 12 back to the seat
        (LONG, (70.0, 50.0, 50.0)),  # 30 out, 10 back
        (ELBOW, (68.0, 50.0, 58.0)),  # axis 18 out, seat 20 - 12 beside the port's axis
    ],
)
def test_the_fitting_is_the_one_whose_seat_is_where_the_tube_ends(fitting, start):
    plan = plan_of((COLLAR, LONG, ELBOW), start)
    assert job_of(plan, plan.runs[0]).first.fitting == fitting


def test_a_candidate_that_names_its_fittings_is_believed():
    ends = (
        ending("pump.out", (1.0, 0.0, 0.0), (80.0, 50.0, 50.0), fitting="long collar"),
        ending("card.in", (-1.0, 0.0, 0.0), (280.0, 50.0, 50.0)),
    )
    plan = plan_of((COLLAR, LONG), (70.0, 50.0, 50.0), ends=ends)
    # The run may leave open which port it is; the candidate does not.
    run = replace(plan.runs[0], from_port="pump")
    job = job_of(plan, run)
    assert job.first.port == "pump.out"
    assert job.first.fitting == LONG
    assert job.last.port == "card.in"
    assert job.last.fitting == COLLAR


def test_a_run_without_a_route_has_no_job():
    plan = plan_of((COLLAR,), (58.0, 50.0, 50.0))
    run = replace(plan.runs[0], candidates=(), chosen=None, why="the fan is in the way")
    with pytest.raises(PlanError, match="the fan is in the way"):
        job_of(plan, run)


def test_inch_scenes_name_tube_to_a_thousandth():
    """3/8 in is 0.375 in, a thing that hundredths would blur; 25.4 mm to the inch."""
    plan = plan_of((COLLAR,), (58.0, 50.0, 50.0))
    job = job_of(plan, plan.runs[0])
    assert job.size(9.525) == "0.375 in"
    assert job.length(25.4) == "1.000 in"
    metric = replace(job, units="cm")
    assert metric.size(14.0) == "14.0 mm"
    assert metric.length(25.4) == "25.4 mm"
