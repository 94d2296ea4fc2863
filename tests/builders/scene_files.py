"""Scenes made in Python, written out as scene files."""

from __future__ import annotations

from collections.abc import Iterator

from loopsolver.geometry.solids import Box
from loopsolver.scene.model import Body, Component, Fitting, Port, RunRequest, Scene
from tests.builders import texts


def scene_text(scene: Scene) -> str:
    """Return a scene as a scene file: boxes along the case's axes, places in the case."""
    tube, rules = scene.tube, scene.rules
    ports = [port for part in scene.components for port in part.ports]
    fittings = dict.fromkeys(one for port in ports for one in port.fittings)
    head = texts.head(
        first={"title": scene.title, "units": scene.units},
        inner=scene.case_inner,
        tube={
            "material": tube.material,
            "outer_diameter": tube.outer_diameter,
            "inner_diameter": tube.inner_diameter,
            "bend_radius": tube.bend_radii[0],
            "stock_length": tube.stock_length,
            "trim_allowance": tube.trim_allowance,
        },
        rules={
            "clearance": rules.clearance,
            "straight_between_bends": rules.straight_between_bends,
            "bend_angles": rules.bend_angles_deg,
            "max_bends": rules.max_bends,
            "candidates": rules.candidates,
        },
        fittings={texts.toml(one.name): _fitting(one) for one in fittings},
    )
    return "".join([head, *_tables(scene)])


def _tables(scene: Scene) -> Iterator[str]:
    for part in scene.components:
        yield _part(part)
    for body in scene.keep_outs:
        yield texts.keep_out(body.name, _box(body))
    for run in scene.runs:
        yield _run(run)


def _fitting(fitting: Fitting) -> texts.Keys:
    keys = ("height", "depth", "diameter", "straight_beyond")
    return {key: getattr(fitting, key) for key in keys}


def _part(part: Component) -> str:
    bodies = [_box(body) for body in part.bodies]
    ports = [_port(port) for port in part.ports]
    return texts.part(texts.toml(part.name), [0, 0, 0], *bodies, *ports)


def _box(body: Body) -> texts.Inner:
    assert isinstance(body.solid, Box)
    return texts.box(body.solid.size, body.solid.frame.origin)


def _port(port: Port) -> texts.Inner:
    return texts.port(
        texts.toml(port.name.split(".")[1]),
        port.position,
        port.direction,
        fitting=[one.name for one in port.fittings],
        flow=port.flow,
    )


def _run(run: RunRequest) -> str:
    return texts.run(list(run.from_ports), list(run.to_ports), name=run.name)
