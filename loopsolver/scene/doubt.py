"""One thing in a scene that can be read but is probably not meant so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

DoubtKind = Literal[
    "axes left out",
    "overlap",
    "outside case",
    "no body",
    "off surface",
    "inside a body",
    "built-in fitting",
    "not measured",
    "fitting in the way",
    "no room",
    "not in line",
    "shared port",
    "tight bend",
    "test bends",
    "readings differ",
    "reading not taken",
    "readings disagree",
    "readings scatter",
    "moved by readings",
    "nothing checks",
    "circuit",
    "sizes",
    "filling",
    "pump curve",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Something doubtful in a scene.

    Attributes
    ----------
    kind : DoubtKind
        What sort of thing it is.
    where : str
        The component, port, run or key it is about, as messages name them.
    message : str
        What, by how much, and what would help; numbers carry their unit.
    """

    kind: DoubtKind
    where: str
    message: str

    def __str__(self) -> str:
        """Return the place and the message."""
        return f"{self.where}: {self.message}"
