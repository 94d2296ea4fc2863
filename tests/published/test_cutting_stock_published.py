"""Cutting stock and bin packing instances whose optimum is published.

All ignore the saw's width: kerf 0. Lengths stand in millimetres here.
"""

from __future__ import annotations

import pytest

from loopsolver.cutting.cut_plan import Piece, cut_plan

# A paper mill's order, rolls of 5600; widths and counts with 73 rolls as the optimum:
# the worked example of the encyclopaedia article "Cutting stock problem" (the optimum
# of 73 is from memory).
PAPER_MILL = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
    2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip
PAPER_MILL_TOTAL = 407_160  # printed in the same article
PAPER_MILL_ROLLS = 73

# Rolls of 100; the classic of Gilmore and Gomory, as in Chvatal, Linear Programming
# (1983), chapter 13; the data is printed in a modelling system's gallery, the optimum
# of 453 is from memory.
CLASSIC = {45: 97, 36: 610, 31: 395, 14: 211}
CLASSIC_ROLLS = 453

# Bin packing, capacity 150: OR-Library (J. E. Beasley), file binpack1, instances of
# E. Falkenauer, A hybrid grouping genetic algorithm for bin packing, Journal of
# Heuristics 2 (1996) 5-30. The number after each is the best known one that the file
# itself gives; they have been proved optimal since.
U120_00 = (
    """
    42 69 67 57 93 90 38 36 45 42 33 79 27 57 44 84 86 92 46 38 85 33 82 73 49
    70 59 23 57 72 74 69 33 42 28 46 30 64 29 74 41 49 55 98 80 32 25 38 82 30
    35 39 57 84 62 50 55 27 30 36 20 78 47 26 45 41 58 98 91 96 73 84 37 93 91
    43 73 85 81 79 71 80 76 83 41 78 70 23 42 87 43 84 60 55 49 78 73 62 36 44
    94 69 32 96 70 84 58 78 25 80 58 66 83 24 98 60 42 43 43 39
    """,
    48,
)
U120_08 = (
    """
    100 22 25 51 95 58 97 30 79 23 53 80 20 65 64 21 26 100 81 98 70 85 92 97 86
    71 91 29 63 34 67 23 33 89 94 47 100 37 40 58 73 39 49 79 54 57 98 69 67 49
    38 34 96 27 92 82 69 45 69 20 75 97 51 70 29 91 98 77 48 45 43 61 36 82 89
    94 26 35 58 58 57 46 44 91 49 52 65 42 33 60 37 57 91 52 95 84 72 75 89 81
    67 74 87 60 32 76 85 59 62 39 64 52 88 45 29 88 85 54 40 57
    """,
    50,
)
U120_19 = (
    """
    49 95 38 62 63 97 42 62 100 43 44 77 97 94 68 23 50 36 89 58 97 27 64 65 54
    58 24 35 33 63 32 50 58 90 44 50 48 21 72 75 21 74 28 95 77 69 96 24 57 85
    72 96 50 83 65 62 99 93 23 77 94 31 50 33 79 73 23 55 44 78 84 66 31 59 97
    95 22 76 90 66 29 100 90 92 50 49 47 43 37 40 60 52 54 99 34 46 88 97 85 39
    32 51 95 54 99 86 48 90 28 25 86 39 74 26 38 60 41 67 80 33
    """,
    49,
)


def tubes_for(lengths: list[int], *, stock: int) -> int:
    """Return how many stock tubes the cut plan needs, every piece accounted for."""
    pieces = [
        Piece(number=number, run=f"piece {number}", length=float(length))
        for number, length in enumerate(lengths, start=1)
    ]
    plan = cut_plan(pieces, stock_length=float(stock), kerf=0.0)
    cut = [cut.piece.number for tube in plan.tubes for cut in tube.cuts]
    assert sorted(cut) == [piece.number for piece in pieces]
    assert all(tube.cuts[-1].end <= stock for tube in plan.tubes)
    assert plan.is_least
    return len(plan.tubes)


def rolls(order: dict[int, int]) -> list[int]:
    """Return an order with every piece by itself."""
    return [width for width, count in order.items() for _ in range(count)]


def test_paper_mill_order_reaches_its_published_optimum() -> None:
    assert sum(rolls(PAPER_MILL)) == PAPER_MILL_TOTAL
    assert tubes_for(rolls(PAPER_MILL), stock=5600) == PAPER_MILL_ROLLS


def test_gilmore_gomory_classic_reaches_its_published_optimum() -> None:
    assert tubes_for(rolls(CLASSIC), stock=100) == CLASSIC_ROLLS


@pytest.mark.parametrize("instance", [U120_00, U120_08, U120_19])
def test_uniform_bin_packing_reaches_the_best_known(instance: tuple[str, int]) -> None:
    lengths, bins = instance
    assert tubes_for([int(length) for length in lengths.split()], stock=150) == bins
