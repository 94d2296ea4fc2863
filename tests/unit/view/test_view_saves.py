"""Which looks at a file count: against sequences read by hand, and by brute force."""

from __future__ import annotations

from itertools import groupby, product

import pytest

from loopsolver.view.saves import SAME_GOOD, SAME_WRONG, FileLook, Saves

LOOKS = {
    "A": FileLook(state="A", is_usable=True),
    "B": FileLook(state="B", is_usable=True),
    "-": FileLook(state="no such file", is_usable=False),
    "h": FileLook(state="half a file", is_usable=False),
}


def told(looks: str) -> str:
    """Return what counted after each look, the first of which counted at once."""
    first = LOOKS[looks[0]]
    saves = Saves(told=first, last=first)
    letters = {look: letter for letter, look in LOOKS.items()}
    result = looks[0]
    for look in looks[1:]:
        saves = saves.after(LOOKS[look])
        result += letters[saves.told]
    return result


@pytest.mark.parametrize(
    ("looks", "counted"),
    [
        ("AAAA", "AAAA"),
        ("ABBB", "AABB"),  # a save counts at its second look
        ("AA--BBB", "AAAAABB"),  # emptied or gone for a moment, then written
        ("AhhhBB", "AAAAAB"),  # half a file for a moment
        ("AhhhhhBB", "AAAAhhhB"),  # half a file that stays is told, and mended
        ("A-----", "AAAA--"),  # deleted
        ("A-----AA", "AAAA---A"),  # and back
        ("ABABAB", "AAAAAA"),  # never twice the same
        ("A-h-h-h", "AAAAAAA"),
        ("AB-BB", "AAAAB"),
    ],
)
def test_looks_count_as_a_person_counts_them(looks, counted):
    assert told(looks) == counted


def test_a_look_counts_once_its_run_is_long_enough():
    """Brute force: all sequences of nine looks at two scenes and a fault."""
    needed = {"A": SAME_GOOD, "B": SAME_GOOD, "-": SAME_WRONG}
    for rest in product("AB-", repeat=8):
        looks = "A" + "".join(rest)
        counted = "A"
        for end in range(2, len(looks) + 1):
            letter, run = [(k, len([*g])) for k, g in groupby(looks[:end])][-1]
            counted += letter if run >= needed[letter] else counted[-1]
        assert told(looks) == counted
