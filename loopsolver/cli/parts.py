"""``loopsolver parts``: the shelf, or one part of it."""

from __future__ import annotations

import argparse
import itertools
import textwrap
from typing import TYPE_CHECKING, Any, Final

from loopsolver.cli.options import add_json
from loopsolver.cli.output import say, say_json, say_table, say_wrapped, tell
from loopsolver.errors import LoopsolverError

if TYPE_CHECKING:
    from loopsolver.shelf.catalogue import PartKind
    from loopsolver.shelf.parts import PartOrder

_SMALL: Final = {"wide": 18, "high": 6}
_LARGE: Final = {"wide": 52, "high": 22}
_SHOWN_FANS: Final = 2
"""Of a radiator whose fans are not given."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("name", metavar="NAME", nargs="?", help="a part, such as board")
    parser.add_argument(
        "size", metavar="SIZE", nargs="?", help="one of its sizes, such as ATX"
    )
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print the shelf or one part, and return the exit status."""
    if args.name is None:
        _say_shelf(as_json=args.json)
    else:
        _say_part(_order(args.name, args.size), as_json=args.json)
    return 0


def _say_shelf(*, as_json: bool) -> None:
    from loopsolver.report.part_words import sizes_words
    from loopsolver.shelf.catalogue import KIND_NAMES, part_kind

    kinds = [part_kind(name) for name in KIND_NAMES]
    if as_json:
        say_json([_kind_document(kind) for kind in kinds])
        return
    for kind in kinds:
        words = [f"{kind.name}: {kind.told}", *textwrap.wrap(sizes_words(kind), 54)]
        lines = _drawing(_plain_order(kind, None), **_SMALL).lines
        for line, text in itertools.zip_longest(lines, words, fillvalue=""):
            say(f"{line:<{_SMALL['wide']}}   {text}".rstrip())
        say()
    tell('Next: `loopsolver parts NAME`, such as `loopsolver parts "pump top"`.')


def _say_part(order: PartOrder, *, as_json: bool) -> None:
    from loopsolver.report import part_words
    from loopsolver.shelf.parts import part_of

    kind, part = order.kind, part_of(order)
    if as_json:
        say_json(part_words.part_document(order, part))
        return
    drawing = _drawing(order, **_LARGE)
    say(f"{' '.join(filter(None, (kind.name, order.size.name)))}: {kind.told}")
    say(part_words.order_words(order))
    sizes = part_words.sizes_words(kind)
    if sizes:
        say_wrapped([sizes], mark="")
    say()
    for line in drawing.lines:
        say(line)
    opening = "; # is the rear opening, with the sockets" if drawing.has_opening else ""
    right = {"+": "right", "-": "left"}[drawing.right[0]]
    say_wrapped(
        [
            f"Seen from {kind.seen}: {drawing.right[1]} points {right}, "
            f"{drawing.up[1]} up{opening}.",
            f"Frame: {kind.frame}.",
        ],
        mark="",
    )
    say()
    say_table(part_words.dimension_table(order))
    if drawing.marks:
        say()
        say_table(part_words.place_table(order, part, dict(drawing.marks)))
    say()
    say("From (a point without a number follows from the dimensions):")
    for mark, source in part_words.source_lines(order):
        say_wrapped([source], mark=mark)
    say()
    cautions = [kind.caution, part_words.zone_words(order)]
    say_wrapped([each for each in cautions if each], mark="")


def _drawing(order: PartOrder, *, wide: int, high: int) -> Any:
    from loopsolver.report.part_drawing import part_drawing
    from loopsolver.shelf.parts import part_of

    return part_drawing(
        part_of(order).layout, seen=order.kind.seen, wide=wide, high=high
    )


def _order(name: str, size: str | None) -> PartOrder:
    """Return the part that the command line names.

    Raises
    ------
    LoopsolverError
        If there is none of that name or size; it says which there are.
    """
    from loopsolver.shelf.catalogue import KIND_NAMES, part_kind
    from loopsolver.words import in_commas

    if name not in KIND_NAMES:
        msg = f"no part {name!r} on the shelf; there are {in_commas(KIND_NAMES)}"
        raise LoopsolverError(msg)
    kind = part_kind(name)
    if size is not None and (not size or size not in kind.sizes):
        there_are = in_commas(kind.sizes) if kind.usual != "" else "no sizes of it"
        msg = f"no size {size!r} of the part {name!r}; there are {there_are}"
        raise LoopsolverError(msg)
    return _plain_order(kind, size)


def _plain_order(kind: PartKind, size: str | None) -> PartOrder:
    """Return a part as it is where nothing of it was measured."""
    from loopsolver.shelf.parts import PartOrder

    called = size or kind.usual or next(iter(kind.sizes))
    counts = {each.name: each.usual or _SHOWN_FANS for each in kind.counts.values()}
    return PartOrder(kind=kind, size=kind.sizes[called], counts=counts, with_zones=True)


def _kind_document(kind: PartKind) -> dict[str, Any]:
    return {
        "name": kind.name,
        "told": kind.told,
        "sizes": [size for size in kind.sizes if size],
        "usual": kind.usual or None,
        "counts": {
            count.name: {"least": count.least, "most": count.most, "usual": count.usual}
            for count in kind.counts.values()
        },
    }
