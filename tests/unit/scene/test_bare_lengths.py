"""A length with its unit but without quotes: told as such, with its line and the cure.

Every line that should be there instead is read back by the reader itself; which lines
are no such slip is a person's reading.
"""

from __future__ import annotations

import tomllib

import pytest

from loopsolver.errors import Fault, SceneError
from loopsolver.scene.source import parse_toml
from loopsolver.units import length_mm


def fault(line: str) -> Fault:
    text = f"format = 1\n[case]\n{line}\n[tube]\n"
    with pytest.raises(SceneError) as raised:
        parse_toml(text, file="siskin.toml")
    (found,) = raised.value.faults
    assert found.line == 3
    return found


@pytest.mark.parametrize(
    ("line", "lengths", "mm"),
    [
        ("d = 14mm", "14mm", 14),
        ("d = 14 mm  # a tube, 3 in long", "14 mm", 14),
        ("d = .5cm", ".5cm", 5),
        ("d = 3 1/2 in", "3 1/2 in", 88.9),
        ("d = 3-1/2 inches", "3-1/2 inches", 88.9),
        ("d = ½ in", "½ in", 12.7),
        ("d = -2 CM", "-2 CM", -20),
        ("p = [60 mm, 1, 2]", "60 mm", 60),
        ('p = ["60 mm", 1 in, 2]', "1 in", 25.4),
        ("c = { diameter = 60 mm, height = 150 }", "60 mm", 60),
    ],
)
def test_the_length_and_how_to_write_it(line: str, lengths: str, mm: float):
    told = fault(line)
    assert told.found == f"{lengths}: a length with its unit but without quotes"
    assert told.wanted == f'"{lengths}", or a plain number in the scene\'s unit'
    mended = tomllib.loads(line.replace(lengths, f'"{lengths}"'))
    assert f"'{lengths}'" in str(mended)
    assert length_mm(lengths, unit="in") == pytest.approx(mm)


def test_all_of_a_line_are_told_at_once():
    told = fault('p = [60 mm, "30 mm", -5 mm]')
    assert told.found == "60 mm, -5 mm: lengths with their units but without quotes"
    assert told.wanted.startswith('"60 mm", "-5 mm", or')


def test_inches_by_their_sign_are_written_out():
    assert fault('box = [4", 3 1/2", 5″]').wanted.startswith(
        '"4 in", "3 1/2 in", "5 in", or'
    )


def test_the_line_of_a_list_over_several_lines():
    with pytest.raises(SceneError) as raised:
        parse_toml("a = [\n  200, # 3 mm\n  12.5 mm,\n]\n", file="siskin.toml")
    (told,) = raised.value.faults
    assert (told.line, told.found.split(":")[0]) == (3, "12.5 mm")


@pytest.mark.parametrize(
    "line",
    [
        'd = "60 mm" 3',
        "d = 4 apples",
        "d 60 mm",
        'd = [1, "60 mm", x = 4 mm]',
        "d = 1, 2 # 3 mm",
        "d = 60 60 mm 60",
        "d = nothing",
    ],
)
def test_other_slips_are_told_as_before(line: str):
    assert "a TOML syntax error" in fault(line).found
