"""What stands on the shelf: kinds of part, their sizes, and where each number is from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Final, Literal

Known = Literal["read", "quoted", "practice"]
"""Read in the source; quoted from it by others; common practice without a source."""

_SPREADS: Final[Mapping[Known, float]] = MappingProxyType(
    {"read": 0.3, "quoted": 0.5, "practice": 5.0}
)
"""How far a size usually lies off [mm]: of a standard dimension and of a rule of thumb;
common practice, no source."""

KIND_NAMES: Final = (
    "board",
    "card",
    "block",
    "pump top",
    "tank",
    "radiator",
    "fan",
    "port plate",
    "supply",
    "drive",
)
"""Of all kinds of part, in the order in which the shelf is listed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where a number is from.

    Attributes
    ----------
    source : str
        What it was taken from, in words.
    known : Known
    spread : float
        How far it usually lies off [mm].
    measure : bool
        Whether no standard holds it, so that it must be measured.
    """

    source: str
    known: Known
    spread: float
    measure: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A size of a part [mm]: its name, of what it is, and where it is from."""

    name: str
    of: str
    value: float
    origin: Origin


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A hole or slot: each of x, y, z is a sum of numbers [mm] and dimensions' names."""

    name: str
    at: tuple[tuple[float | str, ...], ...]
    origin: Origin


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """A whole number that a part has, such as its fans; `usual` None: must be given."""

    name: str
    of: str
    least: int
    most: int
    usual: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DimensionBound:
    """That one dimension is at least, or at most, another one of the part."""

    name: str
    side: Literal["least", "most"]
    other: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSize:
    """One size of a kind: its dimensions by name, and its holes and slots."""

    name: str
    dimensions: Mapping[str, Dimension]
    spots: tuple[Spot, ...]

    @property
    def has_zones(self) -> bool:
        """Whether a source has the heights that a case leaves free above it."""
        return "zone_a" in self.dimensions


@dataclass(frozen=True, slots=True, kw_only=True)
class PartKind:
    """One kind of part.

    Attributes
    ----------
    name, told : str
        As scenes name it, and in words.
    frame : str
        Where its origin is and its axes point.
    seen : str
        The direction from which its drawing is seen, such as ``+x``.
    rear : str
        The side that is towards the case's rear, or nothing.
    caution : str
    sizes : mapping of PartSize
        By name; a kind that has only one calls it by an empty name.
    usual : str or None
        The size where none is given; None: it must be.
    """

    name: str
    told: str
    frame: str
    seen: str
    rear: str
    caution: str
    sizes: Mapping[str, PartSize]
    usual: str | None
    counts: Mapping[str, Count]
    bounds: tuple[DimensionBound, ...]

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        """Every dimension that any of its sizes has, as the first that has it."""
        every: dict[str, Dimension] = {}
        for size in self.sizes.values():
            every = {**size.dimensions, **every}
        return tuple(every.values())

    @property
    def has_zones(self) -> bool:
        """Whether any of its sizes has height zones."""
        return any(size.has_zones for size in self.sizes.values())


@cache
def part_kind(name: str) -> PartKind:
    """Return the kind of part of that name, one of `KIND_NAMES`.

    Each is read when it is first asked for: most scenes need few of them.
    """
    return _kind(name, _data(name.replace(" ", "-")), _data("sources"))


@cache
def _data(file: str) -> dict[str, Any]:
    import tomllib

    path = resources.files("loopsolver.shelf").joinpath("data", f"{file}.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _kind(name: str, table: Mapping[str, Any], sources: Mapping[str, str]) -> PartKind:
    sizes = table["sizes"] or {"": {}}
    return PartKind(
        name=name,
        told=table["told"],
        frame=table["frame"],
        seen=table["seen"],
        rear=table.get("rear", ""),
        caution=table["caution"],
        sizes={called: _size(called, table, sources) for called in sizes},
        usual=table.get("usual", None if table["sizes"] else ""),
        counts={
            of: Count(
                name=of,
                of=entry["of"],
                least=entry["least"],
                most=entry["most"],
                usual=entry.get("usual"),
            )
            for of, entry in table.get("counts", {}).items()
        },
        bounds=tuple(_bounds(table.get("bounds", {}))),
    )


def _size(
    called: str, table: Mapping[str, Any], sources: Mapping[str, str]
) -> PartSize:
    """Return one size of a kind, its dimensions in the order in which they are told of."""
    every = {**table.get("all", {}), **table["sizes"].get(called, {})}
    order = list(table["of"]).index
    return PartSize(
        name=called,
        dimensions={
            of: Dimension(
                name=of,
                of=table["of"][of],
                value=float(entry["mm"]),
                origin=_origin(entry, sources),
            )
            for of, entry in sorted(every.items(), key=lambda item: order(item[0]))
        },
        spots=tuple(
            Spot(
                name=spot,
                at=tuple(_terms(part) for part in entry["at"]),
                origin=_origin(entry, sources),
            )
            for spot, entry in table.get("spots", {}).get(called, {}).items()
        ),
    )


def _origin(entry: Mapping[str, Any], sources: Mapping[str, str]) -> Origin:
    known: Known = entry["known"]
    return Origin(
        source=sources[entry["source"]],
        known=known,
        spread=float(entry.get("spread", _SPREADS[known])),
        measure=entry.get("measure", False),
    )


def _terms(coordinate: float | str) -> tuple[float | str, ...]:
    if isinstance(coordinate, str):
        return tuple(coordinate.split(" + "))
    return (float(coordinate),)


def _bounds(table: Mapping[str, Mapping[str, str]]) -> Iterator[DimensionBound]:
    for name, sides in table.items():
        if "least" in sides:
            yield DimensionBound(name=name, side="least", other=sides["least"])
        if "most" in sides:
            yield DimensionBound(name=name, side="most", other=sides["most"])
