"""Jigs measured back from their STL files: grooves, angles, turns, walls, lettering."""

from __future__ import annotations

import io
import math
import random
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import reportlab
import trimesh
from PIL import Image, ImageDraw, ImageFont
from scipy.ndimage import binary_dilation, binary_erosion
from scipy.spatial import ConvexHull

from loopsolver.errors import GeometryError
from loopsolver.tube.centreline import Centreline
from loopsolver.workshop.jigs.chamfer_stop import chamfer_stop
from loopsolver.workshop.jigs.cradle import Cradle, cradle
from loopsolver.workshop.jigs.former import former_half
from loopsolver.workshop.jigs.jig_files import stl
from loopsolver.workshop.jigs.part_picture import TOWARDS, part_picture
from loopsolver.workshop.jigs.shell import FlatSide, Shell, closed_shell, fan, ring
from loopsolver.workshop.jigs.stand import stand_foot
from tests.builders.scenes import tube
from tests.builders.tubes import bent, laid_along_x
from tests.full import few_or_all
from tests.unit.workshop import measured_print as measured

TUBE = tube()  # 14 / 10 mm
PLAY = 0.3
GROOVE = 7.0 + PLAY / 2.0
RADIUS = 28.0
BED = 200.0
CRADLE: dict[str, Any] = {"run": 3, "first": 1, "groove": GROOVE, "bed": BED}

Shape = tuple[float, float, float, float]
"""Angle, straight, turn, angle: two bends [degrees, mm]."""

BY_HAND: list[Shape] = [
    (90.0, 40.0, 0.0, 90.0),
    (90.0, 18.0, 90.0, 90.0),
    (90.0, 20.0, -90.0, 45.0),
    (60.0, 70.0, 180.0, 120.0),
    (37.0, 25.0, 141.0, 98.5),
    (90.0, 260.0, 37.0, 90.0),
]


def drawn() -> list[Shape]:
    """Two bends drawn by lot."""
    lot = random.Random(16)
    return [
        (
            lot.uniform(15.0, 125.0),
            lot.uniform(12.0, 300.0),
            lot.uniform(-180.0, 180.0),
            lot.uniform(15.0, 125.0),
        )
        for _ in range(120)
    ]


def laid(shape: Shape, *, ends: float = 60.0) -> Centreline:
    first, between, turn, second = shape
    rows = [(ends, 0.0, first), (between, turn, second)]
    return laid_along_x(bent(rows, closing=ends, radius=RADIUS))


def made(line: Centreline, *, bed: float = BED) -> Cradle:
    """The cradle of two bends that have one."""
    found = cradle(line, **{**CRADLE, "bed": bed})
    assert found is not None
    return found


@pytest.mark.parametrize("shape", few_or_all(BY_HAND[1:5:2], [*BY_HAND, *drawn()]))
def test_cradle_measured_back(shape: Shape) -> None:
    found = cradle(laid(shape), **CRADLE)
    if found is None:  # legs that lead back over each other
        assert shape[0] + shape[3] > 180.0
        return
    parts = [measured.read(stl(shell)) for shell in found.shells]
    held = [leg for part in parts for leg in measured.legs(part)]
    assert [leg.radius for leg in held] == pytest.approx([GROOVE] * len(held), abs=1e-3)
    first, last = sorted(
        (leg for part in parts for leg in leaving(measured.legs(part))),
        key=lambda leg: leg.corner[0],
    )
    way = np.array([1.0, 0.0, 0.0])
    for leg, angle in ((first, shape[0]), (last, shape[3])):
        assert math.degrees(math.acos(abs(leg.out @ way))) == pytest.approx(
            min(angle, 180.0 - angle), abs=0.05
        )
    angles = [math.degrees(math.acos(x)) for x in (-first.out @ way, last.out @ way)]
    assert angles == pytest.approx([shape[0], shape[3]], abs=0.05)
    turned = measured.turn_deg(-first.out, way, last.out)
    assert abs((turned - shape[2] + 180.0) % 360.0 - 180.0) < 0.1
    apart = found.between + sum(take_out(angle) for angle in (shape[0], shape[3]))
    if len(parts) == 1:
        assert last.corner[0] - first.corner[0] == pytest.approx(
            shape[1] + apart, abs=0.02
        )
    for part in parts:
        check_printable(part)


def take_out(angle_deg: float) -> float:
    """From a bend's vertex to where it begins: R tan(angle / 2) [mm]."""
    return RADIUS * math.tan(math.radians(angle_deg) / 2.0)


@dataclass(frozen=True)
class Arm:
    """A leg beyond a bend: where its axis meets the middle one's, and its way out."""

    corner: np.ndarray
    out: np.ndarray


def leaving(held: list[measured.Leg]) -> list[Arm]:
    """The legs that do not lie along x, as they leave the one that does."""
    middle = next(leg for leg in held if abs(leg.along[0]) > 0.9999)
    arms = []
    for leg in held:
        if leg is not middle:
            # Both axes meet in the vertex of the bend.
            system = np.column_stack([middle.along, -leg.along])
            along = np.linalg.lstsq(system, leg.at - middle.at, rcond=None)[0]
            corner = middle.at + along[0] * middle.along
            assert np.linalg.norm(leg.at + along[1] * leg.along - corner) < 0.01
            out = (leg.at - corner) / np.linalg.norm(leg.at - corner)
            arms.append(Arm(corner=corner, out=out))
    return arms


def check_printable(part: trimesh.Trimesh) -> None:
    """A flat base, a floor and walls of 5 mm, and nothing that hangs over."""
    low = part.triangles[:, :, 2].max(axis=1) < 1e-6
    assert part.vertices[:, 2].min() == 0.0
    assert part.area_faces[low].sum() > 400.0
    groove = part.triangles[measured.groove_faces(part)]
    assert groove[:, :, 2].min() >= 5.0 - 1e-5
    # Only the upper edges of letters hang over, 0.6 mm deep.
    assert measured.overhangs(part, floor=0.001).max(initial=0.0) < 0.61


def test_bends_of_a_cradle_have_the_bend_radius() -> None:
    (shell,) = made(laid((90.0, 40.0, 90.0, 45.0))).shells
    part = measured.read(stl(shell))
    held = measured.legs(part)
    points = np.unique(
        part.triangles[measured.groove_faces(part)].reshape(-1, 3), axis=0
    )
    middle = next(leg for leg in held if abs(leg.along[0]) > 0.9999)
    for arm, angle in zip(leaving(held), (90.0, 45.0), strict=True):
        side = 1.0 if arm.corner[0] > middle.at[0] else -1.0
        along = np.array([-side, 0.0, 0.0])
        out = take_out(angle)
        # What lies between both tangent planes of the bend.
        away = points - arm.corner
        bend = points[(away @ along < out - 1e-6) & (away @ arm.out < out - 1e-6)]
        inward = (along + arm.out) / np.linalg.norm(along + arm.out)
        centre = arm.corner + inward * RADIUS / math.sin(math.radians(90.0 - angle / 2))
        normal = np.cross(along, arm.out)
        large, small, off = measured.torus(
            bend, normal / np.linalg.norm(normal), centre
        )
        assert large == pytest.approx(RADIUS, abs=0.01)
        assert small == pytest.approx(GROOVE, abs=0.005)
        assert off < 0.005


def test_cradle_longer_than_the_bed_comes_in_two() -> None:
    line = laid((90.0, 260.0, 37.0, 90.0))
    found = made(line)
    assert len(found.shells) == 2
    parts = [measured.read(stl(shell)) for shell in found.shells]
    assert all(part.extents[:2].max() < BED for part in parts)
    middles = [
        next(leg for leg in measured.legs(part) if abs(leg.along[0]) > 0.9999)
        for part in parts
    ]
    # Both stand on one board: the axis of their common straight is equally high, and
    # where both bends begin stand 260 mm apart when the parts do as it is said.
    assert middles[0].at[2] == pytest.approx(middles[1].at[2], abs=1e-4)
    corners = [leaving(measured.legs(part))[0].corner[0] for part in parts]
    ends = parts[0].bounds[1][0], parts[1].bounds[0][0]
    straight = (
        ends[0]
        - (corners[0] + RADIUS)
        + found.between
        + (corners[1] - RADIUS)
        - ends[1]
    )
    assert straight == pytest.approx(260.0, abs=0.01)
    assert len(made(line, bed=500.0).shells) == 1


def test_no_cradle_where_the_legs_meet() -> None:
    assert cradle(laid((170.0, 12.0, 0.0, 170.0)), **CRADLE) is None


@pytest.mark.parametrize("radius", [28.0, 19.05])
def test_former_measured_back(radius: float) -> None:
    part = measured.read(stl(former_half(radius, groove=GROOVE, size="28 mm")))
    points = part.triangles[measured.groove_faces(part)].reshape(-1, 3)
    points = points[points[:, 2] > 5.5]  # but for the notches in the lip
    large, small, off = measured.torus(points, np.array([0.0, 0.0, 1.0]), (0, 0, 12.0))
    assert (large, small) == pytest.approx((radius, GROOVE), abs=0.002)
    assert off < 0.001
    assert part.extents[2] == pytest.approx(5.0 + GROOVE, abs=1e-6)
    # Only the floors of letters, on the bed, hang over, a letter's stroke wide.
    assert measured.overhangs(part, floor=0.61).size == 0


def test_former_says_that_it_softens() -> None:
    """What is sunk in the cheek, seen from below, beside the words in the same font."""
    part = measured.read(stl(former_half(28.0, groove=GROOVE, size="28 mm")))
    sunk = part.triangles[np.abs(part.triangles[:, :, 2] - 0.6).max(axis=1) < 1e-6]
    dots = 20  # a millimetre
    seen = Image.new("1", (50 * dots, 50 * dots))
    for corners in sunk:
        # From below, with y down the page, x runs to the right.
        flat = [((25.0 + x) * dots, (25.0 + y) * dots) for x, y, _ in corners]
        ImageDraw.Draw(seen).polygon(flat, fill=1)
    shown = np.asarray(seen)
    rows = np.flatnonzero(shown.any(axis=1))
    lines = np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1)
    file = Path(reportlab.__file__).parent / "fonts" / "VeraBd.ttf"
    words = ("SOFTENS", "UNDERA", "HOTTUBE", "R28MM")
    assert len(lines) == len(words)
    for line, word in zip(lines, words, strict=True):
        band = shown[line[0] : line[-1] + 1]
        columns = np.flatnonzero(band.any(axis=0))
        letters = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
        assert len(letters) == len(word)
        for place, letter in zip(letters, word, strict=True):
            got = band[:, place[0] : place[-1] + 1]
            got = got[got.any(axis=1)]
            font = ImageFont.truetype(str(file), 400)
            want = Image.new("1", (600, 600))
            ImageDraw.Draw(want).text((50, 50), letter, font=font, fill=1)
            want = want.crop(want.getbbox()).resize(got.shape[::-1])
            both, either = got & np.asarray(want), got | np.asarray(want)
            assert both.sum() > 0.85 * either.sum(), letter


@pytest.mark.parametrize(("outer", "inner"), [(14.0, 10.0), (12.0, 10.0), (9.525, 7.9)])
def test_chamfer_stop_stops_at_its_chamfer(outer: float, inner: float) -> None:
    stock = tube(outer_diameter=outer, inner_diameter=inner)
    groove = (outer + PLAY) / 2.0
    part = measured.read(stl(chamfer_stop(stock, groove=groove, size="14 mm")))
    (guide,) = measured.legs(part)
    assert guide.radius == pytest.approx(groove, abs=1e-3)
    assert abs(guide.along[2]) == pytest.approx(math.sqrt(0.5), abs=1e-4)
    up = guide.along * np.sign(guide.along[2])
    # The ledge: level across the guide, seen from its mouth, below its middle.
    away = part.triangles_center - guide.at
    away -= np.outer(away @ up, up)
    is_within = np.linalg.norm(away, axis=1) < groove + 5.0
    across = is_within & (np.abs(part.face_normals @ up - 1.0) < 1e-6)
    across &= part.area_faces > 2.0  # letters have small walls
    levels = part.triangles_center[across] @ up
    ledge = levels.min()
    assert levels.max() - ledge == pytest.approx(2.0 * outer, abs=1e-3)
    # The tube lies on the lower side of the guide, its end on the ledge: so far is the
    # lowest point of its rim below the paper, and the chamfer is that by the root of 2.
    middle = guide.at + (ledge - guide.at @ up) * up
    over = np.array([0.0, 0.0, 1.0]) - up[2] * up
    over /= np.linalg.norm(over)
    rim = middle - (PLAY / 2.0) * over - (outer / 2.0) * over
    chamfer = -rim[2] * math.sqrt(2.0)
    assert chamfer == pytest.approx(min(1.0, (outer - inner) / 4.0), abs=1e-3)
    assert part.vertices[:, 2].min() == 0.0
    # 45 degrees is what hangs over at most, but for letters on the side that leans.
    assert measured.overhangs(part, floor=0.001).max(initial=0.0) < 0.61


def test_stand_takes_a_board_and_leans_it_back() -> None:
    part = measured.read(stl(stand_foot(play=PLAY)))
    lean = math.radians(15.0)
    aside = np.array([math.cos(lean), -math.sin(lean), 0.0])
    large = part.area_faces > 20.0  # letters have small walls
    faces = [
        float(np.mean(part.triangles_center[large & (np.abs(side) < 1e-6)] @ aside))
        for side in (part.face_normals @ aside - 1.0, part.face_normals @ aside + 1.0)
    ]
    assert faces[1] - faces[0] == pytest.approx(3.0 + PLAY, abs=1e-4)
    assert part.extents == pytest.approx((120.0, 38.0, 14.0), abs=1e-6)


def test_shell_that_does_not_close_is_refused() -> None:
    x, y, _ = np.eye(3)
    side = FlatSide(right=x, up=y)
    square = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], dtype=float)
    with pytest.raises(GeometryError, match="does not close"):
        closed_shell([fan(square)])
    with pytest.raises(GeometryError, match="does not lie within"):
        ring(square, square + 5.0 * x, side)


def test_the_same_every_time() -> None:
    line = laid(BY_HAND[1])
    first, second = (made(line).shells[0] for _ in range(2))
    assert stl(first) == stl(second)


def test_the_picture_of_a_part_has_no_holes_and_its_true_outline() -> None:
    """A block, seen at a slant: a six-sided figure, filled by Pillow from its corners."""
    block = trimesh.creation.box((60.0, 30.0, 20.0))
    shell = Shell(vertices=np.array(block.vertices), triangles=np.array(block.faces))
    picture = part_picture(shell, width=40.0, height=30.0)
    greys = np.asarray(Image.open(io.BytesIO(picture.png)))
    towards = np.array(TOWARDS) / np.linalg.norm(TOWARDS)
    right = np.cross((0.0, 0.0, 1.0), towards)
    right /= np.linalg.norm(right)
    flat = shell.vertices @ np.array([right, -np.cross(towards, right)]).T
    size = np.array(greys.shape[::-1])
    low, high = flat.min(axis=0), flat.max(axis=0)
    flat = (flat - (low + high) / 2.0) * (
        (size - 4.0) / (high - low)
    ).min() + size / 2.0
    hull = flat[ConvexHull(flat).vertices]
    outline = Image.new("1", tuple(size.tolist()))
    ImageDraw.Draw(outline).polygon([tuple(one) for one in hull.tolist()], fill=1)
    inside = binary_erosion(np.asarray(outline), iterations=2)
    outside = ~binary_dilation(np.asarray(outline), iterations=2)
    assert inside.sum() > 5000
    assert (greys[inside] < 255).all()
    assert (greys[outside] == 255).all()
    assert len(np.unique(greys[inside])) >= 3  # three sides, each in its own grey
