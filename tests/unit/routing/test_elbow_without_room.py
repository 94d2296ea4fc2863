"""An elbow that has no room in any position is a reason, not a fault."""

from __future__ import annotations

from loopsolver.routing.diagnosis.no_route import ElbowsBlocked
from loopsolver.routing.solve import solve_run
from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders.texts import COLLAR, box, elbow, head, part, port, run


def one_run(*, reach: float) -> Scene:
    """Return a pump below a card, with an elbow on the pump that reaches so far [mm]."""
    text = "".join(
        [
            head(
                inner=[200, 200, 200],
                fittings={"corner": elbow(height=14, reach=reach), "collar": COLLAR},
            ),
            part(
                "pump",
                [100, 100, 0],
                box([40, 40, 40], [0, 0, 20]),
                port("out", [0, 0, 40], "+z", fitting="corner"),
            ),
            part(
                "card",
                [100, 30, 150],
                port("in", [0, 0, 0], "-z", fitting="collar"),
            ),
            run("pump.out", "card.in"),
        ]
    )
    return scene_from_text(text, file="elbow.toml")


def test_an_elbow_that_reaches_every_wall_is_told() -> None:
    scene = one_run(reach=150)
    outcome = solve_run(scene, scene.runs[0])
    assert outcome.candidates == ()
    assert outcome.why == ElbowsBlocked(ports=("pump.out",), clearance=3.0)


def test_a_shorter_one_is_used() -> None:
    scene = one_run(reach=24)
    outcome = solve_run(scene, scene.runs[0])
    assert outcome.candidates
    assert all(one.elbows == 1 for one in outcome.candidates)
