"""Changes of a run's rules that were tried or would help, in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from loopsolver.lengths import Lengths
from loopsolver.report.angles import angles, degrees
from loopsolver.routing.diagnosis.rule_changes import Change, Rule
from loopsolver.words import counted, listed


def change_in_words(change: Change, lengths: Lengths) -> str:
    """Return what a rule is after a change."""
    return _CHANGES[change.rule](change, lengths)


def tried_in_words(changes: Sequence[Change], lengths: Lengths) -> str:
    """Return changes that were tried as a list; those of one rule as one item."""
    by_rule: dict[Rule, list[Change]] = {}
    for change in changes:
        by_rule.setdefault(change.rule, []).append(change)
    return listed([_all_of_a_rule(same, lengths) for same in by_rule.values()])


def _all_of_a_rule(changes: Sequence[Change], lengths: Lengths) -> str:
    """Return changes of one rule in words, their subjects as a list."""
    first, *more = changes
    subjects = [change.subject for change in changes]
    if first.rule == "case wall":
        return f"case walls {_length(first, lengths)} further out"
    if first.rule == "body":
        return f"{listed(subjects, last='or')} out of the way"
    if first.rule == "straight at an end" and more:
        told = f"{_length(first, lengths)} of straight beyond the fittings on"
        return f"{told} {listed(subjects)}"
    return change_in_words(first, lengths)


def _length(change: Change, lengths: Lengths) -> str:
    after = change.after
    return lengths.brief(after) if isinstance(after, int | float) else ""


def _straight_at_end(change: Change, lengths: Lengths) -> str:
    length = _length(change, lengths)
    return f"{length} of straight beyond the fitting on {change.subject}"


def _bends(change: Change, lengths: Lengths) -> str:
    del lengths
    count = round(change.after) if isinstance(change.after, int | float) else 0
    return counted(count, "bend")


def _angles(change: Change, lengths: Lengths) -> str:
    del lengths
    if isinstance(change.after, tuple):
        return f"bends of {angles(change.after)}"
    return "bends of any angle"


def _turns(change: Change, lengths: Lengths) -> str:
    del lengths
    if isinstance(change.after, float):
        return f"turns in multiples of {degrees(change.after)}"
    return "turns of any angle"


def _sharpest(change: Change, lengths: Lengths) -> str:
    del lengths
    return f"bends of up to {_degrees(change)}"


def _slightest(change: Change, lengths: Lengths) -> str:
    del lengths
    return f"bends of {_degrees(change)} and more"


def _degrees(change: Change) -> str:
    return degrees(change.after) if isinstance(change.after, int | float) else ""


def _body(change: Change, lengths: Lengths) -> str:
    if change.after is None:
        return f"{change.subject} out of the way"
    by = _length(change, lengths)
    return f"{change.subject} {by} further towards {change.towards}"


def _worded(pattern: str) -> Callable[[Change, Lengths], str]:
    """Return how a change is worded whose length and subject stand in a pattern."""
    return lambda change, lengths: pattern.format(
        length=_length(change, lengths), subject=change.subject
    )


_CHANGES: Final[dict[Rule, Callable[[Change, Lengths], str]]] = {
    "clearance": _worded("a clearance of {length}"),
    "straight at an end": _straight_at_end,
    "straight between bends": _worded("{length} of straight between bends"),
    "bend radius": _worded("a former of {length} radius"),
    "bends": _bends,
    "bend angles": _angles,
    "turn step": _turns,
    "sharpest bend": _sharpest,
    "slightest bend": _slightest,
    "body": _body,
    "case wall": _worded("{subject} {length} further out"),
    "stock length": _worded("stock {length} long"),
    "trim allowance": _worded("a trim allowance of {length} at each end"),
}
