"""What `assemble` costs for the demonstration of six runs."""

from __future__ import annotations

import pytest

from loopsolver import load_scene, route_scene
from loopsolver.assembly.order import assembly
from tests.commands import SCENES
from tests.full import only_in_full
from tests.interleaved import Measured, in_turn

pytestmark = pytest.mark.bench


@only_in_full
def test_assemble_against_route(measured: Measured) -> None:
    """Wanted: 5 s on one quiet core. Held: four times what routing the loop anew costs."""
    scene = load_scene(SCENES / "heron.toml")
    plan = route_scene(scene)
    works = {"assemble": lambda: assembly(plan), "route": lambda: route_scene(scene)}
    pair = in_turn(works, pairs=3)
    measured("assemble", pair, most=4.0)
    assert pair.ratio <= 4.0
