"""Tables and values as a scene file holds them: Python's own TOML only reads."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from loopsolver.scene.lines import KeyPath, written_path


def value_text(value: Any) -> str:
    """Return a value as TOML, tables within others in braces.

    Examples
    --------
    >>> value_text([14.0, '1/2 in', True]), value_text({"depth": 12, "top tank": []})
    ('[14, "1/2 in", true]', '{ depth = 12, "top tank" = [] }')
    """
    match value:
        case bool():
            return "true" if value else "false"
        case float():
            return str(int(value)) if value.is_integer() else repr(value)
        case str():
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case list() | tuple():
            return f"[{', '.join(map(value_text, value))}]"
        case dict():
            rows = (f"{written_path((k,))} = {value_text(v)}" for k, v in value.items())
            return f"{{ {', '.join(rows)} }}"
        case _:
            return str(value)


def table_lines(path: KeyPath, table: Mapping[str, Any]) -> Iterator[str]:
    """Yield a table as lines of TOML under its heading, an empty one before it."""
    yield ""
    yield f"[{written_path(path)}]"
    for key, value in table.items():
        yield f"{written_path((key,))} = {value_text(value)}"
