"""The cut plan: which piece is cut from which stock tube, with the saw's width."""

from __future__ import annotations

import csv
import io
import math
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.cutting.cutting_stock import Cutting, Demand, least_stock
from loopsolver.errors import LoopsolverError
from loopsolver.lengths import MILLIMETRES, Lengths
from loopsolver.tolerances import CUT_STEP, TOUCH

SAW_KERF: Final = 1.0
"""Width of a fine saw's cut [mm]. Common practice, no source; a tube cutter takes none."""

_SPAN: Final = ("from_mm", "to_mm", "length_mm")
CSV_HEADING: Final = ("stock_tube", "place", "what", "run", *_SPAN)
_HUNDREDTHS: Final = replace(MILLIMETRES, decimals=2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A straight piece that is wanted.

    Attributes
    ----------
    number : int
        Of the run, counted from 1, as on every sheet.
    run : str
        The run's name.
    length : float
        Of the blank [mm].
    spare : int
        0 for the blank itself, else the spare's number.
    """

    number: int
    run: str
    length: float
    spare: int = 0

    @property
    def key(self) -> str:
        """A few characters for a narrow piece of a drawing: ``3``, or ``3s`` if spare."""
        return f"{self.number}s" if self.spare else f"{self.number}"

    @property
    def label(self) -> str:
        """The run's name, with the spare's number."""
        return f"{self.run}, spare {self.spare}" if self.spare else self.run


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A piece in its place on a stock tube; `start` is from the tube's first end [mm]."""

    piece: Piece
    start: float

    @property
    def end(self) -> float:
        """Where the piece ends, from the stock tube's first end [mm]."""
        return self.start + self.piece.length


@dataclass(frozen=True, slots=True, kw_only=True)
class StockTube:
    """One stock tube and what is cut from it, longest piece first. Lengths in mm."""

    cuts: tuple[Cut, ...]
    stock_length: float
    kerf: float

    @property
    def leftover(self) -> float:
        """What is left of the tube after the last cut [mm]; 0 where the saw takes it."""
        return max(0.0, self.stock_length - self.cuts[-1].end - self.kerf)


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """All stock tubes, and what none of them can hold.

    Attributes
    ----------
    stock_length, kerf : float
        Length of a stock tube, width of a saw cut [mm].
    tubes : tuple of StockTube
        The fullest first.
    too_long : tuple of Piece
        Pieces longer than a stock tube, set apart.
    bound : int
        A number of stock tubes that no cutting can do with less than.
    """

    stock_length: float
    kerf: float
    tubes: tuple[StockTube, ...]
    too_long: tuple[Piece, ...]
    bound: int

    @property
    def is_least(self) -> bool:
        """Whether it is proved that no cutting needs fewer stock tubes."""
        return len(self.tubes) <= self.bound


def cut_plan(
    pieces: Sequence[Piece], *, stock_length: float, kerf: float = SAW_KERF
) -> CutPlan:
    """Return the pieces laid on the least number of stock tubes.

    The saw takes `kerf` between neighbouring pieces, and between the last one and the
    leftover; a piece may also end where the stock ends, with no cut. Equal input gives
    equal output.

    Raises
    ------
    LoopsolverError
        If a length is not above zero, or the kerf is below it.

    Notes
    -----
    n pieces in one tube need n - 1 cuts: their lengths and cuts fit if
    ``sum(length + kerf) <= stock + kerf``, so that one kerf added to every piece and to
    the stock turns the task into plain cutting stock.
    """
    _refuse_nonsense(pieces, stock_length=stock_length, kerf=kerf)
    limit = stock_length + TOUCH
    fitting = [piece for piece in pieces if piece.length <= limit]
    stock = math.floor((limit + kerf) / CUT_STEP)
    sizes = [min(_steps(piece.length + kerf), stock) for piece in fitting]
    demand = Demand.of(sizes, stock=stock)
    cutting = least_stock(demand) if fitting else Cutting(patterns=(), bound=0)
    shares = _shared_out(cutting, demand, zip(fitting, sizes, strict=True))
    return CutPlan(
        stock_length=stock_length,
        kerf=kerf,
        tubes=tuple(
            StockTube(
                cuts=tuple(_laid(share, kerf)), stock_length=stock_length, kerf=kerf
            )
            for share in shares
        ),
        too_long=tuple(piece for piece in pieces if piece.length > limit),
        bound=cutting.bound,
    )


def cut_plan_csv(plan: CutPlan, *, lengths: Lengths = MILLIMETRES) -> str:
    """Return the cut plan as comma-separated text, a line a piece and a leftover.

    Lengths in millimetres, from the stock tube's first end; then once more in inches
    where `lengths` are. A name that a spreadsheet would take for a formula gets an
    apostrophe in front.
    """
    beside = [] if lengths.unit == "mm" else [lengths]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    further = [name.replace("_mm", f"_{one.unit}") for one in beside for name in _SPAN]
    writer.writerow((*CSV_HEADING, *further))

    def write(*row: object, span: tuple[float | None, float | None, float]) -> None:
        columns = (_HUNDREDTHS, *beside)
        cells = ("" if at is None else one.number(at) for one in columns for at in span)
        writer.writerow((*row, *cells))

    for number, tube in enumerate(plan.tubes, start=1):
        for place, cut in enumerate(tube.cuts, start=1):
            span = (cut.start, cut.end, cut.piece.length)
            write(number, place, *_what(cut.piece), span=span)
        if tube.leftover > 0.0:
            span = (tube.stock_length - tube.leftover, tube.stock_length, tube.leftover)
            write(number, len(tube.cuts) + 1, "leftover", "", span=span)
    for piece in plan.too_long:
        kind, name = _what(piece)
        write("", "", f"{kind}, too long", name, span=(None, None, piece.length))
    return text.getvalue()


def _what(piece: Piece) -> tuple[str, str]:
    """Return what a piece is, and its run's name safe for a spreadsheet."""
    kind = f"spare {piece.spare}" if piece.spare else "blank"
    name = " ".join(piece.run.split())
    return kind, f"'{name}" if name.startswith(("=", "+", "-", "@")) else name


def _steps(length: float) -> int:
    """Return a piece's length as a whole number of steps, rounded up."""
    return math.ceil((length - TOUCH) / CUT_STEP)


def _refuse_nonsense(
    pieces: Sequence[Piece], *, stock_length: float, kerf: float
) -> None:
    """Raise if a length cannot be one."""
    for name, length in (
        ("the stock length", stock_length),
        *((f"the blank of {piece.label}", piece.length) for piece in pieces),
    ):
        if not 0.0 < length < math.inf:
            msg = f"{name} must be above 0 mm, found {length:g} mm"
            raise LoopsolverError(msg)
    if not 0.0 <= kerf < math.inf:
        msg = f"the saw cut must be 0 mm wide or more, found {kerf:g} mm"
        raise LoopsolverError(msg)


def _shared_out(
    cutting: Cutting, demand: Demand, pieces: Iterable[tuple[Piece, int]]
) -> Iterator[list[Piece]]:
    """Yield the pieces of each stock tube; equal ones are taken in their order."""
    queues: defaultdict[int, deque[Piece]] = defaultdict(deque)
    for piece, size in pieces:
        queues[size].append(piece)
    for pattern in cutting.patterns:
        yield [
            queues[size].popleft()
            for size, count in zip(demand.lengths, pattern, strict=True)
            for _ in range(count)
        ]


def _laid(pieces: Sequence[Piece], kerf: float) -> Iterator[Cut]:
    """Yield the pieces one after the other with a saw cut between."""
    start = 0.0
    for piece in pieces:
        yield Cut(piece=piece, start=start)
        start += piece.length + kerf
