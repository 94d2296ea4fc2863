"""One rule of a scene changed, and nothing else."""

import pytest

from loopsolver.geometry.solids import Box
from loopsolver.routing.diagnosis.rule_changes import Change, changed
from loopsolver.scene.model import BendAngles
from tests.builders.scenes import box
from tests.unit.routing.explain_scenes import At, build

Value = float | BendAngles | None


def change(rule: str, after: Value, subject: str = "", towards: str = "") -> Change:
    return Change(
        rule=rule,  # type: ignore[arg-type]
        subject=subject,
        before=0.0,
        after=after,
        towards=towards,
    )


def test_a_body_moves_and_nothing_else_does() -> None:
    scene = build(
        At((60.0, 100.0, 100.0), "+x"),
        At((240.0, 100.0, 100.0), "-x"),
        box("memory", (100.0, 0.0, 0.0), (110.0, 50.0, 50.0)),
        box("card", (150.0, 0.0, 0.0), (160.0, 50.0, 50.0)),
    )
    moved, run = changed(scene, scene.runs[0], change("body", 4.0, "memory", "-y"))
    assert run == scene.runs[0]
    memory = moved.components[2].bodies[0].solid
    assert isinstance(memory, Box)
    assert memory.frame.origin == (105.0, 21.0, 25.0)
    assert moved.components[3] == scene.components[3]
    gone, _ = changed(scene, scene.runs[0], change("body", None, "memory"))
    assert gone.components[2].bodies == ()


def test_a_change_of_the_wrong_kind_is_refused() -> None:
    scene = build(At((60.0, 100.0, 100.0), "+x"), At((240.0, 100.0, 100.0), "-x"))
    with pytest.raises(TypeError, match="takes a number"):
        changed(scene, scene.runs[0], change("clearance", "any"))
    with pytest.raises(TypeError, match="a list or 'any'"):
        changed(scene, scene.runs[0], change("bend angles", 45.0))
