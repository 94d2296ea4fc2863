"""In which order tubes and parts go together: by hand, and against exhaustive search."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import pytest

from loopsolver.assembly.order import assembly
from loopsolver.geometry.vectors import difference, offset, unit
from loopsolver.plan import Plan
from loopsolver.routing.control import Control
from loopsolver.scene.model import Assembly, Body
from tests.builders.joined_tubes import Tube, joined
from tests.builders.scenes import box, tube
from tests.builders.taken_apart import Plain, manager, meets
from tests.full import few_or_all

PETG = tube(material="petg")
"""Of which nobody says what it bears: it is never eased in."""


def block(vertices, end, name) -> Body:
    """Return a cube of 24 mm behind the port that holds an end of a tube."""
    first, second = (vertices[0], vertices[1]) if end == 0 else vertices[:-3:-1]
    middle = offset(first, unit(difference(first, second)), 8.0 + 12.0)
    return box(name, [x - 12.0 for x in middle], [x + 12.0 for x in middle])


def build(tubes: dict[str, Tube], *others: Body, movable=(), last=(), **more) -> Plan:
    """Return a plan of tubes between parts of cubes, and other bodies that are fixed."""
    bodies: dict[str, tuple[Body, ...]] = {}
    for start, goal, line in tubes.values():
        for place, end in ((start, 0), (goal, 1)):
            bodies[place] = (*bodies.get(place, ()), block(line, end, place))
    if others:
        bodies["shelf"] = others
    stated = Assembly(movable=tuple(movable), last=tuple(last))
    return joined(tubes, bodies=bodies, assembly=stated, tube=PETG, **more)


def u_tube(x, y, z, width, height):
    return (
        (x, y, z),
        (x, y, z + height),
        (x + width, y, z + height),
        (x + width, y, z),
    )


def corner(x, y, z, width, height):
    return ((x, y, z), (x, y, z + height), (x + width, y, z + height))


def z_tube(x, y, z, width, height):
    return (
        (x, y, z),
        (x, y, z + height),
        (x + width, y, z + height),
        (x + width, y, z + 2.0 * height),
    )


# ---------------------------------------------------------------------- by hand


def test_a_tube_that_slides() -> None:
    plan = build({"u": ("a", "b", u_tube(200.0, 300.0, 200.0, 150.0, 90.0))})
    of = assembly(plan)
    (removal,) = of.removals
    assert removal.freeing.parts == ()
    assert removal.leaving.draw.way == (0.0, 0.0, 1.0)
    assert removal.leaving.draw.by == 12.0
    assert set(removal.ports) == {"a.u", "b.u"}
    assert of.loose == ()


def test_a_tube_that_needs_12_mm() -> None:
    """The part at its foot comes off downwards by 12 mm, then the tube off the other."""
    tubes = {"l": ("a", "b", corner(200.0, 300.0, 200.0, 150.0, 120.0))}
    of = assembly(build(tubes, movable=["a"]))
    (removal,) = of.removals
    assert removal.freeing.parts == ("a",)
    assert removal.freeing.shift is not None
    assert removal.freeing.shift.by == 12.0
    assert of.loose == ("a",)
    assert of.stuck == ()


def test_a_tube_that_cannot() -> None:
    """Nothing may be moved; either of its two parts would help."""
    tubes = {"l": ("a", "b", corner(200.0, 300.0, 200.0, 150.0, 120.0))}
    of = assembly(build(tubes))
    assert of.removals == ()
    (stuck,) = of.stuck
    assert (stuck.tube, set(stuck.helpful)) == ("l", {"a", "b"})


def test_facing_ends_need_room_for_24_mm() -> None:
    """A wall 20 mm behind the loose part leaves 20; 30 mm behind it is enough.

    The tube ends 8 mm above the port, and the cube behind that is 24 mm high.
    """
    for behind, stuck in ((20.0, 1), (30.0, 0)):
        line = z_tube(200.0, 300.0, 32.0 + behind, 150.0, 90.0)
        of = assembly(build({"z": ("a", "b", line)}, movable=["a"]))
        assert len(of.stuck) == stuck
        if not stuck:
            assert of.removals[0].freeing.shift is not None
            assert of.removals[0].freeing.shift.by == 24.0


FEET = {
    "l": ("b", "a", corner(100.0, 300.0, 200.0, 90.0, 120.0)),
    "m": ("b", "c", corner(300.0, 300.0, 200.0, 90.0, 150.0)),
}
"""Two tubes whose feet stand in the part b."""


def test_one_loose_part_comes_off_both_its_tubes() -> None:
    """It is drawn down by 12 mm, so that the other tube comes off it as well.

    With feet in two directions it could not: each would be held by the other tube.
    """
    of = assembly(build(FEET, movable=["b"]))
    assert of.stuck == ()
    assert of.loose == ("b",)
    first, second = of.removals
    assert {first.tube, second.tube} == {"l", "m"}
    assert first.freeing.parted == (second.tube,)
    assert second.freeing.parted == ()
    crossed = {
        "l": ("a", "b", corner(100.0, 300.0, 200.0, 150.0, 120.0)),
        "m": ("b", "c", corner(300.0, 300.0, 320.0, 150.0, 120.0)),
    }
    held = assembly(build(crossed, movable=["b"]))
    assert {one.tube for one in held.stuck} == {"l", "m"}


def test_what_is_screwed_down_last_is_loose_till_then() -> None:
    tubes = {"l": ("a", "b", corner(200.0, 300.0, 200.0, 150.0, 120.0))}
    of = assembly(build(tubes, last=["b"]))
    assert of.stuck == ()
    assert of.loose == ("b",)


def test_the_outer_of_two_nested_tubes_comes_out_first() -> None:
    """Walls at both sides leave only upwards, where the outer one is in the way."""
    tubes = {
        "inner": ("a", "b", u_tube(240.0, 300.0, 200.0, 90.0, 90.0)),
        "outer": ("c", "d", u_tube(200.0, 300.0, 200.0, 170.0, 150.0)),
    }
    sides = (
        box("near", (100.0, 270.0, 150.0), (500.0, 280.0, 500.0)),
        box("away", (100.0, 320.0, 150.0), (500.0, 330.0, 500.0)),
    )
    of = assembly(build(tubes, *sides))
    assert [one.tube for one in of.removals] == ["outer", "inner"]
    assert of.blocked == {"inner": ("outer",)}


def test_without_a_word_on_it_the_fewest_parts_are_found() -> None:
    """Both tubes end at b: with it alone loose both go in."""
    plan = build(FEET)
    of = assembly(replace(plan, scene=replace(plan.scene, assembly=None)))
    assert not of.is_stated
    assert of.stuck == ()
    assert of.loose == ("b",)


def test_a_stop_keeps_an_order() -> None:
    plan = build(FEET)
    plan = replace(plan, scene=replace(plan.scene, assembly=None))
    of = assembly(plan, control=Control(stopped=lambda: True))
    assert of.ended == "stopped"
    assert of.stuck == ()
    assert {one.tube for one in of.removals} == {"l", "m"}


# ------------------------------------------------------------- exhaustive search


def drawn_build(seed: int) -> Plan:
    """Return two or three tubes between two or three parts, some of them loose."""
    rng = random.Random(seed)
    names = "abc"[: rng.choice((2, 3))]
    shapes = (u_tube, corner, z_tube)
    tubes: dict[str, Tube] = {}
    count = 5 - len(names)
    for number in range(count):
        start, goal = rng.sample(names, 2)
        shape = rng.choice(shapes)
        place = (
            rng.uniform(80.0, 160.0),
            150.0 + 70.0 * number,
            rng.uniform(60.0, 120.0),
        )
        line = shape(*place, rng.uniform(80.0, 150.0), rng.uniform(70.0, 110.0))
        if rng.random() < 0.5:
            line = tuple((x, y, 460.0 - z) for x, y, z in line)
        tubes[f"t{number}"] = (start, goal, line)
    shelves = []
    for number in range(rng.choice((0, 2, 4))):
        low = [rng.uniform(20.0, 400.0) for _ in range(3)]
        high = [a + rng.uniform(10.0, 90.0) for a in low]
        shelves.append(box(f"shelf {number}", low, high))
    movable = [name for name in names if rng.random() < 0.6]
    inner = (460.0, 460.0, 460.0)
    return build(tubes, *shelves, movable=movable, inner=inner)


def is_free_at_home(plain: Plain) -> bool:
    """Whether no tube stands in anything, nor a part, by a clear margin."""
    for name in plain.bodies:
        own = [one for one in plain.sockets if name in {one.part, one.tube}]
        around = [
            body
            for other in plain.bodies
            if other != name
            for body in plain.placed(other, [one for one in own if one.part == other])
        ]
        mine = plain.placed(name, own if name in plain.parts else ())
        if meets(mine, manager([*around, *plain.walls()])):
            return False
    return True


@pytest.mark.parametrize("seed", few_or_all(range(10), range(200)))
def test_against_exhaustive_search(seed) -> None:
    """As many tubes come out, with as few parts and other tubes moved in all."""
    tries = (drawn_build(1000 * seed + number) for number in itertools.count())
    plan, plain = next(
        (plan, plain)
        for plan, plain in ((plan, Plain(plan)) for plan in tries)
        if is_free_at_home(plain)
    )
    of = assembly(plan)
    costs = [one.cost for one in of.removals]
    parts, tubes = (sum(one.parts for one in costs), sum(one.tubes for one in costs))
    assert (len(of.stuck), parts, tubes) == plain.apart()
