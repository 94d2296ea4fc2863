"""Labels: none overlap, none is cut, the most wanted come first."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.view.labels import SPACE, LabelWish, place_labels

FRAME = (0.0, 0.0, 900.0, 700.0)
NOTHING = np.empty((0, 2))


def wish(text, x, y, *, width=90.0):
    return LabelWish(text=text, kind="body", anchor=(x, y), size=(width, 20.0))


def are_apart(first, second):
    a, b = first.box, second.box
    return (
        a[2] + SPACE <= b[0] + 1e-9
        or b[2] + SPACE <= a[0] + 1e-9
        or a[3] + SPACE <= b[1] + 1e-9
        or b[3] + SPACE <= a[1] + 1e-9
    )


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    anchors=st.lists(
        st.tuples(
            st.floats(-100.0, 1000.0), st.floats(-100.0, 800.0), st.floats(10.0, 300.0)
        ),
        max_size=45,
    )
)
def test_labels_neither_overlap_nor_leave_the_frame(anchors):
    wishes = [wish(str(n), x, y, width=w) for n, (x, y, w) in enumerate(anchors)]
    placed = place_labels(wishes, frame=FRAME, keep_free=NOTHING)
    for label in placed:
        left, bottom, right, top = label.box
        assert left >= FRAME[0]
        assert bottom >= FRAME[1]
        assert right <= FRAME[2]
        assert top <= FRAME[3]
    for first, second in combinations(placed, 2):
        assert are_apart(first, second)
    assert placed == place_labels(wishes, frame=FRAME, keep_free=NOTHING)


def test_label_stands_on_its_anchor_where_nothing_is_in_the_way():
    (label,) = place_labels(
        [wish("pump", 300.0, 200.0)], frame=FRAME, keep_free=NOTHING
    )
    assert label.centre == (300.0, 200.0)


def test_label_at_the_rim_is_moved_in_not_cut():
    (label,) = place_labels([wish("pump", 5.0, 5.0)], frame=FRAME, keep_free=NOTHING)
    assert label.box[0] >= 0.0
    assert label.box[1] >= 0.0


def test_thing_outside_the_picture_gets_no_label():
    assert not place_labels([wish("pump", -5.0, 50.0)], frame=FRAME, keep_free=NOTHING)


def test_label_makes_way_for_the_tube():
    tube = np.column_stack([np.linspace(200.0, 400.0, 60), np.full(60, 200.0)])
    (label,) = place_labels([wish("pump", 300.0, 200.0)], frame=FRAME, keep_free=tube)
    left, bottom, right, top = label.box
    inside = (tube[:, 0] > left) & (tube[:, 0] < right)
    assert not (inside & (tube[:, 1] > bottom) & (tube[:, 1] < top)).any()


def test_of_many_at_one_spot_the_first_stay_and_the_rest_are_left_out():
    wishes = [wish(str(n), 450.0, 350.0, width=200.0) for n in range(60)]
    placed = place_labels(wishes, frame=FRAME, keep_free=NOTHING)
    assert placed[0].wish.text == "0"
    assert 3 < len(placed) < 30
    for label in placed:
        assert np.hypot(*np.subtract(label.centre, label.wish.anchor)) < 210.0
