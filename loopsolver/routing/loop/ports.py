"""Which ports a run may use: a choice of them, the way of the coolant respected."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from loopsolver.clearance.obstacles import settled_ports
from loopsolver.scene.circuit import loop_parts
from loopsolver.scene.model import Flow, RunRequest, Scene
from loopsolver.scene.port_contests import open_ports
from loopsolver.scene.references import PortPair, RunSide


def port_pairs(scene: Scene, run: RunRequest) -> tuple[PortPair, ...]:
    """Return the pairs of ports that a run may join, in the order of the scene.

    Where an end is a choice, ports whose coolant goes the other way are left out, and
    those that another run is sure to hold. A single port is the builder's word.
    """
    held = settled_ports(other for other in scene.runs if other.name != run.name)
    ends: tuple[tuple[tuple[str, ...], RunSide], ...] = (
        (run.from_ports, "from"),
        (run.to_ports, "to"),
    )
    starts, goals = (
        [
            name
            for name in open_ports(scene, names, end)
            if len(names) == 1 or name not in held
        ]
        for names, end in ends
    )
    return tuple((start, goal) for start in starts for goal in goals if start != goal)


def with_ports(run: RunRequest, ports: PortPair) -> RunRequest:
    """Return a run settled on two ports."""
    return replace(run, from_ports=ports[:1], to_ports=ports[1:])


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
