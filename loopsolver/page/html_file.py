"""The page as one HTML file: nothing is fetched, and nothing from a scene can run."""

from __future__ import annotations

import base64
import hashlib
import html
import json
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from loopsolver.errors import OutputError
from loopsolver.files import check_own, sealed, write_whole
from loopsolver.letters import visible
from loopsolver.page.document import page_values
from loopsolver.view.selection import Subject, first_selection

ENDING: Final = ".html"

_SCRIPTS: Final = (
    "vectors.js",
    "shapes.js",
    "tubes.js",
    "bending.js",
    "drawing.js",
    "camera.js",
    "touch.js",
    "labels.js",
    "build.js",
    "bench.js",
    "theme.js",
    "words.js",
    "panels.js",
    "page.js",
)
"""The page's own code; each file knows only those before it."""

_ESCAPES: Final = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"}
"""What could end a script or begin a comment in HTML, as JSON may write it, too."""


def write_page(
    subject: Subject,
    path: Path,
    *,
    run: str | None = None,
    candidate: int | None = None,
    read: Sequence[Path] = (),
    force: bool = False,
) -> None:
    """Write a scene or plan as a page.

    Parameters
    ----------
    subject : Scene or Plan
    path : Path
        Of the page; its name ends in .html.
    run : str or None
        Name of the run that it shows first; the first of all if None.
    candidate : int or None
        Rank of the candidate that it shows first; the chosen one if None.
    read : sequence of Path
        Files that the subject was read from; none of them is ever written over.
    force : bool
        Write over a file that is no page of loopsolver's.

    Raises
    ------
    LoopsolverError
        If there is no such run or candidate.
    OutputError
        If the page must not or cannot be written.
    """
    selection = first_selection(subject, run=run, candidate=candidate)
    if path.suffix.lower() != ENDING:
        found = path.suffix or "no ending"
        msg = f"{path}: a page's name ends in {ENDING}, found {found!r}"
        raise OutputError(msg)
    check_own(path, ending=ENDING, read=read, force=force)
    data = page_bytes(page_values(subject, selection))
    write_whole(path, sealed(data, ending=ENDING))


def page_bytes(values: dict[str, Any]) -> bytes:
    """Return the page that shows some values, as `page_values` returns them.

    Its policy lets it fetch nothing, and lets nothing run but its own code, which is
    known by its sum. What comes from the scene is text in every place: its letters can
    all be seen, and none of them ends the block of data.

    References
    ----------
    W3C, Content Security Policy Level 3, for the policy; ECMA-404, clause 9, for
    escapes in JSON.
    """
    style, code = _asset("page.css"), "\n".join(map(_asset, _SCRIPTS))
    code = f'(function () {{\n"use strict";\n{code}}})();\n'
    policy = (
        f"default-src 'none'; script-src {_sum_of(code)}; style-src {_sum_of(style)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    parts = {
        "policy": policy,
        "title": html.escape(visible(values["title"])),
        "style": style,
        "values": json_in_html(values),
        "code": code,
    }
    # Cut at the marks once: what is put in is not looked through for marks.
    first, *others = _asset("page.html").split("{{")
    for other in others:
        name, _, rest = other.partition("}}")
        first += parts[name] + rest
    return first.encode("utf-8")


def json_in_html(values: Any) -> str:
    r"""Return values as JSON that may stand in a script element, in ASCII.

    >>> print(json_in_html({"name": "</script><!--"}))
    {"name":"\u003c/script\u003e\u003c!--"}
    """
    text = json.dumps(_seen(values), allow_nan=False, separators=(",", ":"))
    for letter, escape in _ESCAPES.items():
        text = text.replace(letter, escape)
    return text


def _seen(values: Any) -> Any:
    """Return values with all letters of their texts visible."""
    if isinstance(values, str):
        return visible(values)
    if isinstance(values, dict):
        return {key: _seen(value) for key, value in values.items()}
    if isinstance(values, list | tuple):
        return [_seen(value) for value in values]
    return values


def _asset(name: str) -> str:
    return files("loopsolver.page").joinpath("assets", name).read_text("utf-8")


def _sum_of(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
