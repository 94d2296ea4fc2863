"""What a leak test is given: its pressure, and readings in which every value has a unit."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Final

from loopsolver.amounts import PRESSURE, TEMPERATURE, AmountError, Quantity
from loopsolver.errors import LoopsolverError
from loopsolver.hydraulics.leak_test import GaugeReading
from loopsolver.words import in_commas, listed

TIME: Final = Quantity(
    name="a time",
    unit="min",
    scales={"min": (1.0, 0.0), "s": (1.0 / 60.0, 0.0), "h": (60.0, 0.0)},
)

WARMTH: Final = Quantity(
    name="a difference of temperature",
    unit="K",
    scales={"K": (1.0, 0.0), "°C": (1.0, 0.0), "°F": (5.0 / 9.0, 0.0)},
)

USUAL_PRESSURE: Final = 30.0
"""Test pressure where no part allows less [kPa].

Below the 5 psi (34 kPa) at which plumbing codes press drainage of plastic with air.
"""

UNSTATED_MOST: Final = 50.0
"""Above it every part has to state what it stands [kPa]; common practice, no source."""

_LEAST_SHARE: Final = 0.1  # of the test pressure: less was read in another unit
_COLDEST, _WARMEST = -30.0, 60.0  # air that people test in [°C]
_MOST_ROWS: Final = 10_000
_EXAMPLE: Final = '"5 min, 0.29 bar, 21.5 C"'
_HEAD_UNIT: Final = re.compile(r"([^\s()\[\]/,]+)[)\]]?\s*$")
_QUANTITIES: Final = (TIME, PRESSURE, TEMPERATURE)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenReading:
    """A reading as it was written: with the steps that its digits show [kPa, K]."""

    reading: GaugeReading
    gauge_step_kpa: float
    thermometer_step_k: float


def pressed_to(
    limits: Mapping[str, float | None] | None, *, asked: float | None
) -> float:
    """Return the pressure that a loop is tested with [kPa].

    Parameters
    ----------
    limits : mapping or None
        By part of the loop, the greatest air pressure that its maker states [kPa]; None
        for a part: not stated. None for all: the loop is not known.
    asked : float or None
        What somebody asks for [kPa].

    Raises
    ------
    LoopsolverError
        If that is more than a part, or what is known of the parts, allows.
    """
    stated = {name: most for name, most in (limits or {}).items() if most is not None}
    if asked is None:
        return min([USUAL_PRESSURE, *stated.values()])
    weakest = min(stated, key=lambda name: stated[name], default=None)
    if weakest is not None and asked > stated[weakest]:
        key = f"components.{weakest}.water.limit"
        raise _refused(asked, f"wanted at most {stated[weakest]:g} kPa: {key}")
    if limits is None and asked > USUAL_PRESSURE:
        wanted = (
            f"wanted at most {USUAL_PRESSURE:g} kPa without a plan; with one that states "
            "each part's limit more may be asked for"
        )
        raise _refused(asked, wanted)
    silent = [name for name, most in (limits or {}).items() if most is None]
    if asked > UNSTATED_MOST and silent:
        wanted = (
            f"wanted at most {UNSTATED_MOST:g} kPa, or the maker's greatest air pressure "
            f"of {in_commas(silent)} as water.limit in the scene"
        )
        raise _refused(asked, wanted)
    return asked


def _refused(asked: float, wanted: str) -> LoopsolverError:
    return LoopsolverError(f"--pressure: found {asked:g} kPa; {wanted}")


# -------------------------------------------------------------------------- reading


def amount(text: str, quantity: Quantity, *, where: str) -> float:
    """Return an amount that carries its unit [`quantity.unit`].

    Raises
    ------
    LoopsolverError
        If it does not; it says where, what was found and what is wanted.
    """
    try:
        return quantity.from_text(text)
    except AmountError as error:
        msg = (
            f"{where}: found {text!r}, {error.trouble}; wanted {quantity.name} with its "
            f"unit: {quantity.units}"
        )
        raise LoopsolverError(msg) from error


def above_nothing(text: str, quantity: Quantity, *, where: str) -> float:
    """Return an amount above 0 that carries its unit [`quantity.unit`].

    Raises
    ------
    LoopsolverError
        If it is none.
    """
    value = amount(text, quantity, where=where)
    if value <= 0.0:
        msg = f"{where}: found {text!r}; wanted more than 0 {quantity.unit}"
        raise LoopsolverError(msg)
    return value


def written(text: str, *, where: str) -> WrittenReading:
    """Return a reading such as "5 min, 0.29 bar, 21.5 C".

    Raises
    ------
    LoopsolverError
        If it is none, or if a value has no unit.
    """
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != len(_QUANTITIES):
        msg = (
            f"{where}: found {text!r}, {len(parts)} values between commas; wanted three, "
            "the time since pumping stopped, the gauge and the temperature, decimals "
            f"after a point, such as {_EXAMPLE}"
        )
        raise LoopsolverError(msg)
    return _of_texts(dict(zip(_QUANTITIES_BY_NAME, parts, strict=True)), where=where)


_QUANTITIES_BY_NAME: Final = {one.name: one for one in _QUANTITIES}


def _of_texts(texts: Mapping[str, str], *, where: str) -> WrittenReading:
    """Return a reading from the text of each value, by the name of its quantity."""
    minutes, gauge, temperature = (
        amount(texts[one.name], one, where=where) for one in _QUANTITIES
    )
    return WrittenReading(
        reading=GaugeReading(
            minutes=minutes, gauge_kpa=gauge, temperature_c=temperature
        ),
        gauge_step_kpa=_last_digit(texts[PRESSURE.name], PRESSURE),
        thermometer_step_k=_last_digit(texts[TEMPERATURE.name], TEMPERATURE),
    )


def _last_digit(text: str, quantity: Quantity) -> float:
    """Return what one in the last digit of a written number is [`quantity.unit`]."""
    _, _, decimals = text.partition(".")
    count = len(decimals) - len(decimals.lstrip("0123456789"))
    unit = re.sub(r"^[^A-Za-z°]*", "", text)
    one, none = (quantity.from_text(f"{number} {unit}") for number in (1, 0))
    return (one - none) / 10.0**count


def table(path: Path) -> tuple[WrittenReading, ...]:
    """Return the readings in a CSV file, a unit in the head of each column.

    Raises
    ------
    LoopsolverError
        If it cannot be read, if a head has no unit, or if there are not a time, a
        pressure and a temperature in each row.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        msg = f"{path}: it cannot be read as text: {error}; wanted a CSV file in UTF-8"
        raise LoopsolverError(msg) from error
    mark = ";" if ";" in text.partition("\n")[0] else ","
    rows = [row for row in csv.reader(io.StringIO(text), delimiter=mark) if any(row)]
    if not 1 < len(rows) <= _MOST_ROWS:
        msg = (
            f"{path}: found {len(rows)} lines; wanted heads and 2 to {_MOST_ROWS} more"
        )
        raise LoopsolverError(msg)
    columns = _columns(rows[0], path)
    return tuple(
        _row(row, columns, where=f"{path}: reading {number}")
        for number, row in enumerate(rows[1:], start=1)
    )


def _columns(heads: Sequence[str], path: Path) -> tuple[tuple[str, str], ...]:
    """Return of each column the name of what it holds and the unit in its head."""
    found: list[tuple[str, str]] = []
    for head in heads:
        unit = _HEAD_UNIT.search(head)
        name = None if unit is None else _quantity_of(unit[1])
        if unit is None or name is None:
            msg = (
                f'{path}: found the head {head!r}, without a unit; wanted "time (min)", '
                '"gauge (bar)", "temperature (°C)" or the same in other units: '
                f"{'; '.join(one.units for one in _QUANTITIES)}"
            )
            raise LoopsolverError(msg)
        found.append((name, unit[1]))
    names = [name for name, _ in found]
    if sorted(names) != sorted(_QUANTITIES_BY_NAME):
        msg = f"{path}: found columns of {listed(names)}; wanted three: {_EACH}"
        raise LoopsolverError(msg)
    return tuple(found)


_EACH: Final = listed([one.name for one in _QUANTITIES])


def _quantity_of(unit: str) -> str | None:
    """Return the name of what is measured in a unit; None if it is none of ours."""
    for one in _QUANTITIES:
        try:
            one.from_text(f"1 {unit}")
        except AmountError:
            continue
        return one.name
    return None


def _row(
    cells: Sequence[str], columns: Sequence[tuple[str, str]], *, where: str
) -> WrittenReading:
    if len(cells) != len(columns):
        msg = (
            f"{where}: found {len(cells)} values; wanted {len(columns)}, with decimals "
            "after a point"
        )
        raise LoopsolverError(msg)
    texts = {
        name: f"{cell.strip()} {unit}"
        for cell, (name, unit) in zip(cells, columns, strict=True)
    }
    return _of_texts(texts, where=where)


# ------------------------------------------------------------------------- checking


def checked(
    readings: Sequence[GaugeReading], *, pressure_kpa: float, step_kpa: float
) -> tuple[GaugeReading, ...]:
    """Return readings that a test at some pressure can have.

    Raises
    ------
    LoopsolverError
        If there are fewer than two, if they are out of order, or if one is beyond the
        pressure by more than a step of the gauge, or of no air that people test in.
    """
    if len(readings) < 2:
        msg = f"readings: found {len(readings)}; wanted two or more"
        raise LoopsolverError(msg)
    for number, trouble in _troubles(readings, pressure_kpa + step_kpa, pressure_kpa):
        msg = f"reading {number}: {trouble}"
        raise LoopsolverError(msg)
    most = max(one.gauge_kpa for one in readings)
    if most < _LEAST_SHARE * pressure_kpa:
        msg = (
            f"readings: found {most:g} kPa at most for a test at {pressure_kpa:g} kPa; "
            "wanted the gauge's own unit (0.29 of a gauge in bar is 29 kPa), or "
            "--pressure with what was pumped"
        )
        raise LoopsolverError(msg)
    return tuple(readings)


def _troubles(
    readings: Sequence[GaugeReading], most: float, pressure: float
) -> Iterable[tuple[int, str]]:
    """Yield what is wrong with readings, and with which."""
    for number, one in enumerate(readings, start=1):
        if one.minutes < 0.0:
            yield (
                number,
                f"found {one.minutes:g} min; wanted the time since pumping stopped",
            )
        if one.gauge_kpa < 0.0:
            yield number, f"found {one.gauge_kpa:g} kPa; wanted 0 or more above the air"
        if one.gauge_kpa > most:
            yield (
                number,
                f"found {one.gauge_kpa:g} kPa; wanted at most {pressure:g} kPa: let air "
                "out, or say with --pressure what the parts' makers allow",
            )
        if not _COLDEST <= one.temperature_c <= _WARMEST:
            yield (
                number,
                f"found {one.temperature_c:g} °C; wanted {_COLDEST:g} to {_WARMEST:g} °C",
            )
    for number, (before, one) in enumerate(pairwise(readings), start=2):
        if one.minutes <= before.minutes:
            yield (
                number,
                f"found {one.minutes:g} min after {before.minutes:g} min; wanted the "
                "readings in the order they were taken, each at its own time",
            )
