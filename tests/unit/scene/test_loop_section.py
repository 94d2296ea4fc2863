"""[loop] in a scene file: the runs that follow from it, and those that stand beside it.

Every expected run is worked out by hand from the ports and their flows.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import jsonschema
import pytest

from loopsolver.errors import LoopsolverError, SceneError
from loopsolver.scene.circuit import loop_parts, runs_in_order
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import LoopRequest, Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.schema import SceneFile
from tests.builders.texts import TUBE, head

HEAD = head(inner=[300, 300, 300], tube={**TUBE, "material": "petg"}, fittings={})

PARTS = {
    "pump": {"in": "in", "out": "out", "top": "out"},
    "card": {"a": "either", "b": "either"},
    "drain": {"tap": "either"},
    "front": {"low": "in", "high": "either"},
    "shelf": {},
}


def text(loop: str, runs: str = "", parts: dict[str, dict[str, str]] = PARTS) -> str:
    tables = [HEAD]
    for place, (part, ports) in enumerate(parts.items()):
        tables.append(f"[components.'{part}']\nposition = [{40 * place}, 0, 0]\n")
        tables += [
            f"[components.'{part}'.ports.{port}]\nposition = [0, 0, 0]\n"
            f'direction = "+x"\nflow = "{flow}"\n'
            for port, flow in ports.items()
        ]
    return "".join([*tables, f"[loop]\norder = {loop}\n" if loop else "", runs])


def scene(loop: str, runs: str = "") -> Scene:
    return scene_from_text(text(loop, runs), file="a.toml")


def run(name: str, start: str, goal: str) -> str:
    return f'[[runs]]\nname = "{name}"\nfrom = {start}\nto = {goal}\n'


def ends(read: Scene) -> list[tuple[str, tuple[str, ...], tuple[str, ...]]]:
    return [(each.name, each.from_ports, each.to_ports) for each in read.runs]


FULL = '["pump", "card", "front"]'


def test_runs_follow_from_the_order_and_flow_is_respected():
    read = scene(FULL)
    assert read.loop == LoopRequest(order=("pump", "card", "front"))
    assert ends(read) == [
        ("pump to card", ("pump.out", "pump.top"), ("card.a", "card.b")),
        ("card to front", ("card.a", "card.b"), ("front.low", "front.high")),
        ("front to pump", ("front.high",), ("pump.in",)),
    ]


def test_two_parts_are_joined_both_ways():
    names = [each.name for each in scene('["card", "pump"]').runs]
    assert names == ["card to pump", "pump to card"]


def test_a_run_beside_the_loop_takes_the_place_of_its_tube():
    own = run("first tube", '"pump.top"', '"card"') + "max_bends = 2\n"
    read = scene(FULL, own)
    assert [each.name for each in read.runs] == [
        "first tube",
        "card to front",
        "front to pump",
    ]
    assert read.runs[0].from_ports == ("pump.top",)
    assert read.runs[0].max_bends == 2


def test_a_run_may_have_the_name_of_the_tube_whose_place_it_takes():
    read = scene(FULL, run("pump to card", '"pump.top"', '"card.b"'))
    assert ends(read)[0] == ("pump to card", ("pump.top",), ("card.b",))
    assert len(read.runs) == 3


def test_other_runs_stand_beside_the_loop():
    runs = run("to drain", '"pump.top"', '"drain"') + run(
        "back", '"card.b"', '"pump.in"'
    )
    assert [each.name for each in scene(FULL, runs).runs] == [
        "pump to card",
        "card to front",
        "front to pump",
        "to drain",
        "back",
    ]


def test_a_run_with_a_choice_of_components_takes_no_place():
    names = [
        each.name for each in scene(FULL, run("x", '"pump"', '["card", "front"]')).runs
    ]
    assert names == ["pump to card", "card to front", "front to pump", "x"]


def test_any_order_leaves_the_runs_to_the_search():
    read = scene('"any"', run("x", '"pump.top"', '"card.b"'))
    assert read.loop == LoopRequest(order="any")
    assert [each.name for each in read.runs] == ["x"]
    # a drain with one port and a shelf with none let nothing through
    assert loop_parts(read) == ("pump", "card", "front")
    assert loop_parts(scene('["front", "pump"]')) == ("front", "pump")


@pytest.mark.parametrize(
    "order", list(itertools.permutations(("pump", "card", "front")))
)
def test_every_order_goes_round_once(order: tuple[str, ...]):
    runs = runs_in_order(scene('"any"'), order)
    written = scene(str(list(order)).replace("'", '"'))
    assert runs == written.runs
    assert [each.name.split(" to ")[0] for each in runs] == list(order)
    assert [each.name.split(" to ")[1] for each in runs] == [*order[1:], order[0]]


def test_the_same_order_twice_is_the_same():
    read = scene(FULL)
    assert runs_in_order(read, ("pump", "card", "front")) == read.runs


@pytest.mark.parametrize(
    "order", [(), ("pump",), ("pump", "pump"), ("pump", "drain"), ("pump", "pmup")]
)
def test_an_order_that_cannot_be_is_refused(order: tuple[str, ...]):
    with pytest.raises(LoopsolverError, match="pump, card, front"):
        runs_in_order(scene('"any"'), order)


def test_bare_names_of_runs_leave_out_ports_against_the_flow():
    read = scene("", run("x", '["front", "pump"]', '"pump"'))
    assert ends(read) == [
        ("x", ("front.high", "pump.out", "pump.top"), ("pump.in",)),
    ]


def test_a_port_by_name_is_the_builders_word_and_doubtful():
    read = scene("", run("x", '"pump.in"', '"card.a"'))
    assert read.runs[0].from_ports == ("pump.in",)
    assert any("flow" in doubt.message for doubt in doubts(read))


def test_room_is_looked_at_where_the_loop_may_end():
    # all ports that the loop may use are looked at: each lacks a fitting of its own
    found = [each.where for each in doubts(scene('"any"')) if "built-in" in each.kind]
    assert sorted(found) == sorted(
        f"{part}.{port}" for part in ("pump", "card", "front") for port in PARTS[part]
    )


def test_tubes_whose_names_do_not_fit_are_told():
    long = {"a" * 30: {"x": "either", "y": "either"}, "b" * 30: {"x": "in", "y": "out"}}
    with pytest.raises(SceneError, match="64 characters long"):
        scene_from_text(text('"any"', parts=long), file="a.toml")
    own = run("there", f'"{"a" * 30}"', f'"{"b" * 30}"')
    own += run("back", f'"{"b" * 30}"', f'"{"a" * 30}"')
    read = scene_from_text(text('"any"', own, parts=long), file="a.toml")
    assert [each.name for each in read.runs] == ["there", "back"]


def test_names_that_tell_two_tubes_apart_by_capitals_alone_are_told():
    ports = {"x": "either", "y": "either"}
    parts = dict.fromkeys(("Pump", "pump", "card", "Card"), ports)
    with pytest.raises(SceneError, match="the name of two tubes"):
        scene_from_text(
            text('["Pump", "card", "pump", "Card"]', parts=parts), file="a.toml"
        )


def test_a_run_elsewhere_with_the_name_of_a_tube_of_the_loop_is_told():
    with pytest.raises(SceneError, match=r"lays from card to front") as told:
        scene(FULL, run("Card to front", '"pump.top"', '"drain"'))
    (fault,) = told.value.faults
    assert fault.key_path.endswith("name")


def test_more_parts_than_an_order_is_searched_for():
    parts = {f"part {place}": {"x": "in", "y": "out"} for place in range(21)}
    with pytest.raises(SceneError, match="at most 20 of them"):
        scene_from_text(text('"any"', parts=parts), file="a.toml")


def test_a_loop_of_the_whole_scene_can_be_searched_in_python():
    read = scene('"any"')
    whole = replace(read, runs=runs_in_order(read, loop_parts(read)))
    assert whole.port("front.high").component == "front"
    assert len(whole.runs) == 3


@pytest.mark.parametrize(
    ("order", "is_sound"),
    [
        ("any", True),
        (["pump", "card"], True),
        (["pump"], False),
        (["pump", "pump"], False),
        ("eny", False),
        (["pump", 3], False),
    ],
)
def test_the_json_schema_knows_the_loop(order: object, is_sound: bool):
    data = {
        "format": 1,
        "case": {"inner": [300, 300, 300]},
        "tube": {"material": "petg", "outer_diameter": 14, "inner_diameter": 10},
        "loop": {"order": order},
    }
    validator = jsonschema.Draft202012Validator(
        SceneFile.model_json_schema(by_alias=True)
    )
    assert validator.is_valid(data) is is_sound
