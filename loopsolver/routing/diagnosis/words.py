"""Numbers and lists as reasons write them."""

from __future__ import annotations

from collections.abc import Sequence

from loopsolver.units import format_length


def mm(length: float) -> str:
    """Return a length in millimetres, to a tenth where it is not whole.

    >>> mm(71.0), mm(4.06), mm(16.96)
    ('71 mm', '4.1 mm', '17 mm')
    """
    return format_length(length).replace(".0 mm", " mm")


def degrees_text(angle_deg: float) -> str:
    """Return an angle, to a tenth of a degree where it is not whole.

    >>> degrees_text(90.0), degrees_text(37.25)
    ('90 degrees', '37.2 degrees')
    """
    return f"{_short(angle_deg)} degrees"


def angles_text(angles_deg: Sequence[float]) -> str:
    """Return a list of angles to choose from.

    >>> angles_text((45.0, 90.0))
    '45 or 90 degrees'
    """
    return f"{listed([_short(angle) for angle in angles_deg], last='or')} degrees"


def several(count: int, noun: str) -> str:
    """Return a count with its noun.

    >>> several(1, "bend"), several(3, "bend")
    ('1 bend', '3 bends')
    """
    return f"{count} {noun}{'' if count == 1 else 's'}"


def listed(items: Sequence[str], *, last: str = "and") -> str:
    """Return items as a list in words.

    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def _short(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")
