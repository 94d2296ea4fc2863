"""Rules with values that can be relaxed, and how far they must be."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from loopsolver.routing.problem import Candidate
from loopsolver.routing.reasons.changes import Change
from loopsolver.routing.reasons.trials import Trials
from loopsolver.scene.model import Port
from loopsolver.tolerances import TOUCH
from loopsolver.tube.stock import MATERIAL_FACTS

CLEARANCE_STEP: Final = 0.1
LENGTH_STEP: Final = 0.5
RADIUS_STEP: Final = 1.0
"""Steps in which values are tried and told [mm]."""

LEAST_CLEARANCE: Final = 0.5
"""No clearance below this is offered: the tube would rub [mm]. No source."""

LEAST_BETWEEN: Final = 5.0
"""No straight between bends below this is offered [mm]. Common practice, no source."""

Helps = tuple[tuple[Change, ...], Candidate]
"""Changes, and a route that they give."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """A rule with a value that can be relaxed.

    Attributes
    ----------
    to : callable
        The change to a value.
    values : tuple of float
        Those to try, the most generous first; the scene's own is not among them.
    """

    to: Callable[[float], Change]
    values: tuple[float, ...]

    @property
    def widest(self) -> Change:
        """The change to the most generous value."""
        return self.to(self.values[0])


def sought(trials: Trials, dial: Dial) -> Helps | None:
    """Return the least generous value of a dial that gives a route, if any does.

    The value and the one after it were both tried; where the work ran out in between,
    it is the least generous that was tried and does.
    """
    if trials.route_with(dial.widest) is None:
        return None
    low, high = 0, len(dial.values)
    while high - low > 1 and not trials.is_spent:
        middle = (low + high) // 2
        works = trials.route_with(dial.to(dial.values[middle])) is not None
        low, high = (middle, high) if works else (low, middle)
    change = dial.to(dial.values[low])
    route = trials.route_with(change)
    return None if route is None else ((change,), route)


def steps(low: float, high: float, step: float) -> tuple[float, ...]:
    """Return the whole steps from `low` on that are below `high`.

    >>> steps(0.5, 0.8, 0.1)
    (0.5, 0.6, 0.7)
    """
    first, last = math.ceil(low / step - TOUCH), math.ceil(high / step - TOUCH)
    return tuple(round(count * step, 9) for count in range(first, last))


def ports_of(trials: Trials) -> tuple[Port, Port]:
    """Return the two ports of a run; of a choice, the first."""
    run = trials.run
    start, goal = (
        trials.scene.port(names[0]) for names in (run.from_ports, run.to_ports)
    )
    return start, goal


def end_dials(trials: Trials) -> list[Dial]:
    """Return what a blocked end may ask for: the clearance and both end straights."""
    dials = [clearance_dial(trials), *(_straight_dial(p) for p in ports_of(trials))]
    return [dial for dial in dials if dial.values]


def bend_dials(trials: Trials) -> list[Dial]:
    """Return what bends may ask for: the straight between them and the radius."""
    dials = [_between_dial(trials), _radius_dial(trials)]
    return [dial for dial in dials if dial.values]


def clearance_dial(trials: Trials) -> Dial:
    """Return the clearance as it may be relaxed."""
    asked = trials.problem.clearance
    return Dial(
        to=lambda value: Change(rule="clearance", before=asked, after=value),
        values=steps(LEAST_CLEARANCE, asked, CLEARANCE_STEP),
    )


def _straight_dial(port: Port) -> Dial:
    straight = [fitting for fitting in port.fittings if not fitting.turn_deg]
    asked = (*straight, *port.fittings)[0].straight_beyond
    return Dial(
        to=lambda value: Change(
            rule="straight at an end", subject=port.name, before=asked, after=value
        ),
        values=steps(0.0, asked, LENGTH_STEP),
    )


def _between_dial(trials: Trials) -> Dial:
    asked = trials.problem.straight_between_bends
    return Dial(
        to=lambda value: Change(
            rule="straight between bends", before=asked, after=value
        ),
        values=steps(LEAST_BETWEEN, asked, LENGTH_STEP),
    )


def _radius_dial(trials: Trials) -> Dial:
    tube, asked = trials.scene.tube, trials.problem.bend_radius
    tightest = MATERIAL_FACTS[tube.material].least_radius_diameters
    return Dial(
        to=lambda value: Change(rule="bend radius", before=asked, after=value),
        values=steps(tightest * tube.outer_diameter, asked, RADIUS_STEP),
    )
