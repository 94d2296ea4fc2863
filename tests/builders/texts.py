"""Scene files, part by part, in the words that a person would write them.

Lengths are in the unit of the scene, millimetres where it names none. A text begins with
`head`; parts, keep-outs and runs follow in any order.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Final

Keys = Mapping[str, object]
"""What a table holds, by key, in the order in which it is written."""

COLLAR: Final[Keys] = {
    "height": 20,
    "depth": 12,
    "diameter": 22,
    "straight_beyond": 5,
}
"""A fitting for a tube of 14 mm, its seat 8 mm before the port's face."""

SMALL_COLLAR: Final[Keys] = {
    "height": 14,
    "depth": 8,
    "diameter": 16,
    "straight_beyond": 4,
}
"""A fitting for a tube of 10 mm, its seat 6 mm before the port's face."""

COLLARS: Final[Mapping[str, Keys]] = {"collar": COLLAR}
NOTHING: Final[Keys] = {}

TUBE: Final[Keys] = {"material": "acrylic", "outer_diameter": 14, "inner_diameter": 10}
"""Tube of 14 / 10 mm; the rest is as the reader has it."""

SMALL_TUBE: Final[Keys] = {**TUBE, "outer_diameter": 10, "inner_diameter": 7}
"""Tube of 10 / 7 mm."""

BOUGHT: Final[Keys] = {
    **TUBE,
    "bend_radius": 28,
    "stock_length": 500,
    "trim_allowance": 30,
}
"""The same, bent round 28 mm, bought by 500 mm and trimmed by 30 mm at each end."""


Inner = tuple[str, Keys]
"""What stands in a component: a header, the component's name left open, and its keys."""


def toml(value: object) -> str:
    """Return a value as TOML writes it: mappings inline, the rest as JSON does."""
    if isinstance(value, Mapping):
        pairs = (f"{key} = {toml(each)}" for key, each in value.items())
        return f"{{ {', '.join(pairs)} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(toml(each) for each in value)}]"
    return json.dumps(value, ensure_ascii=False)


def lines(keys: Keys) -> str:
    """Return a line a key."""
    return "".join(f"{key} = {toml(value)}\n" for key, value in keys.items())


def table(header: str, keys: Keys) -> str:
    """Return a table: its header in brackets, then a line a key."""
    return f"{header}\n{lines(keys)}"


def head(
    *,
    inner: object,
    first: Keys = NOTHING,
    case: Keys = NOTHING,
    tube: Keys = TUBE,
    rules: Keys = NOTHING,
    fittings: Mapping[str, Keys] = COLLARS,
) -> str:
    """Return how a scene file begins: `first` keys, case, tube, rules and fittings.

    Rules are those of the reader where none are given, and the one fitting a collar.
    """
    return "".join(
        [
            lines({"format": 1, **first}),
            table("[case]", {"inner": inner, **case}),
            table("[tube]", tube),
            table("[rules]", rules) if rules else "",
            *(table(f"[fittings.{name}]", keys) for name, keys in fittings.items()),
        ]
    )


def elbow(**changes: object) -> Keys:
    """Return an elbow of a quarter turn, 20 mm high, reaching 22 mm, save for changes."""
    usual = {"height": 20, "reach": 22, "turn": 90, "depth": 12, "diameter": 22}
    return {**usual, "straight_beyond": 5, **changes}


def part(name: str, position: object, *inside: Inner, **own: object) -> str:
    """Return a component: where it is, its bodies and ports, and keys of its own."""
    own = {"position": position, **own}
    tables = [(header.format(name), keys) for header, keys in inside]
    return "".join(
        table(header, keys) for header, keys in [(f"[components.{name}]", own), *tables]
    )


def box(size: object, centre: object) -> Inner:
    """Return a body: a box by its size and centre."""
    return "[[components.{}.bodies]]", {"box": size, "centre": centre}


def cylinder(
    *, diameter: object, height: object, centre: object, **more: object
) -> Inner:
    """Return a body: a cylinder, upright unless `axis` says otherwise."""
    size = {"diameter": diameter, "height": height}
    return "[[components.{}.bodies]]", {"cylinder": size, "centre": centre, **more}


def port(name: str, position: object, direction: object, **more: object) -> Inner:
    """Return a port: the middle of its face, seen from its component, and its way."""
    keys = {"position": position, "direction": direction, **more}
    return f"[components.{{}}.ports.{name}]", keys


def keep_out(name: str, body: Inner) -> str:
    """Return a space to keep out of, in the shape of a body."""
    return table("[[keep_outs]]", {"name": name, **body[1]})


def run(start: object, goal: object, *, name: str = "", **own: object) -> str:
    """Return a run from a port to another, or from one of a list, with rules of its own.

    A run without a name is called after the two parts that it joins.
    """
    called = name or " to ".join(str(at).split(".")[0] for at in (start, goal))
    return table("[[runs]]", {"name": called, "from": start, "to": goal, **own})
