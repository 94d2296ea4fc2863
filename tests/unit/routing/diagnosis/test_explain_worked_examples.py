"""Reasons worked by hand, from a scene's text to its text with what was suggested.

What a person would do: read the sentence, change the one figure, and route again.
"""

import math
import re

import pytest

from loopsolver.routing.problem import Outcome
from loopsolver.routing.solve import solve_run
from loopsolver.scene.model import Scene
from tests.unit.routing.port_texts import box, port, run, scene, seated


def solved(of: Scene) -> Outcome:
    outcome = solve_run(of, of.runs[0])
    assert outcome.refused == 0
    return outcome


def why(of: Scene) -> str:
    outcome = solved(of)
    assert outcome.candidates == ()
    assert outcome.why is not None
    return outcome.why


def has_route(of: Scene) -> bool:
    return bool(solved(of).candidates)


# -------------------------------------------------- two bends need more room than there is


def offset(aside: float = 60.0, own: str = "", **rules: object) -> Scene:
    """Ports that face each other, `aside` between their axes; two bends at most."""
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (240.0, 100.0 + aside, 100.0), (-1, 0, 0)),
        run("pump", "card") + own,
        **{"max_bends": 2, **rules},
    )


def test_two_square_bends_need_71_mm_and_there_are_60() -> None:
    """2 R + s is 2 28 + 15 = 71. 2 R + 15 <= 60 holds up to R = 22.5: whole are 22."""
    told = why(offset())
    facts, ways = told.split("; possible ")
    assert facts == (
        "two 90-degree bends need 71 mm between the ports' axes, and there are 60 mm"
    )
    assert "with a former of 22 mm radius" in ways
    assert re.search(r"with bends of 45 or 90 degrees \(", ways)
    assert has_route(offset(bend_radius=22))
    assert not has_route(offset(bend_radius=23))
    assert has_route(offset(bend_angles="[45, 90]"))


def test_the_sentence_is_about_the_runs_own_former_and_changes_that() -> None:
    """The scene's former would do, the run's own of 28 does not."""
    told = why(offset(own="bend_radius = 28\n", bend_radius=21))
    assert "need 71 mm" in told
    assert "with a former of 22 mm radius" in told
    assert has_route(offset(own="bend_radius = 22\n", bend_radius=21))


def test_the_sentence_is_about_the_runs_own_angles() -> None:
    told = why(offset(own="bend_angles = [90]\n", bend_angles='"any"'))
    assert "with bends of 45 or 90 degrees" in told
    assert has_route(offset(own="bend_angles = [45, 90]\n", bend_angles='"any"'))


def test_of_several_formers_the_smallest_is_reckoned_with() -> None:
    """2 21 + 15 = 57, and there are 56: the straight between may be 56 - 42 = 14."""
    told = why(offset(56.0, bend_radius="[28, 21]"))
    assert "need 57 mm" in told
    assert "with 14 mm of straight between bends" in told


# ------------------------------------------------------------- the number of bends


def aslant(own: str, **rules: object) -> Scene:
    """Two ports square to each other whose axes pass 120 mm apart: two bends, or more."""
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (220.0, 230.0, 220.0), (0, -1, 0)),
        run("pump", "card") + own,
        **rules,
    )


def test_one_bend_more_is_offered_to_the_run_that_has_its_own() -> None:
    told = why(aslant("max_bends = 1\n", max_bends=5))
    assert "with 2 bends" in told
    assert has_route(aslant("max_bends = 2\n", max_bends=5))


# -------------------------------------------------- something stands in front of a port


def in_front(gap: float, **rules: object) -> Scene:
    """Memory beside the first straight of pump.a, `gap` from the tube."""
    face = 100.0 + 7.0 + gap
    return scene(
        seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
        seated("card", (240.0, 230.0, 100.0), (0, -1, 0)),
        box("memory", (60.0, face, 60.0), (110.0, face + 12.0, 140.0)),
        run("pump", "card"),
        **{"max_bends": 1, **rules},
    )


def test_what_stands_in_front_of_a_port_is_named_with_how_much() -> None:
    """12 mm of depth and 5 beyond make 17; memory leaves 1 mm of 3, and overlaps by 2."""
    told = why(in_front(1.0))
    assert told.startswith(
        "the first 17 mm of tube from pump.a come 2 mm too near to memory"
    )
    assert "with memory 2 mm further towards +y" in told
    assert "with a clearance of 1 mm (memory in the way)" in told
    assert has_route(in_front(3.0))
    assert not has_route(in_front(2.5))
    assert has_route(in_front(1.0, clearance=1))
    assert not has_route(in_front(1.0, clearance=1.1))


def test_a_body_in_the_way_of_the_tube_itself() -> None:
    told = why(in_front(-4.0))
    assert "come 7 mm too near to memory" in told
    assert "with memory 7 mm further towards +y" in told
    assert "with a clearance" not in told


# ------------------------------------------------------------------------- the clearance


def gate(gap: float, **rules: object) -> Scene:
    """Two plates across the case with a slot: the tube has `gap` to either."""
    half = 7.0 + gap
    return scene(
        seated("pump", (50.0, 150.0, 150.0), (1, 0, 0)),
        seated("card", (250.0, 150.0, 150.0), (-1, 0, 0)),
        box("memory", (140.0, 0.0, 0.0), (160.0, 150.0 - half, 300.0)),
        box("card_guard", (140.0, 150.0 + half, 0.0), (160, 300, 300)),
        run("pump", "card"),
        **{"max_bends": 0, **rules},
    )


@pytest.mark.parametrize("angles", ["[90]", "[45, 90]"])
def test_possible_with_a_clearance_of_1_6_mm(angles: str) -> None:
    told = why(gate(1.6, bend_angles=angles))
    assert re.search(
        r"possible with a clearance of 1.6 mm "
        r"\((memory and card_guard|card_guard and memory) in the way\)",
        told,
    )
    assert has_route(gate(1.6, bend_angles=angles, clearance=1.6))
    assert not has_route(gate(1.6, bend_angles=angles, clearance=1.7))


# ------------------------------------------------------------ straights, walls and stock


def corner(first: float, *, beyond: float = 5.0) -> Scene:
    """One bend where the axes cross, `first` from the one tube end, 120 from the other.

    The pump has a collar of its own.
    """
    own = (
        "[fittings.own]\nheight = 20\ndepth = 12\ndiameter = 22\n"
        f"straight_beyond = {beyond}\n"
    )
    return scene(
        own,
        seated("pump", (100.0, 100.0, 100.0), (1, 0, 0)).replace("collar", "own"),
        seated("card", (100.0 + first, 220.0, 100.0), (0, -1, 0)),
        run("pump", "card"),
        max_bends=1,
    )


def test_a_least_straight_at_an_end_is_offered_and_is_enough() -> None:
    """17 + 28 = 45 are needed and 42 there: 2 of the 5 mm beyond the mouth are left."""
    told = why(corner(42.0))
    assert "needs 45 mm from the tube end in pump.a" in told
    assert "with 2 mm of straight beyond the fitting on pump.a" in told
    assert has_route(corner(42.0, beyond=2.0))
    assert not has_route(corner(42.0, beyond=2.5))


@pytest.mark.parametrize("angles", ["[90]", "[45, 90]", '"any"'])
def test_a_case_wall_is_offered_by_as_much_as_lacks(angles: str) -> None:
    """A tube straight along a wall 8.2 mm from its axis, which wants 10."""

    def along(z: float) -> Scene:
        return scene(
            seated("pump", (50.0, 150.0, z), (1, 0, 0)),
            seated("card", (250.0, 150.0, z), (-1, 0, 0)),
            run("pump", "card"),
            bend_angles=angles,
            max_bends=0,
        )

    told = why(along(8.2))
    assert "1.8 mm too near to case wall -z" in told
    assert "with case wall -z 2 mm further out" in told
    assert "with a clearance of 1.2 mm (case wall -z in the way)" in told
    # The wall 2 mm further out: what is in the case lies 2 mm further up.
    assert has_route(along(10.2))
    assert not has_route(along(9.7))


@pytest.mark.parametrize("own", ["", "bend_angles = [45, 90]\n"])
def test_stock_that_is_too_short_is_told_by_how_much(own: str) -> None:
    """One bend of 28 mm radius between legs of 120 mm: 240 less 56, and a quarter circle.

    That is 227.98 mm, 287.98 with 30 at both ends. Of 280 mm 7.98 are missing: 26 at
    both ends would do, 26.5 would not.
    """

    def bent(stock: float, trim: float) -> Scene:
        return scene(
            seated("pump", (60.0, 100.0, 100.0), (1, 0, 0)),
            seated("card", (180.0, 220.0, 100.0), (0, -1, 0)),
            run("pump", "card") + own,
            bend_radius=f"28\nstock_length = {stock}\ntrim_allowance = {trim}",
            max_bends=1,
        )

    length = 240.0 - 2.0 * 28.0 + 28.0 * math.pi / 2.0
    assert length == pytest.approx(227.98, abs=0.005)
    short = solved(bent(280.0, 30.0))
    assert short.candidates
    assert short.why is not None
    assert "8 mm short" in short.why
    assert "26 mm" in short.why
    assert "288 mm" in short.why
    assert solved(bent(288.0, 30.0)).why is None
    assert solved(bent(287.5, 30.0)).why is not None
    assert solved(bent(280.0, 26.0)).why is None
    assert solved(bent(280.0, 26.5)).why is not None


# --------------------------------------------------------------------------------- elbows


def beside_a_wall(**rules: object) -> Scene:
    """A port with nothing but an elbow, 30 mm from case wall +x; the goal lies along +y.

    Turned to +x no bend has room before the wall, turned to -x the leg of 33 mm is too
    short for one bend's 45; turned to +y the axes are 45 mm apart.
    """
    return scene(
        port("pump", (270.0, 60.0, 40.0), "+z", "corner"),
        seated("card", (225.0, 240.0, 54.0), (0, -1, 0)),
        run("pump", "card"),
        **{"max_bends": 2, **rules},
    )


def test_of_an_elbow_it_is_told_what_lacks_where_it_looks_at_the_goal() -> None:
    """Two bends of 45 degrees need 16.4 + 10.6 = 27 mm, as worked out for offsets."""
    told = why(beside_a_wall())
    assert told.startswith(
        "two 90-degree bends need 71 mm between the ports' axes, and there are 45 mm"
    )
    assert "with bends of 45 or 90 degrees (2 of 45 degrees)" in told
    (most,) = re.findall(r"with (\d) bends", told)
    assert has_route(beside_a_wall(max_bends=most))
    # Half way between -x and +y the elbow spares one of them: it meets the goal's axis
    # 45 - 12 sin 45 = 36.5 mm aside, after 51.6 of which 17 + 28 tan 22.5 are needed.
    first = solved(beside_a_wall(bend_angles="[45, 90]")).candidates[0]
    half = math.sqrt(0.5)
    assert first.ends[0].outlet == pytest.approx((-half, half, 0.0))
    assert [bend.angle_deg for bend in first.table.bends] == pytest.approx([45.0])
