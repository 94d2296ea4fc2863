"""Counts and lists in words: the one home of both."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence


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


def in_commas(names: Iterable[str], *, most: int = 12) -> str:
    """Return names with commas between them; those over `most` as a count.

    >>> in_commas(["a", "b"]), in_commas("abcde", most=3)
    ('a, b', 'a, b, c and 2 more')
    """
    every = list(names)
    more = len(every) - most
    text = ", ".join(every[:most])
    return f"{text} and {more} more" if more > 0 else text


def quoted(names: Iterable[str]) -> str:
    """Return all names in quotes, with commas between them.

    >>> quoted(["pump to card", "card to pump"])
    "'pump to card', 'card to pump'"
    """
    return ", ".join(repr(name) for name in names)


def by_number(noun: str, numbers: Sequence[int]) -> str:
    """Return things that have numbers as a list.

    >>> by_number("candidate", [2]), by_number("candidate", [2, 4, 5])
    ('candidate 2', 'candidates 2, 4 and 5')
    """
    several = noun if len(numbers) == 1 else f"{noun}s"
    return f"{several} {listed([str(number) for number in numbers])}"


def numbered(count: int, noun: str) -> str:
    """Return which of things that are numbered from 1 there are.

    >>> numbered(0, "candidate"), numbered(1, "candidate"), numbered(3, "candidate")
    ('none', 'only candidate 1', 'candidates 1 to 3')
    """
    if count == 0:
        return "none"
    return f"only {noun} 1" if count == 1 else f"{noun}s 1 to {count}"


def tallied(tally: Mapping[str, int]) -> str:
    """Return how many there are of each name, in the order of the names.

    >>> tallied({"short": 2, "collar": 12})
    'collar: 12, short: 2'
    """
    return ", ".join(f"{name}: {count}" for name, count in sorted(tally.items()))
