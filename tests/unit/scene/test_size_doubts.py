"""Sizes that do not go together: the starter with one slip in it, and what is guessed.

What was meant is what stood there before the slip; the lengths in other units are
arithmetic. Sizes of tubes and fittings that are sold: common practice, no source.
"""

from __future__ import annotations

import re

import pytest

from loopsolver.scene.doubt import Doubt
from loopsolver.scene.reader import load_scene, scene_from_text
from loopsolver.scene.size_doubts import size_doubts
from loopsolver.scene.starter import STARTER
from tests.commands import SCENES

ROBIN = (SCENES / "robin.toml").read_text("utf-8")


PLAIN = re.sub(
    r"\[fittings.elbow\]\n(.+\n)+",
    "",
    STARTER.replace('["collar", "elbow"]', '"collar"'),
)
"""The starter with one kind of fitting."""


def written(text: str, values: dict[str, str]) -> str:
    """Return a scene's text with other values at the first line of each key."""
    lines = text.splitlines()
    for key, value in values.items():
        place = next(i for i, line in enumerate(lines) if line.startswith(f"{key} ="))
        lines[place] = f"{key} = {value}"
    return "\n".join(lines)


def doubts_of(text: str, **values: str) -> list[Doubt]:
    return list(size_doubts(scene_from_text(written(text, values), file="x.toml")))


def test_a_tube_whose_unit_was_forgotten():
    (doubt,) = doubts_of(PLAIN, outer_diameter="0.5", inner_diameter="0.375")
    assert doubt.where == "tube.outer_diameter"
    assert doubt.message.startswith(
        "0.5 mm outside does not go with fittings.collar.diameter (22 mm, 44 times), "
    )
    assert 'if 0.5 in was meant (12.7 mm), write "0.5 in"' in doubt.message
    (doubt,) = doubts_of(PLAIN, outer_diameter="1.4", inner_diameter="1")
    assert 'if 1.4 cm was meant (14 mm), write "1.4 cm"' in doubt.message


def test_a_tube_and_its_fitting_and_former_whose_unit_was_forgotten():
    (doubt,) = doubts_of(
        PLAIN,
        outer_diameter="0.5",
        inner_diameter="0.375",
        bend_radius="1",
        height="0.8",
        depth="0.5",
        diameter="0.87",
        straight_beyond="0.2",
    )
    assert doubt.where == "tube.outer_diameter"
    assert "tube.stock_length (500 mm, 1000 times)" in doubt.message
    assert doubt.message.endswith(
        'if 0.5 in was meant (12.7 mm), write "0.5 in", and likewise in fittings and '
        "bend radii"
    )


@pytest.mark.parametrize(
    ("where", "value", "guess"),
    [
        ("tube.bend_radius", "280", "a tenth of it, 28 mm,"),
        ("tube.inner_diameter", "1", 'if 1 cm was meant (10 mm), write "1 cm"'),
        ("tube.inner_diameter", "0.4", 'if 0.4 in was meant (10.16 mm), write "0.4 in"'),
        ("tube.trim_allowance", "240", "a tenth of it, 24 mm,"),
        ("tube.trim_allowance", "1.2", 'if 1.2 in was meant (30.48 mm), write "1.2 in"'),
        ("tube.stock_length", "100", 'if 100 cm was meant (1000 mm), write "100 cm"'),
        ("tube.stock_length", "9500", "25.4th part of it, 374.02 mm,"),
        ("rules.clearance", "30", "a tenth of it, 3 mm,"),
        ("rules.clearance", "0.125", 'if 0.125 in was meant (3.175 mm), write'),
        ("rules.straight_between_bends", "150", "a tenth of it, 15 mm,"),
        ("fittings.collar.height", "200", "a tenth of it, 20 mm,"),
        ("fittings.collar.diameter", "220", "a tenth of it, 22 mm,"),
        ("fittings.collar.depth", "1.2", 'if 1.2 cm was meant (12 mm), write "1.2 cm"'),
        ("fittings.collar.straight_beyond", "50", "a tenth of it, 5 mm,"),
    ],
)  # fmt: skip
def test_one_size_of_another_unit(where: str, value: str, guess: str):
    (doubt,) = doubts_of(PLAIN, **{where.rpartition(".")[2]: value})
    assert (doubt.kind, doubt.where) == ("sizes", where)
    assert doubt.message.startswith(f"{value} mm is ")
    assert "the tube's outer diameter of 14 mm" in doubt.message
    assert guess in doubt.message


def test_a_case_in_another_unit():
    (doubt,) = doubts_of(PLAIN, inner="[20, 30, 28]")
    assert doubt.where == "case.inner"
    assert "its least side of 20 mm is 1.4 times" in doubt.message
    assert 'write "20 cm"' in doubt.message
    (doubt,) = doubts_of(PLAIN, inner="[1800, 3000, 2800]")
    assert "its greatest side of 3000 mm is 214 times" in doubt.message
    assert "a tenth of it, 300 mm," in doubt.message


def test_a_scene_in_inches():
    (doubt,) = doubts_of(ROBIN, clearance="3")
    assert doubt.message.startswith(
        "3 in is 8 times the tube's outer diameter of 0.375"
    )
    assert 'if 3 mm was meant (0.11811 in), write "3 mm"' in doubt.message
    (doubt,) = doubts_of(ROBIN, bend_radius="19")
    assert 'if 19 mm was meant (0.74803 in), write "19 mm"' in doubt.message


def test_one_of_several_formers_and_a_runs_own():
    (doubt,) = doubts_of(PLAIN, bend_radius="[28, 280]")
    assert doubt.where == "tube.bend_radius[2]"
    own = PLAIN.replace('name = "tank to block"', 'name = "a"\nbend_radius = 300')
    (doubt,) = doubts_of(own)
    assert doubt.where == "run 'a': bend_radius"


def test_an_elbow_is_held_against_the_tube_too():
    elbow = (
        "[fittings.bow]\nheight = 25\ndepth = 12\ndiameter = 22\n"
        "straight_beyond = 5\nturn = 90\nreach = 260\n[components.tank]"
    )
    text = PLAIN.replace("[components.tank]", elbow, 1)
    text = text.replace('fitting = "collar"', 'fitting = ["collar", "bow"]')
    (doubt,) = doubts_of(text)
    assert doubt.where == "fittings.bow.reach"
    assert "a tenth of it, 26 mm," in doubt.message


def test_what_fits_no_unit_is_told_without_a_guess():
    (doubt,) = doubts_of(PLAIN, inner_diameter="13.9")
    assert doubt.message.endswith(
        "at most 0.97 times is usual; look at it and its unit again"
    )


@pytest.mark.parametrize("name", ["wren", "heron", "robin"])
def test_the_demonstrations_are_in_no_doubt(name: str):
    assert not list(size_doubts(load_scene(SCENES / f"{name}.toml")))


TUBES = [
    (outer, inner)
    for outer, inners in {
        8: (6,), 10: (8, 7), 12: (10, 8), 12.7: (9.5, 10.9), 14: (10, 11), 15: (13.6,),
        16: (12, 13, 14), 19: (13,), 22: (20.2,), 28: (26.2,), 35: (32.6,),
    }.items()
    for inner in inners
]  # fmt: skip


@pytest.mark.parametrize(("outer", "inner"), TUBES)
def test_sizes_that_are_sold_are_in_no_doubt(outer: float, inner: float):
    for wide, radius, stock, trim, clearance, case in (
        (4, 1.0, 500, 0, 0, "[120, 300, 280]"),
        (4, 4.0, 3000, 40, 1, "[350, 700, 900]"),
        (10, 1.5, 1000, 10, 5, "[200, 345, 190]"),
        (10, 2.0, 300, 30, 3, "[215, 470, 510]"),
    ):
        assert not doubts_of(
            PLAIN,
            inner=case,
            outer_diameter=str(outer),
            inner_diameter=str(inner),
            bend_radius=str(radius * outer),
            stock_length=str(stock),
            trim_allowance=str(trim),
            clearance=str(clearance),
            diameter=str(outer + wide),
            height="18",
            depth="8",
        )
