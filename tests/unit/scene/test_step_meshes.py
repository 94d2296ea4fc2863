"""STEP files as meshes: their own unit, and what reads them."""

import subprocess
import sys
import tempfile

import numpy as np
import pytest

from loopsolver.scene import limits, mesh_checks, mesh_files
from loopsolver.scene.mesh_checks import MeshFileError
from loopsolver.scene.mesh_files import MESH_UNITS, mesh_file, shape_in
from tests.builders.step_files import step_ball, step_box
from tests.full import few_or_all, only_in_full

SIZE = (60.0, 30.0, 40.0)
MEASURED = """
import resource, sys
from pathlib import Path
from loopsolver.scene.mesh_checks import MeshFileError
from loopsolver.scene.mesh_files import mesh_file, shape_in
try:
    shape_in(mesh_file("ball.step", Path(sys.argv[1])), unit="mm")
except MeshFileError:
    print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def shape_of(folder, *, drawn: str, unit: str):
    (folder / "part.step").write_text(step_box(SIZE, unit=drawn))
    return shape_in(mesh_file("part.step", folder), unit=unit)


@pytest.mark.parametrize("unit", MESH_UNITS)
def test_a_box_is_as_large_as_its_file_says_in_any_unit(tmp_path, unit) -> None:
    """Closed form of the box; in single precision."""
    pytest.importorskip("cascadio")
    shape = shape_of(tmp_path, drawn=unit, unit=unit)
    np.testing.assert_allclose(shape.box, [(0.0, 0.0, 0.0), SIZE], atol=1e-4)
    assert shape.has_inside


@pytest.mark.parametrize(
    ("drawn", "unit"), [("in", "mm"), ("mm", "in"), ("m", "cm"), ("cm", "m")]
)
def test_another_unit_than_the_files_own_is_told(tmp_path, drawn, unit) -> None:
    with pytest.raises(MeshFileError) as caught:
        shape_of(tmp_path, drawn=drawn, unit=unit)
    assert f"drawn in {drawn}" in caught.value.found
    assert f'unit = "{drawn}"' in caught.value.wanted


def test_what_reads_them_is_named_where_it_is_missing(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    mesh_files._read.cache_clear()
    with pytest.raises(MeshFileError) as caught:
        shape_of(tmp_path, drawn="mm", unit="mm")
    assert "nothing installed that reads it" in caught.value.found
    assert "loopsolver[step]" in caught.value.wanted


def test_a_file_that_says_no_unit_or_several_is_read_as_its_reader_does() -> None:
    """Nothing is told of the unit where the file does not say just one."""
    for text in (
        "",
        "SI_UNIT($,.METRE.) SI_UNIT(.MILLI.,.METRE.)",
        "SI_UNIT(.KILO.,.METRE.)",
    ):
        mesh_checks.check_step_unit(text.encode(), "mm")


def test_a_ball_is_cut_into_a_closed_mesh_as_true_as_is_said(tmp_path) -> None:
    """Closed form: corners lie on the ball, and sides some 0.02 mm within, as is said."""
    pytest.importorskip("cascadio")
    (tmp_path / "ball.step").write_text(step_ball(10.0))
    shape = shape_in(mesh_file("ball.step", tmp_path), unit="mm")
    assert shape.has_inside
    np.testing.assert_allclose(np.linalg.norm(shape.vertices, axis=1), 10.0, atol=1e-4)
    a, b, c = (shape.corners[:, k] for k in range(3))
    for start, end in ((a, b), (b, c), (c, a)):
        assert np.linalg.norm((start + end) / 2.0, axis=1).min() > 9.975


@pytest.mark.parametrize(
    ("name", "most"),
    few_or_all(
        [("STEP_SECONDS", 1)],
        [("STEP_SECONDS", 1), ("STEP_SECONDS", 10), ("STEP_PATIENCE", 0.5)],
    ),
)
def test_what_takes_too_much_is_told_and_leaves_nothing(
    tmp_path, monkeypatch, name, most
) -> None:
    """Forty metres across: as much memory as there is, or more than 10 s."""
    pytest.importorskip("cascadio")
    resource = pytest.importorskip("resource")
    mesh_files._read.cache_clear()
    monkeypatch.setattr(limits, name, most)
    (tmp_path / "ball.step").write_text(step_ball(20_000.0))
    (tmp_path / "left").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "left"))
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with pytest.raises(MeshFileError, match=f"more than {limits.STEP_SECONDS} s"):
        shape_in(mesh_file("ball.step", tmp_path), unit="mm")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert after.ru_utime - before.ru_utime < limits.STEP_SECONDS + 1.0
    assert not list((tmp_path / "left").iterdir())


@only_in_full
def test_no_more_memory_is_taken_than_is_said(tmp_path) -> None:
    """By a process that has no other children, and is small itself."""
    pytest.importorskip("cascadio")
    pytest.importorskip("resource")
    (tmp_path / "ball.step").write_text(step_ball(20_000.0))
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, str(tmp_path)],
        check=True,
        capture_output=True,
        text=True,
    )
    assert 0.1 < int(done.stdout) / (limits.STEP_MEMORY / 1024) < 1.0


def test_what_is_no_geometry_is_told(tmp_path) -> None:
    pytest.importorskip("cascadio")
    text = "ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n"
    (tmp_path / "part.step").write_text(text)
    with pytest.raises(MeshFileError, match="STEP"):
        shape_in(mesh_file("part.step", tmp_path), unit="mm")
