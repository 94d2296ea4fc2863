"""How hard is tried to find routes of angles other than square ones."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

from loopsolver.routing.effort.growth import grows


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeLegs:
    """What is tried where angles and ports leave one leg of a closure free."""

    spare: tuple[float, ...] = grows((0.0, 0.15, 0.3, 0.5, 0.7, 0.85, 1.0), 1 / 2)
    """Shares of what one leg may be longer than its least and another is shorter for."""

    longer: tuple[float, ...] = grows((0.0, 12.0, 30.0, 60.0, 100.0, 150.0), 1 / 2)
    """What the first leg is longer than its least where nothing ends it [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayingOutEffort:
    """For laying out routes of angles other than square ones, before any is shortened."""

    field_step: float = grows(5.0, -1 / 3)
    """Spacing of the distance field [mm]: half of what a usual tube keeps from its axis."""

    field_nodes: int = grows(1_500_000)
    """In larger cases the distance field is wider instead of having more nodes."""

    rolls: int = grows(8, 1 / 2)
    """Sides tried about a direction, evenly spaced, where ends are square to each other."""

    tilted_rolls: int = grows(24, 1 / 2)
    """The same where they are not."""

    finer: int = 3
    """So many times as many where there is room for few partial routes only."""

    roll_twins_deg: float = grows(2.0, -1 / 2)
    """Of sides nearer to each other than this only one is tried [degrees]."""

    outward: tuple[float, ...] = grows(
        (0, 6, 14, 25, 40, 60, 85, 115, 150, 190, 240, 300), 1 / 2
    )
    """What a leg is tried longer than its least [mm]."""

    outward_between: tuple[float, ...] = grows(
        (*range(0, 60, 5), *range(60, 150, 10), *range(150, 320, 20)), 1 / 2
    )
    """What it is tried longer as well where there is room for few partial routes [mm]."""

    outward_again: tuple[float, ...] = grows((0.0, 14.0, 40.0, 85.0, 150.0), 1 / 2)
    """The same for the leg before a partial route's second bend [mm]."""

    bend_samples: int = grows(5)
    """Points on a partial route's last bend at which it is looked for room."""

    mended_room: float = 4.0
    """Partial routes may come nearer to something by this: shortening may mend it [mm]."""

    mended_leg: float = 4.0
    """Legs may be shorter than their least by this: shortening may mend it [mm]."""

    bent_again: int = grows(100, 1 / 2)
    """So many partial routes of one bend are bent again, and as many paired with these."""

    most_pairs: int = grows(100_000)
    """No more pairs of partial routes than this are closed for one bend count."""

    few_free_legs: FreeLegs = field(default_factory=FreeLegs)
    """Lengths of a free leg for each of many pairs."""

    many_free_legs: FreeLegs = field(
        default_factory=lambda: FreeLegs(
            spare=tuple(share / 60.0 for share in range(61)),
            longer=tuple(6.0 * steps for steps in range(61)),
        )
    )
    """Lengths of a free leg where there is only one pair."""

    most_routes: int = grows(20_000)
    """Of the routes of one bend count no more than this many, the shortest, are kept."""

    most_sequences: int = grows(400_000)
    """Of a long list of angles a tube gets fewer, so that there are no more sequences."""

    most_closed: int = grows(1_000_000)
    """So many choices of free legs at most are tried for the sequences of a bend count."""

    axis_places: int = grows(60, 1 / 2)
    """Places on each port's axis that are tried for two bends of any angle."""

    axis_furthest: float = 320.0
    """How far these reach beyond the least straight [mm]."""

    waypoint_outward: tuple[float, ...] = grows(
        (0, 10, 20, 32, 46, 62, 80, 105, 135, 170, 215, 270), 1 / 2
    )
    """The same places for three and four bends, over waypoints [mm]."""

    one_waypoint_step: float = grows(20.0, -1 / 3)
    """Spacing of the waypoints, one of which lies between the ports' axes [mm]."""

    two_waypoints_step: float = grows(24.0, -1 / 3)
    """The same where two of them do [mm]."""

    many_waypoints_step: float = grows(20.0, -1 / 3)
    """Cells for more bends [mm]: the roomiest place of each is a waypoint..."""

    most_nodes: int = grows(1_200, 2 / 3)
    """... of which there are so many at most; else cells are larger."""

    near_listed_deg: float = 12.0
    """Bends over waypoints may be off a listed angle by this: shortening mends it."""

    longest_leg: float = 250.0
    """Waypoints further apart than this are not joined [mm]."""

    waypoint_corner: float = 12.0
    """A vertex lies nearer to solids than its bend by this, about [mm]."""

    leg_shares: tuple[float, ...] = (
        *(0.5, 0.0, 1.0, 0.25, 0.75),
        *(0.125, 0.375, 0.625, 0.875),
    )
    """Where along a leg between waypoints it is looked for room, one after the other."""

    most_waypoints: int = grows(450, 1 / 2)
    """Of the waypoints of one end so many are joined with those of the other."""

    most_over_two: int = grows(40_000)
    """Of routes over two waypoints so many are looked at for room between these."""

    most_over_waypoints: int = grows(6_000)
    """Of the routes over waypoints so many, the shortest, are handed on."""

    most_led: int = grows(4_000)
    """Of routes with any angles so many are led to turns that the rules allow."""

    bent_back: int = grows(3)
    """Of the lattice's routes so many of one bend count are bent back."""

    @property
    def fine_outward(self) -> tuple[float, ...]:
        """What a leg is tried longer than its least at the finest [mm]."""
        return tuple(sorted({*self.outward, *self.outward_between}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Tries:
    """How much is done for the tubes of one bend count."""

    enough: int = grows(4)
    """So many tubes are enough, each another way round."""

    most: int = grows(12)
    """No more routes than this are shortened for them."""

    between: int = grows(3)
    """At last so many are shortened that lie between those that were."""


NO_TRIES: Final = Tries(enough=0, most=0, between=0)
"""Nothing is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortlistEffort:
    """For choosing the few routes that are shortened."""

    chunk: int = grows(2048)
    """How many routes are sampled at a time, the best first..."""

    plenty: int = grows(400)
    """... until so many seem free."""

    first_shares: tuple[float, ...] = (0.05, 0.35, 0.65, 0.95)
    """Where on every straight it is looked first."""

    straight_samples: int = grows(12)
    """Points at which a straight is looked at then."""

    bend_samples: int = grows(5)
    """The same of a bend."""

    most_lacking: float = 6.0
    """Routes that come nearer to something by more than this are left out [mm]."""

    seems_free: float = 0.3
    """Routes that lack no more than this are held to be free until measured [mm]."""

    most_measured: int = grows(300)
    """Of the routes that seem free, and of those that seem to lack a little, so many are
    measured exactly..."""

    measured: int = grows(6)
    """... at so many points each: the grid is wrong by two millimetres near an edge."""

    lack_worth: float = 6.0
    """What missing room is held to be worth: so much, times its square [mm of tube / mm^2].

    A little can nearly always be mended, a lot seldom.
    """

    fewest_bends: Tries = field(default_factory=Tries)
    """For the fewest bends that there are tubes of."""

    one_more: Tries = field(
        default_factory=lambda: Tries(enough=3, most=4, between=0),
    )
    """For one bend more."""

    two_more: Tries = field(
        default_factory=lambda: Tries(enough=2, most=4, between=0),
    )
    """For two bends more, and for any number beyond."""

    shorter: Tries = field(
        default_factory=lambda: Tries(enough=2, most=4, between=0),
    )
    """For tubes that are any good only if they are shorter than one that is known."""

    last_resort: Tries = field(default_factory=lambda: Tries(most=30))
    """For the most bends but one that can be laid out, where there is no tube at all."""

    over_graph: Tries = field(
        default_factory=lambda: Tries(enough=2, most=16, between=0),
    )
    """For each bend count over the waypoint graph, where there is no tube of fewer."""

    whatever_angles: int = grows(2)
    """Routes of one bend count that are shortened whatever their angles come to."""

    gained: float = 10.0
    """Shortening seldom makes a route shorter by more than this [mm]."""

    gained_loose: float = 40.0
    """With free angles it seldom gains more than this [mm]."""

    @property
    def quick(self) -> ShortlistEffort:
        """The same, but only the best few routes of each bend count are shortened."""
        few = replace(self.fewest_bends, enough=1, most=3, between=0)
        return replace(
            self.for_one, fewest_bends=few, last_resort=NO_TRIES, over_graph=NO_TRIES
        )

    @property
    def for_one(self) -> ShortlistEffort:
        """The same, but no more is done once there is a tube."""

        def one(tries: Tries) -> Tries:
            return replace(tries, enough=min(tries.enough, 1), between=0)

        return replace(
            self,
            fewest_bends=one(self.fewest_bends),
            last_resort=one(self.last_resort),
            over_graph=one(self.over_graph),
            whatever_angles=0,
        )

    def tries(self, more: int) -> Tries:
        """Return what is done for tubes of so many bends more than the fewest."""
        return (self.fewest_bends, self.one_more, self.two_more)[min(more, 2)]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShorteningEffort:
    """For shortening one route by a chain of quadratic programmes."""

    chains: int = grows(4, 1 / 2)
    """Chains one after the other, with more margin and rules that cost more to break."""

    rounds: int = grows(25, 1 / 2)
    """Programmes in one chain at most."""

    least_gain: float = grows(0.01, -1)
    """Two steps in a row that gain less than this end the chain [mm]."""

    first_stiffness: float = 0.1
    """Of the springs that hold the vertices in the first round [mm of tube per mm^2]."""

    later_stiffness: float = 1.0
    """Of the springs in the first round of a later chain [mm of tube per mm^2]."""

    stiffest: float = 1e5
    """The chain ends when even springs this stiff do not make a step good."""

    shares: tuple[float, ...] = (0.5, 0.2)
    """Of a step that is no good these shares are tried; the first that is good is taken."""

    firmer: tuple[float, ...] = (1.5, 4.0)
    """What the springs' stiffness is multiplied by when that share was taken."""

    softer: float = 0.4
    """What it is multiplied by when a whole step was good."""

    firmest: float = 16.0
    """What it is multiplied by when nothing was any good."""

    soft: float = 0.001
    """Stiffness against slack, next to none: slack has a price of its own.

    A route of free angles may stand thirty degrees from a standard one.
    """

    penalty: float = 50.0
    """Length that a millimetre or a degree of broken rule is held to be worth [mm]."""

    dearer: float = 4.0
    """What breaking a rule costs so many times more in each later chain."""

    hopeless: float = 0.5
    """Where more than this is missing a chain ended in a place too narrow [mm, degrees]."""

    sight: float = 30.0
    """Solids further from the tube than its reach and this are left out [mm]."""

    watch: float = 8.0
    """Places with more room than this are no limits [mm]."""

    most_limits: int = grows(40)
    """Of all limits only the nearest this many enter a programme."""

    samples: int = grows(9, 1 / 2)
    """Samples on every stretch that find where it comes near to a solid."""

    closer: int = 2
    """How often as many samples are put between the neighbours of the lowest one."""

    holds: int = grows(3)
    """How often a trial is led back to exact angles."""

    squarings: int = grows(15)
    """How often a finished route is led to exact angles at most."""
