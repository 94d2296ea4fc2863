"""Scenes of boxes made in Python, written out as scene files."""

import json
from collections.abc import Iterator

from loopsolver.geometry.solids import Box
from loopsolver.scene.model import Body, Fitting, Port, RunRequest, Scene


def scene_text(scene: Scene) -> str:
    """A scene as a scene file: boxes along the case's axes, coordinates of the case."""
    return "\n".join(_lines(scene)) + "\n"


def _lines(scene: Scene) -> Iterator[str]:
    tube, rules = scene.tube, scene.rules
    yield f"format = 1\ntitle = {_word(scene.title)}\nunits = {_word(scene.units)}"
    yield f"[case]\ninner = {list(scene.case_inner)}"
    yield f"[tube]\nmaterial = {_word(tube.material)}"
    yield f"outer_diameter = {tube.outer_diameter}"
    yield f"inner_diameter = {tube.inner_diameter}"
    yield f"bend_radius = {tube.bend_radii[0]}"
    yield f"stock_length = {tube.stock_length}"
    yield f"trim_allowance = {tube.trim_allowance}"
    yield f"[rules]\nclearance = {rules.clearance}"
    yield f"straight_between_bends = {rules.straight_between_bends}"
    angles = rules.bend_angles
    yield f"bend_angles = {list(angles) if isinstance(angles, tuple) else _word(angles)}"
    yield f"max_bends = {rules.max_bends}\ncandidates = {rules.candidates}"
    ports = [port for part in scene.components for port in part.ports]
    for fitting in dict.fromkeys(one for port in ports for one in port.fittings):
        yield from _fitting(fitting)
    for part in scene.components:
        yield f"[components.{_word(part.name)}]\nposition = [0, 0, 0]"
        for body in part.bodies:
            yield f"[[components.{_word(part.name)}.bodies]]"
            yield from _box(body)
        for port in part.ports:
            yield from _port(port)
    for body in scene.keep_outs:
        yield f"[[keep_outs]]\nname = {_word(body.name)}"
        yield from _box(body)
    for run in scene.runs:
        yield from _run(run)


def _word(word: str) -> str:
    """A string as TOML writes it: as JSON does."""
    return json.dumps(word)


def _fitting(fitting: Fitting) -> Iterator[str]:
    yield f"[fittings.{_word(fitting.name)}]\nheight = {fitting.height}"
    yield f"depth = {fitting.depth}\ndiameter = {fitting.diameter}"
    yield f"straight_beyond = {fitting.straight_beyond}"


def _box(body: Body) -> Iterator[str]:
    assert isinstance(body.solid, Box)
    yield f"box = {list(body.solid.size)}\ncentre = {list(body.solid.frame.origin)}"


def _port(port: Port) -> Iterator[str]:
    part, name = port.name.split(".")
    yield f"[components.{_word(part)}.ports.{_word(name)}]"
    yield f"position = {list(port.position)}\ndirection = {list(port.direction)}"
    yield f"fitting = {json.dumps([one.name for one in port.fittings])}"
    yield f"flow = {_word(port.flow)}"


def _run(run: RunRequest) -> Iterator[str]:
    yield f"[[runs]]\nname = {_word(run.name)}"
    yield f"from = {json.dumps(list(run.from_ports))}"
    yield f"to = {json.dumps(list(run.to_ports))}"
