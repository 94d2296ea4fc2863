"""A rendering on the bench sheet: in its place, and lettered where its tube is."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from PIL import Image

from loopsolver.drafting.drawing import Picture, Polyline, Text
from loopsolver.drafting.extent import box
from loopsolver.workshop.bench_sheet import bench_sheet
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.rendered_picture import Rendering, rendered_picture
from tests.builders.small_build import UP, job_through
from tests.unit.workshop.tidy import assert_tidy

# The case is seen along its y axis from a camera at (100, -900, 150): what lies 1000 mm
# before it is shown at a share of 1/500 a millimetre, the middle of the picture being
# (100, 150) in x and z. Similar triangles; w is the distance from the camera.
PROJECTION = np.array(
    [
        [2.0, 0.5, 0.0, 0.5 * 900.0 - 2.0 * 100.0],
        [0.0, 0.5, 2.0, 0.5 * 900.0 - 2.0 * 150.0],
        [0.0, 1.0, 0.0, 0.0],
        [0.0, 1.0, 0.0, 900.0],
    ]
)


def rendering(aspect):
    stream = io.BytesIO()
    Image.new("L", (8, 6), 128).save(stream, "PNG")
    return Rendering(
        png=stream.getvalue(), aspect=aspect, projection=PROJECTION, axis_reach=30.0
    )


def by_similar_triangles(point):
    x, y, z = point
    away = y + 900.0
    return 0.5 + (x - 100.0) * 2.0 / away, 0.5 + (z - 150.0) * 2.0 / away


@pytest.mark.parametrize("aspect", [0.8, 1.15, 2.0])
def test_the_centre_line_lies_where_the_camera_sees_it(aspect):
    one, width, height = rendering(aspect), 110.0, 100.0
    drawing = rendered_picture(
        one,
        job_through(UP).centreline,
        radius=7.0,
        tags=("first", "last"),
        axis_names=("x left", "y near", "z up"),
        width=width,
        height=height,
    )
    (shown,) = [e for e in drawing.entities if isinstance(e, Picture)]
    assert shown.width / shown.height == pytest.approx(aspect)
    assert shown.width == pytest.approx(min(width, height * aspect))
    assert shown.position[0] * 2.0 + shown.width == pytest.approx(width)
    assert shown.position[1] * 2.0 + shown.height == pytest.approx(height)
    (path,) = [
        e
        for e in drawing.entities
        if isinstance(e, Polyline) and e.layer is Layers.CENTRE
    ]
    for end, vertex in ((path.points[0], UP[0]), (path.points[-1], UP[-1])):
        across, up = by_similar_triangles(vertex)
        wanted = (
            shown.position[0] + across * shown.width,
            shown.position[1] + up * shown.height,
        )
        assert math.dist(end, wanted) < 1e-9
    said = [e.text for e in drawing.entities if isinstance(e, Text)]
    assert sorted(said) == ["1", "2", "first", "last", "x left", "y near", "z up"]
    for text in (e for e in drawing.entities if isinstance(e, Text)):
        left, bottom, right, top = box(text)
        assert left >= 0.0
        assert bottom >= -1.0
        assert right <= width
        assert top <= height


def test_it_takes_the_place_of_the_drawn_view(make_plan):
    plan = make_plan()
    one = rendering(1.15)
    pages = bench_sheet(plan, plan.runs[0], width=186.0, height=256.0, rendering=one)
    (shown,) = [e for e in pages[0].entities if isinstance(e, Picture)]
    assert shown.png == one.png
    assert_tidy(pages)
