"""A plan that is written and read again is the same plan, whatever its tubes are."""

from __future__ import annotations

import hashlib
import json
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loopsolver.clearance.obstacles import Gap
from loopsolver.geometry.vectors import Point
from loopsolver.plan import Plan, PlannedRun
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Centreline
from tests.builders.scenes import rules, scene, tube, wanted

RUNS = ("a to b", "b -> ç", 'quote " and [bracket]', "last")
REQUESTS = [wanted(name, f"p{at}.out", f"p{at}.in") for at, name in enumerate(RUNS)]

lengths = st.floats(0.0, 400.0)
coordinates = st.tuples(*[st.floats(-500.0, 500.0)] * 3)


def made_scene(sha256: str) -> Scene:
    return scene(
        inner=(500.0, 500.0, 500.0),
        file_name="invented.toml",
        sha256=sha256,
        tube=tube(material="petg"),
        rules=rules(bend_angles="any"),
        runs=REQUESTS,
    )


@st.composite
def vertices(draw: st.DrawFn, radius: float) -> tuple[Point, ...]:
    """Vertices of a tube that can be: legs longer than what its bends take of them."""
    bends = draw(st.integers(0, 5))
    angles = [np.radians(draw(st.floats(5.0, 150.0))) for _ in range(bends)]
    # What each bend takes of the legs beside it: R tan(angle / 2).
    takes = [0.0, *(radius * float(np.tan(a / 2.0)) for a in angles), 0.0]
    heading, side = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
    at = np.array(draw(coordinates))
    found = [at]
    for leg in range(bends + 1):
        straight = draw(st.floats(1.0, 200.0))
        at = at + (takes[leg] + straight + takes[leg + 1]) * heading
        found.append(at)
        if leg < bends:
            roll = draw(st.floats(-np.pi, np.pi))
            side = np.cos(roll) * side + np.sin(roll) * np.cross(heading, side)
            turn = angles[leg]
            heading, side = (
                np.cos(turn) * heading + np.sin(turn) * side,
                np.cos(turn) * side - np.sin(turn) * heading,
            )
    return tuple((float(x), float(y), float(z)) for x, y, z in found)


@st.composite
def candidates(draw: st.DrawFn) -> Candidate:
    radius = draw(st.floats(5.0, 60.0))
    return Candidate(
        centreline=Centreline(vertices=draw(vertices(radius)), radius=radius),
        gap=Gap(
            distance=draw(st.floats(-5.0, 90.0)),
            name=draw(st.text(max_size=12)),
            at=draw(coordinates),
        ),
        trim_allowance=draw(lengths),
    )


@st.composite
def planned_runs(draw: st.DrawFn, at: int) -> PlannedRun:
    found = draw(st.lists(candidates(), max_size=3))
    return PlannedRun(
        name=RUNS[at],
        from_port=f"p{at}.out",
        to_port=f"p{at}.in",
        candidates=tuple(found),
        chosen=draw(st.integers(1, len(found))) if found else None,
        why=None if found else draw(st.text(min_size=1, max_size=40)),
        refused=draw(st.integers(0, 3)),
    )


plans = st.tuples(*(planned_runs(at) for at in range(len(RUNS))))


@settings(
    derandomize=True,
    deadline=None,
    max_examples=60,
    suppress_health_check=[
        HealthCheck.function_scoped_fixture,
        HealthCheck.too_slow,
        HealthCheck.data_too_large,
    ],
)
@given(runs=plans)
def test_what_is_written_is_read_back(
    runs: tuple[PlannedRun, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "invented.toml"
    file.write_bytes(b"# any bytes: reading scenes is tested elsewhere\n")
    scene = made_scene(hashlib.sha256(file.read_bytes()).hexdigest())
    monkeypatch.setattr("loopsolver.plan.file.load_scene", lambda _: scene)
    path = tmp_path / "out.plan.json"

    plan = Plan(scene=scene, runs=runs)
    plan.write(path, scene_path=file)
    # Tubes that no scene has are not judged: here it is about writing and reading.
    again = Plan.read(path, used=lambda _: ())

    assert again.scene is scene
    for before, after in zip(plan.runs, again.runs, strict=True):
        assert after.name == before.name
        assert (after.from_port, after.to_port) == (before.from_port, before.to_port)
        assert (after.chosen, after.why) == (before.chosen, before.why)
        assert after.refused == before.refused
        for one, other in zip(before.candidates, after.candidates, strict=True):
            # Half of the sixth decimal is all that writing may cost.
            near = partial(np.testing.assert_allclose, rtol=0.0, atol=0.51e-6)
            near(other.centreline.vertices, one.centreline.vertices)
            near(other.gap.at, one.gap.at)
            near(
                [other.centreline.radius, other.gap.distance, other.trim_allowance],
                [one.centreline.radius, one.gap.distance, one.trim_allowance],
            )
            assert other.gap.name == one.gap.name
    assert again.to_json(scene_path="invented.toml") == path.read_text("utf-8")


@settings(derandomize=True, deadline=None, max_examples=30)
@given(runs=plans)
def test_the_text_is_json_and_says_no_number_that_json_has_not(
    runs: tuple[PlannedRun, ...],
) -> None:
    text = Plan(scene=made_scene("0" * 64), runs=runs).to_json(scene_path="x.toml")

    def refuse(constant: str) -> None:
        pytest.fail(f"{constant} is no JSON")

    content = json.loads(text, parse_constant=refuse)
    assert [run["name"] for run in content["runs"]] == list(RUNS)
    assert "-0.0," not in text
    assert "-0.0]" not in text
    assert "-0.0}" not in text
