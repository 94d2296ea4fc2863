"""What is near is found among many things, and a check takes time as things there are.

The pairs are those of a brute force over all of them.
"""

from __future__ import annotations

import itertools
import time

import numpy as np
import pytest

from loopsolver.geometry.separation import separation
from loopsolver.geometry.solids import HalfSpace, bounds
from loopsolver.scene import body_doubts as module
from loopsolver.scene.body_doubts import body_doubts
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.surroundings import bodies_of, surroundings
from tests.builders.texts import head

HEAD = head(inner=[400, 500, 500])


def component(name: str, position, body: str) -> str:
    return (
        f"[components.{name}]\nposition = {list(map(float, position))}\n"
        f"[[components.{name}.bodies]]\n{body}\n"
    )


def boxes_apart(count: int) -> Scene:
    """Boxes of 30 mm with 15 mm or more between them."""
    parts = [
        component(
            f"c{place}",
            (place % 8 * 45 + 5, place // 8 % 8 * 50 + 5, place // 64 * 50 + 5),
            f"box = [30, 30, 30]\ncentre = [15, 15, 15]\n"
            f"[components.c{place}.ports.a]\nposition = [30, 15, 15]\n"
            'direction = "+x"',
        )
        for place in range(count)
    ]
    return scene_from_text(HEAD + "".join(parts), file="siskin.toml")


def crowd(rng: np.random.Generator) -> Scene:
    """Boxes and cylinders, turned and not, two bodies to some components."""
    parts = []
    for place in range(15):
        size = rng.uniform(10, 90, 3)
        turn = rng.uniform(-180, 180, 3) * rng.integers(0, 2)
        shape = (
            f"box = {size.tolist()}"
            if rng.random() < 0.5
            else f"cylinder = {{ diameter = {size[0]}, height = {size[1]} }}"
        )
        body = f"{shape}\ncentre = [0, 0, 0]\nrotation = {turn.tolist()}"
        if place % 3 == 0:
            body += f"\n[[components.c{place}.bodies]]\n{body}".replace(
                "[0, 0, 0]", "[40, 0, 0]"
            )
        parts.append(component(f"c{place}", rng.uniform(60, 260, 3), body))
    return scene_from_text(HEAD + "".join(parts), file="siskin.toml")


@pytest.mark.parametrize("seed", range(2))
def test_the_overlaps_are_those_of_all_pairs_of_components(seed: int):
    scene = crowd(np.random.default_rng(seed))
    wanted = [
        f"{one.name} and {other.name}"
        for first, second in itertools.combinations(scene.components, 2)
        for one, other in itertools.product(first.bodies, second.bodies)
        if not isinstance(one.solid, HalfSpace)
        and not isinstance(other.solid, HalfSpace)
        and separation(one.solid, other.solid).distance < -0.5
    ]
    found = [each.where for each in body_doubts(scene) if each.kind == "overlap"]
    assert found == wanted
    assert len(wanted) > 5


def test_near_is_what_shares_room_with_a_box_or_a_point():
    scene = crowd(np.random.default_rng(9))
    around = surroundings(scene)
    for thing in around.things[:8]:
        low, high = bounds(thing.solid)
        wanted = [
            place
            for place, other in enumerate(around.things)
            for b in (bounds(other.solid),)
            if all(b[0, i] < high[i] and b[1, i] > low[i] for i in range(3))
        ]
        assert list(around.near(np.array([low, high]))) == wanted
        assert list(around.near(np.array([low, high]), after=5)) == [
            place for place in wanted if place > 5
        ]
    assert len(bodies_of(scene).things) == 20


def test_bodies_that_stand_apart_are_not_measured(monkeypatch: pytest.MonkeyPatch):
    def never(*args: object, **options: object) -> None:
        pytest.fail(f"measured {args}")

    scene = boxes_apart(200)
    monkeypatch.setattr(module, "overlap", never)
    assert not list(body_doubts(scene))


def test_four_times_the_components_take_about_four_times_as_long():
    """A ratio within one process; 16 times would be all pairs."""
    few, many = boxes_apart(100), boxes_apart(400)

    def least(scene: Scene) -> float:
        spent = []
        for _ in range(3):
            start = time.process_time()
            doubts(scene)
            spent.append(time.process_time() - start)
        return min(spent)

    least(few)  # what is made once is made
    assert least(many) < 10 * least(few)
