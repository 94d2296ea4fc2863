"""What stands on the shelf, and one part of it: sentences, rows and tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import Point, axis_name
from loopsolver.lengths import MILLIMETRES
from loopsolver.report.text_table import TextTable
from loopsolver.shelf.catalogue import Origin, PartKind
from loopsolver.shelf.parts import PartOrder, ShelfPart
from loopsolver.words import in_commas

_KNOWN: Final = {
    "read": ": read there",
    "quoted": ": the standard's own drawing was not seen",
    "practice": "",
}


def sizes_words(kind: PartKind) -> str:
    """Return which sizes and numbers a kind has, and which hold if nothing is said."""
    told = []
    if kind.usual != "":
        usual = "" if kind.usual is None else f" ({kind.usual} if not given)"
        told.append(f"size {in_commas(kind.sizes)}{usual}")
    for count in kind.counts.values():
        usual = "" if count.usual is None else f" ({count.usual} if not given)"
        told.append(f"{count.name} {count.least} to {count.most}{usual}")
    return "; ".join(told)


def order_words(order: PartOrder) -> str:
    """Return a part as a scene asks for it.

    The numbers that a scene must give are those that are shown.
    """
    keys = [f'name = "{order.kind.name}"']
    if order.size.name:
        keys.append(f'size = "{order.size.name}"')
    keys += [f"{name} = {number}" for name, number in order.counts.items()]
    return f"part = {{ {', '.join(keys)} }}"


def origins(order: PartOrder) -> tuple[Origin, ...]:
    """Return where the numbers of a part are from, each origin once, in their order."""
    every = [each.origin for each in order.size.dimensions.values()]
    every += [spot.origin for spot in order.size.spots]
    by_source = {(each.source, each.known): each for each in every}
    return tuple(by_source.values())


def dimension_table(order: PartOrder) -> TextTable:
    """Return the dimensions of a part: name, length, spread, source, of what."""
    numbers = _numbers(order)
    return TextTable(
        headings=("dimension", "mm", "+/-", "from", "", "of what"),
        rows=[
            (
                each.name,
                _short(each.value),
                _short(each.origin.spread),
                str(numbers[each.origin.source, each.origin.known]),
                "measure" if each.origin.measure else "",
                each.of,
            )
            for each in order.size.dimensions.values()
        ],
        words=frozenset({0, 4, 5}),
    )


def place_table(order: PartOrder, part: ShelfPart, marks: dict[str, str]) -> TextTable:
    """Return the ports and points of a part: mark, name, position, spread, direction."""
    numbers = _numbers(order)
    spots = {spot.name: spot.origin for spot in order.size.spots}

    def row(name: str, at: Point, rest: str) -> Sequence[str]:
        origin = spots.get(name)
        place = "" if origin is None else str(numbers[origin.source, origin.known])
        spread = " ".join(_short(value) for value in part.spreads[name])
        return (marks[name], name, *map(_short, at), spread, place, rest)

    return TextTable(
        headings=("", "point", "x", "y", "z", "+/- x y z", "from", ""),
        rows=[
            *(
                row(
                    name,
                    port.position,
                    f"port, {axis_name(port.direction)}"
                    + ("" if port.flow == "either" else f", {port.flow}"),
                )
                for name, port in part.layout.ports.items()
            ),
            *(row(name, at, "") for name, at in part.layout.points.items()),
        ],
        words=frozenset({0, 1, 7}),
    )


def source_lines(order: PartOrder) -> Iterator[tuple[str, str]]:
    """Yield the sources of a part's numbers, after the numbers that tables have."""
    for number, origin in enumerate(origins(order), start=1):
        yield f"{number:>3}  ", f"{origin.source}{_KNOWN[origin.known]}"


def zone_words(order: PartOrder) -> str:
    """Return which height zones a part has; nothing for what has none of any size."""
    if not order.kind.has_zones:
        return ""
    if order.size.has_zones:
        return (
            "zones = true keeps free what a standard case leaves free: zones A to D "
            "above the board, and under it. They are no measure of what stands there, "
            "and a block or card inside them is not excepted."
        )
    return (
        f"Height zones: none; their heights were not seen in any source for "
        f"{order.size.name}."
    )


def part_document(order: PartOrder, part: ShelfPart) -> dict[str, Any]:
    """Return a part for other programs: lengths in mm."""
    layout = part.layout
    return {
        "name": order.kind.name,
        "size": order.size.name or None,
        **order.counts,
        "told": order.kind.told,
        "frame": order.kind.frame,
        "caution": order.kind.caution,
        "units": "mm",
        "dimensions": [
            {
                "name": each.name,
                "of": each.of,
                "value": each.value,
                **_origin_document(each.origin),
            }
            for each in order.size.dimensions.values()
        ],
        "bodies": [_body_document(body) for body in layout.bodies],
        "ports": {
            name: {
                "position": list(port.position),
                "direction": axis_name(port.direction),
                "flow": port.flow,
                "spread": list(part.spreads[name]),
            }
            for name, port in layout.ports.items()
        },
        "points": {
            name: {"position": list(at), "spread": list(part.spreads[name])}
            for name, at in layout.points.items()
        },
        "zones": {name: _body_document(zone) for name, zone in layout.zones.items()},
        "point_sources": {
            spot.name: _origin_document(spot.origin) for spot in order.size.spots
        },
    }


def _origin_document(origin: Origin) -> dict[str, Any]:
    return {
        "spread": origin.spread,
        "known": origin.known,
        "source": origin.source,
        "measure": origin.measure,
    }


def _body_document(body: Box | Cylinder) -> dict[str, Any]:
    centre = list(body.frame.origin)
    if isinstance(body, Box):
        return {"box": list(body.size), "centre": centre}
    return {
        "cylinder": {"diameter": body.diameter, "height": body.height},
        "centre": centre,
        "axis": axis_name(body.frame.axes[2]),
    }


def _numbers(order: PartOrder) -> dict[tuple[str, str], int]:
    return {
        (each.source, each.known): number
        for number, each in enumerate(origins(order), start=1)
    }


def _short(length: float) -> str:
    """Return a length [mm] to a hundredth, as standards have them, without noughts."""
    return MILLIMETRES.exact(round(length, 2)).removesuffix(" mm")
