"""Printed pages measured in pixels at 300 dpi: bars, a bend, a leg over several tiles."""

from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ET

import ezdxf
import numpy as np
import pypdfium2
import pytest
from ezdxf.entities.arc import Arc
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read

from loopsolver.drafting.paging import PAGE_MARGIN, PAPERS, Leaf, bound, room
from loopsolver.drafting.tiling import OVERLAP, tiled
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.workshop.flat import flat_planes
from loopsolver.workshop.sheets import run_files
from loopsolver.workshop.template import foot_of, template
from tests.builders.small_build import job_through

DPI = 300.0
MM = 25.4 / DPI  # millimetres in a pixel
SVG = "{http://www.w3.org/2000/svg}"


def ink_of(page):
    """Return how dark each pixel is, 0 to 255, row 0 at the top."""
    bitmap = page.render(scale=DPI / 72.0, grayscale=True)
    return 255.0 - np.array(bitmap.to_numpy(), float).reshape(
        bitmap.height, bitmap.width
    )


class Sheet:
    """A rendered page, asked in millimetres from its lower left corner."""

    def __init__(self, page):
        self.ink = ink_of(page)
        self.width = page.get_width() / 72.0 * 25.4
        self.height = page.get_height() / 72.0 * 25.4

    def part(self, left, bottom, right, top):
        rows = slice(
            round((self.height - top) / MM), round((self.height - bottom) / MM)
        )
        columns = slice(round(left / MM), round(right / MM))
        ink = np.where(self.ink[rows, columns] > 140.0, self.ink[rows, columns], 0.0)
        return ink, columns.start, rows.start

    def x_of_line(self, left, bottom, right, top):
        """Return where an upright line runs through a box [mm from the left]."""
        ink, first, _ = self.part(left, bottom, right, top)
        weights = ink.sum(axis=0)
        assert weights.max() > 0.6 * 140.0 * ink.shape[0], "no line there"
        # A neighbour that is as faint as an arrow's tip is not the line.
        weights[weights < 0.5 * weights.max()] = 0.0
        at = np.arange(len(weights)) + 0.5
        return (first + weights @ at / weights.sum()) * MM

    def y_of_line(self, left, bottom, right, top):
        """Return where a level line runs through a box [mm from the bottom]."""
        ink, _, first = self.part(left, bottom, right, top)
        weights = ink.sum(axis=1)
        assert weights.max() > 0.6 * 140.0 * ink.shape[1], "no line there"
        weights[weights < 0.5 * weights.max()] = 0.0
        at = np.arange(len(weights)) + 0.5
        return self.height - (first + weights @ at / weights.sum()) * MM


def sheets_of(job, paper):
    """Return rendered pages of a job's only plane, and the leaves they come from."""
    (plane,) = flat_planes(job.table)
    drawing = template(job, plane, paper=paper)
    foot = foot_of(job, plane, belongs="plain set")
    leaves = tiled(drawing, paper=paper, foot=foot)
    document = pypdfium2.PdfDocument(pdf_document(bound(leaves), title="x"))
    return [Sheet(document[i]) for i in range(len(document))], leaves


def printed(leaf, place):
    """Return where a place of the drawing is meant to lie on a page [mm]."""
    (viewport,) = leaf.viewports
    return tuple(
        place[axis] - viewport.low[axis] + viewport.at[axis] for axis in (0, 1)
    )


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
@pytest.mark.parametrize(("units", "length"), [("mm", 100.0), ("in", 101.6)])
def test_scale_bars(paper, units, length):
    job = job_through(((0, 0, 0), (80, 0, 0), (80, 90, 0)), units=units)
    (sheet,), _ = sheets_of(job, paper)
    # The ticks at the ends stand out above the blocks of the bar.
    y = (PAGE_MARGIN + 1.9, PAGE_MARGIN + 3.1)
    first = sheet.x_of_line(PAGE_MARGIN - 0.6, y[0], PAGE_MARGIN + 0.6, y[1])
    last = sheet.x_of_line(
        PAGE_MARGIN + length - 0.6, y[0], PAGE_MARGIN + length + 0.6, y[1]
    )
    assert last - first == pytest.approx(length, abs=0.1)
    right = sheet.width - PAGE_MARGIN
    x = (right - 3.1, right - 1.9)
    low = sheet.y_of_line(x[0], PAGE_MARGIN + 27.0, x[1], PAGE_MARGIN + 29.0)
    high = sheet.y_of_line(
        x[0], PAGE_MARGIN + 27.0 + length, x[1], PAGE_MARGIN + 29.0 + length
    )
    assert high - low == pytest.approx(length, abs=0.1)


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_tangent_distances_chord_and_width_of_a_bend(paper):
    """90 degrees, radius 28: tangent length 28, chord 28 sqrt 2, edges 14 apart."""
    job = job_through(((0, 0, 0), (90, 0, 0), (90, 100, 0)))
    (sheet,), (leaf,) = sheets_of(job, paper)
    # On the sheet the vertex is the origin, the first leg along -x, the second up.
    vx, vy = printed(leaf, (0.0, 0.0))
    lower = sheet.y_of_line(vx - 50.0, vy - 8.0, vx - 40.0, vy - 6.0)
    upper = sheet.y_of_line(vx - 50.0, vy + 6.0, vx - 40.0, vy + 8.0)
    left = sheet.x_of_line(vx - 8.0, vy + 40.0, vx - 6.0, vy + 50.0)
    right = sheet.x_of_line(vx + 6.0, vy + 40.0, vx + 8.0, vy + 50.0)
    assert upper - lower == pytest.approx(14.0, abs=0.1)
    assert right - left == pytest.approx(14.0, abs=0.1)
    # The centre lines meet in the vertex; tangent lines stand out beyond the edges.
    vertex = ((left + right) / 2.0, (lower + upper) / 2.0)
    start = sheet.x_of_line(vx - 28.8, vy - 11.5, vx - 27.2, vy - 8.0)
    end = sheet.y_of_line(vx + 8.0, vy + 27.2, vx + 11.5, vy + 28.8)
    assert vertex[0] - start == pytest.approx(28.0, abs=0.1)
    assert end - vertex[1] == pytest.approx(28.0, abs=0.1)
    chord = math.hypot(vertex[0] - start, end - vertex[1])
    assert chord == pytest.approx(28.0 * math.sqrt(2.0), abs=0.1)
    # The arc itself: its middle lies 28 (1 - 1 / sqrt 2) inside the vertex each way.
    inside = 28.0 - (28.0 + 7.0) / math.sqrt(2.0)
    x = sheet.x_of_line(
        vx - inside - 0.5, vy + inside - 0.05, vx - inside + 0.5, vy + inside + 0.05
    )
    assert vertex[0] - x == pytest.approx(inside, abs=0.1)


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_a_leg_of_400_over_tiles_along(paper):
    """Pages laid on one another by their corner marks, as seen in the pixels."""
    job = job_through(((0, 0, 0), (400, 0, 0)))
    sheets, leaves = sheets_of(job, paper)
    assert len(sheets) > 1
    length = 0.0
    for index, (sheet, leaf) in enumerate(zip(sheets, leaves, strict=True)):
        assert leaf.tile.column == index
        x0, x1 = (side_of_page(sheet, leaf, side) for side in ("left", "right"))
        _, y = printed(leaf, (0.0, 0.0))
        if index == 0:
            seat, _ = printed(leaf, (0.0, 0.0))
            x0 = sheet.x_of_line(seat - 1.0, y + 12.0, seat + 1.0, y + 14.0)
        if index == len(sheets) - 1:
            seat, _ = printed(leaf, (400.0, 0.0))
            x1 = sheet.x_of_line(seat - 1.0, y + 12.0, seat + 1.0, y + 14.0)
        length += x1 - x0
    assert length == pytest.approx(400.0, abs=0.3)


def side_of_page(sheet, leaf, side):
    """Return where the upright arm of a corner mark is, or None at an outer edge."""
    low, high = room(leaf.size)
    x = low[0] + OVERLAP / 2.0 if side == "left" else high[0] - OVERLAP / 2.0
    y = low[1] + OVERLAP / 2.0
    columns = {tile.column for tile in leaf.tiles}
    other = leaf.tile.column + (-1 if side == "left" else 1)
    if other not in columns:
        return None
    return sheet.x_of_line(x - 0.9, y - 3.8, x + 0.9, y - 2.6)


def test_a_leg_of_400_over_tiles_upward():
    """Short, then 400 up: rows of tiles put together by the level arms of the marks."""
    job = job_through(((0, 0, 0), (60, 0, 0), (60, 400, 0)))
    sheets, leaves = sheets_of(job, PAPERS["a4"])
    rows: dict[int, tuple[Sheet, Leaf]] = {}
    for sheet, leaf in zip(sheets, leaves, strict=True):
        rows.setdefault(leaf.tile.row, (sheet, leaf))
    assert len(rows) == 2
    (top, top_leaf), (bottom, bottom_leaf) = rows[0], rows[1]
    low, high = room(top_leaf.size)
    x = low[0] + OVERLAP / 2.0
    joint_above = top.y_of_line(
        x - 3.8, low[1] + OVERLAP / 2.0 - 0.9, x - 2.6, low[1] + OVERLAP / 2.0 + 0.9
    )
    joint_below = bottom.y_of_line(
        x - 3.8, high[1] - OVERLAP / 2.0 - 0.9, x - 2.6, high[1] - OVERLAP / 2.0 + 0.9
    )
    # The far seat: a line across the tube. The vertex: the middle of the first leg.
    sx, sy = printed(top_leaf, (0.0, 400.0))
    seat = top.y_of_line(sx + 12.0, sy - 1.0, sx + 14.0, sy + 1.0)
    vx, vy = printed(bottom_leaf, (0.0, 0.0))
    lower = bottom.y_of_line(vx - 33.0, vy - 8.0, vx - 30.0, vy - 6.0)
    upper = bottom.y_of_line(vx - 33.0, vy + 6.0, vx - 30.0, vy + 8.0)
    length = (seat - joint_above) + (joint_below - (lower + upper) / 2.0)
    assert length == pytest.approx(400.0, abs=0.3)


@pytest.fixture(scope="module")
def files():
    job = job_through(((0, 0, 0), (400, 0, 0), (400, 90, 0), (500, 90, 0)))
    made = run_files(
        job, stem="pump-to-card", paper=PAPERS["a4"], of_plan="plan 0123abcd"
    )
    return {file.name: file.content for file in made}


def test_lengths_read_back_from_svg(files):
    root = ET.fromstring(files["pump-to-card-plane-1.svg"])
    width, height = (
        float(root.attrib[k].removesuffix("mm")) for k in ("width", "height")
    )
    view = [float(v) for v in root.attrib["viewBox"].split()]
    assert view == [0.0, 0.0, width, height]
    groups: dict[str | None, list[ET.Element]] = {}
    for group in root.iter(f"{SVG}g"):
        groups.setdefault(group.get("data-layer"), []).extend(group)
    vertices = [
        tuple(map(float, line.attrib["points"].split()[1].split(",")))
        for line in groups["legs"]
        if line.tag == f"{SVG}polyline"
    ]
    seats = [
        tuple((float(a) + float(b)) / 2.0 for a, b in ((x1, x2), (y1, y2)))
        for x1, y1, x2, y2 in (
            [line.attrib[k] for k in ("x1", "y1", "x2", "y2")]
            for line in groups["cuts"]
        )
    ]
    assert math.dist(seats[0], vertices[0]) == pytest.approx(400.0, abs=0.01)
    assert math.dist(*vertices) == pytest.approx(90.0, abs=0.01)
    arcs = [
        p.attrib["d"].split() for p in groups["centre line"] if p.tag == f"{SVG}path"
    ]
    for words in arcs:
        start, end = [float(v) for v in words[1:3]], [float(v) for v in words[-2:]]
        assert math.dist(start, end) == pytest.approx(28.0 * math.sqrt(2.0), abs=0.01)


def test_lengths_read_back_from_dxf(files):
    content = files["pump-to-card-plane-1.dxf"].decode()
    document = read(io.StringIO(content))
    assert document.units == ezdxf.units.MM
    assert not document.audit().errors
    space = document.modelspace()
    legs = [
        [tuple(p[:2]) for p in line.get_points()]
        for line in space.query('LWPOLYLINE[layer=="legs"]')
        if isinstance(line, LWPolyline)
    ]
    (_, one, _), (_, two, _) = legs
    assert math.dist(one, two) == pytest.approx(90.0, abs=0.01)
    cuts = space.query('LINE[layer=="cuts"]')
    seats = [(line.dxf.start + line.dxf.end) / 2.0 for line in cuts]
    assert math.dist(seats[0].vec2, one) == pytest.approx(400.0, abs=0.01)
    for arc in space.query('ARC[layer=="centre line"]'):
        assert isinstance(arc, Arc)
        chord = (arc.end_point - arc.start_point).magnitude
        assert chord == pytest.approx(28.0 * math.sqrt(2.0), abs=0.01)
    edges = {
        round(arc.dxf.radius, 6) for arc in space.query('ARC[layer=="tube edges"]')
    }
    assert edges == {21.0, 35.0}


def test_pages_are_as_large_as_the_paper(files):
    document = pypdfium2.PdfDocument(files["pump-to-card.pdf"])
    for page in document:
        size = sorted(v / 72.0 * 25.4 for v in page.get_size())
        assert size == pytest.approx([210.0, 297.0], abs=0.01)
