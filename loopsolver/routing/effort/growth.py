"""How a number of the effort grows where more is asked of the search."""

from __future__ import annotations

from dataclasses import field, fields, is_dataclass, replace
from itertools import pairwise
from typing import Any, TypeVar

_Part = TypeVar("_Part")


def grows(usual: Any, power: float = 1.0) -> Any:
    """Return a field whose value times(f) multiplies by ``f ** power``.

    Counts have the power 1; of two that multiply each other each has 1/2; spacings have
    a power below zero. Places in a row come to lie closer instead. All else stays.
    """
    return field(default=usual, metadata={"power": power})


def times(effort: _Part, factor: float) -> _Part:
    """Return an effort whose parts do about so many times the work."""
    changes: dict[str, Any] = {}
    for one in fields(effort):  # type: ignore[arg-type]
        value = getattr(effort, one.name)
        if is_dataclass(value):
            changes[one.name] = times(value, factor)
        elif "power" in one.metadata:
            changes[one.name] = _grown(value, factor ** one.metadata["power"])
    return replace(effort, **changes)  # type: ignore[type-var]


def _grown(value: Any, by: float) -> Any:
    """Return a count or a spacing multiplied, or a row of places closer together."""
    if isinstance(value, tuple):
        cuts = max(round(by), 1)
        between = [
            a + (b - a) * k / cuts for a, b in pairwise(value) for k in range(cuts)
        ]
        return (*between, *value[-1:])
    return round(value * by) if isinstance(value, int) else value * by
