"""What the writers wrote, read back by other programs: lengths, layers, lettering."""

from __future__ import annotations

import io
import math
import os
import xml.etree.ElementTree as ET
from itertools import pairwise

import ezdxf
import ezdxf.recover
import numpy as np
import pypdfium2
import pytest
from ezdxf.filemanagement import read
from PIL import Image

from loopsolver.drafting import lettering
from loopsolver.drafting.drawing import (
    Anchor,
    Arc,
    Circle,
    Drawing,
    Face,
    Line,
    Page,
    Picture,
    Polygon,
    Polyline,
    Text,
    Viewport,
    rectangle,
)
from loopsolver.drafting.extent import box
from loopsolver.drafting.lettering import broken, cut_to_width, printable, text_width
from loopsolver.drafting.symbols import numbered_disc
from loopsolver.drafting.writers.dxf import dxf_document
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.drafting.writers.svg import svg_document
from tests.commands import python
from tests.unit.drafting.layers import Layers

SVG = "{http://www.w3.org/2000/svg}"


def ink_of(content, *, dpi):
    """Return how dark each pixel of a document's first page is, 0 to 255."""
    page = pypdfium2.PdfDocument(content)[0]
    bitmap = page.render(scale=dpi / 72.0, grayscale=True)
    return 255 - np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width)


def png():
    stream = io.BytesIO()
    Image.new("RGB", (4, 2), "black").save(stream, "PNG")
    return stream.getvalue()


EVERYTHING = (
    Line(start=(10.0, 20.0), end=(110.0, 20.0), layer=Layers.TUBE),
    Arc(
        centre=(60.0, 60.0),
        radius=28.0,
        start_deg=300.0,
        end_deg=390.0,
        layer=Layers.CENTRE,
    ),
    Circle(centre=(30.0, 40.0), radius=7.0, layer=Layers.CUT, fill=0.5),
    Polyline(points=((0.0, 0.0), (5.0, 5.0), (9.0, 1.0)), layer=Layers.LEG),
    Polygon(points=((1.0, 1.0), (4.0, 1.0), (4.0, 5.0)), layer=Layers.FRAME, fill=0.2),
    rectangle((50.0, 80.0), (60.0, 90.0), layer=Layers.SOLID, fill=1.0),
    Text(position=(10.0, 90.0), text="bend 1", size=3.0, angle_deg=90.0),
    Picture(position=(80.0, 70.0), width=20.0, height=10.0, png=png()),
)
DRAWING = Drawing(entities=EVERYTHING, low=(0.0, 0.0), high=(120.0, 100.0))

HOSTILE = {
    "markup": "<script>alert(1)</script>",
    "comment": "--> ]]> &amp; <!-- \"'",
    "lines": "one\ntwo\r\nthree\ttabs",
    "long": "x" * 500,
    "many words": "pump to card " * 60,
    "Cyrillic": "От помпы до радиатора",
    "Chinese": "水泵到散热器",
    "Arabic": "من المضخة إلى المبرد",
    "bidirectional": "pump \u202eto\u202c card",
    "control": "pump\x00\x07\x1bto card\x7f",
    "PDF": ") Tj ET (\\",
    "DXF": "%%c^J\\P{\\fArial;x}",
    "surrogate": "pump \ud800 card",
    "emoji": "pump 🔥 card",
    "empty": "",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_any_lettering_becomes_one_line_that_fits(text):
    line = cut_to_width(text, width=80.0, size=3.0, face=Face.STRONG)
    assert text_width(line, 3.0, Face.STRONG) <= 80.0
    assert all(letter.isprintable() for letter in line)
    assert line == printable(line)
    for part in broken(text, width=40.0, size=2.5):
        assert text_width(part, 2.5) <= 40.0


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_svg_of_any_lettering_is_well_formed_and_inert(text):
    drawing = Drawing(
        entities=(Text(position=(1.0, 1.0), text=text, size=3.0),),
        low=(0.0, 0.0),
        high=(50.0, 50.0),
    )
    root = ET.fromstring(svg_document(drawing, title=text))
    kinds = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert kinds <= {"svg", "title", "rect", "g", "text"}
    (found,) = root.iter(f"{SVG}text")
    assert (found.text or "") == printable(text).encode("utf-8", "replace").decode()


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_dxf_of_any_lettering_can_be_read(text):
    drawing = Drawing(
        entities=(Text(position=(1.0, 1.0), text=text, size=3.0),),
        low=(0.0, 0.0),
        high=(50.0, 50.0),
    )
    document, auditor = ezdxf.recover.read(io.BytesIO(dxf_document(drawing)))
    assert not auditor.has_errors
    for found in document.modelspace().query("TEXT"):
        assert found.dxf.height == 3.0
        assert "%%" not in found.dxf.text


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_pdf_of_any_lettering_opens(text):
    page = Page(
        width=210.0,
        height=297.0,
        entities=(Text(position=(10.0, 100.0), text=text, size=3.0),),
    )
    content = pdf_document([page], title=text)
    assert len(pypdfium2.PdfDocument(content)) == 1
    ink = ink_of(content, dpi=72.0)
    assert (ink.max() > 50) == bool(printable(text))


def test_letters_that_no_font_has_leave_a_mark():
    """The lettering font knows no Chinese: six letters leave six marks, not a gap."""
    page = Page(
        width=100.0,
        height=20.0,
        entities=(Text(position=(5.0, 8.0), text="水泵到散热器", size=4.0),),
    )
    ink = ink_of(pdf_document([page], title="x"), dpi=288.0)
    rows = np.nonzero(ink.max(axis=1) > 100)[0]
    tips = ink[rows[0] : rows[0] + (rows[-1] - rows[0]) // 4].max(axis=0) > 100
    assert np.count_nonzero(np.diff(tips.astype(int)) == 1) == 6


@pytest.fixture
def _without_the_wider_font(monkeypatch):
    lettering.drawable.cache_clear()
    monkeypatch.setattr(lettering, "find_spec", lambda _name: None)
    yield
    lettering.drawable.cache_clear()


@pytest.mark.usefixtures("_without_the_wider_font")
def test_without_the_wider_font_other_alphabets_leave_marks():
    font, shown = lettering.drawable("Kühler → помпа", Face.REGULAR)
    assert font == "Vera"
    assert shown == "Kühler ◊ ◊◊◊◊◊"
    page = Page(
        width=100.0,
        height=20.0,
        entities=(Text(position=(5.0, 8.0), text="помпа", size=4.0),),
    )
    assert ink_of(pdf_document([page], title="x"), dpi=72.0).max() > 50


def svg_root():
    return ET.fromstring(svg_document(DRAWING, title="a < b"))


def test_svg_has_millimetres_as_user_units():
    root = svg_root()
    assert root.get("width") == "120mm"
    assert root.get("height") == "100mm"
    assert root.get("viewBox") == "0 0 120 100"


def test_svg_reads_back():
    root = svg_root()
    line = next(root.iter(f"{SVG}line"))
    ends = [float(line.get(key)) for key in ("x1", "y1", "x2", "y2")]
    assert ends == [10.0, 80.0, 110.0, 80.0]  # y downward from 100
    path = next(root.iter(f"{SVG}path")).get("d").split()
    start, end = [float(v) for v in path[1:3]], [float(v) for v in path[-2:]]
    # A quarter turn of radius 28: chord 28 * sqrt(2).
    assert math.dist(start, end) == pytest.approx(28.0 * math.sqrt(2.0), abs=1e-3)
    assert path[4:6] == ["28", "28"]
    layers = {group.get("data-layer") for group in root.iter(f"{SVG}g")}
    assert {"tube edges", "centre line", "cuts", "notes"} <= layers


def places(text):
    """Return the places of a list of points."""
    return [tuple(map(float, one.split(","))) for one in text.split()]


def test_svg_has_everything_where_it_is_drawn():
    """Upward from the lower left corner, which SVG counts downward from the upper."""
    root = svg_root()
    circle = next(root.iter(f"{SVG}circle"))
    assert [float(circle.get(key)) for key in ("cx", "cy", "r")] == [30.0, 60.0, 7.0]
    bent = next(root.iter(f"{SVG}polyline"))
    assert places(bent.get("points")) == [(0.0, 100.0), (5.0, 95.0), (9.0, 99.0)]
    frame = next(root.iter(f"{SVG}polygon"))
    assert places(frame.get("points")) == [(1.0, 99.0), (4.0, 99.0), (4.0, 95.0)]
    picture = next(root.iter(f"{SVG}image"))
    keys = ("x", "y", "width", "height")  # y of its upper edge: 100 - (70 + 10)
    assert [float(picture.get(key)) for key in keys] == [80.0, 20.0, 20.0, 10.0]
    text = next(root.iter(f"{SVG}text"))
    assert (text.get("x"), text.get("y")) == ("10", "10")
    # rotate() turns clockwise on the screen (SVG 1.1, 7.6, from memory), drawings
    # anticlockwise.
    assert text.get("transform") == "rotate(-90 10 10)"


@pytest.mark.parametrize(
    ("start", "end"), [(300.0, 390.0), (10.0, 80.0), (-35.0, 215.0), (20.0, 380.0)]
)
def test_svg_arcs_go_all_the_way_round(start, end):
    """Flags 0 0: the shorter way, anticlockwise on the screen (SVG 1.1, 8.3.8,
    from memory)."""
    arc = Arc(
        centre=(30.0, 40.0),
        radius=10.0,
        start_deg=start,
        end_deg=end,
        layer=Layers.TUBE,
    )
    drawing = Drawing(entities=(arc,), low=(0.0, 0.0), high=(60.0, 100.0))
    root = ET.fromstring(svg_document(drawing, title="x"))
    numbers = next(root.iter(f"{SVG}path")).get("d", "").replace("M", "").split("A")
    parts = [[float(one) for one in part.split()] for part in numbers]
    assert all(part[:5] == [10.0, 10.0, 0.0, 0.0, 0.0] for part in parts[1:])
    angles = []
    for x, y in [parts[0], *(part[5:] for part in parts[1:])]:
        assert math.dist((x, y), (30.0, 60.0)) == pytest.approx(10.0, abs=1e-3)
        angles.append(math.degrees(math.atan2(60.0 - y, x - 30.0)))
    turned = [(b - a) % 360.0 for a, b in pairwise(angles)]
    assert math.remainder(angles[0] - start, 360.0) == pytest.approx(0.0, abs=0.01)
    assert max(turned) <= 180.0 + 0.01
    assert sum(turned) == pytest.approx(end - start, abs=0.01)


def dxf():
    return read(io.TextIOWrapper(io.BytesIO(dxf_document(DRAWING)), "utf-8"))


def test_dxf_is_in_millimetres_on_plainly_named_layers():
    document = dxf()
    assert document.units == ezdxf.units.MM
    assert document.header["$MEASUREMENT"] == 1
    names = {layer.dxf.name for layer in document.layers}
    assert {"tube edges", "centre line", "cuts", "legs", "frame", "notes"} <= names
    assert not document.audit().errors


def test_dxf_lists_layers_in_the_order_asked_for():
    """Layer 0 and the one for points of dimensions are in every DXF file."""
    text = Text(position=(1.0, 1.0), text="x", size=2.0)
    edge = Line(start=(0.0, 0.0), end=(1.0, 1.0), layer=Layers.TUBE)
    drawing = Drawing(entities=(text, edge), low=(0.0, 0.0), high=(9.0, 9.0))
    for listed, names in (
        ((), ["notes", "tube edges"]),
        ((Layers.LEG, Layers.TUBE, Layers.NOTE), ["tube edges", "notes"]),
    ):
        content = dxf_document(drawing, listed=listed)
        found = read(io.StringIO(content.decode())).layers
        layers = [layer.dxf.name for layer in found]
        assert [n for n in layers if n not in {"0", "Defpoints"}] == names


def test_dxf_reads_back():
    space = dxf().modelspace()
    (line,) = space.query("LINE")
    assert (line.dxf.end - line.dxf.start).magnitude == 100.0
    (arc,) = space.query("ARC")
    chord = (arc.end_point - arc.start_point).magnitude
    assert chord == pytest.approx(28.0 * math.sqrt(2.0))
    (circle,) = space.query("CIRCLE")
    assert circle.dxf.radius == 7.0
    (text,) = space.query("TEXT")
    assert text.dxf.text == "bend 1"
    assert len(space.query("HATCH")) == 2  # the white ground is left out


def test_dxf_numbers_on_black_discs_are_white_whatever_the_ground_is():
    """Group code 420 holds a true colour, DXF's white being 0xFFFFFF (DXF reference)."""
    shapes = (
        *numbered_disc((20.0, 20.0), 1, radius=3.0),
        *numbered_disc((40.0, 20.0), 2, radius=3.0, fill=1.0),
    )
    drawing = Drawing(entities=shapes, low=(0.0, 0.0), high=(60.0, 40.0))
    document = read(io.TextIOWrapper(io.BytesIO(dxf_document(drawing)), "utf-8"))
    space = document.modelspace()
    (disc,) = space.query("HATCH")
    assert disc.dxf.true_color == 0x000000
    on_black, on_white = space.query("TEXT")
    assert (on_black.dxf.text, on_white.dxf.text) == ("1", "2")
    assert on_black.dxf.true_color == 0xFFFFFF
    assert not on_white.dxf.hasattr("true_color")  # black on white, white on black


def test_writing_dxf_leaves_nothing_in_the_home_folder(tmp_path):
    script = (
        "import loopsolver.drafting.writers.dxf as d, os; print(sorted(os.environ))"
    )
    environment = {"HOME": str(tmp_path), "PATH": os.environ["PATH"]}
    done = python("-c", script, env=environment)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "XDG" not in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_equal_drawings_give_equal_bytes():
    page = Page(
        width=210.0,
        height=297.0,
        entities=EVERYTHING,
        viewports=(Viewport(drawing=DRAWING, low=(0, 0), high=(50, 50), at=(10, 150)),),
    )
    assert pdf_document([page], title="x") == pdf_document([page], title="x")
    assert svg_document(DRAWING, title="x") == svg_document(DRAWING, title="x")
    assert dxf_document(DRAWING) == dxf_document(DRAWING)


def test_dxf_is_the_same_whatever_order_sets_have():
    """Python gives the members of a set another order in every process."""
    script = (
        "import hashlib\n"
        "from loopsolver.drafting.drawing import Drawing, Text\n"
        "from loopsolver.drafting.writers.dxf import dxf_document\n"
        "text = Text(position=(1.0, 1.0), text='x', size=2.0)\n"
        "drawing = Drawing(entities=(text,), low=(0.0, 0.0), high=(9.0, 9.0))\n"
        "print(hashlib.sha256(dxf_document(drawing)).hexdigest())\n"
    )
    runs = [
        python("-c", script, env={**os.environ, "PYTHONHASHSEED": seed})
        for seed in "1234"
    ]
    assert [done.returncode for done in runs] == [0] * 4
    assert len({done.stdout for done in runs}) == 1


def test_pdf_asks_not_to_be_scaled():
    page = Page(width=210.0, height=297.0, entities=EVERYTHING)
    content = pdf_document([page], title="x")
    assert b"/PrintScaling /None" in content
    document = pypdfium2.PdfDocument(content)
    # A4 in points of 1/72 in.
    assert document[0].get_size() == pytest.approx((595.2756, 841.8898), abs=1e-3)


def test_pdf_has_its_lettering_where_it_is_drawn():
    """Anchored at its start, middle and end, as pdfium reads it."""
    width = text_width("pump", 4.0)
    anchors: tuple[tuple[Anchor, float], ...]
    anchors = (("start", 0.0), ("middle", 0.5), ("end", 1.0))
    for anchor, share in anchors:
        text = Text(position=(50.0, 80.0), text="pump", size=4.0, anchor=anchor)
        page = Page(width=100.0, height=100.0, entities=(text,))
        document = pypdfium2.PdfDocument(pdf_document([page], title="x"))
        words = document[0].get_textpage()
        assert words.get_text_bounded() == "pump"
        boxes = [words.get_charbox(at) for at in range(4)]
        mm = 25.4 / 72.0
        assert boxes[0][0] * mm == pytest.approx(50.0 - share * width, abs=0.5)
        assert boxes[-1][2] * mm == pytest.approx(50.0 + (1 - share) * width, abs=0.5)


@pytest.mark.parametrize(("start", "end"), [(10.0, 80.0), (-35.0, 215.0), (0.0, 360.0)])
def test_pdf_arcs_go_all_the_way_round(start, end):
    """Ink of a circle of 30 mm at every angle that the arc has, and at no other."""
    arc = Arc(
        centre=(50.0, 50.0),
        radius=30.0,
        start_deg=start,
        end_deg=end,
        layer=Layers.TUBE,
    )
    page = Page(width=100.0, height=100.0, entities=(arc,))
    ink = ink_of(pdf_document([page], title="x"), dpi=254.0)  # ten pixels a millimetre
    rows, columns = np.nonzero(ink > 128)
    x, y = (columns + 0.5) / 10.0 - 50.0, 50.0 - (rows + 0.5) / 10.0
    assert np.hypot(x, y) == pytest.approx(30.0, abs=0.5)
    angles = np.degrees(np.arctan2(y, x)) % 360.0
    inked = np.unique(np.round(angles))
    wanted = np.unique(np.round(np.arange(start, end + 0.1) % 360.0))
    assert set(wanted) - {0.0, 360.0} <= set(inked)
    assert all(min(abs(wanted - one)) <= 1.0 for one in inked if 1 < one < 359)


def test_a_window_shows_its_part_alone():
    line = Line(start=(0.0, 25.0), end=(200.0, 25.0), layer=Layers.TUBE)
    drawing = Drawing(entities=(line,), low=(0.0, 0.0), high=(200.0, 50.0))
    viewport = Viewport(
        drawing=drawing, low=(60.0, 0.0), high=(100.0, 50.0), at=(20.0, 20.0)
    )
    page = Page(width=100.0, height=100.0, entities=(), viewports=(viewport,))
    ink = ink_of(pdf_document([page], title="x"), dpi=300.0)
    rows, columns = np.nonzero(ink > 128)
    mm = 25.4 / 300.0
    # The viewport's edge falls within a pixel, which may be dark or not.
    assert columns.min() * mm == pytest.approx(20.0, abs=1.5 * mm)
    assert (columns.max() + 1) * mm == pytest.approx(60.0, abs=1.5 * mm)
    assert (rows.mean() + 0.5) * mm == pytest.approx(100.0 - 45.0, abs=0.1)


@pytest.mark.parametrize(
    ("start", "end"), [(300.0, 390.0), (10.0, 80.0), (-35.0, 215.0)]
)
def test_arc_boxes_against_many_points(start, end):
    arc = Arc(
        centre=(3.0, -2.0), radius=10.0, start_deg=start, end_deg=end, layer=Layers.TUBE
    )
    angles = np.radians(np.linspace(start, end, 20001))
    xs, ys = 3.0 + 10.0 * np.cos(angles), -2.0 + 10.0 * np.sin(angles)
    wanted = (xs.min(), ys.min(), xs.max(), ys.max())
    assert box(arc) == pytest.approx(wanted, abs=1e-6)
