"""Doubts: each one where it should be, with the right number, and none elsewhere.

A sound scene with one thing changed; every expected amount is arithmetic on the change.
"""

from __future__ import annotations

import pytest

from loopsolver.scene.doubts import Doubt, doubts
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders.texts import TUBE, box, cylinder, head, keep_out, part, port, run

AXES = {"axes": ["right", "away", "up"]}
PETG = {**TUBE, "material": "petg"}
SOUND = "".join(
    [
        head(inner=[200, 300, 250], case=AXES, tube=PETG),
        part(
            "pump",
            [20, 20, 0],
            box([50, 60, 40], [25, 30, 20]),
            port("out", [50, 30, 20], "+x"),
        ),
        part(
            "tank",
            [100, 200, 0],
            cylinder(diameter=60, height=150, centre=[30, 30, 75]),
            port("in", [30, 30, 150], "+z"),
        ),
        part(
            "block",
            [0, 100, 100],
            box([20, 40, 40], [10, 20, 20]),
            port("in", [20, 20, 20], "+x"),
        ),
        keep_out("side panel", box([10, 300, 250], [195, 150, 125])),
        run("pump.out", "tank.in"),
    ]
)

COLLAR = SOUND[SOUND.index("[fittings.collar]") : SOUND.index("[components.pump]")]


def scene(*changes: tuple[str, str]) -> Scene:
    text = SOUND
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return scene_from_text(text, file="siskin.toml")


def only_doubt(*changes: tuple[str, str]) -> Doubt:
    (doubt,) = doubts(scene(*changes))
    return doubt


def test_a_sound_scene_is_in_no_doubt():
    assert doubts(scene()) == ()


def test_bodies_that_overlap_say_by_how_much_and_which_way():
    # tank's side at y = 200; a block up to y = 203.5 sinks in by 3.5 mm
    doubt = only_doubt(
        ("position = [0, 100, 100]", "position = [120, 163.5, 100]"),
        ("position = [20, 20, 20]\n", "position = [0, 20, 20]\n"),
        ('direction = "+x"\n[[keep', 'direction = "-x"\n[[keep'),
    )
    assert doubt.kind == "overlap"
    assert doubt.where == "tank and block"
    assert "overlap by 3.5 mm" in doubt.message
    assert "move block by 3.5 mm along -y" in doubt.message


def test_bodies_of_one_component_may_overlap_and_neighbours_may_touch():
    more = (
        "[[components.block.bodies]]\nbox = [20, 80, 20]\ncentre = [10, 20, 20]\n"
        "[components.block.ports.in]\n"
    )
    onto = ("position = [0, 100, 100]", "position = [20, 80, 0]")
    assert doubts(scene(("[components.block.ports.in]\n", more))) == ()
    assert doubts(scene(onto)) == ()


def test_half_a_millimetre_of_overlap_is_within_measuring():
    assert doubts(scene(("position = [0, 100, 100]", "position = [20, 79.6, 0]"))) == ()
    doubt = only_doubt(("position = [0, 100, 100]", "position = [20, 79.4, 0]"))
    assert "overlap by 0.6 mm" in doubt.message


def test_a_body_that_sticks_out_of_the_case():
    doubt = only_doubt(("inner = [200, 300, 250]", "inner = [200, 256.5, 250]"))
    # the tank reaches to y = 200 + 30 + 30 = 260
    assert (doubt.kind, doubt.where) == ("outside case", "tank")
    assert "sticks out of the case by 3.5 mm through case wall +y" in doubt.message


def test_a_port_outside_the_case():
    doubt = only_doubt(
        ("position = [0, 100, 100]", "position = [-21, 100, 100]"),
        (
            '[components.block.ports.in]\nposition = [20, 20, 20]\ndirection = "+x"\n',
            "",
        ),
    )
    assert doubt.where == "block"
    assert "by 21.0 mm through case wall -x" in doubt.message
    both = doubts(scene(("position = [0, 100, 100]", "position = [-21, 100, 100]")))
    assert [each.where for each in both] == ["block", "block.in (port)"]


def test_ports_without_a_body():
    bodies = "[[components.block.bodies]]\nbox = [20, 40, 40]\ncentre = [10, 20, 20]\n"
    doubt = only_doubt((bodies, ""))
    assert (doubt.kind, doubt.where) == ("no body", "block")


@pytest.mark.parametrize(
    ("x", "words"),
    [
        (38, "lies 12.0 mm inside the bodies of pump"),
        (53.5, "stands 3.5 mm away from the bodies of pump"),
    ],
)
def test_a_port_off_its_components_surface(x, words):
    doubt = only_doubt(("[50, 30, 20]", f"[{x}, 30, 20]"))
    assert (doubt.kind, doubt.where) == ("off surface", "pump.out")
    assert words in doubt.message


def test_a_port_within_measuring_of_the_surface():
    assert doubts(scene(("[50, 30, 20]", "[51.5, 30, 20]"))) == ()
    assert doubts(scene(("[50, 30, 20]", "[48.5, 30, 20]"))) == ()


def test_a_port_inside_a_foreign_body():
    # the block stands 7 mm over the pump's port face at x = 70
    found = doubts(
        scene(
            ("position = [0, 100, 100]", "position = [65, 30, 0]"),
            ("[20, 20, 20]", "[20, 20, 40]"),
            ('direction = "+x"\n[[keep', 'direction = "+z"\n[[keep'),
        )
    )
    kinds = [(doubt.kind, doubt.where) for doubt in found]
    assert kinds == [("overlap", "pump and block"), ("inside a body", "pump.out")]
    assert "lies 5.0 mm inside block" in found[1].message


def test_a_port_that_points_into_its_own_component():
    doubt = only_doubt(
        ('[50, 30, 20]\ndirection = "+x"', '[50, 30, 20]\ndirection = "-x"')
    )
    assert (doubt.kind, doubt.where) == ("fitting in the way", "pump.out")
    # 20 mm of fitting inside the pump; the shortest way out is back along x
    assert "reaches 20.0 mm into pump itself" in doubt.message
    assert "(-x in the case)" in doubt.message


def test_a_fitting_that_runs_into_another_component():
    # pump's face at x = 70, fitting to x = 90, block from x = 83
    doubt = only_doubt(("position = [0, 100, 100]", "position = [83, 30, 0]"))
    assert (doubt.kind, doubt.where) == ("fitting in the way", "pump.out")
    assert "reaches 7.0 mm into block" in doubt.message


def test_a_fitting_that_runs_into_a_keep_out():
    doubt = only_doubt(
        ("box = [10, 300, 250]", "box = [110, 300, 250]"),
        ("[195, 150, 125]", "[140, 150, 125]"),
        ('from = "pump.out"\nto = "tank.in"', 'from = "pump.out"\nto = "block.in"'),
    )
    assert "reaches 5.0 mm into keep-out side panel" in doubt.message


def test_a_fitting_that_runs_through_a_case_wall():
    doubt = only_doubt(("inner = [200, 300, 250]", "inner = [200, 300, 165]"))
    # tank's lid at z = 150, fitting to 170
    assert (doubt.kind, doubt.where) == ("fitting in the way", "tank.in")
    assert "reaches 5.0 mm into case wall +z" in doubt.message


def test_a_port_that_no_run_uses_needs_no_fitting():
    shut = ("position = [0, 100, 100]", "position = [165, 100, 100]")
    assert doubts(scene(shut)) == ()
    without_runs = doubts(scene(shut, (run("pump.out", "tank.in"), "")))
    # block's face at x = 185, the keep-out from 190: 15 of the 20 mm are in it
    assert [doubt.where for doubt in without_runs] == ["block.in"]
    assert "reaches 15.0 mm into keep-out side panel" in without_runs[0].message


def test_a_port_with_another_fitting_that_fits():
    low = "[fittings.low]\nheight = 6\ndepth = 5\ndiameter = 22\nstraight_beyond = 0\n"
    text = SOUND.replace("[components.pump]\n", low + "[components.pump]\n")
    near = text.replace("position = [0, 100, 100]", "position = [83, 30, 0]")
    collar = near.replace(
        'direction = "+x"\n[components.tank]',
        'direction = "+x"\nfitting = "collar"\n[components.tank]',
    )
    either = collar.replace('fitting = "collar"', 'fitting = ["collar", "low"]')
    either = either.replace("[30, 30, 150]", '[30, 30, 150]\nfitting = "collar"')
    collar = collar.replace("[30, 30, 150]", '[30, 30, 150]\nfitting = "collar"')
    found = doubts(scene_from_text(collar, file="a.toml"))
    assert [doubt.kind for doubt in found] == ["fitting in the way"]
    assert doubts(scene_from_text(either, file="a.toml")) == ()


def test_a_straight_that_has_no_room():
    # fitting to x = 90, straight to x = 95; a thin plate stands at x = 94
    plate = 'name = "plate"\nbox = [1, 40, 40]\ncentre = [94.5, 50, 20]\n[[runs]]\nname'
    doubt = only_doubt(("[[runs]]\nname", f"[[keep_outs]]\n{plate}"))
    assert (doubt.kind, doubt.where) == ("no room", "pump.out")
    assert "keep-out plate is 1.0 mm too near" in doubt.message
    assert "straight for 5.0 mm" in doubt.message
    assert "keeps 3.0 mm clear" in doubt.message


def test_no_room_to_turn_before_a_case_wall():
    # 20 fitting + 5 straight + 28 radius + 7 half a tube + 3 clearance = 63 mm
    assert doubts(scene(("inner = [200, 300, 250]", "inner = [200, 300, 213]"))) == ()
    doubt = only_doubt(("inner = [200, 300, 250]", "inner = [200, 300, 212]"))
    assert (doubt.kind, doubt.where) == ("no room", "tank.in")
    assert "case wall +z is 62.0 mm ahead" in doubt.message
    assert "needs 63.0 mm" in doubt.message
    smaller = ("inner = [200, 300, 250]", "inner = [200, 300, 212]")
    own = ('to = "tank.in"\n', 'to = "tank.in"\nbend_radius = [40, 27]\n')
    assert doubts(scene(smaller, own)) == ()


def test_ports_that_face_each_other_need_no_room_to_turn():
    petg = {"material": "petg", "outer_diameter": 15, "inner_diameter": 13}
    plate = box([10, 100, 100], [5, 50, 50])
    text = "".join(
        [
            head(inner=[100, 100, 100], case=AXES, tube=petg),
            part("left", [0, 0, 0], plate, port("a", [10, 50, 50], "+x")),
            part("right", [65, 0, 0], plate, port("a", [0, 50, 50], "-x")),
        ]
    )
    across = run("left.a", "right.a", name="across")
    assert doubts(scene_from_text(text + across, file="a.toml")) == ()
    # without the run, the right one's tube would have to turn within 65 mm of -x
    found = doubts(scene_from_text(text, file="a.toml"))
    assert [doubt.where for doubt in found] == ["right.a"]


def test_an_elbow_is_not_asked_for_room_ahead():
    changes = [
        (COLLAR, COLLAR + "turn = 90\nreach = 20\n"),
        ("inner = [200, 300, 250]", "inner = [200, 300, 180]"),
    ]
    assert doubts(scene(*changes)) == ()


def test_fittings_that_overlap_each_other():
    # 22 mm bodies on ports 17 mm apart
    beside = '[components.pump.ports.b]\nposition = [50, 47, 20]\ndirection = "+x"\n'
    two = run("pump.b", "block.in", name="two")
    doubt = only_doubt(
        ("[components.tank]\n", beside + "[components.tank]\n"),
        ("[[runs]]\nname", two + "[[runs]]\nname"),
    )
    assert (doubt.kind, doubt.where) == ("fitting in the way", "pump.b and pump.out")
    assert "overlap by 5.0 mm" in doubt.message


def test_the_built_in_fitting_is_told():
    found = doubts(scene((COLLAR, "")))
    assert [(doubt.kind, doubt.where) for doubt in found] == [
        ("built-in fitting", "pump.out"),
        ("built-in fitting", "tank.in"),
    ]
    for words in ("height 20.0 mm", "depth 12.0 mm", "diameter 22.0 mm"):
        assert words in found[0].message


def test_two_runs_on_one_port():
    two = run("block.in", "tank.in", name="two")
    doubt = only_doubt(("[[runs]]\nname", two + "[[runs]]\nname"))
    assert (doubt.kind, doubt.where) == ("shared port", "tank.in")
    assert "'two'" in doubt.message
    assert "'pump to tank'" in doubt.message


@pytest.mark.parametrize("miss", [0.5, 1.7, -4.9])
def test_ports_that_nearly_line_up(miss):
    # pump.out points along x at y = 50; tank.in along z at y = 230: only y matters
    doubt = only_doubt(
        ("position = [100, 200, 0]", f"position = [100, {20 + miss}, 0]")
    )
    assert (doubt.kind, doubt.where) == ("not in line", "run 'pump to tank'")
    assert f"in line by {abs(miss):.1f} mm along +y" in doubt.message


@pytest.mark.parametrize("miss", [0.0, 5.1, 30])
def test_ports_that_line_up_or_are_not_meant_to(miss):
    assert doubts(scene(("[100, 200, 0]", f"[100, {20 + miss}, 0]"))) == ()


@pytest.mark.parametrize(
    ("position", "told"),
    [
        ("[0, 32, 1.5]", ["2.0 mm along +y", "1.5 mm along +z"]),
        ("[0, 32, 60]", ["2.0 mm along +y"]),
        ("[0, 60, 60]", []),
        ("[0, 30, 0]", []),
    ],
)
def test_parallel_ports_have_two_ways_to_miss(position, told):
    # both ports point along +x: pump.out at y = 50, z = 20, block.in 20 mm beyond the
    # block's own position in y and z
    found = doubts(
        scene(
            ('to = "tank.in"', 'to = "block.in"'),
            ("position = [0, 100, 100]", f"position = {position}"),
        )
    )
    messages = [doubt.message for doubt in found if doubt.kind == "not in line"]
    assert [
        words in message for words, message in zip(told, messages, strict=True)
    ] == [True for _ in told]


def test_slanting_parallel_ports_miss_by_the_way_between_their_axes():
    disc = {"diameter": 40, "height": 20, "axis": [3, 4, 0]}
    slanting = "".join(
        [
            head(inner=[400, 400, 400], case=AXES, tube=PETG),
            part(
                "a",
                [100, 100, 100],
                cylinder(**disc, centre=[-6, -8, 0]),
                port("out", [0, 0, 0], [3, 4, 0]),
            ),
            part(
                "b",
                [220, 260, 101.2],
                cylinder(**disc, centre=[6, 8, 0]),
                port("in", [0, 0, 0], [-3, -4, 0]),
            ),
            run("a.out", "b.in", name="slope"),
        ]
    )
    (doubt,) = doubts(scene_from_text(slanting, file="a.toml"))
    assert doubt.kind == "not in line"
    assert "by 1.2 mm along +z" in doubt.message
    even = slanting.replace("101.2", "100")
    assert doubts(scene_from_text(even, file="a.toml")) == ()


@pytest.mark.parametrize(
    ("radius", "ratio"), [(20.9, "1.49"), (14, "1.00"), (8, "0.57")]
)
def test_tight_bends_carry_their_source(radius, ratio):
    # NAVEDTRA 14119 (Hull Maintenance Technician), p. 16-11: copper R >= 1.5 D
    doubt = only_doubt(
        ("inner_diameter = 10", f"inner_diameter = 10\nbend_radius = [28, {radius}]")
    )
    assert (doubt.kind, doubt.where) == ("tight bend", "tube.bend_radius")
    assert f"{ratio} outer diameters" in doubt.message
    assert "NAVEDTRA 14119" in doubt.message
    assert "21.0 mm" in doubt.message  # 1.5 x 14 mm


def test_tight_bends_of_one_run():
    doubt = only_doubt(('to = "tank.in"\n', 'to = "tank.in"\nbend_radius = 20\n'))
    assert (doubt.kind, doubt.where) == ("tight bend", "run 'pump to tank'")


def test_one_and_a_half_diameters_are_no_doubt():
    wide = ("inner_diameter = 10", "inner_diameter = 10\nbend_radius = 21")
    assert doubts(scene(wide)) == ()


def test_readings_that_differ():
    doubt = only_doubt(("[20, 20, 0]", "[[19, 21.5, 19.5], 20, 0]"))
    assert (doubt.kind, doubt.where) == (
        "readings differ",
        "components.pump.position[1]",
    )
    assert "3 readings differ by 2.5 mm" in doubt.message
    assert "20.0 mm, is used" in doubt.message
    assert doubts(scene(("[20, 20, 0]", "[[19, 21], 20, 0]"))) == ()


def test_lengths_are_told_in_the_scenes_unit():
    inches = head(
        first={"units": "in"},
        inner=[8, 12, 10],
        case=AXES,
        tube={
            "material": "copper",
            "outer_diameter": "5/8 in",
            "inner_diameter": 0.545,
            "bend_radius": "3/4 in",
        },
        fittings={},
    )
    # ASTM B88, 1/2 in nominal type L: outer 0.625 in, inner 0.545 in
    (doubt,) = doubts(scene_from_text(inches, file="a.toml"))
    assert doubt.kind == "tight bend"
    assert "bend radius of 0.75 in is 1.20 outer diameters" in doubt.message
    assert "0.94 in" in doubt.message  # 1.5 x 0.625 = 0.9375


def test_doubts_come_in_the_same_order_every_time():
    messy = scene(
        ("position = [0, 100, 100]", "position = [120, 163.5, 100]"),
        ("inner_diameter = 10", "inner_diameter = 10\nbend_radius = 10"),
    )
    assert doubts(messy) == doubts(messy)
    assert len(doubts(messy)) > 1


def test_a_doubt_reads_as_place_and_message():
    doubt = only_doubt(("[50, 30, 20]", "[38, 30, 20]"))
    assert str(doubt) == f"pump.out: {doubt.message}"


@pytest.mark.parametrize(
    ("outer", "inner", "radius", "says"),
    [
        (
            15,
            13.6,
            30,
            ("30.0 mm", "57.1 mm for tube of 15.9 mm", "Copper Tube Handbook"),
        ),
        (12, 10.4, 30, ("30.0 mm", "38.1 mm for tube of 12.7 mm")),
    ],
)
def test_copper_bent_tighter_than_benders_have_it(outer, inner, radius, says):
    """Copper Tube Handbook, table 4.1: 2 1/4 in for 5/8 in, 1 1/2 for 1/2, annealed."""
    stock = (
        f"outer_diameter = {outer}\ninner_diameter = {inner}\nbend_radius = {radius}\n"
    )
    text = SOUND.replace('"petg"', '"copper"').replace("outer_diameter = 14\n", "")
    text = text.replace("inner_diameter = 10\n", stock)
    (doubt,) = doubts(scene_from_text(text, file="siskin.toml"))
    assert (doubt.kind, doubt.where) == ("tight bend", "tube.bend_radius")
    assert all(words in doubt.message for words in says)
    roomy = text.replace(f"bend_radius = {radius}", "bend_radius = 57.15")
    kinds = [one.kind for one in doubts(scene_from_text(roomy, file="siskin.toml"))]
    assert "tight bend" not in kinds


def with_test_bends(*tables: str) -> tuple[Doubt, ...]:
    text = SOUND + "".join(f"[[test_bends]]\n{table}\n" for table in tables)
    return doubts(scene_from_text(text, file="siskin.toml"))


def test_test_bends_that_agree_are_no_doubt():
    assert with_test_bends("bent = 90\ngot = 86.5", "bent = 30\ngot = 28") == ()
    lengths = "blank = 200\nlegs = [105.5, 105]"
    assert with_test_bends(f"bent = 90\ngot = 86.5\n{lengths}") == ()


def test_test_bends_that_contradict_each_other():
    """4 and 10 degrees of the same bend; one degree is usual of a bend."""
    (doubt,) = with_test_bends(
        *("bent = 90\ngot = 86", "bent = 90\ngot = 86.5", "bent = 90\ngot = 78")
    )
    assert (doubt.kind, doubt.where) == ("test bends", "test_bends[3]")
    assert "12.0 degrees beyond what it got" in doubt.message
    assert "make a further test bend" in doubt.message


def test_a_single_test_bend_beyond_all_use():
    (doubt,) = with_test_bends("bent = 90\ngot = 65")
    assert "25.0 degrees beyond what it got" in doubt.message
    assert "common practice (no source) would let expect 0.0 degrees" in doubt.message


def test_a_test_bend_the_wrong_way_round():
    (doubt,) = with_test_bends("bent = 86.5\ngot = 90")
    assert (doubt.kind, doubt.where) == ("test bends", "test_bends[1]")
    assert "got = 90 degrees is more than it was held at, bent = 86.5" in doubt.message


def test_a_blank_that_does_not_go_with_its_legs():
    """A square bend of radius 28 takes 44 mm; by a blank of 230 mm it took 86.

    Legs of 100 less 28 each leave 144 mm of the blank.
    """
    (doubt,) = with_test_bends("bent = 93\ngot = 90\nblank = 230\nlegs = [100, 100]")
    assert doubt.where == "test_bends[1]"
    assert "took up 86.0 mm of tube" in doubt.message
    assert "let expect 44.0 mm" in doubt.message
    assert "former of 28.0 mm" in doubt.message
