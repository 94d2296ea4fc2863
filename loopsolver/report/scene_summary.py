"""What a scene holds, row by row, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from loopsolver.geometry.mesh_shape import sought_further
from loopsolver.geometry.solids import Mesh
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.report.angles import any_angle, degrees, settable
from loopsolver.report.bent_tube import least_radius_words, wall_words
from loopsolver.scene.circuit import Branch, Circuit, circuit, loop_parts
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import OPEN_ROOM
from loopsolver.tube.springback import Springback
from loopsolver.words import counted, in_commas


def scene_summary(scene: Scene) -> Iterator[tuple[str, str]]:
    """Yield what the scene holds, under a label each."""
    lengths, tube, rules = lengths_for(scene.units), scene.tube, scene.rules
    bodies = sum(len(part.bodies) for part in scene.components)
    ports = sum(len(part.ports) for part in scene.components)
    yield "case", _case_words(scene, lengths)
    yield "axes", axes_words(scene)
    yield from _tube_rows(scene, lengths)
    grip = "" if tube.grip is None else f", grip {lengths.text(tube.grip)}"
    yield (
        "keep",
        f"clearance {lengths.text(rules.clearance)}, straight between bends "
        f"{lengths.text(rules.straight_between_bends)}{grip}",
    )
    yield (
        "components",
        f"{len(scene.components)} with {counted(bodies, 'body', 'bodies')} and "
        f"{counted(ports, 'port')}; {counted(len(scene.keep_outs), 'keep-out')}",
    )
    yield from _mesh_rows(scene, lengths)
    for place, run in enumerate(scene.runs):
        yield (
            "" if place else "runs",
            f"{run.name}: {' or '.join(run.from_ports)} to {' or '.join(run.to_ports)}",
        )
    if not scene.runs:
        yield "runs", "none" if scene.loop is None else "those of the loop"
    yield from _circuit_rows(scene)


def _mesh_rows(scene: Scene, lengths: Lengths) -> Iterator[tuple[str, str]]:
    """Yield how many meshes there are, and how much further off tubes are sought."""
    bodies = (body.solid for part in scene.components for body in part.bodies)
    shapes = [solid.shape for solid in bodies if isinstance(solid, Mesh)]
    if shapes:
        reach = scene.tube.radius + scene.rules.clearance
        further = max(sought_further(shape, reach) for shape in shapes)
        step = lengths.millimetres / 10.0 ** (lengths.decimals + 1)
        told = lengths.fine(math.ceil(further / step) * step)
        triangles = sum(len(shape.faces) for shape in shapes)
        yield (
            "meshes",
            f"{len(shapes)} with {counted(triangles, 'triangle')}; tubes are sought up to "
            f"{told} further off than the clearance, and measured to every triangle",
        )


def _tube_rows(scene: Scene, lengths: Lengths) -> Iterator[tuple[str, str]]:
    """Yield the tube, how it is bent, and what bending does to it."""
    tube = scene.tube
    radii = " or ".join(lengths.text(radius) for radius in tube.bend_radii)
    yield (
        "tube",
        f"{tube.material}, {lengths.text(tube.outer_diameter)} outside, "
        f"{lengths.text(tube.inner_diameter)} inside",
    )
    yield "bends", f"radius {radii}; {_angles(scene)}; at most {scene.rules.max_bends}"
    wall = wall_words(tube, tube.bend_radii, lengths)
    yield (
        "wall",
        f"about {wall} left outside a bend; {least_radius_words(tube, lengths)}",
    )
    if tube.springback is not None:
        yield "test bends", _springback(tube.springback)
    yield (
        "stock",
        f"{lengths.text(tube.stock_length)}, trim allowance "
        f"{lengths.text(tube.trim_allowance)} at each end",
    )


def _springback(back: Springback) -> str:
    """Return what test bends say of a square bend."""
    held, spread_deg = settable(back.held_deg(90.0)), back.spread_deg(90.0)
    return (
        f"{back.tests}: hold 90 degrees at {held}, two of three within "
        f"{degrees(spread_deg)}"
    )


def _case_words(scene: Scene, lengths: Lengths) -> str:
    if scene.case_inner is None:
        far = lengths.text(OPEN_ROOM)
        return f"no walls; tubes are looked for as far as {far} round all parts"
    inner = " x ".join(map(lengths.number, scene.case_inner))
    return f"{inner} {lengths.unit} inside (x, y, z)"


def _circuit_rows(scene: Scene) -> Iterator[tuple[str, str]]:
    """Yield what the runs make of the components, a row each."""
    if scene.loop is not None:
        order = "any order of" if scene.loop.order == "any" else "in this order:"
        yield "loop", f"{order} {', '.join(loop_parts(scene))}"
    if scene.runs or scene.loop is not None:
        for place, words in enumerate(circuit_sentences(scene, circuit(scene))):
            yield "" if place else "circuit", words


def _angles(scene: Scene) -> str:
    allowed_deg, step_deg = scene.rules.bend_angles_deg, scene.rules.turn_step_deg
    words = any_angle(scene.rules.bend_range)
    if allowed_deg != "any":
        words = " or ".join(degrees(angle_deg) for angle_deg in allowed_deg)
    if step_deg == "any":
        return words
    return f"{words}, turns in multiples of {degrees(step_deg)}"


def axes_words(scene: Scene) -> str:
    """Return where x, y and z point: ``x left, y near, z up, as seen from ...``."""
    front = "as seen from before the case's front"
    if scene.axes is None:
        front = f"{front}: taken so, as none are stated"
    return f"{', '.join(scene.axis_names)}, {front}"


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
    if not found.circuits and not found.dead_ends:
        return "none: no run is sure to join two components"
    if not found.circuits:  # tubes on none leave two ends open at least
        return f"not closed: {in_commas(found.hanging)} have one tube only"
    (parts,) = found.circuits
    if found.branches:
        return f"coolant goes round through {in_commas(parts)}, side by side in part"
    if scene.loop is not None and scene.loop.order == "any":
        return f"one closed circuit of {in_commas(parts)}, in the order that is best"
    return f"one closed circuit: {in_commas(parts)} and back to {parts[0]}"


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
