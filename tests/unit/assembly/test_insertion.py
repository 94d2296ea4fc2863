"""Whether a tube goes into both its fittings: cases worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loopsolver.assembly.insertion import insertion
from loopsolver.assembly.joints import fitted_tubes
from tests.builders.joined_tubes import joined
from tests.builders.scenes import tube

U = ((0.0, 0.0, 0.0), (0.0, 0.0, 90.0), (120.0, 0.0, 90.0), (120.0, 0.0, 0.0))
Z = ((0.0, 0.0, 0.0), (0.0, 0.0, 80.0), (90.0, 0.0, 80.0), (90.0, 0.0, 160.0))
CORNER = ((0.0, 0.0, 0.0), (0.0, 0.0, 200.0), (150.0, 0.0, 200.0))


def how(*vertices, stock=None, **more):
    """Return how one tube goes in; `more` goes to the scene."""
    plan = joined({"one": ("a", "b", vertices)}, **more)
    (fitted,) = fitted_tubes(plan.scene, plan.runs)
    return insertion(fitted, stock or plan.scene.tube)


def test_a_u_slides_in() -> None:
    """Both ends down, 12 mm deep."""
    found = how(*U)
    assert (found.ends, found.slide, found.goes_in) == ("alike", 12.0, True)
    assert found.loosenings == ()
    assert found.easing is None


def test_facing_ends_want_a_part_drawn_back_by_both_depths() -> None:
    """The part has to come off by 12 mm, and to leave 12 mm for the other end."""
    found = how(*Z)
    assert found.ends == "facing"
    assert not found.goes_in
    first, last = found.loosenings
    assert (first.part, first.way, first.by) == ("a", (0.0, 0.0, -1.0), 24.0)
    assert (last.part, last.way, last.by) == ("b", (0.0, 0.0, 1.0), 24.0)


def test_crossed_ends_want_12_mm() -> None:
    found = how(*CORNER)
    assert found.ends == "crossed"
    assert math.degrees(found.angle) == pytest.approx(90.0)
    first, last = found.loosenings
    assert (first.part, first.way, first.by) == ("a", (0.0, 0.0, -1.0), 12.0)
    assert (last.part, last.way, last.by) == ("b", (1.0, 0.0, 0.0), 12.0)


def test_ends_that_lean_towards_each_other_want_more() -> None:
    """At 120 degrees the tube draws back by 12 mm from one: half of that to the other."""
    down = math.radians(30.0)
    far = (200.0 + 100.0 * math.cos(down), 0.0, 200.0 + 100.0 * math.sin(down))
    found = how((200.0, 0.0, 0.0), (200.0, 0.0, 200.0), far)
    assert math.degrees(found.angle) == pytest.approx(120.0)
    assert [one.by for one in found.loosenings] == [pytest.approx(18.0)] * 2


def test_how_far_a_corner_stands_aside_and_what_its_play_gives() -> None:
    """By hand: 12 mm aside; 1 degree about one mouth, 0.5 mm beside either axis.

    Eased in at b: the mouth of a lies at z = 12, the other end 188 mm above it. It goes
    in along +x, so it must stand back along -x, square to the arm: 188 tan 1 + 1 mm.
    Eased in at a: 138 mm from b's mouth, 138 tan 1 + 1 mm.
    """
    easing = how(*CORNER).easing
    assert easing is not None
    assert (easing.port, easing.way) == ("b.one", (-1.0, 0.0, 0.0))
    assert easing.wanted == pytest.approx(12.0)
    assert easing.free == pytest.approx(188.0 * math.tan(math.radians(1.0)) + 1.0)
    assert easing.rest == pytest.approx(12.0 - easing.free)


def test_force_and_stress_are_told_of_acrylic_alone() -> None:
    for material in ("petg", "copper"):
        easing = how(*CORNER, stock=tube(material=material)).easing
        assert easing is not None
        assert (easing.force_n, easing.stress_mpa, easing.share) == (None, None, None)
        assert not easing.is_harmless
    extruded = how(*CORNER).easing
    cast = how(*CORNER, stock=tube(made="cast")).easing
    assert extruded is not None
    assert cast is not None
    assert extruded.stress_mpa == pytest.approx(cast.stress_mpa)
    assert extruded.share == pytest.approx(extruded.stress_mpa / 5.2)
    assert cast.share == pytest.approx(cast.stress_mpa / 10.3)
    assert cast.lasting == pytest.approx(extruded.lasting * 10.3 / 5.2)


def test_a_corner_s_force_by_hand() -> None:
    """F = d EI / (L1^2 L2 + L1^3/3 + bend), legs to their tangents, the bend by Simpson.

    A force along x at the end of the corner b: up the first leg its arm is what is left
    of the height. With the foot held: ``int M m ds`` over leg and bend; the second leg
    lies along the force.
    """
    found = how(*CORNER).easing
    assert found is not None
    foot, radius = 200.0 - 28.0, 28.0
    leg = ((foot + radius) ** 3 - radius**3) / 3.0
    steps = 2000
    angles = [math.pi / 2.0 * (place + 0.5) / steps for place in range(steps)]
    bend = sum((radius - radius * math.sin(angle)) ** 2 for angle in angles)
    bend *= radius * math.pi / 2.0 / steps
    stiff = 3240.0 * math.pi / 64.0 * (14.0**4 - 10.0**4)
    # The end may turn but not rise: the upright force that holds it down is solved too.
    rise_leg = 150.0**2 * foot
    rise = sum((150.0 - radius + radius * math.cos(angle)) ** 2 for angle in angles)
    rise *= radius * math.pi / 2.0 / steps
    rise_far = (150.0 - radius) ** 3 / 3.0
    both_leg = 150.0 * ((foot + radius) ** 2 - radius**2) / 2.0
    both = sum(
        (150.0 - radius + radius * math.cos(angle))
        * (radius - radius * math.sin(angle))
        for angle in angles
    )
    both *= radius * math.pi / 2.0 / steps
    xx, zz, xz = leg + bend, rise_leg + rise + rise_far, both_leg + both
    along = found.rest * stiff * zz / (xx * zz - xz**2)
    up = found.rest * stiff * xz / (xx * zz - xz**2)
    # What the pull stretches, 1e-3 mm a newton, makes it softer by half a per cent.
    assert found.force_n == pytest.approx(math.hypot(along, up), rel=6e-3)


def test_play_alone_lets_a_long_tube_in() -> None:
    """12 mm aside over 800 mm is 0.86 degrees: less than the 1 that its collar takes."""
    found = how((0.0, 0.0, 0.0), (0.0, 0.0, 800.0), (150.0, 0.0, 800.0))
    assert found.ends == "crossed"
    assert found.easing is not None
    assert found.easing.rest == 0.0
    assert found.goes_in


@pytest.mark.parametrize(("askew", "ends"), [(2.0, "alike"), (3.0, "crossed")])
def test_ends_nearly_alike_slide_as_far_as_the_play_goes(askew, ends) -> None:
    """Over 12 mm 2 degrees are 0.42 mm beside the axis, 3 are 0.63: 0.5 is accepted."""
    leaning = math.radians(askew)
    foot = (120.0 + 90.0 * math.sin(leaning), 0.0, 90.0 - 90.0 * math.cos(leaning))
    assert how(U[0], U[1], U[2], foot).ends == ends


def test_a_built_tube_takes_the_chosen_one_s_place() -> None:
    plan = joined({"one": ("a", "b", CORNER)})
    (run,) = plan.runs
    built = replace(run.candidates[0], trim_allowance=0.0)
    line = replace(built.centreline, vertices=(*CORNER[:2], (151.0, 0.0, 200.0)))
    kept = replace(run, built=replace(built, centreline=line))
    (fitted,) = fitted_tubes(plan.scene, (kept,))
    assert fitted.centreline == line
