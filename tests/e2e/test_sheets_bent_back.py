"""The files of a plan's sheets, bent back up, give the tubes in the case again.

Nothing of loopsolver's geometry is asked: vertices are read off the SVG and DXF files,
turns from the bend table in the plan file or from the printed words, and numpy puts
them together in space.
"""

from __future__ import annotations

import io
import json
import math
import random
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import readfile

from loopsolver.cli.bending import say_setup
from loopsolver.cli.main import main
from loopsolver.drafting.paging import PAPERS
from loopsolver.report.bending import Setup
from loopsolver.workshop.flat import mirrored
from loopsolver.workshop.sheets import as_bent, plan_sha256, sheet_files
from tests.builders.small_build import plan_with
from tests.commands import SCENES
from tests.e2e.bench_reader import (
    bent_on_a_former,
    furthest_apart,
    laid_as_they_point,
    laid_on_sheets,
    moves_of_bends,
    moves_of_words,
    pages_of,
    table_of,
    turn_to_next,
    turned,
    words_by_sheet,
)
from tests.full import IS_FULL

SVG = "{http://www.w3.org/2000/svg}"
RING = 1.0  # rings round vertices are smaller, those of the picture of a turn larger


def read_svg(path):
    """Return a template's bend vertices, rings round vertices, and seats; y up."""
    groups: dict[str | None, list[ET.Element]] = {}
    for group in ET.parse(path).getroot().iter(f"{SVG}g"):
        groups.setdefault(group.get("data-layer"), []).extend(group)

    def place(x, y):
        return np.array([float(x), -float(y)])

    bends = [
        place(*line.attrib["points"].split()[1].split(","))
        for line in groups["legs"]
        if line.tag == f"{SVG}polyline"
    ]
    rings = [
        place(ring.get("cx"), ring.get("cy"))
        for ring in groups["legs"]
        if ring.tag == f"{SVG}circle" and float(ring.attrib["r"]) < RING
    ]
    seats = [
        (place(*map(cut.get, ("x1", "y1"))) + place(*map(cut.get, ("x2", "y2")))) / 2.0
        for cut in groups.get("cuts", ())
    ]
    return bends, rings, seats


def read_dxf(path):
    """Return the same of a DXF file."""
    space = readfile(path).modelspace()
    bends = [
        np.array(list(line.get_points())[1][:2])
        for line in space.query('LWPOLYLINE[layer=="legs"]')
        if isinstance(line, LWPolyline)
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


PRINTED = 1.0
"""How far off a tube may be that is read to 0.1 mm and 0.1 degrees [mm].

Half a tenth of a degree on 400 mm is 0.35 mm, and there are several bends.
"""

SETS = {"plain": as_bent, "mirrored": mirrored}

TUBES = 40 if IS_FULL else 3


def crooked(seed):
    """Return the vertices of a tube of five bends, turned in every way there is."""
    draw = random.Random(seed)
    along, inside = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    vertices = [np.array([10.0, 20.0, 30.0])]
    odd = draw.choice([175.3, -175.3, -33.3, 120.0, 1.4])
    turns = [0.0, 180.0, draw.choice([90.0, -90.0]), odd]
    draw.shuffle(turns)
    for turn in (0.0, *turns):
        inside = turned(inside, along, math.radians(turn))
        angle = math.radians(draw.choice([90.0, 90.0, 45.0, 61.5]))
        vertices.append(vertices[-1] + draw.uniform(80.0, 170.0) * along)
        along, inside = (
            math.cos(angle) * along + math.sin(angle) * inside,
            math.cos(angle) * inside - math.sin(angle) * along,
        )
    vertices.append(vertices[-1] + draw.uniform(50.0, 120.0) * along)
    return tuple(tuple(float(x) for x in vertex) for vertex in vertices)


def as_printed(plan, run, capsys):
    """Return what `bends` prints of a run from either end, and its sheets of both sets."""
    setup = Setup(run=run, rank=run.chosen, scene=plan.scene)
    printed = []
    for one in (setup, setup.from_other_end()):
        say_setup(one)
        printed.append(capsys.readouterr().out)
    files = {
        name: {
            file.name: file.content
            for file in sheet_files(plan, (run,), paper=PAPERS["a4"], seen=seen)
        }
        for name, seen in SETS.items()
    }
    return printed, files


def paths_of(files):
    """Return the path on each template of a set, in order, as it is drawn."""
    svgs = [files[name] for name in sorted(files) if name.endswith(".svg")]
    return [
        path_on(read_svg(io.BytesIO(svg)), is_first=i == 0, is_last=i == len(svgs) - 1)
        for i, svg in enumerate(svgs)
    ]


def all_readings(both, files):
    """Yield every tube that a person would make of the words, and what they read."""
    printed, from_other_end = both
    radius, _, closing = table_of(from_other_end)
    moves = moves_of_bends(from_other_end)
    for lay in (laid_as_they_point, bent_on_a_former):
        yield f"--other-end, {lay.__name__}", lay(moves, radius, closing)[::-1]
    radius, _, closing = table_of(printed)
    said = {"bends": moves_of_bends(printed)}
    for kind, sheets in files.items():
        (pdf,) = [content for name, content in sheets.items() if name.endswith(".pdf")]
        pages = pages_of(pdf)
        bench = " ".join(page for page in pages if ": bench sheet" in page)
        (card,) = [page for page in pages if "Turn card" in page]
        said[f"bench sheet, {kind}"] = moves_of_words(bench, printed)
        said[f"turn card, {kind}"] = moves_of_words(card, printed)
        words = words_by_sheet(pages)
        turns = [turn_to_next(words[name], name) for name in list(words)[:-1]]
        yield f"{kind} sheets", laid_on_sheets(paths_of(sheets), turns)
    for source, moves in said.items():
        for lay in (laid_as_they_point, bent_on_a_former):
            yield f"{source}, {lay.__name__}", lay(moves, radius, closing)


@pytest.mark.parametrize("seed", range(TUBES))
def test_what_is_printed_is_the_tube_and_never_its_mirror_image(seed, capsys):
    plan = plan_with(routes=(crooked(seed),))
    (run,) = plan.runs
    chosen = run.chosen_candidate
    assert chosen is not None
    wanted = np.array(chosen.centreline.vertices)
    readings = dict(all_readings(*as_printed(plan, run, capsys)))
    assert len(readings) == 14
    for source, found in readings.items():
        assert furthest_apart(found, wanted) < PRINTED, source
        assert furthest_apart(found, wanted * (-1.0, 1.0, 1.0)) > 5.0, source


@pytest.mark.parametrize("scene", ["wren", "heron", "robin"])
def test_words_of_the_demonstrations_are_their_tubes(scene, tmp_path, capsys):
    file = tmp_path / "plan.json"
    assert main(["route", str(SCENES / f"{scene}.toml"), "-o", str(file)]) == 0
    capsys.readouterr()
    several = 0
    for run in json.loads(file.read_text())["runs"]:
        candidate = run["candidates"][run["chosen"] - 1]
        assert main(["bends", str(file), "--run", run["name"]]) == 0
        printed = capsys.readouterr().out
        wanted = np.array(candidate["vertices"])
        radius, _, closing = table_of(printed)
        for lay in (laid_as_they_point, bent_on_a_former):
            found = lay(moves_of_bends(printed), radius, closing)
            assert furthest_apart(found, wanted) < PRINTED
            if candidate["planes"] > 1:
                assert furthest_apart(found, wanted * (1.0, 1.0, -1.0)) > 5.0
                several += 1
    assert several


def test_sheets_name_only_their_own_set_and_their_plan():
    plan = plan_with(routes=(crooked(1),))
    short = plan_sha256(plan)[:8]
    for kind, seen in SETS.items():
        other = {"plain": "mirrored", "mirrored": "plain"}[kind]
        for file in sheet_files(plan, plan.runs, paper=PAPERS["a4"], seen=seen):
            if file.pages:
                pages = pages_of(file.content)
                assert len(pages) == file.pages
            else:
                pages = [file.content.decode()]
            for page in pages:
                assert f"{kind} set, plan {short}" in page
                assert f"{other} sheet" not in page
                assert not re.findall(rf"(?<!{kind} )sheet \d", page)


def test_a_tube_followed_across_the_sets_would_be_wrong(capsys):
    """Which is why no sheet names one of the other set."""
    plan = plan_with(routes=(crooked(1),))
    (run,) = plan.runs
    chosen = run.chosen_candidate
    assert chosen is not None
    wanted = np.array(chosen.centreline.vertices)
    _, files = as_printed(plan, run, capsys)
    paths = {kind: paths_of(sheets) for kind, sheets in files.items()}
    (pdf,) = [c for name, c in files["plain"].items() if name.endswith(".pdf")]
    words = words_by_sheet(pages_of(pdf))
    turns = [turn_to_next(words[name], name) for name in list(words)[:-1]]
    crossed = [paths["plain"][0], *paths["mirrored"][1:]]
    assert furthest_apart(laid_on_sheets(crossed, turns), wanted) > 20.0
