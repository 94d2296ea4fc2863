"""What comes too near to what, in words: by how much, and where."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from loopsolver.lengths import Lengths
from loopsolver.plan.model import Touch
from loopsolver.routing.diagnosis.no_route import Shortfall


def within_or_into(gap: float, what: str, *, text: Callable[[float], str]) -> str:
    """Return how near a tube comes to something, or how far it runs into it.

    Parameters
    ----------
    gap : float
        Between the surfaces; negative where they run into each other [mm].
    what : str
        Its name.
    text : callable
        Puts a length [mm] into words.
    """
    if gap >= 0.0:
        return f"comes within {text(gap)} of {what}"
    return f"runs {text(-gap)} into {what}"


def too_near_words(near: Shortfall, lengths: Lengths) -> str:
    """Return by how much a tube comes too near to a thing."""
    return f"{lengths.brief(near.by)} too near to {near.name}"


def touch_words(touch: Touch, *, clearance: float, lengths: Lengths) -> str:
    """Return in words how near two chosen tubes come, and where.

    Parameters
    ----------
    touch : Touch
    clearance : float
        Least gap asked for [mm].
    lengths : Lengths
    """
    where = ", ".join(lengths.number(value) for value in touch.at)
    place = f"at x, y, z = {where} {lengths.unit}"
    pair = f"{touch.first!r} and {touch.second!r}"
    wanted = f"clearance of {lengths.text(clearance)}"
    if touch.gap <= 0.0:
        told = f"{pair} run into each other by {lengths.fine(-touch.gap)} {place}"
        return f"{told}, against a {wanted}"
    short = lengths.fine(clearance - touch.gap)
    return (
        f"{pair} come within {lengths.fine(touch.gap)} of each other {place}, "
        f"{short} less than the {wanted}"
    )


def touch_remark(
    touch: Touch,
    others: Sequence[tuple[str, int]],
    *,
    clearance: float,
    lengths: Lengths,
) -> str:
    """Return in words how near two chosen tubes come, where, and what would help.

    Parameters
    ----------
    touch : Touch
    others : sequence of (str, int)
        Runs and ranks: candidates that would keep clear if chosen instead.
    clearance : float
        Least gap asked for [mm].
    lengths : Lengths
    """
    told = touch_words(touch, clearance=clearance, lengths=lengths)
    if not others:
        return f"{told}; no other candidate of either alone keeps clear of all tubes"
    instead = " or ".join(f"candidate {rank} of {name!r}" for name, rank in others)
    return f"{told}; {instead} would keep clear of all chosen tubes"
