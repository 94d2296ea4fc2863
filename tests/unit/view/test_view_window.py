"""What a picture is asked for with, without drawing any."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from loopsolver.errors import LoopsolverError
from loopsolver.scene.walls import room
from loopsolver.view import window
from loopsolver.view.panel import BARE
from tests.builders import demo_build


def test_names_of_the_axes_stand_a_fifth_beyond_their_arrows(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Arrows are 0.16 of the least side of the case long; no label is drawn."""
    asked: list[Any] = []

    def drawn(_subject: Any, selections: Any, *, size: Any, furniture: Any) -> Any:
        asked.append((selections, size, furniture))
        return [(np.zeros((2, 3, 3), np.uint8), np.eye(4)) for _ in selections]

    monkeypatch.setattr(window, "_drawn", drawn)
    plan = demo_build.plan()
    names = [plan.runs[1].name, plan.runs[0].name]
    found = window.pictures_of_build(plan, runs=names, size=(300, 200))
    reach = 1.2 * 0.16 * min(room(plan.scene)[1])
    assert [one.axis_reach for one in found] == pytest.approx([reach, reach])
    ((selections, size, furniture),) = asked
    assert [one.run for one in selections] == [1, 0]
    assert all(one.hidden == {"names"} for one in selections)
    assert (size, furniture) == ((300, 200), BARE)


@pytest.mark.parametrize("size", [(159, 400), (400, 8193), (0, 0)])
def test_a_size_that_cannot_be_drawn_is_told_with_what_can(
    size: tuple[int, int],
) -> None:
    with pytest.raises(LoopsolverError) as caught:
        window.pictures_of_build(demo_build.plan(), runs=(), size=size)
    assert str(caught.value) == (
        f"a picture of {size[0]} by {size[1]} pixels cannot be drawn; "
        "wanted: 160 to 8192 each way"
    )


@pytest.mark.parametrize("size", [(160, 8192), (8192, 160)])
def test_no_run_needs_no_picture(size: tuple[int, int]) -> None:
    assert window.pictures_of_build(demo_build.plan(), runs=(), size=size) == ()
