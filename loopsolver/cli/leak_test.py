"""``loopsolver leak-test``: what readings of a gauge mean before coolant goes in."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopsolver.cli.options import add_force, add_json, file_path
from loopsolver.cli.output import say, say_json, say_table, say_wrapped, tell
from loopsolver.cli.subjects import read_plan
from loopsolver.errors import LoopsolverError
from loopsolver.files import check_drawing, write_drawing
from loopsolver.words import in_commas

if TYPE_CHECKING:
    from loopsolver.hydraulics.leak_input import WrittenReading
    from loopsolver.hydraulics.leak_test import GaugeReading, LeakFinding, Rig
    from loopsolver.plan import Plan


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "plan", metavar="PLAN", type=file_path, nargs="?", help="the plan of the loop"
    )
    parser.add_argument(
        "--volume",
        metavar="V",
        help='air in the loop, such as "0.5 L"; default: PLAN\'s',
    )
    parser.add_argument(
        "--pressure",
        metavar="P",
        help='what is pumped to, such as "0.3 bar"; default: 30 kPa or the least limit',
    )
    parser.add_argument(
        "--gauge-step",
        metavar="P",
        help='from mark to mark, such as "0.02 bar"; default: the last digit read',
    )
    parser.add_argument(
        "--thermometer-step",
        metavar="T",
        help='from mark to mark, such as "0.5 K"; default: the last digit read',
    )
    _add_readings(parser)
    _add_files(parser)


def _add_readings(parser: argparse.ArgumentParser) -> None:
    """Add where readings are taken from."""
    read = parser.add_mutually_exclusive_group()
    read.add_argument(
        "--reading",
        metavar="TEXT",
        dest="texts",
        nargs="+",
        action="extend",
        help='time since pumping stopped, gauge, temperature: "5 min, 0.29 bar, 21.5 C"',
    )
    read.add_argument(
        "--readings",
        metavar="CSV",
        type=file_path,
        help="a file of readings; the head of each column carries its unit",
    )


def _add_files(parser: argparse.ArgumentParser) -> None:
    """Add what can be written, and how."""
    parser.add_argument(
        "--picture", metavar="FILE", type=file_path, help="a diagram, as PDF or SVG"
    )
    parser.add_argument(
        "--form", metavar="PDF", type=file_path, help="a form to print and to fill"
    )
    add_force(parser, what="files that are not as loopsolver wrote them")
    add_json(parser)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Test:
    """A leak test: what it is made with, and what was read.

    `rig` is None where no step is known yet, `outcome` where nothing was read.
    """

    volume_ml: float
    pressure_kpa: float
    rig: Rig | None = None
    readings: Sequence[GaugeReading] = ()
    outcome: LeakFinding | None = None


def command(args: argparse.Namespace) -> int:
    """Print what readings mean, or what to read; return the exit status."""
    from loopsolver.plan.judging import chosen_candidate

    plan = None if args.plan is None else read_plan(args.plan, used=chosen_candidate)
    read = () if plan is None else plan.files
    if args.readings is not None:
        read = (*read, args.readings)
    for path in (args.picture, args.form):
        if path is not None:
            check_drawing(path, read=read, force=args.force)
    test = _test(args, plan)
    if test.outcome is None and args.picture is not None:
        msg = "--picture: found no readings to draw; wanted --reading or --readings"
        raise LoopsolverError(msg)
    for path, data, what in _files(args, test):
        write_drawing(path, data, read=read, force=args.force)
        tell(f"{what} written to {path}.")
    if args.json:
        say_json(_document(test))
    else:
        _say(test)
    return 0


def _test(args: argparse.Namespace, plan: Plan | None) -> _Test:
    """Return the test that the command line describes."""
    from loopsolver.hydraulics.leak_input import checked, table, written
    from loopsolver.hydraulics.leak_test import judged

    if args.readings is not None:
        taken = table(args.readings)
    else:
        taken = tuple(
            written(text, where=f"--reading {number}")
            for number, text in enumerate(args.texts or (), start=1)
        )
    volume, pressure = _volume(args, plan), _pressure(args, plan)
    rig = _rig(args, volume, taken)
    test = _Test(volume_ml=volume, pressure_kpa=pressure, rig=rig)
    if rig is None or not taken:
        return test
    readings = checked(
        [one.reading for one in taken],
        pressure_kpa=pressure,
        step_kpa=rig.gauge_step_kpa,
    )
    return replace(test, readings=readings, outcome=judged(readings, rig))


def _volume(args: argparse.Namespace, plan: Plan | None) -> float:
    """Return the air in the loop [mL]."""
    from loopsolver.amounts import VOLUME
    from loopsolver.hydraulics.leak_input import above_nothing
    from loopsolver.hydraulics.volumes import volumes

    if args.volume is not None:
        return above_nothing(args.volume, VOLUME, where="--volume")
    if plan is None:
        msg = "found neither PLAN nor --volume; wanted the air in the loop from one"
        raise LoopsolverError(msg)
    held = volumes(plan)
    if held.unknown:
        msg = (
            f"{args.plan}: the volume of {in_commas(held.unknown)} is not known; wanted "
            "water.volume or water.weighed in the scene, or --volume of the whole loop"
        )
        raise LoopsolverError(msg)
    return held.known_ml


def _pressure(args: argparse.Namespace, plan: Plan | None) -> float:
    """Return what the loop is pumped to [kPa]."""
    from loopsolver.amounts import PRESSURE
    from loopsolver.hydraulics.leak_input import above_nothing, pressed_to
    from loopsolver.hydraulics.volumes import wet_parts

    limits = None
    if plan is not None:
        limits = {part.name: part.water.limit_kpa for part in wet_parts(plan)}
    asked = args.pressure
    if asked is not None:
        asked = above_nothing(asked, PRESSURE, where="--pressure")
    return pressed_to(limits, asked=asked)


def _rig(
    args: argparse.Namespace, volume: float, taken: Sequence[WrittenReading]
) -> Rig | None:
    """Return what is tested with; None where neither steps nor readings tell."""
    from loopsolver.amounts import PRESSURE
    from loopsolver.hydraulics.leak_input import WARMTH, above_nothing
    from loopsolver.hydraulics.leak_test import Rig

    gauge = min((one.gauge_step_kpa for one in taken), default=None)
    warmth = min((one.thermometer_step_k for one in taken), default=None)
    if args.gauge_step is not None:
        gauge = above_nothing(args.gauge_step, PRESSURE, where="--gauge-step")
    if args.thermometer_step is not None:
        where = "--thermometer-step"
        warmth = above_nothing(args.thermometer_step, WARMTH, where=where)
    if gauge is None or warmth is None:
        return None
    return Rig(volume_ml=volume, gauge_step_kpa=gauge, thermometer_step_k=warmth)


def _files(args: argparse.Namespace, test: _Test) -> Iterator[tuple[Path, bytes, str]]:
    """Yield what is to be written: where, what it holds, what it is."""
    if args.picture is None and args.form is None:
        return
    from loopsolver.workshop.leak_sheet import leak_form, leak_picture, picture_alone

    drawing = None
    if test.outcome is not None and test.rig is not None:
        drawing = leak_picture(test.readings, test.outcome, test.rig)
    if args.picture is not None and drawing is not None:
        data = picture_alone(drawing, ending=args.picture.suffix.lower())
        yield args.picture, data, "Picture"
    if args.form is not None:
        subject = "The loop" if args.plan is None else args.plan.name
        data = leak_form(
            subject,
            volume_ml=test.volume_ml,
            pressure_kpa=test.pressure_kpa,
            readings=test.readings,
            picture=drawing,
        )
        yield args.form, data, "Form"


def _say(test: _Test) -> None:
    """Print the test: cautions first."""
    from loopsolver.report import leak_test as words

    say("First of all:")
    say_wrapped(words.LEAK_CAUTIONS)
    say()
    for label, text in words.rig_rows(
        test.rig, volume_ml=test.volume_ml, pressure_kpa=test.pressure_kpa
    ):
        say_wrapped([text], mark=f"  {label:<10}")
    say()
    outcome, rig = test.outcome, test.rig
    if outcome is None or rig is None:
        say("Before pumping:")
        say_wrapped(words.BEFOREHAND)
        return
    say_table(words.readings_table(test.readings, rig, first=outcome.first))
    say()
    verdict = words.verdict_words(outcome, test.readings, rig)
    say_wrapped([f"{verdict[0].upper()}{verdict[1:]}."], mark="")
    say()
    say_wrapped(words.outcome_sentences(outcome, test.readings, rig))
    say_wrapped([words.LIMITS_OF_IT])


def _document(test: _Test) -> dict[str, Any]:
    from loopsolver.hydraulics.leak_test import expected_line
    from loopsolver.report import leak_test as words

    document: dict[str, Any] = {
        "cautions": list(words.LEAK_CAUTIONS),
        "pressure_kpa": test.pressure_kpa,
        "volume_ml": test.volume_ml,
        "readings": [asdict(one) for one in test.readings],
        "verdict": None,
    }
    outcome, rig = test.outcome, test.rig
    if rig is not None:
        document["gauge_step_kpa"] = rig.gauge_step_kpa
        document["thermometer_step_k"] = rig.thermometer_step_k
    if outcome is None or rig is None:
        return document
    line = expected_line(test.readings, rig, first=outcome.first)
    for one, (without, band) in zip(document["readings"], line, strict=True):
        one.update(without_leak_kpa=without, band_kpa=band)
    document |= {
        "verdict": outcome.verdict.value,
        "words": words.verdict_words(outcome, test.readings, rig),
        "first": outcome.first + 1,
        "is_settled": outcome.is_settled,
        "fall_kpa_min": outcome.fall_kpa_min,
        "fall_band_kpa_min": outcome.band_kpa_min,
        "leak_ml_min": rig.as_leak(outcome.fall_kpa_min),
        "leak_band_ml_min": rig.as_leak(outcome.band_kpa_min),
        "scatter": outcome.scatter,
        "wait_min": outcome.wait_min,
    }
    return document
