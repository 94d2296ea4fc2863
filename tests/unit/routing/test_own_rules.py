"""A run's own rules go before the scene's, and of several formers each makes a tube.

Two square bends of radius R with a straight s between them need 2 R + s between the axes
of ports that face each other, s being 15 mm. Their tube is as long as the way along the
axes and across, less (2 - pi / 2) R for either bend: a larger radius cuts the corner.
"""

import math

import pytest

from loopsolver.routing.diagnosis.no_route import OffsetTooNarrow, Reason
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import Outcome, solve_run
from loopsolver.scene.model import Scene
from tests.builders.port_texts import run, scene, seated
from tests.unit.routing.explain_scenes import only, only_fact, rules_of

ALONG, SAVED = 200.0, 2.0 - math.pi / 2.0
FORMERS = [42, 21, 28]


def facing(aside: float, *runs: str, **rules: object) -> Scene:
    """Ports whose tube ends are 200 mm apart along x, and `aside` along y."""
    return scene(
        seated("pump", (50.0, 100.0, 150.0), (1, 0, 0)),
        seated("card", (50.0 + ALONG, 100.0 + aside, 150.0), (-1, 0, 0)),
        *runs,
        **rules,
    )


def outcome(of: Scene, number: int = 0) -> Outcome:
    found = solve_run(of, of.runs[number])
    assert found.refused == 0
    return found


def angles(candidate: Candidate) -> list[float]:
    return [bend.angle_deg for bend in candidate.table.bends]


# ------------------------------------------------------------------------ several formers


@pytest.mark.parametrize(
    ("aside", "largest"), [(57.0, 21.0), (70.5, 21.0), (71.0, 28.0), (99.0, 42.0)]
)
def test_formers_are_used_as_far_as_they_fit(aside: float, largest: float) -> None:
    """2 R + 15 is 57, 71 and 99 mm; tubes of smaller formers lie beside and are longer."""
    found = outcome(
        facing(aside, run("pump", "card"), bend_radius=FORMERS, max_bends=2)
    )
    assert found.candidates[0].centreline.radius == largest
    # One former for the whole tube, and the table says which.
    assert all(c.table.radius == c.centreline.radius for c in found.candidates)
    for one in found.candidates:
        radius = one.centreline.radius
        expected = ALONG + aside - 2.0 * SAVED * radius
        assert one.length == pytest.approx(expected, abs=1e-6)


def test_of_equal_bends_the_shortest_is_first_so_the_largest_former() -> None:
    found = outcome(facing(99.0, run("pump", "card"), bend_radius=FORMERS, max_bends=2))
    radii = [c.centreline.radius for c in found.candidates]
    assert radii == sorted(radii, reverse=True)
    assert radii[0] == 42.0


def test_fewer_bends_go_before_a_larger_former() -> None:
    """At 70 mm apart only 21 makes it with two bends; the others need more."""
    found = outcome(facing(70.0, run("pump", "card"), bend_radius=FORMERS))
    assert (found.candidates[0].bends, found.candidates[0].centreline.radius) == (
        2,
        21.0,
    )
    bends = [c.bends for c in found.candidates]
    assert bends == sorted(bends)
    assert all(c.bends > 2 for c in found.candidates if c.centreline.radius > 21.0)


def test_where_no_former_fits_the_smallest_is_told_of() -> None:
    """At 56 mm the smallest lacks 1 mm; 20.5 would do, 1.5 diameters are 21."""
    found = outcome(facing(56.0, run("pump", "card"), bend_radius=FORMERS, max_bends=2))
    assert found.candidates == ()
    assert isinstance(found.why, Reason)
    fact = only_fact(found.why, OffsetTooNarrow)
    told = (fact.angle_deg, fact.needed, fact.there_is)
    assert told == pytest.approx((90.0, 57.0, 56.0))
    assert "bend radius" not in rules_of(found.why)
    assert only(found.why, "straight between bends").after == 14.0


# ------------------------------------------------------------------------- its own rules


def test_a_radius_of_its_own_goes_before_the_tubes() -> None:
    runs = (run("pump", "card", bend_radius=21), run("pump", "card"))
    runs = (runs[0], runs[1].replace('name = "', 'name = "second '))
    of = facing(60.0, *runs, bend_radius=42, max_bends=2)
    own, common = outcome(of), outcome(of, 1)
    assert {c.centreline.radius for c in own.candidates} == {21.0}
    assert common.candidates == ()
    assert isinstance(common.why, Reason)
    fact = only_fact(common.why, OffsetTooNarrow)
    assert fact.needed == pytest.approx(99.0)


def test_a_list_of_formers_of_its_own_goes_before_the_tubes() -> None:
    of = facing(75.0, run("pump", "card", bend_radius=[21, 28]), bend_radius=42)
    radii = {c.centreline.radius for c in outcome(of).candidates}
    assert radii == {21.0, 28.0}


def test_bend_angles_of_its_own_go_before_the_rules() -> None:
    """At 40 mm square bends have no room. Those of 45 degrees need 27 mm.

    2 R (1 - cos 45) + s sin 45 is 16.4 + 10.6. The slanting leg is 40 sqrt 2 long and
    takes 40 mm off the way along; either bend rounds (2 tan 22.5 - pi / 4) R off.
    """
    aside = 40.0
    of = facing(aside, run("pump", "card", bend_angles=[45, 90]), max_bends=2)
    first = outcome(of).candidates[0]
    assert angles(first) == pytest.approx([45.0, 45.0])
    rounded = (2.0 * math.tan(math.pi / 8.0) - math.pi / 4.0) * 28.0
    slant = aside * math.sqrt(2.0)
    expected = ALONG - aside + slant - 2.0 * rounded
    assert first.length == pytest.approx(expected, abs=1e-6)
    square = facing(aside, run("pump", "card"), max_bends=2)
    assert outcome(square).candidates == ()


def test_square_bends_of_its_own_where_any_are_allowed() -> None:
    of = facing(80.0, run("pump", "card", bend_angles=[90]), bend_angles="any")
    found = outcome(of).candidates
    assert found
    assert all(a == pytest.approx(90.0) for c in found for a in angles(c))


def test_any_angle_of_its_own_where_square_ones_have_no_room() -> None:
    """Ten millimetres apart: far less than any listed pair of bends needs."""
    of = facing(10.0, run("pump", "card", bend_angles="any"), max_bends=2)
    first = outcome(of).candidates[0]
    turns = [math.radians(a) for a in angles(first)]
    assert len(turns) == 2
    least = [2.0 * 28.0 * (1.0 - math.cos(a)) + 15.0 * math.sin(a) for a in turns]
    assert max(least) <= 10.0 + 1e-3


@pytest.mark.parametrize(("own", "scenes"), [(1, 9), (2, 1), (2, 9)])
def test_a_number_of_bends_of_its_own(own: int, scenes: int) -> None:
    """Ports that face each other aside need two bends, whatever the scene allows."""
    found = outcome(facing(80.0, run("pump", "card", max_bends=own), max_bends=scenes))
    assert bool(found.candidates) == (own == 2)
    assert all(c.bends == 2 for c in found.candidates)
