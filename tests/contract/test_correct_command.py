"""What ``loopsolver correct`` says of bent tubes, from words to words and files.

The tube leaves the pump along -y, goes along +x past the card, up, and back along -x
into the card, which lies 100 mm higher: three square bends, no two in one plane but the
last two.
"""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest

from loopsolver.cli.main import main
from loopsolver.cli.status import DONE, WRONG_INPUT
from loopsolver.plan import Plan
from loopsolver.tube.chain import Chain, chain_of
from tests.builders.bench_search import changed, laid
from tests.builders.texts import BOUGHT, head, part, port, run, table

SCENE: Final = "".join(
    [
        head(inner=[400, 400, 400], tube={**BOUGHT, "trim_allowance": 40}),
        part("pump", [50, 270, 50], port("out", [20, 0, 20], "-y")),
        part("card", [140, 82, 150], port("in", [20, 20, 0], "+x")),
        run("pump.out", "card.in", name="pump to card"),
        table("[rules]", {"candidates": 2, "max_bends": 3}),
    ]
)
RUN: Final = ("--run", "pump to card")


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return what stands in the plan of the tube."""
    folder = tmp_path_factory.mktemp("bent")
    (folder / "bent.toml").write_text(SCENE, encoding="utf-8")
    path = folder / "bent.plan.json"
    assert main(["route", str(folder / "bent.toml"), "-o", str(path)]) == DONE
    return path.read_text(encoding="utf-8")


@pytest.fixture
def plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str) -> Path:
    """Return the plan of the tube in a folder of its own, which is the working one."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bent.toml").write_text(SCENE, encoding="utf-8")
    path = Path("bent.plan.json")
    path.write_text(text, encoding="utf-8")
    return path


Printed = pytest.CaptureFixture[str]


def drawn(plan: Path) -> Chain:
    """Return the tube that is chosen."""
    candidate = Plan.read(plan).runs[0].chosen_candidate
    assert candidate is not None
    return chain_of(candidate.table)


def bent(chain: Chain, *, angles: list[float], turns: list[float]) -> Chain:
    """Return a tube whose bends and turns are off by so many degrees."""
    return replace(
        chain,
        angles=tuple(chain.angles + np.radians(angles)),
        turns=tuple(chain.turns + np.radians([0.0, *turns])),
    )


def measured(chain: Chain) -> list[str]:
    """Return the options that tell a tube's whole shape, turns in words."""
    turns = []
    for turn in np.degrees(chain.turns[1:]):
        wrapped = math.remainder(turn, 360.0)
        way = "clockwise" if wrapped > 0 else "anticlockwise"
        turns.append(f"{abs(wrapped):.9f} {way}")
    return [
        "--angles",
        *(f"{angle:.9f}" for angle in np.degrees(chain.angles)),
        "--turns",
        *turns,
        "--straights",
        "-",
        *(f"{straight:.9f}" for straight in chain.straights[1:-1]),
        "-",
    ]


def on_the_sheet(chain: Chain) -> tuple[np.ndarray, np.ndarray]:
    """Return place and direction of the far end: right, away, up on sheet 1."""
    far = laid(chain)
    place, along = far.positions[0], far.rotations[0, :, 2]
    return (
        np.array([place[2] - chain.straights[0], place[0], place[1]]),
        np.array([along[2], along[0], along[1]]),
    )


def in_ways(by: np.ndarray) -> str:
    """Return amounts right, away and up in words."""
    pairs = zip(by, (("right", "left"), ("away", "near"), ("up", "down")), strict=True)
    return ", ".join(f"{abs(one):.6f} {two[int(one < 0)]}" for one, two in pairs)


def missed(wanted: Chain, tube: Chain) -> list[str]:
    """Return the options that tell how a tube misses on its sheet."""
    (place, aim), (found, points) = on_the_sheet(wanted), on_the_sheet(tube)
    leans = np.degrees(np.arctan(points / (points @ aim) - aim))
    return ["--miss", in_ways(found - place), "--leans", in_ways(leans)]


def answered(plan: Path, printed: Printed, *options: str) -> dict[str, Any]:
    """Return what the command answers as JSON."""
    printed.readouterr()
    assert main(["correct", str(plan), *RUN, *options, "--json"]) == DONE
    told: dict[str, Any] = json.loads(printed.readouterr().out)
    return told


def done(chain: Chain, way: dict[str, Any]) -> Chain:
    """Return a tube with an advice done to it."""
    knobs, by = [], []
    for one in way["changes"]:
        knobs += [("angles", one["bend"] - 1), ("turns", one["bend"] - 1)]
        by += [math.radians(one["angle"]), math.radians(one["turn"])]
    return changed(chain, knobs, by)


def test_a_tube_as_drawn_fits_as_it_is(plan: Path, capsys: Printed) -> None:
    told = answered(plan, capsys, *measured(drawn(plan)))
    assert told["fits"]
    assert told["as_it_is"]["room"] > 0.99
    assert told["as_it_is"]["roll"] == pytest.approx(0.0, abs=1e-3)
    assert told["as_it_is"]["trims"] == pytest.approx(
        {"first": 0.0, "far": 0.0}, abs=0.01
    )
    assert told["advice"] == []


OFF: Final = {"angles": [3.0, -2.0, 1.0], "turns": [-3.0, 3.0]}


def test_from_angles_from_the_miss_and_from_both_it_says_what_mends_the_tube(
    plan: Path, capsys: Printed
) -> None:
    chain = drawn(plan)
    tube = bent(chain, **OFF)
    whole, miss = measured(tube), missed(chain, tube)
    for options in (whole, miss, [*whole, *miss]):
        told = answered(plan, capsys, *options)
        assert not told["fits"]
        best = told["advice"][0]
        assert len(best["changes"]) == 1
        again = answered(plan, capsys, *measured(done(tube, best)))
        assert again["fits"]


def test_the_words_say_which_way_in_degrees_and_millimetres(
    plan: Path, capsys: Printed
) -> None:
    tube = bent(drawn(plan), **OFF)
    assert main(["correct", str(plan), *RUN, *measured(tube)]) == DONE
    out = " ".join(capsys.readouterr().out.split())
    assert "It does not fit as it is." in out
    assert "Best: " in out
    assert ": the far end moves " in out
    assert "bend 1" in out
    assert not re.search("[-+\N{MINUS SIGN}]\\d", out)
    assert "once or twice at most" in out
    assert "gloves" in out


def test_with_the_miss_alone_it_does_not_claim_which_bend_is_wrong(
    plan: Path, capsys: Printed
) -> None:
    chain = drawn(plan)
    assert (
        main(["correct", str(plan), *RUN, *missed(chain, bent(chain, **OFF))]) == DONE
    )
    out = " ".join(capsys.readouterr().out.split())
    assert "says what cures the far end, not which bend is wrong" in out
    assert "then has" not in out
    assert main(["correct", str(plan), *RUN, "--miss", "3 right"]) == DONE
    assert "with --leans this is surer" in " ".join(capsys.readouterr().out.split())


def test_ends_that_were_measured_are_trimmed_from_there(
    plan: Path, capsys: Printed
) -> None:
    chain = drawn(plan)
    ends = [f"{chain.straights[0] + 40.0:.6f}", "-", "-", "-"]
    told = answered(plan, capsys, "--straights", *ends)
    assert told["as_it_is"]["trims"]["first"] == pytest.approx(40.0, abs=0.1)
    assert main(["correct", str(plan), *RUN, "--straights", *ends]) == DONE
    out = " ".join(capsys.readouterr().out.split())
    assert "trim 40.0 mm off the first end" in out
    short = [f"{chain.straights[0] - 15.0:.6f}", "-", "-", "-"]
    told = answered(plan, capsys, "--straights", *short)
    assert not told["fits"]


def test_a_tube_that_is_too_short_is_bent_anew(plan: Path, capsys: Printed) -> None:
    chain = drawn(plan)
    short = [f"{chain.straights[0] - 30.0:.6f}", "-", "-", "-"]
    angles = [f"{one:.6f}" for one in np.degrees(chain.angles)]
    command = ["correct", str(plan), *RUN, "--straights", *short, "--angles", *angles]
    assert main(command) == DONE
    out = " ".join(capsys.readouterr().out.split())
    assert "Bend it anew: the trim runs out" in out
    assert "the first end lacks 29." in out


def test_a_slip_in_a_turn_is_named(plan: Path, capsys: Printed) -> None:
    chain = drawn(plan)
    wrong = replace(chain, turns=(0.0, -chain.turns[1] + math.radians(90), 0.3))
    assert main(["correct", str(plan), *RUN, *measured(wrong)]) == DONE
    out = " ".join(capsys.readouterr().out.split())
    assert "off what is planned: look again which bend it is" in out


def test_built_keeps_the_tube_as_measured(plan: Path, capsys: Printed) -> None:
    chain = drawn(plan)
    tube = bent(chain, angles=[0.4, -0.3, 0.2], turns=[0.3, 0.2])
    before = Plan.read(plan)
    told = answered(plan, capsys, *measured(tube), "--built")
    after = Plan.read(plan)
    built = after.runs[0].built
    assert built is not None
    assert not after.is_edited
    assert replace(after.runs[0], built=None) == before.runs[0]
    assert after.loop == before.loop
    degrees = [bend.angle_deg for bend in built.table.bends]
    assert degrees == pytest.approx(np.degrees(tube.angles), abs=1e-4)
    assert built.gap.distance == pytest.approx(told["as_it_is"]["gap"], abs=1e-3)
    # It sits within what the built-in collar takes: half a millimetre at the mouth.
    seat = np.array(before.runs[0].candidates[0].centreline.vertices[0])
    assert math.dist(built.centreline.vertices[0], seat) < 0.6


def test_built_twice_takes_the_later_one_and_says_so(
    plan: Path, capsys: Printed
) -> None:
    chain = drawn(plan)
    for off in (0.4, -0.4):
        tube = bent(chain, angles=[off, 0.0, 0.0], turns=[0.0, 0.0])
        answered(plan, capsys, *measured(tube), "--built")
    tube = bent(chain, angles=[0.2, 0.0, 0.0], turns=[0.0, 0.0])
    assert main(["correct", str(plan), *RUN, *measured(tube), "--built"]) == DONE
    assert "in place of the one kept before" in capsys.readouterr().err
    built = Plan.read(plan).runs[0].built
    assert built is not None
    assert built.table.bends[0].angle_deg == pytest.approx(90.2, abs=1e-4)


def test_a_plan_that_changed_meanwhile_is_not_written_over(
    plan: Path, capsys: Printed, monkeypatch: pytest.MonkeyPatch
) -> None:
    from loopsolver.fitup import advice

    real = advice.advice

    def slow(*args: Any, **more: Any) -> Any:
        content = json.loads(plan.read_text())
        content["runs"][0]["chosen"] = (
            2 if len(content["runs"][0]["candidates"]) > 1 else 1
        )
        plan.write_text(json.dumps(content))
        return real(*args, **more)

    options = measured(drawn(plan))
    monkeypatch.setattr(advice, "advice", slow)
    assert main(["correct", str(plan), *RUN, *options, "--built"]) == WRONG_INPUT
    assert (
        "has changed since it was read, so nothing was written"
        in capsys.readouterr().err
    )
    assert "built" not in plan.read_text()


WRONG: Final[dict[str, tuple[tuple[str, ...], str]]] = {
    "nothing": ((), "nothing was measured: give --angles"),
    "too few angles": (
        ("--angles", "90", "90"),
        "--angles: found 2 values; wanted 3, one for each of the tube's bends",
    ),
    "too many turns": (
        ("--turns", "0", "0", "0"),
        "--turns: found 3 values; wanted 2, one for each of the tube's turns",
    ),
    "too few straights": (
        ("--straights", "30"),
        "--straights: found 1 value; wanted 4, one for each of the tube's straights",
    ),
    "no angle": (
        ("--angles", "90", "square", "-"),
        "--angles: value 2: found 'square'; wanted degrees above 0 and below 180",
    ),
    "angle of 0": (("--angles", "0", "-", "-"), "--angles: value 1: found '0'"),
    "angle of 180": (("--angles", "180", "-", "-"), "--angles: value 1: found '180'"),
    "turn without a way": (
        ("--turns", "88", "-"),
        "--turns: value 1: found '88', which says no way round; wanted \"88 clockwise\"",
    ),
    "turn too far": (
        ("--turns", "190 clockwise", "-"),
        "found '190 clockwise'; wanted",
    ),
    "straight with a sign": (
        ("--straights", "-", "-", "+3", "-"),
        "--straights: value 3: a length with a sign; wanted",
    ),
    "miss without a way": (
        ("--miss", "4"),
        "--miss: found '4' (a length without its way)",
    ),
    "miss both ways": (
        ("--miss", "4 right, 2 left"),
        "--miss: found '4 right, 2 left' (right and left; wanted one length for both)",
    ),
    "miss of a metre": (
        ("--miss", "4000 right"),
        "--miss: found '4000 right'; wanted at most 1000 mm each way",
    ),
    "leans alone": (("--leans", "1 right"), "--leans: found no --miss with it"),
    "leans in mm": (
        ("--miss", "1 right", "--leans", "1 mm right"),
        "--leans: found '1 mm'; wanted degrees up to 60, bare",
    ),
    "built by guess": (
        ("--miss", "1 right", "--built"),
        "--built: found bends without a measured angle",
    ),
    "no such candidate": (
        ("--angles", "90", "90", "90", "--candidate", "9"),
        "has no candidate 9",
    ),
}


@pytest.mark.parametrize(("options", "told"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_is_named_and_nothing_is_written(
    plan: Path, capsys: Printed, options: tuple[str, ...], told: str
) -> None:
    before = plan.read_bytes()
    assert main(["correct", str(plan), *RUN, *options]) == WRONG_INPUT
    assert told in capsys.readouterr().err
    assert plan.read_bytes() == before


def test_a_run_that_is_not_there_is_named(plan: Path, capsys: Printed) -> None:
    command = ["correct", str(plan), "--run", "front", "--angles", "90"]
    assert main(command) == WRONG_INPUT
    assert (
        "no run 'front' in this plan; there are 'pump to card'"
        in capsys.readouterr().err
    )


def test_fit_says_of_a_built_tube_whether_it_goes_in(
    plan: Path, capsys: Printed
) -> None:
    chain = drawn(plan)
    for off, word in ((0.4, "goes in; that takes "), (4.0, "does not go in")):
        tube = bent(chain, angles=[off, 0.0, 0.0], turns=[0.0, 0.0])
        told = answered(plan, capsys, *measured(tube), "--built")
        assert main(["fit", str(plan)]) == DONE
        assert f"pump to card, as built: it {word}" in " ".join(
            capsys.readouterr().out.split()
        )
        assert main(["fit", str(plan), "--json"]) == DONE
        room = json.loads(capsys.readouterr().out)["built"]["pump to card"]
        # Placed already, it is only trimmed by what a saw leaves.
        assert (room >= 0.0) == told["fits"]
