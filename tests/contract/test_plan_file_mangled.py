"""Whatever stands in a plan file: it is read, or refused in words."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loopsolver.errors import PlanError
from loopsolver.plan import Plan
from tests.contract.true_plan import GOOD, SCENE


def places(value: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return every place in a JSON value."""
    keys = (
        value.keys()
        if isinstance(value, dict)
        else range(len(value))
        if isinstance(value, list)
        else ()
    )
    return [
        here,
        *(place for key in keys for place in places(value[key], (*here, key))),
    ]


values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from([0, -1, 1e308, -1e308, 1e-320, 10**400, "\ud800", "\0", [], {}]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("mangled")
    (folder / "invented.toml").write_text(SCENE, encoding="utf-8")
    return folder


def written(folder: Path, text: str) -> Path:
    path = folder / "mangled.plan.json"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_sound_one_is_read(folder: Path) -> None:
    assert len(Plan.read(written(folder, json.dumps(GOOD))).runs) == 1


@settings(
    derandomize=True,
    deadline=None,
    max_examples=300,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(place=st.sampled_from(places(GOOD)[1:]), value=values)
def test_any_value_anywhere(folder: Path, place: tuple[Any, ...], value: Any) -> None:
    content = copy.deepcopy(GOOD)
    inner: Any = content
    for key in place[:-1]:
        inner = inner[key]
    inner[place[-1]] = value
    path = written(folder, json.dumps(content))
    told = ""
    try:
        Plan.read(path).to_json(scene_path="invented.toml")
    except PlanError as error:
        told = str(error)
    for line in told.splitlines():
        assert str(path) in line
        assert len(line) < 600


def test_a_scene_whose_name_no_disk_takes(folder: Path) -> None:
    for name in ("\0", "n" * 5000, "", "."):
        path = written(folder, json.dumps({**GOOD, "scene": name}))
        with pytest.raises(PlanError, match="scene: found"):
            Plan.read(path)


letters = st.text(alphabet=st.characters(exclude_characters="]}"), max_size=5)


@settings(derandomize=True, deadline=None, max_examples=100)
@given(end=st.integers(0, len(json.dumps(GOOD)) - 2), more=letters)
def test_any_broken_off_text(folder: Path, end: int, more: str) -> None:
    path = written(folder, json.dumps(GOOD)[:end] + more)
    with pytest.raises(PlanError, match="mangled"):
        Plan.read(path)
