"""Keys for bending, fitting and assembling come out as frozen values, in one unit each."""

from __future__ import annotations

import math

import pytest

from loopsolver.scene.model import Acceptance, Assembly, Scene, Spread
from loopsolver.scene.reader import scene_from_text
from loopsolver.tube.springback import BendTest
from tests.contract.broken import SOUND
from tests.contract.inches import in_inches

MORE = """\
[spread]
straight = 1.5
angle = 2
turn = 3
bias = 0
bore = 0.2
[[test_bends]]
bent = 90
got = 86.5
blank = [199, 201]
legs = [105.5, [104, 106]]
[[test_bends]]
bent = 30
got = 27.5
[assembly]
movable = ["pump", "fan", "pump"]
last = ["tank"]
"""
TUBE = 'temperatures = ["68 °F", 45]\n'
SIZES = "reach = 20\nbore = [14.2, 14.3]\n"
TAKES = "turn = 90\naccepts = { sideways = 0.4 }\n"


def scene(text: str) -> Scene:
    return scene_from_text(text, file="siskin.toml")


WHOLE = (
    SOUND.replace("[rules]\n", f"{TUBE}[rules]\n").replace("reach = 20\n", SIZES) + MORE
)


def with_all() -> Scene:
    return scene(WHOLE)


def test_spreads_in_millimetres_and_radians() -> None:
    assert with_all().spread == Spread(
        straight=1.5,
        angle=math.radians(2.0),
        turn=math.radians(3.0),
        bias=0.0,
        bore=0.2,
    )


def test_what_is_not_written_is_what_the_handbook_of_the_scene_file_says() -> None:
    """1 mm, 1 degree, 1 degree, 0.5 degree, 0.1 mm; 0.5 mm and 1 degree in a mouth."""
    bare = scene(SOUND)
    assert (bare.spread.straight, bare.spread.bore) == (1.0, 0.1)
    degrees = [bare.spread.angle, bare.spread.turn, bare.spread.bias]
    assert [math.degrees(each) for each in degrees] == pytest.approx([1.0, 1.0, 0.5])
    (collar,) = bare.port("pump.out").fittings
    assert collar.bore is None
    assert collar.accepts.sideways == 0.5
    assert math.degrees(collar.accepts.tilt) == pytest.approx(1.0)
    assert (bare.test_bends, bare.assembly) == ((), None)
    assert (bare.tube.temperatures_c, bare.tube.made) == (None, "extruded")


def test_test_bends_with_the_means_of_their_readings() -> None:
    assert with_all().test_bends == (
        BendTest(bent_deg=90.0, got_deg=86.5, blank=200.0, legs=(105.5, 105.0)),
        BendTest(bent_deg=30.0, got_deg=27.5),
    )
    assert [one.where for one in with_all().readings] == [
        "fittings.elbow.bore",
        "test_bends[1].blank",
        "test_bends[1].legs[2]",
    ]


def test_what_may_be_moved_each_once() -> None:
    assert with_all().assembly == Assembly(movable=("pump", "fan"), last=("tank",))
    assert scene(f"{SOUND}[assembly]\nmovable = []\n").assembly == Assembly()


def test_temperatures_in_degrees_celsius() -> None:
    """68 °F are 20 °C."""
    assert with_all().tube.temperatures_c == (20.0, 45.0)


def test_fittings_with_a_bore_and_with_what_they_take() -> None:
    elbow = with_all().port("tank.in").fittings[1]
    assert elbow.bore == pytest.approx(14.25)
    taking = scene(SOUND.replace("turn = 90\n", TAKES)).port("tank.in").fittings[1]
    assert taking.accepts == Acceptance(sideways=0.4)


@pytest.mark.parametrize(
    ("made", "bears"),
    [("", 5.2), ('made = "extruded"\n', 5.2), ('made = "cast"\n', 10.3)],
)
def test_cast_acrylic_bears_more_for_ever(made: str, bears: float) -> None:
    """Design stress for loads that stay: 750 and 1 500 psi of 6.894757 kPa."""
    acrylic = SOUND.replace('"petg"', '"acrylic"').replace(
        "[rules]\n", f"{made}[rules]\n"
    )
    assert scene(acrylic).tube.lasting_mpa == bears
    assert bears == pytest.approx({5.2: 750, 10.3: 1500}[bears] * 6.894757e-3, abs=0.05)


@pytest.mark.parametrize("material", ["petg", "copper"])
def test_no_figure_is_told_of_what_no_source_says(material: str) -> None:
    assert scene(SOUND.replace("petg", material)).tube.lasting_mpa is None


def test_inches_are_converted() -> None:
    """The same scene with its lengths in inches of 25.4 mm, digit by digit."""
    millimetres, inches = with_all(), scene(in_inches(WHOLE))
    assert inches.units == "in"
    assert inches.spread.straight == pytest.approx(1.5, abs=1e-9)
    assert inches.spread.bore == pytest.approx(0.2, abs=1e-9)
    assert inches.spread.angle == millimetres.spread.angle
    assert inches.port("tank.in").fittings[1].bore == pytest.approx(14.25, abs=1e-9)
    first, second = inches.test_bends
    assert (first.bent_deg, first.got_deg, second) == (
        90.0,
        86.5,
        with_all().test_bends[1],
    )
    assert first.blank == pytest.approx(200.0, abs=1e-9)
    assert first.legs == pytest.approx((105.5, 105.0), abs=1e-9)
    takes = in_inches(SOUND.replace("turn = 90\n", TAKES))
    accepts = scene(takes).port("tank.in").fittings[1].accepts
    assert accepts.sideways == pytest.approx(0.4, abs=1e-9)
    assert math.degrees(accepts.tilt) == pytest.approx(1.0)
