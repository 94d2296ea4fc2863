"""Between which ports a run is looked for that has no other runs beside it.

Figures that no tube between two ports betters are known before any search
(`routing/least_tube`). Where as many tubes as are listed are surely better, no look is
worth it: list and choice are those of all pairs of ports looked at.

References
----------
What a bound shows to be no better is left out, as in branch and bound: A. H. Land and
A. G. Doig, An automatic method of solving discrete programming problems, Econometrica 28
(1960). From memory.
"""

from __future__ import annotations

from itertools import chain

from loopsolver.routing.candidate_list import without_twins
from loopsolver.routing.diagnosis.stock import is_too_long
from loopsolver.routing.loop.integer_programme import Cost
from loopsolver.routing.loop.port_searches import PortSearches
from loopsolver.routing.loop.route_pool import Route
from loopsolver.routing.loop.set_packing import CandidateCost
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import RouteSearch
from loopsolver.scene.references import PortPair
from loopsolver.tolerances import NO_SHORTER

FoundBetween = dict[PortPair, tuple[Route, ...]]
"""What was found between pairs of ports; nothing where it was not looked yet."""


class PortLooks:
    """Looks between the ports of the only run of a loop, the most promising ones first.

    Attributes
    ----------
    left : dict of PortPair to Cost
        Where it was not looked: what a tube costs at least, or nothing where there
        surely is none.
    """

    def __init__(
        self, searches: PortSearches, search: RouteSearch, cost: CandidateCost
    ) -> None:
        """Look with a search for what costs least."""
        self.left: dict[PortPair, Cost] = {}
        self._searches = searches
        self._search = search
        self._cost = cost

    def begin(self, found: FoundBetween) -> None:
        """Look between the pairs of `found` that are worth it."""
        router = self._searches.router
        for ports in found:
            if router.control.is_over():
                return
            hopes = router.at_least(0, ports, None)
            self.left[ports] = min((self._cost(o.candidate) for o in hopes), default=())
        self.go_on(found)

    def go_on(self, found: FoundBetween, chosen: Candidate | None = None) -> None:
        """Look also between those that are worth it beside what was found meanwhile.

        The chosen tube takes the place of its twins.
        """
        router = self._searches.router
        while looks := self._worth_a_look(found, chosen):
            self._searches.ahead([(0, looks, self._search)])
            for ports in looks:
                found[ports] = self._searches.between(0, ports, self._search)
                if router.control.is_over():
                    return
                del self.left[ports]

    def _worth_a_look(
        self, found: FoundBetween, chosen: Candidate | None
    ) -> list[PortPair]:
        """Return the pairs that promise most, as many as tubes are listed.

        None that so many tubes which the stock is enough for are surely better than.
        """
        scene = self._searches.router.scene
        every = (one.candidate for one in chain(*found.values()))
        known = sorted(
            (one for one in every if not is_too_long(one, scene.tube)), key=self._cost
        )
        told = without_twins([chosen, *known] if chosen else known)
        costs, most = [self._cost(one) for one in told], scene.rules.candidates
        hopeful = [
            ports
            for ports, hope in self.left.items()
            if sum(_is_surely_less(cost, hope) for cost in costs) < most
        ]
        hopeful.sort(key=lambda ports: (not self.left[ports], self.left[ports]))
        return hopeful[:most]


def _is_surely_less(cost: Cost, hope: Cost) -> bool:
    """Return whether a tube costs less than all that may be hoped for."""
    for here, there in zip(cost, hope, strict=False):
        if abs(here - there) > NO_SHORTER:
            return here < there
    return not hope
