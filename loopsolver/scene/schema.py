"""The tables of a scene file: which keys there are, their kinds and their defaults."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import Field
from pydantic_core import PydanticCustomError

from loopsolver.geometry.vectors import Point, axis_name
from loopsolver.scene import limits
from loopsolver.scene.axes import Axes, agrees, direction_of
from loopsolver.scene.choices import (
    CASE_AXES,
    DIRECTION,
    FORMAT_NUMBER,
    PARTS_IN_ORDER,
    names,
    one_of,
    plain_text,
    some_names,
)
from loopsolver.scene.findings import Finding, shown
from loopsolver.scene.fitting_tables import FittingTable
from loopsolver.scene.measured_tables import PlaceTable, ReadingTable, SpreadTable
from loopsolver.scene.model import Flow
from loopsolver.scene.parts import PART, PartTable
from loopsolver.scene.quantities import (
    Measured,
    Reading,
    from_walls,
    length,
    measured,
)
from loopsolver.scene.shapes import (
    SIGNED_LENGTH,
    THREE,
    BodyTable,
    KeepOutTable,
    Name,
    Position,
    Rotation,
)
from loopsolver.scene.toml_table import Table
from loopsolver.scene.tube_tables import (
    TUBE_DIAMETER,
    Angles,
    BendRadii,
    BendTestTable,
    MaxBends,
    RulesTable,
    TubeTable,
)
from loopsolver.scene.water_tables import CoolantTable, FillingTable, WaterTable
from loopsolver.units import MM_PER, LengthUnit

_CASE_SIDE = measured(length(least=limits.CASE_LEAST, most=limits.CASE_MOST))


CountedPosition = Annotated[list[Annotated[Measured, from_walls(SIGNED_LENGTH)]], THREE]
CaseSize = Annotated[list[Annotated[Measured, _CASE_SIDE]], THREE]
Order = Annotated[tuple[str, ...] | Literal["any"], PARTS_IN_ORDER]
_PARTS = some_names('components, such as ["pump", "meter"]')
PortNames = Annotated[tuple[str, ...], names('a port such as "pump.out"')]


class CaseTable(Table):
    """The case: free inside, the datum corner at (0, 0, 0)."""

    written: ClassVar[str] = "[case]"

    inner: CaseSize | None = None
    """the free inside along x, y, z: three lengths; left out: no walls"""

    axes: Annotated[Axes, CASE_AXES] | None = None
    """where x, y and z point, as seen from before the case's front, the machine
    standing as it is used: right-handed; default: right, away, up, turned with up
    """

    up: Annotated[Point, DIRECTION] | None = None
    """the direction against gravity; default: as axes say, else +z"""

    def contradictions(self, _reading: Reading) -> Iterator[Finding]:
        """Return what does not go together."""
        if self.axes is None or self.up is None or agrees(self.axes, self.up):
            return
        named = axis_name(direction_of("up", self.axes))
        yield Finding(
            path=("up",),
            found=axis_name(self.up) or shown([round(part, 3) for part in self.up]),
            wanted=f"{shown(named)}, which axes = {shown(list(self.axes))} call up (or "
            "no up at all: it follows from axes), or other axes",
        )


class PortTable(Table):
    """A threaded opening, in the component's frame."""

    written: ClassVar[str] = "[components.NAME.ports.NAME]"

    position: Position
    """the middle of the port's face: three lengths from the component's origin"""

    direction: Annotated[Point, DIRECTION]
    """the direction out of the port: "+x" ... "-z", or a vector"""

    fitting: Annotated[tuple[str, ...], names("a fitting's name")] | None = None
    """the fitting's name, or a list to choose from"""

    flow: Annotated[Flow, one_of(get_args(Flow))] = "either"
    """the way the coolant goes"""


class ComponentTable(Table):
    """A part of the build."""

    written: ClassVar[str] = "[components.NAME]"

    position: CountedPosition | None = None
    """the position of the component's origin in the case: three lengths ([0, 0, 0] if
    all its measures are from the datum corner); a text such as "35 from +y" puts the
    outermost face of its bodies, as they stand, so far from that case wall
    """

    place: PlaceTable | None = None
    """in place of position: { point = "in", from = "board.hole", offset = [32, 15, 0] }"""

    rotation: Rotation | None = None
    """degrees about x, then y, then z, each -360 to 360"""

    part: Annotated[PartTable, PART] | None = None
    """a part of the shelf, such as { name = "board", size = "ATX" }: its bodies, ports
    and points, where the component has none of its own; any dimension that
    `loopsolver parts` lists may be given here as measured
    """

    bodies: list[BodyTable] = Field(default_factory=list)
    """[[components.NAME.bodies]] tables"""

    ports: dict[str, PortTable] = Field(default_factory=dict)
    """[components.NAME.ports.NAME] tables"""

    points: dict[str, Position] = Field(default_factory=dict)
    """[components.NAME.points]: names, each with three lengths from the component's
    origin
    """

    water: WaterTable | None = None
    """a table [components.NAME.water]: the part as the coolant sees it"""

    @classmethod
    def misfits(cls, data: dict[str, Any]) -> Iterator[Finding]:
        """Return what is wrong with the choice of keys."""
        if "position" in data and "place" in data:
            yield Finding(
                path=("place",),
                found="place beside position",
                wanted="one of them: each says where the component stands",
            )

    def contradictions(self, _reading: Reading) -> Iterator[Finding]:
        """Return what does not go together."""
        for axis, coordinate in enumerate(self.position or ()):
            wall, letter = coordinate.wall, "xyz"[axis]
            if wall is None:
                continue
            if wall[1] != letter:
                yield Finding(
                    path=("position", axis),
                    found=f"{letter} counted from the wall {wall}",
                    wanted=f"a wall that {letter} leads to: -{letter} or +{letter}",
                )
            elif not self.bodies:
                yield Finding(
                    path=("position", axis),
                    found="a component without bodies, counted from a wall",
                    wanted="bodies, whose outermost face it is counted to; or a plain "
                    "length, to the component's origin",
                )


class RunTable(Table):
    """One tube that is wanted."""

    written: ClassVar[str] = "[[runs]]"

    name: Name | None = None
    """a name for the tube, such as "pump to card"; default: its ends, "FROM to TO" """

    start: PortNames = Field(alias="from")
    """the port it starts from, such as "pump.out" """

    goal: PortNames = Field(alias="to")
    """the port it goes to, such as "card.in" """

    bend_radius: BendRadii | None = None
    """this run's own bend radius, or a list of them"""

    bend_angles: Angles | None = None
    """this run's own bend angles"""

    max_bends: MaxBends | None = None
    """this run's own most bends"""

    @property
    def called(self) -> str:
        """The run's name, or its ends in place of it."""
        return self.name or f"{' or '.join(self.start)} to {' or '.join(self.goal)}"


class LoopTable(Table):
    """A closed loop: a tube from each part to the next, and back to the first."""

    written: ClassVar[str] = "[loop]"

    order: Order
    """a list of component names, the way the coolant goes, closed from the last to the
    first; or "any": the best order of all components with two ports or more
    """


class AssemblyTable(Table):
    """What may be moved while the tubes go in."""

    written: ClassVar[str] = "[assembly]"

    movable: Annotated[tuple[str, ...], _PARTS] = ()
    """names of components that may be shifted while tubes go in, such as ["pump"]"""

    last: Annotated[tuple[str, ...], _PARTS] = ()
    """names of components that are movable, and screwed down after the last tube"""


class SceneFile(Table):
    """A whole scene file."""

    written: ClassVar[str] = "a scene file"

    format: Annotated[int, FORMAT_NUMBER]
    """format = 1 at the top of the file"""

    title: Annotated[str, plain_text(most=limits.TITLE_MOST)] | None = None
    """the scene's title; default: the file's name"""

    units: Annotated[LengthUnit, one_of(get_args(LengthUnit))] = "mm"
    """the unit of plain numbers in every key that holds lengths; a text such as "3 mm"
    carries its own
    """

    case: CaseTable
    """a table [case], with inner unless there are no walls"""

    tube: TubeTable
    """a table [tube] with material, outer_diameter and inner_diameter"""

    rules: RulesTable = Field(default_factory=RulesTable)
    """a table [rules]"""

    fittings: dict[str, FittingTable] = Field(default_factory=dict)
    """[fittings.NAME] tables"""

    components: dict[str, ComponentTable] = Field(default_factory=dict)
    """[components.NAME] tables"""

    keep_outs: list[KeepOutTable] = Field(default_factory=list)
    """[[keep_outs]] tables, in double brackets"""

    spread: SpreadTable = Field(default_factory=SpreadTable)
    """a table [spread]"""

    readings: list[ReadingTable] = Field(default_factory=list)
    """[[readings]] tables, in double brackets"""

    runs: list[RunTable] = Field(default_factory=list)
    """[[runs]] tables, in double brackets"""

    loop: LoopTable | None = None
    """a table [loop] with order: a closed loop, instead of or beside [[runs]]; a run
    between two of its parts takes the place of the tube that the loop would lay from
    the one to the other
    """

    coolant: CoolantTable | None = None
    """a table [coolant]: what goes round; default: water"""

    filling: FillingTable | None = None
    """a table [filling]: how the loop is filled and drained"""

    test_bends: list[BendTestTable] = Field(default_factory=list)
    """[[test_bends]] tables, in double brackets"""

    assembly: AssemblyTable | None = None
    """a table [assembly]: what may be moved while the tubes go in"""

    def contradictions(self, _reading: Reading) -> Iterator[Finding]:
        """Return lengths that are counted from walls which are not there."""
        if self.case.inner is not None:
            return
        for name, part in self.components.items():
            for axis, coordinate in enumerate(part.position or ()):
                if coordinate.wall is not None:
                    yield Finding(
                        path=("components", name, "position", axis),
                        found=f"a length counted from the wall {coordinate.wall}",
                        wanted="inner = [x, y, z] in [case], as there are no walls "
                        "without it; or a plain length",
                    )


def reading_for(data: dict[str, Any]) -> Reading:
    """Return what the values of a file need to know of each other, as far as it is so."""
    units = data.get("units", "mm")
    unit: LengthUnit | None = next((one for one in MM_PER if one == units), None)
    tube = data.get("tube")
    outer = tube.get("outer_diameter") if isinstance(tube, dict) else None
    try:
        diameter: Measured = TUBE_DIAMETER.read(outer, Reading(unit=unit))
    except PydanticCustomError:
        return Reading(unit=unit)
    return Reading(unit=unit, outer_diameter=diameter.mean)
