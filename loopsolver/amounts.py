"""Flows, pressures, temperatures and such at the edges: numbers with their unit.

What is inside loopsolver has the unit that its name ends in: ``flow_l_min``,
``pressure_kpa``, ``volume_ml``, ``temperature_c``, ``heat_w``, ``mass_g``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from loopsolver.tolerances import TIDY_DECIMALS
from loopsolver.words import listed

_TEXT: Final = re.compile(
    r"(?P<sign>[-+]?)\s*(?P<number>[0-9]+\.?[0-9]*|\.[0-9]+)\s*(?P<unit>[^\d.,].*)?"
)


class AmountError(ValueError):
    """Something that is no amount of its sort; `trouble` says why."""

    def __init__(self, trouble: str) -> None:
        super().__init__(trouble)
        self.trouble = trouble


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """What is measured, in which unit, and how it may be written.

    Attributes
    ----------
    name : str
        Such as "a pressure".
    unit : str
        The unit of plain numbers.
    scales : mapping
        By unit, as written: how many of `unit` one of it is, and what its zero is.
    told : str
        What stands behind the units in a message.
    """

    name: str
    unit: str
    scales: Mapping[str, tuple[float, float]]
    told: str = ""

    @property
    def units(self) -> str:
        """The units that may be written, in words."""
        return f"{listed(list(self.scales), last='or')}{self.told}"

    def from_text(self, text: str) -> float:
        """Return the amount [`unit`] that a text with its unit gives.

        Raises
        ------
        AmountError
            If it is no number with a unit of this quantity.

        Examples
        --------
        >>> PRESSURE.from_text("0.3 bar"), round(PRESSURE.from_text("3.9 m"), 3)
        (30.0, 38.177)
        >>> TEMPERATURE.from_text("68 °F"), FLOW.from_text("120 l/h")
        (20.0, 2.0)
        """
        plain = " ".join(text.replace("\N{MINUS SIGN}", "-").split())
        match = _TEXT.fullmatch(plain)
        if match is None:
            comma = re.search(r"[0-9],[0-9]", plain)
            msg = "a decimal comma in place of a point" if comma else "no number"
            raise AmountError(msg)
        written = _folded(match["unit"] or "")
        known = {_folded(unit): unit for unit in self.scales}
        if written not in known:
            msg = (
                f"the unit {match['unit']!r} is not known"
                if written
                else "a text without a unit"
            )
            raise AmountError(msg)
        scale, zero = self.scales[known[written]]
        number = float(match["number"]) * (-1.0 if match["sign"] == "-" else 1.0)
        return _finite(number * scale + zero)

    def read(self, value: object) -> float:
        """Return the amount of a plain number [`unit`], or of a text with its unit.

        Raises
        ------
        AmountError
            If it is neither.
        """
        if isinstance(value, str):
            return self.from_text(value)
        if isinstance(value, bool) or not isinstance(value, int | float):
            msg = "neither a number nor a text"
            raise AmountError(msg)
        return _finite(value)


def _folded(unit: str) -> str:
    """Return a unit without capitals and signs that no keyboard has."""
    return unit.replace("³", "3").replace("°", "").lower()


def _finite(number: float) -> float:
    """Return a finite number without the last bits that a unit's factor leaves."""
    if not math.isfinite(number):
        msg = "not a finite number"
        raise AmountError(msg)
    return round(float(number), TIDY_DECIMALS) + 0.0


METRE_OF_WATER: Final = 9.78907
"""Pressure under one metre of water of 20 °C [kPa].

998.207 kg/m³ (IAPWS-95 at 101 325 Pa) times 9.80665 m/s². Pumps are measured with
water as it comes from the tap.
"""

FLOW: Final = Quantity(
    name="a flow",
    unit="L/min",
    scales={
        "L/min": (1.0, 0.0),
        "L/h": (1.0 / 60.0, 0.0),
        "mL/s": (0.06, 0.0),
        "m³/h": (1000.0 / 60.0, 0.0),
        "gpm": (3.785411784, 0.0),
    },
    told=" (US gallons)",
)

PRESSURE: Final = Quantity(
    name="a pressure",
    unit="kPa",
    scales={
        "kPa": (1.0, 0.0),
        "Pa": (1.0 / 1000.0, 0.0),
        "hPa": (0.1, 0.0),
        "mbar": (0.1, 0.0),
        "bar": (100.0, 0.0),
        "psi": (6.894757293168361, 0.0),
        "m": (METRE_OF_WATER, 0.0),
    },
    told=" of water",
)

TEMPERATURE: Final = Quantity(
    name="a temperature",
    unit="°C",
    scales={"°C": (1.0, 0.0), "°F": (5.0 / 9.0, -160.0 / 9.0), "K": (1.0, -273.15)},
)

VOLUME: Final = Quantity(
    name="a volume",
    unit="mL",
    scales={"mL": (1.0, 0.0), "cm³": (1.0, 0.0), "L": (1000.0, 0.0)},
)

MASS: Final = Quantity(
    name="a mass", unit="g", scales={"g": (1.0, 0.0), "kg": (1000.0, 0.0)}
)

HEAT: Final = Quantity(
    name="a heat flow", unit="W", scales={"W": (1.0, 0.0), "kW": (1000.0, 0.0)}
)
