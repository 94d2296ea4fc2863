"""Which ports a run may use: a choice of them, the way of the coolant respected."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from loopsolver.scene.model import RunRequest, Scene
from loopsolver.scene.port_contests import open_ports
from loopsolver.scene.references import End

PortPair = tuple[str, str]
"""Full names of the port a tube starts from and the one it goes to."""


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
    scene: Scene, names: tuple[str, ...], end: End, *, held: Collection[str]
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
