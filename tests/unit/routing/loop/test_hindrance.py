"""Runs that do not all fit: which is left out, what is in its way, what would help.

What is in the way is measured along the tubes without the package's help. Whatever is
said to help is done to the scene, and the loop is solved again.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain, combinations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.diagnosis.no_route import (
    InTheWay,
    NoPlace,
    OtherFitting,
    OtherPort,
    Reason,
    Remedy,
    Suggestion,
)
from loopsolver.routing.diagnosis.rule_changes import changed
from loopsolver.routing.loop.hindrance import SIMPLE_RULES
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.solving import Loop, LoopRun, solve_loop
from loopsolver.scene.model import Fitting, Port, RunRequest, Scene
from tests.builders import hindered_cases as cases
from tests.builders.port_cases import across
from tests.full import few_or_all
from tests.property.laid_tubes import points_on, tube_of

KEY = RANKINGS["bends"]

APART = 0.25
"""Points stand this near on centre lines where gaps are measured [mm]."""

MEASURED = 0.05
"""Points so near say where tubes that cross are nearest to within this [mm]."""

RESOLVED = 2e-4
"""Twice what gaps are resolved to [mm]."""


def over() -> Scene:
    return cases.over_each_other(2.0)


CASES: dict[Callable[[], Scene], tuple[set[str], tuple[float, ...]]] = {
    cases.two_that_cross: ({"first"}, across(2, 80.0)),
    cases.two_and_a_spare_port: ({"first"}, across(2, 60.0)),
    cases.one_that_crosses_two: (
        {"first", "third"},
        tuple(np.add(across(2, 180.0), across(2, 180.0))),
    ),
    cases.three_that_all_cross: ({"second"}, across(2, 50.0)),
    # Seats are 6 mm in front of the ports: 240 and 300 mm less 12.
    over: ({"below"}, (0, 228.0)),
    cases.shut_in: ({"passing"}, (0, 288.0)),
}
"""The runs that are laid, with their bends and length by hand.

As many as fit, then those with the fewest bends, then the shortest.
"""

LONG = (cases.three_that_all_cross, cases.shut_in)
every_case = pytest.mark.parametrize(
    "case",
    few_or_all([case for case in CASES if case not in LONG], [*CASES]),
    ids=lambda case: case.__name__,
)


@cache
def solved(case: Callable[[], Scene]) -> Loop:
    return solve_loop(case(), case().runs, key=KEY)


def left_out(loop: Loop) -> list[LoopRun]:
    return [run for run in loop.runs if run.chosen is None]


def no_place(run: LoopRun) -> NoPlace:
    assert isinstance(run.why, NoPlace)
    return run.why


def in_the_way(run: LoopRun) -> tuple[InTheWay, ...]:
    return no_place(run).in_the_way


def laid(loop: Loop) -> dict[str, Route]:
    return {run.request.name: run.chosen for run in loop.runs if run.chosen}


@every_case
def test_as_many_as_fit_are_laid_and_those_that_cost_least(
    case: Callable[[], Scene],
) -> None:
    names, total = CASES[case]
    loop = solved(case)
    assert set(laid(loop)) == names
    assert loop.total[:2] == pytest.approx(total, abs=1e-3)
    assert loop.ended == "done"
    for run in loop.runs:
        assert isinstance(run.why, NoPlace) == (run.chosen is None)
        assert run.chosen is not None or in_the_way(run)
        assert run.alone, "there is a route for each run alone"


def test_no_larger_set_of_runs_fits() -> None:
    scene = cases.one_that_crosses_two()
    fitting = []
    for runs in chain(combinations(scene.runs, 2), combinations(scene.runs, 1)):
        loop = solve_loop(scene, runs, key=KEY)
        if len(laid(loop)) == len(runs):
            fitting.append(({run.name for run in runs}, loop.total))
    most = max(len(names) for names, _ in fitting)
    best = min(total for names, total in fitting if len(names) == most)
    assert [names for names, _ in fitting if len(names) == most] == [{"first", "third"}]
    # The second alone would have cost least.
    assert min(fitting, key=lambda one: one[1])[0] == {"second"}
    assert solved(cases.one_that_crosses_two).total == pytest.approx(best, abs=1e-3)


# ------------------------------------------------------------- what is in the way


def points_of(route: Route) -> np.ndarray:
    return points_on(tube_of(route.candidate), apart=APART, covered=(0.0, 0.0))


def gap_between(one: Route, two: Route, radius: float) -> float:
    """The gap of two tubes from points on them: a little too much, never too little."""
    apart, _ = cKDTree(points_of(one)).query(points_of(two))
    return float(apart.min()) - 2.0 * radius


def to_route(at: np.ndarray, route: Route) -> float:
    return float(np.linalg.norm(points_of(route) - at, axis=1).min())


@every_case
def test_the_runs_in_the_way_are_those_of_the_way_that_meets_fewest(
    case: Callable[[], Scene],
) -> None:
    scene, loop = case(), solved(case)
    radius, wanted = scene.tube.radius, scene.rules.clearance - RESOLVED
    chosen = laid(loop)
    for run in left_out(loop):
        met = [
            {
                name: gap
                for name, other in chosen.items()
                if (gap := gap_between(route, other, radius)) < wanted
            }
            for route in (*run.alone, *run.beside)
        ]
        fewest = min(len(one) for one in met)
        assert fewest > 0, "a route of it would have fitted"
        told = {one.run: one.gap for one in in_the_way(run)}
        assert len(told) == len(in_the_way(run)) == fewest
        assert list(told.values()) == sorted(told.values())
        best = [one for one in met if len(one) == fewest and one.keys() == told.keys()]
        assert any(
            all(
                told[name] == pytest.approx(gap, abs=MEASURED)
                for name, gap in one.items()
            )
            for one in best
        )


@every_case
def test_the_place_is_half_way_between_the_two_tubes(
    case: Callable[[], Scene],
) -> None:
    scene, loop = case(), solved(case)
    chosen = laid(loop)
    for run in left_out(loop):
        for one in in_the_way(run):
            half = (one.gap + 2.0 * scene.tube.radius) / 2.0
            at = np.array(one.at)
            assert to_route(at, chosen[one.run]) == pytest.approx(half, abs=2 * APART)
            own = min(abs(to_route(at, w) - half) for w in (*run.alone, *run.beside))
            assert own < 2 * APART


def test_by_hand_one_tube_over_another() -> None:
    (run,) = left_out(solved(over))
    (one,) = in_the_way(run)
    # The lines cross at x = 130, y = 120; the one 40, the other 52 mm up.
    assert one.gap == pytest.approx(2.0, abs=1e-9)
    assert one.at == pytest.approx((130.0, 120.0, 46.0), abs=1e-9)


# ------------------------------------------------------------------ what would help


@dataclass(frozen=True)
class Help:
    """Something said to help: of what kind, and the scene after it is done."""

    kind: str
    scene: Scene


def help_of(scene: Scene, run: RunRequest, remedy: Remedy) -> Help:
    """What a remedy is about, and the scene with it done to a run."""
    if isinstance(remedy, OtherPort):
        ports = run.from_ports if remedy.end == "from" else run.to_ports
        assert remedy.instead_of in ports
        if remedy.end == "from":
            run = replace(run, from_ports=(remedy.port,))
        else:
            run = replace(run, to_ports=(remedy.port,))
        return Help(kind="port", scene=_with_run(scene, run))
    if isinstance(remedy, OtherFitting):
        assert remedy.port in (*run.from_ports, *run.to_ports)
        return Help(kind="elbow", scene=_with_fitting(scene, remedy))
    assert isinstance(remedy, Suggestion)
    assert {change.rule for change in remedy.changes} <= SIMPLE_RULES
    for change in remedy.changes:
        scene, run = changed(scene, run, change)
    return Help(kind=remedy.changes[0].rule, scene=_with_run(scene, run))


def _with_run(scene: Scene, run: RunRequest) -> Scene:
    runs = tuple(run if one.name == run.name else one for one in scene.runs)
    return replace(scene, runs=runs)


def _with_fitting(scene: Scene, remedy: OtherFitting) -> Scene:
    fitting = next(one for one in _fittings(scene) if one.name == remedy.fitting)

    def with_it(port: Port) -> Port:
        if port.name != remedy.port:
            return port
        return replace(port, fittings=(*port.fittings, fitting))

    parts = tuple(
        replace(part, ports=tuple(with_it(port) for port in part.ports))
        for part in scene.components
    )
    return replace(scene, components=parts)


def _fittings(scene: Scene) -> Iterator[Fitting]:
    for part in scene.components:
        for port in part.ports:
            yield from port.fittings


KINDS = {
    cases.two_and_a_spare_port: {"port"},
    over: {"clearance"},
    cases.shut_in: {"elbow"},
}
"""What helps at least, seen by hand."""


@pytest.mark.parametrize(
    "case",
    few_or_all([case for case in KINDS if case not in LONG], [*KINDS]),
    ids=lambda case: case.__name__,
)
def test_what_is_said_to_help_does_help(case: Callable[[], Scene]) -> None:
    scene, loop = case(), solved(case)
    (run,) = left_out(loop)
    told = [help_of(scene, run.request, one) for one in no_place(run).remedies]
    assert {one.kind for one in told} >= KINDS[case]
    others = {name: route.candidate for name, route in laid(loop).items()}
    for one in told:
        # With the other tubes where they are, and with all of them free to move.
        for kept in (others, {}):
            again = solve_loop(one.scene, one.scene.runs, key=KEY, kept=kept)
            assert set(laid(again)) == {each.name for each in scene.runs}, one.kind
            assert not list(_too_near(again, one.scene)), one.kind


def _too_near(loop: Loop, scene: Scene) -> Iterator[tuple[str, str]]:
    wanted = scene.rules.clearance - RESOLVED
    for (first, one), (second, two) in combinations(laid(loop).items(), 2):
        if gap_between(one, two, scene.tube.radius) < wanted:
            yield first, second


def test_where_nothing_helps_nothing_is_offered() -> None:
    """Tubes that must cross in a low case: no port, elbow or rule changes that."""
    for case in (cases.two_that_cross, cases.one_that_crosses_two):
        for run in left_out(solved(case)):
            assert no_place(run).remedies == ()
            assert no_place(run).is_all_tried


def names_of(runs: Iterable[LoopRun]) -> list[str]:
    return [run.request.name for run in runs]


def test_a_run_without_any_way_is_no_hindrance_to_the_others() -> None:
    scene = cases.shut_in()
    hopeless = replace(scene.runs[1], max_bends=0)
    scene = replace(scene, runs=(scene.runs[0], hopeless))
    loop = solve_loop(scene, scene.runs, key=KEY)
    assert names_of(left_out(loop)) == ["shut in"]
    assert isinstance(loop.runs[1].why, Reason)
