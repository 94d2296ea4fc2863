"""In which order tubes and parts go together, found by taking them apart."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import TYPE_CHECKING, Final

from loopsolver.assembly.blocking import Build
from loopsolver.assembly.covering import covered_parts
from loopsolver.assembly.insertion import Insertion, insertion
from loopsolver.assembly.joints import fitted_tubes
from loopsolver.assembly.leaving import square_outs
from loopsolver.assembly.removal import Removal, Remover
from loopsolver.assembly.swept import Slide
from loopsolver.geometry.vectors import AXES
from loopsolver.routing.control import UNATTENDED, Control, Ended, TakingApart

if TYPE_CHECKING:
    from loopsolver.plan.file import Plan


MOST_SETS: Final = 200
"""At most so many sets of loose parts are tried: all of a loop of seven parts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stuck:
    """A tube that no way was found to take out, whatever else is out.

    Attributes
    ----------
    tube : str
    helpful : tuple of str
        Parts of which any one, if it were movable, would let it out.
    """

    tube: str
    helpful: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyOrder:
    """How a plan's tubes go in, and in which order.

    Attributes
    ----------
    insertions : tuple of Insertion
        One a tube, in the order of the plan.
    is_stated : bool
        Whether the scene says what may be moved; else any part that a tube ends at may.
    removals : tuple of Removal
        In the order of taking out; the other way round is that of putting in.
    stuck : tuple of Stuck
    blocked : mapping of str to tuple of str
        For each tube that does not come out first: the tubes of which each, taken out
        before, lets it out; none where it takes several.
    covered : mapping of str to tuple of str
        The parts that would come straight out by the sides where tubes come in, were it
        not for these tubes.
    ended : Ended
    """

    insertions: tuple[Insertion, ...]
    is_stated: bool
    removals: tuple[Removal, ...]
    stuck: tuple[Stuck, ...] = ()
    blocked: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    covered: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ended: Ended = "done"

    @property
    def loose(self) -> tuple[str, ...]:
        """The parts that have to be loose, in the order in which they are fixed."""
        told: dict[str, None] = {}
        for removal in self.removals:
            told.update(dict.fromkeys(removal.freeing.parts))
        return tuple(told)[::-1]


def assembly(plan: Plan, *, control: Control = UNATTENDED) -> AssemblyOrder:
    """Return how a plan's chosen tubes go in, and in which order.

    Parameters
    ----------
    plan : Plan
    control : Control
        Asked between removals when the search must end; the best order by then is told.
    """
    scene = plan.scene
    tubes = fitted_tubes(scene, plan.runs)
    insertions = tuple(insertion(tube, scene.tube) for tube in tubes)
    remover = Remover(Build(scene, tubes), insertions)
    carrying = tuple(dict.fromkeys(one.part for tube in tubes for one in tube.joints))
    search = _TakingApart(remover, control)
    stated = scene.assembly
    if stated is None:
        found = search.with_fewest(carrying)
    else:
        found = search.order(frozenset((*stated.movable, *stated.last)))
    ended = control.ending or "done"
    removals = by_fewest_sides(remover.build, found.removals)
    sides = (one.leaving.out.way for one in removals)
    return AssemblyOrder(
        insertions=insertions,
        is_stated=stated is not None,
        removals=removals,
        stuck=tuple(search.stuck(found, carrying)),
        blocked=search.blocked(found),
        covered=covered_parts(remover.build, sides),
        ended=ended,
    )


def by_fewest_sides(of: Build, removals: Sequence[Removal]) -> tuple[Removal, ...]:
    """Return removals whose tubes leave by few sides of the case.

    The side by which most can leave is taken first, then that for most of the others,
    and so on: each side has to be open.
    """
    outs = {one.tube: square_outs(of, one.start, one.leaving) for one in removals}
    chosen: dict[str, Slide] = {}
    while left := [name for name in outs if outs[name] and name not in chosen]:
        counts = Counter(out.way for name in left for out in outs[name])
        way = max(AXES.values(), key=lambda one: counts[one])
        chosen.update(
            (name, out) for name in left for out in outs[name] if out.way == way
        )
    return tuple(
        replace(
            one,
            leaving=replace(one.leaving, out=chosen.get(one.tube, one.leaving.out)),
        )
        for one in removals
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Removals:
    """Removals one after the other with some parts loose, and the tubes that stay in."""

    removals: tuple[Removal, ...]
    left: frozenset[str]
    loose: frozenset[str]

    @property
    def cost(self) -> tuple[float, ...]:
        """How many tubes stay in, and what the removals cost together."""
        return (len(self.left), *_sums(self.removals))


def _sums(removals: Sequence[Removal]) -> tuple[float, ...]:
    """Return the costs of removals together, most important first."""
    costs = [one.cost for one in removals]
    return tuple(math.fsum(parts) for parts in zip(*costs, strict=True))


class _TakingApart:
    """Takes a build apart."""

    def __init__(self, remover: Remover, control: Control) -> None:
        """Make the search among what a remover finds."""
        self._remover = remover
        self._control = control
        self._names = frozenset(remover.insertions)

    def order(self, loose: frozenset[str]) -> _Removals:
        """Return the order of the least cost in which tubes come out.

        Notes
        -----
        What is out can block nothing, so a tube comes out at no more cost the more others
        are out. One that already comes out for what it would cost as the last one goes at
        once: to wait could gain nothing, and its place hinders the others no more. Only
        where there is none such are the choices tried one after the other.
        """
        self._control.tell(TakingApart(loose=tuple(sorted(loose))))
        cheapest = self._remover.cheapest
        floors = {
            name: cheapest(name, self._names - {name}, loose) for name in self._names
        }

        @cache
        def apart(gone: frozenset[str]) -> tuple[Removal, ...]:
            options = []
            for name in sorted(self._names - gone):
                floor = floors[name]
                option = None if floor is None else cheapest(name, gone, loose)
                if option is None or floor is None:
                    continue
                if option.cost == floor.cost:
                    return (option, *apart(gone | {name}))
                options.append(option)
            if self._control.ending:
                options = sorted(options, key=lambda one: one.cost)[:1]
            orders = [(one, *apart(gone | {one.tube})) for one in options]
            return min(orders, key=lambda one: (-len(one), *_sums(one)), default=())

        removals = apart(frozenset())
        left = self._names - {one.tube for one in removals}
        return _Removals(removals=removals, left=left, loose=loose)

    def with_fewest(self, parts: Sequence[str]) -> _Removals:
        """Return the order that takes the fewest loose parts of some.

        Parts are first left out one at a time while nothing is lost; then all smaller
        sets are tried that have a part of every tube that needs one.
        """
        best = self.order(frozenset(parts))
        for part in parts:
            fewer = self.order(best.loose - {part})
            if len(fewer.left) <= len(best.left):
                best = fewer
        needs = [
            {joint.part for joint in one.tube.joints}
            for name, one in self._remover.insertions.items()
            if not one.goes_in and name not in best.left
        ]
        sets = (
            frozenset(some)
            for size in range(len(best.loose) + 1)
            for some in itertools.combinations(parts, size)
            if all(need & set(some) for need in needs)
        )
        for some in itertools.islice(sets, MOST_SETS):
            if self._control.ending or len(some) > len(best.loose):
                break
            found = self.order(some)
            if len(found.left) <= len(best.left) and (
                (len(some), found.cost) < (len(best.loose), best.cost)
            ):
                best = found
        return best

    def stuck(self, found: _Removals, parts: Sequence[str]) -> Iterator[Stuck]:
        """Yield the tubes that stay in, with the parts that would let them out."""
        gone = self._names - found.left
        for name in sorted(found.left):
            own = {one.part for one in self._remover.insertions[name].tube.joints}
            helpful = (
                part
                for part in parts
                if part in own - found.loose
                and self._remover.cheapest(name, gone, found.loose | {part})
            )
            yield Stuck(tube=name, helpful=tuple(helpful))

    def blocked(self, found: _Removals) -> dict[str, tuple[str, ...]]:
        """Return for each tube that does not come out first what has to be out before."""
        cheapest, loose = self._remover.cheapest, found.loose
        return {
            one.tube: tuple(
                other
                for other in sorted(self._names - {one.tube})
                if cheapest(one.tube, frozenset({other}), loose)
            )
            for one in found.removals
            if not cheapest(one.tube, frozenset(), loose)
        }
