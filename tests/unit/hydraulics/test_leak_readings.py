"""What readings of a leak test are taken to mean."""

from __future__ import annotations

import numpy as np
import pytest

from loopsolver.errors import LoopsolverError
from loopsolver.hydraulics.leak_input import checked, pressed_to, table, written
from loopsolver.hydraulics.leak_test import (
    OUTSIDE,
    SCHEDULE,
    GaugeReading,
    LeakVerdict,
    Rig,
    judged,
)
from loopsolver.report.leak_test import verdict_words
from tests.full import few_or_all

FINE = Rig(volume_ml=500.0, gauge_step_kpa=0.1, thermometer_step_k=0.1)
SIMULATED = 600


def taken(kpa, *, celsius=None, minutes=SCHEDULE):
    """Readings of a gauge [kPa] at the usual times."""
    warmth = celsius or [21.0] * len(minutes)
    return [
        GaugeReading(minutes=at, gauge_kpa=gauge, temperature_c=temperature)
        for at, gauge, temperature in zip(minutes, kpa, warmth, strict=True)
    ]


def simulated(random, rig, fall, *, has_eye):
    """Readings of a loop that leaks, with the errors that a rig and weather have.

    With `has_eye` errors are normal with a spread of half a step; without, the rig
    rounds to its step and nothing else.
    """
    times = np.array(SCHEDULE)
    start = random.uniform(20.0, 30.0)
    celsius = 21.0 + random.uniform(-1.0, 1.0) * times / 30.0
    weather = random.normal(0.0, 0.001) * times
    warmer = (celsius + 273.15) / (celsius[0] + 273.15)
    kpa = (start + 101.325 - fall * times) * warmer - 101.325 - weather
    steps = rig.gauge_step_kpa, rig.thermometer_step_k
    if has_eye:
        read = [
            true + random.normal(0.0, step / 2.0, len(times))
            for true, step in zip((kpa, celsius), steps, strict=True)
        ]
    else:
        read = [
            np.round(true / step + shift) * step - shift * step
            for true, step, shift in zip(
                (kpa, celsius), steps, random.uniform(0.0, 1.0, 2), strict=True
            )
        ]
    return taken(
        [float(one) for one in read[0]], celsius=[float(one) for one in read[1]]
    )


CASES = [
    (step, warmth, eye)
    for step in (0.05, 0.2, 1.0)
    for warmth in (0.1, 0.5)
    for eye in (True, False)
]


@pytest.mark.parametrize(
    ("step", "warmth", "has_eye"),
    few_or_all([(0.2, 0.1, True), (1.0, 0.5, False)], CASES),
)
def test_the_stated_band_holds_the_truth_in_95_of_100(step, warmth, has_eye) -> None:
    """Simulated: at least 95 %, less three spreads of so many trials (1.4 %... 2.7 %)."""
    random = np.random.default_rng(7)
    rig = Rig(volume_ml=400.0, gauge_step_kpa=step, thermometer_step_k=warmth)
    held = 0
    for _ in range(SIMULATED):
        fall = random.uniform(0.0, step / 20.0)
        outcome = judged(simulated(random, rig, fall, has_eye=has_eye), rig)
        held += abs(outcome.fall_kpa_min - fall) <= outcome.band_kpa_min
    assert held / SIMULATED >= 0.95 - 3.0 * (0.95 * 0.05 / SIMULATED) ** 0.5
    if has_eye:  # and no wider than that: not all of them
        assert held < SIMULATED


def test_a_quiet_gauge_is_told_with_the_leak_that_it_would_have_shown() -> None:
    outcome = judged(taken([30.0] * 7), FINE)
    words = verdict_words(outcome, taken([30.0] * 7), FINE)
    assert outcome.verdict is LeakVerdict.NONE_SEEN
    assert words.startswith("no leak above 0.")
    assert words.endswith(
        "seen with this gauge; fill with the board unpowered all the same"
    )


@pytest.mark.parametrize("fall", [-0.02, 0.0, 0.02, 0.2])
def test_no_verdict_calls_a_loop_tight(fall) -> None:
    readings = taken([25.0 - fall * at for at in SCHEDULE])
    for some in (readings, readings[:3], readings[:5]):
        assert "tight" not in verdict_words(judged(some, FINE), some, FINE)


def test_cooling_that_the_thermometer_shows_is_no_leak() -> None:
    """Gay-Lussac: 131.325 kPa at 21 °C is 130.43 kPa at 19 °C."""
    celsius = [21.0, 20.8, 20.6, 20.2, 19.8, 19.5, 19.0]
    kpa = [131.325 * (c + 273.15) / 294.15 - 101.325 for c in celsius]
    assert kpa[0] - kpa[-1] > 0.85
    assert judged(taken(kpa, celsius=celsius), FINE).verdict is LeakVerdict.NONE_SEEN


def test_a_straight_fall_is_a_leak_of_its_slope() -> None:
    """Least squares of a line is that line: 0.05 kPa/min, 0.25 mL/min of 500 mL."""
    outcome = judged(taken([30.0 - 0.05 * at for at in SCHEDULE]), FINE)
    assert outcome.verdict is LeakVerdict.LEAK
    assert outcome.fall_kpa_min == pytest.approx(0.05, abs=1e-9)
    assert FINE.as_leak(0.05) == pytest.approx(500.0 * 0.05 / OUTSIDE)


def test_readings_before_the_air_has_settled_are_left_out() -> None:
    """A fall by 2 kPa that dies away in a minute, then nothing."""
    settling = taken([30.0 + 2.0 * float(np.exp(-at / 1.0)) for at in SCHEDULE])
    outcome = judged(settling, FINE)
    assert outcome.verdict is LeakVerdict.NONE_SEEN
    assert outcome.first > 0
    assert abs(outcome.fall_kpa_min) < outcome.band_kpa_min


def test_a_fall_that_slows_down_to_the_end_is_waited_out() -> None:
    outcome = judged(
        taken([30.0 + 6.0 * float(np.exp(-at / 12.0)) for at in SCHEDULE]), FINE
    )
    assert outcome.verdict is LeakVerdict.WAIT
    assert not outcome.is_settled
    assert outcome.wait_min == 15


def test_a_leak_through_a_fine_gap_is_not_taken_for_cooling() -> None:
    """Its flow is as the pressure, so the fall slows down, too: 30 exp(-t/80)."""
    outcome = judged(taken([30.0 * float(np.exp(-at / 80.0)) for at in SCHEDULE]), FINE)
    assert outcome.verdict is LeakVerdict.LEAK
    assert outcome.first == 0


def test_more_than_cooling_explains_is_a_leak_at_once() -> None:
    """Reversible compression to 30 kPa explains 9.4 kPa; the gauge fell by 12 in 2 min."""
    readings = taken([30.0, 24.0, 18.0], minutes=(0.0, 1.0, 2.0))
    assert judged(readings, FINE).verdict is LeakVerdict.LEAK


@pytest.mark.parametrize(("last", "wait"), [(9.0, 6), (14.5, 1), (4.0, 11)])
def test_a_short_watch_says_how_long_to_wait(last, wait) -> None:
    """15 min of a straight line are wanted."""
    minutes = tuple(last * share for share in (0.0, 0.25, 0.5, 1.0))
    readings = taken([30.0] * 4, minutes=minutes)
    outcome = judged(readings, FINE)
    assert outcome.wait_min == wait
    more = "minute" if wait == 1 else "minutes"
    assert verdict_words(outcome, readings, FINE) == f"wait {wait} more {more}"


def test_a_rise_is_no_verdict_on_leaks() -> None:
    outcome = judged(taken([28.0 + 0.05 * at for at in SCHEDULE]), FINE)
    assert outcome.verdict is LeakVerdict.RISE


def test_readings_that_scatter_widen_the_band() -> None:
    steady = taken([30.0] * 7)
    wild = taken([30.0, 31.5, 28.9, 30.8, 29.2, 30.9, 29.6])
    assert judged(steady, FINE).scatter == 1.0
    found = judged(wild, FINE)
    assert found.scatter > 5.0
    assert found.spread_kpa_min > 5.0 * judged(steady, FINE).spread_kpa_min


# ---------------------------------------------------------------- what is not a reading


@pytest.mark.parametrize(
    "text",
    [
        "5 min, 0.29, 21.5 C",
        "5, 0.29 bar, 21.5 C",
        "5 min, 0.29 bar, 21.5",
        "5 min, 0.29 bars, 21.5 C",
        "5 min, 0,29 bar, 21.5 C",
        "5 m, 0.29 bar, 21.5 C",
        "5 min, 21.5 C, 0.29 bar",
        "5 min, 0.29 bar",
        "",
    ],
)
def test_a_value_without_its_unit_is_an_error(text) -> None:
    with pytest.raises(LoopsolverError, match="wanted"):
        written(text, where="--reading 1")


def test_a_reading_in_the_units_that_gauges_have() -> None:
    """By definition: 1 bar = 100 kPa; 68 °F = 20 °C; 1 h = 60 min."""
    found = written("0.1 h, 0.29 bar, 68 F", where="")
    assert found.reading.minutes == pytest.approx(6.0)
    assert found.reading.gauge_kpa == pytest.approx(29.0)
    assert found.reading.temperature_c == pytest.approx(20.0)
    assert found.gauge_step_kpa == pytest.approx(1.0)  # a hundredth of a bar
    assert found.thermometer_step_k == pytest.approx(5.0 / 9.0)  # a degree Fahrenheit


def test_a_table_with_units_in_its_heads(tmp_path) -> None:
    path = tmp_path / "read.csv"
    path.write_text("temp (°C);time [s];gauge bar\n21.5;0;0.30\n21.5;90;0.29\n")
    found = table(path)
    assert [one.reading.minutes for one in found] == pytest.approx([0.0, 1.5])
    assert [one.reading.gauge_kpa for one in found] == pytest.approx([30.0, 29.0])


@pytest.mark.parametrize(
    "text",
    [
        "time (min),gauge,temperature (°C)\n0,0.3,21\n1,0.3,21\n",
        "time (min),gauge (bar),gauge (kPa)\n0,0.3,21\n1,0.3,21\n",
        "time (min),gauge (bar)\n0,0.3\n1,0.3\n",
        "time (min),gauge (bar),air (C)\n0,0.3\n1,0.3,21\n",
        "time (min),gauge (bar),air (C)\n0,x,21\n1,0.3,21\n",
        "time (min),gauge (bar),air (C)\n",
        "",
    ],
)
def test_a_table_that_lacks_a_unit_or_a_value_is_an_error(text, tmp_path) -> None:
    path = tmp_path / "read.csv"
    path.write_text(text)
    with pytest.raises(LoopsolverError, match="wanted"):
        table(path)


@pytest.mark.parametrize(
    ("readings", "told"),
    [
        (taken([30.0], minutes=(0.0,)), "two or more"),
        (taken([30.0, 30.0], minutes=(5.0, 5.0)), "in the order"),
        (taken([30.0, 30.0], minutes=(5.0, 2.0)), "in the order"),
        (taken([30.0, 30.0], minutes=(-1.0, 2.0)), "since pumping stopped"),
        (taken([30.0, -1.0], minutes=(0.0, 2.0)), "above the air"),
        (taken([35.0, 30.0], minutes=(0.0, 2.0)), "at most 30 kPa"),
        (taken([0.29, 0.29], minutes=(0.0, 2.0)), "the gauge's own unit"),
        (taken([30.0, 30.0], minutes=(0.0, 2.0), celsius=[21.0, 295.0]), "60 °C"),
    ],
)
def test_readings_that_cannot_be_are_told(readings, told) -> None:
    with pytest.raises(LoopsolverError, match=told):
        checked(readings, pressure_kpa=30.0, step_kpa=1.0)


@pytest.mark.parametrize(
    ("limits", "asked", "pressure"),
    [
        (None, None, 30.0),
        (None, 20.0, 20.0),
        ({}, None, 30.0),
        ({"block": None, "front": 100.0}, None, 30.0),
        ({"block": 12.0, "front": 100.0}, None, 12.0),
        ({"block": None, "front": 100.0}, 50.0, 50.0),
        ({"block": 80.0, "front": 100.0}, 80.0, 80.0),
    ],
)
def test_the_pressure_is_30_kpa_or_the_least_limit(limits, asked, pressure) -> None:
    assert pressed_to(limits, asked=asked) == pressure


@pytest.mark.parametrize(
    ("limits", "asked", "told"),
    [
        (None, 31.0, "without a plan"),
        ({"block": 12.0, "front": 100.0}, 13.0, "components.block.water.limit"),
        ({"block": None, "front": 100.0}, 51.0, "block"),
    ],
)
def test_more_pressure_is_refused(limits, asked, told) -> None:
    with pytest.raises(LoopsolverError, match=told):
        pressed_to(limits, asked=asked)
