"""The key `part`: from what it asks of the shelf to bodies, ports, points and zones.

What the shelf has is written into the data of the file, where the component has not its
own, and read like the rest: a port of the shelf can be named wherever one of the file can.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from pydantic import GetJsonSchemaHandler
from pydantic_core import PydanticCustomError

from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import Point, axis_name
from loopsolver.scene import limits
from loopsolver.scene.choices import whole_number
from loopsolver.scene.findings import Finding, nearest_name, shown
from loopsolver.scene.quantities import (
    JsonSchema,
    Kind,
    Measured,
    Reading,
    found,
    length,
    measured,
    refuse,
)
from loopsolver.scene.references import table_in
from loopsolver.shelf.catalogue import KIND_NAMES, PartKind, PartSize, part_kind
from loopsolver.shelf.parts import PartOrder, broken_bounds, part_of
from loopsolver.words import in_commas

_WRITTEN: Final = 'part = { name = "board", size = "ATX" }'
_DIMENSION: Final = measured(length(most=limits.BODY_MOST))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenPart:
    """A part of the shelf as a scene asks for it, with what was measured of it."""

    order: PartOrder
    measured: Mapping[str, Measured]

    def items(self) -> Iterator[tuple[str, Measured]]:
        """Return the measured dimensions by the key that stands in the file."""
        yield from self.measured.items()


def with_parts(data: dict[str, Any], reading: Reading) -> dict[str, Any]:
    """Return the data of a file with what the shelf has of its components' parts.

    A part that cannot be read is taken for the nearest one that can, so that its ports
    are not told to be missing as well.
    """
    components = {
        name: _with_part(table, reading)
        for name, table in table_in(data, "components").items()
    }
    return {**data, "components": components} if components else data


def _with_part(table: Any, reading: Reading) -> Any:
    if not isinstance(table, dict) or "part" not in table:
        return table
    try:
        order = PART.read(table["part"], reading).order
    except PydanticCustomError:
        order = _nearest_order(table["part"])
    if order is None:
        return table
    layout = part_of(order).layout
    shelf_ports = {
        name: {
            "position": _written(port.position),
            "direction": axis_name(port.direction),
            "flow": port.flow,
        }
        for name, port in layout.ports.items()
    }
    own, points = table.get("ports", {}), table.get("points", {})
    if not isinstance(own, dict) or not isinstance(points, dict):
        return table
    shelf_points = {
        name: _written(at) for name, at in layout.points.items() if name not in own
    }
    ports = {
        name: {**shelf_ports.get(name, {}), **port} if isinstance(port, dict) else port
        for name, port in {**shelf_ports, **own}.items()
    }
    return {
        "bodies": [_body(solid) for solid in layout.bodies],
        **table,
        "ports": ports,
        "points": {**shelf_points, **points},
    }


def _nearest_order(part: Any) -> PartOrder | None:
    """Return a part for one that cannot be read, as far as it has a name."""
    name = part.get("name") if isinstance(part, dict) else part
    nearest = nearest_name(name, KIND_NAMES)
    if nearest is None:
        return None
    kind = part_kind(nearest)
    counts = {each.name: each.usual or each.most for each in kind.counts.values()}
    return PartOrder(kind=kind, size=next(iter(kind.sizes.values())), counts=counts)


def _body(solid: Box | Cylinder) -> dict[str, Any]:
    """Return a body as a scene file would have it."""
    centre = _written(solid.frame.origin)
    if isinstance(solid, Box):
        return {"box": _written(solid.size), "centre": centre}
    size = dict(
        zip(
            ("diameter", "height"),
            _written((solid.diameter, solid.height)),
            strict=True,
        )
    )
    return {"cylinder": size, "centre": centre, "axis": axis_name(solid.frame.axes[2])}


def _written(lengths: tuple[float, ...]) -> list[str]:
    """Return lengths [mm] as texts that carry their unit, whatever that of the file."""
    return [f"{length:.9f} mm" for length in lengths]


def _part(value: Any, reading: Reading) -> ChosenPart:
    if not isinstance(value, dict):
        found(value, f"a table {_WRITTEN}")
    name = value.get("name")
    if not isinstance(name, str) or name not in KIND_NAMES:
        wanted = f"the name of a part on the shelf: {in_commas(map(shown, KIND_NAMES))}"
        near = nearest_name(name, KIND_NAMES)
        refuse(
            [Finding(path=("name",), found=shown(name), wanted=wanted, nearest=near)]
        )
    return _PartReader(part_kind(name), value, reading).chosen()


class _PartReader:
    """Reads one table, gathering all that is wrong in it."""

    def __init__(self, kind: PartKind, table: dict[str, Any], reading: Reading) -> None:
        self.kind = kind
        self.table = table
        self.reading = reading
        self.findings: list[Finding] = []

    def chosen(self) -> ChosenPart:
        """Return what was asked for; raise all that is wrong."""
        size = self._size()
        counts = {name: self._count(name) for name in self.kind.counts}
        with_zones = self._zones(size)
        sizes = {
            key: self._value(key, _DIMENSION)
            for key in self.table
            if self._is_dimension(key, size)
        }
        if self.findings or size is None:
            refuse(self.findings)
        order = PartOrder(
            kind=self.kind,
            size=size,
            counts=counts,
            overruled={key: value.mean for key, value in sizes.items()},
            with_zones=with_zones,
        )
        misfits = [*_misfits(order, self.reading)]
        if misfits:
            refuse(misfits)
        return ChosenPart(order=order, measured=sizes)

    def _tell(self, key: str, wanted: str, *, known: tuple[str, ...] = ()) -> None:
        value = self.table.get(key)
        text = f"{value:g}" if _is_number(value) else value
        self.findings.append(
            Finding(
                path=(key,),
                found=shown(value),
                wanted=wanted,
                nearest=nearest_name(text, known),
            )
        )

    def _value(self, key: str, kind: Kind) -> Any:
        try:
            return kind.read(self.table.get(key), self.reading)
        except PydanticCustomError as error:
            told = (error.context or {})["findings"]
            self.findings += [finding.below((key,)) for finding in told]
            return None

    def _size(self) -> PartSize | None:
        sizes = self.kind.sizes
        asked = self.table.get("size", self.kind.usual)
        name = f"{asked:g}" if _is_number(asked) else asked
        if (
            isinstance(name, str)
            and name in sizes
            and (name or "size" not in self.table)
        ):
            return sizes[name]
        if self.kind.usual == "":
            self._tell("size", f"no size: of {self.kind.name!r} there is only one")
        else:
            of = f"the size of a {self.kind.name}"
            self._tell(
                "size", f"{of}: {' or '.join(map(shown, sizes))}", known=tuple(sizes)
            )
        return None

    def _count(self, name: str) -> int:
        count = self.kind.counts[name]
        if name not in self.table and count.usual is not None:
            return count.usual
        number: int | None = self._value(
            name, whole_number(least=count.least, most=count.most)
        )
        return number or count.least

    def _zones(self, size: PartSize | None) -> bool:
        if not self.kind.has_zones or "zones" not in self.table:
            return False
        asked = self.table["zones"]
        if not isinstance(asked, bool):
            self._tell("zones", "true or false")
        elif asked and size is not None and not size.has_zones:
            with_them = [
                each.name for each in self.kind.sizes.values() if each.has_zones
            ]
            self._tell(
                "zones",
                f"no zones: their heights were not seen in any source for {size.name}, "
                f"only for {in_commas(with_them)}; measure what stands on the board, and "
                "give it components or [[keep_outs]] of its own",
            )
        return asked is True

    def _is_dimension(self, key: str, size: PartSize | None) -> bool:
        """Whether a key is a dimension that can be overruled; what is no key is told."""
        zones = ("zones",) if self.kind.has_zones else ()
        others = ("name", "size", *self.kind.counts, *zones)
        known = self.kind.names if size is None else tuple(size.dimensions)
        if key in known or key in others:
            return key in known
        of = " ".join(filter(None, (self.kind.name, size.name if size else "")))
        self.findings.append(
            Finding(
                path=(key,),
                found=f"a key that the part {of} does not know",
                wanted=f"one of {in_commas((*others, *known), most=24)}",
                nearest=nearest_name(key, (*others, *known)),
            )
        )
        return False


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _misfits(order: PartOrder, reading: Reading) -> Iterator[Finding]:
    """Return what is wrong between dimensions that are well by themselves."""
    exact, of = reading.lengths.exact, order.sizes
    broken = broken_bounds(order)
    for bound in broken:
        measured_one = bound.name if bound.name in order.overruled else bound.other
        yield Finding(
            path=(measured_one,),
            found=f"{bound.name} {exact(of[bound.name])} and {bound.other} "
            f"{exact(of[bound.other])}",
            wanted=f"{bound.name} at {bound.side} {bound.other}",
        )
    for solid in () if broken else part_of(order).layout.bodies:
        sides: Point | tuple[float, float] = (
            solid.size if isinstance(solid, Box) else (solid.diameter, solid.height)
        )
        if min(sides) <= 0.0:
            yield Finding(
                found=f"sizes that leave a body {' x '.join(map(exact, sides))}",
                wanted="more than 0 mm along every side",
            )


def _json() -> JsonSchema:
    """Return how the key is written: a table for each kind of part."""

    def table(kind: PartKind) -> JsonSchema:
        numbers = [
            float(name) for name in kind.sizes if name.replace(".", "").isdigit()
        ]
        size = {"size": {"enum": [*kind.sizes, *numbers]}} if kind.usual != "" else {}
        zones = {"zones": {"type": "boolean"}} if kind.has_zones else {}
        counts = {
            count.name: whole_number(least=count.least, most=count.most).json
            for count in kind.counts.values()
        }
        dimensions = dict.fromkeys(kind.names, _DIMENSION.json)
        needed = [count.name for count in kind.counts.values() if count.usual is None]
        return {
            "type": "object",
            "properties": {
                "name": {"const": kind.name},
                **size,
                **counts,
                **zones,
                **dimensions,
            },
            "required": ["name", *(["size"] if kind.usual is None else []), *needed],
            "additionalProperties": False,
        }

    return {"anyOf": [table(part_kind(name)) for name in KIND_NAMES]}


class _PartKey(Kind):
    """A kind whose JSON Schema is made when it is asked for: it needs the whole shelf."""

    def __get_pydantic_json_schema__(
        self, _source: Any, _handler: GetJsonSchemaHandler
    ) -> JsonSchema:
        """Return how the key is written."""
        return _json()


PART: Final = _PartKey(_part, {})
"""A part of the shelf: its name, its size and whatever of it was measured."""
