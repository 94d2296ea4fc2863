"""A scene as frozen values, everything in the case frame and in millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from loopsolver.errors import LoopsolverError
from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import Point, offset
from loopsolver.scene.axes import Axes, Sides, sides_of
from loopsolver.scene.limits import USUAL_BEND_RANGE
from loopsolver.scene.water import NOTHING_KNOWN, Coolant, Filling, Water
from loopsolver.survey.network import Network, Observation
from loopsolver.tube.springback import BendTest
from loopsolver.tube.stock import Tube
from loopsolver.units import LengthUnit

Unit = LengthUnit
Flow = Literal["in", "out", "either"]
BendAngles = tuple[float, ...] | Literal["any"]
TurnStep = float | Literal["any"]
BendRange = tuple[float, float]
LoopOrder = tuple[str, ...] | Literal["any"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What a route must keep to. Lengths in millimetres, angles in degrees.

    Turns between bends are multiples of `turn_step_deg`. Bends of any angle are no sharper
    than the greater of `bend_range`, and of three or more none is slighter than the less.
    """

    clearance: float
    straight_between_bends: float
    bend_angles_deg: BendAngles
    max_bends: int
    candidates: int
    turn_step_deg: TurnStep = "any"
    bend_range: BendRange = USUAL_BEND_RANGE


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """How far off a tube may come into a fitting's mouth, both at once.

    Half a millimetre and one degree: common practice, no source.

    Attributes
    ----------
    sideways : float
        Of the tube's centre line from the fitting's axis [mm].
    tilt : float
        Between them [rad].
    """

    sideways: float = 0.5
    tilt: float = math.radians(1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """What is screwed into a port and holds the tube. Lengths in millimetres.

    Attributes
    ----------
    height : float
        Port face to mouth; for an elbow, port face to the outlet's axis.
    depth : float
        Mouth to seat: how far the tube goes in.
    diameter : float
        Of the body, an obstacle to every other run.
    straight_beyond : float
        The tube stays straight this far outside the mouth.
    turn_deg : float
        Angle between port direction and outlet; 0 for a straight fitting.
    reach : float
        Port axis to mouth, elbows only.
    loss : float or None
        What it costs the coolant, in velocity heads of the tube; None: not stated.
    bore : float or None
        Of what guides the tube from mouth to seat; None: not stated, `accepts` holds.
    accepts : Acceptance
        What the mouth takes where there is no bore.
    """

    name: str
    height: float
    depth: float
    diameter: float
    straight_beyond: float
    turn_deg: float = 0.0
    reach: float = 0.0
    loss: float | None = None
    bore: float | None = None
    accepts: Acceptance = Acceptance()


def built_in_fitting(outer_diameter: float) -> Fitting:
    """Return the straight fitting of ports for which the scene gives none [mm].

    Height 20 mm, depth 12 mm, body 8 mm wider than the tube, straight 5 mm beyond the
    mouth: the size of a common compression collar (common practice, no source).
    """
    return Fitting(
        name="built-in collar",
        height=20.0,
        depth=12.0,
        diameter=outer_diameter + 8.0,
        straight_beyond=5.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """A threaded opening: position on the component's face, direction out of it.

    `name` is the full one, ``pump.out``. `fittings` are those that may be used here,
    the preferred one first.
    """

    name: str
    position: Point
    direction: Point
    fittings: tuple[Fitting, ...]
    flow: Flow = "either"

    @property
    def component(self) -> str:
        """The name of the component that carries the port."""
        return self.name.split(".", 1)[0]


def seat(port: Port, fitting: Fitting) -> Point:
    """Return where the tube end sits in a straight fitting [mm]."""
    return offset(port.position, port.direction, fitting.height - fitting.depth)


def mouth(port: Port, fitting: Fitting) -> Point:
    """Return the middle of a straight fitting's open rim [mm]."""
    return offset(port.position, port.direction, fitting.height)


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """A named solid in the case frame: a component's body, or a keep-out."""

    name: str
    solid: Solid


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """A part of the build: its bodies, its ports, and what the coolant meets in it.

    Attributes
    ----------
    unmeasured : tuple of str
        Dimensions on which ports from the shelf stand, that no standard holds and that
        nobody has measured, by their keys in `part`.
    """

    name: str
    bodies: tuple[Body, ...]
    ports: tuple[Port, ...]
    unmeasured: tuple[str, ...] = ()
    water: Water = NOTHING_KNOWN


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRequest:
    """One tube that is wanted; None means: as the scene's tube and rules say."""

    name: str
    from_ports: tuple[str, ...]
    to_ports: tuple[str, ...]
    bend_radii: tuple[float, ...] | None = None
    bend_angles_deg: BendAngles | None = None
    max_bends: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopRequest:
    """A closed loop that is wanted, from part to part.

    Attributes
    ----------
    order : LoopOrder
        Component names the way the coolant goes, the last one leading back to the
        first; or "any": the best order of all that let it through is to be found.
    """

    order: LoopOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """One measurement that was taken more than once.

    Attributes
    ----------
    where : str
        Path of the key in the scene file, such as ``components.pump.position[1]``.
    values : tuple of float
        What was read each time [mm]; the scene uses their mean.
    """

    where: str
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How far values usually lie off: two of three lie within it.

    Attributes
    ----------
    reading : float
        A length as it was read [mm].
    square : float
        A port's direction [rad].
    straight : float
        Each straight as bent [mm].
    angle, turn : float
        Each bend; each turn between two bends [rad].
    bias : float
        What all bends have in common, from former and springback [rad].
    bore : float
        Each fitting's bore [mm].

    Notes
    -----
    What is not stated is common practice, no source.
    """

    reading: float = 0.5
    square: float = math.radians(0.5)
    straight: float = 1.0
    angle: float = math.radians(1.0)
    turn: float = math.radians(1.0)
    bias: float = math.radians(0.5)
    bore: float = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """What may be moved while the tubes go in, by the names of components.

    Attributes
    ----------
    movable : tuple of str
        May be shifted while tubes go in.
    last : tuple of str
        May be shifted as well, and are screwed down after the last tube.
    """

    movable: tuple[str, ...] = ()
    last: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """All that was measured between points of a scene.

    Attributes
    ----------
    network : Network
        Positions, places and ports as written, and the readings.
    readings : tuple of Observation
        Those of it that are no place as written.
    """

    network: Network
    readings: tuple[Observation, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A measured case with what stands in it and the runs that are wanted.

    Attributes
    ----------
    title : str
    units : Unit
        Unit of the scene file's bare numbers; everything here is millimetres.
    file_name, sha256 : str
        Name and hash of the file it was read from; empty for a scene made in Python.
    case_inner : Point or None
        Free inside along x, y, z; the datum corner is the origin. None: no walls.
    up : Point
        Against gravity when the machine stands as it is used.
    axes : Axes or None
        Where x, y, z point, as seen from before the case's front; None: not stated.
    runs : tuple of RunRequest
        Those that the file writes out, and those that follow from a loop whose order
        is given. Where any order will do they depend on it: see
        `loopsolver.scene.circuit.runs_in_order`.
    readings : tuple of Readings
        The measurements that were taken more than once.
    loop : LoopRequest or None
    spread : Spread
    measures : Measures or None
        None for a scene made in Python.
    coolant : Coolant or None
    filling : Filling or None
        None: not stated.
    test_bends : tuple of BendTest
    assembly : Assembly or None
        None: not stated.
    """

    title: str
    units: Unit
    file_name: str = ""
    sha256: str = ""
    case_inner: Point | None
    up: Point
    tube: Tube
    rules: Rules
    components: tuple[Component, ...]
    keep_outs: tuple[Body, ...]
    runs: tuple[RunRequest, ...]
    readings: tuple[Readings, ...] = ()
    loop: LoopRequest | None = None
    axes: Axes | None = None
    spread: Spread = Spread()
    measures: Measures | None = field(default=None, repr=False, compare=False)
    coolant: Coolant | None = None
    filling: Filling | None = None
    test_bends: tuple[BendTest, ...] = ()
    assembly: Assembly | None = None
    _ports: dict[str, Port] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Note the ports by name."""
        ports = {port.name: port for part in self.components for port in part.ports}
        object.__setattr__(self, "_ports", ports)

    @property
    def reach(self) -> float:
        """What a tube's centre line must keep from everything [mm]."""
        return self.tube.radius + self.rules.clearance

    @property
    def sides(self) -> Sides:
        """Right, away and up, as seen from before the case's front."""
        return sides_of(axes=self.axes, up=self.up)

    @property
    def axes_taken(self) -> Axes | None:
        """The axes as stated, or else as taken; None where they lie askew to `up`."""
        return self.axes or self.sides.axes

    @property
    def axis_names(self) -> tuple[str, str, str]:
        """The axes as pictures name them: ``x left``; bare where they lie askew."""
        x, y, z = self.axes_taken or ("", "", "")
        return (f"x {x}".rstrip(), f"y {y}".rstrip(), f"z {z}".rstrip())

    def port(self, name: str) -> Port:
        """Return the port of that full name (``pump.out``).

        Raises
        ------
        LoopsolverError
            If there is none; the message lists those there are.
        """
        if name not in self._ports:
            there_are = ", ".join(sorted(self._ports)) or "none"
            msg = f"no port {name!r}; there are {there_are}"
            raise LoopsolverError(msg)
        return self._ports[name]
