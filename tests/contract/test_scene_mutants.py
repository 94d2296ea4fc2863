"""Scenes altered at random: told what is wrong, or read; never a failure of our own.

Each mutant is a demonstration scene or the starter with one to three things done to it:
a line gone, doubled, moved or cut; a value exchanged for another's or an extreme one; a
key misspelt; brackets, quotes and bytes thrown in. `check` reads every one, `route` a
sample of those that are small enough to be done at once. 300 in the suite, 10,000 with
LOOPSOLVER_FULL=1.
"""

from __future__ import annotations

import io
import os
import random
import re
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from loopsolver.cli.main import main
from loopsolver.scene.starter import STARTER
from tests.commands import SCENES
from tests.full import IS_FULL

TEXTS = [
    STARTER,
    *(
        (SCENES / f"{name}.toml").read_text("utf-8")
        for name in ("wren", "heron", "robin")
    ),
]
MUTANTS = 10_000 if IS_FULL else 300
ROUTED = MUTANTS // 30
BATCHES = 10

VALUES = (
    "0", "-1", "1", "1e-300", "1e300", "-1e300", "inf", "-inf", "nan", "1e6", "0.001",
    "99999999999999999999999999", "9" * 400, "0x7f", "true", "false", '""', '" "', "[]",
    "[[]]", "{}", "[1, 2]", "[1, 2, 3, 4]", "[0, 0, 0]", '["1 in", "2 cm", "3 mm"]',
    "[nan, nan, nan]", "[1e-9, 1e-9, 1e-9]", "1979-05-27", "07:32:00", "'x'",
    r'"\u202e\u0000"', '"any"', '["any"]', '"+x"', '"-z"', '"pump.out"', '"pump"',
    '"1/0 in"', '"-3 1/2 in"', '"1e3 mm"', '"¾″"', "3 mm", '4"', "[90, 45]", "[1, 179]",
    '{ diameter = 1, height = 1 }', "[20000, 1, 1]", '[["a"]]', '"' + "x" * 5000 + '"',
    "[" * 50 + "]" * 50, "12_000", "+5", "-0.0",
)  # fmt: skip
SCRAPS = (
    "[loop]\norder = 'any'", "[loop]\norder = []", "[[runs]]", "[runs]", "[components]",
    "[components.pump]", "[[components]]", "[components.pump.ports.out]", "[tube]",
    "[case]", "[fittings]", "[fittings.'']", "[[keep_outs]]", "x = 1", "= 1", "]", "}",
    '"""', "'''", "\\", "#", "\t", "format = 1", "units = 'in'", "units = 'cm'",
    "[rules]\nbend_angles = 'any'", "a.b.c.d = 1", "[a.b.c.d.e.f.g.h.i.j.k.l.m.n]",
)  # fmt: skip
ODD_BYTES = (
    b"\x00",
    b"\xff",
    b"\xe2\x80\xae",
    b"\x1b[31m",
    b"\xef\xbb\xbf",
    b"\r",
    b"\x80",
)

Lines = list[str]


def drop(lines: Lines, chance: random.Random) -> None:
    del lines[chance.randrange(len(lines))]


def double(lines: Lines, chance: random.Random) -> None:
    lines.insert(chance.randrange(len(lines)), chance.choice(lines))


def swap(lines: Lines, chance: random.Random) -> None:
    one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]


def drop_table(lines: Lines, chance: random.Random) -> None:
    heads = [place for place, line in enumerate(lines) if line.startswith("[")]
    if len(heads) > 1:
        place = chance.randrange(len(heads) - 1)
        del lines[heads[place] : heads[place + 1]]


def value_of_another(lines: Lines, chance: random.Random) -> None:
    places = [place for place, line in enumerate(lines) if " = " in line]
    if places:
        place = chance.choice(places)
        key = lines[place].partition(" = ")[0]
        value = lines[chance.choice(places)].partition(" = ")[2]
        lines[place] = f"{key} = {value}"


def odd_value(lines: Lines, chance: random.Random) -> None:
    places = [place for place, line in enumerate(lines) if " = " in line]
    if places:
        place = chance.choice(places)
        key = lines[place].partition(" = ")[0]
        lines[place] = f"{key} = {chance.choice(VALUES)}"


def odd_number(lines: Lines, chance: random.Random) -> None:
    """Exchange one number within a line, such as a coordinate."""
    places = [place for place, line in enumerate(lines) if re.search(r"= .*\d", line)]
    if places:
        place = chance.choice(places)
        found = chance.choice(list(re.finditer(r"-?\d+(\.\d+)?", lines[place])))
        factor = chance.choice((0.0, -1.0, 0.1, 10.0, 25.4, 1.0001, 0.5, 2.0))
        number = chance.choice((repr(float(found[0]) * factor), *VALUES[:12]))
        lines[place] = (
            lines[place][: found.start()] + number + lines[place][found.end() :]
        )


def misspell(lines: Lines, chance: random.Random) -> None:
    place = chance.randrange(len(lines))
    line = lines[place]
    if line:
        at = chance.randrange(len(line))
        lines[place] = (
            line[:at] + chance.choice("x.-_[]{}\"'=#, 1é\u200b") + line[at + 1 :]
        )


def scrap(lines: Lines, chance: random.Random) -> None:
    lines.insert(chance.randrange(len(lines) + 1), chance.choice(SCRAPS))


def cut(lines: Lines, chance: random.Random) -> None:
    del lines[chance.randrange(1, len(lines)) :]


CHANGES: tuple[Callable[[Lines, random.Random], None], ...] = (
    drop, double, swap, drop_table, value_of_another, value_of_another, odd_value,
    odd_value, odd_number, odd_number, odd_number, misspell, scrap, cut,
)  # fmt: skip


def mutant(number: int) -> bytes:
    """Return the altered scene of that number, the same each time."""
    chance = random.Random(number)
    lines = chance.choice(TEXTS).splitlines()
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        chance.choice(CHANGES)(lines, chance)
        lines = lines or [""]
    data = "\n".join(lines).encode()
    if chance.random() < 0.05:
        at = chance.randrange(len(data) + 1)
        data = data[:at] + chance.choice(ODD_BYTES) + data[at:]
    return data[: chance.randrange(len(data) + 1)] if chance.random() < 0.02 else data


def told(*words: str) -> tuple[int, str, str]:
    """Return the status of a command line, and what it prints."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        status = main(words)
    return status, out.getvalue(), err.getvalue()


def is_clean(text: str) -> bool:
    return all(letter.isprintable() or letter == "\n" for letter in text)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_mutant_is_read_or_told_of(here: Path, batch: int) -> None:
    scene = here / "mutant.toml"
    statuses = set()
    for number in range(batch, MUTANTS, BATCHES):
        scene.write_bytes(mutant(number))
        status, out, err = told("check", "mutant.toml")
        statuses.add(status)
        assert status in (0, 2), (number, err)
        assert "Traceback" not in err, number
        assert is_clean(out + err), number
        assert bool(out) == (status == 0), number
        assert os.listdir(here) == ["mutant.toml"], number  # noqa: PTH208
        assert scene.read_bytes() == mutant(number)
    assert statuses == {0, 2}


def small(data: bytes) -> bytes:
    """Return a mutant that asks for little: two bends at most, one candidate."""
    text = data.decode()
    text = re.sub(r"max_bends = \d+", "max_bends = 2", text)
    return re.sub(r"candidates = \d+", "candidates = 1", text).encode()


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_mutant_is_routed_or_told_of(here: Path, batch: int) -> None:
    scene = here / "mutant.toml"
    usable = 0
    for number in range(batch, MUTANTS, BATCHES):
        if usable * BATCHES >= ROUTED:
            break
        try:
            scene.write_bytes(small(mutant(number)))
        except UnicodeDecodeError:
            continue
        if told("check", "mutant.toml")[0] != 0:
            continue
        usable += 1
        words = ("route", "mutant.toml", "-o", "mutant.plan.json", "--seconds", "20")
        status, out, err = told(*words)
        assert status in (0, 2, 3), (number, err)
        assert "Traceback" not in err, number
        assert is_clean(out + err), number
        written = {each.name for each in here.iterdir()} - {"mutant.toml"}
        assert written == (set() if status == 2 else {"mutant.plan.json"}), number
        (here / "mutant.plan.json").unlink(missing_ok=True)
    assert usable
