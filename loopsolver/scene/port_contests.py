"""Ports that more tubes want than there are: found without laying any tube."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from loopsolver.scene.circuit import with_loop
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.references import AGAINST, RunSide
from loopsolver.words import in_commas

EndOfRun = tuple[str, RunSide]
"""Name of a run, and which end of it."""

Wanted = Mapping[EndOfRun, Sequence[str]]
"""The ports that each tube end may take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contest:
    """Tube ends that have fewer ports than there are of them.

    Attributes
    ----------
    ports : tuple of str
        All that any of the ends may be at, in the order of the scene.
    ends : tuple of EndOfRun
    spare : tuple of str
        Other ports of the same components that no run may end at.
    """

    ports: tuple[str, ...]
    ends: tuple[EndOfRun, ...]
    spare: tuple[str, ...]

    @property
    def runs(self) -> tuple[str, ...]:
        """Names of the runs, each once."""
        return tuple(dict.fromkeys(name for name, _ in self.ends))

    @property
    def sentence(self) -> str:
        """What is wrong and what would help, without a full stop."""
        runs = in_commas(map(repr, self.runs))
        which = "the run" if len(self.runs) == 1 else "the runs"
        if len(self.ports) == 1:
            told = f"{which} {runs} end at {self.ports[0]}, and a port holds one tube"
        else:
            told = (
                f"{len(self.ends)} tube ends, of {which} {runs}, have these "
                f"{len(self.ports)} ports to choose from, and a port holds one tube"
            )
        if self.spare:
            return f"{told}; give one of them another port, such as {in_commas(self.spare)}"
        parts = in_commas(dict.fromkeys(name.split(".", 1)[0] for name in self.ports))
        return (
            f"{told}; no other port of {parts} is free, so join them at a piece with "
            "three ports, as a component of its own, or leave one out"
        )


def open_ports(scene: Scene, names: Sequence[str], end: RunSide) -> tuple[str, ...]:
    """Return which of its ports a run's end may take, the flow respected.

    A single port is the builder's word.
    """
    if len(names) == 1:
        return tuple(names)
    return tuple(name for name in names if scene.port(name).flow != AGAINST[end])


def port_contests(scene: Scene) -> tuple[Contest, ...]:
    """Return every set of ports for which a scene's runs and loop are too many.

    Notes
    -----
    By Hall's theorem every end has a port of its own unless some ends together have
    fewer ports than they are. A matching is grown end by end along alternating paths
    (P. Hall, J. London Math. Soc. 10, 1935; H. W. Kuhn, Naval Research Logistics 2,
    1955; both from memory). An end that cannot be matched, with all ends that the
    search for a port comes by, is such a set.
    """
    wanted = dict(_wanted(scene, with_loop(scene).runs))
    holders = _matching(wanted)
    matched = set(holders.values())
    groups: list[set[EndOfRun]] = []
    group_of: dict[str, int] = {}
    for end in wanted:
        if end in matched:
            continue
        reached, _ = _search(end, wanted, holders, group_of)
        ends = {end, *(holders[port] for port in reached)}
        near = {group_of[p] for one in ends for p in wanted[one] if p in group_of}
        own = min(near, default=len(groups))
        groups += [set()] if own == len(groups) else []
        groups[own].update(ends, *(groups[each] for each in near))
        joined = (port for port, group in group_of.items() if group in near - {own})
        group_of |= dict.fromkeys((*reached, *joined), own)
    every = {name for names in wanted.values() for name in names}
    return tuple(
        _contest(
            scene,
            {port for port in group_of if group_of[port] == group},
            [end for end in wanted if end in groups[group]],
            every,
        )
        for group in dict.fromkeys(group_of.values())
    )


def _wanted(
    scene: Scene, runs: Iterable[RunRequest]
) -> Iterator[tuple[EndOfRun, tuple[str, ...]]]:
    """Yield every tube end with the ports it may take."""
    for run in runs:
        start = open_ports(scene, run.from_ports, "from")
        goal = open_ports(scene, run.to_ports, "to")
        if start and goal:  # else the flow is against it, which is told by itself
            yield (run.name, "from"), start
            yield (run.name, "to"), goal


def _matching(wanted: Wanted) -> dict[str, EndOfRun]:
    """Return which end has which port, so that as many as can have one."""
    seats: dict[EndOfRun, str] = {}
    holders: dict[str, EndOfRun] = {}
    settled: set[str] = set()
    for end in wanted:
        reached, free = _search(end, wanted, holders, settled)
        if free is None:
            settled |= reached.keys()  # no other end finds more behind these
        while free is not None:  # each on the way gives its port to the one before
            one = reached[free]
            before = seats.get(one)
            holders[free], seats[one] = one, free
            free = before
    return holders


def _search(
    end: EndOfRun,
    wanted: Wanted,
    holders: Mapping[str, EndOfRun],
    without: Container[str],
) -> tuple[dict[str, EndOfRun], str | None]:
    """Return the ports that an end comes by, and the first free one, if any.

    By the ports it may take, those that their holders may take, and so on; each with
    the end that it was reached from.
    """
    reached: dict[str, EndOfRun] = {}
    queue = [end]
    for one in queue:
        for port in wanted[one]:
            if port in reached or port in without:
                continue
            reached[port] = one
            if port not in holders:
                return reached, port
            queue.append(holders[port])
    return reached, None


def _contest(
    scene: Scene, ports: Iterable[str], ends: Sequence[EndOfRun], every: set[str]
) -> Contest:
    known = [port for part in scene.components for port in part.ports]
    names = tuple(port.name for port in known if port.name in ports)
    parts = {name.split(".", 1)[0] for name in names}
    kinds = {AGAINST[end] for _, end in ends}
    spare = tuple(
        port.name
        for port in known
        if port.component in parts and port.name not in every and kinds - {port.flow}
    )
    return Contest(ports=names, ends=tuple(ends), spare=spare)
