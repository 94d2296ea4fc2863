"""Where a tube sits on a port, and ports by their names."""

from __future__ import annotations

import pytest

from loopsolver.errors import LoopsolverError
from loopsolver.scene.model import mouth, seat
from tests.builders.scenes import COLLAR, part, port, scene

OUT = port("pump.out", (100.0, 50.0, 20.0), (0.6, 0.0, 0.8))
IN = port("card.in", (10.0, 20.0, 30.0), "-y")
SCENE = scene(part("pump", OUT), part("card", IN), inner=(300.0, 300.0, 300.0))


def test_a_tube_sits_as_deep_in_a_collar_as_the_collar_holds() -> None:
    """The collar is 20 mm high and holds 12 mm: 8 mm before the face."""
    assert seat(OUT, COLLAR) == pytest.approx((104.8, 50.0, 26.4))
    assert seat(IN, COLLAR) == pytest.approx((10.0, 12.0, 30.0))
    assert mouth(OUT, COLLAR) == pytest.approx((112.0, 50.0, 36.0))
    assert mouth(IN, COLLAR) == pytest.approx((10.0, 0.0, 30.0))


def test_a_port_is_found_by_its_name_and_else_all_are_named_in_order() -> None:
    assert SCENE.port("card.in") is IN
    assert IN.component == "card"
    with pytest.raises(LoopsolverError, match=r"there are card\.in, pump\.out$"):
        SCENE.port("card.out")
    with pytest.raises(LoopsolverError, match=r"no port .*; there are none$"):
        scene(inner=(1.0, 1.0, 1.0)).port("a.b")


def test_a_centre_line_keeps_radius_and_clearance_from_everything() -> None:
    assert SCENE.reach == 7.0 + 3.0
