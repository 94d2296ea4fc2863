"""Which values are offered of each rule, and how the least generous one is found."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from loopsolver.routing.diagnosis.relaxations import (
    Relaxation,
    bend_relaxations,
    clearance_relaxation,
    end_relaxations,
    least_relaxed,
    ports_of,
    steps,
)
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Fitting, Scene
from loopsolver.tube.stock import MATERIAL_FACTS
from tests.builders.scenes import COLLAR, elbow
from tests.unit.routing.diagnosis.told_probes import (
    ROUTE,
    ToldProbes,
    Works,
    always,
    never,
    number,
)
from tests.unit.routing.explain_scenes import TUBE, At, build

SCENE = build(At((60.0, 100.0, 100.0), "+x"), At((240.0, 100.0, 100.0), "-x"))


def by_tenths(first: int, last: int, tenths: int = 1) -> tuple[float, ...]:
    """From so many tenths to so many."""
    return tuple(count / 10 for count in range(first, last + 1, tenths))


def with_fittings(end: int, *fittings: Fitting) -> Scene:
    """The scene with other fittings on one of its two ports."""
    parts = list(SCENE.components)
    (port,) = parts[end].ports
    parts[end] = replace(parts[end], ports=(replace(port, fittings=fittings),))
    return replace(SCENE, components=tuple(parts))


def told(relaxations: Sequence[Relaxation]) -> list[tuple[str, str, object]]:
    """The rule, what it is about and the scene's value of each."""
    changes = [one.widest for one in relaxations]
    return [(one.rule, one.subject, one.before) for one in changes]


def test_a_blocked_end_may_ask_for_the_clearance_and_both_straights() -> None:
    found = end_relaxations(ToldProbes(SCENE, never))
    assert told(found) == [
        ("clearance", "", 3.0),
        ("straight at an end", "pump.out", 5.0),
        ("straight at an end", "gpu.in", 5.0),
    ]
    # No tube rubs: the clearance is 0.5 mm at least.
    assert found[0].values == by_tenths(5, 29)
    assert found[1].values == found[2].values == by_tenths(0, 45, 5)
    assert [found[0].to(1.5).after, found[1].to(2.5).after] == [1.5, 2.5]


def test_bends_may_ask_for_the_straight_between_them_and_the_radius() -> None:
    found = bend_relaxations(ToldProbes(SCENE, never))
    assert told(found) == [
        ("straight between bends", "", 15.0),
        ("bend radius", "", 28.0),
    ]
    assert found[0].values == by_tenths(50, 145, 5)
    tightest = MATERIAL_FACTS[TUBE.material].least_radius_diameters * 14.0
    assert found[1].values == tuple(range(math.ceil(tightest), 28))
    assert [one.to(7.0).after for one in found] == [7.0, 7.0]


def test_a_rule_that_is_at_its_least_is_not_offered() -> None:
    rules = replace(SCENE.rules, clearance=0.5, straight_between_bends=5.0)
    least = replace(SCENE, rules=rules)
    probes = ToldProbes(least, never)
    assert clearance_relaxation(probes).values == ()
    assert [one.widest.rule for one in bend_relaxations(probes)] == ["bend radius"]
    assert {one.widest.rule for one in end_relaxations(probes)} == {
        "straight at an end"
    }
    flat = with_fittings(0, replace(COLLAR, straight_beyond=0.0))
    assert told(end_relaxations(ToldProbes(flat, never)))[1:] == [
        ("straight at an end", "gpu.in", 5.0)
    ]


@pytest.mark.parametrize("end", [0, 1])
def test_of_a_port_with_an_elbow_the_straight_fitting_is_asked(end: int) -> None:
    turned = elbow(straight_beyond=9.0)
    long = replace(COLLAR, straight_beyond=7.0)
    for fittings, wanted in (((turned, long), 7.0), ((turned,), 9.0), ((long,), 7.0)):
        probes = ToldProbes(with_fittings(end, *fittings), never)
        assert end_relaxations(probes)[1 + end].widest.before == wanted


def test_of_a_choice_the_first_ports_are_meant() -> None:
    run = replace(
        SCENE.runs[0], from_ports=("gpu.in", "pump.out"), to_ports=("pump.out", "x.y")
    )
    ports = ports_of(ToldProbes(replace(SCENE, runs=(run,)), never))
    assert [port.name for port in ports] == ["gpu.in", "pump.out"]


def up_to(most: float) -> Works:
    """What works is the clearance up to a value."""

    def works(change: Change) -> Candidate | None:
        return ROUTE if number(change) <= most else None

    return works


@pytest.mark.parametrize("tenths", range(5, 30))
def test_the_least_generous_value_that_works_is_found(tenths: int) -> None:
    probes = ToldProbes(SCENE, up_to(tenths / 10))
    found = least_relaxed(probes, clearance_relaxation(probes))
    assert found is not None
    (change,) = found.changes
    assert (change.after, found.route) == (tenths / 10, ROUTE)
    # The widest is asked for beside those of the bisection.
    assert len(probes.asked) <= 1 + math.ceil(math.log2(25))
    # All that `route` searches tries a tenth less where the scene has more.
    sought = [one[0].after for one in probes.sought]
    assert sought == [(tenths + 1) / 10] * (tenths < 29)
    assert [one[0].after for one in probes.searched] == [tenths / 10]
    assert found.too_little is None


def test_where_not_even_the_widest_works_nothing_is_said() -> None:
    probes = ToldProbes(SCENE, up_to(0.4))
    assert least_relaxed(probes, clearance_relaxation(probes)) is None
    assert len(probes.asked) == 1


def test_where_the_work_runs_out_the_least_that_was_tried_is_told() -> None:
    """Of 25 values the first, then the thirteenth, 1.7, then the nineteenth, 2.3.

    What all that `route` searches has not tried is said: up to the scene's own 3 mm.
    """
    for most, wanted in ((1, 0.5), (2, 1.7), (3, 2.3)):
        probes = ToldProbes(SCENE, always, refine=most, search=0)
        found = least_relaxed(probes, clearance_relaxation(probes))
        assert found is not None
        assert (found.changes[0].after, found.too_little) == (wanted, 3.0)


@pytest.mark.parametrize("quick", [0.0, 0.5, 1.2, 2.4, 2.9])
@pytest.mark.parametrize("some", [0.5, 0.6, 1.3, 2.1, 2.8, 2.9])
def test_what_is_told_is_the_least_by_all_that_route_searches(
    quick: float, some: float
) -> None:
    """Which finds more than is found soon."""
    every = up_to(max(quick, some))
    probes = ToldProbes(SCENE, up_to(quick), some=every, best=every)
    found = least_relaxed(probes, clearance_relaxation(probes))
    assert found is not None
    assert (found.changes[0].after, found.too_little) == (max(quick, some), None)


@pytest.mark.parametrize("some", [0.5, 1.3, 2.4, 2.9])
def test_what_the_search_for_the_best_does_not_bear_out_is_not_told(
    some: float,
) -> None:
    """Some tube is found up to one clearance, the best that passes up to less."""
    for best in (0.5, 0.6, 1.2, 2.4):
        probes = ToldProbes(SCENE, up_to(some), best=up_to(best))
        found = least_relaxed(probes, clearance_relaxation(probes))
        assert found is not None
        assert number(found.changes[0]) == pytest.approx(min(some, best))
        assert found.too_little is None


def test_what_route_finds_nowhere_is_not_told() -> None:
    probes = ToldProbes(SCENE, up_to(2.4), best=never)
    assert least_relaxed(probes, clearance_relaxation(probes)) is None


def test_of_lengths_a_millimetre_less_is_tried() -> None:
    """Straights of up to 2 mm do: 3 mm, two steps of half a millimetre on, do not."""
    probes = ToldProbes(SCENE, up_to(2.0))
    found = least_relaxed(probes, end_relaxations(probes)[1])
    assert found is not None
    assert found.changes[0].after == 2.0
    assert [one[0].after for one in probes.sought] == [3.0]
    assert [one[0].after for one in probes.searched] == [2.0]


def test_values_that_only_together_do_are_each_the_least() -> None:
    """A clearance of 2 mm and a former of 22 mm, neither alone."""

    def works(*changes: Change) -> Candidate | None:
        told = {one.rule: number(one) for one in changes}
        is_enough = (
            told.get("clearance", 9) <= 2.0 and told.get("bend radius", 99) <= 22
        )
        return ROUTE if is_enough else None

    probes = ToldProbes(SCENE, works)
    former = bend_relaxations(probes)[1]
    found = least_relaxed(probes, clearance_relaxation(probes), beside=(former.widest,))
    assert found is not None
    assert [one.after for one in found.changes] == [former.values[0], 2.0]
    found = least_relaxed(probes, former, beside=found.changes[1:])
    assert found is not None
    assert [one.after for one in found.changes] == [2.0, 22.0]


def test_steps_are_whole_and_end_before_the_scenes_own() -> None:
    assert steps(0.0, 5.0, 0.5) == by_tenths(0, 45, 5)
    assert steps(0.0, 5.2, 0.5) == by_tenths(0, 50, 5)
    assert steps(4.3, 7.0, 1.0) == (5.0, 6.0)
    assert steps(0.3, 0.6, 0.1) == (0.3, 0.4, 0.5)
    assert steps(5.0, 5.0, 0.5) == ()
