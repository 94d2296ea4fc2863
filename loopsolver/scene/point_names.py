"""Names of points and planes in a scene file, and what refers to them.

Points are ``datum``, ``pump.origin``, ``pump.out`` (the face of a port), ``pump.hole`` of
``[components.pump.points]`` and ``pump.+x-y+z``, a corner of the box round its bodies as
they stand, along the case's axes. Planes are ``wall +y`` and ``pump.+x``, the outermost
face of its bodies. Works on the data as TOML gives it, as `references` does.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from loopsolver.geometry.vectors import AXES
from loopsolver.scene.findings import Finding, nearest_name, shown
from loopsolver.scene.lines import KeyPath
from loopsolver.scene.references import names_in, table_in, tables_in
from loopsolver.words import in_commas, listed

DATUM_POINT: Final = "datum"
ORIGIN: Final = "origin"
WALLS: Final = tuple(f"wall {side}" for side in AXES)

_CORNER: Final = re.compile(r"[-+]x[-+]y[-+]z")


def is_built_in(name: str) -> bool:
    """Whether every component has a point or plane of that name by itself."""
    return name == ORIGIN or name in AXES or _CORNER.fullmatch(name) is not None


def plane_side(name: str) -> str | None:
    """Return the side of a plane, such as "+y"; None where it is the name of a point."""
    side = name[-2:]
    is_plane = side in AXES and (name in WALLS or name[-3:-2] == ".")
    return side if is_plane else None


def placing_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return what is wrong with the points that components are placed by."""
    parts = table_in(data, "components")
    after: dict[str, str] = {}
    for name, part in parts.items():
        yield from _name_findings(name, part)
        place, path = table_in(part, "place"), ("components", name, "place")
        own, start = place.get("point"), place.get("from")
        if isinstance(own, str):
            yield from _own_point_findings((*path, "point"), name, own, parts)
        if not isinstance(start, str):
            continue
        side = plane_side(start)
        if side is not None:
            yield Finding(
                path=(*path, "from"),
                found=f"{shown(start)}, a plane",
                wanted=f'a point; a position may be counted from a wall ("35 from {side}")',
            )
        else:
            yield from point_findings((*path, "from"), start, data)
            after[name] = start.split(".", 1)[0]
    yield from _circle_findings(after)


def reading_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return what is wrong with the points and planes that readings are between."""
    for index, reading in tables_in(data, "readings"):
        path: KeyPath = ("readings", index)
        ends = {key: reading.get(key) for key in ("from", "to")}
        told = [
            finding
            for key, name in ends.items()
            if isinstance(name, str)
            for finding in point_findings((*path, key), name, data)
        ]
        yield from told
        if told or not all(isinstance(name, str) for name in ends.values()):
            continue
        if ends["from"] == ends["to"]:
            yield Finding(
                path=(*path, "to"),
                found=f"{shown(ends['to'])}, which it is measured from",
                wanted="another point than the one it is measured from",
            )
        yield from _plane_findings(path, [str(name) for name in ends.values()], reading)


def opening_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return every opening of [filling] that is no port or point of a component."""
    parts = table_in(data, "components")
    for key in ("vent", "drain"):
        for where, written in names_in(table_in(data, "filling"), key):
            name, path = written.strip(), ("filling", key, *where)
            part, _, own = name.partition(".")
            if part in parts and own and own not in AXES:
                yield from _own_point_findings(path, part, own, parts, whole=name)
                continue
            known = [f"{each}.{one}" for each in parts for one in _points(parts[each])]
            yield Finding(
                path=path,
                found=shown(name),
                wanted=f"one of the ports and points there are: {in_commas(known)}"
                if known
                else "a port or point, but there is none",
                nearest=nearest_name(name, known),
            )


def _plane_findings(
    path: KeyPath, ends: Sequence[str], reading: Mapping[str, Any]
) -> Iterator[Finding]:
    """Return a reading at a plane that is not along the plane's own axis."""
    along = reading.get("along")
    if isinstance(along, list):
        letters = {letter for letter, part in zip("xyz", along, strict=False) if part}
    else:
        letters = {str(along)[1:]}
    for name in ends:
        side = plane_side(name)
        if side is not None and letters != {side[1]}:
            yield Finding(
                path=(*path, "along"),
                found="nothing" if along is None else shown(along),
                wanted=f'"+{side[1]}" or "-{side[1]}": {shown(name)} is a plane, which '
                "counts along its own axis alone",
            )
            return


def _name_findings(name: str, part: object) -> Iterator[Finding]:
    """Return ports and points of a component under a name that is not free."""
    ports = table_in(part, "ports")
    for key in ("ports", "points"):
        for own in table_in(part, key):
            if is_built_in(own) or (key == "points" and own in ports):
                whose = (
                    "a port" if own in ports and key == "points" else "a point or plane"
                )
                yield Finding(
                    path=("components", name, key, own),
                    found=f"the name {shown(own)}",
                    wanted=f"another name: {shown(f'{name}.{own}')} is {whose} already",
                )


def point_findings(
    path: KeyPath, name: str, data: Mapping[str, Any]
) -> Iterator[Finding]:
    """Return why a name is that of no point or plane of the scene, if it is none."""
    parts = table_in(data, "components")
    part, _, own = name.partition(".")
    if name in WALLS:
        if "inner" not in table_in(data, "case"):
            wanted = "inner = [x, y, z] in [case], as there are no walls without it"
            yield Finding(path=path, found=shown(name), wanted=wanted)
    elif part in parts and own:
        yield from _own_point_findings(path, part, own, parts, whole=name)
    elif name != DATUM_POINT:
        known = [
            DATUM_POINT,
            *(f"{each}.{one}" for each in parts for one in _points(parts[each])),
        ]
        yield Finding(
            path=path,
            found=shown(name),
            wanted=f"one of the points there are: {in_commas(known)}; or a corner such as "
            '"NAME.+x-y+z"',
            nearest=nearest_name(name, [*known, *WALLS]),
        )


def _points(part: object) -> list[str]:
    return [ORIGIN, *table_in(part, "ports"), *table_in(part, "points")]


def _own_point_findings(
    path: KeyPath, part: str, own: str, parts: Mapping[str, Any], *, whole: str = ""
) -> Iterator[Finding]:
    """Return why a component has no such point; `whole` is its full name, if written."""
    known = _points(parts[part])
    if own in known:
        return
    if is_built_in(own) and (whole or own not in AXES):
        bodies = parts[part].get("bodies") if isinstance(parts[part], dict) else None
        if bodies:
            return
        wanted = f"a point of {shown(part)} other than of its bodies: it has none"
    else:
        names = [f"{part}.{one}" for one in known] if whole else known
        wanted = f"one of the points of {shown(part)}: {in_commas(names)}; or a corner "
        wanted += "such as " + shown(f"{part}.+x-y+z" if whole else "+x-y+z")
    nearest = nearest_name(own, known)
    yield Finding(
        path=path,
        found=shown(whole or own),
        wanted=wanted,
        nearest=f"{part}.{nearest}" if nearest and whole else nearest,
    )


def _circle_findings(after: Mapping[str, str]) -> Iterator[Finding]:
    """Return every circle of components that are placed by each other."""
    told: set[str] = set()
    for first in after:
        circle = [first]
        while (before := after.get(circle[-1])) not in (None, *circle):
            circle.append(str(before))
        if before != first or first in told:
            continue
        told.update(circle)
        how = (
            " from ".join([*circle, first])
            if len(circle) > 1
            else f"{first} from itself"
        )
        yield Finding(
            path=("components", first, "place", "from"),
            found=f"a circle of places: {how}",
            wanted=f"a position for {listed(circle, last='or')}, or a place from a point "
            "that does not hang on it",
        )
