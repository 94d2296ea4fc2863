"""Every exception that loopsolver raises on purpose."""

from __future__ import annotations

from dataclasses import dataclass

from loopsolver.letters import visible


class LoopsolverError(Exception):
    """Root of all errors that carry a message for the person at the bench."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong in a scene file, and where.

    Attributes
    ----------
    file : str
        Path of the scene file as the user gave it.
    line : int or None
        Line of the key, counted from 1; None where no line can be named.
    key_path : str
        Dotted path of the key, such as ``components.pump.ports.out.direction``.
    found, wanted : str
        What stands there, and what should.
    nearest : str or None
        The known key that is spelled most like the one found.
    """

    file: str
    line: int | None
    key_path: str
    found: str
    wanted: str
    nearest: str | None = None

    def __str__(self) -> str:
        """Return the fault as one visible line: where, what was found and is wanted."""
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        where = f"{place}: {self.key_path}" if self.key_path else place
        text = f"{where}: found {self.found}; wanted {self.wanted}"
        nearest = "" if self.nearest is None else f"; nearest: {self.nearest!r}"
        return visible(f"{text}{nearest}")


class SceneError(LoopsolverError):
    """A scene that cannot be used: every fault of the file at once."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


class PlanError(LoopsolverError):
    """A plan file that cannot be read, or whose scene has changed since."""


class GeometryError(LoopsolverError):
    """A shape that cannot be: legs too short for their bends, a zero direction."""


class OutputError(LoopsolverError):
    """A file that cannot or must not be written."""


class MissingExtraError(LoopsolverError):
    """A system or Python package that the chosen command needs is missing."""
