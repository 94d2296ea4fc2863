"""Insides of loops drawn by a seed, and their flood on a grid of small cells."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree
from scipy.spatial import cKDTree

from loopsolver.errors import GeometryError
from loopsolver.geometry.frames import Frame, rotation_matrix
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import point
from loopsolver.hydraulics.insides import (
    Bore,
    Chamber,
    Insides,
    OpenPort,
    Space,
    solid_ml,
)
from loopsolver.tube.centreline import Centreline, pieces, sample

RADIUS = 5.0
BEND = 20.0


@dataclass(frozen=True)
class RandomLoop:
    """An inside, an opening in its first chamber, and the tubes' centre lines."""

    inside: Insides
    opening: OpenPort
    lines: tuple[Centreline, ...]


def random_direction(random):
    """A direction, all equally likely."""
    way = random.normal(size=3)
    return tuple(float(one) for one in way / np.linalg.norm(way))


def random_loop(seed: int) -> RandomLoop:
    """Two to four parts on a ring, joined by tubes of two or three bends."""
    random = np.random.default_rng(seed)
    while True:
        count = int(random.integers(2, 5))
        chambers = [_chamber(random, number, count) for number in range(count)]
        drawn = [_line(random, chambers, number) for number in range(count)]
        lines = tuple(one for one in drawn if one is not None)
        if len(lines) == count and _is_apart(chambers, lines):
            break
    bores = tuple(
        Bore(
            name=f"tube {number}",
            ends=(number, (number + 1) % count),
            pieces=tuple(pieces(line)),
            lead=0.0,
        )
        for number, line in enumerate(lines)
    )
    made = [one for one, _ in chambers]
    at, way = _port(random, made[0].solids[0], near=None)
    return RandomLoop(
        inside=Insides(chambers=tuple(made), bores=bores, radius=RADIUS),
        opening=OpenPort(chamber=0, position=at, direction=way),
        lines=lines,
    )


def _chamber(random, number: int, count: int):
    angle = 2.0 * math.pi * number / count
    middle = np.array([90.0 * math.cos(angle), 90.0 * math.sin(angle), 0.0])
    middle += random.uniform(-15.0, 15.0, 3)
    middle[2] += random.uniform(-60.0, 60.0)
    turned = rotation_matrix(random.uniform(-180.0, 180.0, 3))
    frame = Frame.from_rotation(tuple(float(one) for one in middle), turned)
    if random.uniform() < 0.5:
        solid: Space = Box(frame=frame, size=point(random.uniform(24.0, 56.0, 3)))
    else:
        solid = Cylinder(
            frame=frame,
            diameter=float(random.uniform(26.0, 44.0)),
            height=float(random.uniform(30.0, 60.0)),
        )
    made = Chamber(
        name=f"part {number}", solids=(solid,), volume_ml=solid_ml(solid), is_known=True
    )
    return made, middle


def _port(random, solid, *, near):
    """A port on a flat face, the face that looks most towards `near` or any."""
    axes = np.array(solid.frame.axes)
    half = (
        np.array(solid.size) / 2.0
        if isinstance(solid, Box)
        else np.array([solid.diameter, solid.diameter, solid.height]) / 2.0
    )
    flat = (0, 1, 2) if isinstance(solid, Box) else (2,)
    faces = [(axis, sign) for axis in flat for sign in (-1.0, 1.0)]
    axis, sign = faces[int(random.integers(len(faces)))]
    own = np.zeros(3)
    if isinstance(solid, Box):
        own = random.uniform(-1.0, 1.0, 3) * (half - RADIUS - 1.0)
    else:
        away = random.uniform(0.0, half[0] - RADIUS - 1.0)
        turn = random.uniform(0.0, 2.0 * math.pi)
        own[:2] = away * math.cos(turn), away * math.sin(turn)
    own[axis] = sign * half[axis]
    at = np.array(solid.frame.origin) + own @ axes
    return tuple(map(float, at)), tuple(map(float, sign * axes[axis]))


def _line(random, chambers, number: int) -> Centreline | None:
    (first, _), (last, _) = chambers[number], chambers[(number + 1) % len(chambers)]
    (a, out), (b, back) = (
        _port(random, one.solids[0], near=None) for one in (first, last)
    )
    legs = random.uniform(22.0, 70.0, 2)
    start, end = (
        np.array(a) + legs[0] * np.array(out),
        np.array(b) + legs[1] * np.array(back),
    )
    vertices = [np.array(a), start, end, np.array(b)]
    if random.uniform() < 0.5:
        between = 0.5 * (start + end) + random.uniform(-60.0, 60.0, 3)
        vertices.insert(2, between)
    try:
        line = Centreline(vertices=tuple(point(one) for one in vertices), radius=BEND)
        pieces(line)
    except GeometryError:
        return None
    return line


def _is_apart(chambers, lines) -> bool:
    """Whether no tube runs into another, into a part or into itself."""
    points = [sample(line, spacing=2.0) for line in lines]
    count = len(chambers)
    for number, some in enumerate(points):
        trees = [cKDTree(other) for at, other in enumerate(points) if at != number]
        if any(tree.query(some)[0].min() < 2.0 * RADIUS + 3.0 for tree in trees):
            return False
        gaps = np.abs(np.arange(len(some))[:, None] - np.arange(len(some)))
        apart = np.linalg.norm(some[:, None] - some, axis=2)
        if (apart[gaps > 18] < 2.0 * RADIUS + 3.0).any():
            return False
        for at, (chamber, _) in enumerate(chambers):
            inner = some
            if at == number:
                inner = some[5:]
            if at == (number + 1) % count:
                inner = inner[:-5]
            if (_depth(chamber.solids[0], inner) < RADIUS + 3.0).any():
                return False
    solids = [chamber.solids[0] for chamber, _ in chambers]
    for number, solid in enumerate(solids):
        for other in solids[:number]:
            reach = [
                np.linalg.norm(one.size) / 2.0
                if isinstance(one, Box)
                else math.hypot(one.diameter, one.height) / 2.0
                for one in (solid, other)
            ]
            between = np.subtract(solid.frame.origin, other.frame.origin)
            if np.linalg.norm(between) < sum(reach) + 3.0:
                return False
    return True


def _depth(solid, points):
    """How far points lie outside a solid, not less than the truth; below 0 inside."""
    own = (points - np.array(solid.frame.origin)) @ np.array(solid.frame.axes).T
    if isinstance(solid, Box):
        return (np.abs(own) - np.array(solid.size) / 2.0).max(axis=1)
    across = np.hypot(own[:, 0], own[:, 1]) - solid.diameter / 2.0
    return np.maximum(across, np.abs(own[:, 2]) - solid.height / 2.0)


@dataclass(frozen=True)
class FloodedPocket:
    """Cells that keep their air: their volume [mL], and how much is in which element."""

    volume_ml: float
    element: str


def flooded(loop: RandomLoop, up, *, cell: float = 1.0, layer: float = 0.5):
    """Pockets of air by a flood of cells from the opening: never downwards is free.

    The grid stands with `up`, so that layers of cells are level. What a cell must go
    down to on its best way to the opening is the least edge of a spanning tree.
    """
    base = _upright(up)
    solids = [(one.name, one.solids[0]) for one in loop.inside.chambers]
    lines = [
        (bore.name, sample(line, spacing=0.8))
        for bore, line in zip(loop.inside.bores, loop.lines, strict=True)
    ]
    points = np.concatenate(
        [one for _, one in lines] + [_corners(s) for _, s in solids]
    )
    low = (points @ base.T).min(axis=0) - RADIUS - 1.0
    high = (points @ base.T).max(axis=0) + RADIUS + 1.0
    step = np.array([cell, cell, layer])
    shape = np.ceil((high - low) / step).astype(int)
    kind = np.zeros(shape, dtype=np.int16)
    grid = [low[a] + (np.arange(shape[a]) + 0.5) * step[a] for a in range(3)]
    for number, (_, line) in enumerate(lines, start=1):
        _fill_line(kind, grid, line @ base.T, number)
    for number, (_, solid) in enumerate(solids, start=len(lines) + 1):
        _fill_solid(kind, grid, solid, base, number)
    names = ["", *(name for name, _ in lines), *(name for name, _ in solids)]
    best = _best_way(kind, grid, loop, base, len(lines) + 1 + loop.opening.chamber)
    heights = np.broadcast_to(grid[2], kind.shape)
    held = (kind > 0) & (best < heights - 1e-9)
    labels, count = ndimage.label(held)
    millilitres = float(step.prod()) / 1000.0
    found = []
    for number, window in enumerate(ndimage.find_objects(labels), start=1):
        inside = labels[window] == number
        counts = np.bincount(kind[window][inside], minlength=len(names))
        found.append(
            FloodedPocket(
                volume_ml=int(inside.sum()) * millilitres,
                element=names[int(counts.argmax())],
            )
        )
    assert count == len(found)
    return sorted(found, key=lambda one: -one.volume_ml)


def _upright(up):
    """A rotation whose third row is `up`."""
    up = np.array(up)
    aside = np.eye(3)[int(np.abs(up).argmin())]
    first = np.cross(aside, up)
    first /= np.linalg.norm(first)
    return np.array([first, np.cross(up, first), up])


def _corners(solid):
    half = (
        np.array(solid.size)
        if isinstance(solid, Box)
        else np.array([solid.diameter, solid.diameter, solid.height])
    ) / 2.0
    signs = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
    return np.array(solid.frame.origin) + (signs * half) @ np.array(solid.frame.axes)


def _window(grid, low, high):
    return tuple(
        slice(*np.searchsorted(grid[axis], [low[axis], high[axis]]))
        for axis in range(3)
    )


def _cells(grid, window):
    return np.stack(
        np.meshgrid(*(grid[a][window[a]] for a in range(3)), indexing="ij"), axis=-1
    )


def _fill_line(kind, grid, line, number) -> None:
    tree = cKDTree(line)
    for start in range(0, len(line), 16):
        some = line[start : start + 17]
        window = _window(grid, some.min(axis=0) - RADIUS, some.max(axis=0) + RADIUS)
        cells = _cells(grid, window)
        near = tree.query(cells.reshape(-1, 3), distance_upper_bound=RADIUS)[0]
        kind[window][(near < RADIUS).reshape(cells.shape[:3])] = number


def _fill_solid(kind, grid, solid, base, number) -> None:
    corners = _corners(solid) @ base.T
    window = _window(grid, corners.min(axis=0), corners.max(axis=0))
    cells = _cells(grid, window)
    depth = _depth(solid, cells.reshape(-1, 3) @ base)
    kind[window][(depth < 0.0).reshape(cells.shape[:3])] = number


def _best_way(kind, grid, loop, base, chamber):
    """For every cell the lowest height on its best way to the opening.

    Cells that stand on each other without a break are one run, in which every height
    is reached; two runs side by side pass air at the highest layer that both have.
    """
    full = kind > 0
    starts = full.copy()
    starts[:, :, 1:] &= ~full[:, :, :-1]
    run = np.where(full, np.cumsum(starts).reshape(kind.shape) - 1, -1)
    heights = np.broadcast_to(grid[2], kind.shape)
    rows = []
    for axis in (0, 1):
        first, second = (
            np.moveaxis(run, axis, 0)[part] for part in (np.s_[:-1], np.s_[1:])
        )
        at = np.moveaxis(heights, axis, 0)[:-1]
        both = (first >= 0) & (second >= 0)
        both[:, :, :-1] &= ~both[:, :, 1:]  # the highest layer that both have
        rows.append((first[both], second[both], at[both]))
    one, other, passage = (np.concatenate(part) for part in zip(*rows, strict=True))
    count = int(starts.sum())
    cost = grid[2][-1] - passage + 1.0
    tree = minimum_spanning_tree(coo_matrix((cost, (one, other)), shape=(count, count)))
    source, height = _source(kind, grid, loop, base, chamber, run)
    order, before = breadth_first_order(tree, source, directed=False)
    cut = tree.tocoo()
    level = {
        (min(a, b), max(a, b)): grid[2][-1] + 1.0 - value
        for a, b, value in zip(cut.row, cut.col, cut.data, strict=True)
    }
    best = np.full(count + 1, -np.inf)
    best[source] = height
    for at in order[1:]:
        from_run = int(before[at])
        passed = level[min(at, from_run), max(at, from_run)]
        best[at] = min(best[from_run], passed)
    return best[run]


def _source(kind, grid, loop, base, chamber, run):
    """The run of the opening's highest cell, in the chamber at its face; its rim's top."""
    at, way = np.array(loop.opening.position), np.array(loop.opening.direction)
    middle = base @ at
    window = _window(grid, middle - RADIUS - 2.0, middle + RADIUS + 2.0)
    cells = _cells(grid, window).reshape(-1, 3) @ base - at
    along = cells @ way
    across = np.linalg.norm(cells - along[:, None] * way, axis=1)
    fits = (across < RADIUS) & (along > -1.5) & (kind[window].ravel() == chamber)
    rows = np.flatnonzero(fits)
    highest = rows[(cells[rows] @ base[2]).argmax()]
    rim = RADIUS * math.sqrt(max(0.0, 1.0 - float(way @ base[2]) ** 2))
    return int(run[window].ravel()[highest]), float(middle[2]) + rim
