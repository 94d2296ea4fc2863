"""Runs that may choose their ports: the choice is that of trying every one.

Between two plates that face each other the routes are known by hand: straight across, or
aside by at least a leg between two bends.
"""

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from loopsolver.clearance.obstacles import settled_ports
from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.diagnosis.no_route import NoPortsLeft
from loopsolver.routing.loop.ports import port_pairs, with_ports
from loopsolver.routing.loop.solving import Loop, solve_loop
from loopsolver.scene.model import Flow, RunRequest, Scene
from loopsolver.scene.port_contests import Contest
from loopsolver.scene.reader import scene_from_text
from tests.builders.port_cases import across, plates, random_plates
from tests.builders.scene_files import scene_text
from tests.full import few_or_all
from tests.unit.routing.loop.turned_plates import KINDS, turned

KEY = RANKINGS["bends"]

Case = tuple[int, str, int]
"""A seed, a kind of bends and turns, and how many runs there are."""

SQUARE, *OTHERS = KINDS
CASES: list[Case] = [
    *((seed, SQUARE, 2) for seed in range(40)),
    *((seed, kind, 1) for kind in OTHERS for seed in range(8)),
    *((seed, kind, 2) for kind in OTHERS for seed in range(2)),
]

NO_LIMIT = float("inf")
"""Seconds: what ends the rounds must not be how busy the machine is."""

AS_GOOD = 0.1
"""Two searches of the same loop may end this far apart: both draw routes in [mm]."""


def solved(scene: Scene) -> Loop:
    return solve_loop(scene, scene.runs, key=KEY)


def ports_of(loop: Loop) -> dict[str, tuple[str, str]]:
    return {run.request.name: run.chosen.ports for run in loop.runs if run.chosen}


# Port a of the near plate faces port one and lies below two; b lies aside.
NEAR = {"a": (60.0, 40.0), "b": (160.0, 40.0)}
FAR = {"one": (60.0, 40.0), "two": (60.0, 100.0)}
SHARED = [("straight", ("ab", ("one",))), ("aside", ("ab", ("two",)))]


@pytest.mark.parametrize("runs", [SHARED, SHARED[::-1]], ids=["first", "last"])
def test_a_port_that_both_would_have_goes_to_whom_the_loop_needs_it_for(
    runs: list[tuple[str, tuple[str, tuple[str]]]],
) -> None:
    loop = solved(plates(NEAR, FAR, dict(runs)))
    # Alone, both would begin at a. From a to one there is no bend, from b to two there
    # are two, in a plane askew to both plates' sides: 2. The other way round: 2 each.
    straight, climbing = across(0), across(2, math.hypot(100.0, 60.0))
    assert ports_of(loop) == {
        "straight": ("near.a", "far.one"),
        "aside": ("near.b", "far.two"),
    }
    total = np.add(straight, climbing)
    assert loop.total[:2] == pytest.approx(total, abs=1e-3)


def test_a_port_held_for_good_is_not_offered_to_others() -> None:
    scene = plates(NEAR, FAR, {"sure": ("a", ("two",)), "free": ("ab", ("one",))})
    sure, free = scene.runs
    assert set(settled_ports(scene.runs)) == {"near.a", "far.two", "far.one"}
    assert port_pairs(scene, free) == (("near.b", "far.one"),)
    assert port_pairs(scene, sure) == (("near.a", "far.two"),)
    loop = solved(scene)
    total = np.add(across(2, 60.0), across(2, 100.0))
    assert loop.total[:2] == pytest.approx(total, abs=1e-3)


def test_the_nearest_port_is_left_where_its_coolant_goes_the_other_way() -> None:
    cases: tuple[tuple[tuple[Flow, Flow], str], ...] = (
        (("either", "either"), "near.a"),
        (("in", "either"), "near.b"),
        (("out", "in"), "near.a"),
        (("in", "out"), "near.b"),
    )
    for flows, port in cases:
        near = {"a": (60.0, 40.0, flows[0]), "b": (160.0, 40.0, flows[1])}
        scene = plates(near, FAR, {"run": ("ab", ("one",))})
        assert ports_of(solved(scene)) == {"run": (port, "far.one")}, flows


def test_where_a_tube_arrives_the_coolant_must_go_in() -> None:
    cases: tuple[tuple[tuple[Flow, Flow], str], ...] = (
        (("either", "out"), "far.a"),
        (("out", "either"), "far.b"),
        (("out", "in"), "far.b"),
    )
    for flows, port in cases:
        far = {"a": (60.0, 40.0, flows[0]), "b": (160.0, 40.0, flows[1])}
        scene = plates({"one": (60.0, 40.0)}, far, {"run": (("one",), "ab")})
        assert ports_of(solved(scene)) == {"run": ("near.one", port)}, flows


def test_a_single_port_is_taken_at_the_builders_word() -> None:
    near = {"a": (60.0, 40.0, "in")}
    scene = plates(near, FAR, {"run": ("a", ("one",))})  # type: ignore[arg-type]
    assert ports_of(solved(scene)) == {"run": ("near.a", "far.one")}


def test_a_bare_name_means_any_port_of_the_component() -> None:
    flows: list[Flow] = ["in", "either", "out"]
    near = {
        name: (60.0 + 60.0 * place, 40.0, flow)
        for place, (name, flow) in enumerate(zip("abc", flows, strict=True))
    }
    written = scene_text(plates(near, FAR, {"run": ("abc", ("one",))}))
    listed = 'from = ["near.a", "near.b", "near.c"]'
    assert listed in written
    found = []
    for words in (listed, 'from = "near"'):
        scene = scene_from_text(written.replace(listed, words), file="plates.toml")
        found.append(solved(scene))
    assert ports_of(found[0]) == ports_of(found[1]) == {"run": ("near.b", "far.one")}
    assert found[0].total == found[1].total
    assert found[1].total[:2] == pytest.approx(across(2, 60.0), abs=1e-3)


def test_three_runs_for_two_ports_lay_the_two_that_cost_least() -> None:
    far = {**FAR, "three": (160.0, 100.0)}
    wanted = {
        "one": ("ab", ("one",)),
        "two": ("ab", ("two",)),
        "three": ("ab", ("three",)),
    }
    loop = solved(plates(NEAR, far, wanted))
    # a to one: none; b to three: 2 bends, 60 mm up. Of all pairs the fewest bends.
    assert ports_of(loop) == {
        "one": ("near.a", "far.one"),
        "three": ("near.b", "far.three"),
    }
    assert loop.total[:2] == pytest.approx(np.add(across(0), across(2, 60.0)), abs=1e-3)
    assert [bool(run.why) for run in loop.runs] == [False, True, False]


@pytest.mark.parametrize(
    ("near", "others", "contest"),
    [
        (
            {"a": (60.0, 40.0, "in"), "b": (160.0, 40.0, "in")},
            {},
            None,
        ),
        (
            NEAR,
            {"mine": ("a", ("two",)), "yours": ("b", ("three",))},
            Contest(
                ports=("near.a", "near.b"),
                ends=(("mine", "from"), ("yours", "from"), ("run", "from")),
                spare=(),
            ),
        ),
    ],
    ids=["coolant comes out of none", "others hold both"],
)
def test_no_port_left_is_the_reason(
    near: dict[str, tuple[float, float]],
    others: dict[str, tuple[str, tuple[str]]],
    contest: Contest | None,
) -> None:
    far = {**FAR, "three": (160.0, 100.0)}
    scene = plates(near, far, {**others, "run": ("ab", ("one",))})
    loop = solved(scene)
    last = loop.runs[-1]
    assert port_pairs(scene, scene.runs[-1]) == ()
    assert last.chosen is None
    assert last.alone == ()
    assert last.why == NoPortsLeft(
        from_ports=("near.a", "near.b"), to_ports=("far.one",), contest=contest
    )
    assert len(ports_of(loop)) == len(others)


def allowed(scene: Scene, run: RunRequest) -> list[tuple[str, str]]:
    """Pairs of ports that a run with a choice at both ends may join."""
    starts = [name for name in run.from_ports if scene.port(name).flow != "in"]
    goals = [name for name in run.to_ports if scene.port(name).flow != "out"]
    return list(product(starts, goals))


def best_of_all_assignments(scene: Scene) -> tuple[float, ...]:
    """The least total over all choices that settle all runs on ports, each solved anew."""
    totals = []
    for pairs in product(*(allowed(scene, run) for run in scene.runs)):
        if len({port for pair in pairs for port in pair}) == 2 * len(pairs):
            runs = tuple(map(with_ports, scene.runs, pairs))
            loop = solve_loop(scene_with(scene, runs), runs, key=KEY, seconds=NO_LIMIT)
            if len(ports_of(loop)) == len(runs):
                totals.append(loop.total[:2])
    return min(totals)


def scene_with(scene: Scene, runs: tuple[RunRequest, ...]) -> Scene:
    return replace(scene, runs=runs)


@pytest.mark.parametrize("case", few_or_all([(2, SQUARE, 2)], CASES), ids=str)
def test_the_ports_chosen_are_the_best_of_all_assignments(case: Case) -> None:
    seed, kind, count = case
    scene = turned(random_plates(seed), kind)
    scene = replace(scene, runs=scene.runs[:count])
    loop = solve_loop(scene, scene.runs, key=KEY, seconds=NO_LIMIT)
    chosen = ports_of(loop)
    assert len({port for pair in chosen.values() for port in pair}) == 2 * count
    for run in scene.runs:
        assert chosen[run.name] in allowed(scene, run)
    bends, length = best_of_all_assignments(scene)
    assert loop.total[0] == bends
    assert loop.total[1] == pytest.approx(length, abs=AS_GOOD)
