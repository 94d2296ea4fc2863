"""Why there is no tube, as data: what stands against one, and what would give one.

Only values, and no sentence: lengths in millimetres, angles in degrees where the name
says so. `loopsolver.report.no_route` puts them into words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from loopsolver.geometry.vectors import Point
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.scene.limits import USUAL_BEND_RANGE
from loopsolver.scene.model import BendAngles, BendRange, TurnStep
from loopsolver.scene.port_contests import Contest
from loopsolver.scene.references import PortPair

Proof = Literal["all", "square", "one bend"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """Something that a tube comes nearer to than the clearance, and by how much [mm]."""

    name: str
    by: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesAsked:
    """The rules that a tube was sought under."""

    max_bends: int
    bend_angles_deg: BendAngles
    bend_radius: float
    clearance: float
    turn_step_deg: TurnStep = "any"
    bend_range: BendRange = USUAL_BEND_RANGE


@dataclass(frozen=True, slots=True, kw_only=True)
class Searched:
    """What a search has looked at that found no tube.

    Attributes
    ----------
    proven : Proof
        Of which tubes it is certain that there is none: of all that the rules allow, of
        those whose bends and turns are square, or of those of one bend at most.
    bends : int
        Of the others so many bends at most were looked through, and not every tube.
    """

    proven: Proof
    bends: int


# ------------------------------------------------------------ what stands against one


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightBlocked:
    """The straight of `length` that a port asks for comes too near to something."""

    port: str
    length: float
    near: Shortfall


@dataclass(frozen=True, slots=True, kw_only=True)
class BendBlocked:
    """No bend after the least straight at a port has room, to whatever side it turns.

    Attributes
    ----------
    length : float
        The least straight [mm].
    sides : int
        To how many sides bends were tried, evenly spaced.
    near : Shortfall
        Of the bend that lacks least.
    """

    port: str
    length: float
    angles_deg: tuple[float, ...]
    bend_radius: float
    sides: int
    near: Shortfall


@dataclass(frozen=True, slots=True, kw_only=True)
class CannotTurn:
    """The listed angles cannot turn a tube through the angle between two ports."""

    ports: PortPair
    through_deg: float
    max_bends: int
    angles_deg: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Askew:
    """Two ports stand at an angle that square bends meet only rolled out of square."""

    ports: PortPair
    angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FacingTooNear:
    """Two ports face each other in line, `there_is` apart, and a tube needs more."""

    ports: PortPair
    needed: float
    there_is: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FacingBlocked:
    """The straight tube between two ports that face each other meets something."""

    ports: PortPair
    near: Shortfall


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetTooNarrow:
    """Two equal bends need more room between the axes of two ports than there is."""

    angle_deg: float
    needed: float
    there_is: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetTooShort:
    """Two equal bends and their straights need more room along the ports' axes."""

    angle_deg: float
    needed: float
    there_is: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnTooNarrow:
    """Two bends need more room between two ports that point the same way."""

    angles_deg: tuple[float, float]
    needed: float
    there_is: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfLine:
    """Ports that are nearly in line, but not within what the turns allow.

    Attributes
    ----------
    off : tuple of (str, float)
        Along which axis, 'x', 'y', 'z' or empty where it is none of them, they are out of
        line, and by how much [mm].
    turn_step_deg, max_bends : float, int
        What turns are multiples of [degrees], and the most bends.
    """

    off: tuple[tuple[str, float], ...]
    turn_step_deg: float
    max_bends: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerTooNear:
    """One bend needs more room between a port and where the two ports' axes cross."""

    port: str
    angle_deg: float
    needed: float
    there_is: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfRange:
    """A tube of free angles needs a bend beyond a limit of their range [degrees]."""

    limit_deg: float
    angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoneInEmptyCase:
    """Even with nothing in the case no tube was found."""

    ports: PortPair
    rules: RulesAsked
    searched: Searched


@dataclass(frozen=True, slots=True, kw_only=True)
class NoneFound:
    """No tube was found.

    Attributes
    ----------
    searched : Searched
    bends : int
        Of the simplest tube if nothing stood in the case.
    near : tuple of Shortfall
        What that one comes too near to, nearest first.
    """

    rules: RulesAsked
    searched: Searched
    bends: int
    near: tuple[Shortfall, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StockTooShort:
    """The least blank of the tubes that were found is longer than the stock [mm]."""

    blank: float
    stock_length: float


Fact = (
    StraightBlocked
    | BendBlocked
    | CannotTurn
    | Askew
    | FacingTooNear
    | FacingBlocked
    | OffsetTooNarrow
    | OffsetTooShort
    | ReturnTooNarrow
    | OutOfLine
    | CornerTooNear
    | OutOfRange
    | NoneInEmptyCase
    | NoneFound
    | StockTooShort
)


# ------------------------------------------------------------- what would give one


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """A change, or as a last resort several together, that gives a run a route.

    Attributes
    ----------
    changes : tuple of Change
    bends : int
        Of the route that was found.
    length : float
        Its developed length [mm]; a shorter one may exist.
    angles_deg : tuple of float
        Its bends' angles [degrees].
    near : tuple of str
        What it comes nearer to than the scene's clearance, nearest first.
    too_little : float or None
        Where it is not known within 1 mm or 1 degree how little is enough: the nearest
        value of the last change that was tried and is not.
    """

    changes: tuple[Change, ...]
    bends: int
    length: float
    angles_deg: tuple[float, ...]
    near: tuple[str, ...] = ()
    too_little: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPort:
    """Another port of the same component gives a run a place beside the others.

    `run` is the run's name where it is not clear which is meant.
    """

    end: Literal["from", "to"]
    port: str
    instead_of: str
    run: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherFitting:
    """A fitting that a port does not offer gives a run a place beside the others."""

    port: str
    fitting: str


Remedy = Suggestion | OtherPort | OtherFitting


# ---------------------------------------------------------------- why there is no tube


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why a run has no route.

    Attributes
    ----------
    facts : tuple of Fact
        The most direct first.
    suggestions : tuple of Suggestion
        What would give one; each was tried. What is least to a builder comes first.
    tried : tuple of Change
        What was tried, whether it helped or not.
    """

    facts: tuple[Fact, ...]
    suggestions: tuple[Suggestion, ...]
    tried: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ElbowsBlocked:
    """Every position of the elbow on these ports comes too near to something."""

    ports: tuple[str, ...]
    clearance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoPortsLeft:
    """No two ports are left that a run could join.

    `contest` holds the runs that compete for its ports, where they do.
    """

    from_ports: tuple[str, ...]
    to_ports: tuple[str, ...]
    contest: Contest | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NotRouted:
    """The search was stopped before the run was routed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NotExplained:
    """No route was found, and the search was stopped before the reason was sought."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InTheWay:
    """Another run that is in the way: its name, how near, and where [mm]."""

    run: str
    gap: float
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenPort:
    """A port that a run could end at, and the name of the run that ends there."""

    port: str
    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoPlace:
    """A run has routes, and none fits beside the others.

    Attributes
    ----------
    in_the_way : tuple of InTheWay
        The other runs, as they are chosen, that the run would come too near to by the
        route that meets the fewest of them; the nearest first. Empty only where it is
        ports that are taken.
    remedies : tuple of Remedy
        What would give it a place; each was tried with the other tubes where they are.
    is_all_tried : bool
        False where the user stopped before it was tried what helps.
    taken : tuple of TakenPort
        Where no port is left for an end of the run: all that it could take.
    """

    in_the_way: tuple[InTheWay, ...]
    remedies: tuple[Remedy, ...]
    is_all_tried: bool = True
    taken: tuple[TakenPort, ...] = ()


NoRoute = Reason | ElbowsBlocked | NoPortsLeft | NotRouted | NotExplained | NoPlace
"""Why a run has no chosen tube."""
