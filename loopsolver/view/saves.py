"""What was saved, from looking at a file time after time. Pure: looks in, saves out.

An editor empties a file before it writes it, writes it in pieces, or puts another file
in its place; for a moment there may be none. So a look counts once it was the same
several times in a row: a scene twice, what is wrong with the file a few times more,
since that is mostly mended by the next look.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

LOOK_MS: Final = 100
"""Time from one look to the next [ms]."""

SAME_GOOD: Final = 2
SAME_WRONG: Final = 4
"""How many looks in a row must be the same: of a file that can be used, and of none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FileLook:
    """What a look at a file found.

    Attributes
    ----------
    state : str
        What tells one content from another: its hash, or what is wrong with the file.
    is_usable : bool
        Whether a scene stands there.
    """

    state: str
    is_usable: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Saves:
    """What is known of a file's saves.

    Attributes
    ----------
    told : FileLook
        The last that counted.
    last : FileLook
        The last look.
    same : int
        How many looks in a row were like that.
    """

    told: FileLook
    last: FileLook
    same: int = 1

    def after(self, look: FileLook) -> Saves:
        """Return what is known after one more look."""
        same = self.same + 1 if look == self.last else 1
        needed = SAME_GOOD if look.is_usable else SAME_WRONG
        told = look if same >= needed else self.told
        return Saves(told=told, last=look, same=same)
