"""Elbows: what they save, where they may be swivelled to, what they take up.

Every figure follows from the scene's own: an outlet at `turn` to the port's direction d
and towards the side s is d cos turn + s sin turn; the outlet's axis leaves the port's
axis at position + d height; mouth and seat lie on it, reach and reach - depth further.
"""

import math

import numpy as np
import pytest

from loopsolver.plan.ranking import RANKINGS
from loopsolver.routing.diagnosis.no_route import Reason
from loopsolver.routing.loop.solving import solve_loop
from loopsolver.routing.problem import Candidate
from loopsolver.routing.solve import solve_run
from loopsolver.scene.model import Scene
from tests.builders.port_texts import box, port, run, scene
from tests.property.laid_tubes import points_on, tube_of

RADIUS, CLEARANCE, BEND_RADIUS = 7.0, 3.0, 28.0
HEIGHT, REACH, DEPTH, BODY, BEYOND = 14.0, 24.0, 12.0, 22.0, 5.0
COLLAR_HEIGHT = 20.0


def candidates(of: Scene) -> tuple[Candidate, ...]:
    outcome = solve_run(of, of.runs[0])
    assert outcome.refused == 0
    return outcome.candidates


BOTH = ["collar", "corner"]
PUMP_AT = (100.0, 150.0, 40.0)


def low_goal(
    fitting: str | list[str], *, height: float = HEIGHT, across: float = 0.0
) -> str:
    """A port that faces the pump's elbow along -x, at the height of its outlet."""
    at = (250.0, PUMP_AT[1] + across, PUMP_AT[2] + height)
    return port("card", at, "-x", fitting)


# ----------------------------------------------------------------------- what it saves


def test_an_elbow_stands_for_a_bend_and_counts_as_one() -> None:
    found = candidates(
        scene(
            port("pump", PUMP_AT, "+z", BOTH), low_goal("collar"), run("pump", "card")
        )
    )
    first = found[0]
    assert (first.bends, first.elbows) == (0, 1)
    # From seat to seat along x: 100 + 24 - 12 = 112 to 250 - 20 + 12 = 242.
    assert first.length == pytest.approx(130.0, abs=1e-9)
    assert first.blank == pytest.approx(130.0 + 2.0 * 40.0, abs=1e-9)
    # Out of the collar the tube is 6 mm below the goal's axis and its bend needs 45:
    # one bend will not do, two end askew. The fewest is three.
    without = [c for c in found if not c.elbows]
    assert min(c.bends for c in without) == 3
    totals = [c.bends + c.elbows for c in found]
    assert totals == sorted(totals)


def test_among_equal_totals_the_shorter_comes_first() -> None:
    """One bend against one elbow: the bend's quarter circle goes the longer way up."""
    tall = 60.0
    found = candidates(
        scene(
            port("pump", PUMP_AT, "+z", BOTH),
            low_goal("collar", height=tall),
            run("pump", "card"),
            height=tall,
        )
    )
    by_elbows = {c.elbows: c for c in reversed(found) if c.bends + c.elbows == 1}
    assert found[0] is by_elbows[1]
    assert by_elbows[1].length == pytest.approx(130.0, abs=1e-9)
    # Up from z = 48 to 100, along from x = 100 to 242, one corner rounded.
    saved = (2.0 - math.pi / 2.0) * BEND_RADIUS
    assert by_elbows[0].length == pytest.approx(52.0 + 142.0 - saved, abs=1e-6)


def test_no_elbow_where_it_saves_nothing() -> None:
    found = candidates(
        scene(
            port("pump", (60.0, 150.0, 150.0), "+x", BOTH),
            port("card", (240.0, 150.0, 150.0), "-x", BOTH),
            run("pump", "card"),
        )
    )
    assert (found[0].bends, found[0].elbows) == (0, 0)
    assert all(c.elbows == 0 for c in found if c.bends == 0)


def test_elbows_at_both_ends() -> None:
    """Two ports that look up: a straight tube lies from elbow to elbow."""
    found = candidates(
        scene(
            port("pump", PUMP_AT, "+z", "corner"),
            port("card", (100.0, 270.0, 40.0), "+z", "corner"),
            run("pump", "card", max_bends=2),
        )
    )
    first = found[0]
    assert (first.bends, first.elbows) == (0, 2)
    # Seats 12 mm from either port's axis, 120 mm apart, at 40 + 14.
    expected = [(100.0, 162.0, 54.0), (100.0, 258.0, 54.0)]
    assert np.allclose(first.centreline.vertices, expected, atol=1e-9)
    assert first.length == pytest.approx(96.0, abs=1e-9)
    assert first.table.straights == pytest.approx((96.0,))


# ------------------------------------------------------------------ where it is turned

SIDES = {
    "+x": (1.0, 0.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
}


def ring(free: str) -> list[str]:
    """Boxes 16 mm from the port's axis on every side but one.

    The arm of 11 mm and 3 mm clearance passes between two of them, and goes into none.
    """
    x, y, z = PUMP_AT
    near, far, top = 16.0, 40.0, z + 60.0
    boxes = {
        "+x": ((x + near, y - 30.0, z), (x + far, y + 30.0, top)),
        "-x": ((x - far, y - 30.0, z), (x - near, y + 30.0, top)),
        "+y": ((x - 30.0, y + near, z), (x + 30.0, y + far, top)),
        "-y": ((x - 30.0, y - far, z), (x + 30.0, y - near, top)),
    }
    return [
        box(f"block{number}", *corners)
        for number, (side, corners) in enumerate(sorted(boxes.items()))
        if side != free
    ]


@pytest.mark.parametrize("free", sorted(SIDES))
def test_the_one_free_side_is_found_and_the_tube_leaves_that_way(free: str) -> None:
    found = candidates(
        scene(
            port("pump", PUMP_AT, "+z", "corner"),
            port("card", (100.0, 150.0, 280.0), "-z", "collar"),
            *ring(free),
            run("pump", "card"),
        )
    )
    assert found
    side = np.array(SIDES[free])
    for one in found:
        # d cos 90 + s sin 90 = s; the corner 14 mm above the face, the seat 12 mm out.
        corner = np.add(PUMP_AT, (0.0, 0.0, HEIGHT))
        first, second = map(np.array, one.centreline.vertices[:2])
        assert np.allclose(one.ends[0].outlet, side, atol=1e-12)
        assert np.allclose(one.ends[0].mouth, corner + 24.0 * side, atol=1e-9)
        assert np.allclose(first, corner + 12.0 * side, atol=1e-9)
        along = (second - first) / np.linalg.norm(second - first)
        assert np.allclose(along, side, atol=1e-9)
        # Straight for its depth and 5 mm beyond the mouth.
        assert one.table.straights[0] >= DEPTH + BEYOND - 1e-6


def test_without_boxes_the_elbow_looks_at_the_goal() -> None:
    parts = (port("pump", PUMP_AT, "+z", "corner"), low_goal("collar"))
    first = candidates(scene(*parts, run("pump", "card")))[0]
    assert first.ends[0].outlet == (1.0, 0.0, 0.0)
    blocked = candidates(scene(*parts, *ring("-y"), run("pump", "card")))
    assert all(c.ends[0].outlet == (0.0, -1.0, 0.0) for c in blocked)


def test_an_elbow_of_45_degrees_turns_the_tube_by_45() -> None:
    """It looks at a port whose axis it meets: no bend, seats on one slanting line."""
    half = math.sqrt(0.5)
    corner = np.add(PUMP_AT, (0.0, 0.0, HEIGHT))
    slant = np.array([half, 0.0, half])
    face = corner + slant * 180.0
    goal = port("card", tuple(face.tolist()), (-1, 0, -1))
    first = candidates(
        scene(
            port("pump", PUMP_AT, "+z", "corner"),
            goal,
            run("pump", "card"),
            turn=45.0,
        )
    )[0]
    assert (first.bends, first.elbows) == (0, 1)
    assert np.allclose(first.ends[0].outlet, slant, atol=1e-12)
    expected = [
        corner + (REACH - DEPTH) * slant,
        face - (COLLAR_HEIGHT - DEPTH) * slant,
    ]
    assert np.allclose(first.centreline.vertices, expected, atol=1e-9)
    assert first.length == pytest.approx(180.0 - 12.0 - 8.0, abs=1e-9)


def test_a_swivel_between_the_axes_is_used_where_the_far_port_looks_that_way() -> None:
    """Square bends, an elbow at 45 degrees round its port: it faces a port that does."""
    x, y, z = PUMP_AT
    goal = port("card", (x + 90.0, y + 90.0, z + HEIGHT), (-1, -1, 0))
    for fitting in ("corner", BOTH):
        first = candidates(
            scene(port("pump", PUMP_AT, "+z", fitting), goal, run("pump", "card"))
        )[0]
        assert (first.bends, first.elbows) == (0, 1)
        half = math.sqrt(0.5)
        assert np.allclose(first.ends[0].outlet, (half, half, 0.0), atol=1e-12)
        # 90 sqrt 2 from corner to face, 12 mm and 8 mm of it in front of the seats.
        length = 90.0 * math.sqrt(2.0) - 12.0 - 8.0
        assert first.length == pytest.approx(length, abs=1e-9)


# --------------------------------------------------------------------- what it takes up


def beside(gap: float, *, ahead: float = -12.0) -> Scene:
    """A box `gap` beside the arm, from `ahead` of its mouth on; the tube misses it.

    The arm lies along x, 11 mm about it; a box's face `gap` further is gap away from it.
    """
    x, y, z = PUMP_AT
    face, mouth = y + BODY / 2.0 + gap, x + REACH
    return scene(
        port("pump", PUMP_AT, "+z", "corner"),
        low_goal("collar"),
        box(
            "fan", (mouth + ahead, face, z), (mouth + ahead + 8.0, face + 30.0, z + 60)
        ),
        run("pump", "card"),
    )


@pytest.mark.parametrize(("gap", "is_used"), [(2.0, False), (3.0, True), (4.0, True)])
def test_the_arm_keeps_the_clearance_from_a_body(gap: float, is_used: bool) -> None:
    """Of the tube the box is 4 mm further than of the arm, never in its way."""
    outlets = {c.ends[0].outlet for c in candidates(beside(gap))}
    assert ((1.0, 0.0, 0.0) in outlets) == is_used


@pytest.mark.parametrize(("gap", "is_used"), [(2.0, False), (3.0, True), (4.0, True)])
def test_the_arm_keeps_the_clearance_from_a_case_wall(
    gap: float, is_used: bool
) -> None:
    """A port that looks along +y, its arm along x, `gap` and 11 mm above the floor."""
    z = gap + BODY / 2.0
    of = scene(
        port("pump", (100.0, 100.0, z), "+y", "corner"),
        port("card", (250.0, 100.0 + HEIGHT, z), "-x", "collar"),
        run("pump", "card"),
    )
    outlets = {c.ends[0].outlet for c in candidates(of)}
    assert ((1.0, 0.0, 0.0) in outlets) == is_used


@pytest.mark.parametrize(("ahead", "is_used"), [(2.0, False), (4.0, True)])
def test_the_arm_ends_flat_at_its_mouth(ahead: float, is_used: bool) -> None:
    """Beyond the mouth a box may be as near to the axis as the arm is thick."""
    outlets = {c.ends[0].outlet for c in candidates(beside(0.0, ahead=ahead))}
    assert ((1.0, 0.0, 0.0) in outlets) == is_used


@pytest.mark.parametrize(("above", "is_used"), [(2.0, False), (4.0, True)])
def test_the_head_of_the_stem_keeps_the_clearance(above: float, is_used: bool) -> None:
    """A box hangs `above` the stem's flat top, 11 mm over the outlet's axis.

    It ends 10 mm behind the port's axis, so just over the rim, which is 11 mm off.
    """
    x, y, z = PUMP_AT
    low = z + HEIGHT + BODY / 2.0 + above
    of = scene(
        port("pump", PUMP_AT, "+z", "corner"),
        low_goal("collar"),
        box("tray", (x - 60.0, y - 60.0, low), (x - 10.0, y + 60.0, low + 40.0)),
        run("pump", "card"),
    )
    outlets = {c.ends[0].outlet for c in candidates(of)}
    assert ((1.0, 0.0, 0.0) in outlets) == is_used


@pytest.mark.parametrize(("gap", "is_used"), [(-1.0, False), (1.0, True)])
def test_the_foot_of_the_stem_must_not_stand_in_a_body(
    gap: float, is_used: bool
) -> None:
    """A box lies beside a tall stem, far below its arm, `gap` from its side."""
    x, y, z = PUMP_AT
    tall, edge = 60.0, x - BODY / 2.0 - gap
    of = scene(
        port("pump", PUMP_AT, "+z", "corner"),
        low_goal("collar", height=tall),
        box("rail", (edge - 20.0, y - 30.0, z), (edge, y + 30.0, z + 20.0)),
        run("pump", "card"),
        height=tall,
    )
    outlets = {c.ends[0].outlet for c in candidates(of)}
    assert ((1.0, 0.0, 0.0) in outlets) == is_used


def least_distance(
    tube: Candidate,
    start: np.ndarray,
    along: np.ndarray,
    length: float,
    covered: tuple[float, float] = (0.0, DEPTH),
) -> float:
    """From points on a tube to a flat-ended cylinder of an elbow, less its radius."""
    points = points_on(tube_of(tube), apart=0.1, covered=covered) - start
    ahead = points @ along
    aside = np.linalg.norm(points - ahead[:, None] * along, axis=1)
    out = np.maximum(aside - BODY / 2.0, 0.0)
    past = np.maximum(np.abs(ahead - length / 2.0) - length / 2.0, 0.0)
    return float(np.hypot(out, past).min()) - RADIUS


@pytest.mark.parametrize(("gap", "is_straight"), [(2.0, False), (4.0, True)])
def test_the_arm_is_in_the_way_of_other_tubes(gap: float, is_straight: bool) -> None:
    """A second tube crosses over the arm, `gap` above it; either may have to yield."""
    x, y, z = PUMP_AT
    over = z + HEIGHT + BODY / 2.0 + RADIUS + gap
    of = scene(
        port("pump", PUMP_AT, "+z", "corner"),
        low_goal("collar"),
        port("tank", (x + 16.0, 30.0, over), "+y", "collar"),
        port("block", (x + 16.0, 270.0, over), "-y", "collar"),
        run("pump", "card"),
        run("tank", "block"),
    )
    loop = solve_loop(of, of.runs, key=RANKINGS["bends"])
    first, second = (
        one.chosen.candidate for one in loop.runs if one.chosen is not None
    )
    corner = np.array([x, y, z + HEIGHT])
    arm = np.array(first.ends[0].outlet)
    assert least_distance(second, corner, arm, REACH) >= CLEARANCE - 1e-3
    both_straight = first.bends == 0 and second.bends == 0
    assert both_straight == is_straight


def stem_across(x: float) -> Scene:
    """A port that looks at the stem of the elbow at the far end, 80 mm below its arm."""
    return scene(
        port("pump", (x, 150.0, 70.0), "+x", "collar"),
        port("card", (150.0, 150.0, 50.0), "+z", "corner"),
        run("pump", "card"),
        height=100.0,
    )


def test_a_tube_goes_round_the_stem_of_its_own_other_end() -> None:
    """A bend fits in between: its outer edge comes to 60 + 8 + 17 + 28 + 7 = 120 mm.

    The stem begins at 150 - 11 = 139. The shortest way with two bends goes through it.
    """
    found = candidates(stem_across(60.0))
    assert found
    foot, up = np.array([150.0, 150.0, 50.0]), np.array([0.0, 0.0, 1.0])
    for one in found:
        assert least_distance(one, foot, up, 100.0 + BODY / 2.0) >= -1e-3
        assert one.gap.name != "elbow on card.a"


def test_no_tube_goes_through_the_stem_that_is_too_near_to_bend_before() -> None:
    """From 125 on it bends; 7 mm before the stem, at 132, it is under 1 mm off its axis."""
    of = stem_across(100.0)
    outcome = solve_run(of, of.runs[0])
    assert outcome.candidates == ()
    assert isinstance(outcome.why, Reason)
    assert outcome.why.facts


@pytest.mark.parametrize("aside", [15.0, 17.0, 18.5])
def test_no_tube_runs_through_the_collar_at_its_own_other_end(aside: float) -> None:
    """The port looks past the far collar, at the height of its tube's end.

    Straight on, the two tubes of 14 mm are clear of each other side by side, but the
    tube of 7 mm radius runs into the collar of 11 where the axes are under 18 mm apart.
    There is a way: a bend away from it that begins at 125 is 3.8 mm further off where
    the collar begins, at 139, and comes no nearer to its axis than 21 mm.
    """
    of = scene(
        port("pump", (100.0, 150.0 + aside, 150.0), "+x"),
        port("card", (150.0, 150.0, 142.0), "+z"),
        run("pump", "card"),
    )
    foot, up = np.array([150.0, 150.0, 142.0]), np.array([0.0, 0.0, 1.0])
    found = candidates(of)
    assert found
    for one in found:
        # Up to where the last straight begins, which comes down into the collar.
        before = (0.0, one.table.straights[-1])
        gap = least_distance(one, foot, up, COLLAR_HEIGHT, covered=before)
        assert gap >= -1e-3
