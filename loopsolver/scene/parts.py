"""The key `part`: from what it asks of the shelf to bodies, ports, points and zones.

What the shelf has is written into the data of the file, where the component has not its
own, and read like the rest: a port of the shelf can be named wherever one of the file can.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, ClassVar, Final

from pydantic import Field, GetJsonSchemaHandler, ValidationError, create_model
from pydantic_core import PydanticCustomError

from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import axis_name
from loopsolver.scene import limits
from loopsolver.scene.choices import one_of, whole_number
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
from loopsolver.scene.toml_table import Table
from loopsolver.shelf.catalogue import KIND_NAMES, PartKind, part_kind
from loopsolver.shelf.parts import PartOrder, broken_bounds, part_of
from loopsolver.words import in_commas, listed

_WRITTEN: Final = 'part = { name = "board", size = "ATX" }'
_DIMENSION: Final = measured(length(most=limits.BODY_MOST))


class PartTable(Table):
    """A part of the shelf as a scene asks for it; each kind has a table of its own."""

    kind: ClassVar[PartKind]

    @property
    def order(self) -> PartOrder:
        """What is asked of the shelf."""
        given = dict(self)
        return PartOrder(
            kind=self.kind,
            size=self.kind.sizes[given.get("size", "")],
            counts={name: given[name] for name in self.kind.counts},
            overruled={
                name: value.mean
                for name, value in given.items()
                if isinstance(value, Measured)
            },
            with_zones=given.get("zones", False),
        )

    def contradictions(self, reading: Reading) -> Iterator[Finding]:
        """Return what does not go together."""
        order = self.order
        foreign = [
            name for name in order.overruled if name not in order.size.dimensions
        ]
        for name in foreign:
            yield Finding(
                path=(name,),
                found=f"a dimension that {order.size.name} has not",
                wanted=f"one of {in_commas(order.size.dimensions)}",
            )
        if order.with_zones and not order.size.has_zones:
            others = [each.name for each in self.kind.sizes.values() if each.has_zones]
            yield Finding(
                path=("zones",),
                found="true",
                wanted="no zones: their heights were not seen in any source for "
                f"{order.size.name}, only for {listed(others)}; measure what stands on "
                "the board, and give it components or [[keep_outs]] of its own",
            )
        elif not foreign:
            yield from _misfits(order, reading)


def _misfits(order: PartOrder, reading: Reading) -> Iterator[Finding]:
    """Return what is wrong between the dimensions of a part."""
    exact, of = reading.lengths.exact, order.sizes
    broken = broken_bounds(order)
    for bound in broken:
        own = bound.name if bound.name in order.overruled else bound.other
        yield Finding(
            path=(own,),
            found=f"{bound.name} {exact(of[bound.name])} and {bound.other} "
            f"{exact(of[bound.other])}",
            wanted=f"{bound.name} at {bound.side} {bound.other}",
        )
    for solid in () if broken else part_of(order).layout.bodies:
        sides = (
            [solid.diameter, solid.height]
            if isinstance(solid, Cylinder)
            else solid.size
        )
        if min(sides) <= 0.0:
            yield Finding(
                found=f"sizes that leave a body {' x '.join(map(exact, sides))}",
                wanted="more than 0 mm along every side",
            )


@cache
def _table_of(name: str) -> type[PartTable]:
    """Return the table in which a scene asks for one kind of part."""
    kind = part_kind(name)
    size = f", size = {shown(next(iter(kind.sizes)))}" if kind.usual != "" else ""
    model = create_model(f"PartTable of {name}", __base__=PartTable, **_fields_of(kind))
    model.kind, model.written = kind, f"part = {{ name = {shown(name)}{size} }}"
    return model


def _fields_of(kind: PartKind) -> dict[str, Any]:
    """Return the fields of a kind's table: each with its kind of value, and what it is."""

    def field(type_: Any, told: str, default: Any) -> tuple[Any, Any]:
        return type_, Field(default=default, description=told)

    fields = {
        "name": field(Annotated[str, one_of([kind.name])], "the part's name", ...)
    }
    if kind.usual != "":
        told = f"the size of a {kind.name}: {' or '.join(map(shown, kind.sizes))}"
        size = Annotated[str, _size_kind(kind, told)]
        fields["size"] = field(size, told, ... if kind.usual is None else kind.usual)
    for count in kind.counts.values():
        told = f"{count.of}: a whole number from {count.least} to {count.most}"
        number = Annotated[int, whole_number(least=count.least, most=count.most)]
        default = ... if count.usual is None else count.usual
        fields[count.name] = field(number, told, default)
    if kind.has_zones:
        told = "true: what a standard case leaves free is kept free"
        fields["zones"] = field(Annotated[bool, _YES_OR_NO], told, default=False)
    for one in kind.dimensions:
        dimension = Annotated[Measured, _DIMENSION] | None
        fields[one.name] = field(dimension, one.of, None)
    return fields


def _size_kind(kind: PartKind, wanted: str) -> Kind:
    """Return the kind of a size's name, which may be written as a number."""

    def read(value: Any, _: Reading) -> str:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        name = f"{value:g}" if is_number else value
        if not isinstance(name, str) or name not in kind.sizes:
            found(value, wanted, nearest=nearest_name(name, kind.sizes))
        return str(name)

    numbers = [float(name) for name in kind.sizes if name.replace(".", "").isdigit()]
    return Kind(read, {"enum": [*kind.sizes, *numbers]})


def _yes_or_no(value: Any, _: Reading) -> bool:
    if not isinstance(value, bool):
        found(value, "true or false")
    return bool(value)


_YES_OR_NO: Final = Kind(_yes_or_no, {"type": "boolean"})


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


def _part(value: Any, reading: Reading) -> PartTable:
    if not isinstance(value, dict):
        found(value, f"a table {_WRITTEN}")
    name = value.get("name")
    if not isinstance(name, str) or name not in KIND_NAMES:
        wanted = f"the name of a part on the shelf: {in_commas(map(shown, KIND_NAMES))}"
        near = nearest_name(name, KIND_NAMES)
        refuse(
            [Finding(path=("name",), found=shown(name), wanted=wanted, nearest=near)]
        )
    try:
        return _table_of(name).model_validate(value, context=reading)
    except ValidationError as error:
        refuse(
            finding.below(detail["loc"])
            for detail in error.errors(include_url=False)
            for finding in detail["ctx"]["findings"]
        )


class _PartKey(Kind):
    """A kind whose JSON Schema is made when it is asked for: it needs the whole shelf."""

    def __get_pydantic_json_schema__(
        self, _source: Any, _handler: GetJsonSchemaHandler
    ) -> JsonSchema:
        """Return how the key is written: a table for each kind of part."""
        return {"anyOf": [_table_of(name).model_json_schema() for name in KIND_NAMES]}


PART: Final = _PartKey(_part, {})
"""A part of the shelf: its name, its size and whatever of it was measured."""
