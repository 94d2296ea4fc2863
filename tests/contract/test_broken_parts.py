"""Broken uses of the key `part`: what was found, what is wanted, and nothing beside it."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from loopsolver.cli.main import main
from loopsolver.errors import SceneError
from loopsolver.scene.reader import scene_from_text
from tests.builders import texts

SOUND = (
    texts.head(inner=[300, 500, 500])
    + """\
[components.board]
position = [8, 2, 150]
part = { name = "board", size = "ATX" }
[components.front]
position = [20, 400, 20]
part = { name = "radiator", size = 120, fans = 2, thickness = 30 }
[components.card]
position = [15, 2, 240]
part = { name = "card", slots = 2, length = [260, 260.5] }
[components.pump]
position = [150, 300, 0]
part = { name = "pump top", height = "7 cm" }
[components.plate]
position = [100, 200, 300]
part = { name = "port plate", ports = 3 }
[[runs]]
name = "pump to front"
from = "pump.out"
to = "front.in"
"""
)

BOARD = 'part = { name = "board", size = "ATX" }'
FRONT = 'part = { name = "radiator", size = 120, fans = 2, thickness = 30 }'
CARD = 'part = { name = "card", slots = 2, length = [260, 260.5] }'
PUMP = 'part = { name = "pump top", height = "7 cm" }'
PLATE = 'part = { name = "port plate", ports = 3 }'


@dataclass(frozen=True)
class Slip:
    """What stands there instead; the key that must be named; words of the message."""

    old: str
    new: str
    key: str
    says: tuple[str, ...]
    nearest: str | None = None


SLIPS = {
    "a bare name": Slip(
        BOARD,
        'part = "board"',
        "components.board.part",
        ('"board"', "a table part = {"),
    ),
    "a list": Slip(
        BOARD, "part = [1, 2]", "components.board.part", ("[1, 2]", "a table")
    ),
    "no name": Slip(
        BOARD,
        'part = { size = "ATX" }',
        "components.board.part.name",
        ("nothing", '"board"', '"port plate"'),
    ),
    "an empty table": Slip(
        BOARD, "part = {}", "components.board.part.name", ("nothing",)
    ),
    "a misspelt name": Slip(
        BOARD,
        'part = { name = "boardd", size = "ATX" }',
        "components.board.part.name",
        ('"boardd"', "on the shelf"),
        "board",
    ),
    "a name in capitals": Slip(
        FRONT,
        'part = { name = "Radiator", fans = 2 }',
        "components.front.part.name",
        ('"Radiator"',),
        "radiator",
    ),
    "a name that is a number": Slip(
        BOARD, "part = { name = 3 }", "components.board.part.name", ("3",)
    ),
    "a part that is not there": Slip(
        PLATE,
        'part = { name = "gyroscope" }',
        "components.plate.part.name",
        ('"gyroscope"',),
    ),
    "no size": Slip(
        BOARD,
        'part = { name = "board" }',
        "components.board.part.size",
        ("nothing", '"ATX" or "microATX" or "Mini-ITX"'),
    ),
    "a misspelt size": Slip(
        BOARD,
        'part = { name = "board", size = "mini itx" }',
        "components.board.part.size",
        ('"mini itx"',),
        "Mini-ITX",
    ),
    "a size between two": Slip(
        FRONT,
        'part = { name = "radiator", size = 130, fans = 2 }',
        "components.front.part.size",
        ("130", '"120" or "140"'),
        "120",
    ),
    "a size that is a list": Slip(
        FRONT,
        'part = { name = "radiator", size = [120], fans = 2 }',
        "components.front.part.size",
        ("[120]",),
    ),
    "a size of what has none": Slip(
        PUMP,
        'part = { name = "pump top", size = "large" }',
        "components.pump.part.size",
        ("a key that", "does not know", "one of name, width, depth, height, outlet"),
    ),
    "no fans": Slip(
        FRONT,
        'part = { name = "radiator", size = 120 }',
        "components.front.part.fans",
        ("nothing", "a whole number from 1 to 4"),
    ),
    "half a fan": Slip(
        FRONT,
        'part = { name = "radiator", size = 120, fans = 2.5 }',
        "components.front.part.fans",
        ("2.5", "whole number"),
    ),
    "no slot at all": Slip(
        CARD,
        'part = { name = "card", slots = 0 }',
        "components.card.part.slots",
        ("0", "from 1 to 4"),
    ),
    "fans of a card": Slip(
        CARD,
        'part = { name = "card", fans = 2 }',
        "components.card.part.fans",
        ('a key that part = { name = "card", size = "full" } does not know', "slots"),
    ),
    "a misspelt dimension": Slip(
        FRONT,
        'part = { name = "radiator", size = 120, fans = 2, tthickness = 30 }',
        "components.front.part.tthickness",
        ("does not know", "far_tank"),
        "thickness",
    ),
    "a dimension of another size": Slip(
        BOARD,
        'part = { name = "board", size = "ATX", zone_a = 60 }',
        "components.board.part.zone_a",
        ("a dimension that ATX has not", "card_edge"),
    ),
    "zones where no source has them": Slip(
        BOARD,
        'part = { name = "board", size = "ATX", zones = true }',
        "components.board.part.zones",
        ("not seen in any source for ATX", "only for Mini-ITX", "[[keep_outs]]"),
    ),
    "zones that are a word": Slip(
        BOARD,
        'part = { name = "board", size = "Mini-ITX", zones = "yes" }',
        "components.board.part.zones",
        ('"yes"', "true or false"),
    ),
    "zones of a radiator": Slip(
        FRONT,
        'part = { name = "radiator", fans = 2, zones = true }',
        "components.front.part.zones",
        ("does not know",),
    ),
    "a negative dimension": Slip(
        FRONT,
        'part = { name = "radiator", fans = 2, tank = -1 }',
        "components.front.part.tank",
        ("-1 mm", "from 0 mm"),
    ),
    "a dimension of a kilometre": Slip(
        FRONT,
        'part = { name = "radiator", fans = 2, tank = 1000000 }',
        "components.front.part.tank",
        ("1000000 mm", "to 5000 mm"),
    ),
    "a dimension that is a word": Slip(
        PUMP,
        'part = { name = "pump top", height = "tall" }',
        "components.pump.part.height",
        ('"tall"', "a length"),
    ),
    "a dimension in a unit that is none": Slip(
        PUMP,
        'part = { name = "pump top", height = "7 ells" }',
        "components.pump.part.height",
        ("ells",),
    ),
    "no reading in a list": Slip(
        CARD,
        'part = { name = "card", length = [] }',
        "components.card.part.length",
        ("an empty list",),
    ),
    "one wrong reading": Slip(
        CARD,
        'part = { name = "card", length = [260, "x"] }',
        "components.card.part.length[2]",
        ('"x"',),
    ),
    "a part without thickness": Slip(
        FRONT,
        'part = { name = "radiator", fans = 2, thickness = 0 }',
        "components.front.part",
        ("x 0 mm", "more than 0 mm"),
    ),
    "a gap wider than the slots": Slip(
        CARD,
        'part = { name = "card", slots = 1, gap = 25 }',
        "components.card.part",
        ("-4.68 mm", "more than 0 mm"),
    ),
    "holes outside the fan": Slip(
        FRONT,
        'part = { name = "fan", size = 120, pitch = 125 }',
        "components.front.part.pitch",
        ("pitch 125 mm and frame 120 mm", "pitch at most frame"),
    ),
    "ports whose faces cut each other": Slip(
        PLATE,
        'part = { name = "port plate", spacing = 18 }',
        "components.plate.part.spacing",
        ("spacing 18 mm and flat 19 mm", "spacing at least flat"),
    ),
    "ports of a radiator that cut each other": Slip(
        FRONT,
        'part = { name = "radiator", fans = 2, spacing = "18 mm" }',
        "components.front.part.spacing",
        ("spacing 18 mm and flat 19 mm", "spacing at least flat"),
    ),
    "fan holes wider than the radiator's fans": Slip(
        FRONT,
        'part = { name = "radiator", fans = 2, frame = 100 }',
        "components.front.part.frame",
        ("pitch 105 mm and frame 100 mm", "pitch at most frame"),
    ),
    "ports beside the block": Slip(
        PLATE,
        'part = { name = "block", length = 25 }',
        "components.plate.part.length",
        ("spacing 26 mm and length 25 mm", "spacing at most length"),
    ),
    "ports of a block that cut each other": Slip(
        PLATE,
        'part = { name = "block", spacing = 12 }',
        "components.plate.part.spacing",
        ("spacing 12 mm and flat 19 mm", "spacing at least flat"),
    ),
    "a plate narrower than its ports": Slip(
        PLATE,
        'part = { name = "port plate", width = 15 }',
        "components.plate.part.width",
        ("width 15 mm and flat 19 mm", "width at least flat"),
    ),
    "an outlet below the pump": Slip(
        PUMP,
        'part = { name = "pump top", outlet = 75 }',
        "components.pump.part.outlet",
        ("outlet 75 mm and height 70 mm", "outlet at most height"),
    ),
    "a card lower than what is in its slot": Slip(
        CARD,
        'part = { name = "card", height = 10 }',
        "components.card.part.height",
        ("edge 12.75 mm and height 10 mm", "edge at most height"),
    ),
    "a port that the part has not": Slip(
        'to = "front.in"',
        'to = "front.inn"',
        "runs[1].to",
        ('"front.inn"', "front.out"),
        "front.in",
    ),
    "a point that the part has not": Slip(
        "position = [20, 400, 20]",
        'place = { point = "middle", from = "board.hole_b", offset = [0, 0, 0] }',
        "components.front.place.from",
        ('"board.hole_b"', "board.hole_a"),
    ),
    "a hole of a third fan where there are two": Slip(
        "position = [20, 400, 20]",
        'place = { point = "hole_9", from = "board.slot_1", offset = [0, 0, 0] }',
        "components.front.place.point",
        ('"hole_9"', "hole_8"),
    ),
    "a port number beyond the last": Slip(
        'to = "front.in"', 'to = "plate.port_4"', "runs[1].to", ('"plate.port_4"',)
    ),
}


def test_the_sound_scene_is_sound():
    scene = scene_from_text(SOUND, file="sound.toml")
    assert [part.name for part in scene.components] == [
        "board",
        "front",
        "card",
        "pump",
        "plate",
    ]


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_told_alone_with_its_key_and_line(name):
    slip = SLIPS[name]
    assert SOUND.count(slip.old) == 1
    text = SOUND.replace(slip.old, slip.new)
    if name == "holes outside the fan":  # a fan has no ports for the run to end at
        text = text.replace('to = "front.in"', 'to = "plate.port_1"')
    with pytest.raises(SceneError) as caught:
        scene_from_text(text, file="broken.toml")
    (fault,) = caught.value.faults
    assert fault.key_path == slip.key
    assert fault.line == 1 + text.split("\n").index(slip.new)
    told = f"{fault.found}; wanted {fault.wanted}"
    assert all(words in told for words in slip.says), told
    if slip.nearest is not None:
        assert fault.nearest == slip.nearest


def test_all_that_is_wrong_in_a_part_is_told_at_once():
    broken = (
        'part = { name = "radiator", size = 130, fans = 9, tthickness = 30, tank = -1 }'
    )
    with pytest.raises(SceneError) as caught:
        scene_from_text(SOUND.replace(FRONT, broken), file="broken.toml")
    keys = [
        fault.key_path.removeprefix("components.front.part.")
        for fault in caught.value.faults
    ]
    assert sorted(keys) == ["fans", "size", "tank", "tthickness"]


def test_the_command_refuses_a_broken_part(tmp_path, capsys):
    path = tmp_path / "broken.toml"
    path.write_text(SOUND.replace('size = "ATX"', 'size = "ATZ"'), encoding="utf-8")
    assert main(["check", str(path)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "components.board.part.size" in said.err
    assert "nearest: 'ATX'" in said.err
