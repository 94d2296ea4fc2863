"""Ways round: told apart as a flood of the free space does, and by hand-made cases."""

from collections import deque
from itertools import combinations, pairwise

import numpy as np
import pytest

from loopsolver.clearance.obstacles import Obstacle
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.solids import Box
from loopsolver.geometry.vectors import Point, point
from loopsolver.routing.ways_round import (
    closings,
    is_near,
    passed_otherwise,
    poles_of,
)
from loopsolver.tube.centreline import Centreline
from tests.builders.problems import case_walls
from tests.full import few_or_all
from tests.unit.routing.touching import Array

INNER: Point = (200.0, 200.0, 200.0)
REACH = 10.0
START, GOAL = (12.0, 96.0, 104.0), (188.0, 96.0, 104.0)
STEP = 20.0


def body(name: str, centre: Point, size: Point) -> Obstacle:
    return Obstacle(name=name, solid=Box(frame=Frame(origin=centre), size=size))


def tube(*vertices: Point) -> Centreline:
    return Centreline(vertices=vertices, radius=1.0)


def differ(one: Centreline, other: Centreline, *bodies: Obstacle) -> tuple[str, ...]:
    return passed_otherwise(
        one, other, poles_of((*bodies, *case_walls(INNER)), reach=REACH)
    )


# -------------------------------------------------------------------------- the flood
#
# The oracle has half planes of its own, all in planes across x, where the package's go
# along x; it reads crossings off one after the other, and its flood walks cell by cell
# over the pairs of a cell and a reduced word. That such words tell ways round among posts
# apart: Bhattacharya, Likhachev and Kumar, Autonomous Robots 33 (2012).

Post = tuple[int, Array]
"""The axis a post lies along, and its middle [mm]."""


def posts_of(seed: int) -> list[Post]:
    """One post, or two at least 50 mm apart in x; each along y or z, 24 mm thick."""
    rng = np.random.default_rng(seed)
    xs = [rng.uniform(50, 75), rng.uniform(125, 150)][: 1 + seed % 2]
    return [
        (int(rng.integers(1, 3)), np.array([x, *rng.uniform(70, 130, 2)])) for x in xs
    ]


def letter(posts: list[Post], before: Array, after: Array) -> list[int]:
    """Half planes crossed by one step: from a post towards high z, or y, at its x."""
    met = []
    for number, (axis, middle) in enumerate(posts, start=1):
        out = 3 - axis
        sides = (before[0] > middle[0], after[0] > middle[0])
        if sides[0] != sides[1] and (before[out] + after[out]) / 2.0 > middle[out]:
            met.append(number if sides[1] else -number)
    return met


def joined(word: tuple[int, ...], letters: list[int]) -> tuple[int, ...]:
    for one in letters:
        word = word[:-1] if word and word[-1] == -one else (*word, one)
    return word


def word_of(posts: list[Post], line: Centreline) -> tuple[int, ...]:
    word: tuple[int, ...] = ()
    points = np.array(line.vertices)
    for begin, end in pairwise(points):
        steps = begin + np.linspace(0.0, 1.0, 100)[:, None] * (end - begin)
        for before, after in pairwise(steps):
            word = joined(word, letter(posts, before, after))
    return word


def is_free(posts: list[Post], at: Array, *, keep: float) -> bool:
    return all(
        np.abs(np.delete(at - middle, axis)).max() > 12.0 + keep
        for axis, middle in posts
    )


def flooded(posts: list[Post], longest: int) -> set[tuple[int, ...]]:
    """Words, up to a length, with which the flood comes to the goal."""
    cells = int(INNER[0] / STEP)
    first = tuple(int(c // STEP) for c in START)
    last = tuple(int(c // STEP) for c in GOAL)
    nowhere: tuple[int, ...] = ()
    seen = {(first, nowhere)}
    queue = deque(seen)
    while queue:
        cell, word = queue.popleft()
        here = (np.array(cell) + 0.5) * STEP
        for axis, way in ((a, w) for a in range(3) for w in (-1, 1)):
            there = here.copy()
            there[axis] += way * STEP
            steps = tuple(int(c // STEP) for c in there)
            if not 0 <= steps[axis] < cells or not is_free(posts, there, keep=0.0):
                continue
            reached = (steps, joined(word, letter(posts, here, there)))
            if len(reached[1]) <= longest and reached not in seen:
                seen.add(reached)
                queue.append(reached)
    return {word for cell, word in seen if cell == last}


def random_tubes(posts: list[Post], seed: int, count: int) -> list[Centreline]:
    """Tubes between the ends over random places, none of which meets a post.

    So many, and as many more as it takes until not all go the same way round.
    """
    rng = np.random.default_rng([seed, 1])
    found: list[Centreline] = []
    while len(found) < count or len({word_of(posts, one) for one in found}) < 2:
        way = rng.uniform(12, 188, (int(rng.integers(1, 6)), 3))
        line = tube(START, *map(point, way), GOAL)
        points = np.array(line.vertices)
        along = np.linspace(0.0, 1.0, 50)[:, None]
        legs = pairwise(points)
        samples = np.concatenate([a + along * (b - a) for a, b in legs])
        if all(is_free(posts, each, keep=3.0) for each in samples):
            found.append(line)
    return found


@pytest.mark.parametrize("seed", few_or_all((0, 1, 3), range(40)))
def test_ways_round_posts_are_those_of_a_flood(seed: int) -> None:
    posts = posts_of(seed)
    sizes = [[200.0 if a == axis else 24.0 for a in range(3)] for axis, _ in posts]
    bodies = []
    for number, ((axis, middle), size) in enumerate(zip(posts, sizes, strict=True)):
        centre = middle.copy()
        centre[axis] = 100.0
        bodies.append(body(f"post {number}", point(centre), point(size)))
    lines = random_tubes(posts, seed, 14)
    words = [word_of(posts, line) for line in lines]
    ways = flooded(posts, longest=2)
    assert {word for word in words if len(word) <= 2} <= ways
    assert len(set(words)) > 1
    for one, other in combinations(range(len(lines)), 2):
        told = differ(lines[one], lines[other], *bodies)
        assert bool(told) == (words[one] != words[other])


# ------------------------------------------------------------------ a builder's reading

LOW = body("low", (100.0, 100.0, 20.0), (60.0, 60.0, 40.0))
LEFT = tube((20, 100, 20), (100, 50, 20), (180, 100, 20))
RIGHT = tube((20, 100, 20), (100, 150, 20), (180, 100, 20))


def test_beside_a_low_body_there_are_two_ways() -> None:
    assert differ(LEFT, RIGHT, LOW) == ("low",)
    assert differ(LEFT, LEFT, LOW) == ()


@pytest.mark.parametrize("y", [72.0, 90.0, 100.0, 110.0, 128.0])
def test_over_the_middle_of_a_low_body_is_no_other_way(y: float) -> None:
    over = tube((20, 100, 20), (40, y, 56), (160, y, 56), (180, 100, 20))
    assert differ(LEFT, over, LOW) == differ(RIGHT, over, LOW) == ()


def test_high_above_a_low_body_there_is_one_way() -> None:
    left = tube((20, 100, 20), (100, 50, 150), (180, 100, 20))
    right = tube((20, 100, 20), (100, 150, 150), (180, 100, 20))
    assert differ(left, right, LOW) == ()


def test_a_bar_on_a_board_has_an_upper_and_a_lower_side() -> None:
    """Board on the wall x = 0; the bar stands 45 mm out of it and is 130 mm long."""
    board = body("board", (6.0, 100.0, 100.0), (12.0, 180.0, 180.0))
    bar = body("memory", (34.0, 100.0, 100.0), (44.0, 130.0, 8.0))
    ends = (30.0, 20.0, 100.0), (30.0, 180.0, 100.0)
    above = tube(ends[0], (30, 100, 125), ends[1])
    below = tube(ends[0], (30, 100, 75), ends[1])
    over = tube(ends[0], (70, 40, 101), (70, 160, 101), ends[1])
    assert differ(above, below, board, bar) == ("memory",)
    assert differ(above, over, board, bar) == differ(below, over, board, bar) == ()


def test_a_u_round_a_block_is_another_way_than_the_one_before_it() -> None:
    block = body("block", (100.0, 100.0, 100.0), (70.0, 70.0, 120.0))
    ends = (40.0, 40.0, 100.0), (160.0, 40.0, 100.0)
    before = tube(*ends)
    wide = tube(ends[0], (40, 160, 100), (160, 160, 100), ends[1])
    assert differ(before, wide, block) == ("block",)


def test_a_plate_closes_the_side_that_a_tube_takes() -> None:
    post = body("post", (100.0, 100.0, 100.0), (24.0, 24.0, 190.0))
    line = tube(START, (100.0, 70.0, 104.0), GOAL)
    (plate,) = closings(line, poles_of((post, *case_walls(INNER)), reach=REACH))
    low = np.array(plate.frame.origin) - np.array(plate.size) / 2.0
    high = low + np.array(plate.size)
    assert low[1] < 0.0 < high[1] == pytest.approx(100.0, abs=1e-3)
    assert low[0] < 100.0 < high[0]
    assert low[2] < 0.0
    assert high[2] > 200.0


def test_near_means_everywhere_and_both_ways() -> None:
    short = tube((0, 0, 0), (100, 0, 0))
    longer = tube((0, 0, 0), (140, 0, 0))
    assert is_near(short, tube((0, 29, 0), (100, 29, 0)), within=30.0)
    assert not is_near(short, tube((0, 31, 0), (100, 31, 0)), within=30.0)
    assert not is_near(short, longer, within=30.0)
    assert not is_near(longer, short, within=30.0)
