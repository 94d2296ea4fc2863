"""The least number of stock tubes, by trying every way; and demands to try."""

from __future__ import annotations

import random


def exhaustive(lengths: list[int], *, stock: int, kerf: int) -> int:
    """Return the least number of tubes by trying every piece in every tube.

    Whole numbers, so that nothing here is rounded. A tube is a list of the pieces in
    it; a new one is opened only behind those there are, which leaves out nothing but
    the tubes' names.
    """
    best = len(lengths)

    def fits(tube: list[int]) -> bool:
        return sum(tube) + kerf * (len(tube) - 1) <= stock

    def place(rest: list[int], tubes: list[list[int]]) -> None:
        nonlocal best
        if len(tubes) >= best:
            return
        if not rest:
            best = len(tubes)
            return
        piece, *others = rest
        for tube in tubes:
            tube.append(piece)
            if fits(tube):
                place(others, tubes)
            tube.pop()
        place(others, [*tubes, [piece]])

    place(lengths, [])
    return best


def seeded_instance(seed: int) -> tuple[list[int], int, int]:
    """Return lengths, stock and kerf in tenths of a millimetre."""
    rng = random.Random(seed)
    stock = rng.choice([60, 500, 5000, 10_000])
    kerf = rng.choice([0, 1, stock // 50, stock // 12])
    longest = rng.choice([stock // 3, stock // 2, stock])
    shortest = max(1, longest // rng.choice([2, 4, 10]))
    count = rng.randint(2, 9)
    return [rng.randint(shortest, longest) for _ in range(count)], stock, kerf
