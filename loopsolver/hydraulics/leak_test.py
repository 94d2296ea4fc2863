"""The leak test: what readings of a gauge mean while air stands in a closed loop.

Gauges show the pressure above the air outside. Air in a closed space of constant volume
keeps the quotient of absolute pressure and absolute temperature; what is left of a
change after that is leak, weather, or a gauge and a thermometer read to their steps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np

from loopsolver.geometry.vectors import Array

OUTSIDE: Final = 101.325
"""Pressure of the air outside [kPa]: the standard atmosphere, ISO 2533."""

KELVIN: Final = 273.15
"""What 0 °C is [K]."""

GAS: Final = 8.314472
"""Molar gas constant as 40 CFR 1065 has it [J/(mol K)]."""

ISENTROPIC: Final = 0.286
"""(k - 1)/k of air, as ASME PCC-2 (2008), article 5.1, appendix II, rounds it."""

COVERAGE: Final = 2.0
"""Spreads to each side that hold 95 of 100 (JCGM 100:2008, 6.3.3)."""

WEATHER: Final = 0.06 / 60.0
"""Spread of the change of the air outside [kPa/min]: 0.6 hPa in an hour.

From memory: British sea-area forecasts call 1.6 to 3.5 hPa in three hours plainly
"rising" or "falling" and more than that quick; the most of it is two spreads.
"""

WATCH: Final = 15.0
"""How long a loop is watched at least once its air has settled [min].

International Plumbing Code 312 tests drainage with air for as long.
"""

SCHEDULE: Final = (0.0, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0)
"""When to read, since pumping stopped [min]; common practice, no source."""

FEWEST: Final = 4
"""Readings from which a bent line can be told from a straight one."""

_BEYOND: Final = 2.58  # spreads that one straight line of a hundred is bent by
_ONE_IN_A_HUNDRED: Final = 0.01  # how often good readings scatter by more


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReading:
    """One reading: minutes since pumping stopped, gauge [kPa], temperature [°C]."""

    minutes: float
    gauge_kpa: float
    temperature_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """What a loop is tested with.

    Attributes
    ----------
    volume_ml : float
        Air in the loop.
    gauge_step_kpa, thermometer_step_k : float
        From mark to mark, or the last digit. The spread of a reading is taken as half
        a step: it is rounded, and the eye errs by as much again.
    """

    volume_ml: float
    gauge_step_kpa: float
    thermometer_step_k: float

    def spread_kpa(self, gauge_kpa: float, temperature_c: float) -> float:
        """Return the spread of one reading, its temperature taken into account [kPa]."""
        share = 0.5 * self.thermometer_step_k / (temperature_c + KELVIN)
        return math.hypot(0.5 * self.gauge_step_kpa, (gauge_kpa + OUTSIDE) * share)

    def as_leak(self, kpa_min: float) -> float:
        """Return a fall [kPa/min] as air let out, at the pressure outside [mL/min]."""
        return self.volume_ml * kpa_min / OUTSIDE


class LeakVerdict(Enum):
    """What readings say."""

    NONE_SEEN = "none seen"
    LEAK = "leak"
    RISE = "rise"
    WAIT = "wait"


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakFinding:
    """What was found in readings.

    Attributes
    ----------
    verdict : LeakVerdict
    first : int
        Place of the reading from which the line is straight: the air has settled.
    is_settled : bool
        Whether it is straight at all.
    fall_kpa_min, spread_kpa_min : float
        Least-squares slope of what temperature does not explain, downward; its spread,
        the weather's share in it.
    scatter : float
        How many times more readings scatter about the line than their steps explain;
        1 where they explain it.
    wait_min : int
        How many minutes more to wait; 0 unless that is the verdict.
    """

    verdict: LeakVerdict
    first: int
    is_settled: bool
    fall_kpa_min: float
    spread_kpa_min: float
    scatter: float
    wait_min: int

    @property
    def band_kpa_min(self) -> float:
        """How far to each side of the slope the truth lies in 95 of 100 [kPa/min]."""
        return COVERAGE * self.spread_kpa_min

    @property
    def most_kpa_min(self) -> float:
        """The fastest fall that would not have been seen [kPa/min]."""
        return max(self.fall_kpa_min, 0.0) + self.band_kpa_min


# ------------------------------------------------------------------------- formulas


def expected_gauge(
    gauge_kpa: float,
    *,
    from_c: float,
    to_c: float,
    outside: float = OUTSIDE,
    outside_then: float = OUTSIDE,
) -> float:
    """Return what a gauge shows without a leak once the temperature has changed [kPa].

    Notes
    -----
    p2 = p1 T2 / T1 of absolute values (International Fuel Gas Code, A.6.5).
    """
    warmer = (to_c + KELVIN) / (from_c + KELVIN)
    return (gauge_kpa + outside) * warmer - outside_then


def leak_mol_s(
    *,
    volume_l: float,
    before_kpa: float,
    after_kpa: float,
    kelvin: float,
    seconds: float,
) -> float:
    """Return the gas that enters (positive) or leaves at one temperature [mol/s].

    Absolute pressures. 40 CFR 1065.644, equation 1065.644-1.
    """
    return volume_l / GAS * (after_kpa - before_kpa) / kelvin / seconds


def least_fall(rig: Rig, reading: GaugeReading, *, minutes: float) -> float:
    """Return the least change between two readings that means anything [kPa].

    Notes
    -----
    ``k sqrt(2 u^2 + w^2)``: u is the spread of a reading, w that of the weather in so
    many minutes (law of propagation, JCGM 100:2008, 5.1.2).
    """
    spread = rig.spread_kpa(reading.gauge_kpa, reading.temperature_c)
    return COVERAGE * math.hypot(math.sqrt(2.0) * spread, WEATHER * minutes)


def stored_energy_j(volume_ml: float, gauge_kpa: float) -> tuple[float, float, float]:
    """Return the energy of shut-in air by three definitions, the least first [J].

    Notes
    -----
    Isothermal less the work against the air outside, ``p V ln(p/pa) - g V``; ASME PCC-2
    (2008), article 5.1, appendix II, ``2.5 p V (1 - (pa/p)^0.286)``; Brode's upper bound
    ``g V / 0.4``; pa is 101 kPa as in the code. They differ tenfold at 30 kPa.
    """
    litres, around = volume_ml / 1000.0, 101.0
    absolute = gauge_kpa + around
    least = litres * (absolute * math.log(absolute / around) - gauge_kpa)
    usual = 2.5 * absolute * litres * (1.0 - math.pow(around / absolute, ISENTROPIC))
    return least, usual, gauge_kpa * litres / 0.4


def most_cooling(gauge_kpa: float) -> float:
    """Return the most that a gauge can fall as air cools that pumping warmed [kPa].

    Pumping warms it at most as reversible compression without loss of heat does.
    """
    absolute = gauge_kpa + OUTSIDE
    return absolute * (1.0 - math.pow(OUTSIDE / absolute, ISENTROPIC))


# ------------------------------------------------------------------------- readings


def corrected(readings: Sequence[GaugeReading]) -> Array:
    """Return what the gauge would show at the first temperature, (n,) [kPa]."""
    at_first = readings[0].temperature_c
    return np.array(
        [
            expected_gauge(one.gauge_kpa, from_c=one.temperature_c, to_c=at_first)
            for one in readings
        ]
    )


def expected_line(
    readings: Sequence[GaugeReading], rig: Rig, *, first: int
) -> tuple[tuple[float, float], ...]:
    """Return what the gauge shows without a leak at each reading, and its band [kPa].

    Counted from the reading `first`, at which the band is that of one reading.
    """
    start = readings[first]
    return tuple(
        (
            expected_gauge(
                start.gauge_kpa, from_c=start.temperature_c, to_c=one.temperature_c
            ),
            least_fall(rig, start, minutes=abs(one.minutes - start.minutes)),
        )
        for one in readings
    )


def judged(readings: Sequence[GaugeReading], rig: Rig) -> LeakFinding:
    """Return what readings say.

    Parameters
    ----------
    readings : sequence of GaugeReading
        Two at least, in the order of their times.
    rig : Rig
    """
    first = _settled(readings, rig)
    is_settled = first is not None
    start = first if first is not None else max(0, len(readings) - FEWEST)
    fall, spread, scatter = _slope(readings[start:], rig)
    watched = readings[-1].minutes - readings[start].minutes
    is_enough = is_settled and len(readings) - start >= FEWEST and watched >= WATCH
    wait = 0
    if _fell_beyond_cooling(readings, rig):
        verdict = LeakVerdict.LEAK
    elif not is_enough:
        verdict = LeakVerdict.WAIT
        wait = max(1, math.ceil(WATCH - watched)) if is_settled else math.ceil(WATCH)
    elif abs(fall) <= COVERAGE * spread:
        verdict = LeakVerdict.NONE_SEEN
    else:
        verdict = LeakVerdict.LEAK if fall > 0.0 else LeakVerdict.RISE
    return LeakFinding(
        verdict=verdict,
        first=start,
        is_settled=is_settled,
        fall_kpa_min=fall,
        spread_kpa_min=spread,
        scatter=scatter,
        wait_min=wait,
    )


def _slope(readings: Sequence[GaugeReading], rig: Rig) -> tuple[float, float, float]:
    """Return the fall [kPa/min], its spread, and the scatter about the line.

    Least squares with known spreads (JCGM 100:2008, H.3); where readings scatter by
    more than one set in a hundred would, the spread is widened by Birge's ratio
    (Physical Review 40 (1932), 207-227).
    """
    times = np.array([one.minutes for one in readings])
    values = corrected(readings)
    away = times - times.mean()
    square = float(away @ away)
    slope = float(away @ values) / square
    spread = _mean_spread(readings, rig)
    rest = values - values.mean() - slope * away
    free = len(times) - 2
    scatter = 1.0
    if free > 0:
        from scipy.special import chdtri

        squares = float(rest @ rest) / spread**2
        if squares > chdtri(free, _ONE_IN_A_HUNDRED):
            scatter = math.sqrt(squares / free)
    return -slope, math.hypot(scatter * spread / math.sqrt(square), WEATHER), scatter


def _mean_spread(readings: Sequence[GaugeReading], rig: Rig) -> float:
    """Return the spread of a reading, in the mean of all [kPa]."""
    return math.fsum(
        rig.spread_kpa(one.gauge_kpa, one.temperature_c) for one in readings
    ) / len(readings)


def _settled(readings: Sequence[GaugeReading], rig: Rig) -> int | None:
    """Return the first reading from which the line is straight; None if it never is.

    Too few readings to tell pass for a straight line: they have to wait anyhow.
    """
    if len(readings) < FEWEST:
        return 0
    return next(
        (
            start
            for start in range(len(readings) - FEWEST + 1)
            if not _is_bent(readings[start:], rig)
        ),
        None,
    )


def _is_bent(readings: Sequence[GaugeReading], rig: Rig) -> bool:
    """Return whether a fall gets slower or faster than that of any leak would.

    A leak through a wide hole falls along a straight line, one through a fine gap, whose
    flow is as the pressure, along a straight line of logarithms. Between the two is a
    leak; slower towards the end is air that still cools or parts that still creep.
    """
    times = np.array([one.minutes for one in readings])
    values = corrected(readings)
    spread = _mean_spread(readings, rig)
    is_faster = _bend(times, values) < -_BEYOND * spread
    level = float(values.mean())
    if values.min() <= COVERAGE * spread:
        return is_faster
    return is_faster or _bend(times, level * np.log(values)) > _BEYOND * spread


def _bend(times: Array, values: Array) -> float:
    """Return the second-order coefficient over its own spread for values of spread 1."""
    scaled = (times - times.mean()) / (times[-1] - times[0])
    terms = np.vander(scaled, 3)
    inverse = np.linalg.inv(terms.T @ terms)
    return float(inverse[0] @ terms.T @ values) / math.sqrt(float(inverse[0, 0]))


def _fell_beyond_cooling(readings: Sequence[GaugeReading], rig: Rig) -> bool:
    """Return whether the whole fall is more than air can cool by, and more than a band."""
    values = corrected(readings)
    minutes = readings[-1].minutes - readings[0].minutes
    band = least_fall(rig, readings[0], minutes=minutes)
    fall = float(values[0] - values[-1])
    return fall > most_cooling(readings[0].gauge_kpa) + band
