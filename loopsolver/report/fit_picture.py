"""Far ends of many tubes at the mouth of their fitting, drawn: which of them go in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import numpy as np

from loopsolver.drafting.diagram import Diagram, Scale
from loopsolver.drafting.drawing import (
    Circle,
    Drawing,
    Entity,
    Face,
    Line,
    Place,
    Text,
    moved,
)
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.lettering import cut_to_width
from loopsolver.files import check_drawing, write_drawing
from loopsolver.fitup.cloud import COUNT, Cloud, cloud_of
from loopsolver.geometry.vectors import Array
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import Plan
from loopsolver.report.sides import side_of
from loopsolver.scene.axes import Sides
from loopsolver.scene.model import Scene
from loopsolver.scene.port_spreads import port_spreads

_WIDTH: Final = 96.0  # of one mouth with its lettering [mm]
_HEIGHT: Final = 110.0
_FIELD: Final = 70.0
_CORNER: Final = (14.0, 19.0)
_LETTERS: Final = 2.2  # height of capitals [mm]
_BESIDE: Final = 2  # mouths beside each other
_SHOWN: Final = 1.25  # how far the field reaches, in limits or in most of the tubes
_MOST: Final = 95.0  # per cent of the tubes that it holds at least
_TAKES: Final = Layer(name="what the mouth takes", width=0.5)
_ENDS: Final = Layer(name="tubes", width=0.15)


def write_fit_picture(
    plan: Plan, tubes: Sequence[tuple[str, int]], path: Path, *, force: bool
) -> None:
    """Write the mouths of some candidates, by run and rank, as SVG or PDF.

    Raises
    ------
    OutputError
        If the name has another ending, or the file must not or cannot be written.
    """
    check_drawing(path, read=plan.files, force=force)
    from loopsolver.drafting.writers.alone import picture_file

    drawing = fit_drawing(plan, tubes)
    data = picture_file(
        drawing, title=plan.scene.title, ending=path.suffix.lower(), margin=5.0
    )
    write_drawing(path, data, read=plan.files, force=force)


def fit_drawing(plan: Plan, tubes: Sequence[tuple[str, int]]) -> Drawing:
    """Return the mouths of some candidates, two beside each other."""
    ports, scene = port_spreads(plan.scene), plan.scene
    rows = max(-(-len(tubes) // _BESIDE), 1)
    entities: list[Entity] = []
    for number, (name, rank) in enumerate(tubes):
        candidate = plan.run(name).candidate(rank)
        cloud = cloud_of(scene, candidate, ports)
        row, column = divmod(number, _BESIDE)
        by = (column * _WIDTH, (rows - 1 - row) * _HEIGHT)
        title = f"{name}, candidate {rank}"
        entities += moved(_mouth(scene, cloud, title, candidate.ends[1].port), by)
    return Drawing(
        entities=tuple(entities),
        low=(0.0, 0.0),
        high=(_BESIDE * _WIDTH, rows * _HEIGHT),
    )


def _mouth(scene: Scene, cloud: Cloud, title: str, port: str) -> Iterator[Entity]:
    """Yield one mouth: what it takes, where tubes come in, what all that is."""
    lengths, limit = lengths_for(scene.units), cloud.socket.held.offset
    right, up = _looked_at(cloud, scene.sides)
    places = np.stack([cloud.offsets @ right, cloud.offsets @ up], axis=1)
    most = float(np.percentile(np.abs(places).max(axis=1), _MOST))
    half = _SHOWN * max(limit, most) / lengths.millimetres
    names = [_way(one, scene.sides) for one in (right, up)]
    diagram = Diagram(
        across=Scale(low=-half, high=half, name=f"{names[0]}, {lengths.unit}"),
        up=Scale(low=-half, high=half, name=f"{names[1]}, {lengths.unit}"),
        corner=_CORNER,
        width=_FIELD,
        height=_FIELD,
    )
    yield from diagram.drawn()
    scale = _FIELD / (2.0 * half) / lengths.millimetres
    yield Circle(centre=diagram.place(0.0, 0.0), radius=limit * scale, layer=_TAKES)
    shown = np.abs(places).max(axis=1) <= half * lengths.millimetres
    for place, fits in zip(places[shown], cloud.fits[shown], strict=True):
        x, y = (float(part) / lengths.millimetres for part in place)
        yield from _end(diagram.place(x, y), is_in=bool(fits))
    yield from _lettering(cloud, title, port, lengths, outside=int(np.sum(~shown)))


def _looked_at(cloud: Cloud, sides: Sides) -> tuple[Array, Array]:
    """Return what is right and up for somebody who looks into the mouth.

    Where it opens upwards or downwards, away is up.
    """
    axis = np.asarray(cloud.socket.axis)
    for way in (sides.up, sides.away):
        up = np.asarray(way) - (axis @ way) * axis
        if np.linalg.norm(up) > 0.5:
            break
    up /= np.linalg.norm(up)
    return np.cross(up, axis), up


def _way(direction: Array, sides: Sides) -> str:
    side = side_of(
        (float(direction[0]), float(direction[1]), float(direction[2])), sides
    )
    return side or "across"


def _end(place: Place, *, is_in: bool) -> Iterator[Entity]:
    """Yield a dot for a tube that goes in, a cross for one that does not."""
    if is_in:
        yield Circle(centre=place, radius=0.45, layer=_ENDS, fill=0.0)
        return
    (x, y), arm = place, 0.6
    for lean in (arm, -arm):
        start, end = (x - arm, y - lean), (x + arm, y + lean)
        yield Line(start=start, end=end, layer=_ENDS)


def _lettering(
    cloud: Cloud, title: str, port: str, lengths: Lengths, *, outside: int
) -> Iterator[Entity]:
    """Yield the title, what is looked at, and what dots and crosses are."""
    width = _WIDTH - 6.0
    words = cut_to_width(title, width=width, size=2.8, face=Face.STRONG)
    at = (4.0, _HEIGHT - 8.0)
    yield Text(position=at, text=words, size=2.8, face=Face.STRONG)
    limit = lengths.brief(cloud.socket.held.offset)
    told = f"{port}: {COUNT} far ends as bent; the circle, {limit}, is taken"
    yield Text(
        position=(4.0, _HEIGHT - 13.0),
        text=cut_to_width(told, width=width, size=_LETTERS),
        size=_LETTERS,
    )
    going, beyond = (
        int(np.sum(cloud.fits)),
        f"; {outside} lie outside" if outside else "",
    )
    for y, is_in, said in (
        (6.6, True, f"{going} go in: trimmed, rolled, shared between both ends"),
        (
            2.8,
            False,
            f"{COUNT - going} do not{beyond}. An estimate from stated spreads",
        ),
    ):
        yield from _end((5.0, y + 0.8), is_in=is_in)
        yield Text(position=(8.0, y), text=said, size=_LETTERS)
