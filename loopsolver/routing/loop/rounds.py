"""Rounds of routing again: runs that are in each other's way look for other ways.

No search prices the room that others take. Instead runs are laid beside chosen others
as hard obstacles, in several orders; all that is found stays in the pool, and the
programme picks across rounds. Four kinds of round take turns. In one, a run that has
not its best way takes a better one, and those it gets in the way of are laid anew beside
it. In one, levels of good ways are moved to where they may clear those of others. In
one, runs are laid one after the other in some order. In one, the whole choice with the
fewest clashes is taken, and those that clash are laid anew.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.routing.loop.choice import Cost
from loopsolver.routing.loop.joint import Chooser, Selection, total_of
from loopsolver.routing.loop.laying import Router
from loopsolver.routing.loop.pool import Pool
from loopsolver.routing.loop.ports import PortPair
from loopsolver.routing.loop.repair import Whole, least_clashing
from loopsolver.routing.loop.telling import Ended

BETTER_WAYS: Final = 3
"""How many better ways of a run room is made for."""

DODGING_WAYS: Final = 2
"""How many of a run's best ways are tried with their levels elsewhere."""

PORT_PAIRS: Final = 2
"""Between how many pairs of ports a run is laid beside others: its best ones."""

PATIENCE: Final = 40
"""Orders without improvement after which the choice stands; most of them are known."""

SEARCHES_A_RUN: Final = 1
"""Searches without improvement, for each run, after which it stands as well."""

LACKING: Final = 4
"""So many times as many searches are spent while a run has no way at all."""

Bound = tuple[frozenset[int], Cost | None]
"""What a run's best way beside some ways costs; None where there is none."""

Clock = Callable[[], float]
"""Seconds left."""

Told = Callable[[int, Selection], None]
"""Told after each round: its number, the best selection so far."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What came of the rounds.

    Attributes
    ----------
    selection : Selection
    rounds : int
        In how many rounds something was routed again.
    refused : int
        Routes of the searches that failed the independent check.
    ended : Ended
    """

    selection: Selection
    rounds: int = 0
    refused: int = 0
    ended: Ended = "done"

    @property
    def is_cut_short(self) -> bool:
        """Whether the rounds ended before nothing more was to be gained by them."""
        return self.ended != "done"


class Rounds:
    """Fills a pool with ways that fit beside each other."""

    def __init__(
        self, router: Router, chooser: Chooser, *, among: Callable[[], Iterable[int]]
    ) -> None:
        """Make the rounds; `among` gives the ways that may be chosen from the pool."""
        self.router = router
        self.chooser = chooser
        self.pool: Pool = chooser.pool
        self.among = among
        self.refused = 0
        self._in_vain = self._all_searches = 0
        self._ideals: dict[int, Selection] = {}
        self._dodged: set[tuple[int, frozenset[int]]] = set()
        self._mended: list[Whole] = []
        self._bounds: dict[int, list[Bound]] = {
            run: [(frozenset(), self._cheapest(run))] for run in self._runs()
        }

    def settle(self, *, left: Clock, told: Told) -> Settled:
        """Return the best selection that rounds lead to.

        Parameters
        ----------
        left : Clock
            A guard: usually the rounds end because nothing improves.
        told : Told

        Notes
        -----
        Ctrl-C ends the rounds as well. It may come at any place, so what it leaves
        behind is the best of the rounds before.
        """
        number = improved_at = searched = 0
        ended: Ended = "done"
        shuffle = random.Random(0)
        best: Selection | None = None
        try:
            best = self.chooser.best(self.among())
            told(0, best)
            while number - improved_at < PATIENCE and self._is_worth_more(best):
                if left() <= 0.0:
                    ended = "time"
                    break
                number += 1
                known, begun = len(self.pool.ways), self._all_searches
                for _ in self._round(number, best, shuffle):
                    if left() <= 0.0:
                        break
                if len(self.pool.ways) > known:
                    found = self.chooser.best(self.among())
                    if found.worth < best.worth:
                        best, improved_at = found, number
                        self._in_vain = 0
                searched += self._all_searches > begun
                told(searched, best)
        except KeyboardInterrupt:
            ended = "stopped"
        return Settled(
            selection=self._in_turn() if best is None else best,
            rounds=searched,
            refused=self.refused,
            ended=ended,
        )

    def _in_turn(self) -> Selection:
        """Return a quick choice: each run in turn takes its best way that is free.

        Those with the fewest ways come first, so before all those that are settled.
        """
        placed: list[int] = []
        taken: set[str] = set()
        for run in sorted(self._runs(), key=lambda run: (len(self._ways(run)), run)):
            way = self._free(run, placed, taken=taken)
            if way is not None:
                placed.append(way)
                taken.update(self.pool.ways[way].ports)
        return Selection(
            ways=tuple(placed),
            total=total_of(self.chooser.cost(way) for way in placed),
            is_proven=False,
        )

    def _is_worth_more(self, best: Selection) -> bool:
        """Return whether more rounds may bring something better."""
        wanted = len(self._wanted(best))
        most = SEARCHES_A_RUN * wanted
        if len(best.ways) < wanted:
            most *= LACKING
        return self._in_vain < most and not self._is_ideal(best)

    def _is_ideal(self, best: Selection) -> bool:
        """Return whether the selection is as good as if tubes could cross."""
        return best.worth <= self._ideal().worth

    def _wanted(self, best: Selection) -> tuple[int, ...]:
        """Return the runs that have a part in the best or in the ideal selection."""
        ways = (*best.ways, *self._ideal().ways)
        return tuple(sorted({self.pool.ways[way].run for way in ways}))

    def _ideal(self) -> Selection:
        """Return the best selection if tubes could cross; reckoned once a pool."""
        known = len(self.pool.ways)
        if self._ideals.get(known) is None:
            self._ideals = {known: self.chooser.regardless(self.among())}
        return self._ideals[known]

    def _round(
        self, number: int, best: Selection, shuffle: random.Random
    ) -> Iterator[None]:
        """Do one round; yields between its searches."""
        chosen = {self.pool.ways[way].run: way for way in best.ways}
        runs = self._wanted(best)
        if number % 4 == 1:
            for run in runs:
                yield from self._displace(run, chosen)
        elif number % 4 == 2:
            yield from self._dodge(runs, chosen)
        elif number % 4 == 3:
            order = self._entangled(runs, chosen)
            if number > 4:
                shuffle.shuffle(order)
            yield from self._lay_in_order(order, chosen)
        else:
            yield from self._mend(best, runs)

    def _excess(self, run: int, chosen: dict[int, int]) -> Cost:
        """Return by how much a run's chosen way is worse than its best, part by part."""
        best = self._cheapest(run)
        if run not in chosen:
            return tuple(float("inf") for _ in best)
        cost = self.chooser.cost(chosen[run])
        return tuple(a - b for a, b in zip(cost, best, strict=True))

    def _runs(self) -> set[int]:
        return {self.pool.ways[way].run for way in self.among()}

    def _cheapest(self, run: int) -> Cost:
        """Return what a run's own best way costs."""
        return min(self.chooser.cost(way) for way in self._ways(run))

    def _ways(self, run: int) -> list[int]:
        return [way for way in self.among() if self.pool.ways[way].run == run]

    def _entangled(self, runs: Sequence[int], chosen: dict[int, int]) -> list[int]:
        """Return runs that lack their best way and those in its way, worst off first."""
        found: set[int] = set()
        for run in runs:
            for way in self._better(run, chosen):
                found.add(run)
                found.update(
                    other
                    for other, its_way in chosen.items()
                    if other != run and self.pool.clash(way, its_way)
                )
        return sorted(found, key=lambda run: (_negated(self._excess(run, chosen)), run))

    def _better(self, run: int, chosen: dict[int, int]) -> list[int]:
        """Return a run's ways that are better than its chosen one, best first."""
        ways = self._ways(run)
        if run in chosen:
            now = self.chooser.cost(chosen[run])
            ways = [way for way in ways if self.chooser.cost(way) < now]
        return sorted(ways, key=lambda way: (self.chooser.cost(way), way))[:BETTER_WAYS]

    def _displace(self, run: int, chosen: dict[int, int]) -> Iterator[None]:
        """Give a run better ways in turn, and lay those in the way of them anew."""
        others = [way for other, way in chosen.items() if other != run]
        better = self._better(run, chosen)
        if better:
            self._best_beside(run, others)
            yield
        for way in better:
            placed = [way] + [w for w in others if not self.pool.clash(way, w)]
            moved = [w for w in others if self.pool.clash(way, w)]
            for blocker in moved:
                found = self._best_beside(self.pool.ways[blocker].run, placed)
                yield
                if found is None:
                    break
                placed.append(found)

    def _lay_in_order(
        self, order: Sequence[int], chosen: dict[int, int]
    ) -> Iterator[None]:
        """Lay runs one after the other, beside those that are not entangled."""
        placed = [way for run, way in chosen.items() if run not in order]
        for run in order:
            found = self._best_beside(run, placed)
            yield
            if found is not None:
                placed.append(found)

    def _dodge(self, runs: Sequence[int], chosen: dict[int, int]) -> Iterator[None]:
        """Move levels of entangled runs' good ways to where they may clear others'."""
        entangled = self._entangled(runs, chosen)
        good = {run: self._good(run, chosen) for run in entangled}
        for run in entangled:
            others = [
                self.pool.ways[way]
                for other in entangled
                if other != run
                for way in good[other]
            ]
            for way in good[run]:
                key = (way, frozenset(id(other) for other in others))
                if key not in self._dodged:
                    self._dodged.add(key)
                    self.pool.add(self.router.dodged(self.pool.ways[way], others))
                    yield

    def _good(self, run: int, chosen: dict[int, int]) -> list[int]:
        """Return a run's best ways and its chosen one."""
        ways = sorted(self._ways(run), key=lambda way: (self.chooser.cost(way), way))
        good = ways[:DODGING_WAYS]
        if run in chosen and chosen[run] not in good:
            good.append(chosen[run])
        return good

    def _mend(self, best: Selection, runs: Sequence[int]) -> Iterator[None]:
        """Lay the runs of the least clashing choice that clash anew, in two orders."""
        whole = least_clashing(
            self.chooser,
            [way for way in self.among() if self.pool.ways[way].run in runs],
            cheaper_than=best.total if len(best.ways) == len(runs) else None,
            tried=self._mended,
        )
        if whole is None:
            return
        self._mended.append(whole)
        clashing = [
            way
            for way in whole
            if any(self.pool.clash(way, other) for other in whole if other != way)
        ]
        for order in (clashing, clashing[::-1]):
            placed = [way for way in whole if way not in clashing]
            for way in order:
                if any(self.pool.clash(way, other) for other in placed):
                    found = self._best_beside(self.pool.ways[way].run, placed)
                    yield
                    if found is None:
                        break
                    placed.append(found)
                else:
                    placed.append(way)

    def _best_beside(self, run: int, placed: Sequence[int]) -> int | None:
        """Return a run's best way that clears the placed ones, searched for if need be.

        More tubes in the way make no way better: what was found beside some of them
        bounds what can be found beside all.
        """
        found = self._free(run, placed)
        beside = frozenset(placed)
        for fewer, bound in self._bounds.setdefault(run, []):
            if fewer <= beside and (
                bound is None
                or (found is not None and self.chooser.cost(found) <= bound)
            ):
                return found
        laid = [self.pool.ways[way] for way in placed]
        taken = {port for way in laid for port in way.ports}
        for ports in self._port_pairs(run):
            if not taken.intersection(ports):
                self._in_vain += 1
                self._all_searches += 1
                result = self.router.beside(run, ports, laid)
                self.refused += result.refused
                self.pool.add(result.ways)
        found = self._free(run, placed)
        bound = None if found is None else self.chooser.cost(found)
        self._bounds[run].append((beside, bound))
        return found

    def _free(
        self, run: int, placed: Sequence[int], *, taken: Collection[str] = ()
    ) -> int | None:
        """Return the best way in the pool that clears the placed ones.

        None of those whose ports are taken.
        """
        ways = self._ways(run)
        for way in sorted(ways, key=lambda way: (self.chooser.cost(way), way)):
            is_held = any(port in taken for port in self.pool.ways[way].ports)
            if not is_held and not any(self.pool.clash(way, one) for one in placed):
                return way
        return None

    def _port_pairs(self, run: int) -> list[PortPair]:
        """Return the pairs of ports of a run's best ways."""
        ways = self._ways(run)
        ways.sort(key=lambda way: (self.chooser.cost(way), way))
        pairs = dict.fromkeys(self.pool.ways[way].ports for way in ways)
        return list(pairs)[:PORT_PAIRS]


def _negated(cost: Cost) -> Cost:
    return tuple(-part for part in cost)
