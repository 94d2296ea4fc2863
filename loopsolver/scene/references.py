"""Names in a scene file that refer to each other: ports, fittings and runs.

Works on the data as TOML gives it, whatever else is wrong there, so that a misspelt
port is told together with a wrong length elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, Literal

from loopsolver.letters import is_visible
from loopsolver.scene import limits
from loopsolver.scene.findings import Finding, nearest_name, shown
from loopsolver.scene.lines import KeyPath
from loopsolver.words import in_commas

RunSide = Literal["from", "to"]
"""The key of a run's end."""

PortPair = tuple[str, str]
"""Full names of the port a tube starts from and the one it goes to."""

PortsByComponent = dict[str, dict[str, str]]
"""By component, its ports in the order of the file: full name, and flow as written."""

AGAINST: Final[dict[RunSide, str]] = {"from": "in", "to": "out"}
"""The flow of a port with which a run's end there would go against the coolant."""

_NAME_RULE: Final = (
    f"a name of 1 to {limits.NAME_MOST} visible characters, without a dot, without "
    "blanks at its ends"
)


def ports_by_component(data: Mapping[str, Any]) -> PortsByComponent:
    """Return the full names of all ports and their flows, by component."""
    return {
        name: {
            f"{name}.{port}": str(table_in(ports, port).get("flow", "either"))
            for port in ports
        }
        for name, component in table_in(data, "components").items()
        for ports in [table_in(component, "ports")]
    }


def usable_ports(ports: Mapping[str, str], end: RunSide) -> tuple[str, ...]:
    """Return those of a component's ports at which a run may start, or arrive."""
    return tuple(name for name, flow in ports.items() if flow != AGAINST[end])


def lets_through(ports: Mapping[str, str]) -> bool:
    """Whether a component can stand in a loop: entered by one port, left by another."""
    enter, leave = usable_ports(ports, "to"), usable_ports(ports, "from")
    return bool(enter and leave) and len({*enter, *leave}) > 1


def ports_meant(name: str, ports: PortsByComponent, end: RunSide) -> tuple[str, ...]:
    """Return the ports that a run's end means, or none.

    A port's name means that one, whatever its flow: it is the builder's word. The bare
    name of a component means all its ports but those with the flow against it.
    """
    if name in ports:
        return usable_ports(ports[name], end)
    return (name,) if any(name in own for own in ports.values()) else ()


def reference_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return every name that cannot be used and every one that refers to nothing."""
    yield from _name_findings(data)
    yield from _fitting_findings(data)
    yield from _run_name_findings(data)
    ports = ports_by_component(data)
    for index, run in runs_in(data):
        yield from _run_findings(("runs", index), run, ports)
    yield from _assembly_findings(data)


def _name_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    paths: list[tuple[str, ...]] = [
        ("fittings", name) for name in table_in(data, "fittings")
    ]
    for name, component in table_in(data, "components").items():
        paths += [("components", name)]
        for key in ("ports", "points"):
            own = table_in(component, key)
            paths += [("components", name, key, one) for one in own]
    for path in paths:
        name = path[-1]
        usable = is_visible(name) and name == name.strip() and "." not in name
        if not usable or not 1 <= len(name) <= limits.NAME_MOST:
            yield Finding(path=path, found=f"the name {shown(name)}", wanted=_NAME_RULE)


def _fitting_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    known = list(table_in(data, "fittings"))
    for name, component in table_in(data, "components").items():
        for port, table in table_in(component, "ports").items():
            path = ("components", name, "ports", port, "fitting")
            for where, fitting in names_in(table, "fitting"):
                if fitting not in known:
                    yield Finding(
                        path=(*path, *where),
                        found=shown(fitting),
                        wanted=f"one of the fittings there are: {in_commas(known)}"
                        if known
                        else "no fitting here, or a [fittings.NAME] table: there is "
                        "none in this scene",
                        nearest=nearest_name(fitting, known),
                    )


def _assembly_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return every component of [assembly] that is not there."""
    known = list(table_in(data, "components"))
    for key in ("movable", "last"):
        for where, name in names_in(table_in(data, "assembly"), key):
            if name not in known:
                part = name.partition(".")[0]
                yield Finding(
                    path=("assembly", key, *where),
                    found=shown(name),
                    wanted=f"one of the components there are: {in_commas(known)}"
                    if known
                    else "a component, but there is none",
                    nearest=part if part in known else nearest_name(name, known),
                )


def _run_name_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return run names that another run has; case aside, as sheets are named by them."""
    seen: dict[str, int] = {}
    for index, run in runs_in(data):
        name = run_name(run)
        if name is None:
            continue
        first = seen.setdefault(name.strip().casefold(), index)
        wanted = "a name of its own for every run (capitals do not tell apart)"
        found = f"{shown(name)}, which is the name of runs[{first + 1}] already"
        if len(name) > limits.NAME_MOST and "name" not in run:
            found = f"none, and its ends make {len(name)} characters"
            wanted = f"a name of at most {limits.NAME_MOST}"
        elif first == index:
            continue
        yield Finding(path=("runs", index, "name"), found=found, wanted=wanted)


def run_name(run: Mapping[str, Any]) -> str | None:
    """Return a run's name, or its ends in place of it; None if it is none.

    >>> run_name({"from": ["pump.out", "pump.top"], "to": "card.in"})
    'pump.out or pump.top to card.in'
    """
    ends = [
        " or ".join(name for _, name in names_in(run, key)) for key in ("from", "to")
    ]
    name = run.get("name", " to ".join(ends) if all(ends) else None)
    return name if isinstance(name, str) else None


def _run_findings(
    path: KeyPath, run: Mapping[str, Any], ports: PortsByComponent
) -> Iterator[Finding]:
    ends: dict[RunSide, set[str]] = {}
    keys: tuple[RunSide, ...] = ("from", "to")
    unclear = False
    for key in keys:
        ends[key] = set()
        for where, name in names_in(run, key):
            finding = _port_finding((*path, key, *where), name, ports, key)
            unclear = unclear or finding is not None
            if finding is not None:
                yield finding
            ends[key].update(ports_meant(name, ports, key))
    same = len(ends["from"] | ends["to"]) == 1 and ends["from"] == ends["to"]
    if same and not unclear:
        yield Finding(
            path=(*path, "to"),
            found=f"{shown(run['to'])}, the port that the run starts from",
            wanted="another port than the one it starts from",
        )


def _port_finding(
    path: KeyPath, name: str, ports: PortsByComponent, end: RunSide
) -> Finding | None:
    if ports_meant(name, ports, end):
        return None
    known = [port for of_component in ports.values() for port in of_component]
    if name in ports:
        own = ports[name]
        none = f"a component with ports: {shown(name)} has none"
        wanted = wanted_flow(own, end) if own else none
        return Finding(path=path, found=shown(name), wanted=wanted)
    wanted = (
        f"one of the ports there are: {in_commas(known)}"
        if known
        else ("a port, but there is none: add a [components.NAME.ports.NAME] table")
    )
    nearest = nearest_name(name, [*known, *(each for each in ports if ports[each])])
    return Finding(path=path, found=shown(name), wanted=wanted, nearest=nearest)


def wanted_flow(ports: Mapping[str, str], end: RunSide) -> str:
    """Return what a component lacks none of whose ports a run can be at by that end."""
    against, does = AGAINST[end], "leaves" if end == "from" else "enters"
    return (
        f'a component with a port that the coolant {does} by: flow = "{against}" at '
        f"{in_commas(ports)}"
    )


def runs_in(data: Mapping[str, Any]) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Return the run tables there are, with their places."""
    return tables_in(data, "runs")


def tables_in(
    data: Mapping[str, Any], key: str
) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Return the tables of a list there are, with their places."""
    every = data.get(key)
    for index, table in enumerate(every if isinstance(every, list) else ()):
        if isinstance(table, dict):
            yield index, table


def table_in(data: object, key: str) -> dict[str, Any]:
    """Return the table under a key, or an empty one where there is none."""
    table = data.get(key) if isinstance(data, dict) else None
    return table if isinstance(table, dict) else {}


def names_in(data: object, key: str) -> Iterator[tuple[KeyPath, str]]:
    """Return the names under a key that holds one or a list, with their places."""
    value = data.get(key) if isinstance(data, dict) else None
    if isinstance(value, str):
        yield (), value
    for index, each in enumerate(value if isinstance(value, list) else ()):
        if isinstance(each, str):
            yield (index,), each
