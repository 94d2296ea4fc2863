"""Published sizes of boards, cards, fans, supplies and drives, read through whole scenes.

Sources, beside each table: the microATX Motherboard Interface Specification 1.2 (table 3
and figures 2, 4, 5), the Mini-ITX Addendum 1.1, SFF-8201 rev. 3.4 table 3-1, SFF-8301,
and open models of boards, cases and supplies that quote standards whose drawings were not
seen.
"""

from __future__ import annotations

import itertools
import math

import pytest

from loopsolver.geometry.solids import Box
from loopsolver.scene.model import Scene
from loopsolver.shelf.catalogue import KIND_NAMES, part_kind
from loopsolver.shelf.parts import PartOrder, part_of
from tests.builders.shelf_scenes import corners, cubes_at, scene_with, the_part

INCH = 25.4

# Two open board models that agree; inches from the corner at the sockets' end of the rear
# edge: along that edge, and into the board.
ATX_INCHES = {
    "a": (11.35, 0.40),
    "b": (8.25, 0.40),
    "c": (6.45, 0.40),
    "f": (0.25, 1.30),
    "g": (11.35, 6.50),
    "h": (6.45, 6.50),
    "j": (0.25, 6.50),
    "k": (11.35, 9.35),
    "l": (6.45, 9.35),
    "m": (0.25, 9.35),
    "r": (9.05, 6.50),
    "s": (8.25, 6.50),
}

# microATX specification 1.2, figure 2; Mini-ITX: an open case model.
LETTERS = {"ATX": "acfghjklm", "microATX": "bcfhjlmrs", "Mini-ITX": "cfhj"}

# microATX specification 1.2, table 3: 12 x 9.6 in (305 x 244 mm) and 9.6 x 9.6 in (244 x
# 244 mm); Mini-ITX Addendum 1.1: 170 x 170 mm. Along the rear edge, and into the board.
OUTLINES = {"ATX": (305, 244), "microATX": (244, 244), "Mini-ITX": (170, 170)}
REAR_EDGE_INCHES = {"ATX": 12.0, "microATX": 9.6}

# microATX specification 1.2: slots that there are at most.
SLOTS = {"ATX": 7, "microATX": 4, "Mini-ITX": 1}


def points(name: str, size: str = "", **counts: int) -> dict[str, tuple[float, ...]]:
    """Return the points of a part, by what a scene places at them.

    A cube stands at each: its least corner is the point.
    """
    kind = part_kind(name)
    order = PartOrder(kind=kind, size=kind.sizes[size], counts=counts)
    names = list(part_of(order).layout.points)
    keys = {"name": name, **({"size": size} if size else {}), **counts}
    scene = scene_with(keys, position=(100, 100, 100), more=cubes_at(names))
    placed = {each.name: corners(each)[0] for each in scene.components}
    return {
        point: tuple(round(along - 100, 9) for along in placed[f"at_{point}"])
        for point in names
    }


@pytest.mark.parametrize("size", OUTLINES)
def test_boards_have_their_published_outline(size):
    board = the_part({"name": "board", "size": size}, position=[8, 2, 125])
    along, deep = OUTLINES[size]
    # thickness: microATX specification 1.2, figure 4
    assert corners(board) == ([8, 2, 125], [9.57, 2 + deep, 125 + along])


@pytest.mark.parametrize("size", ["ATX", "microATX"])
def test_holes_are_where_their_letters_say(size):
    found = points("board", size)
    for letter in LETTERS[size]:
        along, deep = ATX_INCHES[letter]
        expected = (1.57, deep * INCH, (REAR_EDGE_INCHES[size] - along) * INCH)
        assert found[f"hole_{letter}"] == pytest.approx(expected, abs=1e-9), letter


# Two open case models that agree: from hole C to F, H and J, across and along [mm].
def test_mini_itx_holes():
    found = points("board", "Mini-ITX")
    _, deep, along = found["hole_c"]
    assert (along, deep) == (6.35, 10.16)
    from_c = {
        letter: (found[f"hole_{letter}"][1] - deep, found[f"hole_{letter}"][2] - along)
        for letter in "fhj"
    }
    assert from_c["f"] == pytest.approx((22.86, 157.48), abs=1e-9)
    assert from_c["h"] == pytest.approx((154.94, 0), abs=1e-9)
    assert from_c["j"] == pytest.approx((154.94, 157.48), abs=1e-9)


@pytest.mark.parametrize("size", LETTERS)
def test_each_board_has_the_holes_of_its_letters_and_its_slots(size):
    found = points("board", size)
    holes = "".join(sorted(name[-1] for name in found if name.startswith("hole_")))
    assert holes == LETTERS[size]
    assert sum(name.startswith("slot_") for name in found) == SLOTS[size]


# Reckoned from the ATX table: C to F across 163.83 - 6.35, C to H into the board 165.10 -
# 10.16. A board of any size fits the same holes.
@pytest.mark.parametrize("size", LETTERS)
def test_all_boards_agree_on_the_differences(size):
    found = points("board", size)
    _, c_deep, c_along = found["hole_c"]
    assert found["hole_f"][2] - c_along == pytest.approx(157.48, abs=1e-9)
    assert found["hole_h"][1] - c_deep == pytest.approx(154.94, abs=1e-9)
    assert found["hole_f"][1] - c_deep == pytest.approx(0.9 * INCH, abs=1e-9)


# The same table's own checks: K to F 348.279 mm, A to C 4.9 in.
def test_the_long_differences_of_an_atx_board():
    found = points("board", "ATX")
    assert math.dist(found["hole_k"], found["hole_f"]) == pytest.approx(
        348.279, abs=5e-4
    )
    apart = math.dist(found["hole_a"], found["hole_c"])
    assert apart == pytest.approx(4.9 * INCH, abs=1e-9)


# Two open case models that agree, one in mm, one in inches (1.862, 0.8 and 0.483): from
# hole B 47.29 mm towards the sockets to the first slot's key, 20.32 mm from slot to slot,
# all 46.94 mm further into the board. Hole B is 1.8 in from C, towards the slots.
@pytest.mark.parametrize("size", ["ATX", "microATX"])
def test_slots_count_from_hole_b(size):
    found = points("board", size)
    _, b_deep, b_along = found["hole_c"][0], found["hole_c"][1], found["hole_c"][2]
    b_along -= 1.8 * INCH
    for place in range(SLOTS[size]):
        x, deep, along = found[f"slot_{place + 1}"]
        assert along == pytest.approx(b_along + 47.29 - place * 20.32, abs=1e-9)
        assert deep == pytest.approx(b_deep + 46.94, abs=1e-9)
        assert x == pytest.approx(1.57 + 114.55 - 111.15, abs=1e-9)


# An open case model: the first slot 47.29 - 45.72 mm from hole C.
def test_the_slot_of_a_mini_itx_board():
    found = points("board", "Mini-ITX")
    assert found["slot_1"][2] - found["hole_c"][2] == pytest.approx(1.57, abs=1e-9)


# microATX specification 1.2, figure 4: 6.25 x 1.75 in, its lower edge 0.150 in from the
# top of a board 0.062 in thick; two open case models place it 2.096 in from hole B.
@pytest.mark.parametrize("size", OUTLINES)
def test_the_rear_opening_has_its_published_size(size):
    found = points("board", size)
    low, high = found["opening_low"], found["opening_high"]
    assert high[2] - low[2] == pytest.approx(6.25 * INCH, abs=1e-9)
    assert high[0] - low[0] == pytest.approx(1.75 * INCH, abs=1e-9)
    assert low[0] == pytest.approx((0.062 - 0.150) * INCH, abs=0.01)
    from_b = low[2] - (found["hole_c"][2] - 1.8 * INCH)
    assert from_b == pytest.approx(2.096 * INCH, abs=0.01)
    assert low[1] == pytest.approx((0.4 - 0.483) * INCH, abs=0.01)


def zones(scene: Scene) -> dict[str, tuple[list[float], list[float]]]:
    found = {}
    for body in scene.keep_outs:
        assert isinstance(body.solid, Box)
        size, middle = body.solid.size, body.solid.frame.origin
        least = [round(m - s / 2, 9) for m, s in zip(middle, size, strict=True)]
        found[body.name] = (least, [round(each, 9) for each in size])
    return found


# Mini-ITX Addendum 1.1, figure 4, as two open models have it: heights A 57, B 16, C 38, D
# 39; strip B 15 along the edge beside the slots, C 30 deep at the front, D 27 at the rear;
# free below the board 0.25 in (one model).
def test_height_zones_of_a_mini_itx_board():
    scene = scene_with(
        {"name": "board", "size": "Mini-ITX", "zones": True}, position=[10, 0, 0]
    )
    top = 11.57
    assert zones(scene) == {
        "it zone A": ([top, 27, 15], [57, 113, 155]),
        "it zone B": ([top, 0, 0], [16, 170, 15]),
        "it zone C": ([top, 140, 15], [38, 30, 155]),
        "it zone D": ([top, 0, 15], [39, 27, 155]),
        "it zone under": ([3.65, 0, 0], [6.35, 170, 170]),
    }


def test_zones_are_there_on_request_alone_and_turn_with_the_board():
    assert zones(scene_with({"name": "board", "size": "Mini-ITX"})) == {}
    # Lying, components up: x up, z away from the slots along -x of the case.
    lying = scene_with(
        {"name": "board", "size": "Mini-ITX", "zones": True},
        position=[300, 0, 10],
        rotation=[0, -90, 0],
    )
    (found,) = (body for body in lying.keep_outs if body.name == "it zone A")
    assert isinstance(found.solid, Box)
    middle = [300 - 92.5, 83.5, 10 + 1.57 + 28.5]  # 15 + 155 / 2; 27 + 113 / 2
    assert found.solid.frame.origin == pytest.approx(middle, abs=1e-9)


# Web tables that quote the card specification: 4.376 in high with its edge, at most 12.283
# in long, half length 6.6 in; low profile 2.731 in (in their rounded millimetres).
@pytest.mark.parametrize(
    ("size", "height", "length"),
    [("full", 111.15, 312), ("half", 111.15, 167.65), ("low profile", 68.9, 167.65)],
)
@pytest.mark.parametrize("slots", [1, 2, 3])
def test_cards_by_slots(size, height, length, slots):
    card = the_part({"name": "card", "size": size, "slots": slots, "gap": 0})
    assert corners(card) == ([0, 0, 0], [height, length, round(slots * 20.32, 9)])


# An open case model: the bracket's end of a card is 57.15 mm behind its key, which is 57.1
# mm from the board's rear edge: so a card whose point "slot" is at the board's starts 0.05
# mm behind that edge; its lower edge is 3.4 mm above the board.
def test_a_card_in_a_slot_starts_at_the_rear_edge():
    slot = points("board", "ATX")["slot_1"]
    own = points("card", "full", slots=2)["slot"]
    x, y, _ = (at - mine for at, mine in zip(slot, own, strict=True))
    assert (x, y) == pytest.approx((4.97, -0.05), abs=1e-9)


# Two tables of open part libraries: frame and hole pitch.
FANS = {40: 32, 50: 40, 60: 50, 70: 60, 80: 71.5, 92: 82.5, 120: 105, 140: 124.5}
LARGE_FANS = {180: 165, 200: 154, 220: 170}


@pytest.mark.parametrize(("frame", "pitch"), {**FANS, **LARGE_FANS}.items())
def test_fans(frame, pitch):
    fan = the_part({"name": "fan", "size": frame})
    assert corners(fan) == ([0, 0, 0], [frame, frame, 25])
    found = points("fan", str(frame))
    edge = (frame - pitch) / 2
    holes = {found[f"hole_{number}"][:2] for number in range(1, 5)}
    assert holes == {(a, b) for a in (edge, frame - edge) for b in (edge, frame - edge)}


# A radiator for n fans has n times a fan's holes, each fan's its own pitch apart, and
# fans touch: from the last hole of one to the first of the next is frame less pitch.
@pytest.mark.parametrize("fans", [1, 2, 3, 4])
def test_radiators_fit_their_fans(fans):
    keys = {"name": "radiator", "size": 120, "fans": fans, "tank": 20, "far_tank": 15}
    radiator = the_part(keys)
    assert corners(radiator) == ([0, 0, 0], [120, fans * 120 + 35, 30])
    found = points("radiator", "120", fans=fans)
    rows = sorted({at[1] for name, at in found.items() if name.startswith("hole_")})
    gaps = [round(b - a, 9) for a, b in itertools.pairwise(rows)]
    assert gaps == ([105, 15] * fans)[:-1]
    assert sum(name.startswith("hole_") for name in found) == 4 * fans


# A web list of supplies and a table of the SFX variants: width, height, depth.
@pytest.mark.parametrize(
    ("size", "width", "height", "depth"),
    [
        ("ATX", 150, 86, 140),
        ("ATX short", 150, 86, 100),
        ("SFX", 125, 63.5, 100),
        ("SFX low", 125, 51.5, 100),
        ("SFX-L", 125, 63.5, 130),
        ("TFX", 85, 65, 175),
        ("Flex", 81.5, 40.5, 150),
    ],
)
def test_supplies(size, width, height, depth):
    supply = the_part({"name": "supply", "size": size})
    assert corners(supply) == ([0, 0, 0], [width, depth, height])


# An open model: SFX screws 113.0 apart across, 6.0 from the edge, at heights 6.0, 31.7 and
# 57.5; two others: ATX screws 138 across and 64 up, the fourth 24 from the corner of a
# rectangle and 10 below it.
def test_screws_of_supplies():
    sfx = points("supply", "SFX")
    assert {(at[0], at[2]) for at in sfx.values()} == {
        (x, z) for x in (6, 119) for z in (6, 31.7, 57.5)
    }
    atx = [points("supply", "ATX")[f"screw_{number}"] for number in range(1, 5)]
    assert atx[2][0] - atx[1][0] == 138
    assert atx[1][2] - atx[0][2] == 64
    assert (atx[2][0] - atx[3][0], atx[0][2] - atx[3][2]) == (24, 10)


# SFF-8201 and SFF-8301: sizes; the half-height bay: web tables.
@pytest.mark.parametrize(
    ("size", "width", "length", "height"),
    [
        ("2.5", 69.85, 100.2, 9.5),
        ("3.5", 101.6, 146.05, 25.4),
        ("5.25", 146.1, 203, 41.4),
    ],
)
def test_drives(size, width, length, height):
    for asked in (size, float(size)):
        drive = the_part({"name": "drive", "size": asked})
        assert corners(drive) == ([0, 0, 0], [width, length, height])


# SFF-8201 rev. 3.4 table 3-1: bottom holes 61.72 apart, A28 = 4.07 from the side, 14.00
# and 90.60 from the connectors; side holes as far, 3.00 up. 61.92, as one model has it,
# would put them 3.965 from the side.
def test_holes_of_a_small_drive():
    found = points("drive", "2.5")
    bottom = sorted(at[:2] for name, at in found.items() if name.startswith("bottom_"))
    assert bottom[2][0] - bottom[0][0] == pytest.approx(61.72, abs=1e-9)
    assert bottom[0][0] == pytest.approx(4.07, abs=0.0051)
    assert 69.85 - bottom[2][0] == pytest.approx(bottom[0][0], abs=1e-9)
    assert {at[1] for at in found.values()} == {14.0, 90.6}
    side = {(at[0], at[2]) for name, at in found.items() if name.startswith("side_")}
    assert side == {(0, 3), (69.85, 3)}


# A drive maker's manual, quoted by an open model: 6.35 up, 28.5 from the connectors, then
# 41.6 and 101.6 further.
def test_holes_of_a_large_drive():
    found = points("drive", "3.5")
    assert {at[2] for at in found.values()} == {6.35}
    assert sorted({at[1] for at in found.values()}) == pytest.approx(
        [28.5, 28.5 + 41.6, 28.5 + 101.6], abs=1e-9
    )


# DIN 3852-2: a spot face of 19 mm round a G 1/4 port.
@pytest.mark.parametrize("name", [name for name in KIND_NAMES if name != "card"])
def test_ports_of_the_shelf_leave_room_for_their_spot_faces(name):
    kind = part_kind(name)
    for size in kind.sizes.values():
        counts = {each.name: each.most for each in kind.counts.values()}
        ports = part_of(PartOrder(kind=kind, size=size, counts=counts)).layout.ports
        places = [port.position for port in ports.values()]
        for place, first in enumerate(places):
            for second in places[place + 1 :]:
                assert math.dist(first, second) >= 19.0
