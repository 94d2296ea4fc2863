"""What the runs of a scene make of its components, in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loopsolver.scene.circuit import Branch, Circuit
from loopsolver.scene.model import Scene
from loopsolver.words import in_commas


def circuit_sentences(scene: Scene, found: Circuit) -> tuple[str, ...]:
    """Return a sentence for each thing that was found of a scene's circuit.

    The first says whether it is closed.
    """
    return (_closure(scene, found), *_further(found))


def _quoted(runs: Iterable[str]) -> str:
    return in_commas(map(repr, runs))


def _closure(scene: Scene, found: Circuit) -> str:
    if len(found.circuits) > 1:
        rounds = "; ".join(in_commas(parts) for parts in found.circuits)
        return f"{len(found.circuits)} circuits apart from each other: {rounds}"
    if not found.circuits:
        return _not_closed(found)
    (parts,) = found.circuits
    if found.branches:
        return f"coolant goes round through {in_commas(parts)}, side by side in part"
    if scene.loop is not None and scene.loop.order == "any":
        return f"one closed circuit of {in_commas(parts)}, in the order that is best"
    return f"one closed circuit: {in_commas(parts)} and back to {parts[0]}"


def _not_closed(found: Circuit) -> str:
    """Return that no circuit is closed; tubes on none leave two ends open at least."""
    if not found.dead_ends:
        return "none: no run is sure to join two components"
    return f"not closed: {in_commas(found.hanging)} have one tube only"


def _further(found: Circuit) -> Iterator[str]:
    if found.branches:
        yield f"side by side: {'; '.join(map(_branch, found.branches))}"
    if found.circuits and found.dead_ends:
        yield f"no coolant comes round through {_quoted(found.dead_ends)}: dead ends"
    if found.open:
        yield f"more may follow from the ports chosen for {_quoted(found.open)}"
    if found.left_out:
        yield f"no run uses a port of {in_commas(found.left_out)}"


def _branch(branch: Branch) -> str:
    return f"{' - '.join(branch.parts)} by {_quoted(branch.runs)}"
