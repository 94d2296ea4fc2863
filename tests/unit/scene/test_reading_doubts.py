"""What is told of readings: which are wrong, what is checked by nothing, what is missing.

The words are those that a person reads; the figures are worked out beside them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from loopsolver.geometry.vectors import AXES, Point
from loopsolver.lengths import INCHES, MILLIMETRES
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene
from loopsolver.scene.reading_doubts import blunder_words, reading_doubts, scatter_words
from loopsolver.survey.adjustment import adjust
from loopsolver.survey.network import Network, Observation, Station
from loopsolver.survey.reliability import judged
from tests.builders.networks import datum
from tests.builders.scenes import part, port, scene, wanted

PLACES: dict[str, Point] = {
    "pump.out": (60.0, 300.0, 100.0),
    "block.in": (150.0, 120.0, 207.0),
    "roof.out": (150.0, 300.0, 305.0),
}

SCENE: Scene = replace(
    scene(
        *(
            part(name.split(".")[0], port(name, at, "+z"))
            for name, at in PLACES.items()
        ),
        inner=(400.0, 400.0, 400.0),
    ),
    runs=(wanted("pump to block", "pump.out", "block.in"),),
)


def reading(
    start: str, goal: str, side: str | None, *values: float, spread: float = 0.5
) -> Observation:
    along = f" along {side[1]}" if side else ""
    return Observation(
        name=f"{start} to {goal}{along}",
        start=start,
        goal=goal,
        along=AXES[side] if side else None,
        values=values,
        spread=spread,
    )


def written(*, without: str = "") -> Iterator[Observation]:
    """All places as written, true to the millimetre, save for one's height."""
    for name, place in PLACES.items():
        for letter, value in zip("xyz", place, strict=True):
            if (name, letter) != (without, "z"):
                yield Observation(
                    name=f"place of {name} along {letter}",
                    start="datum",
                    goal=name,
                    along=AXES[f"+{letter}"],
                    values=(value,),
                    spread=0.5,
                    kind="written",
                )


def told(*readings: Observation, without: str = "") -> list[Doubt]:
    stations = (datum(), *(Station(name=n, start=at) for n, at in PLACES.items()))
    observations = (*written(without=without), *readings)
    network = Network(stations=stations, observations=observations)
    return list(reading_doubts(SCENE, adjust(network)))


def test_without_readings_nothing_is_said() -> None:
    assert told() == []


def test_readings_that_agree_are_not_told_of() -> None:
    """107 up; 90 along x, 180 along y: the pair's difference, each axis checked."""
    assert (
        told(
            reading("pump.out", "block.in", "+z", 107.0),
            reading("pump.out", "block.in", "+x", 90.0),
            reading("pump.out", "block.in", "-y", 180.0),
        )
        == []
    )


def test_either_of_two_readings_is_wrong_and_the_diagonal_would_tell() -> None:
    """The height of block.in hangs on both; pump and roof are known from each other.

    112 + 98 = 210 where the roof is 205 above the pump: 5 too long, one or the other.
    """
    (first, *_) = told(
        reading("pump.out", "block.in", "+z", 112.0),
        reading("block.in", "roof.out", "+z", 98.0),
        reading("pump.out", "roof.out", "+z", 205.0),
        reading("datum", "pump.out", "+z", 100.0),
        reading("datum", "roof.out", "+z", 305.0),
        without="block.in",
    )
    assert first.kind == "readings disagree"
    assert first.message.startswith(
        "either pump.out to block.in along z (112.0, should be 107.0) is wrong by about "
        "5 mm, or block.in to roof.out along z (98.0, should be 93.0) is; "
    )
    assert first.message.endswith(" would tell")
    assert "block.in" in first.message.rsplit("; ", maxsplit=1)[1]


def test_one_of_three_values_is_named_with_what_it_should_read() -> None:
    """107, 107, 117 against a place as written of 107: the third is off by about 10."""
    doubts = told(reading("pump.out", "block.in", "+z", 107.0, 107.0, 117.0))
    (first,) = (one for one in doubts if one.kind == "readings disagree")
    assert first.message == (
        "one of 3 values of pump.out to block.in along z (117.0, should be 107.0) is wrong "
        "by about 10 mm; measure it again"
    )


def test_what_nothing_checks_is_named_with_what_would_check_it() -> None:
    doubts = told(reading("pump.out", "block.in", "+x", 90.0))
    (one,) = doubts
    assert (one.kind, one.where) == ("unchecked", "run 'pump to block'")
    assert one.message == (
        "nothing checks the height of block.in and its place along y from pump.out: a "
        "slip in any of place of pump.out along y, place of block.in along y, place of "
        "pump.out along z and place of block.in along z goes unseen; readings from "
        "pump.out to block.in along y and z would show it"
    )


def test_a_reading_not_taken_yet_is_told_of() -> None:
    doubts = told(reading("pump.out", "block.in", None))
    assert doubts[0].kind == "reading not taken"
    assert doubts[0].message.startswith(
        "1 reading not taken yet, pump.out to block.in: "
    )


def test_scatter_is_told_as_a_multiple_of_what_was_stated() -> None:
    assert scatter_words(2.04).startswith(
        "your readings scatter 2.0 times as much as stated, "
    )


@pytest.mark.parametrize(
    ("lengths", "value", "amount"),
    [(MILLIMETRES, "(117.0, ", "about 10 mm"), (INCHES, "(4.606, ", "about 0.394 in")],
)
def test_lengths_are_in_the_unit_of_the_scene(lengths, value, amount) -> None:
    repeats = reading("pump.out", "block.in", "+z", *[107.0] * 19, 117.0)
    stations = tuple(
        Station(name=name, start=at, free=free)
        for name, at, free in [
            ("pump.out", (0.0, 0.0, 0.0), ()),
            ("block.in", (0.0, 0.0, 1.0), (2,)),
        ]
    )
    found = adjust(Network(stations=stations, observations=(repeats,)))
    (suspicion,) = judged(found).suspicions
    words = blunder_words(suspicion, None, lengths)
    assert value in words
    assert amount in words
