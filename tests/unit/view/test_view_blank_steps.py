"""A tube bent bend by bend from its blank: where it lies after each, by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loopsolver.tube.centreline import BendArc, piece_length
from loopsolver.view import blank_steps
from loopsolver.view.blank_steps import step_bend, stretches
from loopsolver.view.panel_lines import COLUMNS
from loopsolver.view.selection import ViewSelection
from tests.builders import demo_build
from tests.builders.plans import candidate, ending

SCENE = demo_build.scene()
ARC = math.pi / 2.0 * 28.0
# Up 100 mm, then 100 mm to the right, then 80 mm away: legs less 28 mm a bend.
STAIRS = candidate(
    (0.0, 0.0, 0.0),
    (0.0, 0.0, 100.0),
    (100.0, 0.0, 100.0),
    (100.0, 80.0, 100.0),
    ends=(
        ending("pump.out", (0.0, 0.0, 1.0), (0.0, 0.0, 8.0)),
        ending("card.in", (0.0, -1.0, 0.0), (100.0, 72.0, 100.0)),
    ),
)


def kinds(made: int) -> list[tuple[str, float]]:
    whole = stretches(STAIRS, SCENE, made=made)
    return [(kind, round(piece_length(piece), 6)) for kind, piece in whole]


@pytest.mark.parametrize("made", [0, 1, 2])
def test_every_step_has_the_same_lengths_bends_to_come_marked(made) -> None:
    arc = round(ARC, 6)
    bends = [("bend" if n < made else "to bend", arc) for n in range(2)]
    assert kinds(made) == [
        ("to cut off", 30.0),
        ("straight", 72.0),
        bends[0],
        ("straight", 44.0),
        bends[1],
        ("straight", 52.0),
        ("to cut off", 30.0),
    ]


def tip(made: int):
    *_, (_, last) = stretches(STAIRS, SCENE, made=made)
    assert not isinstance(last, BendArc)
    return last.end


def test_the_free_end_swings_bend_by_bend() -> None:
    rest = 44.0 + ARC + 52.0 + 30.0
    assert tip(0) == pytest.approx((0.0, 0.0, 72.0 + ARC + rest))
    assert tip(1) == pytest.approx((28.0 + rest, 0.0, 100.0))
    assert tip(2) == pytest.approx((100.0, 80.0 + 30.0, 100.0))


def test_where_bends_take_up_less_the_blank_is_shorter() -> None:
    """Test bends said that a bend takes up 0.9 of its arc."""
    short = replace(STAIRS, take_up=0.9)
    *_, (_, last) = stretches(short, SCENE, made=0)
    assert not isinstance(last, BendArc)
    blank = 72.0 + 44.0 + 52.0 + 2 * 0.9 * ARC + 30.0
    assert last.end == pytest.approx((0.0, 0.0, blank))


def test_a_key_leads_from_the_blank_through_the_bends_to_the_tube_in_place() -> None:
    now, seen = ViewSelection(run=0, rank=1, beside=2, shot=3), []
    for _ in range(5):
        now = step_bend(now, 2)
        seen.append(now.bent)
    assert seen == [0, 1, 2, None, 0]
    assert (now.beside, now.shot, now.tilt) == (None, 0, 0)


def words(made: int) -> list[str]:
    sections = blank_steps.blank_section(
        STAIRS, SCENE, ("pump.out", "card.in"), made=made
    )
    rows = [line.text for part in sections for line in part.lines]
    assert max(map(len, rows)) <= COLUMNS
    return rows


def test_the_row_of_the_bend_that_was_made_is_marked_and_no_other() -> None:
    for made in range(3):
        marked = [row for row in words(made) if row.startswith("▸")]
        assert [row.split()[1] for row in marked] == ([str(made)] if made else [])
    # Its marks on the blank: 30 + 72 on, and an arc.
    assert f"  102.0 mm to {102.0 + ARC:.1f} mm from the first end" in words(1)


def test_turns_are_told_as_on_the_sheets_with_what_can_hurt() -> None:
    """From up to right to away: right-handed about the travel (+x), y is 90 from -z."""
    text = " ".join(" ".join(words(2)).split())
    assert "turn the tube 90°" in text
    assert "of bend 1" in text
    assert "gives off harmful fumes" in text


def test_bends_are_numbered_and_ends_named_where_they_are() -> None:
    for made in (0, 2):
        names = blank_steps.bench_names(STAIRS, SCENE, made)
        assert [one.text for one in names] == ["1", "2", "to pump.out", "to card.in"]
        assert names[-1].at == pytest.approx(tip(made))
        assert names[-2].at == pytest.approx((0.0, 0.0, -30.0))
