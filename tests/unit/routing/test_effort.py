"""How hard the search tries can be turned up and down, and is heeded everywhere."""

from dataclasses import dataclass, fields, is_dataclass, replace
from operator import attrgetter
from typing import Any

import numpy as np
import pytest

from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.control import Control
from loopsolver.routing.diagnosis.no_route import Reason
from loopsolver.routing.effort import USUAL, Effort
from loopsolver.routing.effort.angled import Tries
from loopsolver.routing.effort.growth import grows, times
from loopsolver.routing.problem import RouteProblem
from loopsolver.routing.solve import problems_of, solve_run
from tests.builders.problems import end_at, run_between
from tests.unit.routing.explain_scenes import At, build
from tests.unit.routing.full_cases import random_problem

GRID_SPACINGS = [
    ("square", "fill"),
    ("laying_out", "field_step"),
    ("laying_out", "one_waypoint_step"),
    ("laying_out", "two_waypoints_step"),
]


def leaves(effort: Any) -> dict[str, Any]:
    """Every number of an effort by its name in full."""
    found: dict[str, Any] = {}
    for one in fields(effort):
        value = getattr(effort, one.name)
        if is_dataclass(value):
            found |= {f"{one.name}.{key}": of for key, of in leaves(value).items()}
        else:
            found[one.name] = value
    return found


def test_once_the_effort_is_the_same_effort() -> None:
    assert Effort().times(1) == USUAL


@pytest.mark.parametrize(("package", "name"), GRID_SPACINGS)
def test_eight_times_the_nodes_stand_half_as_far_apart(package: str, name: str) -> None:
    usual = getattr(getattr(USUAL, package), name)
    eightfold = getattr(getattr(USUAL.times(8), package), name)
    assert eightfold == pytest.approx(usual / 2.0)


def test_counts_grow_as_the_effort_and_counts_of_a_pair_as_its_root() -> None:
    more = USUAL.times(4)
    assert more.square.most_nodes == 4 * USUAL.square.most_nodes
    assert more.shortlist.fewest_bends.most == 4 * USUAL.shortlist.fewest_bends.most
    assert more.laying_out.rolls == 2 * USUAL.laying_out.rolls
    assert more.laying_out.axis_places == 2 * USUAL.laying_out.axis_places
    # Twice as many gaps between as many ends.
    assert len(more.laying_out.outward_again) == 2 * 4 + 1
    assert more.laying_out.outward_again[::2] == USUAL.laying_out.outward_again


@pytest.mark.parametrize(
    ("package", "names"),
    [
        ("square", "fill"),
        (
            "laying_out",
            "rolls tilted_rolls bent_again axis_places most_waypoints outward "
            "outward_between outward_again waypoint_outward roll_twins_deg",
        ),
        ("laying_out.few_free_legs", "spare longer"),
        ("laying_out.many_free_legs", "spare longer"),
        ("shortening", "chains rounds samples"),
        ("loop", "shifted_routes level_places leg_shift_passes leg_shifts"),
        ("diagnosis", "rolls room_step"),
    ],
)
def test_what_multiplies_with_another_grows_as_the_root(
    package: str, names: str
) -> None:
    """Of two that do, each is doubled, or cut in half, by four times the effort.

    A spacing in three directions is cut in half by eight times the effort.
    """
    for name in names.split():
        factor = 8 if name == "fill" else 4
        before, after = (
            attrgetter(f"{package}.{name}")(one) for one in (USUAL, USUAL.times(factor))
        )
        if isinstance(before, tuple):
            assert len(after) == 2 * (len(before) - 1) + 1, name
        elif name in {"fill", "roll_twins_deg", "room_step"}:
            assert after == pytest.approx(before / 2.0), name
        else:
            assert after == 2 * before, name


@pytest.mark.parametrize(
    ("package", "name"),
    [
        ("square", "draw_step"),
        ("diagnosis", "free_step"),
        ("shortening", "least_gain"),
    ],
)
def test_a_spacing_along_a_line_falls_as_the_effort_grows(
    package: str, name: str
) -> None:
    usual, more = (getattr(getattr(e, package), name) for e in (USUAL, USUAL.times(4)))
    assert more == pytest.approx(usual / 4.0)


def test_of_a_row_the_places_come_closer_evenly_and_none_goes() -> None:
    @dataclass(frozen=True)
    class Part:
        row: tuple[float, ...] = grows((0.0, 4.0, 12.0))
        one: tuple[float, ...] = grows((5.0,))
        count: int = grows(3)
        pitch: float = grows(3.0, -1.0)
        word: str = "as it is"

    assert times(Part(), 4.0) == Part(
        row=(0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0), count=12, pitch=0.75
    )
    # Less effort thins out counts, not rows.
    assert times(Part(), 0.25) == Part(count=1, pitch=12.0)
    assert times(Part(), 1.4).count == 4


def test_where_a_pair_is_alone_its_free_legs_are_tried_evenly_from_none_to_all() -> (
    None
):
    legs = USUAL.laying_out.many_free_legs
    assert legs.spare == pytest.approx(np.linspace(0.0, 1.0, 61))
    assert legs.longer == pytest.approx(np.linspace(0.0, 360.0, 61))


def test_less_is_done_for_tubes_of_more_bends() -> None:
    effort = USUAL.shortlist
    by_more = [effort.tries(more) for more in range(5)]
    assert by_more[:3] == [effort.fewest_bends, effort.one_more, effort.two_more]
    assert by_more[3:] == [effort.two_more] * 2


def test_more_effort_tries_no_less_of_anything() -> None:
    """Counts do not fall, spacings do not grow, and places that were tried stay."""
    usual, more = leaves(USUAL), leaves(USUAL.times(9))
    changed = [name for name, value in usual.items() if more[name] != value]
    assert len(changed) > 40
    for name in changed:
        before, after = usual[name], more[name]
        if isinstance(before, tuple):
            assert all(np.isclose(after, one).any() for one in before), name
        elif isinstance(before, int):
            assert after >= before, name
        else:
            assert (after < before) == ("work" not in name), name


def test_the_finest_places_are_those_of_both_rows_each_once_in_order() -> None:
    """As numpy joins them. Legs are tried from the shortest on."""
    tries = USUAL.times(9).laying_out
    wanted = np.unique([*tries.outward, *tries.outward_between])
    assert tries.fine_outward == tuple(wanted)


def bent(effort: Effort, *, bend_angles_deg: Any = (45.0, 90.0)) -> RouteProblem:
    """Ports 60 mm out of line and facing: bends of 45 degrees join them."""
    problem = run_between(
        end_at((100, 200, 250), (1, 0, 0)),
        end_at((400, 260, 250), (-1, 0, 0)),
        angles=bend_angles_deg,
        max_bends=2,
    )
    return replace(problem, effort=effort)


def test_who_tries_nothing_finds_nothing() -> None:
    none = Tries(enough=0, most=0, between=0)
    shortlist = replace(USUAL.shortlist, fewest_bends=none, last_resort=none)
    effort = replace(USUAL, shortlist=shortlist)
    usual = find_candidates(bent(USUAL, bend_angles_deg=(45.0,))).candidates
    assert [one.bends for one in usual][:1] == [2]
    assert find_candidates(bent(effort, bend_angles_deg=(45.0,))).candidates == ()


def test_as_many_ways_round_are_looked_for_as_are_asked_for() -> None:
    """Of one sequence of directions there may be several ways round."""
    problem = random_problem(6)
    effort = replace(USUAL, square=replace(USUAL.square, routes_a_sequence=1))
    few = find_candidates(replace(problem, effort=effort)).candidates
    many = find_candidates(problem).candidates
    assert len(few) < len(many)


def test_the_effort_of_whoever_asks_reaches_the_problem_and_its_reasons() -> None:
    scene = build(At((50.0, 50.0, 50.0), "+x"), At((150.0, 90.0, 50.0), "-x"))
    run = scene.runs[0]
    (problem,) = problems_of(scene, run, effort=USUAL.times(2))
    assert problem.effort == USUAL.times(2)
    assert problems_of(scene, run)[0].effort == USUAL
    # Without work to spend fewer changes are tried.
    idle = replace(USUAL.diagnosis, leads=0, probes=0)
    control = Control(effort=replace(USUAL, diagnosis=idle))
    short = replace(scene, rules=replace(scene.rules, max_bends=0))
    usual = solve_run(short, short.runs[0]).why
    without = solve_run(short, short.runs[0], control=control).why
    assert isinstance(usual, Reason)
    assert isinstance(without, Reason)
    assert len(usual.tried) > len(without.tried)
