"""Rules with values that can be relaxed, and how far they must be."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.routing.diagnosis.probes import Probes
from loopsolver.routing.diagnosis.rule_changes import Change
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Port
from loopsolver.tolerances import TIDY_DECIMALS, TOUCH
from loopsolver.tube.stock import MATERIAL_FACTS

CLEARANCE_STEP: Final = 0.1
LENGTH_STEP: Final = 0.5
RADIUS_STEP: Final = 1.0
"""Steps in which values are tried and told [mm]."""

A_MILLIMETRE: Final = round(1.0 / LENGTH_STEP)
"""So many steps of a length are told apart for certain."""

LEAST_CLEARANCE: Final = 0.5
"""No clearance below this is offered: the tube would rub [mm]. No source."""

LEAST_BETWEEN: Final = 5.0
"""No straight between bends below this is offered [mm]. Common practice, no source."""

ANGLE_STEP_DEG: Final = 1.0
"""Step in which angles are tried and told [degrees]."""

SHARPEST_OFFERED_DEG: Final = 150.0
"""No sharper bend is offered: the tube would lie on itself [degrees]. No source."""

SLIGHTEST_OFFERED_DEG: Final = 1.0
"""No slighter bend is offered: nobody bends half a degree [degrees]. No source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """Changes, and a route that they give.

    Attributes
    ----------
    changes : tuple of Change
    route : Candidate
    too_little : float or None
        Where less than what a rule's own grid tells apart was not tried in between: the
        nearest value of the last change that is not enough.
    """

    changes: tuple[Change, ...]
    route: Candidate
    too_little: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxation:
    """A rule with a value that can be relaxed.

    Attributes
    ----------
    to : callable
        The change to a value.
    values : tuple of float
        Those to try, the most generous first; the scene's own is not among them.
    apart : int
        How many values further on less must be not enough: 1 mm, 1 degree, or a step.
    """

    to: Callable[[float], Change]
    values: tuple[float, ...]
    apart: int = 1

    @property
    def widest(self) -> Change:
        """The change to the most generous value."""
        return self.to(self.values[0])


def least_relaxed(
    probes: Probes, relaxation: Relaxation, *, beside: tuple[Change, ...] = ()
) -> Help | None:
    """Return the least generous value of a rule that gives a route, if any does.

    Quick searches say about where it is. Then all that `route` searches tries one that
    is `apart` less, and goes on until it finds no tube. More is not said: a search that
    is not exhaustive may find a tube with still less where it has found none in between.

    Parameters
    ----------
    probes : Probes
    relaxation : Relaxation
    beside : tuple of Change
        What is changed as well.
    """
    values = relaxation.values

    def changes(place: int) -> tuple[Change, ...]:
        return (*beside, relaxation.to(values[place]))

    low = _quickly_bracketed(probes, [changes(place) for place in range(len(values))])
    while probes.some_with(*changes(low)) is not None and not probes.is_stopped:
        low, high = least_place(
            lambda place: probes.some_with(*changes(place)) is not None,
            low,
            len(values),
            apart=relaxation.apart,
            may_go_on=lambda: probes.may_search,
        )
        route = probes.best_with(*changes(low))
        if route is not None:
            own = relaxation.widest.before
            told = (*values, own if isinstance(own, float) else 0.0)[high]
            return Help(
                changes=changes(low),
                route=route,
                too_little=told if high - low > relaxation.apart else None,
            )
        low //= 2
    return None


def least_place(
    works: Callable[[int], bool],
    low: int,
    high: int,
    *,
    apart: int = 1,
    reach: int | None = None,
    may_go_on: Callable[[], bool] = lambda: True,
) -> tuple[int, int]:
    """Return two places `apart`, or less, of which the first works and the other does not.

    Parameters
    ----------
    works : callable
    low, high : int
        `low` works and `high` does not.
    apart : int
    reach : int, optional
        How far beyond `low` is tried first, where it is probably the last that works;
        twice as far each time. `apart` if left out.
    may_go_on : callable
        Once it says no, they may be further apart.

    Examples
    --------
    >>> least_place(lambda place: place <= 11, 0, 25)
    (11, 12)
    """
    reach = reach or apart
    while high - low > apart and may_go_on():
        half = max((high - low) // apart // 2, 1) * apart
        place = low + min(reach, half)
        if works(place):
            low, reach = place, 2 * reach
        else:
            high = place
    return low, high


def _quickly_bracketed(probes: Probes, tries: Sequence[tuple[Change, ...]]) -> int:
    """Return the place of about the last of some tries that gives a route."""
    if probes.route_with(*tries[0]) is None:
        return 0
    low, high = 0, len(tries)
    while high - low > 1 and probes.may_refine:
        middle = (low + high) // 2
        works = probes.route_with(*tries[middle]) is not None
        low, high = (middle, high) if works else (low, middle)
    return low


def steps(low: float, high: float, step: float) -> tuple[float, ...]:
    """Return the whole steps from `low` on that are below `high`.

    >>> steps(0.5, 0.8, 0.1)
    (0.5, 0.6, 0.7)
    """
    first, last = math.ceil(low / step - TOUCH), math.ceil(high / step - TOUCH)
    return tuple(round(count * step, TIDY_DECIMALS) for count in range(first, last))


def ports_of(probes: Probes) -> tuple[Port, Port]:
    """Return the two ports of a run; of a choice, the first."""
    run = probes.run
    start, goal = (
        probes.scene.port(names[0]) for names in (run.from_ports, run.to_ports)
    )
    return start, goal


def end_relaxations(probes: Probes) -> list[Relaxation]:
    """Return what a blocked end may ask for: the clearance and both end straights."""
    relaxations = [
        clearance_relaxation(probes),
        *(_straight_relaxation(p) for p in ports_of(probes)),
    ]
    return [relaxation for relaxation in relaxations if relaxation.values]


def bend_relaxations(probes: Probes) -> list[Relaxation]:
    """Return what bends may ask for: the straight between them and the radius."""
    relaxations = [_between_relaxation(probes), _radius_relaxation(probes)]
    return [relaxation for relaxation in relaxations if relaxation.values]


def clearance_relaxation(probes: Probes) -> Relaxation:
    """Return the clearance as it may be relaxed."""
    asked = probes.problem.clearance
    return Relaxation(
        to=lambda value: Change(rule="clearance", before=asked, after=value),
        values=steps(LEAST_CLEARANCE, asked, CLEARANCE_STEP),
    )


def range_relaxations(probes: Probes) -> list[Relaxation]:
    """Return the range of free bends: its greatest, and its least where it counts."""
    problem, step = probes.problem, ANGLE_STEP_DEG
    if problem.bend_angles_deg != "any":
        return []
    least, most = problem.least_bend_deg(problem.max_bends), problem.bend_range[1]
    relaxations = [
        Relaxation(
            to=lambda value: Change(rule="sharpest bend", before=most, after=value),
            values=steps(most + step, SHARPEST_OFFERED_DEG + step, step)[::-1],
        ),
        Relaxation(
            to=lambda value: Change(rule="slightest bend", before=least, after=value),
            values=steps(SLIGHTEST_OFFERED_DEG, least, step),
        ),
    ]
    return [relaxation for relaxation in relaxations if relaxation.values]


def _straight_relaxation(port: Port) -> Relaxation:
    straight = [fitting for fitting in port.fittings if not fitting.turn_deg]
    asked = (*straight, *port.fittings)[0].straight_beyond
    return Relaxation(
        to=lambda value: Change(
            rule="straight at an end", subject=port.name, before=asked, after=value
        ),
        values=steps(0.0, asked, LENGTH_STEP),
        apart=A_MILLIMETRE,
    )


def _between_relaxation(probes: Probes) -> Relaxation:
    asked = probes.problem.straight_between_bends
    return Relaxation(
        to=lambda value: Change(
            rule="straight between bends", before=asked, after=value
        ),
        values=steps(LEAST_BETWEEN, asked, LENGTH_STEP),
        apart=A_MILLIMETRE,
    )


def _radius_relaxation(probes: Probes) -> Relaxation:
    tube, asked = probes.scene.tube, probes.problem.bend_radius
    tightest = MATERIAL_FACTS[tube.material].least_radius_diameters
    return Relaxation(
        to=lambda value: Change(rule="bend radius", before=asked, after=value),
        values=steps(tightest * tube.outer_diameter, asked, RADIUS_STEP),
    )
