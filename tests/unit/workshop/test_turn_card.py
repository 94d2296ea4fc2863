"""The turn card, measured: a tube of 14 mm, so the degrees stand 26 mm from its axis."""

from __future__ import annotations

import itertools
import math

import pytest

from loopsolver.drafting.drawing import Circle, Drawing, Face, Line, Text
from loopsolver.drafting.extent import box
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.turn_card import card_deg, turn_card
from tests.builders.small_build import FLAT, UP, job_through

CENTRE = (38.0, 38.0)
"""7 mm of tube, 19 to the degrees and 12 to the rim."""


def lines(card: Drawing, layer: object) -> list[Line]:
    return [
        one for one in card.entities if isinstance(one, Line) and one.layer is layer
    ]


def clock_deg(place: tuple[float, float]) -> float:
    """Return where a place is on a clock face: up is 0, the right is 90."""
    x, y = place[0] - CENTRE[0], place[1] - CENTRE[1]
    return math.degrees(math.atan2(x, y)) % 360.0


def away(place: tuple[float, float]) -> float:
    return math.dist(place, CENTRE)


def texts(card: Drawing) -> dict[str, Text]:
    return {one.text: one for one in card.entities if isinstance(one, Text)}


def test_a_turn_goes_round_as_the_hands_of_a_clock() -> None:
    assert [card_deg(turned) for turned in (0.0, 90.0, -30.0)] == [90.0, 0.0, 120.0]


def test_a_card_is_three_rings() -> None:
    rings = [
        (one.radius, one.layer)
        for one in turn_card(job_through(UP)).entities
        if isinstance(one, Circle) and one.centre == CENTRE
    ]
    assert rings == [(38.0, Layers.CUT), (7.0, Layers.CUT), (26.0, Layers.DIMENSION)]


def test_each_degree_has_a_mark_longer_at_fives_and_tens() -> None:
    """1.4, 2.4 and 3.4 mm long, inwards from the ring."""
    marks = lines(turn_card(job_through(UP)), Layers.DIMENSION)
    assert len(marks) == 360
    for degree, mark in enumerate(marks):
        assert clock_deg(mark.start) % 359.9999 == pytest.approx(degree, abs=1e-3)
        assert away(mark.end) == pytest.approx(26.0)
        tall = 3.4 if degree % 10 == 0 else 2.4 if degree % 5 == 0 else 1.4
        assert away(mark.start) == pytest.approx(26.0 - tall)


def test_every_thirtieth_degree_is_numbered_and_read_from_the_middle() -> None:
    said = texts(turn_card(job_through(UP)))
    numbers = [name for name in said if name.isdigit() and said[name].size == 1.9]
    assert numbers == [str(degree) for degree in range(0, 360, 30)]
    for name in numbers:
        text = said[name]
        assert away(text.position) == pytest.approx(26.0 - 6.6)
        assert clock_deg(text.position) % 359.9999 == pytest.approx(int(name), abs=1e-3)
        assert text.angle_deg == pytest.approx(-int(name))
        assert text.anchor == "middle"


@pytest.mark.parametrize(
    # Bends at 0 and a quarter turn: the seam lies opposite to their middle.
    ("tube", "seams"),
    [(UP, {225.0, 135.0}), (FLAT, {90.0, 270.0})],
)
def test_the_card_is_slit_where_no_bend_is_near(tube, seams: set[float]) -> None:
    card = turn_card(job_through(tube))
    (slit,) = lines(card, Layers.TRIM)
    (at_deg,) = [one for one in seams if abs(clock_deg(slit.end) - one) < 1e-6]
    assert (away(slit.start), away(slit.end)) == pytest.approx((7.0, 38.0))
    assert clock_deg(slit.start) == pytest.approx(at_deg)
    word = texts(card)["slit"]
    # It reads upright, from 2 mm inside of the rim towards the middle.
    assert word.anchor == ("start" if at_deg > 180.0 else "end")
    assert -90.0 <= (word.angle_deg + 180.0) % 360.0 - 180.0 <= 90.0
    left, bottom, right, top = box(word)
    for x in (left, right):
        for y in (bottom, top):
            assert 26.0 < away((x, y)) < 38.0
    # 0.8 mm above the line that it stands on.
    turn = math.radians(at_deg)
    x, y = word.position[0] - CENTRE[0], word.position[1] - CENTRE[1]
    along = x * math.sin(turn) + y * math.cos(turn)
    across = y * math.sin(turn) - x * math.cos(turn)
    assert along == pytest.approx(36.0)
    assert abs(across) == pytest.approx(0.8)
    assert y > along * math.cos(turn)


def test_each_bend_has_a_mark_from_the_tube_and_across_the_degrees() -> None:
    """Broken where the numbers are: from 7 to 17.4 mm, and from 26 to 28."""
    card = turn_card(job_through(FLAT))
    marks = lines(card, Layers.INSIDE)
    found = [
        (
            round(clock_deg(one.end), 6),
            round(away(one.start), 6),
            round(away(one.end), 6),
        )
        for one in marks
    ]
    wanted = [(turned, *span) for turned in (0.0, 180.0)
              for span in ((7.0, 17.4), (26.0, 28.0))]  # fmt: skip
    assert found == wanted


def test_each_number_hangs_on_a_line_beyond_its_mark() -> None:
    """Discs of 3 mm, their middles 7.6 mm beyond the degrees."""
    card = turn_card(job_through(FLAT))
    discs = [
        one for one in card.entities if isinstance(one, Circle) and one.radius == 3.0
    ]
    assert [away(one.centre) for one in discs] == pytest.approx([33.6, 33.6])
    for line, disc in zip(lines(card, Layers.TURN), discs, strict=True):
        assert away(line.start) == pytest.approx(28.0)
        assert line.end == disc.centre
        apart = clock_deg(line.start) - clock_deg(disc.centre)
        assert math.remainder(apart, 360.0) == pytest.approx(0.0, abs=1e-6)


def test_bends_in_one_direction_have_their_numbers_side_by_side() -> None:
    """A hoop: both bends at 0 degrees, discs 2.2 x 3 mm apart along a ring of 33.6 mm."""
    hoop = ((0, 0, 0), (0, 0, 100), (100, 0, 100), (100, 0, 0))
    card = turn_card(job_through(hoop))
    discs = [
        one for one in card.entities if isinstance(one, Circle) and one.radius == 3.0
    ]
    angles = [(clock_deg(one.centre) + 180.0) % 360.0 - 180.0 for one in discs]
    half = math.degrees(6.6 / 33.6) / 2.0
    assert sorted(angles) == pytest.approx([-half, half])


def listed(job: Job) -> list[Text]:
    return [
        one
        for one in turn_card(job).entities
        if isinstance(one, Text) and one.position[0] > 76.0
    ]


def test_the_list_says_which_way_up_and_every_turn() -> None:
    """Hung 8 mm beside the card and 4 below its top, a line every two capitals."""
    told = listed(job_through(FLAT))
    said = [one.text for one in told]
    assert said[:4] == [
        "Turn card",
        "hole 14.0 mm: the tube",
        "This face towards the first end, mark of bend 1",
        "over the inside of bend 1.",
    ]
    assert " ".join(said[4:]) == (
        "Bend 2: same plane, to the side opposite to bend 1 "
        "before it: turn the tube by 180° "
        "A bend points to its inside. Turns are for a former that stays where it is. "
        "Clockwise is as seen along the tube from its first end."
    )
    assert told[0].position == pytest.approx((84.0, 72.0))
    assert (told[0].size, told[0].face) == (3.2, Face.STRONG)
    assert told[1].position == pytest.approx((84.0, 72.0 - 6.4))
    for one, after in itertools.pairwise(told[1:]):
        assert one.position[1] - after.position[1] == pytest.approx(4.4)
        assert one.size == 2.2
    before = said.index("before it: turn the tube by 180°")
    assert {one.face for one in told[4:before]} == {Face.STRONG}
    assert {one.face for one in (*told[1:4], *told[before:])} == {Face.REGULAR}
    assert all(box(one)[2] <= 84.0 + 78.0 for one in told)


def test_a_bend_to_the_same_side_needs_no_turn() -> None:
    hoop = ((0, 0, 0), (0, 0, 100), (100, 0, 100), (100, 0, 0))
    assert "before it: no turn" in [one.text for one in listed(job_through(hoop))]


def test_a_card_is_as_large_as_what_is_on_it() -> None:
    """A mm round the card; the list may hang lower than it."""
    card = turn_card(job_through(FLAT))
    assert (card.low, card.high) == ((-1.0, -1.0), (84.0 + 78.0, 77.0))
    zigzag = [(0.0, 0.0, 0.0)]
    for step in range(14):
        x, y, z = zigzag[-1]
        zigzag.append((x + 90.0, y, z) if step % 2 else (x, y + 90.0, z))
    long = turn_card(job_through(zigzag))
    lowest = min(one.position[1] for one in long.entities if isinstance(one, Text))
    assert lowest < -1.0
    assert long.low == (-1.0, lowest - 2.0)
