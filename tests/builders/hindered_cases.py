"""Loops in which not all runs fit, for a reason that can be seen by hand.

In a case so low that no tube passes over another, tubes whose ends take turns along the
walls must cross: of such a pair one is left out, whatever their ways.
"""

from dataclasses import replace

from loopsolver.geometry.vectors import Point
from loopsolver.scene.model import (
    Body,
    Component,
    Port,
    RunRequest,
    Scene,
)
from loopsolver.scene.walls import room
from tests.builders.port_cases import plates
from tests.builders.scenes import box, elbow, part, port, wanted
from tests.builders.windowed_cases import two_windows
from tests.unit.routing.known_loops import FITTING

LOW = 22.0
"""Height of a low case: two tubes one over the other would need 29 mm [mm]."""

MIDDLE = LOW / 2.0

ELBOW = elbow(height=14.0, depth=8.0, diameter=14.0, straight_beyond=4.0, reach=16.0)


def low(scene: Scene, width: float) -> Scene:
    """Plates in a low and wide case."""
    return replace(scene, case_inner=(width, room(scene)[1][1], LOW))


def two_that_cross() -> Scene:
    """The ends of two runs take turns; the second has further to go aside."""
    scene = plates(
        {"one": (40.0, MIDDLE), "two": (200.0, MIDDLE)},
        {"one": (120.0, MIDDLE), "two": (60.0, MIDDLE)},
        {"first": (("one",), ("one",)), "second": (("two",), ("two",))},
    )
    return low(scene, 240.0)


def two_and_a_spare_port() -> Scene:
    """The same with a port to the left of the first run's that nobody was offered."""
    scene = plates(
        {"one": (100.0, MIDDLE), "two": (200.0, MIDDLE), "spare": (30.0, MIDDLE)},
        {"one": (160.0, MIDDLE), "two": (30.0, MIDDLE)},
        {"first": (("one",), ("one",)), "second": (("two",), ("two",))},
    )
    return low(scene, 240.0)


def one_that_crosses_two() -> Scene:
    """The second is straight and short, but it crosses both others; they fit together."""
    scene = plates(
        {"one": (40.0, MIDDLE), "three": (100.0, MIDDLE), "two": (160.0, MIDDLE)},
        {"two": (160.0, MIDDLE), "one": (220.0, MIDDLE), "three": (280.0, MIDDLE)},
        {
            "first": (("one",), ("one",)),
            "second": (("two",), ("two",)),
            "third": (("three",), ("three",)),
        },
    )
    return low(scene, 320.0)


def three_that_all_cross() -> Scene:
    """Every two of three runs cross; the second goes least far aside."""
    scene = plates(
        {"one": (40.0, MIDDLE), "two": (140.0, MIDDLE), "three": (270.0, MIDDLE)},
        {"three": (40.0, MIDDLE), "two": (190.0, MIDDLE), "one": (270.0, MIDDLE)},
        {
            "first": (("one",), ("one",)),
            "second": (("two",), ("two",)),
            "third": (("three",), ("three",)),
        },
    )
    return low(scene, 320.0)


def over_each_other(between: float) -> Scene:
    """Two straight tubes at right angles, one over the other by so much [mm]."""
    return _settled(
        part("left", _port("left.p", (0, 120, 40), "+x")),
        part("right", _port("right.p", (240, 120, 40), "-x")),
        part("near", _port("near.p", (130, 0, 50 + between), "+y")),
        part("far", _port("far.p", (130, 300, 50 + between), "-y")),
        inner=(240.0, 300.0, 200.0),
        runs=(
            wanted("below", "left.p", "right.p", max_bends=0),
            wanted("above", "near.p", "far.p", max_bends=0),
        ),
    )


def shut_in() -> Scene:
    """A straight tube passes so near in front of a port that no bend has room there.

    An elbow on that port would look straight at the one its tube leads to.
    """
    at_side = replace(_port("wall.spare", (60, 292, MIDDLE), "-y"), fittings=(FITTING,))
    with_elbow = replace(at_side, fittings=(FITTING, ELBOW))
    return _settled(
        part("left", _port("left.p", (0, 38, MIDDLE), "+x")),
        part("right", _port("right.p", (300, 38, MIDDLE), "-x")),
        part("start", _port("start.p", (80, 0, MIDDLE), "+y")),
        Component(
            name="goal",
            bodies=(box("goal", (230.0, 0.0, 0.0), (236.0, 24.0, LOW)),),
            ports=(_port("goal.p", (230, 14, MIDDLE), "-x"),),
        ),
        part("wall", with_elbow),
        inner=(300.0, 300.0, LOW),
        runs=(
            wanted("passing", "left.p", "right.p", max_bends=0),
            wanted("shut in", "start.p", "goal.p"),
        ),
    )


def _port(name: str, at: Point, direction: str) -> Port:
    return port(name, at, direction, fittings=(FITTING,))


def _settled(
    *parts: Component,
    inner: Point,
    runs: tuple[RunRequest, ...],
    keep_outs: tuple[Body, ...] = (),
) -> Scene:
    return replace(
        two_windows(),
        title="hindered",
        case_inner=inner,
        components=parts,
        keep_outs=keep_outs,
        runs=runs,
    )
