"""The keys of the window, in its footer and in its help, and what the mouse does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from loopsolver.view.panel_lines import PanelLine, Section, cut


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A key of the window: its name in VTK, on the footer, and what it does."""

    symbol: str
    shown: str
    short: str
    does: str


KEYS: Final[tuple[Key, ...]] = (
    Key(symbol="Down", shown="↓", short="next run", does="next run"),
    Key(symbol="Up", shown="↑", short="", does="run before"),
    Key(symbol="Right", shown="→", short="next candidate", does="next candidate"),
    Key(symbol="Left", shown="←", short="", does="candidate before"),
    Key(symbol="Return", shown="Enter", short="keep", does="keep it, solve the rest"),
    Key(symbol="u", shown="u", short="undo", does="undo the last keep"),
    Key(symbol="w", shown="w", short="write", does="write the plan file"),
    Key(symbol="v", shown="v", short="two", does="two candidates side by side"),
    Key(symbol="s", shown="s", short="bend", does="next step from blank to tube"),
    Key(symbol="m", shown="m", short="measure", does="measure between two clicks"),
    Key(symbol="x", shown="x", short="cut", does="cut open across x, y, z"),
    Key(symbol="comma", shown=",", short="", does="move the cut back"),
    Key(symbol="period", shown=".", short="", does="move the cut on"),
    Key(symbol="p", shown="p", short="picture", does="save a picture, working folder"),
    Key(symbol="b", shown="b", short="bodies", does="hide or show bodies"),
    Key(symbol="k", shown="k", short="keep-outs", does="hide or show keep-outs"),
    Key(symbol="t", shown="t", short="tubes", does="hide or show the other tubes"),
    Key(symbol="n", shown="n", short="names", does="hide or show names"),
    Key(symbol="1", shown="1", short="front", does="front view; again: from the rear"),
    Key(symbol="2", shown="2", short="side", does="side view: left; again: right"),
    Key(symbol="3", shown="3", short="top", does="top view; again: from below"),
    Key(symbol="0", shown="0", short="reset", does="the first view again"),
    Key(symbol="a", shown="a", short="air", does="next tilt that lets air out"),
    Key(symbol="g", shown="g", short="together", does="next step of putting together"),
    Key(symbol="h", shown="h", short="keys", does="hide or show this list"),
    Key(symbol="q", shown="q", short="close", does="close the window (also Esc)"),
)
"""Every key of the window, in the order of the footer."""


def footer(*, columns: int, message: str) -> str:
    """Return what has just happened, if anything, and the keys; shortened to what fits.

    The last keys, help and close, stay longest.
    """
    pairs = {"Down": "↑↓ run", "Right": "←→ candidate", "1": "1 2 3 views"}
    pairs |= dict.fromkeys(("Up", "Left", "comma", "period", "2", "3"), "")
    shown = (pairs.get(key.symbol, f"{key.shown} {key.short}") for key in KEYS)
    entries = [entry for entry in shown if entry]
    lead = f"{message}   ·   " if message else ""
    while len(lead + "   ".join(entries)) > columns and len(entries) > 2:
        del entries[-3]
    row = lead + "   ".join(entries)
    return row if len(row) <= columns else cut(message or row, columns)


_MOUSE: Final = (
    ("click", "show that tube, run or candidate"),
    ("drag", "turn the view"),
    ("shift", "and drag: move the view"),
    ("wheel", "nearer or farther"),
)


def key_help() -> tuple[Section, ...]:
    """Return the list of keys and of what the mouse does, in place of the figures."""
    keys = [PanelLine(text=f"{key.shown:>6}   {key.does}") for key in KEYS]
    mouse = [PanelLine(text=f"{name:>6}   {does}") for name, does in _MOUSE]
    return (
        Section(lines=(PanelLine(text="keys", style="heading"), *keys)),
        Section(lines=(PanelLine(text="mouse", style="heading"), *mouse)),
    )
