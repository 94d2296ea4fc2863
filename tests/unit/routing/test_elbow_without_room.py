"""An elbow that has no room in any position is a reason, not a fault."""

from __future__ import annotations

from loopsolver.routing.diagnosis.no_route import ElbowsBlocked
from loopsolver.routing.solve import solve_run
from loopsolver.scene.reader import scene_from_text

SCENE = """
format = 1
[case]
inner = [200, 200, 200]
[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
[fittings.corner]
height = 14
depth = 12
diameter = 22
straight_beyond = 5
turn = 90
reach = {reach}
[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5
[components.pump]
position = [100, 100, 0]
[[components.pump.bodies]]
box = [40, 40, 40]
centre = [0, 0, 20]
[components.pump.ports.out]
position = [0, 0, 40]
direction = "+z"
fitting = "corner"
[components.card]
position = [100, 30, 150]
[components.card.ports.in]
position = [0, 0, 0]
direction = "-z"
fitting = "collar"
[[runs]]
name = "pump to card"
from = "pump.out"
to = "card.in"
"""


def test_an_elbow_that_reaches_every_wall_is_told() -> None:
    scene = scene_from_text(SCENE.format(reach=150), file="tight.toml")
    outcome = solve_run(scene, scene.runs[0])
    assert outcome.candidates == ()
    assert outcome.why == ElbowsBlocked(ports=("pump.out",), clearance=3.0)


def test_a_shorter_one_is_used() -> None:
    scene = scene_from_text(SCENE.format(reach=24), file="roomy.toml")
    outcome = solve_run(scene, scene.runs[0])
    assert outcome.candidates
    assert all(one.elbows == 1 for one in outcome.candidates)
