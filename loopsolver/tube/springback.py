"""What test bends say of a tube: how far it springs back, what a bend takes up."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class BendTest:
    """A bend that was made to try, of the same stock and with the same bend radius.

    Attributes
    ----------
    bent_deg, got_deg : float
        Held until it was cold; what it then had [degrees].
    blank : float or None
        The straight piece before it was bent [mm]; None: not measured.
    legs : pair of float, or None
        From each end to where the centre lines meet [mm]; None where `blank` is.
    """

    bent_deg: float
    got_deg: float
    blank: float | None = None
    legs: tuple[float, float] | None = None
