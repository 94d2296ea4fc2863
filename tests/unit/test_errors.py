"""A fault as one line that a person can act on: the wording is written out here."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.errors import Fault, SceneError

FAULT = Fault(
    file="wren.toml",
    line=7,
    key_path="tube.diametre",
    found="a key that is not known",
    wanted="one of those in the schema",
)


def test_a_fault_says_where_what_and_what_is_wanted() -> None:
    assert str(FAULT) == (
        "wren.toml:7: tube.diametre: found a key that is not known; "
        "wanted one of those in the schema"
    )


def test_where_nothing_can_be_named_it_is_left_out() -> None:
    assert str(replace(FAULT, line=None)).startswith("wren.toml: tube.diametre: found")
    assert str(replace(FAULT, key_path="")).startswith("wren.toml:7: found")
    assert str(replace(FAULT, line=None, key_path="")).startswith("wren.toml: found")


def test_the_nearest_known_key_is_told_where_there_is_one() -> None:
    assert str(replace(FAULT, nearest="diameter")).endswith("; nearest: 'diameter'")


def test_a_fault_stays_one_line() -> None:
    assert "\n" not in str(replace(FAULT, found="two\nlines"))


def test_a_scene_error_tells_every_fault_on_a_line_of_its_own() -> None:
    other = replace(FAULT, line=9)
    error = SceneError((FAULT, other))
    assert str(error).splitlines() == [str(FAULT), str(other)]
    assert error.faults == (FAULT, other)
