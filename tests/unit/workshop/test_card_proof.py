"""The proof in card: cut out and put together as its words say, it is the tube.

Nothing of loopsolver's geometry is asked: a reader follows the printed lines, letters
and sentences of each card, and numpy puts the cards together in space.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.spatial import KDTree

from loopsolver.drafting.drawing import Arc, Line, Polygon, Text
from loopsolver.drafting.paging import PAPERS, room
from loopsolver.workshop.card_proof import (
    card_drawing,
    cards,
    gauges,
    joints,
)
from loopsolver.workshop.flat import flat_planes
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.proof_pages import proof_leaves, proof_words
from tests.builders.scenes import COLLAR
from tests.builders.small_build import RADIUS, UP, job_through
from tests.e2e.bench_reader import furthest_apart, turned
from tests.unit.workshop.tidy import said, struck
from tests.unit.workshop.tubes_to_bend import RUNS

HALF = 7.0  # of the tube's 14 mm
A4 = PAPERS["a4"]
SAYS = re.compile(
    r"Push cards (\d+) and (\d+) into each other to the ends of their slits\. "
    r"Half (\w) of card \2 then stands ([\d.]+)° from half \3 of card \1, "
    r"on the (printed side|back) of card \1\."
)


def place(angle_deg: float, radius: float, centre=(0.0, 0.0)) -> np.ndarray:
    angle = math.radians(angle_deg)
    return np.array(centre) + radius * np.array([math.cos(angle), math.sin(angle)])


def ends_of(shape: Line | Arc) -> list[np.ndarray]:
    if isinstance(shape, Line):
        return [np.array(shape.start), np.array(shape.end)]
    return [
        place(angle, shape.radius, shape.centre)
        for angle in (shape.start_deg, shape.end_deg)
    ]


def on_layer(drawing, layer, kinds=(Line, Arc)):
    return [e for e in drawing.entities if isinstance(e, kinds) and e.layer is layer]


def chained(shapes, start):
    """Return lines and arcs in the order in which they follow from a place."""
    left, at, found = list(shapes), np.array(start), []
    while left:
        nearest = min(
            left, key=lambda shape: min(math.dist(at, end) for end in ends_of(shape))
        )
        one, other = ends_of(nearest)
        assert min(math.dist(at, one), math.dist(at, other)) < 1e-6
        at = other if math.dist(at, one) < math.dist(at, other) else one
        left.remove(nearest)
        found.append(nearest)
    return found, at


@dataclass
class Slit:
    """A slit as it is seen on a card, in the card's own two coordinates."""

    letter: str
    end: np.ndarray
    middle: np.ndarray
    half: np.ndarray


def slits_of(drawing) -> list[Slit]:
    """Return the slits of a card: longer than their ticks, lettered on one half."""
    lines = on_layer(drawing, Layers.CUT)
    ticks = [line for line in lines if math.dist(line.start, line.end) < HALF]
    letters = [
        e
        for e in drawing.entities
        if isinstance(e, Text) and re.fullmatch("[A-Z]", e.text)
    ]
    found = []
    for line in lines:
        if line in ticks:
            continue
        end, middle = np.array(line.start), np.array(line.end)
        assert any(
            math.dist((np.array(t.start) + np.array(t.end)) / 2.0, middle) < 1e-6
            for t in ticks
        )
        text = min(letters, key=lambda one: math.dist(one.position, middle))
        body = np.array(text.position) + place(text.angle_deg + 90.0, text.size / 2.0)
        along = (middle - end) / math.dist(middle, end)
        side = np.array([-along[1], along[0]])
        off = float((body - middle) @ side)
        assert 1.0 < abs(off) < HALF - 1.0, "the letter stands on one half"
        found.append(
            Slit(
                letter=text.text,
                end=end,
                middle=middle,
                half=math.copysign(1, off) * side,
            )
        )
    return found


@dataclass
class Read:
    """A card as it is read: its path in order, and the slits before and after it."""

    ends: tuple[np.ndarray, np.ndarray]
    centres: list[np.ndarray]
    before: Slit | None
    after: Slit | None


def read(drawing, number: int, count: int) -> Read:
    """Return a card as somebody reads it who has all of them on the table."""
    lines = on_layer(drawing, Layers.CENTRE)
    corners = [end for shape in lines for end in ends_of(shape)]
    free = [
        one
        for one in corners
        if sum(math.dist(one, other) < 1e-6 for other in corners) == 1
    ]
    assert len(free) == 2
    slits = sorted(slits_of(drawing), key=lambda slit: slit.letter)
    assert len(slits) == (number > 1) + (number < count)
    before = slits[0] if number > 1 else None
    after = slits[-1] if number < count else None
    if before is not None:
        start = before.end
    elif after is not None:
        start = max(free, key=lambda one: math.dist(one, after.end))
    else:
        names = {e.text: e for e in drawing.entities if isinstance(e, Text)}
        start = min(free, key=lambda one: math.dist(one, names["first"].position))
    path, end = chained(lines, min(free, key=lambda one: math.dist(one, start)))
    arcs = [np.array(shape.centre) for shape in path if isinstance(shape, Arc)]
    return Read(ends=(np.array(start), end), centres=arcs, before=before, after=after)


def put_together(job) -> np.ndarray:
    """Return the first end, the middles of the bends and the last end, in space."""
    planes = flat_planes(job.table)
    said = " ".join(f"{head}. {text}" for head, text in proof_words(job))
    told = {int(first): rest for first, *rest in SAYS.findall(said)}
    assert len(told) == len(planes) - 1
    found: list[np.ndarray] = []
    right, up, origin = np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.zeros(3)
    for number, card in enumerate(cards(planes), start=1):
        seen = read(card_drawing(job, card, paper=A4), number, len(planes))

        def laid(at, axes=(right, up), origin=origin):
            return origin + at[0] * axes[0] + at[1] * axes[1]

        if number == 1:
            found.append(laid(seen.ends[0]))
        found += [laid(centre) for centre in seen.centres]
        if seen.after is None:
            found.append(laid(seen.ends[1]))
            break
        # The next card: its slit's end on this one's, its letter turned as is said.
        _, letter, angle, side = told[number]
        following = read(
            card_drawing(job, cards(planes)[number], paper=A4), number + 1, len(planes)
        )
        assert following.before is not None
        assert letter == seen.after.letter == following.before.letter
        along = laid(seen.after.end) - laid(seen.after.middle)
        along /= np.linalg.norm(along)
        half = seen.after.half[0] * right + seen.after.half[1] * up
        printed = np.cross(right, up)
        towards = printed if side == "printed side" else -printed
        turn = math.radians(float(angle))
        new_half = math.cos(turn) * half + math.sin(turn) * towards
        middle = laid(seen.after.middle)
        # Its own two directions on paper: along its slit, and towards its letter.
        own_along = following.before.middle - following.before.end
        own_along = own_along / np.linalg.norm(own_along)
        own_half = following.before.half
        right = own_along[0] * along + own_half[0] * new_half
        up = own_along[1] * along + own_half[1] * new_half
        at = following.before.middle
        origin = middle - at[0] * right - at[1] * up
    return np.array(found)


def wanted(job) -> np.ndarray:
    """Return the same points from the tube's vertices: a bend's circle touches its legs."""
    vertices = np.array(job.centreline.vertices)
    points = [vertices[0]]
    for before, at, after in zip(vertices, vertices[1:], vertices[2:], strict=False):
        come = (at - before) / np.linalg.norm(at - before)
        go = (after - at) / np.linalg.norm(after - at)
        half = math.acos(np.clip(come @ go, -1.0, 1.0)) / 2.0
        inward = (go - come) / np.linalg.norm(go - come)
        points.append(at + inward * RADIUS / math.cos(half))
    return np.array([*points, vertices[-1]])


def walked(seed: int):
    """Return the vertices of a tube of three to five bends at odd angles and turns."""
    draw = np.random.default_rng(seed)
    along, up = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    at = np.zeros(3)
    vertices, bends = [at], int(draw.integers(3, 6))
    angles = [*draw.uniform(30.0, 110.0, bends).round(1), 0.0]
    outs = [0.0, *(RADIUS * math.tan(math.radians(a) / 2.0) for a in angles)]
    for angle, before, out in zip(angles, outs, outs[1:], strict=False):
        straight = draw.choice([draw.uniform(0.5, 30.0), draw.uniform(30.0, 150.0)])
        straight = max(straight, 30.0) if not before or not out else straight
        at = at + (before + straight + out) * along
        vertices.append(at)
        up = turned(up, along, math.radians(draw.uniform(-179.0, 179.0)))
        along = turned(along, up, math.radians(angle))
    return [tuple(vertex) for vertex in vertices]


SQUARE = {**RUNS, "up": UP}


@pytest.mark.parametrize("name", SQUARE)
def test_cards_put_together_are_the_tube_and_not_its_mirror_image(name: str) -> None:
    job = job_through(SQUARE[name])
    found, meant = put_together(job), wanted(job)
    assert found.shape == meant.shape
    assert furthest_apart(found, meant) < 0.01
    if name in {"staircase", "oblique", "up"}:
        mirrored = meant * (1.0, 1.0, -1.0)
        assert furthest_apart(found, mirrored) > 5.0


@pytest.mark.parametrize("seed", range(12))
def test_cards_at_odd_angles_are_the_tube_too(seed: int) -> None:
    # Turns are said to a tenth of a degree: 0.05 of 500 mm are 0.4 mm a joint.
    job = job_through(walked(seed))
    found, meant = put_together(job), wanted(job)
    assert furthest_apart(found, meant) < 1.5
    assert furthest_apart(found, meant * (1.0, 1.0, -1.0)) > 3.0


@pytest.mark.parametrize("name", SQUARE)
def test_the_outline_is_closed_and_half_a_tube_from_the_centre_line(name: str) -> None:
    job = job_through(SQUARE[name])
    for card in cards(flat_planes(job.table)):
        drawing = card_drawing(job, card, paper=A4)
        edge = on_layer(drawing, Layers.TUBE)
        corners = [end for shape in edge for end in ends_of(shape)]
        for one in corners:
            assert sum(math.dist(one, other) < 1e-6 for other in corners) == 2
        centre = KDTree(
            np.vstack([beads(shape) for shape in on_layer(drawing, Layers.CENTRE)])
        )
        caps = [shape for shape in edge if is_cap(shape, centre)]
        assert len(caps) == 2
        for shape in edge:
            if shape in caps:
                assert math.dist(shape.start, shape.end) == pytest.approx(2.0 * HALF)
                continue
            near, _ = centre.query(beads(shape))
            assert near == pytest.approx(HALF, abs=0.02)


def beads(shape: Line | Arc) -> list[np.ndarray]:
    """Return places along a line or an arc, at most 0.5 mm apart."""
    if isinstance(shape, Line):
        start, end = ends_of(shape)
        count = 2 + int(2.0 * math.dist(start, end))
        return [start + part * (end - start) for part in np.linspace(0.0, 1.0, count)]
    return [
        place(angle, shape.radius, shape.centre)
        for angle in np.linspace(shape.start_deg, shape.end_deg, 180)
    ]


def is_cap(shape: Line | Arc, centre: KDTree) -> bool:
    """Return whether a line of the outline crosses the centre line."""
    if isinstance(shape, Arc):
        return False
    near, _ = centre.query((np.array(shape.start) + np.array(shape.end)) / 2.0)
    return bool(near < 1e-6)


def test_mouths_are_as_deep_as_the_fitting_from_the_ends() -> None:
    job = job_through(UP)
    first, last = (
        card_drawing(job, c, paper=A4) for c in cards(flat_planes(job.table))
    )
    for drawing, says in ((first, "first"), (last, "last")):
        (mouth,) = on_layer(drawing, Layers.FITTING)
        middle = (np.array(mouth.start) + np.array(mouth.end)) / 2.0
        assert math.dist(mouth.start, mouth.end) == pytest.approx(2.0 * HALF)
        (text,) = [
            e for e in drawing.entities if isinstance(e, Text) and e.text == says
        ]
        ends = [e for line in on_layer(drawing, Layers.CENTRE) for e in ends_of(line)]
        seat = min(ends, key=lambda end: math.dist(end, text.position))
        assert math.dist(seat, middle) == pytest.approx(COLLAR.depth)


@pytest.mark.parametrize("seed", range(6))
def test_gauges_are_as_wide_as_the_turns_they_name(seed: int) -> None:
    job = job_through(walked(seed))
    turns = [abs(bend.rotation_deg) for bend in job.table.bends[1:]]
    drawn = tuple(gauges(joints(flat_planes(job.table))))
    # Nearer than 10 degrees to 0 or to 180 none is cut.
    assert len(drawn) == sum(10.0 <= turn <= 170.0 for turn in turns)
    for drawing in drawn:
        (wedge,) = [e for e in drawing.entities if isinstance(e, Polygon)]
        (text,) = [e for e in drawing.entities if isinstance(e, Text)]
        tip, one, other = map(np.array, wedge.points)
        sides = [(end - tip) / np.linalg.norm(end - tip) for end in (one, other)]
        words = re.fullmatch(r"gauge (\w): ([\d.]+)°", text.text)
        assert words is not None
        letter, says = words.groups()
        assert math.degrees(math.acos(sides[0] @ sides[1])) == pytest.approx(
            float(says), abs=0.051
        )
        assert float(says) == pytest.approx(turns[ord(letter) - ord("A")], abs=0.051)


def test_slits_are_long_enough_to_hold_and_what_sticks_out_is_told() -> None:
    """Straights of 4 and of 84 mm between the bends; 15 mm of slit hold, 25 are enough."""
    heads = {}
    for leg, slit in ((60.0, 15.0), (140.0, 25.0)):
        job = job_through(((0, 0, 0), (80, 0, 0), (80, leg, 0), (80, leg, 90)))
        heads[leg] = [head for head, _ in proof_words(job)]
        for card in cards(flat_planes(job.table)):
            (found,) = slits_of(card_drawing(job, card, paper=A4))
            assert math.dist(found.end, found.middle) == pytest.approx(slit)
    assert "Snip" in heads[60.0]
    assert "Snip" not in heads[140.0]


def test_a_turn_too_near_to_none_for_a_gauge_is_set_by_eye() -> None:
    turn = math.radians(5.0)
    job = job_through(
        (
            (0, 0, 0),
            (80, 0, 0),
            (80, 100, 0),
            (80 + 90 * math.cos(turn), 100, 90 * math.sin(turn)),
        )
    )
    words = " ".join(text for _, text in proof_words(job))
    assert "No gauge can be cut" in words
    assert "Tape gauge" not in words


PAGES = {
    **SQUARE,
    "wide and high": ((0, 0, 0), (290, 0, 0), (290, 280, 0)),
    "high": ((0, 0, 0), (60, 0, 0), (60, 270, 0)),
    "one fits beside the words": ((0, 47, 0), (0, 0, 0), (-123, 0, 0), (-123, 0, 197)),
}


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
@pytest.mark.parametrize("name", PAGES)
def test_pages_hold_their_cards_and_none_is_words_alone(name, paper) -> None:
    leaves = proof_leaves(
        job_through(PAGES[name]), paper=paper, belongs="plan 0123abcd"
    )
    drawings = [viewport.drawing for leaf in leaves for viewport in leaf.viewports]
    for drawing in drawings:
        assert list(struck(drawing)) == []
    assert "Printed side is the side you see now" in " ".join(said(drawings))
    cut = (Line, Arc, Polygon)  # a gauge is a polygon
    for leaf in leaves:
        assert any(on_layer(w.drawing, Layers.TUBE, cut) for w in leaf.viewports)
        low, high = room(leaf.size)
        for viewport in leaf.viewports:
            for axis in (0, 1):
                far = viewport.at[axis] + viewport.high[axis] - viewport.low[axis]
                assert viewport.at[axis] >= low[axis] - 1e-6
                assert far <= high[axis] + 1e-6
