"""Changes of rules in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from loopsolver.routing.diagnosis.rule_changes import Change, Rule
from loopsolver.routing.diagnosis.suggestions import Suggestion
from loopsolver.routing.diagnosis.words import (
    angles_text,
    degrees_text,
    listed,
    mm,
    several,
)

MOST_NAMED: Final = 3
"""Of the things in the way no more than so many are named."""


def way_in_words(suggestion: Suggestion) -> str:
    """Return a suggestion as it follows the word 'possible'."""
    first, *more = suggestion.changes
    told = listed([change_in_words(change) for change in suggestion.changes])
    if more:
        return f"with {told} together"
    if first.rule == "clearance" and suggestion.near:
        return f"with {told} ({some_of(suggestion.near)} in the way)"
    if first.rule == "bend angles" and suggestion.bends:
        return f"with {told} ({_angles_used(suggestion.angles_deg)})"
    return f"with {told}"


def change_in_words(change: Change) -> str:
    """Return what a rule is after a change."""
    return _WORDS[change.rule](change)


def tried_in_words(changes: Sequence[Change]) -> str:
    """Return changes that were tried as a list; those of one rule as one item."""
    by_rule: dict[Rule, list[Change]] = {}
    for change in changes:
        by_rule.setdefault(change.rule, []).append(change)
    return listed([_all_of_a_rule(same) for same in by_rule.values()])


def _all_of_a_rule(changes: Sequence[Change]) -> str:
    """Return changes of one rule in words, their subjects as a list."""
    first, *more = changes
    subjects = [change.subject for change in changes]
    if first.rule == "case wall":
        return f"case walls {_length(first)} further out"
    if first.rule == "body":
        return f"{listed(subjects, last='or')} out of the way"
    if first.rule == "straight at an end" and more:
        told = f"{_length(first)} of straight beyond the fittings on"
        return f"{told} {listed(subjects)}"
    return change_in_words(first)


def some_of(names: Sequence[str]) -> str:
    """Return the first of some names as a list, the others as a count.

    >>> some_of(["memory", "card", "pump", "drive", "fan"])
    'memory, card, pump and 2 more'
    """
    more = len(names) - MOST_NAMED
    others = [f"{more} more"] if more > 0 else []
    return listed([*names[:MOST_NAMED], *others])


def _angles_used(angles_deg: Sequence[float]) -> str:
    """Return the angles of a route's bends.

    >>> _angles_used((52.04, 52.0)), _angles_used((45.0, 90.0))
    ('2 of 52 degrees', '45 and 90 degrees')
    """
    texts = [degrees_text(angle) for angle in angles_deg]
    if len(texts) > 1 and len(set(texts)) == 1:
        return f"{len(texts)} of {texts[0]}"
    return f"{listed([text.split()[0] for text in texts])} degrees"


def _length(change: Change) -> str:
    return mm(change.after) if isinstance(change.after, int | float) else ""


def _straight_at_end(change: Change) -> str:
    return f"{_length(change)} of straight beyond the fitting on {change.subject}"


def _bends(change: Change) -> str:
    count = round(change.after) if isinstance(change.after, int | float) else 0
    return several(count, "bend")


def _angles(change: Change) -> str:
    if isinstance(change.after, tuple):
        return f"bends of {angles_text(change.after)}"
    return "bends of any angle"


def _body(change: Change) -> str:
    if change.after is None:
        return f"{change.subject} out of the way"
    return f"{change.subject} {_length(change)} further towards {change.towards}"


_WORDS: Final[dict[Rule, Callable[[Change], str]]] = {
    "clearance": lambda change: f"a clearance of {_length(change)}",
    "straight at an end": _straight_at_end,
    "straight between bends": lambda change: (
        f"{_length(change)} of straight between bends"
    ),
    "bend radius": lambda change: f"a former of {_length(change)} radius",
    "bends": _bends,
    "bend angles": _angles,
    "body": _body,
    "case wall": lambda change: f"{change.subject} {_length(change)} further out",
    "stock length": lambda change: f"stock {_length(change)} long",
    "trim allowance": lambda change: (
        f"a trim allowance of {_length(change)} at each end"
    ),
}
