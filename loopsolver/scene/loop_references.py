"""What [loop] refers to: components that let the coolant through, names for its tubes.

Works on the data as TOML gives it, as `references` does.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from loopsolver.scene import limits
from loopsolver.scene.circuit import derived_name
from loopsolver.scene.findings import Finding, nearest_name, shown
from loopsolver.scene.lines import KeyPath
from loopsolver.scene.references import (
    PortsByComponent,
    RunSide,
    lets_through,
    names_in,
    ports_by_component,
    ports_meant,
    run_name,
    runs_in,
    table_in,
    usable_ports,
    wanted_flow,
)
from loopsolver.words import in_commas

Pair = tuple[str, str]
"""Names of the components that a tube of the loop goes from and to."""

_ORDER: Final = ("loop", "order")


def loop_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return every part that cannot stand in the loop, and every name taken twice."""
    order = table_in(data, "loop").get("order")
    ports = ports_by_component(data)
    through = [name for name, own in ports.items() if lets_through(own)]
    if order == "any":
        findings = list(_too_few_or_many(through))
        pairs: Iterable[Pair] = itertools.permutations(through, 2)
    elif isinstance(order, list):
        findings = list(_part_findings(order, ports, through))
        pairs = [
            (start, goal)
            for start, goal in zip(order, [*order[1:], *order[:1]], strict=True)
            if isinstance(start, str) and isinstance(goal, str)
        ]
    else:
        return
    yield from findings
    if not findings:
        yield from _tube_name_findings(data, tuple(pairs), ports)


def _too_few_or_many(through: Sequence[str]) -> Iterator[Finding]:
    least, most = limits.LOOP_LEAST, limits.LOOP_MOST
    there_are = f"there {'is' if len(through) == 1 else 'are'} {in_commas(through)}"
    if len(through) < least:
        yield Finding(
            path=_ORDER,
            found=shown("any"),
            wanted=f"at least {least} components with a port that the coolant enters "
            "by and another that it leaves by, to go round by: "
            f"{there_are if through else 'there is none'}",
        )
    elif len(through) > most:
        yield Finding(
            path=_ORDER,
            found=f"{shown('any')} with {len(through)} components to go round by",
            wanted=f"at most {most} of them, or a list of those that are meant, in "
            f"their order: {there_are}",
        )


def _part_findings(
    order: Sequence[Any], ports: PortsByComponent, through: Sequence[str]
) -> Iterator[Finding]:
    seen: dict[str, int] = {}
    for index, name in enumerate(order):
        if not isinstance(name, str):
            continue
        path: KeyPath = (*_ORDER, index)
        first = seen.setdefault(name, index)
        if first != index:
            yield Finding(
                path=path,
                found=f"{shown(name)}, which is order[{first + 1}] already",
                wanted="every component once: the loop closes from the last to the "
                "first by itself",
            )
        elif name not in through:
            yield _unfit(path, name, ports, through)


def _unfit(
    path: KeyPath, name: str, ports: PortsByComponent, through: Sequence[str]
) -> Finding:
    if name in ports:
        return Finding(path=path, found=shown(name), wanted=_lacking(name, ports[name]))
    before_dot = name.split(".", 1)[0]
    return Finding(
        path=path,
        found=shown(name),
        wanted="one of the components that the coolant can go through: "
        f"{in_commas(through)}"
        if through
        else "a component with two ports or more, but there is none",
        nearest=before_dot if before_dot in through else nearest_name(name, through),
    )


def _lacking(name: str, ports: Mapping[str, str]) -> str:
    """Return what a component lacks to stand in the loop."""
    if len(ports) < 2:
        has = f"{in_commas(ports)} alone" if ports else "none"
        return (
            "a component with two ports or more, one that the coolant enters by and "
            f"another that it leaves by: {shown(name)} has {has}"
        )
    return wanted_flow(ports, "to" if usable_ports(ports, "from") else "from")


def _tube_name_findings(
    data: Mapping[str, Any], pairs: Sequence[Pair], ports: PortsByComponent
) -> Iterator[Finding]:
    """Return names of the loop's tubes that are too long, or that are not free."""
    written = [(index, run, _joined(run, ports)) for index, run in runs_in(data)]
    settled = {joined for _, _, joined in written}
    derived: dict[str, Pair] = {}
    for pair in pairs:
        if pair in settled:
            continue
        name = derived_name(*pair)
        other = derived.setdefault(name.casefold(), pair)
        if len(name) > limits.NAME_MOST or other != pair:
            wrong, fit = "the name of two tubes", "a name of its own"
            if len(name) > limits.NAME_MOST:
                wrong = f"{len(name)} characters long"
                fit = f"at most {limits.NAME_MOST} characters"
            yield Finding(
                path=_ORDER,
                found=f"a tube {shown(name)}, {wrong}",
                wanted=f"{fit} for every tube: rename a component, or add a [[runs]] "
                "table with a name for this tube",
            )
    for index, run, _ in written:
        own = run_name(run)
        if own is not None and own.strip().casefold() in derived:
            start, goal = derived[own.strip().casefold()]
            yield Finding(
                path=("runs", index, "name"),
                found=f"{shown(own)}, the name of the tube that [loop] lays from "
                f"{start} to {goal}",
                wanted=f"another name, or a run from {start} to {goal}: that one would "
                "take the loop's tube's place",
            )


def _joined(run: Mapping[str, Any], ports: PortsByComponent) -> Pair | None:
    """Return the components that a run surely goes from and to; None if unsure."""
    keys: tuple[RunSide, ...] = ("from", "to")
    ends = [
        {
            port.split(".", 1)[0]
            for _, name in names_in(run, key)
            for port in ports_meant(name, ports, key)
        }
        for key in keys
    ]
    if len(ends[0]) != 1 or len(ends[1]) != 1:
        return None
    return ends[0].pop(), ends[1].pop()
