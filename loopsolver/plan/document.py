"""The plan file's shape: what stands in it, key by key, as its JSON Schema says."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    SerializerFunctionWrapHandler,
    model_serializer,
)

from loopsolver.routing.control import Ended
from loopsolver.scene.toml_table import described, wanted_in
from loopsolver.tolerances import WRITTEN_DECIMALS

LONGEST: Final = 1e6
"""No length or coordinate of a plan is larger [mm]: a kilometre is no computer case."""

_UNLESS_EMPTY: Final = frozenset(
    {
        "angle",
        "built",
        "departures",
        "in_the_way",
        "kept",
        "loop",
        "rotation",
        "sum",
        "tried",
        "why",
        "would_fit",
    }
)
"""Keys that are left out of a file where they say nothing."""


def rounded(value: float) -> float:
    """Return a figure as it stands in the file, never as minus zero."""
    return round(float(value), WRITTEN_DECIMALS) + 0.0


def _rounded_rotation_deg(rotation_deg: float) -> float:
    """Return a rotation as it stands in the file, in (-180, 180]."""
    told_deg = rounded(rotation_deg)
    return 180.0 if told_deg <= -180.0 else told_deg


Figure = Annotated[float, PlainSerializer(rounded, when_used="json")]
RotationDeg = Annotated[float, PlainSerializer(_rounded_rotation_deg, when_used="json")]
LengthMm = Annotated[Figure, Field(ge=0.0, le=LONGEST)]
Coordinate = Annotated[Figure, Field(ge=-LONGEST, le=LONGEST)]
PositionMm = tuple[Coordinate, Coordinate, Coordinate]


class _Document(BaseModel):
    """What stands in a plan file; also made of a value that has the same attributes.

    Types are taken strictly; keys that a later version adds are left alone.
    """

    model_config = ConfigDict(
        strict=True,
        frozen=True,
        extra="ignore",
        allow_inf_nan=False,
        populate_by_name=True,
        from_attributes=True,
        json_schema_extra=described,
    )

    @model_serializer(mode="wrap")
    def _without_the_empty(
        self, plain: SerializerFunctionWrapHandler
    ) -> dict[str, Any]:
        return {
            key: value
            for key, value in plain(self).items()
            if key not in _UNLESS_EMPTY or value not in (None, (), [], "")
        }

    def told(self) -> dict[str, Any]:
        """Return what stands in the file, as plain JSON values with rounded figures."""
        return self.model_dump(mode="json", by_alias=True)


class TubeDocument(_Document):
    """The tube of the scene, as it was when the plan was written."""

    material: str
    """the tube's material"""

    outer_diameter: LengthMm
    """the tube's outer diameter [mm]"""

    inner_diameter: LengthMm
    """the tube's inner diameter [mm]"""

    stock_length: LengthMm
    """length of the tube as bought [mm]"""


class NearestDocument(_Document):
    """What is nearest to a tube, its own fittings and other tubes left out."""

    name: str
    """the name of the nearest thing"""

    at: PositionMm
    """the point [x, y, z] of the centre line that is nearest to it [mm]"""


class BendRowDocument(_Document):
    """A row of the bend table; the last one is the closing straight alone."""

    straight: Figure
    """the straight before the bend [mm]"""

    rotation: RotationDeg | None = None
    """degrees from the plane of the bend before, right-handed about the direction of
    travel, in (-180, 180]
    """

    angle: Figure | None = None
    """the bend angle [degrees]"""


class EndDocument(_Document):
    """What holds one end of a tube."""

    port: str
    """the full name of the port"""

    fitting: str
    """the name of the fitting on it"""

    outlet: PositionMm
    """the direction in which the tube leaves: [x, y, z] of length 1"""

    mouth: PositionMm
    """the middle of its open rim: [x, y, z] [mm]"""

    is_elbow: bool = Field(default=False, alias="elbow")
    """true where it turns the tube"""


class CandidateDocument(_Document):
    """One proposed route with its figures, in the case frame."""

    rank: int = Field(ge=1)
    """its place in the list, counted from 1"""

    bends: int = Field(ge=0)
    """the number of bends"""

    planes: int = Field(ge=0)
    """the number of plane stretches"""

    length: LengthMm
    """the developed length [mm]"""

    blank: LengthMm
    """the length of tube that is needed, plus the trim allowance at both ends [mm]"""

    trim_allowance: LengthMm
    """what is left over at each end until the bends are done [mm]"""

    take_up: Figure = Field(default=1.0, gt=0.0)
    """how much tube a bend takes up, as a share of its arc: 1 unless test bends say
    otherwise
    """

    gap: Coordinate
    """the least gap [mm], below 0 where things overlap"""

    nearest: NearestDocument
    """the thing that the gap is to: its name and where"""

    bend_radius: Figure = Field(gt=0.0, le=LONGEST)
    """the centre-line radius of every bend, above 0 [mm]"""

    elbows: int = Field(default=0, ge=0, le=2)
    """the number of elbows"""

    ends: tuple[EndDocument, ...] = Field(default=(), max_length=2)
    """what holds the tube's two ends"""

    departures: tuple[Coordinate, ...] = ()
    """where any bend angle is allowed: how far each bend is from the nearest standard
    angle [degrees]
    """

    vertices: tuple[PositionMm, ...] = Field(min_length=2)
    """tube end, bend vertices in order, other tube end: at least two points [x, y, z]
    [mm]
    """

    bend_table: tuple[BendRowDocument, ...] = Field(min_length=1)
    """one row a bend, and the closing straight in a row of its own"""


class BuiltDocument(_Document):
    """A tube as it was bent and measured, where it lies in the case."""

    bend_table: tuple[BendRowDocument, ...] = Field(min_length=1)
    """as it was measured: one row a bend, and the closing straight in a row of its own"""

    vertices: tuple[PositionMm, ...] = Field(min_length=2)
    """tube end, bend vertices in order, other tube end: at least two points [x, y, z]
    [mm]
    """

    bend_radius: Figure | None = Field(default=None, gt=0.0, le=LONGEST)
    """the centre-line radius of every bend, above 0 [mm]; left out: that of the
    candidate that it was bent from
    """

    gap: Coordinate | None = None
    """the least gap [mm], below 0 where things overlap"""

    nearest: NearestDocument | None = None
    """the thing that the gap is to: its name and where"""

    ends: tuple[EndDocument, ...] = Field(default=(), max_length=2)
    """what holds the tube's two ends; left out: as of the candidate that it was bent
    from
    """


class InTheWayDocument(_Document):
    """A chosen tube that is in the way of a run that is left out."""

    run: str
    """the name of the run whose tube is in the way"""

    gap: Coordinate
    """the gap to it [mm], below 0 where the tubes run into each other"""

    at: PositionMm
    """where: the point [x, y, z] [mm]"""


class RunDocument(_Document):
    """One run: its candidates, or why it has none."""

    name: str
    """the run's name"""

    from_port: str = Field(alias="from")
    """the full name of the first port"""

    to_port: str = Field(alias="to")
    """the full name of the other port"""

    chosen: int | None
    """the rank of the chosen candidate, or null where there is none"""

    why: str | None = None
    """why no candidate is chosen, in words; first what is in the way, then perhaps
    lines with what would help
    """

    in_the_way: tuple[InTheWayDocument, ...] = ()
    """the runs in the way of one that is left out, the nearest first"""

    refused: int = Field(default=0, ge=0)
    """how many routes of the search failed the independent check"""

    candidates: tuple[CandidateDocument, ...]
    """the candidates, best first"""

    built: BuiltDocument | None = None
    """the tube as it was built, used in place of the chosen candidate"""


class WouldFitDocument(_Document):
    """Changes with which all runs would have their tube."""

    changes: str
    """the changes, in words"""

    runs: int = Field(ge=0)
    """the number of tubes"""

    bends: int = Field(ge=0)
    """the bends of all of them"""

    elbows: int = Field(default=0, ge=0)
    """the elbows of all of them"""

    length: LengthMm
    """the developed length of all of them [mm]"""


class LoopDocument(_Document):
    """How the choice for the whole loop was made."""

    by: str
    """what was to be least: bends, length, gap, ..."""

    total: tuple[Coordinate, ...]
    """its sum over the chosen candidates, part by part"""

    bound: tuple[Coordinate, ...]
    """the same if tubes could pass through each other"""

    is_proven: bool = Field(alias="proven")
    """true where no better choice can be made from the routes found"""

    ended: Ended = "done"
    """how the search ended: 'done', 'time', or by the user 'stopped' or, before every
    run was routed, 'stopped early'
    """

    rounds: int = Field(ge=0)
    """rounds of routing again"""

    pool: int = Field(alias="routes", ge=0)
    """routes that were chosen from"""

    for_parallel: LengthMm = 0.0
    """tube given so that tubes run parallel [mm]"""

    kept: tuple[str, ...] = ()
    """the runs whose candidates were settled before"""

    would_fit: WouldFitDocument | None = None
    """where runs have no tube: the first changes found that give all of them one"""

    tried: str = ""
    """where none were found: what was tried for the whole loop, in words"""


class PlanDocument(_Document):
    """A plan file of loopsolver. Lengths in millimetres, angles in degrees."""

    format: Literal[1]
    """1"""

    loopsolver: str
    """the version that wrote the file"""

    scene: str
    """the scene file's path, from the plan's folder"""

    scene_sha256: str
    """the scene file's SHA-256 as hex digits"""

    meshes: dict[str, str] = Field(default_factory=dict)
    """the SHA-256 of each mesh file that the scene names, by its path there"""

    units: Literal["mm"]
    """'mm'"""

    title: str = ""
    """the scene's title"""

    tube: TubeDocument
    """the scene's tube"""

    clearance: LengthMm
    """the least gap asked for [mm]"""

    loop: LoopDocument | None = None
    """how the choice for the whole loop was made"""

    runs: tuple[RunDocument, ...]
    """the runs"""

    sum: str | None = None
    """SHA-256 as hex digits of all that stands in the file but this and every 'chosen',
    as JSON with sorted keys, no spaces, and numbers as floats
    """


def wanted_at(location: tuple[int | str, ...]) -> str:
    """Return what is wanted at a place in the plan file, in words.

    Parameters
    ----------
    location : tuple
        Keys and list places from the root on, such as ``("runs", 0, "name")``.
    """
    model: type[BaseModel] | None = PlanDocument
    wanted = "a plan file of loopsolver"
    for key in location:
        if model is None or isinstance(key, int):
            continue
        fields = {
            field.alias or name: field for name, field in model.model_fields.items()
        }
        if key not in fields:
            break
        wanted = wanted_in(model)[key]
        model = _model_inside(fields[key].annotation)
    return wanted


def _model_inside(annotation: Any) -> type[BaseModel] | None:
    """Return the document class that an annotation holds, however deep."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for argument in get_args(annotation):
        found = _model_inside(argument)
        if found is not None:
            return found
    return None
