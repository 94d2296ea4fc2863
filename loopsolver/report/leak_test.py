"""A leak test in words: what to take care of, what readings mean, what to do next."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from loopsolver.hydraulics.leak_test import (
    FEWEST,
    KELVIN,
    OUTSIDE,
    SCHEDULE,
    WATCH,
    GaugeReading,
    LeakFinding,
    LeakVerdict,
    Rig,
    expected_line,
    least_fall,
    stored_energy_j,
)
from loopsolver.report.text_table import TextTable
from loopsolver.tolerances import TIDY_DECIMALS
from loopsolver.words import counted

LEAK_CAUTIONS: Final = (
    # After HSE HSG85 (work dead), HSE GS4 (stand clear of what can fly) and L&I 1990
    # (gas in plastic); common practice where no issuer is named.
    "Mains off, and the machine's plug pulled out, until the loop is filled and dry.",
    "Pump through a regulator and past a relief valve set no higher than the test: a "
    "few strokes of a tyre pump without one can burst a part.",
    "Wear glasses, and stand clear: air stores far more energy than water, and plastic "
    "breaks into splinters. Cold acrylic is brittle.",
    "Let the air out before a joint is touched. Never tighten or knock one that is "
    "under pressure.",
    "What the makers of your parts state goes before anything here, and no soap with "
    "alcohol goes on acrylic.",
)
"""What can hurt in a leak test, the first thing first."""

BEFOREHAND: Final = (
    "Try the rig against a plug first: a hand pump's own valve leaks, too.",
    "Plug or leave out what stands less, such as a reservoir's lid or a shaft seal.",
    f"Read at {', '.join(f'{at:g}' for at in SCHEDULE[:-1])} and {SCHEDULE[-1]:g} min "
    "after pumping stopped: gauge, thermometer beside the loop, time.",
)
"""What to do before pumping."""

LIMITS_OF_IT: Final = (
    "Air passes seals that water does not, and the other way round over years: a quiet "
    "gauge is no promise. Test again after transport."
)


def pressure_words(kpa: float) -> str:
    """Return a pressure in the two units that gauges have.

    >>> pressure_words(30.0), pressure_words(7.25)
    ('30 kPa (0.3 bar)', '7.25 kPa (0.0725 bar)')
    """
    return f"{kpa:.4g} kPa ({kpa / 100.0:.4g} bar)"


def at_most(value: float) -> str:
    """Return a value rounded up to two digits, for what is said not to be exceeded.

    >>> at_most(0.2841), at_most(0.3), at_most(12.1)
    ('0.29', '0.3', '13')
    """
    if value <= 0.0:
        return "0"
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"{math.ceil(round(value / step, TIDY_DECIMALS)) * step:.6g}"


def verdict_words(
    outcome: LeakFinding, readings: Sequence[GaugeReading], rig: Rig
) -> str:
    """Return what readings say, and what to do; never that a loop is tight."""
    explained = f"{at_most(_explained_k(outcome, readings))} K explains"
    match outcome.verdict:
        case LeakVerdict.NONE_SEEN:
            most = at_most(rig.as_leak(outcome.most_kpa_min))
            return (
                f"no leak above {most} mL/min seen with this gauge; fill with the board "
                "unpowered all the same"
            )
        case LeakVerdict.LEAK:
            return f"falls faster than {explained}: look for it with soap water"
        case LeakVerdict.RISE:
            return (
                f"rises faster than {explained}: wait until room and loop are equally "
                "warm, and read again"
            )
        case LeakVerdict.WAIT:
            return f"wait {counted(outcome.wait_min, 'more minute')}"


def _explained_k(outcome: LeakFinding, readings: Sequence[GaugeReading]) -> float:
    """Return the band of a fall over the whole watch as a change of temperature [K].

    Thermometer, gauge and weather together.
    """
    first = readings[outcome.first]
    watched = readings[-1].minutes - first.minutes
    a_kelvin = (first.gauge_kpa + OUTSIDE) / (first.temperature_c + KELVIN)
    return outcome.band_kpa_min * watched / a_kelvin


def outcome_sentences(
    outcome: LeakFinding, readings: Sequence[GaugeReading], rig: Rig
) -> Iterator[str]:
    """Yield what the verdict rests on, a sentence each."""
    first = readings[outcome.first]
    leak, band = rig.as_leak(outcome.fall_kpa_min), rig.as_leak(outcome.band_kpa_min)
    yield (
        f"From {first.minutes:g} min on the gauge falls by "
        f"{_signed(outcome.fall_kpa_min)} ± {at_most(outcome.band_kpa_min)} kPa a minute "
        f"more than temperature explains (95 of 100), as {_signed(leak)} ± "
        f"{at_most(band)} mL/min of air let out would do."
    )
    if outcome.first and outcome.is_settled:
        yield (
            f"{counted(outcome.first, 'reading')} before that left out: the fall was "
            "still getting slower, as when air cools or parts creep."
        )
    if not outcome.is_settled:
        yield (
            "The line is still bent: air cools, parts creep, or it leaks by starts. "
            "Judged is only a straight line of four readings or more."
        )
    if outcome.scatter > 1.0:
        yield (
            f"The readings scatter {outcome.scatter:.1f} times as much as the steps of "
            "gauge and thermometer explain; the band is widened by as much."
        )
    if outcome.verdict is LeakVerdict.WAIT:
        yield (
            f"Judged are {FEWEST} readings or more along a straight line that is watched "
            f"for {WATCH:g} min."
        )


def _signed(value: float) -> str:
    """Return a value to two digits, with a minus that can be seen, and no minus nought."""
    text = f"{value:.2g}" if f"{value:.3f}".strip("-0.") else "0"
    return text.replace("-", "\N{MINUS SIGN}")


def readings_table(
    readings: Sequence[GaugeReading], rig: Rig, *, first: int
) -> TextTable:
    """Return readings beside what they would be without a leak from one of them on."""
    rows = []
    for one, (without, band) in zip(
        readings, expected_line(readings, rig, first=first), strict=True
    ):
        rows.append(
            (
                f"{one.minutes:g}",
                f"{one.gauge_kpa:.2f}",
                f"{one.temperature_c:.1f}",
                f"{without:.2f}",
                f"±{band:.2f}",
                f"{one.gauge_kpa - without:+.2f}".replace("-", "\N{MINUS SIGN}"),
            )
        )
    return TextTable(
        headings=(
            "min",
            "gauge\nkPa",
            "air\n°C",
            "no leak\nkPa",
            "band\nkPa",
            "off by\nkPa",
        ),
        rows=tuple(rows),
    )


def rig_rows(
    rig: Rig | None, *, volume_ml: float, pressure_kpa: float
) -> Iterator[tuple[str, str]]:
    """Yield what a test is made with: a label and words."""
    least, usual, most = stored_energy_j(volume_ml, pressure_kpa)
    yield "pressure", f"{pressure_words(pressure_kpa)}, no more"
    yield "air", f"{volume_ml:.4g} mL"
    yield (
        "energy",
        f"{usual:.3g} J in it by ASME PCC-2; {least:.2g} to {most:.3g} J by other "
        "definitions. The parts' limits count, and splinters, not joules.",
    )
    if rig is None:
        yield "gauge", "--gauge-step and --thermometer-step tell what it can show"
        return
    yield (
        "steps",
        f"gauge {rig.gauge_step_kpa:.3g} kPa, thermometer "
        f"{rig.thermometer_step_k:.3g} K",
    )
    start = GaugeReading(minutes=0.0, gauge_kpa=pressure_kpa, temperature_c=20.0)
    shown = (
        f"{at_most(rig.as_leak(least_fall(rig, start, minutes=at) / at))} mL/min in "
        f"{at:g} min"
        for at in (WATCH, SCHEDULE[-1])
    )
    yield "shows", f"two readings with it show a leak of {', '.join(shown)}"
