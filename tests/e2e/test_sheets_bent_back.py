"""The files of a plan's templates, bent back up, give the tubes in the case again.

Nothing of loopsolver's geometry is asked: vertices are read off the SVG and DXF files,
turns from the bend table in the plan file, and numpy puts them together in space.
"""

from __future__ import annotations

import json
import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from loopsolver.cli.main import main

SCENES = Path(__file__).parents[2] / "scenes"
SVG = "{http://www.w3.org/2000/svg}"
RING = 1.0  # rings round vertices are smaller, those of the picture of a turn larger


def read_svg(path):
    """Return a template's bend vertices, rings round vertices, and seats; y up."""
    groups = {}
    for group in ET.parse(path).getroot().iter(f"{SVG}g"):
        groups.setdefault(group.get("data-layer"), []).extend(group)

    def place(x, y):
        return np.array([float(x), -float(y)])

    bends = [
        place(*line.get("points").split()[1].split(","))
        for line in groups["legs"]
        if line.tag == f"{SVG}polyline"
    ]
    rings = [
        place(ring.get("cx"), ring.get("cy"))
        for ring in groups["legs"]
        if ring.tag == f"{SVG}circle" and float(ring.get("r")) < RING
    ]
    seats = [
        (place(*map(cut.get, ("x1", "y1"))) + place(*map(cut.get, ("x2", "y2")))) / 2.0
        for cut in groups.get("cuts", ())
    ]
    return bends, rings, seats


def read_dxf(path):
    """Return the same of a DXF file."""
    space = ezdxf.readfile(path).modelspace()
    bends = [
        np.array(list(line.get_points())[1][:2])
        for line in space.query('LWPOLYLINE[layer=="legs"]')
    ]
    rings = [
        np.array(ring.dxf.center.vec2)
        for ring in space.query('CIRCLE[layer=="legs"]')
        if ring.dxf.radius < RING
    ]
    seats = [
        np.array(((cut.dxf.start + cut.dxf.end) / 2.0).vec2)
        for cut in space.query('LINE[layer=="cuts"]')
    ]
    return bends, rings, seats


def path_on(sheet, *, is_first, is_last):
    """Return the vertices of one sheet from the one before it to the one after it."""
    bends, rings, seats = sheet
    outer = [
        ring for ring in rings if min(math.dist(ring, bend) for bend in bends) > 1e-2
    ]
    assert len(outer) + len(seats) == 2
    start = seats.pop(0) if is_first else outer.pop(0)
    end = seats.pop(0) if is_last else outer.pop(0)
    return [start, *bends, end]


def turned(vector, axis, angle):
    """Rodrigues' rotation formula, right-handed about a unit axis."""
    return (
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * (axis @ vector) * (1.0 - math.cos(angle))
    )


def bent_up(paths, table):
    """Return vertices in space: every sheet level, then the tube turned for the next."""
    along, up = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    vertices = [np.zeros(3)]
    bend = 0
    for number, path in enumerate(paths):
        if number:
            vertices.pop()
            up = turned(up, along, math.radians(table[bend]["rotation"]))
        right = (path[1] - path[0]) / math.dist(path[0], path[1])
        frame = np.array([along, np.cross(up, along)])
        axes = np.array([right, [-right[1], right[0]]])
        origin = vertices[-1]
        vertices += [origin + (axes @ (place - path[0])) @ frame for place in path[1:]]
        along = vertices[-1] - vertices[-2]
        along /= np.linalg.norm(along)
        bend += len(path) - 2
    return np.array(vertices)


def furthest_apart(one, other):
    """Return by how much points miss others after the best move, mirroring left out.

    W. Kabsch, Acta Crystallographica A 32 (1976) 922.
    """
    a, b = one - one.mean(axis=0), other - other.mean(axis=0)
    left, _, right = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
    return np.abs(a @ left @ flip @ right - b).max()


@pytest.mark.parametrize("scene", ["wren", "heron", "robin"])
@pytest.mark.parametrize("mirror", [[], ["--mirror"]], ids=["as bent", "mirrored"])
def test_templates_bent_back_up_are_the_tubes(scene, mirror, tmp_path):
    plan, out = tmp_path / "plan.json", tmp_path / "out"
    assert main(["route", str(SCENES / f"{scene}.toml"), "-o", str(plan)]) == 0
    assert main(["sheets", str(plan), "-o", str(out), *mirror]) == 0
    several = 0
    for run in json.loads(plan.read_text())["runs"]:
        candidate = run["candidates"][run["chosen"] - 1]
        for kind, read in (("svg", read_svg), ("dxf", read_dxf)):
            stem = re.sub(r"\W+", "-", run["name"].lower())
            files = sorted(out.glob(f"{stem}-plane-*.{kind}"))
            assert len(files) == candidate["planes"]
            paths = [
                path_on(read(file), is_first=i == 0, is_last=i == len(files) - 1)
                for i, file in enumerate(files)
            ]
            if mirror:
                paths = [[place * (1.0, -1.0) for place in path] for path in paths]
            found = bent_up(paths, candidate["bend_table"])
            wanted = np.array(candidate["vertices"])
            assert found.shape == wanted.shape
            assert furthest_apart(found, wanted) < 0.01
            several += len(files) > 1
    assert several
