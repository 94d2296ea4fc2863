"""One tube told in words: against closed forms, and as a scene to go on with."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from loopsolver.cli.main import main
from tests.commands import SCENES

RADIUS = 28.0  # twice the default outer diameter of 14 mm
SEAT = 8.0  # a collar 20 mm high holds the tube 12 mm deep
COLD = 12.0 + 5.0  # from the seat to where the tube may bend
CORNER = RADIUS * (2.0 - math.pi / 2.0)  # what a square bend saves against its corner
SLANT = 2.0 * RADIUS * math.tan(math.pi / 8.0) - RADIUS * math.pi / 4.0  # at 45 degrees

WAYS = {
    "right": (1, 0, 0),
    "left": (-1, 0, 0),
    "away": (0, 1, 0),
    "near": (0, -1, 0),
    "up": (0, 0, 1),
    "down": (0, 0, -1),
}

CLOSED = [
    # The legs by hand, less what each bend saves (plane geometry; 1/4 of 2 pi R).
    ("150 away", "away", "away", [], 0, 150 - 2 * SEAT),
    ("100 right, 90 away", "away", "right", [], 1, 100 + 90 - 2 * SEAT - CORNER),
    ("100 left", "up", "down", [], 2, 2 * (COLD + RADIUS) + 100 - 2 * CORNER),
    (
        "100 down, 150 near",
        "near",
        "near",
        [],
        2,
        100 + 150 - 2 * SEAT - 2 * CORNER,
    ),
    (  # rolled: 60 and 80 are the sides of a right triangle on 100
        "60 right, 80 up, 200 away",
        "away",
        "away",
        [],
        2,
        100 + 200 - 2 * SEAT - 2 * CORNER,
    ),
    (
        "100 right, 250 away",
        "away",
        "away",
        ["--bend-angles", "45"],
        2,
        250 - 2 * SEAT - 100 + 100 * math.sqrt(2) - 2 * SLANT,
    ),
]


def told(capsys, *words):
    """What the command prints as JSON, and its status."""
    status = main(["tube", *map(str, words), "--json"])
    return json.loads(capsys.readouterr().out), status


@pytest.mark.parametrize(("to", "leaves", "enters", "more", "bends", "length"), CLOSED)
def test_lengths_are_those_of_plane_geometry(
    to, leaves, enters, more, bends, length, capsys
):
    found, status = told(
        capsys, "--to", to, "--leaves", leaves, "--enters", enters, *more
    )
    assert status == 0
    best = found["run"]["candidates"][0]
    assert best["bends"] == bends
    assert best["length"] == pytest.approx(length, abs=1e-4)  # plans hold 4 decimals


def laid(bent):
    """End of the tube and its direction, laid by turning a frame bend by bend.

    From the origin along x, the first bend in the plane of x and y.
    """
    frame, at = Rotation.identity(), np.zeros(3)
    radius = bent["bend_radius"]
    for row in bent["bend_table"]:
        at = at + row["straight"] * frame.apply([1, 0, 0])
        if "angle" in row:
            frame = frame * Rotation.from_euler("x", row["rotation"], degrees=True)
            angle = math.radians(row["angle"])
            arc = [radius * math.sin(angle), radius * (1 - math.cos(angle)), 0]
            at = at + frame.apply(arc)
            frame = frame * Rotation.from_euler("z", row["angle"], degrees=True)
    return at, frame.apply([1, 0, 0])


@pytest.mark.parametrize(
    ("offset", "leaves", "enters"),
    [
        ({"right": 83, "up": 112}, "away", "down"),
        ({"left": 83, "up": 112}, "away", "down"),
        ({"right": 90, "near": 120, "down": 60}, "left", "up"),
        ({"away": 140, "down": 75}, "down", "near"),
        ({"left": 60, "away": 80, "up": 100}, "up", "right"),
    ],
)
def test_the_bend_table_leads_from_the_one_port_to_the_other(
    offset, leaves, enters, capsys
):
    """As far, as askew and as handed as the words say; where it starts is free."""
    words = ", ".join(f"{length} {way}" for way, length in offset.items())
    found, status = told(capsys, "--to", words, "--leaves", leaves, "--enters", enters)
    assert status == 0
    out, into = np.array(WAYS[leaves]), np.array(WAYS[enters])
    faces = sum(length * np.array(WAYS[way]) for way, length in offset.items())
    wanted = faces - SEAT * out - SEAT * into
    end, along = laid(found["bends"])
    start = np.array([1.0, 0.0, 0.0])
    assert np.linalg.norm(end) == pytest.approx(np.linalg.norm(wanted), abs=1e-2)
    assert start @ along == pytest.approx(out @ into, abs=1e-4)
    assert start @ end == pytest.approx(out @ wanted, abs=1e-2)
    assert along @ end == pytest.approx(into @ wanted, abs=1e-2)
    handed = np.linalg.det([start, along, end])
    assert handed == pytest.approx(np.linalg.det([out, into, wanted]), abs=1e-2)


def test_where_nothing_is_known_the_gap_ends_where_it_was_looked(capsys):
    """Room is looked at 200 mm round the ports; the tube lies on their line."""
    ways = ["--leaves", "away", "--enters", "away"]
    found, _ = told(capsys, "--to", "150 away", *ways)
    (best, *_) = found["run"]["candidates"]
    assert best["nearest"]["name"] == "nothing known"
    assert best["gap"] == pytest.approx(200.0 - 7.0, abs=1e-3)


POINTS = {
    # A port is entered against the way it points.
    ("away", "down"): (
        "The first port points away from you; the second opens upwards, since the "
        "tube enters down."
    ),
    ("up", "near"): (
        "The first port opens upwards; the second points away from you, since the "
        "tube enters near."
    ),
    ("left", "left"): (
        "The first port points to your left; the second points to your right, since "
        "the tube enters left."
    ),
}


@pytest.mark.parametrize(("ways", "sentence"), POINTS.items())
def test_the_answer_repeats_where_the_ports_are_and_point(ways, sentence, capsys):
    leaves, enters = ways
    words = "7.5 cm left, 112 up, 90 near"
    found, _ = told(capsys, "--to", words, "--leaves", leaves, "--enters", enters)
    first, second, *_ = found["sentences"]
    assert "75.0 mm left, 90.0 mm near and 112.0 mm up from" in first
    assert second == sentence


def test_the_answer_shows_candidates_and_the_bend_table(capsys):
    words = ["--to", "100 right, 90 away", "--leaves", "away", "--enters", "right"]
    assert main(["tube", *words]) == 0
    printed = capsys.readouterr().out
    for line in (
        "The first port points away from you; the second points to your left,",
        "   rank  bends  planes",
        "Bend table",
        "Marks along the blank, from its first end",
        "gloves, fresh air",
    ):
        assert line in printed
    straight = 100 - SEAT - RADIUS
    assert f"Closing straight: {straight:.1f} mm" in printed


def test_inches_are_inches_in_words_and_in_the_answer(capsys):
    ways = ["--leaves", "away", "--enters", "right"]
    inches, _ = told(capsys, "--to", "4 in right, 3 1/2 in away", *ways)
    same, _ = told(capsys, "--to", "101.6 right, 8.89 cm away", *ways)
    assert inches["bends"]["bend_table"] == same["bends"]["bend_table"]
    assert main(["tube", "--to", "4 in right, 3 1/2 in away", *ways]) == 0
    assert "4.000 in (101.6 mm) right" in " ".join(capsys.readouterr().out.split())


def test_a_plain_number_beside_inches_is_in_millimetres(capsys):
    ways = ["--leaves", "away", "--enters", "right"]
    found, _ = told(capsys, "--to", "4 in right, 90 away", *ways)
    wanted = 101.6 + 90 - 2 * SEAT - CORNER
    assert found["run"]["candidates"][0]["length"] == pytest.approx(wanted, abs=1e-4)
    words = ["--to", "4 in right, 4 in away", "--outer", "12", "--inner", "8"]
    found, _ = told(capsys, *words, *ways)
    assert found["bends"]["bend_radius"] == 24.0


def test_a_scene_lends_its_unit_stock_and_fitting(capsys):
    """Robin: copper of 3/8 in round 3/4 in, sleeves 0.7 in high and 0.4 in deep."""
    ways = ["--leaves", "up", "--enters", "right", "--scene", SCENES / "robin.toml"]
    found, status = told(capsys, "--to", "6 right, 5 up", *ways)
    assert status == 0
    radius, seat = 0.75 * 25.4, 0.3 * 25.4
    wanted = 11 * 25.4 - 2 * seat - radius * (2.0 - math.pi / 2.0)
    assert found["run"]["candidates"][0]["length"] == pytest.approx(wanted, abs=1e-4)
    radius = 16.0  # what is said goes before what is lent
    found, _ = told(capsys, "--to", "6 right, 5 up", *ways, "--bend-radius", "16 mm")
    wanted = 11 * 25.4 - 2 * seat - radius * (2.0 - math.pi / 2.0)
    assert found["run"]["candidates"][0]["length"] == pytest.approx(wanted, abs=1e-4)


def test_another_diameter_is_not_bent_round_the_lent_former(capsys):
    words = ["--to", "200 right, 190 up", "--leaves", "up", "--enters", "right"]
    found, _ = told(
        capsys,
        *words,
        *("--scene", SCENES / "heron.toml", "--outer", "12", "--inner", "8"),
    )
    assert found["bends"]["bend_radius"] == 24.0  # twice 12, not heron's 28


@pytest.mark.parametrize("lent", [[], ["--scene", SCENES / "robin.toml"]])
def test_the_scene_that_is_written_can_be_checked_and_routes_the_same_tube(
    lent, here, capsys
):
    path = here / "one tube.toml"
    words = ["--to", '4.5 in right, 2" up', "--leaves", "away", "--enters", "down"]
    found, status = told(capsys, *words, *lent, "-o", path)
    assert status == 0
    assert found["scene"] == str(path)
    assert main(["check", str(path), "--json"]) == 0
    checked = json.loads(capsys.readouterr().out)
    assert {doubt["kind"] for doubt in checked["doubts"]} == {"no body"}
    assert main(["route", str(path), "--json"]) == 0
    routed = json.loads(capsys.readouterr().out)
    assert routed["runs"] == [found["run"]]
    bends = ["bends", str(here / "one tube.plan.json"), "--json"]
    assert main(bends) == 0
    (bent,) = json.loads(capsys.readouterr().out)["runs"]
    assert bent["candidate"] == found["bends"]["candidate"]
    assert bent["length"] == pytest.approx(found["bends"]["length"], abs=1e-4)


def test_no_scene_is_written_over(here, capsys):
    path = here / "mine.toml"
    path.write_text("mine", encoding="utf-8")
    words = ["tube", "--to", "100 right", "--leaves", "up", "--enters", "down"]
    assert main([*words, "-o", str(path)]) == 2
    assert "stands there already" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == "mine"
    assert main([*words, "-o", str(path), "--force"]) == 0
    lending = [*words, "--scene", str(path), "-o", str(path), "--force"]
    before = path.read_bytes()
    assert main(lending) == 2
    assert "is the file that is read" in capsys.readouterr().err
    assert path.read_bytes() == before


def test_no_tube_is_a_result_with_status_3(here, capsys):
    """Five bends of 30 degrees are 150: they cannot turn a tube round."""
    words = ["--to", "100 right", "--leaves", "up", "--enters", "down"]
    path = here / "none.toml"
    found, status = told(capsys, *words, "--bend-angles", "30", "-o", path)
    assert status == 3
    assert found["run"]["candidates"] == []
    assert found["run"]["why"]
    assert found["bends"] is None
    assert path.exists()


WRONG = [
    (["--to", "83 rihgt"], "argument --to: in '83 rihgt'"),
    (["--to", "-83 right"], "the other way is left"),
    (["--to", "30000 right"], "--to: found 30000 mm; wanted a length"),
    (["--leaves", "backwards"], "argument --leaves: found 'backwards'"),
    (["--enters", "dwon"], "nearest: 'down'"),
    (["--outer", "16"], "found --outer without --inner; wanted both"),
    (["--inner", "8"], "found --inner without --outer; wanted both"),
    (["--outer", "-16", "--inner", "8"], "argument --outer: found '-16'"),
    (["--outer", "16 miles", "--inner", "8"], "the unit 'miles' is not known"),
    (["--outer", "12", "--inner", "14"], "--inner: found 14 mm; wanted less than the"),
    (["--outer", "500", "--inner", "14"], "--outer: found 500 mm; wanted a length"),
    (["--material", "glass"], '--material: found "glass"; wanted "acrylic" or'),
    (["--bend-radius", "5"], "--bend-radius: found 5 mm; wanted a bend radius above"),
    (["--bend-radius", "big"], "argument --bend-radius: found 'big'"),
    (["--bend-angles", "45", "200"], "--bend-angles: found 200; wanted an angle"),
    (["--bend-angles", "any", "90"], 'found "any" beside other angles'),
    (["--bend-angles", "square"], "argument --bend-angles: found 'square'"),
    (["--scene", "nowhere.toml"], "nowhere.toml: found no such file"),
    (["-o", "nowhere/tube.toml"], "nowhere/tube.toml: there is no folder"),
]


@pytest.mark.parametrize(("words", "said"), WRONG, ids=str)
def test_what_is_wrong_is_told_by_its_option_and_nothing_is_written(
    words, said, here, capsys
):
    usual = ["--to", "83 right", "--leaves", "up", "--enters", "down"]
    out = [] if "-o" in words else ["-o", "tube.toml"]
    assert main(["tube", *usual, *words, *out]) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert captured.out == ""
    assert not list(here.iterdir())
