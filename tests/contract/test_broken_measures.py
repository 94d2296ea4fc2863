"""Broken scenes of the keys for what was measured: places, points, walls, names.

As `test_broken_scenes`: one thing is changed in a sound scene, and the message names it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.contract.broken import SOUND, Broken, assert_refused, assert_told

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

BROKEN = BODIES | WALLS | PLACES | POINTS | NAMES


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
    Path("siskin.toml").write_text(BROKEN[name].text, encoding="utf-8")
    assert_refused(["route", "siskin.toml", "-o", "plan.json"], capsys)
    assert_refused(["check", "siskin.toml"], capsys)
    assert [path.name for path in tmp_path.iterdir()] == ["siskin.toml"]
