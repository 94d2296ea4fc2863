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
    worded = _CHANGES[change.rule]
    if callable(worded):
        return worded(change, lengths)
    return worded.format(length=_length(change, lengths), subject=change.subject)


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


def _bends(change: Change, _: Lengths) -> str:
    count = round(change.after) if isinstance(change.after, int | float) else 0
    return counted(count, "bend")


def _angles(change: Change, _: Lengths) -> str:
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


_CHANGES: Final[dict[Rule, str | Callable[[Change, Lengths], str]]] = {
    "clearance": "a clearance of {length}",
    "straight at an end": "{length} of straight beyond the fitting on {subject}",
    "straight between bends": "{length} of straight between bends",
    "bend radius": "a former of {length} radius",
    "bends": _bends,
    "bend angles": _angles,
    "turn step": _turns,
    "sharpest bend": _sharpest,
    "slightest bend": _slightest,
    "body": _body,
    "case wall": "{subject} {length} further out",
    "stock length": "stock {length} long",
    "trim allowance": "a trim allowance of {length} at each end",
}
