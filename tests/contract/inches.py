"""Scene files in inches, and what is told of them in millimetres alone."""

from __future__ import annotations

import re
from typing import Final

NO_LENGTHS: Final = {
    *("format", "title", "units", "material", "up", "axes"),
    *("bend_angles", "bend_range", "max_bends", "candidates", "turn"),
    *("rotation", "direction", "axis", "fitting", "flow"),
    *("name", "from", "to", "order"),
    *("bent", "got", "angle", "bias", "temperatures", "made", "movable", "last"),
}
"""Keys of a scene file that hold no lengths."""

_BESIDE: Final = re.compile(
    r"-?[0-9.e+-]+ in(?: \(|, )-?[0-9.e+-]+ mm\)"
    r"|a whole number of about \d+ digits in \([0-9.e+-]+ mm\)"
    r"|-?[0-9.]+ mm was meant \(-?[0-9.]+ in\)"
    r"|\[[^]]*\] in \(\[[^]]*\] mm\)"
    r"|\"[^\"]*\"|found '[^']*'|found \S+ ?mm: a length with its unit"
)
"""An inch with its millimetres, and what was written in the file or typed."""


def alone(text: str) -> list[str]:
    """Return the millimetres that stand without inches."""
    joined = " ".join(text.split())
    return re.findall(r"\S* \S+ mm\b|\S+ \d+mm\b|millimet\S+", _BESIDE.sub("", joined))


def in_inches(scene: str) -> str:
    """Return a scene file in millimetres with its plain numbers in inches."""
    assert 'units = "in"' not in scene
    lines = [_line_in_inches(line) for line in scene.splitlines()]
    if not any(line.startswith("units") for line in lines):
        lines.insert(lines.index("format = 1") + 1, "units = 'in'")
    return "\n".join(lines) + "\n"


def _line_in_inches(line: str) -> str:
    key, equals, rest = line.partition("=")
    if key.strip() == "units":
        return "units = 'in'"
    if not equals or line.startswith("#") or key.strip() in NO_LENGTHS:
        return line
    value = rest.partition("#")[0]
    number = r"\"[^\"]*\"|(?<![\w.])-?[0-9]+(?:\.[0-9]+)?(?![\w.])"
    return key + equals + re.sub(number, _inches, value)


def _inches(found: re.Match[str]) -> str:
    text = found[0]
    from_wall = re.fullmatch(r'"([0-9.]+) from (\S+)"', text)
    if from_wall:
        return f'"{float(from_wall[1]) / 25.4!r} from {from_wall[2]}"'
    return text if text.startswith('"') else repr(float(text) / 25.4)
