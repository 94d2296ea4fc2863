"""Pictures of a plan and a scene, drawn for real and looked at pixel by pixel."""

from __future__ import annotations

import io
import math
import os
import pickle
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from loopsolver.errors import LoopsolverError, OutputError
from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.vectors import point
from loopsolver.tube.centreline import BendArc, pieces
from loopsolver.view import camera, contents, palette
from loopsolver.view.panel import ON_PICTURE, page_layout
from loopsolver.view.selection import first_selection
from loopsolver.view.window import pictures_of_build, screenshot
from tests.builders import demo_build
from tests.commands import python

SIZE = (1600, 1000)
LAYOUT = page_layout(*SIZE, scale=1.0, furniture=ON_PICTURE)
PANEL_EDGE = round(LAYOUT.panel_width)


@pytest.fixture(scope="module")
def demo():
    return demo_build


@pytest.fixture(scope="module")
def plan(demo):
    return demo.plan()


def read(path):
    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB"), dtype=int)


@pytest.fixture(scope="module")
def pictures(plan, tmp_path_factory):
    """Two candidates of one run, and a run without a route; each drawn once."""
    folder = tmp_path_factory.mktemp("pictures")
    wanted = {
        "first": ("pump to card", 1),
        "third": ("pump to card", 3),
        "none": ("pump to valve", None),
    }
    for name, (run, candidate) in wanted.items():
        screenshot(plan, folder / f"{name}.png", run=run, candidate=candidate)
    return folder


def bend_pixels(pixels):
    """Which pixels have the hue of the bends, however they are lit (in the build)."""
    red, green, blue = (pixels[:, PANEL_EDGE:, n] for n in range(3))
    return (red - blue > 70) & (green - blue > 30) & (red > 1.15 * green)


def straight_pixels(pixels):
    red, green, blue = (pixels[:, PANEL_EDGE:, n] for n in range(3))
    return (blue - red > 22) & (blue > 1.2 * green)


def on_picture(points, plan, run, candidate):
    """Where places in the case are on the picture, (n, 2): a pinhole camera."""
    selection = first_selection(plan, run=run, candidate=candidate)
    lines = contents.lines_to_see(plan, selection)
    solids = contents.solids_in_the_way(plan.scene)
    eye = camera.best_eye(lines, solids, sides=plan.scene.sides)
    width, height = SIZE[0] - LAYOUT.panel_width, SIZE[1]
    frame = camera.framing(contents.outer_points(plan), eye, aspect=width / height)
    towards = np.asarray(eye.towards_eye)
    rays = np.asarray(points) - frame.focus - frame.distance * towards
    focal = height / 2.0 / math.tan(math.radians(camera.VIEW_ANGLE_DEG) / 2.0)
    across = rays @ np.asarray(eye.right) / -(rays @ towards) * focal
    upwards = rays @ np.asarray(eye.up) / -(rays @ towards) * focal
    return np.column_stack(
        [LAYOUT.panel_width + width / 2.0 + across, height / 2.0 - upwards]
    )


def bend_middles(candidate):
    """Half way round each bend, by the definition of the arc."""
    arcs = [
        piece for piece in pieces(candidate.centreline) if isinstance(piece, BendArc)
    ]
    return [
        np.asarray(arc.centre)
        + arc.radius * math.cos(arc.angle / 2) * np.asarray(arc.u)
        + arc.radius * math.sin(arc.angle / 2) * np.asarray(arc.v)
        for arc in arcs
    ]


def test_picture_has_its_size_and_is_small(pictures):
    for path in pictures.iterdir():
        with Image.open(path) as picture:
            assert picture.size == SIZE
            assert picture.format == "PNG"
        assert path.stat().st_size < 250_000


@pytest.mark.parametrize(("name", "rank"), [("first", 1), ("third", 3)])
def test_each_bend_is_where_the_geometry_says(pictures, plan, name, rank):
    pixels = read(pictures / f"{name}.png")
    orange = bend_pixels(pixels)
    middles = bend_middles(plan.runs[0].candidates[rank - 1])
    spots = on_picture(middles, plan, "pump to card", rank)
    assert len(spots) == plan.runs[0].candidates[rank - 1].bends
    for x, y in spots:
        row, column = round(y), round(x) - PANEL_EDGE
        near = orange[row - 3 : row + 4, column - 3 : column + 4]
        assert near.mean() > 0.8


def test_tube_is_drawn_at_its_true_diameter(pictures, plan):
    # The long upright straight of the first candidate: from (178, 230, 58) to 157 mm.
    pixels = read(pictures / "first.png")
    middle = np.array([178.0, 230.0, 140.0])
    ((x, y),) = on_picture([middle], plan, "pump to card", 1)
    row = straight_pixels(pixels)[round(y)]
    column = round(x) - PANEL_EDGE
    assert row[column]
    left = column - np.argmin(row[column::-1])
    right = column + np.argmin(row[column:])
    # Its outline: the two sides of the tube as the eye sees them, 7 mm from the axis.
    frame = axis_frame(point(middle), (0.0, 0.0, 1.0))
    turns = np.linspace(0.0, 2.0 * math.pi, 720)
    ring = [
        middle
        + 7.0 * (math.cos(t) * np.array(frame.axes[0]))
        + 7.0 * (math.sin(t) * np.array(frame.axes[1]))
        for t in turns
    ]
    outline = on_picture(ring, plan, "pump to card", 1)[:, 0]
    assert right - left == pytest.approx(np.ptp(outline), abs=2.5)


def test_candidates_differ_in_the_tube_and_in_the_words(pictures):
    first, third = read(pictures / "first.png"), read(pictures / "third.png")
    moved = bend_pixels(first) ^ bend_pixels(third)
    assert moved.sum() > 1500
    assert (first[:, :PANEL_EDGE] != third[:, :PANEL_EDGE]).any()
    # Five bends take more room than three.
    assert bend_pixels(third).sum() > bend_pixels(first).sum() > 1500


def test_run_without_a_route_has_no_tube_but_says_so(pictures):
    pixels = read(pictures / "none.png")
    assert bend_pixels(pixels).sum() == 0
    words = pixels[:, :PANEL_EDGE]
    warning = np.abs(words - palette.WARNING_INK).max(axis=2) < 12
    # "no route" stands near the top, not only in the list further down.
    assert warning[:200].sum() > 60


def test_build_keeps_clear_of_the_rims_and_of_the_words(pictures):
    for name in ("first", "third", "none"):
        pixels = read(pictures / f"{name}.png")
        build = np.abs(pixels[:, PANEL_EDGE + 2 :] - palette.PAPER).max(axis=2) > 14
        rows, columns = np.nonzero(build)
        assert rows.min() > 20
        assert rows.max() < SIZE[1] - 20
        assert columns.min() > 20
        assert columns.max() < build.shape[1] - 20
        # And it fills the picture: height or width to within twice the margin.
        share = max(np.ptp(rows) / SIZE[1], np.ptp(columns) / build.shape[1])
        assert share > 1.0 - 4 * camera.PICTURE_MARGIN


def test_same_plan_gives_the_same_picture_without_any_display(plan, pictures, tmp_path):
    """In a process of its own, which knows no display and no other process's state."""
    held = tmp_path / "plan.pickle"
    held.write_bytes(pickle.dumps(plan))
    path = tmp_path / "again.png"
    code = (
        "import pickle, sys, pathlib\n"
        "from loopsolver.view.window import pictures_of_build, screenshot\n"
        "plan = pickle.loads(pathlib.Path(sys.argv[1]).read_bytes())\n"
        "screenshot(plan, pathlib.Path(sys.argv[2]), run='pump to card', candidate=1)\n"
    )
    hidden = {"DISPLAY", "WAYLAND_DISPLAY", "XAUTHORITY"}
    environment = {k: v for k, v in os.environ.items() if k not in hidden}
    done = python("-c", code, held, path, env=environment)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert path.read_bytes() == (pictures / "first.png").read_bytes()


def test_scene_shows_its_ports_and_what_is_wanted(demo, tmp_path):
    path = tmp_path / "scene.png"
    screenshot(demo.scene(), path, size=(1000, 700))
    pixels = read(path)
    assert pixels.shape == (700, 1000, 3)
    edge = round(page_layout(1000, 700, scale=1.0, furniture=ON_PICTURE).panel_width)
    red, green, blue = (pixels[:, edge:, n] for n in range(3))
    arrows = (green - red > 50) & (blue - red > 40)
    wanted = (red - green > 110) & (red - blue > 50)
    assert arrows.sum() > 300
    assert wanted.sum() > 60


def test_crowded_scene_is_drawn_and_small(demo, plan, tmp_path):
    crowd = replace(plan, scene=demo.crowded_scene(42))
    path = tmp_path / "crowd.png"
    screenshot(crowd, path)
    assert path.stat().st_size < 250_000
    assert bend_pixels(read(path)).sum() > 1500


def test_build_alone_has_no_words_beside_it(plan):
    (drawn,) = pictures_of_build(plan, runs=["pump to card"], size=(460, 400))
    with Image.open(io.BytesIO(drawn.png)) as picture:
        pixels = np.asarray(picture.convert("RGB"), dtype=int)
    assert pixels.shape == (400, 460, 3)
    for rim in (pixels[:8], pixels[-8:], pixels[:, :8], pixels[:, -8:]):
        assert (rim == palette.PAPER).all()
    red, green, blue = (pixels[:, :, n] for n in range(3))
    assert ((red - blue > 70) & (green - blue > 30)).sum() > 250


@pytest.mark.parametrize("size", [(100, 100), (1000, 20_000)])
def test_size_out_of_reach_is_refused(plan, tmp_path, size):
    with pytest.raises(LoopsolverError, match="160 to 8192 each way"):
        screenshot(plan, tmp_path / "view.png", size=size)
    assert not list(tmp_path.iterdir())


def test_wrong_run_writes_nothing(plan, tmp_path):
    with pytest.raises(LoopsolverError, match="no run 'drain'"):
        screenshot(plan, tmp_path / "view.png", run="drain")
    with pytest.raises(OutputError):
        screenshot(plan, tmp_path / "missing" / "view.png")
    assert not list(tmp_path.iterdir())


def violet_pixels(pixels):
    """Which pixels of the build have the hue of the marks of air, however lit."""
    red, green, blue = (pixels[:, PANEL_EDGE:, n] for n in range(3))
    return (blue - green > 40) & (red - green > 15) & (blue > 1.2 * red)


def test_air_that_stays_is_marked_where_a_vent_is_named(demo, pictures, tmp_path):
    path = tmp_path / "air.png"
    screenshot(demo.vented_plan(), path)
    assert violet_pixels(read(path)).sum() > 100
    assert violet_pixels(read(pictures / "first.png")).sum() == 0
