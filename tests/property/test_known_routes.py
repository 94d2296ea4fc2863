"""Runs whose solution is known: the search does no worse than the route laid first.

Each run is made by laying a route and placing 40 bodies round it, snug against it in
every other run (`known_routes`). By default four seeds of each kind are solved; all
two hundred of each kind, which takes about a quarter of an hour, with::

    LOOPSOLVER_FULL=1 pytest tests/property/test_known_routes.py
"""

import pytest

from loopsolver.routing.candidates import find_candidates
from tests.full import IS_FULL
from tests.property.known_routes import EVERY_KIND, Kind, known_run
from tests.property.laid_tubes import candidate_complaints

SEEDS = 200

STRIDE = 1 if IS_FULL else 25
"""Every 25th seed by default, shared among two kinds in turn.

Bend counts take turns by three or four, loose and snug runs by as many seeds again; 25
goes through all six or eight cases, as it leaves 1 over from each.
"""

CASES = [
    pytest.param(kind, seed, id=f"{kind.name}-seed{seed}")
    for number, kind in enumerate(EVERY_KIND)
    for turn, seed in enumerate(range(0, SEEDS, STRIDE))
    if IS_FULL or turn % 2 == number % 2
]

AS_SHORT = 0.5
"""A candidate may be this much longer than the route laid first [mm].

A route is not drawn together further once two rounds gain a hundredth of a millimetre;
half a millimetre is less than what a saw and a file leave.
"""


@pytest.mark.parametrize(("kind", "seed"), CASES)
def test_candidates_are_no_worse_than_the_known_route(kind: Kind, seed: int) -> None:
    known = known_run(kind, seed)
    found = find_candidates(known.problem)
    wrong = [candidate_complaints(c, known.problem) for c in found.candidates]
    assert not any(wrong), wrong
    fewest = min((c.bends for c in found.candidates), default=None)
    assert fewest is not None, f"nothing found; known: {known.vertices.tolist()}"
    assert fewest <= known.bends
    alike = [c.length for c in found.candidates if c.bends == known.bends]
    if alike:
        assert min(alike) <= known.tube.length + AS_SHORT
    else:
        # Only fewer bends make up for a bend count that is not shown.
        assert fewest < known.bends
