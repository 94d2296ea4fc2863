"""``loopsolver ports``: rims of a mesh file, as text and as JSON, and what is refused."""

from __future__ import annotations

import json

import numpy as np
import pytest
import trimesh

from loopsolver.cli import ports
from loopsolver.cli.main import main
from loopsolver.scene.mesh_files import MESH_UNITS


@pytest.fixture
def pipe(tmp_path):
    """A pipe 20 mm long along y, its middle at (1, 2, 3), 12 mm wide inside, 18 outside."""
    mesh = trimesh.creation.annulus(6.0, 9.0, 20.0, sections=32)
    turn = trimesh.transformations.rotation_matrix(np.pi / 2.0, [1.0, 0.0, 0.0])
    mesh.apply_transform(turn)
    mesh.apply_translation([1.0, 2.0, 3.0])
    path = tmp_path / "pipe.stl"
    mesh.export(path)
    return path


def said(capsys, *argv) -> str:
    assert main(["ports", *map(str, argv)]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    return told.out


def test_rims_are_told_in_a_table_with_units(capsys, pipe) -> None:
    told = said(capsys, pipe, "--unit", "mm")
    assert told.splitlines()[0] == "pipe.stl: 256 triangles, 18.00 x 20.00 x 18.00 mm"
    numbers = [line.split()[-6:] for line in told.splitlines() if '"' in line]
    assert [one[-5:] for one in numbers] == [
        ["1.00", "-8.00", "3.00", '"-y"', "0.00"],
        ["1.00", "12.00", "3.00", '"+y"', "0.00"],
        ["1.00", "-8.00", "3.00", '"-y"', "0.00"],
        ["1.00", "12.00", "3.00", '"+y"', "0.00"],
    ]
    assert [one[0] for one in numbers] == ["18.00", "18.00", "12.00", "12.00"]
    assert "Lengths in mm" in told


@pytest.mark.parametrize("unit", MESH_UNITS)
def test_json_holds_the_rims_in_millimetres(capsys, pipe, unit) -> None:
    if unit == "m":  # no part is 18 m wide
        assert main(["ports", str(pipe), "--unit", unit]) == 2
        assert "drawn in another unit" in capsys.readouterr().err
        return
    told = json.loads(said(capsys, pipe, "--unit", unit, "--json"))
    per = MESH_UNITS[unit]
    assert (told["units"], told["has_inside"], told["triangles"]) == ("mm", True, 256)
    assert told["file"] == str(pipe)
    holes = [rim for rim in told["rims"] if rim["kind"] == "hole"]
    assert [rim["kind"] for rim in told["rims"]] == ["stub", "stub", "hole", "hole"]
    for hole, y, axis in zip(holes, (-8.0, 12.0), (-1.0, 1.0), strict=True):
        assert hole["diameter"] == pytest.approx(12.0 * per, abs=1e-3)
        assert hole["centre"] == pytest.approx([per, y * per, 3.0 * per], abs=1e-3)
        assert hole["axis"] == pytest.approx([0.0, axis, 0.0], abs=1e-5)
        assert hole["corners"] == 32


def test_a_mesh_without_rims_is_told_with_what_helps(capsys, tmp_path) -> None:
    box = trimesh.creation.box((10.0, 20.0, 30.0))
    trimesh.Trimesh(box.vertices, box.faces[1:], process=False).export(
        tmp_path / "box.stl"
    )
    told = " ".join(said(capsys, tmp_path / "box.stl", "--unit", "cm").split())
    assert "No circular rim" in told
    assert "measure them" in told
    assert "open at 3 sides" in told


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("missing.stl", "no such file"),
        ("empty.stl", "an empty file"),
        ("part.txt", "does not end in"),
    ],
)
def test_what_is_no_mesh_is_refused(capsys, tmp_path, name, words) -> None:
    if name != "missing.stl":
        (tmp_path / name).write_bytes(b"")
    assert main(["ports", str(tmp_path / name), "--unit", "mm"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert str(tmp_path / name) in told.err
    assert words in told.err


def test_the_unit_must_be_said_and_is_one_of_those_of_a_scene(capsys, pipe) -> None:
    assert main(["ports", str(pipe)]) == 2
    assert "--unit" in capsys.readouterr().err
    assert tuple(MESH_UNITS) == ports._UNITS
