"""Scenes made in Python and written out are the same when they are read."""

from collections.abc import Callable
from dataclasses import asdict, replace
from typing import Any

import pytest

from loopsolver.scene.model import Scene
from loopsolver.scene.reader import scene_from_text
from tests.builders.scene_files import scene_text
from tests.builders.windowed_cases import three_windows
from tests.unit.routing.known_loops import random_loop


def six_runs() -> Scene:
    return random_loop(3, side=300.0, runs=6, bodies=40, stretch=0.5)[0]


def rounded(value: Any) -> Any:
    """A value with all its numbers to a millionth: a scene file has no finer ones."""
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(one) for one in value]
    return round(value, 6) if isinstance(value, float) else value


@pytest.mark.parametrize("case", [six_runs, three_windows])
def test_a_scene_read_back_is_the_same(case: Callable[[], Scene]) -> None:
    scene = case()
    read = scene_from_text(scene_text(scene), file="loop.toml")
    # What a file says it was measured by, no scene made in Python has.
    read = replace(read, file_name="", sha256="", measures=None)
    assert rounded(asdict(read)) == rounded(asdict(scene))
