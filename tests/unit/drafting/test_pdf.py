"""PDF pages as pdfium draws them: pens, areas, lettering and pictures in their places."""

from __future__ import annotations

import io

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Line,
    Page,
    Picture,
    Polygon,
    Polyline,
    Text,
    Viewport,
)
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.writers.pdf import pdf_document

PEN = Layer(name="pen", width=2.0)
NO_PEN = Layer(name="areas", width=0.0)
SIDE = 40.0


def grey_of(*entities: Entity, viewports: tuple[Viewport, ...] = ()) -> np.ndarray:
    """Return how light each pixel of a page of 40 x 40 mm is, ten a millimetre.

    Indexed by x and y from the lower left corner, in tenths of a millimetre.
    """
    page = Page(width=SIDE, height=SIDE, entities=entities, viewports=viewports)
    document = pypdfium2.PdfDocument(pdf_document([page], title="x"))
    bitmap = document[0].render(scale=254.0 / 72.0, grayscale=True)
    rows = np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width)
    return rows[::-1].T / 255.0


def level(y: float, layer: Layer = PEN) -> Line:
    return Line(start=(10.0, y), end=(30.0, y), layer=layer)


def test_a_line_has_the_width_and_the_ends_of_its_pen() -> None:
    """2 mm wide, cut off square at its ends: from 19 to 21 up, from 10 to 30 along."""
    shown = grey_of(level(20.0)) < 0.5
    along, up = np.nonzero(shown)
    assert (up.min(), up.max()) == (190, 209)
    assert (along.min(), along.max()) == (100, 299)
    assert shown.sum() == 20 * 200


@pytest.mark.parametrize("grey", [0.0, 0.4, 0.8])
def test_a_line_is_as_grey_as_its_pen(grey: float) -> None:
    pen = Layer(name="pen", width=2.0, grey=grey)
    assert grey_of(level(20.0, pen))[200, 200] == pytest.approx(grey, abs=0.01)


def test_a_line_is_dashed_as_its_pen_and_the_next_one_is_not() -> None:
    """4 mm of dash and 2 of gap from its start on; pens change with the layer."""
    dashed = Layer(name="dashed", width=2.0, dash=(4.0, 2.0))
    shown = grey_of(level(10.0, dashed), level(30.0)) < 0.5
    runs = np.flatnonzero(np.diff(shown[:, 100].astype(int))) + 1
    assert runs.tolist() == [100, 140, 160, 200, 220, 260, 280, 300]
    assert shown[100:300, 300].all()


def test_what_is_bent_is_round_at_its_corners() -> None:
    """The corner of a square is rounded with the pen's half width, so cut by 0.3 mm."""
    path = Polyline(points=((10.0, 10.0), (30.0, 10.0), (30.0, 30.0)), layer=PEN)
    shown = grey_of(path) < 0.5
    assert shown[305, 200] & shown[200, 95]
    assert not shown[308, 91]
    assert not shown[200, 200]
    assert not shown[195, 205]  # open: nothing leads back


def test_an_outline_is_closed_and_filled_with_its_grey() -> None:
    corners = ((10.0, 10.0), (30.0, 10.0), (30.0, 30.0))
    shown = grey_of(Polygon(points=corners, layer=PEN, fill=0.5))
    assert shown[250, 150] == pytest.approx(0.5, abs=0.01)
    assert shown[200, 200] < 0.5  # the side that closes it
    assert shown[150, 250] == 1.0
    open_one = grey_of(Polygon(points=corners, layer=PEN))
    assert open_one[250, 150] == 1.0


def test_an_area_without_a_pen_has_no_rim() -> None:
    for fill in (0.5, 1.0):
        disc = Circle(centre=(20.0, 20.0), radius=5.0, layer=NO_PEN, fill=fill)
        shown = grey_of(disc)
        assert shown.min() == pytest.approx(fill, abs=0.02)
    rim = grey_of(Circle(centre=(20.0, 20.0), radius=5.0, layer=PEN))
    assert rim[200, 200] == 1.0
    assert rim[250, 200] < 0.05


def test_what_comes_later_lies_on_top_and_pages_over_their_windows() -> None:
    white = Circle(centre=(20.0, 20.0), radius=5.0, layer=NO_PEN, fill=1.0)
    black = Circle(centre=(20.0, 20.0), radius=5.0, layer=NO_PEN, fill=0.0)
    assert grey_of(black, white)[200, 200] == 1.0
    assert grey_of(white, black)[200, 200] == 0.0
    drawing = Drawing(entities=(black,), low=(0.0, 0.0), high=(40.0, 40.0))
    window = Viewport(drawing=drawing, low=(0.0, 0.0), high=(40.0, 40.0), at=(0.0, 0.0))
    assert grey_of(white, viewports=(window,))[200, 200] == 1.0


def test_a_window_moves_what_it_shows_and_nothing_after_it() -> None:
    """The drawing's (30, 0) comes to lie at (5, 8): its disc at (35, 10) at (10, 18)."""
    disc = Circle(centre=(35.0, 10.0), radius=3.0, layer=NO_PEN, fill=0.0)
    drawing = Drawing(entities=(disc,), low=(0.0, 0.0), high=(60.0, 60.0))
    window = Viewport(drawing=drawing, low=(30.0, 0.0), high=(60.0, 9.0), at=(5.0, 8.0))
    own = Circle(centre=(35.0, 35.0), radius=3.0, layer=NO_PEN, fill=0.0)
    shown = grey_of(own, viewports=(window,)) < 0.5
    assert shown[350, 350]
    along, up = np.nonzero(shown[:200, :300])
    assert (along.min(), along.max()) == (
        pytest.approx(70, abs=2),
        pytest.approx(129, abs=2),
    )
    # Its upper part lies beyond the window's edge, 9 mm over its lower one.
    assert (up.min(), up.max()) == (
        pytest.approx(150, abs=1),
        pytest.approx(169, abs=1),
    )


def ink(text: Text) -> tuple[int, int, int, int]:
    along, up = np.nonzero(grey_of(text) < 0.5)
    return int(along.min()), int(up.min()), int(along.max()), int(up.max())


def test_capitals_are_as_high_as_they_are_said_to_be_and_turn() -> None:
    """An H of 10 mm stands on its base line; turned by 90 degrees it lies to the left."""
    left, bottom, right, top = ink(Text(position=(15.0, 12.0), text="H", size=10.0))
    assert (bottom, top) == pytest.approx((120, 219), abs=1)
    assert left >= 150
    wide = right - left
    turned = Text(position=(25.0, 12.0), text="H", size=10.0, angle_deg=90.0)
    left, bottom, right, top = ink(turned)
    assert (left, right) == pytest.approx((150, 249), abs=1)
    assert top - bottom == pytest.approx(wide, abs=2)
    assert bottom >= 120


def test_lettering_has_its_grey_and_leaves_the_next_things_alone() -> None:
    pale = Text(position=(5.0, 5.0), text="HHH", size=10.0, grey=0.6, angle_deg=45.0)
    shown = grey_of(pale, level(35.0))
    assert shown[:, :330].min() == pytest.approx(0.6, abs=0.02)
    assert (shown[100:300, 345:355] < 0.5).all()
    empty = Text(position=(5.0, 5.0), text="", size=10.0)
    assert (grey_of(empty) == 1.0).all()


@pytest.mark.parametrize(
    ("shape", "wanted"),
    # Twice as wide as high, in the middle of a box of 20 x 20 mm and of 30 x 10 mm.
    [((20.0, 20.0), (100, 150, 299, 249)), ((30.0, 10.0), (150, 100, 349, 199))],
)
def test_a_picture_keeps_its_proportions_in_the_middle_of_its_box(
    shape, wanted
) -> None:
    stream = io.BytesIO()
    Image.new("RGB", (40, 20), "black").save(stream, "PNG")
    width, height = shape
    box = Picture(
        position=(10.0, 10.0), width=width, height=height, png=stream.getvalue()
    )
    along, up = np.nonzero(grey_of(box) < 0.5)
    found = (along.min(), up.min(), along.max(), up.max())
    assert found == pytest.approx(wanted, abs=1.1)


def test_a_document_says_what_it_is() -> None:
    pages = [Page(width=SIDE, height=SIDE, entities=())] * 2
    document = pypdfium2.PdfDocument(pdf_document(pages, title="a\n <b>"))
    told = document.get_metadata_dict()
    assert told["Title"] == "a <b>"
    assert told["Author"] == told["Creator"] == "loopsolver"
    assert len(document) == 2
