"""What was measured of a bent tube, from the words of a command line."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final, TypeVar

from loopsolver.errors import LoopsolverError
from loopsolver.units import length_mm
from loopsolver.words import counted

if TYPE_CHECKING:
    from loopsolver.fitup.as_bent import AsBent
    from loopsolver.geometry.vectors import Point
    from loopsolver.units import LengthUnit

T = TypeVar("T")

_NOT_MEASURED: Final = "-"
_TURN: Final = re.compile(r"(\d+\.?\d*|\.\d+)\s*(clockwise|anticlockwise)?")
_MOST_MISS: Final = 1000.0  # [mm]: more is a slip of the pen, or of the unit
_MOST_LEAN: Final = 60.0  # degrees


def add_measured(parser: argparse.ArgumentParser) -> None:
    """Add what can be measured of a bent tube."""
    told = "in order, - for one not measured"
    lists = {
        "--angles": ("A", f"the bends' angles in degrees, {told}"),
        "--turns": (
            "T",
            f'the turn before each bend but the first, {told}: "88 clockwise", seen '
            "along the tube from its first end, 0 or 180",
        ),
        "--straights": ("L", f"the straights, from tube end to tube end, {told}"),
    }
    for name, (metavar, words) in lists.items():
        parser.add_argument(name, metavar=metavar, nargs="+", help=words)
    parser.add_argument(
        "--miss",
        metavar="WORDS",
        help="how far the far end is off the foot and height printed on sheet 1, the "
        'first straight and first bend lying there: "4 right, 2 near, 3 down"',
    )
    parser.add_argument(
        "--leans",
        metavar="WORDS",
        help="how many degrees the last straight then points off what is printed: "
        '"1.5 right"',
    )


def measured_of(args: argparse.Namespace, *, bends: int, units: LengthUnit) -> AsBent:
    """Return what was measured of a tube of so many bends.

    Raises
    ------
    LoopsolverError
        If nothing was, if there are too few or too many values, or one cannot be read.
    """
    from loopsolver.fitup.as_bent import AsBent
    from loopsolver.scene.side_words import length_in_words

    given = (args.angles, args.turns, args.straights, args.miss, args.leans)
    if not any(given):
        msg = (
            "nothing was measured: give --angles, --turns and --straights of the tube as "
            "it was bent, or --miss and --leans of it as it lies on sheet 1"
        )
        raise LoopsolverError(msg)
    if not bends and (args.miss or args.leans):
        msg = (
            "--miss and --leans: found a straight tube, which has no bend to lay on a "
            "sheet; wanted --straights"
        )
        raise LoopsolverError(msg)
    if args.leans and not args.miss:
        msg = (
            "--leans: found no --miss with it; wanted both, as the tube lies on sheet 1"
        )
        raise LoopsolverError(msg)

    def mm(text: str) -> float:
        return length_mm(length_in_words(text), unit=units)

    return AsBent(
        angles=_values("--angles", args.angles, bends, "bends", _angle),
        turns=_values("--turns", args.turns, max(bends - 1, 0), "turns", _turn),
        straights=_values("--straights", args.straights, bends + 1, "straights", mm),
        miss=_ways("--miss", args.miss, lambda one: length_mm(one, unit=units)),
        leans=_ways("--leans", args.leans, _lean),
    )


def _values(
    option: str,
    texts: Sequence[str] | None,
    count: int,
    noun: str,
    read: Callable[[str], float],
) -> tuple[float | None, ...]:
    """Return the values of an option in order, None for each that was not measured."""
    if texts is None:
        return (None,) * count
    if len(texts) != count:
        msg = (
            f"{option}: found {counted(len(texts), 'value')}; wanted {count}, one for "
            f"each of the tube's {noun} in order, - for one not measured"
        )
        raise LoopsolverError(msg)
    found: list[float | None] = []
    for number, text in enumerate(texts, start=1):
        if text == _NOT_MEASURED:
            found.append(None)
            continue
        try:
            found.append(read(text))
        except ValueError as error:
            trouble = str(error)
            msg = f"{option}: value {number}: {trouble}"
            raise LoopsolverError(msg) from None
    return tuple(found)


def _angle(text: str) -> float:
    wanted = "degrees above 0 and below 180, such as 88.5"
    if not re.fullmatch(r"\d+\.?\d*|\.\d+", text) or not 0.0 < float(text) < 180.0:
        msg = f"found {text!r}; wanted {wanted}"
        raise ValueError(msg)
    return math.radians(float(text))


def _turn(text: str) -> float:
    match = _TURN.fullmatch(text.strip().lower())
    wanted = '"88 clockwise" or "88 anticlockwise", from 0 to 180 degrees'
    if match is None or float(match[1]) > 180.0:
        msg = f"found {text!r}; wanted {wanted}"
        raise ValueError(msg)
    amount, sense = float(match[1]), match[2]
    if sense is None and amount not in {0.0, 180.0}:
        msg = f"found {text!r}, which says no way round; wanted {wanted}"
        raise ValueError(msg)
    return math.radians(-amount if sense == "anticlockwise" else amount)


def _lean(amount: float | str) -> float:
    if isinstance(amount, str) or abs(amount) > _MOST_LEAN:
        msg = f"found {amount!r}; wanted degrees up to {_MOST_LEAN:g}, bare"
        raise ValueError(msg)
    return math.radians(amount)


def _ways(
    option: str, text: str | None, read: Callable[[float | str], float]
) -> Point | None:
    """Return what words say along right, away and up; None where there are none."""
    if text is None:
        return None
    from loopsolver.scene.side_words import OFF_A_SHEET, along, ways_in_words

    try:
        words = ways_in_words(text, wanted=OFF_A_SHEET)
        right, away, up = (read(along(one, words)) for one in ("right", "away", "up"))
    except ValueError as error:
        msg = f"{option}: {error}"
        raise LoopsolverError(msg) from None
    if max(map(abs, (right, away, up))) > _MOST_MISS:
        msg = f"{option}: found {text!r}; wanted at most {_MOST_MISS:g} mm each way"
        raise LoopsolverError(msg)
    return right, away, up
