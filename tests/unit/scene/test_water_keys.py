"""What a scene says of its coolant comes out as frozen values, in one unit each."""

from __future__ import annotations

import pytest

from loopsolver.geometry.solids import Cylinder
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.water import Coolant, OpenPlace, Water
from tests.contract.broken import SOUND

WATER = """\
[coolant]
liquid = "propylene glycol"
share = 25
temperature = "95 °F"
flow = "120 L/h"
[filling]
vent = "tank.in"
drain = "pump.out"
tilts = ["left", "away", "left"]
[components.pump.water]
pump = [[10, "1.2 m"], [0, "0.39 bar"], ["300 L/h", 29]]
loss = [[4, 9.5]]
weighed = [812, "0.86 kg"]
heat = 12.5
[components.tank.water]
volume = "0.35 L"
heat = "rest"
limit = "1 bar"
[[components.tank.water.spaces]]
cylinder = { diameter = 50, height = 140 }
centre = [30, 30, 75]
axis = "+z"
"""


def scene(more: str = WATER) -> Scene:
    return scene_from_text(
        (SOUND + more).replace("reach = 20\n", "reach = 20\nloss = 1.2\n"),
        file="siskin.toml",
    )


def part(name: str) -> Water:
    return next(one.water for one in scene().components if one.name == name)


def test_coolant_and_filling() -> None:
    """95 °F are 35 °C and 120 L/h are 2 L/min: by the definitions of the units."""
    assert scene().coolant == Coolant(
        liquid="propylene glycol", share=25.0, temperature_c=35.0, flow_l_min=2.0
    )
    found = scene().filling
    assert found is not None
    assert found.tilts == ("left", "away")


def test_openings_stand_where_their_ports_and_points_do() -> None:
    """By hand: the pump, at 20, 20, 0, is turned by 90° about z: x goes to y, y to -x."""
    found = scene(
        WATER.replace("tank.in", "pump.lid").replace(
            "[components.pump.water]",
            "[components.pump.points]\nlid = [10, -20, 40]\n[components.pump.water]",
        )
    ).filling
    assert found is not None
    assert found.vent == OpenPlace(
        name="pump.lid", position=(40.0, 30.0, 40.0), direction=None
    )
    assert found.drain == OpenPlace(
        name="pump.out", position=(45.0, 80.0, 20.0), direction=(0.0, 1.0, 0.0)
    )
    assert found.drain.component == "pump"
    corner = scene(WATER.replace("tank.in", "pump.+x+y+z")).filling
    assert corner is not None
    assert corner.vent == OpenPlace(
        name="pump.+x+y+z", position=(70.0, 80.0, 40.0), direction=None
    )


def test_pump_curve_in_the_order_of_its_flows() -> None:
    """1 m of water at 20 °C is 9.7891 kPa (CoolProp 8.0.0, 998.207 kg/m³)."""
    (zero, shut), (five, mid), (ten, far) = part("pump").pump
    assert (zero, five, ten) == (0.0, 5.0, 10.0)
    assert (shut, mid) == (39.0, 29.0)
    assert far == pytest.approx(1.2 * 9.7891, abs=1e-3)


def test_weighed_part_holds_what_the_water_weighs() -> None:
    """48 g of water at 20 °C, 0.998207 g/mL (CoolProp 8.0.0), are 48.086 mL."""
    assert part("pump").volume_ml == pytest.approx(48.086, abs=1e-3)
    assert part("tank").volume_ml == 350.0


def test_heat_limit_and_losses() -> None:
    assert (part("pump").heat_w, part("tank").heat_w) == (12.5, "rest")
    assert (part("pump").limit_kpa, part("tank").limit_kpa) == (None, 100.0)
    assert part("pump").loss == ((4.0, 9.5),)
    elbow = next(
        fitting
        for fitting in scene().port("tank.in").fittings
        if fitting.name == "elbow"
    )
    assert elbow.loss == 1.2


def test_spaces_stand_in_the_case_as_bodies_do() -> None:
    """The tank's origin is at (100, 200, 0), so its middle is at (130, 230, 75)."""
    (space,) = part("tank").spaces
    assert isinstance(space, Cylinder)
    assert space.frame.origin == (130.0, 230.0, 75.0)
    assert part("pump").spaces == ()


def test_nothing_written_is_nothing_known() -> None:
    bare = scene("")
    assert (bare.coolant, bare.filling) == (None, None)
    assert {one.water for one in bare.components} == {Water()}
    assert Water().volume_ml is None
