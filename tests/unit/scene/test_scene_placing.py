"""Bodies by a corner or a base, positions from walls, places by points, no walls.

Expected places are added up by hand from the lengths in the scenes.
"""

from __future__ import annotations

import numpy as np
import pytest

from loopsolver.geometry.solids import bounds
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from loopsolver.scene.walls import OPEN_ROOM, case_walls, room
from tests.builders import texts

HEAD = texts.head(inner=[200, 300, 250])


def scene(text: str, *, head: str = HEAD) -> Scene:
    return scene_from_text(head + text, file="siskin.toml")


def box_of(read: Scene, name: str) -> list[list[float]]:
    """Return the lowest and highest x, y, z of a component's bodies."""
    (part,) = [one for one in read.components if one.name == name]
    corners = np.array([bounds(body.solid) for body in part.bodies])
    low, high = corners[:, 0].min(axis=0), corners[:, 1].max(axis=0)
    return [low.tolist(), high.tolist()]


def test_a_box_starts_at_its_corner() -> None:
    read = scene("""
[components.pump]
position = [10, 20, 30]
bodies = [{ box = [60, 50, 40], corner = [1, 2, 3] }]
""")
    assert box_of(read, "pump") == [[11, 22, 33], [71, 72, 73]]


def test_a_cylinder_starts_at_its_base() -> None:
    read = scene("""
[components.tank]
position = [10, 20, 30]
bodies = [{ cylinder = { diameter = 60, height = 105 }, base = [30, 30, 70] }]
[components.pipe]
position = [10, 20, 30]
bodies = [{ cylinder = { diameter = 6, height = 50 }, base = [0, 0, 0], axis = "-y" }]
""")
    assert box_of(read, "tank") == [[10, 20, 100], [70, 80, 205]]
    assert box_of(read, "pipe") == [[7, -30, 27], [13, 20, 33]]


def test_a_body_without_a_place_starts_at_the_origin_and_a_keep_out_at_the_datum() -> (
    None
):
    read = scene("""
[components.tank]
position = [10, 20, 30]
bodies = [{ box = [4, 5, 6] }, { cylinder = { diameter = 6, height = 50 } }]
[[keep_outs]]
name = "floor"
box = [200, 300, 5]
""")
    assert box_of(read, "tank") == [[7, 17, 30], [14, 25, 80]]
    assert bounds(read.keep_outs[0].solid).tolist() == [[0, 0, 0], [200, 300, 5]]


def test_a_body_turns_about_the_point_that_says_where_it_is() -> None:
    """A quarter turn about z takes (x, y) to (-y, x), from the corner, base or middle."""
    read = scene("""
[components.a]
position = [100, 100, 0]
bodies = [{ box = [60, 50, 40], corner = [1, 2, 3], rotation = [0, 0, 90] }]
[components.b]
position = [100, 100, 0]
bodies = [{ box = [60, 50, 40], centre = [1, 2, 3], rotation = [0, 0, 90] }]
[components.c]
position = [100, 100, 50]
rotation = [90, 0, 0]
[[components.c.bodies]]
cylinder = { diameter = 6, height = 50 }
base = [1, 2, 3]
rotation = [0, 90, 0]
""")
    assert box_of(read, "a") == [[51, 102, 3], [101, 162, 43]]
    assert box_of(read, "b") == [[76, 72, -17], [126, 132, 23]]
    # turned about y the cylinder leads along the part's x, from (1, 2, 3); the part's
    # y is the case's z, and its z the case's -y
    assert box_of(read, "c") == [[101, 94, 49], [151, 100, 55]]


def test_a_keep_out_turns_about_its_corner() -> None:
    read = scene("""
[[keep_outs]]
name = "door"
box = [60, 50, 40]
corner = [100, 10, 0]
rotation = [0, 0, 90]
""")
    assert bounds(read.keep_outs[0].solid).tolist() == [[50, 10, 0], [100, 70, 40]]


def test_positions_are_counted_from_walls_to_the_outermost_face() -> None:
    read = scene("""
[components.pump]
position = ["8 from -x", "35 from +y", 5]
bodies = [{ box = [60, 50, 40], corner = [-10, 0, 0] }, { box = [5, 90, 5] }]
""")
    # y: 300 - 35 is the outermost face, which is 90 from the origin
    assert box_of(read, "pump") == [[8, 175, 5], [68, 265, 45]]


def test_the_outermost_face_is_that_of_the_bodies_as_they_stand() -> None:
    """Turned by 90 degrees about z, 60 x 50 stand as 50 x 60."""
    read = scene("""
[components.pump]
position = ["8 from +x", "2 in from -y", "-3 from -z"]
rotation = [0, 0, 90]
bodies = [{ box = [60, 50, 40] }]
ports.out = { position = [60, 25, 20], direction = "+x" }
""")
    assert box_of(read, "pump") == [[142, 50.8, -3], [192, 110.8, 37]]
    assert read.port("pump.out").position == pytest.approx((167, 110.8, 17), abs=1e-9)


def test_readings_from_a_wall_are_averaged() -> None:
    read = scene("""
[components.pump]
position = [["8 from -x", "9 from -x"], 0, 0]
bodies = [{ box = [60, 50, 40] }]
""")
    assert box_of(read, "pump")[0] == [8.5, 0, 0]
    assert [one.values for one in read.readings] == [(8, 9)]


def test_bare_numbers_in_a_text_are_in_the_scenes_unit() -> None:
    inches = HEAD.replace("format = 1", 'format = 1\nunits = "in"')
    inches = inches.replace("[200, 300, 250]", "[8, 12, 10]")
    for size in ("14", "10", "20", "12", "22", "5"):
        inches = inches.replace(f" = {size}\n", f' = "{size} mm"\n')
    read = scene(
        """
[components.pump]
position = ["1.5 from +x", "3 1/2 in from +y", "10 mm from +z"]
bodies = [{ box = [1, 1, 1] }]
""",
        head=inches,
    )
    high = box_of(read, "pump")[1]
    assert high == pytest.approx([6.5 * 25.4, 8.5 * 25.4, 254 - 10], abs=1e-9)


CHAIN = """
[components.block]
place = { point = "in", from = "board.hole", offset = [32, 15, -10] }
bodies = [{ box = [30, 70, 70] }]
ports.in = { position = [30, 55, 55], direction = "+x" }
[components.lid]
rotation = [0, 0, 180]
place = { point = "-x-y-z", from = "block.+x+y+z", offset = [0, 0, 2] }
bodies = [{ box = [10, 20, 3] }]
[components.board]
place = { point = "+x-y-z", from = "datum", offset = [10, 20, 30] }
bodies = [{ box = [2, 244, 244], corner = [0, 0, 5] }]
points.hole = [2, 100, 150]
[components.post]
place = { point = "origin", from = "lid.origin", offset = ["1 cm", 0, [3, 4]] }
"""


def test_places_chain_through_ports_points_and_corners() -> None:
    read = scene(CHAIN)
    # board: its corner (2, 0, 5) is at (10, 20, 30), so its origin at (8, 20, 25)
    assert box_of(read, "board")[0] == [8, 20, 30]
    # hole (10, 120, 175), block.in (42, 135, 165), block's origin (12, 80, 110)
    assert read.port("block.in").position == (42, 135, 165)
    assert box_of(read, "block") == [[12, 80, 110], [42, 150, 180]]
    # the lid's least corner as it stands, turned, is at (42, 150, 182)
    assert box_of(read, "lid")[0] == pytest.approx([42, 150, 182], abs=1e-9)


def test_a_post_hangs_on_the_origin_of_a_turned_part() -> None:
    read = scene(CHAIN + 'ports.top = { position = [0, 0, 0], direction = "+z" }\n')
    # the lid's origin is its own least corner, turned: (52, 170, 182)
    assert read.port("post.top").position == pytest.approx((62, 170, 185.5), abs=1e-9)


def test_the_order_of_parts_in_the_file_does_not_matter() -> None:
    first, *others = CHAIN.strip().split("\n[components.")
    turned = "\n".join(f"[components.{part}" for part in reversed(others))
    turned += "\n" + first
    straight, backwards = scene(CHAIN), scene(turned)
    for name in ("block", "lid", "board"):
        assert box_of(straight, name) == box_of(backwards, name)


OPEN = """
[components.pump]
position = [-50, 20, 30]
bodies = [{ box = [60, 50, 40] }]
ports.out = { position = [60, 25, 20], direction = "+x" }
[components.tank]
position = [200, 20, 300]
bodies = [{ box = [60, 50, 40] }]
ports.in = { position = [0, 25, 20], direction = "-x" }
[[keep_outs]]
name = "door"
box = [10, 10, 10]
corner = [0, 400, 0]
[[runs]]
from = "pump.out"
to = "tank.in"
"""


def test_without_inner_there_are_no_walls() -> None:
    read = scene(OPEN, head=HEAD.replace("inner = [200, 300, 250]\n", ""))
    assert read.case_inner is None
    assert case_walls(read) == ()
    beyond = OPEN_ROOM
    low, high = (
        (-50 - beyond, -beyond, -beyond),
        (260 + beyond, 410 + beyond, 340 + beyond),
    )
    assert room(read) == (low, high)
    kinds = {doubt.kind for doubt in doubts(read)}
    assert kinds == {"axes left out"}


def test_with_inner_the_room_is_the_inside() -> None:
    assert room(scene(OPEN)) == ((0, 0, 0), (200, 300, 250))


def test_a_run_without_a_name_is_called_by_its_ends() -> None:
    read = scene(
        OPEN.replace('to = "tank.in"', 'to = ["tank.in", "pump.out"]')
        + '[[runs]]\nname = "back"\nfrom = "tank"\nto = "pump"\n'
    )
    names = [run.name for run in read.runs]
    assert names == ["pump.out to tank.in or pump.out", "back"]
