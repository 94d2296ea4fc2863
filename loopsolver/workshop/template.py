"""The template of one plane of a run: the tube at true size, to be bent on paper."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import Final

from loopsolver.drafting.drawing import (
    Drawing,
    Entity,
    Line,
    Place,
    between,
    moved,
    polar,
    rectangle,
)
from loopsolver.drafting.extent import Extent, extent, framed, is_within
from loopsolver.drafting.paging import Foot, Paper, foot_lettering, scale_bar
from loopsolver.drafting.placing import Ground, Joints
from loopsolver.drafting.tiling import is_lettering_cut, joints_of, printed_tiles
from loopsolver.workshop.annotations import bend_labels, end_labels, end_marks
from loopsolver.workshop.bench_figures import material_words
from loopsolver.workshop.dimensions import dimensions
from loopsolver.workshop.far_end import far_end_mark, far_end_words
from loopsolver.workshop.flat import FlatPlane
from loopsolver.workshop.job import Job
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.tube_shapes import (
    TANGENT_BEYOND,
    Outlet,
    bend_mark_shapes,
    body,
    centre_line,
    centre_path,
    edges,
    end_half_width,
    end_shapes,
    leg_shapes,
    outlets_in_plane,
)
from loopsolver.workshop.turn_note import WIDTHS, note_panel, words_out_of_plane

_ROUNDS: Final = 4  # lettering moved off joints can move the joints in turn
_SPARES: Final = (2.5, 1.0)  # room round a note, the better first [mm]
_EDGE: Final = 1.5  # between the outermost thing and the end of the grid [mm]


def template(job: Job, plane: FlatPlane, *, paper: Paper) -> Drawing:
    """Return the template of a plane, its lettering clear of that paper's joints.

    Parameters
    ----------
    plane : FlatPlane
        Mirrored already where the mirror image is wanted.
    """
    drawing = _template(job, plane, paper=paper, joints=((), ()))
    for _ in range(_ROUNDS):
        tiles = printed_tiles(drawing, paper)
        if len(tiles) == 1:
            return drawing
        drawing = _template(job, plane, paper=paper, joints=joints_of(tiles))
        if not is_lettering_cut(drawing, paper):
            break
    return drawing


def _template(job: Job, plane: FlatPlane, *, paper: Paper, joints: Joints) -> Drawing:
    """Return a template whose lettering stays clear of the joints between pages."""
    ends = outlets_in_plane(plane, job)
    ground = _ground(job, plane, ends)
    ground.take_joints(joints)
    # Placed in the order in which they have to be near the tube; drawn so that the
    # ground which lettering clears is clear of the lines of dimensions as well.
    foot = tuple(far_end_mark(job, plane, ground))
    bends = tuple(bend_labels(plane, job, ground))
    marks = tuple(end_marks(plane, ends, job, ground))
    distances = tuple(dimensions(plane, ends, job, ground, joints=joints))
    names = tuple(end_labels(ends, job, ground))
    shapes: list[Entity] = [
        *bend_mark_shapes(plane, job),
        *body(plane, job),
        *centre_line(plane, job),
        *leg_shapes(plane),
        *(shape for outlet in ends for shape in end_shapes(outlet, job)),
        *edges(plane, job),
        *distances,
        *bends,
        *marks,
        *names,
        *foot,
    ]
    beside = (*words_out_of_plane(job, plane), *far_end_words(job, plane))
    notes = (note_panel(plane, beside=beside, width=width) for width in WIDTHS)
    panels = list(filter(None, notes))
    if panels:
        shapes += _placed(panels, plane.tube_end, ground, shapes, paper=paper)
    drawing = framed(shapes, _EDGE)
    grid = _grid(drawing.low, drawing.high, job, plane)
    return replace(drawing, entities=(*grid, *shapes))


def _ground(job: Job, plane: FlatPlane, ends: tuple[Outlet, ...]) -> Ground:
    """Return the drawing board with the tube and its lines on it."""
    half, radius = job.tube.radius, job.table.radius
    ground = Ground()
    ground.take_path(centre_path(plane, job), half_width=half + 0.5)
    ground.take_line(plane.points[0], plane.points[1])
    ground.take_line(plane.points[-2], plane.points[-1])
    for bend in plane.bends:
        ground.take_path((bend.start, bend.vertex, bend.end), half_width=0.8)
        out = radius + half + TANGENT_BEYOND
        for tangent in (bend.start, bend.end):
            far = between(bend.centre, tangent, out / radius)
            ground.take_line(bend.centre, far)
        ground.take_line(bend.centre, bend.centre, half_width=3.0)
    for outlet in ends:
        tip = polar(outlet.seat, job.trim_allowance, outlet.out_deg)
        wide = end_half_width(outlet.end, job)
        mouth = polar(outlet.seat, -outlet.end.depth, outlet.out_deg)
        ground.take_line(mouth, outlet.seat, half_width=wide)
        ground.take_line(outlet.seat, tip, half_width=wide - 3.0)
        ground.take_line(tip, polar(tip, 8.0, outlet.out_deg))
    return ground


def _placed(
    panels: Sequence[Drawing],
    goal: Place,
    ground: Ground,
    rest: Sequence[Entity],
    *,
    paper: Paper,
) -> tuple[Entity, ...]:
    """Return a note where it costs no page, or else where it costs the fewest.

    A place will do that is inside the box of the rest, clear of the joints between pages
    and on a page that is printed anyhow: the one nearest to the goal. If there is none,
    the note goes outside.

    Parameters
    ----------
    panels : sequence of Drawing
        The same note in several shapes, the best first.
    goal : Place
        Where the tube goes on.
    rest : sequence of Entity
        All else on the template.
    """
    drawing = framed(rest, _EDGE)
    low, high = drawing.low, drawing.high
    pages = printed_tiles(drawing, paper)
    outside: list[tuple[tuple[int, bool, float], Drawing, Place]] = []
    for spare, panel in product(_SPARES, panels):
        for corner in _corners(panel, low, high, goal=goal):
            box = _panel_box(panel, corner)
            if ground.is_free(box, spare=spare) and any(
                is_within(box, page.low, page.high) for page in pages
            ):
                return moved(panel.entities, corner)
        outside += (
            (_cost(_panel_box(panel, corner), rest, paper), panel, corner)
            for corner in _corners_outside(panel, low, high)
        )
        cost, cheapest, place = min(outside, key=lambda one: one[0])
        if cost[0] <= len(pages):
            break
    return moved(cheapest.entities, place)


def _corners_outside(panel: Drawing, low: Place, high: Place) -> Iterator[Place]:
    """Return places just outside a box where a panel's lower left corner could be."""
    for part in (0.0, 0.25, 0.5, 0.75, 1.0):
        x = low[0] + part * max(0.0, high[0] - low[0] - panel.width)
        y = low[1] + part * max(0.0, high[1] - low[1] - panel.height)
        yield (x, low[1] - panel.height - 1.0)
        yield (x, high[1] + 1.0)
        yield (high[0] + 1.0, y)


def _corners(panel: Drawing, low: Place, high: Place, *, goal: Place) -> list[Place]:
    """Return places in a box for a panel's lower left corner, nearest to a goal first."""
    (wide, tall), step = (panel.width, panel.height), 6.0
    columns = 1 + math.floor(max(-1.0, high[0] - low[0] - wide) / step)
    rows = 1 + math.floor(max(-1.0, high[1] - low[1] - tall) / step)
    return sorted(
        (
            (low[0] + step * column, low[1] + step * row)
            for column in range(columns)
            for row in range(rows)
        ),
        key=lambda corner: math.dist(
            goal, (corner[0] + wide / 2.0, corner[1] + tall / 2.0)
        ),
    )


def _panel_box(panel: Drawing, corner: Place) -> Extent:
    """Return the box of a panel."""
    return (*corner, corner[0] + panel.width, corner[1] + panel.height)


def _cost(
    panel: Extent, rest: Sequence[Entity], paper: Paper
) -> tuple[int, bool, float]:
    """Return what a panel there costs: pages, a joint across it, area of the drawing."""
    left, bottom, right, top = panel
    frame = rectangle((left, bottom), (right, top), layer=Layers.FRAME)
    shapes = (*rest, frame)
    tiles = printed_tiles(framed(shapes, _EDGE), paper)
    across, up = joints_of(tiles)
    is_cut = any(left - 2.0 < x < right + 2.0 for x in across) or any(
        bottom - 2.0 < y < top + 2.0 for y in up
    )
    low, high = extent(shapes)
    return len(tiles), is_cut, (high[0] - low[0]) * (high[1] - low[1])


def grid_spacing(job: Job) -> tuple[float, int, str]:
    """Return side of the grid's squares [mm], squares to a strong line, and its name."""
    if job.units == "in":
        return 6.35, 4, "1/4 in"
    return 5.0, 2, "5 mm"


def _grid(low: Place, high: Place, job: Job, plane: FlatPlane) -> tuple[Entity, ...]:
    """Return the square grid along the first leg, through the first vertex."""
    spacing, strong, _ = grid_spacing(job)
    origin = plane.points[1] if plane.bends else plane.points[0]
    lines: list[Line] = []
    for axis in range(2):
        first = math.ceil((low[axis] - origin[axis]) / spacing)
        last = math.floor((high[axis] - origin[axis]) / spacing)
        for index in range(first, last + 1):
            at = origin[axis] + spacing * index
            layer = Layers.GRID if index % strong else Layers.GRID_STRONG
            start, end = (
                ((at, low[1]), (at, high[1]))
                if axis == 0
                else ((low[0], at), (high[0], at))
            )
            lines.append(Line(start=start, end=end, layer=layer))
    return tuple(sorted(lines, key=lambda line: line.layer is Layers.GRID_STRONG))


def foot_of(job: Job, plane: FlatPlane, *, belongs: str) -> Foot:
    """Return what stands at the foot of a template's pages."""
    mirror = "MIRROR IMAGE: " if plane.is_mirrored else ""
    sheet = f": {plane.sheet_name(plane.number)} of {plane.count}"
    tube, radius = job.tube, job.table.radius
    says = [f"{material_words(tube.material)} {job.size(tube.outer_diameter)}"]
    if plane.bends:
        says.append(f"bend radius {job.size(radius)}")
        says.append(f"former (dashed) {job.size(radius - tube.radius)} to its groove")
    says.append(f"grid {grid_spacing(job)[2]}")
    what = f"{sheet}, {_bends_on(plane)}"
    return job.foot(what, f"{mirror}{job.title}", "; ".join(says), belongs=belongs)


def _bends_on(plane: FlatPlane) -> str:
    """Return which bends a sheet is for."""
    if not plane.bends:
        return "no bends"
    first, last = plane.bends[0].number, plane.bends[-1].number
    return f"bend {first}" if first == last else f"bends {first} to {last}"


def standalone(drawing: Drawing, foot: Foot) -> Drawing:
    """Return a template with its heading and a scale bar under it, for SVG and DXF."""
    left, bottom = drawing.low
    width = max(drawing.width, 150.0)
    shapes = (
        *foot_lettering(foot, (left, bottom - 2.0), width=width),
        *scale_bar((left, bottom - 26.0), foot.units),
    )
    return Drawing(
        entities=(*drawing.entities, *shapes),
        low=(left - 4.0, bottom - 30.0),
        high=(max(drawing.high[0], left + width) + 4.0, drawing.high[1] + 4.0),
    )
