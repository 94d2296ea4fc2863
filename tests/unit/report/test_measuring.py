"""What is asked to be measured: closed forms, and adjusting anew with every candidate."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from loopsolver.errors import LoopsolverError
from loopsolver.lengths import MILLIMETRES
from loopsolver.report.measuring import REPEATS, Measuring, ends_of, measuring
from loopsolver.report.measuring_words import (
    best_words,
    empty_readings,
    empty_words,
    how_words,
    run_table,
    run_words,
)
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import Scene
from loopsolver.survey.adjustment import adjust
from tests.builders.measured_case import PLACES, measured_scene
from tests.builders.texts import table

OWN = {"from": "pump.out", "to": "card.in"}


def told(*readings: str) -> tuple[Scene, Measuring]:
    scene = measured_scene(*readings)
    return scene, measuring(scene, ends_of(scene, None))


def reading(along: str | None, *values: float, **ends: str) -> str:
    keys = {**OWN, **ends}
    way = {} if along is None else {"along": along}
    return table("[[readings]]", {**keys, **way, "value": list(values)})


def test_own_lengths_of_each_run_come_first_with_about_what_they_read() -> None:
    """30, 40 and 0 aside: 50 straight. Along y alone 200: that is the straight, too."""
    _, asked = told()
    assert [run.ends.name for run in asked.runs] == ["pump to card", "card to block"]
    first, second = asked.runs
    assert {(one.observation.along, round(one.length, 9)) for one in first.lengths} == {
        (None, 50.0),
        ((1.0, 0.0, 0.0), 30.0),
        ((0.0, 1.0, 0.0), 40.0),
        ((0.0, 0.0, 1.0), 0.0),
    }
    assert {round(one.length, 9) for one in second.lengths} == {0.0, 200.0}
    assert all(one.observation.along for one in second.lengths)
    assert [one.number for one in asked.lengths] == list(range(1, 8))
    for one in asked.lengths:
        assert one.start == pytest.approx(PLACES[one.observation.start])
        assert one.goal == pytest.approx(PLACES[one.observation.goal])


def test_how_well_ports_are_known_before_and_after() -> None:
    """Four written coordinates of 0.5 an axis: a variance of 1, so sqrt(3) in space.

    Three readings of 0.5 more, a weight of 12, leave 1 / 13 an axis.
    """
    scene = measured_scene()
    (across,) = measuring(scene, ends_of(scene, ["card to block"])).runs
    assert across.before == pytest.approx(math.sqrt(3.0))
    assert across.after == pytest.approx(math.sqrt(3.0 / 13.0))
    # the mean's spread is 0.5 / sqrt(3), of which 1 / 13 is checked: 4.132 s / sqrt(r)
    slip = 4.132 * 0.5 / math.sqrt(3.0) * math.sqrt(13.0)
    assert [one.slip_seen for one in across.lengths] == pytest.approx(
        [slip] * 3, abs=1e-3
    )


def test_the_least_known_run_comes_first_and_what_was_read_is_left_out() -> None:
    """Of the first run all is read but x: it is the better known one."""
    scene, asked = told(
        reading("+z", 0.0), reading("+y", 40.0, 40.0), reading(None, 50.0, 50.0)
    )
    second, first = asked.runs
    assert (second.ends.name, first.ends.name) == ("card to block", "pump to card")
    assert [how_words(one.observation, scene) for one in first.lengths] == [
        "along x left"
    ]
    assert asked.empty == ()


def test_a_reading_without_a_value_is_asked_for_again_and_named() -> None:
    _, asked = told(reading("+x"))
    assert asked.empty == ("pump.out to card.in along x",)
    names = [one.observation.name for one in asked.lengths]
    assert "pump.out to card.in along x" in names
    assert empty_words(asked) == (
        "1 reading in the scene without a value yet, counted as not taken: pump.out to "
        "card.in along x."
    )


def known_with(scene: Scene, one) -> float:
    """How far off ports lie from each other with a length read three times as it is."""
    assert scene.measures is not None
    network = scene.measures.network
    now = adjust(network)
    length = float(now.lengths([one])[0])
    read = replace(one, values=(length,) * REPEATS)
    found = adjust(replace(network, observations=(*network.observations, read)))
    pairs = [("pump.out", "card.in"), ("card.out", "block.in")]
    return math.sqrt(np.mean([np.trace(found.relative_covariance(*p)) for p in pairs]))


def test_the_best_length_is_the_one_that_leaves_ports_best_known() -> None:
    scene, asked = told()
    assert asked.best is not None
    assert asked.gain is not None
    left = {one.number: known_with(scene, one.observation) for one in asked.lengths}
    assert left[asked.best.number] == pytest.approx(min(left.values()))
    assert asked.gain.after == pytest.approx(min(left.values()))
    assert f"number {asked.best.number}, {asked.best.observation.name}." in best_words(
        asked
    )


def test_where_all_own_lengths_are_read_another_one_helps() -> None:
    own: list[tuple[dict[str, str], dict[str | None, float]]] = [
        (OWN, {"+x": 30.0, "+y": 40.0, "+z": 0.0, None: 50.0}),
        (
            {"from": "card.out", "to": "block.in"},
            {"+x": 0.0, "+y": 200.0, "+z": 0.0},
        ),
    ]
    every = [
        reading(along, *[value] * 3, **ends)
        for ends, lengths in own
        for along, value in lengths.items()
    ]
    _, asked = told(*every)
    assert [run.lengths for run in asked.runs] == [(), ()]
    assert asked.other is not None
    assert asked.best is asked.other
    assert "all between them is measured already" in run_words(
        asked.runs[0], MILLIMETRES
    )


def test_only_runs_that_are_asked_for() -> None:
    scene = measured_scene()
    (one,) = ends_of(scene, ["card to block"])
    assert (one.start, one.goal) == ("card.out", "block.in")
    with pytest.raises(
        LoopsolverError, match=r"no run 'x'; there are 'pump to card', "
    ):
        ends_of(scene, ["x"])
    with pytest.raises(LoopsolverError, match="no run whose ports are known"):
        ends_of(measured_scene(runs=False), None)


def test_a_scene_made_in_python_is_refused() -> None:
    scene = measured_scene()
    with pytest.raises(LoopsolverError, match="made in Python"):
        measuring(replace(scene, measures=None), ends_of(scene, None))


def test_a_row_says_where_from_where_to_and_which_way() -> None:
    scene, asked = told()
    rows = run_table(asked.runs[0], scene).rows
    assert ("pump.out", "card.in", "along y near", "40.0 mm") in [
        row[1:5] for row in rows
    ]
    assert ("pump.out", "card.in", "straight", "50.0 mm") in [row[1:5] for row in rows]
    assert run_words(asked.runs[1], MILLIMETRES) == (
        "block.in from card.out is known to 1.7 mm, with these to 0.5 mm"
    )


def test_empty_readings_are_read_as_not_taken_and_move_nothing() -> None:
    scene, asked = told()
    assert measured_scene().components == scene.components
    again = measured_scene(empty_readings(asked))
    assert again.components == scene.components
    kinds = [doubt.kind for doubt in doubts(again)]
    assert "reading not taken" in kinds
    assert again.measures is not None
    assert len(again.measures.readings) == len(asked.lengths)


def test_empty_readings_filled_in_with_what_is_true_move_nothing() -> None:
    """Every value as the places have it: filled in, in order, at the brackets."""
    scene, asked = told()
    text = empty_readings(asked)
    for one in asked.lengths:
        text = text.replace("value = []", f"value = [{one.length:.9f}]", 1)
    again = measured_scene(text)
    for part, same in zip(scene.components, again.components, strict=True):
        for port, moved in zip(part.ports, same.ports, strict=True):
            assert moved.position == pytest.approx(port.position, abs=1e-6)
    assert "readings disagree" not in [doubt.kind for doubt in doubts(again)]
    assert "reading not taken" not in [doubt.kind for doubt in doubts(again)]


def test_a_scene_in_inches_is_told_in_inches() -> None:
    scene = measured_scene(units="in")
    asked = measuring(scene, ends_of(scene, None))
    assert ("straight", "1.97 in") in [
        row[3:5] for row in run_table(asked.runs[0], scene).rows
    ]
    assert "in, between" in empty_readings(asked).replace("\n# ", " ")
