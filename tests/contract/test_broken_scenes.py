"""Broken scene files: the message names the fault, its key and its line, and no more.

Every broken scene is a sound one with one thing changed. Each goes through the reader,
and through the command line, which ends with status 2 and writes nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from loopsolver.errors import SceneError
from loopsolver.scene.reader import load_scene, scene_from_text
from tests.contract.broken import (
    SOUND,
    Broken,
    assert_refused,
    assert_refused_whole,
    assert_told,
    faults_of,
)

SYNTAX = {
    "no equals sign": Broken(
        "title = ", "title ", "", "title ", ("TOML", "key = value")
    ),
    "unclosed array": Broken(
        "inner = [200, 300, 250]", "inner = [200, 300, 250", "", "up = ", ("TOML", "]")
    ),
    "unclosed header": Broken("[case]", "[case", "", "[case", ("TOML", "]")),
    "unquoted text": Broken('"petg"', "petg", "", "petg", ("TOML", '"quotes"')),
    "open quote": Broken('"petg"', '"petg', "", "petg", ("TOML", "quote")),
    "key twice": Broken(
        "height = 18",
        "height = 18\nheight = 19",
        "",
        "height = 19",
        ("every key once",),
    ),
    "table twice": Broken(
        "[rules]",
        "[tube] # twice\n[rules]",
        "",
        "# twice",
        ("TOML", "every table once"),
    ),
    "two on a line": Broken(
        "format = 1", "format = 1 a = 2", "", "format", ("one key = value on a line",)
    ),
    "decimal comma": Broken("height = 18", "height = 18,5", "", "18,5", ("TOML",)),
    "endless key": Broken(
        "format = 1", f"format{'.a' * 300} = 1", "", "format", ("200 dots",)
    ),
}

MISSING = {
    "no format": Broken("format = 1\n", "", "format", "", ("nothing", "format = 1")),
    "no case": Broken(
        '[case]\ninner = [200, 300, 250]\nup = "+z"\n', "", "case", "", ("inner",)
    ),
    "no outer diameter": Broken(
        "outer_diameter = 14\n", "", "tube.outer_diameter", "[tube]", ("nothing",)
    ),
    "no material": Broken(
        'material = "petg"\n', "", "tube.material", "[tube]", ('"petg"', "copper")
    ),
    "fitting without depth": Broken(
        "height = 20\ndepth = 12\n",
        "height = 20\n",
        "fittings.collar.depth",
        "[fittings.collar]",
        ("how far the tube goes in",),
    ),
    "elbow without reach": Broken(
        "reach = 20\n",
        "",
        "fittings.elbow.reach",
        "[fittings.elbow]",
        ("elbow", "mouth"),
    ),
    "component without position": Broken(
        "position = [20, 20, 0]\n",
        "",
        "components.pump.position",
        "[components.pump]",
        ("origin",),
    ),
    "port without direction": Broken(
        'direction = "+x"\n',
        "",
        "components.pump.ports.out.direction",
        "[components.pump.ports.out]",
        ("direction out of the port",),
    ),
    "cylinder without height": Broken(
        "diameter = 60, height = 150",
        "diameter = 60",
        "components.tank.bodies[1].cylinder.height",
        "cylinder = ",
        ("height",),
    ),
    "body without a shape": Broken(
        "box = [60, 50, 40]\n",
        "",
        "components.pump.bodies[1]",
        "[[components.pump.bodies]]",
        ("no shape", "exactly one", "box", "cylinder"),
    ),
    "keep-out without a name": Broken(
        'name = "side panel swing"\n',
        "",
        "keep_outs[1].name",
        "[[keep_outs]]",
        ("name",),
    ),
    "run without an end": Broken(
        'to = "tank.in"\n', "", "runs[1].to", "[[runs]]", ("port it goes to",)
    ),
}

UNKNOWN = {
    "misspelt key": Broken(
        "clearance = 3",
        "clearence = 3",
        "rules.clearence",
        "clearence",
        ("'clearance'",),
    ),
    "misspelt table": Broken("[rules]", "[rule]", "rule", "[rule]", ("'rules'",)),
    "misspelt port key": Broken(
        'direction = "+x"',
        'direction = "+x"\ndirektion = 1',
        "components.pump.ports.out.direktion",
        "direktion",
        ("'direction'",),
    ),
    "key in the wrong table": Broken(
        "inner_diameter = 10",
        "inner_diameter = 10\nmax_bends = 3",
        "tube.max_bends",
        "max_bends = 3",
        ("belongs in [rules]",),
    ),
    "unknown unit of the scene": Broken(
        'units = "mm"', 'units = "inch"', "units", 'units = "inch"', ("'in'",)
    ),
    "unknown unit of a length": Broken(
        "height = 18",
        'height = "18 mmm"',
        "fittings.elbow.height",
        "18 mmm",
        ("'mmm' is not known", '"3 1/2 in"'),
    ),
    "text without a unit": Broken(
        "height = 18",
        'height = "18"',
        "fittings.elbow.height",
        'height = "18"',
        ("without a unit",),
    ),
    "unknown material": Broken(
        '"petg"', '"pteg"', "tube.material", "pteg", ("'petg'", '"acrylic"')
    ),
    "unknown direction": Broken(
        'direction = "+x"',
        'direction = "x"',
        "components.pump.ports.out.direction",
        'direction = "x"',
        ("'+x'", "three numbers"),
    ),
    "unknown flow": Broken(
        'flow = "out"',
        'flow = "oot"',
        "components.pump.ports.out.flow",
        "oot",
        ("'out'", '"either"'),
    ),
    "unknown fitting": Broken(
        'fitting = "collar"',
        'fitting = "coller"',
        "components.pump.ports.out.fitting",
        "coller",
        ("'collar'", "elbow"),
    ),
    "unknown fitting in a list": Broken(
        '["collar", "elbow"]',
        '["collar", "elbo"]',
        "components.tank.ports.in.fitting[2]",
        '"elbo"',
        ("'elbow'",),
    ),
    "unknown port": Broken(
        'from = "pump.out"', 'from = "pump.oot"', "runs[1].from", "oot", ("'pump.out'",)
    ),
    "unknown port in a list": Broken(
        'to = "tank.in"',
        'to = ["tank.in", "tank.inn"]',
        "runs[1].to[2]",
        "tank.inn",
        ("'tank.in'",),
    ),
    "unknown component": Broken(
        'to = "tank.in"', 'to = "tnk"', "runs[1].to", "tnk", ("tank.in",)
    ),
    "component without ports": Broken(
        'to = "tank.in"', 'to = "fan"', "runs[1].to", '"fan"', ("has none",)
    ),
    "format of the future": Broken(
        "format = 1", "format = 2", "format", "format", ("1",)
    ),
    "any spelt wrong": Broken(
        "[90]", '"eny"', "rules.bend_angles", "eny", ("'any'", "[45, 90]")
    ),
}

WRONG_KIND = {
    "text for a length": Broken(
        "clearance = 3", 'clearance = "wide"', "rules.clearance", "wide", ("a length",)
    ),
    "yes for a length": Broken(
        "clearance = 3", "clearance = true", "rules.clearance", "true", ("true",)
    ),
    "date for a length": Broken(
        "clearance = 3", "clearance = 2024-05-01", "rules.clearance", "2024", ("date",)
    ),
    "number for a table": Broken(
        '[case]\ninner = [200, 300, 250]\nup = "+z"\n',
        "case = 5\n",
        "case",
        "case = 5",
        ("a table [case]",),
    ),
    "single brackets": Broken(
        "[[keep_outs]]", "[keep_outs]", "keep_outs", "[keep", ("[[",)
    ),
    "runs in single brackets": Broken("[[runs]]", "[runs]", "runs", "[runs]", ("[[",)),
    "bodies in single brackets": Broken(
        "[[components.fan.bodies]]",
        "[components.fan.bodies]",
        "components.fan.bodies",
        "[components.fan.bodies]",
        ("[[components.NAME.bodies]]",),
    ),
    "number for a title": Broken(
        '"Siskin: two parts and a tube"', "5", "title", "title", ("5",)
    ),
    "two coordinates": Broken(
        "position = [20, 20, 0]",
        "position = [20, 20]",
        "components.pump.position",
        "[20, 20]",
        ("three lengths",),
    ),
    "four coordinates": Broken(
        "inner = [200, 300, 250]",
        "inner = [200, 300, 250, 1]",
        "case.inner",
        "250, 1]",
        ("three lengths",),
    ),
    "half a bend": Broken(
        "max_bends = 5",
        "max_bends = 2.5",
        "rules.max_bends",
        "= 2.5",
        ("whole number",),
    ),
    "number for a port": Broken(
        'to = "tank.in"', "to = 7", "runs[1].to", "to = 7", ("a port",)
    ),
    "no readings": Broken(
        "position = [20, 20, 0]",
        "position = [[], 20, 0]",
        "components.pump.position[1]",
        "[[], 20, 0]",
        ("readings",),
    ),
    "a bad reading": Broken(
        "position = [20, 20, 0]",
        'position = [20, [20.5, "x"], 0]',
        "components.pump.position[2][2]",
        '"x"',
        ("a length",),
    ),
    "an angle alone": Broken(
        "[90]", "90", "rules.bend_angles", "bend_angles = 90", ("[90]",)
    ),
    "no choice of ports": Broken(
        'to = "tank.in"', "to = []", "runs[1].to", "[]", ("1 to",)
    ),
}

IMPOSSIBLE = {
    "not a number": Broken(
        "clearance = 3", "clearance = nan", "rules.clearance", "nan", ("nan",)
    ),
    "infinite length": Broken(
        "inner = [200, 300, 250]",
        "inner = [200, inf, 250]",
        "case.inner[2]",
        "inf",
        ("inf",),
    ),
    "more than infinite": Broken(
        "stock_length = 500",
        "stock_length = 1e999",
        "tube.stock_length",
        "1e999",
        ("inf",),
    ),
    "not a number in a direction": Broken(
        "[0, 0, 2]",
        "[0, nan, 2]",
        "components.tank.ports.in.direction",
        "nan",
        ("three numbers",),
    ),
    "infinite rotation": Broken(
        "[0, 0, 90]", "[0, 0, inf]", "components.pump.rotation[3]", "inf", ("degrees",)
    ),
    "many turns": Broken(
        "[0, 0, 90]", "[0, 0, 4000]", "components.pump.rotation[3]", "4000", ("360",)
    ),
    "zero direction": Broken(
        "[0, 0, 2]",
        "[0, 0, 0]",
        "components.tank.ports.in.direction",
        "[0, 0, 0]",
        ("not all zero",),
    ),
    "no up": Broken('up = "+z"', "up = [0, 0, 0]", "case.up", "up", ("not all zero",)),
    "negative size": Broken(
        "box = [60, 50, 40]",
        "box = [60, -50, 40]",
        "components.pump.bodies[1].box[2]",
        "-50",
        ("-50 mm", "above 0"),
    ),
    "flat box": Broken(
        "box = [60, 50, 40]",
        "box = [60, 0, 40]",
        "components.pump.bodies[1].box[2]",
        "60, 0, 40",
        ("above 0", "5000 mm"),
    ),
    "negative clearance": Broken(
        "clearance = 3", "clearance = -3", "rules.clearance", "-3", ("0 mm to 100 mm",)
    ),
    "negative radius": Broken(
        "bend_radius = 28", "bend_radius = -28", "tube.bend_radius", "-28", ("above 0",)
    ),
    "case of a thousand kilometres": Broken(
        "inner = [200, 300, 250]",
        "inner = [200, 1e9, 250]",
        "case.inner[2]",
        "1e9",
        ("1000000000.0 mm", "20 mm to 3000 mm"),
    ),
    "case of a matchbox": Broken(
        "inner = [200, 300, 250]",
        "inner = [8, 300, 250]",
        "case.inner[1]",
        "[8,",
        ("8 mm", "20 mm to 3000 mm"),
    ),
    "component in the next street": Broken(
        "position = [20, 20, 0]",
        'position = ["50000 in", 20, 0]',
        "components.pump.position[1]",
        "50000",
        ("1.27e+06 mm", "-10000 mm to 10000 mm"),
    ),
    "number of four hundred digits": Broken(
        "clearance = 3",
        f"clearance = {'9' * 400}",
        "rules.clearance",
        "999",
        ("digits",),
    ),
    "inside wider than outside": Broken(
        "inner_diameter = 10",
        "inner_diameter = 14",
        "tube.inner_diameter",
        "inner_diameter",
        ("14 mm", "less than the outer diameter"),
    ),
    "radius inside the tube": Broken(
        "bend_radius = 28",
        "bend_radius = [28, 7]",
        "tube.bend_radius[2]",
        "bend_radius",
        ("7 mm", "half the outer diameter"),
    ),
    "run's radius inside the tube": Broken(
        "max_bends = 4",
        "bend_radius = 5",
        "runs[1].bend_radius",
        "bend_radius = 5",
        ("half the outer diameter, 7 mm",),
    ),
    "fitting narrower than the tube": Broken(
        "depth = 12\ndiameter = 22\nstraight_beyond = 5\n[fittings.elbow]",
        "depth = 12\ndiameter = 12.5\nstraight_beyond = 5\n[fittings.elbow]",
        "fittings.collar.diameter",
        "= 12.5",
        ("14 mm",),
    ),
    "tube through the fitting": Broken(
        "height = 20\ndepth = 12\n",
        "height = 10\ndepth = 12.0\n",
        "fittings.collar.depth",
        "12.0",
        ("12 mm", "10 mm"),
    ),
    "turn without reach": Broken(
        "straight_beyond = 5\n[fittings.elbow]",
        "straight_beyond = 5\nreach = 9\n[fittings.elbow]",
        "fittings.collar.reach",
        "reach = 9",
        ("turn = 90",),
    ),
    "turned right back": Broken(
        "turn = 90", "turn = 180", "fittings.elbow.turn", "180", ("0 to 150",)
    ),
    "all trim and no tube": Broken(
        "trim_allowance = 30",
        "trim_allowance = 250",
        "tube.stock_length",
        "stock_length",
        ("500 mm",),
    ),
    "no bend angles": Broken("[90]", "[]", "rules.bend_angles", "= []", ("1 to 20",)),
    "bend straight back": Broken(
        "[90]", "[90, 180]", "rules.bend_angles[2]", "180", ("below 180 degrees",)
    ),
    "a turn step of neither": Broken(
        "bend_angles = [90]",
        "turn_step = 30\nbend_angles = [90]",
        "rules.turn_step",
        "turn_step = 30",
        ('90, 45 or "any"',),
    ),
    "a turn step spelt wrong": Broken(
        "bend_angles = [90]",
        'turn_step = "ani"\nbend_angles = [90]',
        "rules.turn_step",
        "ani",
        ("'any'",),
    ),
    **{
        f"a bend range of {written}": Broken(
            "bend_angles = [90]",
            f"bend_range = {written}\nbend_angles = [90]",
            "rules.bend_range",
            f"bend_range = {written}",
            ("the least and the greatest bend", "from 0 to below 180 degrees"),
        )
        for written in ("[5]", "[120, 5]", "[90, 90]", "[-1, 120]", "[5, 180]", '"any"')
    },
    "bend of nothing": Broken(
        "[90]", "[0, 90]", "rules.bend_angles[1]", "= [0, 90]", ("above 0",)
    ),
    "fewer than no bends": Broken(
        "max_bends = 5", "max_bends = -1", "rules.max_bends", "-1", ("from 0 to 20",)
    ),
    "run with a thousand bends": Broken(
        "max_bends = 4", "max_bends = 1000", "runs[1].max_bends", "1000", ("0 to 20",)
    ),
    "no candidates": Broken(
        "candidates = 6", "candidates = 0", "rules.candidates", "= 0", ("1 to 100",)
    ),
    "port on itself": Broken(
        'to = "tank.in"',
        'to = "pump.out"',
        "runs[1].to",
        'to = "pump.out"',
        ("starts from", "another port"),
    ),
    "component on itself": Broken(
        'from = "pump.out"',
        'from = ["tank"]',
        "runs[1].to",
        'to = "tank.in"',
        ("another port",),
    ),
    "run's name twice": Broken(
        "max_bends = 4",
        '[[runs]]\nname = "Pump to tank"\nfrom = "tank.in"\nto = "pump.out"',
        "runs[2].name",
        "Pump to tank",
        ("runs[1]",),
    ),
    "name of two lines": Broken(
        '"pump to tank"', '"pump\\nto tank"', "runs[1].name", "\\n", ("one line",)
    ),
    "name with a dot": Broken(
        "[components.fan]\n",
        '[components."fan.2"]\nposition = [0, 0, 0]\n[components.fan]\n',
        'components."fan.2"',
        '"fan.2"',
        ("without a dot",),
    ),
    "box and cylinder": Broken(
        "box = [120, 25, 120]",
        "box = [120, 25, 120]\ncylinder = { diameter = 5, height = 5 }",
        "components.fan.bodies[1]",
        "[[components.fan.bodies]]",
        ("box and cylinder", "exactly one"),
    ),
    "axis of a box": Broken(
        "box = [120, 25, 120]",
        'box = [120, 25, 120]\naxis = "+y"',
        "components.fan.bodies[1].axis",
        'axis = "+y"',
        ("rotation",),
    ),
}

MESHES = {
    "mesh that is not there": Broken(
        "box = [120, 25, 120]\ncentre = [60, 12.5, 60]",
        'mesh = "parts/fan.stl"\nunit = "mm"',
        "components.fan.bodies[1].mesh",
        "fan.stl",
        ("no such file", "scene's folder"),
    ),
}

# A second part that lets the coolant through, so that most loops fail by one thing.
ROUND = """\
[components.pump.ports.in]
position = [0, -25, 20]
direction = "-x"
flow = "in"
[components.tank.ports.out]
position = [60, 30, 75]
direction = "+x"
[components.fan.ports.near]
position = [60, 0, 60]
direction = "-y"
flow = "in"
[loop]
ORDER
[[runs]]
"""


def looped(order: str, *changes: tuple[str, str]) -> str:
    """Return what stands in place of the first [[runs]] for a loop of that order."""
    text = ROUND.replace("ORDER", order)
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def loop(order: str, key: str, says: tuple[str, ...], *, at: str = "order") -> Broken:
    return Broken("[[runs]]\n", looped(order), key, at, says)


LOOP = {
    "loop without an order": loop(
        "", "loop.order", ("nothing", "component names", '"any"'), at="[loop]"
    ),
    "loop of a number": loop("order = 3", "loop.order", ("3", '["pump", "card"]')),
    "misspelt any loop": loop('order = "eny"', "loop.order", ("'any'",)),
    "unknown key of a loop": loop(
        'order = "any"\nordre = 1', "loop.ordre", ("'order'",), at="ordre"
    ),
    "loop of one": loop('order = ["pump"]', "loop.order", ("2 to 20",)),
    "loop of twenty-one": loop(
        f"order = [{', '.join(['1'] * 21)}]", "loop.order", ("2 to 20",)
    ),
    "number in a loop": loop(
        'order = ["pump", 7]', "loop.order[2]", ("found 7", "a component's name")
    ),
    "unknown part": loop(
        'order = ["pump", "tnak"]',
        "loop.order[2]",
        ('"tnak"', "pump, tank", "'tank'"),
    ),
    "port for a part": loop(
        'order = ["pump.out", "tank"]', "loop.order[1]", ('"pump.out"', "'pump'")
    ),
    "part twice": loop(
        'order = ["pump", "tank", "pump"]',
        "loop.order[3]",
        ("order[1]", "every component once", "closes"),
    ),
    "part with one port": loop(
        'order = ["pump", "tank", "fan"]',
        "loop.order[3]",
        ('"fan"', "two ports or more", "fan.near alone"),
    ),
    "part without a port": Broken(
        "[[runs]]\n",
        looped(
            'order = ["pump", "tank", "board"]',
            ("[loop]", "[components.board]\nposition = [0, 0, 0]\n[loop]"),
        ),
        "loop.order[3]",
        "order",
        ('"board"', "has none"),
    ),
    "part with no way out": Broken(
        "[[runs]]\n",
        looped(
            'order = ["tank", "fan"]',
            (
                "[loop]",
                "[components.fan.ports.far]\nposition = [60, 25, 60]\n"
                'direction = "+y"\nflow = "in"\n[loop]',
            ),
        ),
        "loop.order[2]",
        "order",
        ("the coolant leaves by", 'flow = "in" at fan.near, fan.far'),
    ),
    "any order of one": Broken(
        "[[runs]]\n",
        '[loop]\norder = "any"\n[[runs]]\n',
        "loop.order",
        "order",
        ("at least 2 components", "there is none"),
    ),
    "name of a tube of the loop": Broken(
        '[[runs]]\nname = "pump to tank"\n',
        looped('order = ["pump", "tank"]') + 'name = "Tank to pump"\n',
        "runs[1].name",
        "Tank to pump",
        ("[loop] lays from tank to pump",),
    ),
}

# Runs whose end is a component's bare name, where flow leaves it no port.
FLOW = {
    "run from ports that lead in": Broken(
        '[[runs]]\nname = "pump to tank"\nfrom = "pump.out"',
        '[components.fan.ports.near]\nposition = [60, 0, 60]\ndirection = "-y"\n'
        'flow = "in"\n[[runs]]\nname = "fan to tank"\nfrom = ["pump.out", "fan"]',
        "runs[1].from[2]",
        '"pump.out", "fan"',
        ("the coolant leaves by", 'flow = "in" at fan.near'),
    ),
    "run to ports that lead out": Broken(
        'to = "tank.in"',
        'to = "pump"',
        "runs[1].to",
        'to = "pump"',
        ("the coolant enters by", 'flow = "out" at pump.out'),
    ),
}


def wet(table: str, line: str, key: str, *says: str) -> Broken:
    """Return a scene with one table of its water, wrong in one line."""
    return Broken(
        "[[runs]]\n", f"[{table}]\n{line}\n[[runs]]\n", f"{table}.{key}", line, says
    )


PUMP = "components.pump.water"

WATER = {
    "unknown liquid": wet("coolant", 'liquid = "watr"', "liquid", "'water'"),
    "glycol without a share": Broken(
        "[[runs]]\n",
        '[coolant]\nliquid = "ethylene glycol"\n[[runs]]\n',
        "coolant.share",
        "[coolant]",
        ("nothing", "per cent by mass"),
    ),
    "share of water": wet("coolant", "share = 30", "share", "propylene glycol"),
    "share by the bottle": wet("coolant", "share = 70", "share", "from 0 to 60"),
    "coolant of ice": wet(
        "coolant", "temperature = -80", "temperature", "-40 to 100 °C", "°F or K"
    ),
    "coolant of another unit": wet(
        "coolant", 'temperature = "35 R"', "temperature", "'R' is not known"
    ),
    "no flow": wet("coolant", "flow = 0", "flow", "from 0.01 to 100 L/min"),
    "flow in a comma": wet("coolant", 'flow = "1,5 L/min"', "flow", "decimal comma"),
    "flow in a pressure": wet(
        "coolant", 'flow = "3 bar"', "flow", "'bar' is not known", "L/h"
    ),
    "vent that is not there": wet("filling", 'vent = "tank.inn"', "vent", "'tank.in'"),
    "vent that is a plane": wet(
        "filling", 'vent = "tank.+z"', "vent", "ports and points", "tank.origin"
    ),
    "vent beside a part": wet("filling", 'vent = "datum"', "vent", "pump.out"),
    "drain that is a part": wet("filling", 'drain = "tank"', "drain", "pump.out"),
    "side that is none": wet(
        "filling", 'tilts = ["left", "rite"]', "tilts[2]", "'right'"
    ),
    "one side alone": wet("filling", 'tilts = "left"', "tilts", "a list of sides"),
    "pump of one point": wet(PUMP, "pump = [[0, 39]]", "pump", "2 to 20 points"),
    "pump without pressures": wet(
        PUMP, "pump = [[0, 39], 5]", "pump[2]", "a flow and a pressure"
    ),
    "pump that flows back": wet(
        PUMP, "pump = [[-1, 39], [10, 12]]", "pump[1]", "a flow from 0 to 100 L/min"
    ),
    "pump that sucks": wet(
        PUMP, "pump = [[0, 39], [10, -12]]", "pump[2]", "from 0 to 1000 kPa"
    ),
    "pump that rises at its end": wet(
        PUMP, "pump = [[0, 30], [5, 31]]", "pump", "below the one before", "31 kPa at 5"
    ),
    "pump with a flow twice": wet(
        PUMP, "pump = [[0, 39], [5, 20], [5, 18]]", "pump", "5 L/min stands there twice"
    ),
    "pump with an unknown unit": wet(
        PUMP, 'pump = [[0, "39 foo"], [10, 12]]', "pump[1]", "'foo' is not known", "psi"
    ),
    "loss of nothing": wet(PUMP, "loss = [[4, 0]]", "loss", "above 0"),
    "loss at no flow": wet(PUMP, "loss = [[0, 9]]", "loss[1]", "from 0.01"),
    "loss that falls": wet(
        PUMP,
        "loss = [[2, 9], [4, 8]]",
        "loss",
        "grow with the flow",
        "9 kPa at 2 L/min",
    ),
    "loss twice": wet(PUMP, "loss = [[2, 9], [2, 8]]", "loss", "2 L/min stands there"),
    "weighed light": wet(PUMP, "weighed = [860, 812]", "weighed", "full weighs more"),
    "weighed once": wet(PUMP, "weighed = 860", "weighed", "two masses"),
    "volume twice": Broken(
        "[[runs]]\n",
        f"[{PUMP}]\nvolume = 60\nweighed = [10, 70]\n[[runs]]\n",
        f"{PUMP}.weighed",
        "weighed",
        ("one of the two",),
    ),
    "negative volume": wet(PUMP, "volume = -5", "volume", "0 to 100000 mL"),
    "heat in words": wet(PUMP, 'heat = "all"', "heat", '"rest"'),
    "endless heat": wet(PUMP, "heat = inf", "heat", "not a finite number"),
    "limit of a vacuum": wet(PUMP, "limit = 0", "limit", "from 1 to 1000 kPa"),
    "yes for a limit": wet(PUMP, "limit = true", "limit", "neither a number nor"),
    "misspelt figure": wet(PUMP, "volum = 5", "volum", "'volume'"),
    "space of no shape": Broken(
        "[[runs]]\n",
        f"[[{PUMP}.spaces]]\ncentre = [0, 0, 0]\n[[runs]]\n",
        f"{PUMP}.spaces[1]",
        "spaces",
        ("no shape", "exactly one of"),
    ),
    "fitting that pushes": Broken(
        "reach = 20\n",
        "reach = 20\nloss = -1\n",
        "fittings.elbow.loss",
        "loss",
        ("velocity heads from 0 to 100",),
    ),
}

BROKEN = (
    SYNTAX | MISSING | UNKNOWN | WRONG_KIND | IMPOSSIBLE | MESHES | LOOP | FLOW | WATER
)


def write(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


FILES: dict[str, tuple[Callable[[Path], Path], str]] = {
    "missing": (lambda folder: folder / "no.toml", "no such file"),
    "a folder": (lambda folder: folder, "a folder"),
    "empty": (lambda folder: write(folder / "a.toml", b""), "an empty file"),
    "blank": (lambda folder: write(folder / "a.toml", b" \n\n\t"), "an empty file"),
    "binary": (
        lambda folder: write(folder / "a.toml", bytes(range(256)) * 40),
        "a binary file",
    ),
    "UTF-16": (
        lambda folder: write(folder / "a.toml", SOUND.encode("utf-16")),
        "not UTF-8",
    ),
    "Latin-1": (
        lambda folder: write(folder / "a.toml", b"format = 1\n# gr\xfcn\n"),
        "not UTF-8 (0xfc)",
    ),
    "50 MB of text": (
        lambda folder: write(folder / "a.toml", b"# measured\n" * 4_545_455),
        "a file of 50.0 MB; wanted a scene file: TOML text in UTF-8, at most 1 MB",
    ),
    "inside a file": (
        lambda folder: write(folder / "a.toml", b"x") / "b.toml",
        "cannot be read",
    ),
}


def test_the_sound_scene_is_sound():
    scene = scene_from_text(SOUND, file="siskin.toml")
    assert [run.name for run in scene.runs] == ["pump to tank"]


def test_there_are_enough_broken_scenes():
    assert len(BROKEN) + len(FILES) >= 45


@pytest.mark.parametrize("name", BROKEN)
def test_the_message_names_fault_key_and_line(name):
    assert_told(BROKEN[name])


@pytest.mark.parametrize("name", BROKEN)
def test_the_command_line_refuses_and_writes_nothing(
    name, tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    assert_refused_whole(BROKEN[name].text, tmp_path, capsys)


@pytest.mark.parametrize("name", FILES)
def test_files_that_are_no_scene(name, tmp_path, monkeypatch, capsys):
    make, says = FILES[name]
    folder = tmp_path / "build"
    folder.mkdir()
    path = make(folder)
    before = sorted(folder.iterdir())
    with pytest.raises(SceneError) as caught:
        load_scene(path)
    assert str(caught.value).startswith(str(path))
    assert says in str(caught.value)
    monkeypatch.chdir(folder)
    assert says in assert_refused(["route", str(path)], capsys)
    assert sorted(folder.iterdir()) == before


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch):
    path = write(tmp_path / "a.toml", SOUND.encode())

    def refuse(_self, _mode):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(SceneError, match="no permission"):
        load_scene(path)


def test_the_line_of_a_byte_that_is_not_utf_8(tmp_path):
    path = write(tmp_path / "a.toml", b"format = 1\n# gr\xfcn\n")
    with pytest.raises(SceneError) as caught:
        load_scene(path)
    assert caught.value.faults[0].line == 2


def test_every_fault_is_told_at_once():
    several = (
        MISSING["run without an end"],
        UNKNOWN["misspelt key"],
        UNKNOWN["unknown fitting"],
        UNKNOWN["unknown port"],
        WRONG_KIND["half a bend"],
        IMPOSSIBLE["inside wider than outside"],
        IMPOSSIBLE["flat box"],
        IMPOSSIBLE["zero direction"],
        IMPOSSIBLE["turned right back"],
    )
    text = SOUND
    for broken in several:
        text = text.replace(broken.old, broken.new)
    error = faults_of(text)
    assert {fault.key_path for fault in error.faults} == {each.key for each in several}
    lines = [fault.line for fault in error.faults]
    assert lines == sorted(line for line in lines if line is not None)


def test_a_wrong_unit_does_not_make_every_length_wrong():
    text = SOUND.replace('units = "mm"', 'units = "inches"')
    text = text.replace("[200, 300, 250]", "[8, 12, 10]").replace("= 3\n", "= -3\n")
    error = faults_of(text)
    assert [fault.key_path for fault in error.faults] == ["units", "rules.clearance"]


def test_deep_brackets_and_long_numbers_are_told():
    assert "nested too deeply" in str(faults_of(f"a = {'[' * 50_000}"))
    assert "too many digits" in str(faults_of(f"a = {'9' * 5000}"))
    assert "digits" in str(faults_of(f"format = 0x{'f' * 5000}"))
