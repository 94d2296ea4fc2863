"""What a scene holds, row by row."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.report.scene_summary import axes_words, scene_summary
from tests.builders.short_runs import scene_of


def test_each_row_says_what_the_file_says() -> None:
    """Read off the scene's text; rules as README gives them where a file is silent."""
    rows = [(label, words) for label, words in scene_summary(scene_of()) if label]
    assert rows[0] == ("case", "300.0 x 300.0 x 300.0 mm inside (x, y, z)")
    assert rows[2:9] == [
        ("tube", "acrylic, 14.0 mm outside, 10.0 mm inside"),
        ("bends", "radius 28.0 mm; 90 degrees; at most 5"),
        (
            "wall",
            "about 1.60 to 1.78 of 2.00 mm left outside a bend; least radius 21.0 mm "
            "(common practice, no source)",
        ),
        ("stock", "500.0 mm, trim allowance 30.0 mm at each end"),
        ("keep", "clearance 3.0 mm, straight between bends 15.0 mm"),
        ("components", "2 with 0 bodies and 2 ports; 0 keep-outs"),
        ("runs", "none"),
    ]


def test_a_scene_in_inches_and_free_angles() -> None:
    """300 mm are 11.811 in, 3 mm 0.118 in."""
    scene = scene_of(grip=25.4)
    rules = replace(scene.rules, bend_angles_deg="any")
    rows = dict(scene_summary(replace(scene, units="in", rules=rules)))
    assert rows["case"] == "11.811 x 11.811 x 11.811 in inside (x, y, z)"
    assert rows["bends"] == (
        "radius 1.102 in (28.0 mm); any angle from 5 to 120 degrees; at most 5"
    )
    assert rows["keep"].startswith("clearance 0.118 in (3.0 mm), ")
    assert rows["keep"].endswith(", grip 1.000 in (25.4 mm)")


def test_axes_that_are_not_stated_are_told_as_taken() -> None:
    scene = scene_of()
    assert axes_words(scene).endswith(
        "as seen from before the case's front: taken so, as none are stated"
    )
    stated = replace(scene, axes=("left", "near", "up"))
    assert axes_words(stated) == (
        "x left, y near, z up, as seen from before the case's front"
    )
