"""From the tables of a scene file to a Scene: the case frame, millimetres, defaults.

Defaults that depend on other values are here; the plain ones stand in `schema`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.scene.axes import direction_of
from loopsolver.scene.circuit import runs_in_order
from loopsolver.scene.fitting_tables import AcceptsTable, FittingTable
from loopsolver.scene.measured_tables import SpreadTable
from loopsolver.scene.model import (
    Acceptance,
    Assembly,
    Body,
    Component,
    Fitting,
    LoopRequest,
    Port,
    Readings,
    Rules,
    RunRequest,
    Scene,
    Spread,
    built_in_fitting,
)
from loopsolver.scene.references import PortsByComponent, RunSide, ports_meant
from loopsolver.scene.schema import (
    CaseTable,
    ComponentTable,
    PortTable,
    RunTable,
    SceneFile,
)
from loopsolver.scene.settling import Standing
from loopsolver.scene.standing import (
    means,
    own_point,
    plain,
    plain_frame,
    ports_of_shelf,
    solid_in,
)
from loopsolver.scene.tube_tables import BendTestTable, RulesTable, TubeTable
from loopsolver.scene.water import NOTHING_KNOWN, Coolant, Filling, OpenPlace, Water
from loopsolver.scene.water_tables import CoolantTable, WaterTable
from loopsolver.shelf.parts import part_of
from loopsolver.tube.springback import BendTest, springback, take_up
from loopsolver.tube.stock import Tube

RADIUS_PER_DIAMETER: Final = 2.0
"""Default bend radius in outer diameters: common practice for plastic tube, no source."""


def build_scene(
    data: SceneFile,
    *,
    file_name: str,
    sha256: str,
    default_title: str,
    places: Standing,
    ports: PortsByComponent,
    readings: tuple[Readings, ...],
) -> Scene:
    """Return the scene that a faultless file describes."""
    tube = _as_tested(_tube(data.tube), data)
    scene = Scene(
        title=data.title or default_title,
        units=data.units,
        file_name=file_name,
        sha256=sha256,
        case_inner=None if data.case.inner is None else means(data.case.inner),
        up=_up(data.case),
        axes=data.case.axes,
        tube=tube,
        rules=_rules(data.rules),
        components=tuple(_components(data, places, tube)),
        keep_outs=tuple(_keep_outs(data, places)),
        runs=tuple(_run(table, ports) for table in data.runs),
        readings=readings,
        measures=places.measures,
        spread=_spread(data.spread),
        loop=None if data.loop is None else LoopRequest(order=data.loop.order),
        coolant=None if data.coolant is None else _coolant(data.coolant),
        filling=_filling(data, places),
        test_bends=_bend_tests(data),
        assembly=None if data.assembly is None else Assembly(**dict(data.assembly)),
    )
    if scene.loop is None or scene.loop.order == "any":
        return scene
    return replace(scene, runs=runs_in_order(scene, scene.loop.order))


def _components(data: SceneFile, places: Standing, tube: Tube) -> Iterator[Component]:
    fittings = {name: _fitting(name, table) for name, table in data.fittings.items()}
    usual = built_in_fitting(tube.outer_diameter)
    for name, table in data.components.items():
        yield _component(name, table, places, fittings, usual)


def _keep_outs(data: SceneFile, places: Standing) -> Iterator[Body]:
    """Yield the keep-outs that are written, then the height zones of parts."""
    for each in data.keep_outs:
        yield Body(name=each.name, solid=solid_in(Frame(), each))
    for name, table in data.components.items():
        yield from _zones(name, table, places.frames[name])


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
        temperatures_c=table.temperatures,
        made=table.made or "extruded",
    )


def _as_tested(tube: Tube, data: SceneFile) -> Tube:
    """Return a tube with what its test bends say of it; the first former's are meant."""
    tests, spread = _bend_tests(data), data.spread
    taken = take_up(
        tests,
        radius=tube.bend_radii[0],
        reading=spread.reading,
        spread_deg=spread.angle,
    )
    return replace(
        tube,
        springback=springback(tests, spread_deg=spread.angle),
        take_up=taken.share,
    )


def _bend_tests(data: SceneFile) -> tuple[BendTest, ...]:
    return tuple(map(_bend_test, data.test_bends))


def _bend_test(table: BendTestTable) -> BendTest:
    given = BendTest(bent_deg=table.bent, got_deg=table.got)
    if table.blank is None or table.legs is None:
        return given
    first, second = (leg.mean for leg in table.legs)
    return replace(given, blank=table.blank.mean, legs=(first, second))


def _spread(table: SpreadTable) -> Spread:
    """Return the spreads; a file gives angles in degrees."""
    return Spread(
        reading=table.reading,
        square=math.radians(table.square),
        straight=table.straight,
        angle=math.radians(table.angle),
        turn=math.radians(table.turn),
        bias=math.radians(table.bias),
        bore=table.bore,
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
        bore=None if table.bore is None else table.bore.mean,
        accepts=_acceptance(table.accepts),
    )


def _acceptance(table: AcceptsTable | None) -> Acceptance:
    if table is None:
        return Acceptance()
    return Acceptance(sideways=table.sideways, tilt=math.radians(table.tilt))


def _coolant(table: CoolantTable) -> Coolant:
    return Coolant(
        liquid=table.liquid,
        share=table.share or 0.0,
        temperature_c=table.temperature,
        flow_l_min=table.flow,
    )


def _filling(data: SceneFile, places: Standing) -> Filling | None:
    """Return how the loop is filled, its openings where they stand."""

    def opened(name: str | None) -> OpenPlace | None:
        if name is None:
            return None
        part, _, own = name.partition(".")
        table, frame = data.components[part], places.frames[part]
        if own in table.ports:
            direction = plain(frame.turn(table.ports[own].direction))
            return OpenPlace(
                name=name, position=places.ports[name], direction=direction
            )
        at = plain(point(np.add(frame.origin, own_point(table, own))))
        return OpenPlace(name=name, position=at, direction=None)

    table = data.filling
    if table is None:
        return None
    return Filling(
        vent=opened(table.vent), drain=opened(table.drain), tilts=table.tilts
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
        spaces=tuple(solid_in(frame, space) for space in table.spaces),
    )


def _component(
    name: str,
    table: ComponentTable,
    places: Standing,
    fittings: dict[str, Fitting],
    built_in: Fitting,
) -> Component:
    frame = places.frames[name]
    count = len(table.bodies)
    numbered = [f"{name} body {number}" for number in range(1, count + 1)]
    names = [name] if count == 1 else numbered
    return Component(
        name=name,
        bodies=tuple(
            Body(name=body_name, solid=solid_in(frame, body))
            for body_name, body in zip(names, table.bodies, strict=True)
        ),
        ports=tuple(
            _port(f"{name}.{port_name}", port, places, fittings, built_in)
            for port_name, port in table.ports.items()
        ),
        unmeasured=tuple(
            dict.fromkeys(
                dimension
                for port_name, shelf in ports_of_shelf(table)
                for dimension in shelf.unmeasured[port_name]
            )
        ),
        water=_water(table.water, frame),
    )


def _zones(name: str, table: ComponentTable, frame: Frame) -> Iterator[Body]:
    """Yield the space that a part of the shelf keeps free, in the case frame."""
    if table.part is None:
        return
    for zone, box in part_of(table.part.order).layout.zones.items():
        solid = Box(frame=plain_frame(box.frame.inside(frame)), size=box.size)
        yield Body(name=f"{name} {zone}", solid=solid)


def _port(
    name: str,
    table: PortTable,
    places: Standing,
    fittings: dict[str, Fitting],
    built_in: Fitting,
) -> Port:
    if table.fitting is not None:
        own = tuple(fittings[each] for each in table.fitting)
    else:
        own = tuple(fittings.values()) if len(fittings) == 1 else (built_in,)
    return Port(
        name=name,
        position=places.ports[name],
        direction=plain(places.frames[name.split(".", 1)[0]].turn(table.direction)),
        fittings=own,
        flow=table.flow,
    )


def _run(table: RunTable, ports: PortsByComponent) -> RunRequest:
    def every(names: tuple[str, ...], end: RunSide) -> tuple[str, ...]:
        meant = [port for name in names for port in ports_meant(name, ports, end)]
        return tuple(dict.fromkeys(meant))

    return RunRequest(
        name=table.called,
        from_ports=every(table.start, "from"),
        to_ports=every(table.goal, "to"),
        bend_radii=table.bend_radius,
        bend_angles_deg=table.bend_angles,
        max_bends=table.max_bends,
    )
