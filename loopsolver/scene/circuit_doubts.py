"""Doubts about the loop: coolant that cannot come round, parts that it does not reach."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from loopsolver.scene.circuit import Circuit, circuit
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene
from loopsolver.words import in_commas

_MEANT_FOR_A_LOOP: Final = 3
"""With so many runs a scene means a loop; one or two tubes are tried by themselves."""


def circuit_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return doubts about the circuit that a scene's runs make."""
    found = circuit(scene)
    for name in found.to_itself:
        yield _of_run(
            name,
            "goes from a component to itself; name another one at one of its ends",
        )
    yield from _against_flow(scene, found)
    for name in found.turned:
        yield _of_run(
            name,
            "is written against the way that the coolant goes round through the other "
            "runs; exchange its from and to",
        )
    yield from _apart(scene, found)
    yield from _not_reached(scene, found)


def _against_flow(scene: Scene, found: Circuit) -> Iterator[Doubt]:
    for run in scene.runs:
        if run.name not in found.against_flow:
            continue
        ends = [
            f'{does} {name}, which has flow = "{against}"'
            for names, against, does in (
                (run.from_ports, "in", "starts from"),
                (run.to_ports, "out", "goes to"),
            )
            for name in names
            if scene.port(name).flow == against
        ]
        yield _of_run(
            run.name,
            f"{' and '.join(ends)}; exchange its from and to, or correct the flow",
        )


def _apart(scene: Scene, found: Circuit) -> Iterator[Doubt]:
    """Return a doubt where a single circuit is surely meant and there is none."""
    if len(found.circuits) > 1:
        rounds = "; ".join(in_commas(parts) for parts in found.circuits)
        message = (
            f"there are {len(found.circuits)}, with coolant of their own each: {rounds}; "
            "if one loop is meant, join them"
        )
        yield Doubt(kind="circuit", where="circuits", message=message)
    if found.circuits or found.open or len(scene.runs) < _MEANT_FOR_A_LOOP:
        return
    message = (
        f"the {len(scene.runs)} runs make no closed circuit, so no coolant can go round; "
        f"only one tube ends at {in_commas(found.hanging)}: add the run that is missing"
    )
    if found.hanging:
        yield Doubt(kind="circuit", where="circuit", message=message)


def _not_reached(scene: Scene, found: Circuit) -> Iterator[Doubt]:
    """Return every part with two ports or more that the coolant does not go through."""
    if not found.circuits:
        return
    for part in scene.components:
        if len(part.ports) < 2:
            continue  # a valve or a plug: it stands at an end
        if part.name in found.hanging:
            ends = [
                run.name
                for run in scene.runs
                if any(
                    name.split(".")[0] == part.name
                    for name in (*run.from_ports, *run.to_ports)
                )
                and run.name not in found.to_itself
            ]
            if not set(ends).isdisjoint(found.open):
                continue  # by the port that is chosen it may be reached twice
            message = (
                f"only the run {in_commas(map(repr, ends))} ends here, so no coolant goes "
                "through; add a run from another of its ports"
            )
            yield Doubt(kind="circuit", where=part.name, message=message)
        elif part.name in found.left_out:
            message = (
                f"none of its {len(part.ports)} ports is used, so it stays out of the "
                "loop; add runs to and from it, or leave out its ports"
            )
            yield Doubt(kind="circuit", where=part.name, message=message)


def _of_run(name: str, message: str) -> Doubt:
    return Doubt(kind="circuit", where=f"run {name!r}", message=message)
