"""What the runs of a scene make of its components, in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loopsolver.scene.circuit import Branch, Circuit
from loopsolver.scene.findings import listed
from loopsolver.scene.model import Scene


def circuit_sentences(scene: Scene, found: Circuit) -> tuple[str, ...]:
    """Return a sentence for each thing that was found of a scene's circuit.

    The first says whether it is closed.
    """
    return (_closure(scene, found), *_further(found))


def quoted(runs: Iterable[str]) -> str:
    """Return names of runs as a list for reading."""
    return listed(repr(run) for run in runs)


def _closure(scene: Scene, found: Circuit) -> str:
    if len(found.circuits) > 1:
        rounds = "; ".join(listed(parts) for parts in found.circuits)
        return f"{len(found.circuits)} circuits apart from each other: {rounds}"
    if not found.circuits:
        return _not_closed(found)
    (parts,) = found.circuits
    if found.branches:
        return f"coolant goes round through {listed(parts)}, side by side in part"
    if scene.loop is not None and scene.loop.order == "any":
        return f"one closed circuit of {listed(parts)}, in the order that is best"
    return f"one closed circuit: {listed(parts)} and back to {parts[0]}"


def _not_closed(found: Circuit) -> str:
    if not found.dead_ends:
        return "none: no run is sure to join two components"
    return f"not closed: {listed(found.hanging)} {_have(found.hanging)} one tube only"


def _have(names: tuple[str, ...]) -> str:
    return "has" if len(names) == 1 else "have"


def _further(found: Circuit) -> Iterator[str]:
    if found.branches:
        yield f"side by side: {'; '.join(map(_branch, found.branches))}"
    if found.circuits and found.dead_ends:
        yield f"no coolant comes round through {quoted(found.dead_ends)}: dead ends"
    if found.open:
        yield f"more may follow from the ports chosen for {quoted(found.open)}"
    if found.left_out:
        yield f"no run uses a port of {listed(found.left_out)}"


def _branch(branch: Branch) -> str:
    return f"{' - '.join(branch.parts)} by {quoted(branch.runs)}"
