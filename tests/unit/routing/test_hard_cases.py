"""Cases built by hand, each with the answer worked out beside it.

Tube of 14 mm, clearance 3 mm, so the centre line keeps 10 mm; bend radius 28 mm, 15 mm
straight between bends, so two vertices are 71 mm apart at least; ends straight for
17 mm, so a first vertex is 45 mm or more from its seat.
"""

import math
from itertools import pairwise

import numpy as np
import pytest

from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.solids import Box, Cylinder, Solid
from loopsolver.geometry.vectors import Point
from loopsolver.routing.judge import make_judge
from loopsolver.routing.problem import Candidate, RouteProblem, TubeEnd
from loopsolver.routing.square.field import make_field
from loopsolver.routing.square.lattice import SquareRun
from loopsolver.routing.square.meet import meetings
from loopsolver.routing.square.search import square_candidates
from tests.builders.problems import case_walls, end_at, numbered, problem
from tests.unit.routing.full_cases import complaints

CASE: Point = (400.0, 400.0, 400.0)
SHORTER = (2.0 - math.pi / 2.0) * 28.0
"""By how much a square bend of 28 mm is shorter than its two tangent lengths [mm]."""


def box(low: Point, high: Point) -> Box:
    centre = tuple((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return Box(frame=Frame(origin=centre), size=size)  # type: ignore[arg-type]


def run_between(
    start: TubeEnd, goal: TubeEnd, *solids: Solid, max_bends: int = 5
) -> RouteProblem:
    return problem(
        start,
        goal,
        [*numbered("solid", solids), *case_walls(CASE)],
        inner=CASE,
        max_bends=max_bends,
        candidates=8,
    )


def routes(problem: RouteProblem) -> tuple[Candidate, ...]:
    found = square_candidates(problem, make_judge(problem))
    assert found.refused == 0
    for candidate in found.candidates:
        assert complaints(candidate, problem) == []
    return found.candidates


CORNER = (end_at((100.0, 100.0, 200.0), "+x"), end_at((250.0, 250.0, 200.0), "-y"))
"""A tube of one bend: along +x, round the vertex at (250, 100, 200), along +y."""


def test_straight_run_has_no_bend() -> None:
    """Two mouths facing each other: the tube is as long as they are apart."""
    across = end_at((100.0, 100.0, 200.0), "+x"), end_at((250.0, 100.0, 200.0), "-x")
    (only,) = routes(run_between(*across, max_bends=0))
    assert only.bends == 0
    assert only.length == pytest.approx(150.0)
    assert only.table.bends == ()


def test_straight_run_is_first_among_others() -> None:
    across = end_at((100.0, 100.0, 200.0), "+x"), end_at((250.0, 100.0, 200.0), "-x")
    assert routes(run_between(*across))[0].bends == 0


@pytest.mark.parametrize(
    ("far", "can"), [(34.0, True), (24.0, True), (17.0, False), (16.99, False)]
)
def test_shortest_straight_run_holds_both_ends(far: float, can: bool) -> None:
    """The straight must do for either end (17 mm); what is covered (12 mm) at both."""
    across = (
        end_at((100.0, 100.0, 200.0), "+x"),
        end_at((100.0 + far, 100.0, 200.0), "-x"),
    )
    assert bool(routes(run_between(*across, max_bends=0))) is can


def test_facing_away_is_no_straight_run() -> None:
    away = end_at((100.0, 100.0, 200.0), "-x"), end_at((250.0, 100.0, 200.0), "+x")
    assert routes(run_between(*away, max_bends=0)) == ()


def test_one_bend_is_both_legs_less_what_the_bend_saves() -> None:
    (only,) = routes(run_between(*CORNER, max_bends=1))
    assert only.bends == 1
    assert only.length == pytest.approx(150.0 + 150.0 - SHORTER)
    assert only.centreline.vertices[1] == pytest.approx((250.0, 100.0, 200.0))


@pytest.mark.parametrize(("straight", "can"), [(17.0, True), (16.99, False)])
def test_one_bend_with_just_the_least_straight(straight: float, can: bool) -> None:
    """The first leg is fixed; it needs 17 mm and the tangent length of 28 mm."""
    start = end_at((250.0 - 28.0 - straight, 100.0, 200.0), "+x")
    assert bool(routes(run_between(start, CORNER[1], max_bends=1))) is can
    goal = end_at((250.0, 100.0 + 28.0 + straight, 200.0), "-y")
    assert bool(routes(run_between(CORNER[0], goal, max_bends=1))) is can


@pytest.mark.parametrize(("apart", "can"), [(71.0, True), (70.99, False)])
def test_u_turn_with_just_the_least_straight_between_its_bends(
    apart: float, can: bool
) -> None:
    """Two bends side by side: 28 + 15 + 28 mm between their vertices."""
    start = end_at((100.0, 100.0, 200.0), "+x")
    goal = end_at((100.0, 100.0 + apart, 200.0), "+x")
    found = routes(run_between(start, goal, max_bends=2))
    assert bool(found) is can
    if can:
        (best,) = found
        assert best.length == pytest.approx(45.0 + apart + 45.0 - 2.0 * SHORTER)
        assert [b.rotation_deg for b in best.table.bends] == pytest.approx([0.0, 0.0])


def test_offset_in_one_plane() -> None:
    """Along +x, 80 mm aside, on along +x: two bends turned against each other."""
    start, goal = (
        end_at((50.0, 100.0, 200.0), "+x"),
        end_at((300.0, 180.0, 200.0), "-x"),
    )
    best = routes(run_between(start, goal, max_bends=2))[0]
    assert best.length == pytest.approx(250.0 + 80.0 - 2.0 * SHORTER)
    assert abs(best.table.bends[1].rotation_deg) == pytest.approx(180.0)


@pytest.mark.parametrize(("half", "can"), [(0.5, True), (2.0, False)])
def test_vertex_may_lie_in_an_obstacle(half: float, can: bool) -> None:
    """The only vertex lies inside a post, the arc passes it inside the corner.

    The arc is (sqrt 2 - 1) 28 = 11.60 mm from the vertex, the post's near edge
    sqrt(2) half of that: 10.89 mm is enough, 8.77 mm is not.
    """
    x, y, z = 250.0, 100.0, 200.0
    post = box((x - half, y - half, z - 40.0), (x + half, y + half, z + 40.0))
    assert bool(routes(run_between(*CORNER, post, max_bends=1))) is can


def test_both_vertices_of_a_u_turn_may_lie_in_posts() -> None:
    """Thin posts where the shortest U-turn has its vertices, 45 mm from either seat."""
    start, goal = (
        end_at((100.0, 100.0, 200.0), "+x"),
        end_at((100.0, 190.0, 200.0), "+x"),
    )
    posts = [
        box((144.6, y - 0.4, 150.0), (145.4, y + 0.4, 250.0)) for y in (100.0, 190.0)
    ]
    (best,) = routes(run_between(start, goal, *posts, max_bends=2))
    assert best.centreline.vertices[1] == pytest.approx((145.0, 100.0, 200.0))
    assert best.length == pytest.approx(2.0 * 45.0 + 90.0 - 2.0 * SHORTER)


@pytest.mark.parametrize(("diameter", "can"), [(35.98, True), (36.02, False)])
def test_arc_blocked_though_both_straights_are_free(diameter: float, can: bool) -> None:
    """A post about the arc's centre: 28 mm less its radius must be 10 mm or more.

    Its distance to either straight is the same 28 mm at the tangent point, so take it
    a little further out along the diagonal, where only the arc is nearer.
    """
    post = Cylinder(
        frame=axis_frame((250.0 - 28.0, 128.0, 200.0), (0.0, 0.0, 1.0)),
        diameter=diameter,
        height=60.0,
    )
    assert bool(routes(run_between(*CORNER, post, max_bends=1))) is can


def test_arc_blocked_by_a_post_far_from_both_straights() -> None:
    """A thin post 6 mm inside the middle of the arc, 19 mm and more from the straights."""
    inside = 28.0 - (28.0 - 6.0) / math.sqrt(2.0)
    at = (250.0 - inside, 100.0 + inside)
    from_straight = math.hypot(28.0 - inside, inside)
    assert from_straight > 12.0
    post = box((at[0] - 0.5, at[1] - 0.5, 150.0), (at[0] + 0.5, at[1] + 0.5, 250.0))
    assert routes(run_between(*CORNER, post, max_bends=1)) == ()
    assert len(routes(run_between(*CORNER, max_bends=1))) == 1


@pytest.mark.parametrize(("width", "can"), [(20.0, True), (19.98, False)])
def test_slot_that_just_fits(width: float, can: bool) -> None:
    """A wall with a slot of twice 10 mm about the tube, and one of 0.02 mm less."""
    x = (180.0, 190.0)
    left = box((x[0], 0.0, 0.0), (x[1], 100.0 - width / 2.0, 400.0))
    right = box((x[0], 100.0 + width / 2.0, 0.0), (x[1], 400.0, 400.0))
    across = end_at((100.0, 100.0, 200.0), "+x"), end_at((280.0, 100.0, 200.0), "-x")
    assert bool(routes(run_between(*across, left, right))) is can


@pytest.mark.parametrize(("width", "can"), [(20.0, True), (19.98, False)])
def test_slot_aside_that_just_fits_is_found(width: float, can: bool) -> None:
    """The same slot 90 mm aside: its middle is no port's coordinate, but a face's."""
    x, y = (180.0, 190.0), 190.0
    left = box((x[0], 0.0, 0.0), (x[1], y - width / 2.0, 400.0))
    right = box((x[0], y + width / 2.0, 0.0), (x[1], 400.0, 400.0))
    across = end_at((60.0, 100.0, 200.0), "+x"), end_at((330.0, 100.0, 200.0), "-x")
    found = routes(run_between(*across, left, right))
    assert bool(found) is can
    if can:
        # Aside and back: two offsets of two bends each.
        assert found[0].bends == 4
        assert found[0].length == pytest.approx(270.0 + 180.0 - 4.0 * SHORTER, abs=1e-3)


@pytest.mark.parametrize("place", [131.3, 150.0, 163.7, 199.99])
def test_thin_plate_is_never_jumped(place: float) -> None:
    """A plate of 0.5 mm from wall to wall, wherever it lies between coordinates."""
    plate = box((place, 0.0, 0.0), (place + 0.5, 400.0, 400.0))
    across = end_at((60.0, 100.0, 200.0), "+x"), end_at((330.0, 100.0, 200.0), "-x")
    assert routes(run_between(*across, plate)) == ()
    aside = end_at((60.0, 100.0, 200.0), "+y"), end_at((330.0, 180.0, 120.0), "+z")
    assert routes(run_between(*aside, plate)) == ()


@pytest.mark.parametrize("place", [131.3, 163.7])
def test_thin_plate_between_far_coordinates_is_never_jumped(place: float) -> None:
    """The same on a lattice whose steps are far wider than plate and clearance."""
    plate = box((place, 0.0, 0.0), (place + 0.5, 400.0, 400.0))
    start, goal = (
        end_at((60.0, 100.0, 200.0), "+x"),
        end_at((330.0, 200.0, 200.0), "-x"),
    )
    wide = (
        np.array([60.0, 105.0, 285.0, 330.0]),
        np.array([100.0, 200.0, 300.0]),
        np.array([100.0, 200.0, 300.0]),
    )
    blocked = SquareRun(problem=run_between(start, goal, plate), frame=Frame())
    assert not [*meetings(make_field(blocked, wide), bends=7)]
    free = SquareRun(problem=run_between(start, goal), frame=Frame())
    assert [*meetings(make_field(free, wide), bends=7)]


def test_thin_plate_with_a_hole_is_passed_through_the_hole() -> None:
    """A plate of 0.5 mm with a window of 40 mm, 120 mm aside."""
    x = (190.0, 190.5)
    low, high = 180.0, 220.0
    parts = [
        box((x[0], 0.0, 0.0), (x[1], 400.0, low)),
        box((x[0], 0.0, high), (x[1], 400.0, 400.0)),
        box((x[0], 0.0, low), (x[1], 200.0, high)),
        box((x[0], 240.0, low), (x[1], 400.0, high)),
    ]
    start, goal = (
        end_at((60.0, 100.0, 200.0), "+x"),
        end_at((330.0, 100.0, 200.0), "-x"),
    )
    found = routes(run_between(start, goal, *parts))
    assert found
    for candidate in found:
        at = np.array(candidate.centreline.vertices)
        crossing = [
            (a, b)
            for a, b in pairwise(at)
            if min(a[0], b[0]) < x[0] < x[1] < max(a[0], b[0])
        ]
        assert len(crossing) % 2 == 1
        for a, _ in crossing:
            assert 209.99 <= a[1] <= 230.01
            assert 189.99 <= a[2] <= 210.01


def test_seat_nearer_to_a_wall_than_the_tube_may_be() -> None:
    """A port in the wall: its seat lies 4 mm inside, the covered 12 mm end at 16 mm."""
    start, goal = end_at((4.0, 100.0, 200.0), "+x"), end_at((250.0, 250.0, 200.0), "-y")
    (only,) = routes(run_between(start, goal, max_bends=1))
    assert only.length == pytest.approx(246.0 + 150.0 - SHORTER)


def test_both_seats_beyond_walls() -> None:
    """Two ports through one wall, seats 2 mm outside the case: a U-turn inside."""
    start, goal = end_at((-2.0, 100.0, 200.0), "+x"), end_at((-2.0, 200.0, 200.0), "+x")
    best = routes(run_between(start, goal))[0]
    assert best.bends == 2
    assert best.length == pytest.approx(45.0 + 100.0 + 45.0 - 2.0 * SHORTER)


def test_seat_whose_straight_ends_too_near_a_wall_has_no_route() -> None:
    """16 mm from the wall ahead: the first arc cannot begin, 17 mm straight wanted."""
    start, goal = (
        end_at((384.0, 100.0, 200.0), "+x"),
        end_at((250.0, 250.0, 200.0), "-y"),
    )
    assert routes(run_between(start, goal)) == ()


def test_walled_in_port_has_no_route() -> None:
    """A plate square before the mouth, 50 mm from the seat: too near for any bend."""
    plate = box((150.0, 0.0, 0.0), (151.0, 400.0, 400.0))
    start = end_at((100.0, 100.0, 200.0), "+x")
    assert routes(run_between(start, CORNER[1], plate)) == ()


@pytest.mark.parametrize(("room", "can"), [(55.0, True), (54.99, False)])
def test_bend_needs_its_straight_radius_and_clearance_before_a_plate(
    room: float, can: bool
) -> None:
    """17 + 28 + 10 mm from the seat to a plate ahead: a U-turn just fits before it."""
    start, goal = (
        end_at((100.0, 100.0, 200.0), "+x"),
        end_at((100.0, 200.0, 200.0), "+x"),
    )
    plate = box((100.0 + room, 0.0, 0.0), (110.0 + room, 400.0, 400.0))
    assert bool(routes(run_between(start, goal, plate))) is can


def test_way_round_a_block_is_as_long_as_the_detour() -> None:
    """A block as high as the case between two mouths: 4 bends past its nearer side."""
    block = box((150.0, 40.0, 0.0), (250.0, 300.0, 400.0))
    across = end_at((40.0, 250.0, 200.0), "+x"), end_at((360.0, 250.0, 200.0), "-x")
    best = routes(run_between(*across, block))[0]
    # Its face at y = 300 asks for 310; from 250 that would be a leg of 60 mm, but two
    # vertices are 71 mm apart at least: so out to 321 and back.
    assert best.bends == 4
    assert best.length == pytest.approx(320.0 + 2.0 * 71.0 - 4.0 * SHORTER, abs=1e-3)


def test_least_leg_that_no_face_gives() -> None:
    """An offset of 30 mm cannot be made in two bends; the search goes out and back."""
    start, goal = (
        end_at((60.0, 100.0, 200.0), "+x"),
        end_at((330.0, 130.0, 200.0), "-x"),
    )
    best = routes(run_between(start, goal))[0]
    # 71 mm one way and 101 mm the other are the least two legs that make 30 mm.
    assert best.bends == 4
    assert best.length == pytest.approx(270.0 + 71.0 + 101.0 - 4.0 * SHORTER, abs=1e-3)
