"""The key `part` in a scene: what it brings, and what the scene's own tables replace."""

from __future__ import annotations

import numpy as np
import pytest

from loopsolver.geometry.solids import Box, Cylinder, bounds
from loopsolver.scene.doubts import doubts
from loopsolver.scene.port_spreads import port_spreads
from loopsolver.scene.reader import scene_from_text
from loopsolver.shelf.catalogue import KIND_NAMES, part_kind
from loopsolver.shelf.parts import PartOrder, part_of
from tests.builders.shelf_scenes import (
    corners,
    cubes_at,
    scene_with,
    text_with,
    the_part,
)
from tests.builders.texts import COLLAR, box, elbow, head, part, port, run, table

RADIATOR = {"name": "radiator", "fans": 2}


def ports_of(component):
    return {each.name.split(".")[1]: each for each in component.ports}


def test_a_part_brings_bodies_and_ports_to_where_it_stands():
    component = the_part(RADIATOR, position=[100, 200, 300])
    assert corners(component) == ([100, 200, 300], [220, 476, 330])
    ports = ports_of(component)
    # by hand: 38 mm apart about the middle of 120 mm, in the middle of a tank of 24 mm
    assert ports["in"].position == (141, 212, 300)
    assert ports["out"].position == (179, 212, 300)
    assert ports["in"].direction == (0, 0, -1)
    assert [each.fittings[0].name for each in component.ports] == ["collar", "collar"]


def test_a_part_turns_with_its_component():
    # a quarter turn about x: y of the part along the case's z, its -z along the case's y
    component = the_part(RADIATOR, position=[0, 400, 0], rotation=[90, 0, 0])
    assert corners(component) == ([0, 370, 0], [120, 400, 276])
    found = ports_of(component)["in"]
    assert found.position == pytest.approx((41, 400, 12), abs=1e-9)
    assert found.direction == pytest.approx((0, 1, 0), abs=1e-12)


def test_every_number_may_be_overruled_in_any_unit_and_by_readings():
    keys = {**RADIATOR, "thickness": "1.5 in", "tank": [20, 21, 22], "width": "12.5 cm"}
    scene = scene_with(keys)
    (component,) = scene.components
    assert corners(component) == ([0, 0, 0], [125, 21 + 240 + 12, 38.1])
    (readings,) = scene.readings
    assert readings.where == "components.it.part.tank"
    assert readings.values == (20, 21, 22)


def test_bare_numbers_are_in_the_unit_of_the_scene():
    text = head(
        inner=[30, 30, 30],
        first={"units": "in"},
        tube={
            "material": "acrylic",
            "outer_diameter": "14 mm",
            "inner_diameter": "10 mm",
        },
        fittings={},
    ) + part("it", [1, 1, 1], part={"name": "tank", "diameter": 2, "height": 6})
    (component,) = scene_from_text(text, file="inches.toml").components
    assert corners(component) == ([25.4, 25.4, 25.4], [76.2, 76.2, 177.8])
    (body,) = component.bodies
    assert isinstance(body.solid, Cylinder)


def test_readings_that_differ_in_a_part_are_doubted():
    found = doubts(scene_with({**RADIATOR, "tank": [20, 26]}))
    assert any(
        doubt.kind == "readings differ" and doubt.where == "components.it.part.tank"
        for doubt in found
    )


def test_bodies_of_its_own_replace_all_of_the_shelf():
    text = head(inner=[500, 500, 500]) + part(
        "it", [0, 0, 0], box([50, 60, 70], [25, 30, 35]), part={"name": "card"}
    )
    (component,) = scene_from_text(text, file="own.toml").components
    (body,) = component.bodies
    assert isinstance(body.solid, Box)
    assert body.solid.size == (50, 60, 70)


def test_a_port_of_its_own_replaces_that_of_the_same_name():
    own = port("in", [10, 0, 15], "-y", flow="in")
    text = head(inner=[500, 500, 500]) + part("it", [0, 0, 0], own, part=RADIATOR)
    (component,) = scene_from_text(text, file="own.toml").components
    ports = ports_of(component)
    assert list(ports) == ["in", "out"]
    assert ports["in"].position == (10, 0, 15)
    assert ports["in"].direction == (0, -1, 0)
    assert ports["in"].flow == "in"
    assert ports["out"].position == (79, 12, 0)


def test_a_port_of_another_name_is_one_more():
    own = port("drain", [60, 276, 15], "+y")
    text = head(inner=[500, 500, 500]) + part("it", [0, 0, 0], own, part=RADIATOR)
    (component,) = scene_from_text(text, file="own.toml").components
    assert list(ports_of(component)) == ["in", "out", "drain"]


def test_a_port_that_says_no_position_stays_where_the_shelf_has_it():
    text = head(
        inner=[500, 500, 500], fittings={"collar": COLLAR, "elbow": elbow()}
    ) + part(
        "it",
        [0, 0, 0],
        ("[components.{}.ports.in]", {"fitting": "elbow", "flow": "in"}),
        part=RADIATOR,
    )
    (component,) = scene_from_text(text, file="own.toml").components
    found = ports_of(component)["in"]
    assert found.position == (41, 12, 0)
    assert found.flow == "in"
    assert [each.name for each in found.fittings] == ["elbow"]


def test_runs_and_loops_use_ports_of_the_shelf():
    text = (
        head(inner=[500, 500, 500])
        + part("pump", [0, 0, 0], part={"name": "pump top"})
        + part("block", [200, 200, 200], part={"name": "block"})
        + run("pump.out", "block")
        + '[loop]\norder = ["pump", "block"]\n'
    )
    scene = scene_from_text(text, file="loop.toml")
    assert [(each.from_ports, each.to_ports) for each in scene.runs] == [
        (("pump.out",), ("block.in",)),
        (("block.out",), ("pump.in",)),
    ]


def test_ports_that_stand_on_rules_of_thumb_are_doubted_until_measured():
    def told(keys, **own):
        scene = scene_with(keys, position=[100, 100, 100], **own)
        return [each for each in doubts(scene) if each.kind == "not measured"]

    (doubt,) = told(RADIATOR)
    assert doubt.where == "it"
    assert "width, tank and spacing" in doubt.message
    (doubt,) = told({**RADIATOR, "tank": 24, "width": 120})
    assert "holds: spacing;" in doubt.message
    assert told({**RADIATOR, "tank": 24, "width": 120, "spacing": 38}) == []
    assert told({"name": "board", "size": "ATX"}) == []


def test_ports_with_positions_of_their_own_stand_on_nothing_of_the_shelf():
    own = [port("in", [10, 0, 15], "-y"), port("out", [50, 0, 15], "-y")]
    text = head(inner=[500, 500, 500]) + part(
        "it", [100, 100, 100], *own, part=RADIATOR
    )
    scene = scene_from_text(text, file="own.toml")
    assert [each for each in doubts(scene) if each.kind == "not measured"] == []


def test_a_scene_without_parts_is_read_as_before():
    text = text_with({"name": "tank"}).replace("part = ", "# part = ")
    (component,) = scene_from_text(text, file="none.toml").components
    assert component.bodies == ()
    assert component.ports == ()


def placed_at(text: str, name: str = "it") -> list[float]:
    scene = scene_from_text(text, file="placed.toml")
    (found,) = (each for each in scene.components if each.name == name)
    return corners(found)[0]


def test_a_card_stands_in_its_slot():
    """By hand: slot 1 of a microATX board, less the card's own key."""
    text = (
        head(inner=[500, 500, 500])
        + part("board", [8, 2, 100], part={"name": "board", "size": "microATX"})
        + table(
            "[components.it]",
            {
                "part": {"name": "card", "slots": 2},
                "place": {"point": "slot", "from": "board.slot_1", "offset": [0, 0, 0]},
            },
        )
    )
    # along z: 100 + 81.58 - (2 x 20.32 - 2 - 3); along y: 2 + 57.1 - 57.15
    assert placed_at(text) == pytest.approx([12.97, 1.95, 145.94], abs=1e-9)


def test_a_port_of_the_shelf_is_placed_from_a_hole_of_the_shelf():
    text = (
        head(inner=[500, 500, 500])
        + part("board", [8, 2, 100], part={"name": "board", "size": "ATX"})
        + table(
            "[components.it]",
            {
                "part": {"name": "block"},
                "place": {
                    "point": "in",
                    "from": "board.hole_h",
                    "offset": [32, 15, 100],
                },
            },
        )
    )
    # by hand: hole H at [9.57, 167.1, 240.97]; the port at [28, 40, 53] of the block
    assert placed_at(text) == pytest.approx([13.57, 142.1, 287.97], abs=1e-9)


def test_a_wall_is_counted_to_the_outermost_face_of_a_part():
    text = text_with({"name": "supply", "size": "ATX"}, position=[0, "35 from +y", 0])
    assert placed_at(text) == [0, 800 - 35 - 140, 0]


def test_a_point_of_its_own_replaces_that_of_the_same_name():
    own = table("[components.board.points]", {"hole_h": [0, 10, 20]})
    text = (
        head(inner=[500, 500, 500])
        + part("board", [0, 0, 0], part={"name": "board", "size": "ATX"})
        + own
        + table(
            "[components.it]",
            {
                "part": {"name": "fan"},
                "place": {
                    "point": "middle",
                    "from": "board.hole_h",
                    "offset": [100, 100, 100],
                },
            },
        )
    )
    assert placed_at(text) == [40, 50, 120]


def test_a_port_of_its_own_takes_the_name_of_a_point_of_the_shelf():
    own = port("slot", [120, 50, 10], "+x")
    text = head(inner=[500, 500, 500]) + part(
        "it", [0, 0, 0], own, part={"name": "card"}
    )
    (component,) = scene_from_text(text, file="own.toml").components
    assert ports_of(component)["slot"].position == (120, 50, 10)


# By hand, JCGM 100:2008 equation 10: the origin's own 0.5 mm, and what the sizes do to the
# port: half of width and spacing, each 5 mm off, and half a tank; along z the usual 0.5 mm.
def test_a_port_of_the_shelf_is_known_as_well_as_its_sizes():
    spread = port_spreads(scene_with(RADIATOR, position=[100, 200, 300]))
    assert spread is not None
    found = np.diag(spread.of("it.in").position)
    expected = [0.25 + 2 * 2.5**2, 0.25 + 2.5**2, 0.25 + 0.25]
    assert found == pytest.approx(expected, abs=1e-6)
    measured = {**RADIATOR, "width": 120, "spacing": 38, "tank": 24}
    spread = port_spreads(scene_with(measured, position=[100, 200, 300]))
    assert spread is not None
    found = np.diag(spread.of("it.in").position)
    assert found == pytest.approx([0.5, 0.5, 0.5], abs=1e-6)


def test_a_port_with_a_position_of_its_own_is_known_as_any_reading():
    own = port("in", [10, 0, 15], "-y")
    text = head(inner=[500, 500, 500]) + part("it", [0, 0, 0], own, part=RADIATOR)
    spread = port_spreads(scene_from_text(text, file="own.toml"))
    assert spread is not None
    found = np.diag(spread.of("it.in").position)
    assert found == pytest.approx([0.5, 0.5, 0.5], abs=1e-6)


# By hand: a board left to a reading of its hole stands where that puts it, and its zones
# with it. Hole C of a Mini-ITX board is 1.57, 10.16 and 6.35 mm from its corner.
def test_readings_to_a_hole_place_a_board_and_its_zones():
    readings = "".join(
        table(
            "[[readings]]",
            {"from": "datum", "to": "it.hole_c", "along": f"+{letter}", "value": value},
        )
        for letter, value in zip("xyz", (21.57, 110.16, 206.35), strict=True)
    )
    text = (
        head(inner=[500, 500, 500])
        + table(
            "[components.it]",
            {"part": {"name": "board", "size": "Mini-ITX", "zones": True}},
        )
        + readings
    )
    scene = scene_from_text(text, file="read.toml")
    (board,) = scene.components
    assert corners(board)[0] == pytest.approx([20, 100, 200], abs=1e-6)
    (zone,) = (each for each in scene.keep_outs if each.name == "it zone B")
    assert bounds(zone.solid)[0] == pytest.approx([21.57, 100, 200], abs=1e-6)


@pytest.mark.parametrize(
    ("name", "size"),
    [(name, size) for name in KIND_NAMES for size in part_kind(name).sizes],
)
def test_every_dimension_moves_something_in_a_scene(name, size):
    """All but the face that a port needs, which says only how near ports may be."""
    kind = part_kind(name)
    counts = {each.name: each.most for each in kind.counts.values()}
    usual = {"name": name, **({"size": size} if size else {}), **counts}
    if kind.sizes[size].has_zones:
        usual["zones"] = True

    def standing(keys):
        scene = scene_with(keys, position=(100, 100, 100), more=cubes_at(points))
        return [each.bodies + each.ports for each in scene.components], scene.keep_outs

    order = PartOrder(kind=kind, size=kind.sizes[size], counts=counts)
    points = list(part_of(order).layout.points)
    before = standing(usual)
    still = [
        dimension.name
        for dimension in kind.sizes[size].dimensions.values()
        if standing({**usual, dimension.name: dimension.value + 1.0}) == before
    ]
    assert still == (["flat"] if "flat" in kind.sizes[size].dimensions else [])
