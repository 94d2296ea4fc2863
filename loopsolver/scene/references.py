"""Names in a scene file that refer to each other: ports, fittings and runs.

Works on the data as TOML gives it, whatever else is wrong there, so that a misspelt
port is told together with a wrong length elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from loopsolver.scene import limits
from loopsolver.scene.findings import Finding, listed, nearest_name, shown
from loopsolver.scene.lines import KeyPath

PortsByComponent = dict[str, tuple[str, ...]]
"""Full port names of every component, in the order of the file."""

_NAME_RULE: Final = (
    f"a name of 1 to {limits.NAME_MOST} printable characters, without a dot, without "
    "blanks at its ends"
)


def ports_by_component(data: Mapping[str, Any]) -> PortsByComponent:
    """Return the full names of all ports, by component."""
    return {
        name: tuple(f"{name}.{port}" for port in _table(component, "ports"))
        for name, component in _table(data, "components").items()
    }


def ports_meant(name: str, ports: PortsByComponent) -> tuple[str, ...]:
    """Return the ports that a run's end means: one, or all of a component, or none."""
    if name in ports:
        return ports[name]
    known = {port for of_component in ports.values() for port in of_component}
    return (name,) if name in known else ()


def reference_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return every name that cannot be used and every one that refers to nothing."""
    yield from _name_findings(data)
    yield from _fitting_findings(data)
    yield from _run_name_findings(data)
    ports = ports_by_component(data)
    for index, run in _runs(data):
        yield from _run_findings(("runs", index), run, ports)


def _name_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    for name in _table(data, "fittings"):
        yield from _name_finding(("fittings", name), name)
    for name, component in _table(data, "components").items():
        yield from _name_finding(("components", name), name)
        for port in _table(component, "ports"):
            yield from _name_finding(("components", name, "ports", port), port)


def _name_finding(path: KeyPath, name: str) -> Iterator[Finding]:
    usable = name.isprintable() and name == name.strip() and "." not in name
    if not usable or not 1 <= len(name) <= limits.NAME_MOST:
        yield Finding(path=path, found=f"the name {shown(name)}", wanted=_NAME_RULE)


def _fitting_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    known = list(_table(data, "fittings"))
    for name, component in _table(data, "components").items():
        for port, table in _table(component, "ports").items():
            path = ("components", name, "ports", port, "fitting")
            for where, fitting in _names(table, "fitting"):
                if fitting not in known:
                    yield Finding(
                        path=(*path, *where),
                        found=shown(fitting),
                        wanted=f"one of the fittings there are: {listed(known)}"
                        if known
                        else "no fitting here, or a [fittings.NAME] table: there is "
                        "none in this scene",
                        nearest=nearest_name(fitting, known),
                    )


def _run_name_findings(data: Mapping[str, Any]) -> Iterator[Finding]:
    """Return run names that another run has; case aside, as sheets are named by them."""
    seen: dict[str, int] = {}
    for index, run in _runs(data):
        name = run.get("name")
        if not isinstance(name, str):
            continue
        first = seen.setdefault(name.strip().casefold(), index)
        if first != index:
            yield Finding(
                path=("runs", index, "name"),
                found=f"{shown(name)}, which is the name of runs[{first + 1}] already",
                wanted="a name of its own for every run (capitals do not tell apart)",
            )


def _run_findings(
    path: KeyPath, run: Mapping[str, Any], ports: PortsByComponent
) -> Iterator[Finding]:
    ends: dict[str, set[str]] = {}
    unclear = False
    for key in ("from", "to"):
        ends[key] = set()
        for where, name in _names(run, key):
            finding = _port_finding((*path, key, *where), name, ports)
            unclear = unclear or finding is not None
            if finding is not None:
                yield finding
            ends[key].update(ports_meant(name, ports))
    same = len(ends["from"] | ends["to"]) == 1 and ends["from"] == ends["to"]
    if same and not unclear:
        yield Finding(
            path=(*path, "to"),
            found=f"{shown(run['to'])}, the port that the run starts from",
            wanted="another port than the one it starts from",
        )


def _port_finding(path: KeyPath, name: str, ports: PortsByComponent) -> Finding | None:
    if ports_meant(name, ports):
        return None
    known = [port for of_component in ports.values() for port in of_component]
    if name in ports:
        wanted = f"a component with ports: {shown(name)} has none"
        return Finding(path=path, found=shown(name), wanted=wanted)
    wanted = (
        f"one of the ports there are: {listed(known)}"
        if known
        else ("a port, but there is none: add a [components.NAME.ports.NAME] table")
    )
    nearest = nearest_name(name, [*known, *(each for each in ports if ports[each])])
    return Finding(path=path, found=shown(name), wanted=wanted, nearest=nearest)


def _runs(data: Mapping[str, Any]) -> Iterator[tuple[int, Mapping[str, Any]]]:
    runs = data.get("runs")
    for index, run in enumerate(runs if isinstance(runs, list) else ()):
        if isinstance(run, dict):
            yield index, run


def _table(data: object, key: str) -> dict[str, Any]:
    """Return the table under a key, or an empty one where there is none."""
    table = data.get(key) if isinstance(data, dict) else None
    return table if isinstance(table, dict) else {}


def _names(data: object, key: str) -> Iterator[tuple[KeyPath, str]]:
    """Return the names under a key that holds one or a list, with their places."""
    value = data.get(key) if isinstance(data, dict) else None
    if isinstance(value, str):
        yield (), value
    for index, each in enumerate(value if isinstance(value, list) else ()):
        if isinstance(each, str):
            yield (index,), each
