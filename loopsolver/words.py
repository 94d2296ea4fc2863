"""Counts and lists in words: the one home of both."""

from __future__ import annotations

from collections.abc import Sequence


def counted(number: int, noun: str, plural: str | None = None) -> str:
    """Return a number with its noun.

    >>> counted(1, "bend"), counted(2, "bend"), counted(0, "pass", "passes")
    ('1 bend', '2 bends', '0 passes')
    """
    return f"{number} {noun if number == 1 else plural or f'{noun}s'}"


def listed(items: Sequence[str], *, last: str = "and") -> str:
    """Return items as a list in words.

    >>> listed(["a", "b", "c"]), listed(["a", "b"], last="or"), listed(["a"])
    ('a, b and c', 'a or b', 'a')
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def some_of(names: Sequence[str], *, most: int) -> str:
    """Return the first of some names as a list, the others as a count.

    >>> some_of(["memory", "card", "pump", "drive", "fan"], most=3)
    'memory, card, pump and 2 more'
    """
    more = len(names) - most
    others = [f"{more} more"] if more > 0 else []
    return listed([*names[:most], *others])
