"""Ports that too many runs want: against every way to hand out ports, tried in turn."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence

import pytest

from loopsolver.scene.model import Scene
from loopsolver.scene.port_contests import port_contests
from loopsolver.scene.reader import scene_from_text
from tests.builders.texts import TUBE, head

HEAD = head(inner=[300, 300, 300], tube={**TUBE, "material": "petg"}, fittings={})


def scene_of(
    parts: dict[str, str],
    runs: Sequence[tuple[Sequence[str], Sequence[str]]],
    more: str = "",
) -> Scene:
    """Return a scene: ports by component, a letter each, "<" in and ">" out behind it."""
    text = HEAD
    for place, (part, ports) in enumerate(parts.items()):
        text += f"[components.{part}]\nposition = [{50 * place}, 10, 10]\n"
        for number, name in enumerate(ports.split()):
            flow = {"<": "in", ">": "out"}.get(name[1:], "either")
            text += (
                f"[components.{part}.ports.{name[0]}]\n"
                f'position = [0, {30 * number}, 0]\ndirection = "+z"\nflow = "{flow}"\n'
            )
    for number, (start, goal) in enumerate(runs):
        text += f'[[runs]]\nname = "run {number}"\nfrom = {start!r}\nto = {goal!r}\n'
    return scene_from_text(text.replace("'", '"') + more, file="siskin.toml")


def test_two_runs_on_one_port_and_the_one_that_is_spare():
    (contest,) = port_contests(
        scene_of(
            {"pump": "a b c<", "tank": "a b"},
            [("pump.a", "tank.a"), ("pump.a", "tank.b")],
        )
    )
    assert (contest.ports, contest.spare) == (("pump.a",), ("pump.b",))
    assert contest.sentence == (
        "the runs 'run 0', 'run 1' end at pump.a, and a port holds one tube; give one of "
        "them another port, such as pump.b"
    )


def test_three_runs_on_one_port_are_one_contest():
    runs = [("pump.a", f"tank.{letter}") for letter in "abc"]
    (contest,) = port_contests(scene_of({"pump": "a", "tank": "a b c"}, runs))
    assert contest.runs == ("run 0", "run 1", "run 2")
    assert (
        "no other port of pump is free, so join them at a piece with"
        in contest.sentence
    )


def test_choices_that_leave_too_few():
    (contest,) = port_contests(
        scene_of(
            {"pump": "a b", "tank": "a b c"},
            [("pump", "tank.a"), ("pump", "tank.b"), ("pump", "tank.c")],
        )
    )
    assert contest.ports == ("pump.a", "pump.b")
    assert contest.sentence.startswith(
        "3 tube ends, of the runs 'run 0', 'run 1', 'run 2', have these 2 ports"
    )


def test_a_choice_between_two_ports_that_are_fought_for_joins_the_fights():
    parts = {"pump": "a b", "tank": "a b c d e"}
    runs = [(f"pump.{one}", f"tank.{other}") for one, other in ("aa", "ab", "bc", "bd")]
    assert len(port_contests(scene_of(parts, runs))) == 2
    (contest,) = port_contests(scene_of(parts, [*runs, ("pump", "tank.e")]))
    assert contest.ports == ("pump.a", "pump.b")
    assert len(contest.ends) == 5


def test_the_flow_leaves_fewer_ports():
    parts = {"pump": "a> b< c>", "tank": "a b c"}
    runs = [("pump", "tank.a"), ("pump", "tank.b")]
    assert not port_contests(scene_of(parts, runs))
    (contest,) = port_contests(scene_of(parts, [*runs, ("pump", "tank.c")]))
    assert (contest.ports, contest.spare) == (("pump.a", "pump.c"), ())


@pytest.mark.parametrize("order", ['["pump", "tank"]', '"any"'])
def test_a_run_that_takes_a_port_which_the_loop_needs(order: str):
    parts = {"pump": "a b", "tank": "a b", "drain": "a"}
    loop = f"[loop]\norder = {order}\n"
    assert not port_contests(scene_of(parts, [], loop))
    (contest,) = port_contests(scene_of(parts, [("pump.a", "drain.a")], loop))
    assert contest.ports == ("pump.a", "pump.b")
    assert set(contest.runs) == {"run 0", "pump to tank", "tank to pump"}
    parts["pump"] = "a b c"
    assert not port_contests(scene_of(parts, [("pump.a", "drain.a")], loop))


def test_two_places_are_two_contests_in_the_order_of_the_runs():
    parts = {"pump": "a b c d", "tank": "a b c d"}
    runs = [
        ("pump.a", "tank.a"),
        ("pump.a", "tank.b"),
        (["tank.c", "tank.d"], "pump.b"),
        (["tank.c", "tank.d"], "pump.c"),
        (["tank.c", "tank.d"], "pump.d"),
    ]
    found = port_contests(scene_of(parts, runs))
    assert [contest.ports for contest in found] == [("pump.a",), ("tank.c", "tank.d")]


def ports_of(chance: random.Random, part: str) -> list[str]:
    names = [f"{part}.{letter}" for letter in "abc"]
    return chance.sample(names, chance.choice([1, 2, 2]))


@pytest.mark.parametrize("seed", range(60))
def test_there_is_a_contest_just_where_no_handing_out_suits_all(seed: int):
    chance = random.Random(seed)
    parts = {"p": "a b c", "q": "a b c"}
    runs = [
        (ports_of(chance, "p"), ports_of(chance, "q"))
        for _ in range(chance.choice([2, 3, 4]))
    ]
    contests = port_contests(scene_of(parts, runs))
    ends = [names for run in runs for names in run]
    suits = any(len(set(ports)) == len(ports) for ports in itertools.product(*ends))
    assert bool(contests) == (not suits)
    for contest in contests:
        held = [
            names
            for run, end in contest.ends
            for names in (runs[int(run.split()[1])][("from", "to").index(end)],)
        ]
        assert set().union(*held) == set(contest.ports)  # nowhere else to go
        assert len(held) > len(contest.ports)


def test_very_many_runs_take_no_depth_of_calls():
    """A chain along which every run has to move for the last one."""
    count = 1200
    letters = [f"p{number}" for number in range(count + 1)]
    text = HEAD + "[components.x]\nposition = [0, 0, 0]\n"
    text += "".join(
        f'[components.x.ports.{letter}]\nposition = [0, 0, 0]\ndirection = "+z"\n'
        for letter in (*letters, *(f"q{number}" for number in range(count + 1)))
    )
    text += "".join(
        f'[[runs]]\nname = "{number}"\n'
        f'from = ["x.p{number}", "x.p{number + 1}"]\nto = "x.q{number}"\n'
        for number in range(count)
    )
    text += f'[[runs]]\nname = "last"\nfrom = "x.p0"\nto = "x.q{count}"\n'
    assert not port_contests(scene_from_text(text, file="siskin.toml"))
