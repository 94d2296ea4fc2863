"""Broken scenes of the keys for what was measured: places, points, walls, names.

As `test_broken_scenes`: one thing is changed in a sound scene, and the message names it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.contract.broken import SOUND, Broken, assert_refused_whole, assert_told

PUMP = "position = [20, 20, 0]"
TANK = "position = [100, 200, 0]"
BOX = "centre = [30, -25, 20]"
ROUND = "centre = [30, 30, 75]"
INNER = "inner = [200, 300, 250]\n"


def placed(
    *says: str, point: str = "origin", start: str = "tank.in", key: str = ""
) -> Broken:
    """Return the pump placed by one of its points from a point."""
    place = f'place = {{ point = "{point}", from = "{start}", offset = [0, 5, 0] }}'
    return Broken(PUMP, place, f"components.pump.place.{key}", "place = ", says)


def circle(*says: str, tank_from: str, pump_from: str = "tank.in") -> Broken:
    """Return the tank placed too, from the pump or itself."""
    changed = SOUND.replace(
        PUMP,
        f'place = {{ point = "origin", from = "{pump_from}", offset = [0, 0, 0] }}',
    ).replace(
        TANK, f'place = {{ point = "in", from = "{tank_from}", offset = [0, 0, 0] }}'
    )
    return Broken(
        SOUND, changed, "components.pump.place.from", 'tank.in", offset', says
    )


def counted(old: str, new: str, place: int, *says: str) -> Broken:
    """Return a component with one coordinate counted from a wall."""
    part = "pump" if old == PUMP else "tank" if old == TANK else "fan"
    return Broken(old, new, f"components.{part}.position[{place}]", new, says)


BODIES = {
    "corner of a cylinder": Broken(
        ROUND,
        "corner = [30, 30, 75]",
        "components.tank.bodies[1].corner",
        "corner",
        ("a corner of a cylinder", "base or centre"),
    ),
    "base of a box": Broken(
        BOX,
        "base = [30, -25, 20]",
        "components.pump.bodies[1].base",
        "base",
        ("a base of a box", "corner or centre"),
    ),
    "corner and centre": Broken(
        BOX,
        f"{BOX}\ncorner = [0, 0, 0]",
        "components.pump.bodies[1].centre",
        "centre = [30, -25, 20]",
        ("corner, centre", "one of them"),
    ),
    "base and centre": Broken(
        ROUND,
        f"{ROUND}\nbase = [0, 0, 0]",
        "components.tank.bodies[1].centre",
        "centre = [30, 30, 75]",
        ("base, centre", "one of them"),
    ),
    "corner of two lengths": Broken(
        BOX,
        "corner = [0, 0]",
        "components.pump.bodies[1].corner",
        "corner",
        ("[0, 0]", "three lengths"),
    ),
    "base of a word": Broken(
        ROUND,
        'base = [0, 0, "floor"]',
        "components.tank.bodies[1].base[3]",
        "floor",
        ("a length",),
    ),
    "corner of a keep-out at a word": Broken(
        "centre = [190, 150, 125]",
        'corner = [180, "wall", 0]',
        "keep_outs[1].corner[2]",
        "corner",
        ("a length",),
    ),
    "base of a keep-out's box": Broken(
        "centre = [190, 150, 125]",
        "base = [180, 0, 0]",
        "keep_outs[1].base",
        "base",
        ("a base of a box", "corner"),
    ),
    "corner counted from a wall": Broken(
        BOX,
        'corner = ["8 from -x", 0, 0]',
        "components.pump.bodies[1].corner[1]",
        "corner",
        ("8 from -x", "a length"),
    ),
}

WALLS = {
    "wall of another axis": counted(
        PUMP, 'position = [20, "35 from +x", 0]', 2, "y counted from the wall +x", "+y"
    ),
    "wall that is none": counted(
        PUMP, 'position = ["8 from left", 20, 0]', 1, '"8 from left"', '"-x"'
    ),
    "wall in capitals": counted(
        PUMP, 'position = ["8 from -X", 20, 0]', 1, "'-x'", "after from"
    ),
    "from no wall": counted(
        PUMP, 'position = ["8 from", 20, 0]', 1, '"8 from"', "a case wall after from"
    ),
    "nothing from a wall": counted(
        PUMP, 'position = ["from -x", 20, 0]', 1, "an empty text", "a length"
    ),
    "a word from a wall": counted(
        PUMP, 'position = ["far from -x", 20, 0]', 1, '"far"', "a length"
    ),
    "unit that is none, from a wall": counted(
        PUMP, 'position = ["8 mmm from -x", 20, 0]', 1, "'mmm' is not known"
    ),
    "too far from a wall": counted(
        PUMP, 'position = ["90000 from -x", 20, 0]', 1, "90000", "-10000 mm to 10000 mm"
    ),
    "readings from two walls": Broken(
        PUMP,
        'position = [["8 from -x", "9 from +x"], 20, 0]',
        "components.pump.position[1]",
        "9 from +x",
        ("all counted from the same wall",),
    ),
    "readings from a wall and from the datum": Broken(
        PUMP,
        'position = [["8 from -x", 9], 20, 0]',
        "components.pump.position[1]",
        "8 from -x",
        ("all counted from the same wall",),
    ),
    "one reading from a wall wrong": Broken(
        PUMP,
        'position = [["8 from -x", "x from -x"], 20, 0]',
        "components.pump.position[1][2]",
        "8 from -x",
        ('"x"', "a length"),
    ),
    "no bodies to count to": Broken(
        "[[components.fan.bodies]]\nbox = [120, 25, 120]\ncentre = [60, 12.5, 60]\n"
        "[[keep_outs]]",
        '[components.post]\nposition = [5, "9 from +y", 0]\n[[keep_outs]]',
        "components.post.position[2]",
        "9 from +y",
        ("a component without bodies", "a plain length"),
    ),
    "walls that are not there": Broken(
        SOUND,
        SOUND.replace(INNER, "").replace(PUMP, 'position = ["8 from -x", 20, 0]'),
        "components.pump.position[1]",
        "8 from -x",
        ("inner = [x, y, z] in [case]", "a plain length"),
    ),
    "size counted from a wall": Broken(
        "box = [60, 50, 40]",
        'box = ["8 from -x", 50, 40]',
        "components.pump.bodies[1].box[1]",
        "8 from -x",
        ("a length",),
    ),
    "port counted from a wall": Broken(
        "position = [60, -25, 20]",
        'position = ["8 from -x", -25, 20]',
        "components.pump.ports.out.position[1]",
        "8 from -x",
        ("a length",),
    ),
}

PLACES = {
    "position and place": Broken(
        PUMP,
        f'{PUMP}\nplace = {{ point = "out", from = "datum", offset = [0, 0, 0] }}',
        "components.pump.place",
        "place = ",
        ("place beside position", "one of them"),
    ),
    "place of a word": Broken(
        PUMP,
        'place = "tank.in"',
        "components.pump.place",
        "place = ",
        ('"tank.in"', "a table place = { point"),
    ),
    "place without a point": Broken(
        PUMP,
        'place = { from = "tank.in", offset = [0, 5, 0] }',
        "components.pump.place.point",
        "place = ",
        ("nothing", "a point of the component itself"),
    ),
    "place from nowhere": Broken(
        PUMP,
        'place = { point = "out", offset = [0, 5, 0] }',
        "components.pump.place.from",
        "place = ",
        ("nothing", "the point that it is placed from"),
    ),
    "place without an offset": Broken(
        PUMP,
        'place = { point = "out", from = "tank.in" }',
        "components.pump.place.offset",
        "place = ",
        ("nothing", "three lengths along the case's x, y and z"),
    ),
    "offset of two": Broken(
        PUMP,
        'place = { point = "out", from = "tank.in", offset = [1, 2] }',
        "components.pump.place.offset",
        "place = ",
        ("[1, 2]", "three lengths"),
    ),
    "offset of a word": Broken(
        PUMP,
        'place = { point = "out", from = "tank.in", offset = [1, "two", 3] }',
        "components.pump.place.offset[2]",
        "place = ",
        ('"two"', "a length"),
    ),
    "offset from a wall": Broken(
        PUMP,
        'place = { point = "out", from = "tank.in", offset = [1, "2 from +y", 3] }',
        "components.pump.place.offset[2]",
        "place = ",
        ('"2 from +y"', "a length"),
    ),
    "misspelt key of a place": Broken(
        PUMP,
        'place = { point = "out", from = "tank.in", offset = [1, 2, 3], form = "x" }',
        "components.pump.place.form",
        "place = ",
        ("'from'",),
    ),
    "point that it has not": placed(
        '"outt"', "'out'", "origin, out", point="outt", key="point"
    ),
    "own point with its component": placed(
        '"pump.out"', "origin, out", point="pump.out", key="point"
    ),
    "own point of another": placed('"in"', "origin, out", point="in", key="point"),
    "own face as a point": placed('"+x"', "+x-y+z", point="+x", key="point"),
    "half a corner": placed('"+x-y"', "+x-y+z", point="+x-y", key="point"),
    "from a component that is none": placed(
        '"tnk.in"', "'tank.in'", start="tnk.in", key="from"
    ),
    "from a port that is none": placed(
        '"tank.inn"', "'tank.in'", "tank.origin", start="tank.inn", key="from"
    ),
    "from a component alone": placed('"tank"', "datum", start="tank", key="from"),
    "from a wall": placed(
        '"wall +y", a plane', '"35 from +y"', start="wall +y", key="from"
    ),
    "from a face": placed('"fan.+y", a plane', "a point", start="fan.+y", key="from"),
    "from a misspelt datum": placed("'datum'", start="datums", key="from"),
    "from itself": placed("pump from itself", start="pump.out", key="from"),
    "from each other": circle(
        "pump from tank from pump", "pump or tank", tank_from="pump.out"
    ),
    "corner of no bodies": Broken(
        "[[components.fan.bodies]]\nbox = [120, 25, 120]\ncentre = [60, 12.5, 60]\n",
        "[components.post]\n"
        'place = { point = "+x-y+z", from = "datum", offset = [0, 0, 0] }\n',
        "components.post.place.point",
        "place = ",
        ('"post"', "it has none"),
    ),
    "left to readings that are not there": Broken(
        PUMP,
        'place = { point = "out", from = "tank.in", offset = [1, "?", 3] }',
        "components.pump.place.offset[2]",
        "place = ",
        ('"?"', "a length along y"),
    ),
}

POINTS = {
    "points of a list": Broken(
        f"{PUMP}\n",
        f"{PUMP}\npoints = [[1, 2, 3]]\n",
        "components.pump.points",
        "points = ",
        ("a list of 1", "[components.NAME.points]"),
    ),
    "point of two lengths": Broken(
        f"{PUMP}\n",
        f"{PUMP}\npoints.hole = [1, 2]\n",
        "components.pump.points.hole",
        "points.hole",
        ("[1, 2]", "three lengths"),
    ),
    "point of a word": Broken(
        f"{PUMP}\n",
        f'{PUMP}\npoints.hole = [1, 2, "up"]\n',
        "components.pump.points.hole[3]",
        "points.hole",
        ("a length",),
    ),
    "point named as a port": Broken(
        f"{PUMP}\n",
        f"{PUMP}\npoints.out = [1, 2, 3]\n",
        "components.pump.points.out",
        "points.out",
        ('"pump.out" is a port already',),
    ),
    "point named origin": Broken(
        f"{PUMP}\n",
        f"{PUMP}\npoints.origin = [1, 2, 3]\n",
        "components.pump.points.origin",
        "points.origin",
        ("another name", '"pump.origin"'),
    ),
    "point named as a corner": Broken(
        f"{PUMP}\n",
        f'{PUMP}\npoints."-x-y-z" = [1, 2, 3]\n',
        "components.pump.points.-x-y-z",
        "points",
        ("another name",),
    ),
    "point named with a dot": Broken(
        f"{PUMP}\n",
        f'{PUMP}\npoints."hole.1" = [1, 2, 3]\n',
        'components.pump.points."hole.1"',
        "points",
        ("without a dot",),
    ),
    "port named as a face": Broken(
        "[components.tank.ports.in]",
        '[components.tank.ports."+z"]\nposition = [30, 30, 150]\ndirection = "+z"\n'
        "[components.tank.ports.in]",
        'components.tank.ports."+z"',
        'ports."+z"',
        ("another name", "a point or plane already"),
    ),
}

READING = """\
[[readings]]
from = "pump.out"
to = "tank.in"
along = "+y"
value = 150
"""


def read(old: str, new: str, key: str, *says: str) -> Broken:
    """Return a scene with one reading, one line of it changed."""
    assert READING.count(old) == 1, old
    table = READING.replace(old, new)
    at = new.split("\n", 1)[0] or "[[readings]]"
    return Broken("[[runs]]\n", table + "[[runs]]\n", f"readings[1]{key}", at, says)


def plane(end: str, along: str, *says: str) -> Broken:
    """Return a reading to a plane, along something."""
    table = READING.replace("tank.in", end).replace('along = "+y"\n', along)
    at = "along" if along else "[[readings]]"
    return Broken("[[runs]]\n", table + "[[runs]]\n", "readings[1].along", at, says)


def lacking(old: str, new: str, key: str, at: str, *says: str) -> Broken:
    """Return a scene in which a reading along y is not enough."""
    return Broken(
        SOUND,
        SOUND.replace(old, new).replace("[[runs]]\n", READING + "[[runs]]\n"),
        key,
        at,
        says,
    )


READINGS = {
    "readings in single brackets": Broken(
        "[[runs]]\n",
        READING.replace("[[readings]]", "[readings]") + "[[runs]]\n",
        "readings",
        "[readings]",
        ("[[readings]]",),
    ),
    "reading from nowhere": read(
        'from = "pump.out"\n', "", ".from", "nothing", "measured from"
    ),
    "reading to nowhere": read('to = "tank.in"\n', "", ".to", "nothing", "measured to"),
    "reading without a value": read("value = 150\n", "", ".value", "nothing", "[]"),
    "reading of a word": read("value = 150", 'value = "far"', ".value", "a length"),
    "reading below nought": read(
        "value = 150", "value = -150", ".value", "-150 mm", "0 mm to 10000 mm"
    ),
    "one value below nought": read(
        "value = 150", "value = [150, -1]", ".value[2]", "-1 mm"
    ),
    "reading of a kilometre": read(
        "value = 150", 'value = "1e9 mm"', ".value", '"1e9 mm"', "a length"
    ),
    "reading too long": read("value = 150", "value = 150000", ".value", "10000 mm"),
    "no number in a reading": read("value = 150", "value = nan", ".value", "nan"),
    "more values than anybody takes": read(
        "value = 150", f"value = {[150] * 21}", ".value", "1 to 20 readings"
    ),
    "spread of nothing": Broken(
        "[[runs]]\n",
        READING + "spread = 0\n[[runs]]\n",
        "readings[1].spread",
        "spread = 0",
        ("above 0",),
    ),
    "spread of a list": Broken(
        "[[runs]]\n",
        READING + "spread = [1, 2]\n[[runs]]\n",
        "readings[1].spread",
        "spread = ",
        ("[1, 2]", "a length"),
    ),
    "zero beyond what was read": Broken(
        "[[runs]]\n",
        READING + "zero = 151\n[[runs]]\n",
        "readings[1].zero",
        "zero = ",
        ("151 mm", "at most what was read, 150 mm"),
    ),
    "zero below nought": Broken(
        "[[runs]]\n",
        READING + "zero = -1\n[[runs]]\n",
        "readings[1].zero",
        "zero = ",
        ("-1 mm",),
    ),
    "misspelt key of a reading": Broken(
        "[[runs]]\n",
        READING + "spraed = 1\n[[runs]]\n",
        "readings[1].spraed",
        "spraed = ",
        ("'spread'",),
    ),
    "reading from a misspelt port": read(
        'from = "pump.out"', 'from = "pump.otu"', ".from", "'pump.out'", "pump.origin"
    ),
    "reading to a component alone": read(
        'to = "tank.in"', 'to = "tank"', ".to", '"tank"', "datum"
    ),
    "reading to a point of a misspelt part": read(
        'to = "tank.in"', 'to = "tnak.in"', ".to", "'tank.in'"
    ),
    "reading to a wall that is none": read(
        'to = "tank.in"', 'to = "wall y"', ".to", '"wall y"', "'wall +y'"
    ),
    "reading to itself": read(
        'to = "tank.in"', 'to = "pump.out" # here', ".to", "another point"
    ),
    "reading to a list": Broken(
        "[[runs]]\n",
        READING.replace('"tank.in"', '["tank.in", "pump.out"]') + "[[runs]]\n",
        "readings[1].to",
        "to = [",
        ("characters on one line",),
    ),
    "along no axis": read(
        'along = "+y"', 'along = "y"', ".along", '"y"', "'+y'", "three numbers"
    ),
    "along nothing": read(
        'along = "+y"', "along = [0, 0, 0]", ".along", "not all zero"
    ),
    "wall measured straight": plane("wall +y", "", "nothing", '"+y" or "-y"', "plane"),
    "wall along another axis": plane(
        "wall +y", 'along = "+x" # wall\n', '"+x"', '"wall +y" is a plane'
    ),
    "face along another axis": plane("tank.+z", 'along = "+y" # face\n', '"-z"'),
    "face askew": plane("tank.+z", "along = [0, 1, 1]\n", "[0, 1, 1]", '"+z" or "-z"'),
    "face of no bodies": Broken(
        "[[runs]]\n",
        "[components.post]\nposition = [0, 0, 0]\n"
        + READING.replace("tank.in", "post.+y")
        + "[[runs]]\n",
        "readings[1].to",
        "post.+y",
        ('"post"', "it has none"),
    ),
    "wall that is not there": Broken(
        SOUND,
        SOUND.replace(INNER, "").replace(
            "[[runs]]\n", READING.replace("tank.in", "wall +y") + "[[runs]]\n"
        ),
        "readings[1].to",
        'to = "wall',
        ("inner = [x, y, z] in [case]",),
    ),
}

HELD = {
    "no position, one axis read": lacking(
        PUMP + "\n",
        "",
        "components.pump",
        "[components.pump]",
        "nothing that holds pump along x and z",
        "readings along x and z from tank.in to pump.out",
    ),
    "an offset that the reading does not hold": lacking(
        PUMP,
        'place = { point = "out", from = "datum", offset = [80, 20, "?"] }',
        "components.pump.place.offset[3]",
        'offset = [80, 20, "?"]',
        "nothing that holds pump along z",
        "a reading along z from tank.in to pump.out",
    ),
    "two offsets that the reading does not hold": lacking(
        PUMP,
        'place = { point = "out", from = "datum", offset = ["?", 20, "?"] }',
        "components.pump.place.offset",
        'offset = ["?"',
        "nothing that holds pump along x and z",
    ),
    "a reading not taken": Broken(
        SOUND,
        SOUND.replace(
            PUMP,
            'place = { point = "out", from = "datum", offset = [80, "?", 20] }',
        ).replace("[[runs]]\n", READING.replace("= 150", "= []") + "[[runs]]\n"),
        "components.pump.place.offset[2]",
        'offset = [80, "?"',
        ("nothing that holds pump along y", "readings[1].value filled in"),
    ),
    "what hangs on what nothing holds": Broken(
        SOUND,
        SOUND.replace(
            PUMP,
            'place = { point = "out", from = "datum", offset = [80, 20, "?"] }',
        ).replace(
            "[[runs]]\n",
            "[components.lid]\n"
            'place = { point = "origin", from = "pump.out", offset = [0, 0, 9] }\n'
            f"{READING}[[runs]]\n",
        ),
        "components.pump.place.offset[3]",
        'offset = [80, 20, "?"]',
        ("nothing that holds pump along z, and lid with it",),
    ),
    "two places in a mirror": Broken(
        SOUND,
        SOUND.replace(
            PUMP,
            'place = { point = "out", from = "datum", offset = [100, "?", 20] }',
        ).replace(
            "[[runs]]\n",
            '[[readings]]\nfrom = "tank.+x-y+z"\nto = "pump.out"\nvalue = 150\n'
            "[[runs]]\n",
        ),
        "components.pump",
        "[components.pump]",
        ("two places of pump", "fit alike", "a further reading", "along y"),
    ),
}

SPREADS = {
    "spread of a number": Broken(
        "[[runs]]\n", "[spread_]\n[[runs]]\n", "spread_", "[spread_]", ("'spread'",)
    ),
    "unknown spread": Broken(
        "[[runs]]\n",
        "[spread]\nreadings = 1\n[[runs]]\n",
        "spread.readings",
        "readings = 1",
        ("'reading'",),
    ),
    "no spread at all": Broken(
        "[[runs]]\n",
        "[spread]\nreading = 0\n[[runs]]\n",
        "spread.reading",
        "reading = 0",
        ("above 0",),
    ),
    "square to a right angle": Broken(
        "[[runs]]\n",
        "[spread]\nsquare = 90\n[[runs]]\n",
        "spread.square",
        "square",
        ("degrees from 0 to 45",),
    ),
}

RUN = '[[runs]]\nname = "pump to tank"\nfrom = "pump.out"\nto = "tank.in"\nmax_bends = 4\n'

NAMES = {
    "two runs of the same ends": Broken(
        RUN,
        '[[runs]]\nfrom = "pump.out"\nto = "tank.in"\n'
        '[[runs]] # second\nfrom = "pump.out"\nto = "tank.in"\n',
        "runs[2].name",
        "# second",
        ('"pump.out to tank.in"', "runs[1]", "a name of its own"),
    ),
    "name that another run's ends make": Broken(
        RUN,
        '[[runs]]\nfrom = "pump.out"\nto = "tank.in"\n'
        '[[runs]]\nname = "Pump.out to tank.in"\nfrom = "tank.in"\nto = "pump.out"\n',
        "runs[2].name",
        "Pump.out",
        ("runs[1]", "capitals"),
    ),
    "ends too long for a name": Broken(
        SOUND,
        SOUND.replace("pump", "pump" * 9)
        .replace("tank", "tank" * 9)
        .replace(f'name = "{"pump" * 9} to {"tank" * 9}"\n', ""),
        "runs[1].name",
        "[[runs]]",
        ("its ends make 83 characters", "at most 60"),
    ),
}

BROKEN = BODIES | WALLS | PLACES | POINTS | READINGS | HELD | SPREADS | NAMES


def test_there_are_enough_broken_scenes() -> None:
    assert len(BROKEN) >= 60


@pytest.mark.parametrize("name", BROKEN)
def test_the_message_names_fault_key_and_line(name: str) -> None:
    assert_told(BROKEN[name])


@pytest.mark.parametrize("name", list(BROKEN)[::6])
def test_the_command_line_refuses_and_writes_nothing(
    name: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert_refused_whole(BROKEN[name].text, tmp_path, capsys)
