"""From the tables of a scene file to a Scene: the case frame, millimetres, defaults.

Defaults that depend on other values are here; the plain ones stand in `schema`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from loopsolver.geometry.frames import Frame, axis_frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.scene.axes import direction_of
from loopsolver.scene.circuit import runs_in_order
from loopsolver.scene.model import (
    Body,
    Component,
    Fitting,
    LoopRequest,
    Port,
    Readings,
    Rules,
    RunRequest,
    Scene,
    built_in_fitting,
)
from loopsolver.scene.quantities import Measured
from loopsolver.scene.references import PortsByComponent, RunSide, ports_meant
from loopsolver.scene.schema import (
    CaseTable,
    ComponentTable,
    FittingTable,
    PortTable,
    RulesTable,
    RunTable,
    SceneFile,
    TubeTable,
)
from loopsolver.scene.shapes import ShapeTable
from loopsolver.scene.water import NOTHING_KNOWN, Coolant, Filling, Water
from loopsolver.scene.water_tables import CoolantTable, WaterTable
from loopsolver.tube.stock import Tube

RADIUS_PER_DIAMETER: Final = 2.0
"""Default bend radius in outer diameters: common practice for plastic tube, no source."""


def build_scene(
    data: SceneFile,
    *,
    file_name: str,
    sha256: str,
    default_title: str,
    ports: PortsByComponent,
    readings: tuple[Readings, ...],
) -> Scene:
    """Return the scene that a faultless file describes."""
    tube = _tube(data.tube)
    fittings = {name: _fitting(name, table) for name, table in data.fittings.items()}
    scene = Scene(
        title=data.title or default_title,
        units=data.units,
        file_name=file_name,
        sha256=sha256,
        case_inner=_means(data.case.inner),
        up=_up(data.case),
        axes=data.case.axes,
        tube=tube,
        rules=_rules(data.rules),
        components=tuple(
            _component(name, table, fittings, built_in_fitting(tube))
            for name, table in data.components.items()
        ),
        keep_outs=tuple(
            Body(name=table.name, solid=_solid(table, Frame()))
            for table in data.keep_outs
        ),
        runs=tuple(_run(table, ports) for table in data.runs),
        readings=readings,
        loop=None if data.loop is None else LoopRequest(order=data.loop.order),
        coolant=None if data.coolant is None else _coolant(data.coolant),
        filling=None if data.filling is None else Filling(**dict(data.filling)),
    )
    if scene.loop is None or scene.loop.order == "any":
        return scene
    return replace(scene, runs=runs_in_order(scene, scene.loop.order))


def _up(table: CaseTable) -> Point:
    if table.up is not None:
        return table.up
    return AXES["+z"] if table.axes is None else direction_of("up", table.axes)


def _rules(table: RulesTable) -> Rules:
    """Return the rules; what a file gives in degrees says so in its name."""
    given = dict(table)
    return Rules(
        bend_angles_deg=given.pop("bend_angles"),
        turn_step_deg=given.pop("turn_step"),
        **given,
    )


def _tube(table: TubeTable) -> Tube:
    outer = table.outer_diameter.mean
    return Tube(
        material=table.material,
        outer_diameter=outer,
        inner_diameter=table.inner_diameter.mean,
        bend_radii=table.bend_radius or (RADIUS_PER_DIAMETER * outer,),
        stock_length=table.stock_length,
        trim_allowance=table.trim,
        grip=table.grip,
    )


def _fitting(name: str, table: FittingTable) -> Fitting:
    return Fitting(
        name=name,
        height=table.height.mean,
        depth=table.depth.mean,
        diameter=table.diameter.mean,
        straight_beyond=table.straight_beyond.mean,
        turn_deg=table.turn,
        reach=0.0 if table.reach is None else table.reach.mean,
        loss=table.loss,
    )


def _coolant(table: CoolantTable) -> Coolant:
    return Coolant(
        liquid=table.liquid,
        share=table.share or 0.0,
        temperature_c=table.temperature,
        flow_l_min=table.flow,
    )


def _water(table: WaterTable | None, frame: Frame) -> Water:
    """Return a part as the coolant sees it; `frame` is the part's."""
    if table is None:
        return NOTHING_KNOWN
    return Water(
        pump=table.pump,
        loss=table.loss,
        stated_volume_ml=table.volume,
        weighed_g=table.weighed,
        heat_w=table.heat,
        limit_kpa=table.limit,
        spaces=tuple(_solid(space, frame) for space in table.spaces),
    )


def _component(
    name: str, table: ComponentTable, fittings: dict[str, Fitting], built_in: Fitting
) -> Component:
    frame = _frame(table.position, table.rotation)
    count = len(table.bodies)
    numbered = [f"{name} body {number}" for number in range(1, count + 1)]
    names = [name] if count == 1 else numbered
    return Component(
        name=name,
        bodies=tuple(
            Body(name=body_name, solid=_solid(body, frame))
            for body_name, body in zip(names, table.bodies, strict=True)
        ),
        ports=tuple(
            _port(f"{name}.{port_name}", port, frame, fittings, built_in)
            for port_name, port in table.ports.items()
        ),
        water=_water(table.water, frame),
    )


def _solid(table: ShapeTable, outside: Frame) -> Box | Cylinder:
    """Return a body or keep-out in the case frame; `outside` is what it is given in."""
    own = _frame(table.centre or (), table.rotation)
    if table.cylinder is None:
        return Box(frame=_square(own.inside(outside)), size=_means(table.box or ()))
    along = axis_frame((0.0, 0.0, 0.0), table.axis or AXES["+z"])
    return Cylinder(
        frame=_square(along.inside(own).inside(outside)),
        diameter=table.cylinder.diameter.mean,
        height=table.cylinder.height.mean,
    )


def _port(
    name: str,
    table: PortTable,
    frame: Frame,
    fittings: dict[str, Fitting],
    built_in: Fitting,
) -> Port:
    if table.fitting is not None:
        own = tuple(fittings[each] for each in table.fitting)
    else:
        own = tuple(fittings.values()) if len(fittings) == 1 else (built_in,)
    return Port(
        name=name,
        position=_plain(frame.place(_means(table.position))),
        direction=_plain(frame.turn(table.direction)),
        fittings=own,
        flow=table.flow,
    )


def _run(table: RunTable, ports: PortsByComponent) -> RunRequest:
    def every(names: tuple[str, ...], end: RunSide) -> tuple[str, ...]:
        meant = [port for name in names for port in ports_meant(name, ports, end)]
        return tuple(dict.fromkeys(meant))

    return RunRequest(
        name=table.name,
        from_ports=every(table.start, "from"),
        to_ports=every(table.goal, "to"),
        bend_radii=table.bend_radius,
        bend_angles_deg=table.bend_angles,
        max_bends=table.max_bends,
    )


def _frame(position: Sequence[Measured], rotation_deg: Sequence[float] | None) -> Frame:
    matrix = rotation_matrix(rotation_deg or (0.0, 0.0, 0.0))
    return _square(Frame.from_rotation(_means(position), matrix))


def _square(frame: Frame) -> Frame:
    """Return the frame without negative zeros, so that equal scenes print equally."""
    x, y, z = (_plain(axis) for axis in frame.axes)
    return Frame(origin=_plain(frame.origin), axes=(x, y, z))


def _means(values: Sequence[Measured]) -> Point:
    return point(value.mean for value in values)


def _plain(values: Point) -> Point:
    return point(value + 0.0 for value in values)
