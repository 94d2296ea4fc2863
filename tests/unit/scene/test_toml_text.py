"""What is written as TOML, read back by Python's own reader."""

from __future__ import annotations

import tomllib

from loopsolver.scene.toml_text import table_lines, value_text

VALUES = {
    "text": 'a "quoted" \\ text, \t tab, \x7f and ü',
    "whole": 14.0,
    "part": 0.1 + 0.2,
    "small": 1e-9,
    "number": 3,
    "flag": True,
    "list": [1, [2.5, "3 in"], []],
    "table": {"depth": 12, "top tank": {"a.b": False}},
}


def test_values_and_names_come_back_as_they_were():
    read = tomllib.loads("\n".join(table_lines(("fittings", "my collar"), VALUES)))
    assert read == {"fittings": {"my collar": VALUES}}


def test_whole_numbers_are_written_as_one_writes_them():
    assert value_text([83.0, 0.0, -2]) == "[83, 0, -2]"
