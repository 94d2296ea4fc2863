"""Which ports a run may use: a choice of them, the way of the coolant respected."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from loopsolver.scene.circuit import loop_parts
from loopsolver.scene.model import Flow, RunRequest, Scene
from loopsolver.scene.port_contests import open_ports
from loopsolver.scene.references import PortPair, RunSide


def port_pairs(scene: Scene, run: RunRequest) -> tuple[PortPair, ...]:
    """Return the pairs of ports that a run may join, in the order of the scene.

    Where an end is a choice, ports whose coolant goes the other way are left out, and
    those that another run is sure to hold. A single port is the builder's word.
    """
    held = held_ports(other for other in scene.runs if other.name != run.name)
    starts = _left(scene, run.from_ports, "from", held=held)
    goals = _left(scene, run.to_ports, "to", held=held)
    return tuple((start, goal) for start in starts for goal in goals if start != goal)


def held_ports(runs: Iterable[RunRequest]) -> frozenset[str]:
    """Return the ports that runs are sure to use."""
    return frozenset(
        ports[0]
        for run in runs
        for ports in (run.from_ports, run.to_ports)
        if len(ports) == 1
    )


def _left(
    scene: Scene, names: tuple[str, ...], end: RunSide, *, held: Collection[str]
) -> tuple[str, ...]:
    if len(names) == 1:
        return names
    return tuple(name for name in open_ports(scene, names, end) if name not in held)


def with_ports(run: RunRequest, ports: PortPair) -> RunRequest:
    """Return a run settled on two ports."""
    return RunRequest(
        name=run.name,
        from_ports=(ports[0],),
        to_ports=(ports[1],),
        bend_radii=run.bend_radii,
        bend_angles=run.bend_angles,
        max_bends=run.max_bends,
    )


def ports_along(
    scene: Scene, part: str, *, against: Flow, held: Iterable[str] = ()
) -> tuple[str, ...]:
    """Return a part's ports whose coolant does not go `against`, less those held."""
    taken = set(held)
    return tuple(
        port.name
        for component in scene.components
        if component.name == part
        for port in component.ports
        if port.flow != against and port.name not in taken
    )


def as_routed(scene: Scene) -> Scene:
    """Return the scene in which its runs are routed.

    Where any order of the loop's parts will do, it has the fittings that the loop is
    sure to use.
    """
    if scene.loop is None or scene.loop.order != "any":
        return scene
    return with_sure_fittings(scene, loop_parts(scene))


def with_sure_fittings(scene: Scene, parts: Sequence[str]) -> Scene:
    """Return the scene with a fitting on every port that a loop is sure to use.

    Those are the only port that a part can be left by, or entered by.
    """
    sure = [
        ports[0]
        for part in parts
        for ports in (
            ports_along(scene, part, against="in"),
            ports_along(scene, part, against="out"),
        )
        if len(ports) == 1
    ]
    if not sure:
        return scene
    if len(sure) % 2:
        sure.append(sure[0])
    held = tuple(
        RunRequest(name=f"(sure {number})", from_ports=(one,), to_ports=(two,))
        for number, (one, two) in enumerate(zip(sure[::2], sure[1::2], strict=True))
    )
    return replace(scene, runs=(*scene.runs, *held))
