"""Published instances of many nets on one grid as scenes; see adc2018/README.md.

A cell of the grid is a pitch wide, and the clearance leaves room for one tube a cell: two
tubes in neighbouring cells are free of each other, two in one cell are not.
"""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from loopsolver.geometry.vectors import AXES, Point, point
from loopsolver.routing.problem import Candidate, CostOf
from loopsolver.scene.model import Component, Fitting, Scene
from loopsolver.tube.centreline import legs
from tests.builders import scenes

INSTANCES: Final = Path(__file__).parent / "adc2018"
PITCH: Final = 40.0
OUTER: Final = 4.0
CLEARANCE: Final = PITCH - OUTER - 0.05
TO_WALL: Final = CLEARANCE + OUTER / 2.0 + 0.01
"""From the middle of an outermost cell, so that no tube fits outside the grid [mm]."""

FITTING: Final = Fitting(
    name="flush", height=0.2, depth=0.2, diameter=OUTER, straight_beyond=0.0
)

Cell = tuple[int, int, int]


@dataclass(frozen=True)
class Grid:
    """An instance: how many cells along each axis, and the two end cells of each net."""

    size: Cell
    nets: tuple[tuple[Cell, Cell], ...]


def read(name: str) -> Grid:
    """Return an instance by its name. Layers are counted from 1 in its file."""
    text = (INSTANCES / f"{name}.txt").read_text(encoding="utf-8")
    figures = re.findall(r"\d+", re.sub(r"LINE#\d+", "", text))
    columns, rows, layers, count, *ends = (int(figure) for figure in figures)
    cells = [(ends[n], ends[n + 1], ends[n + 2] - 1) for n in range(0, len(ends), 3)]
    nets = tuple(zip(cells[::2], cells[1::2], strict=True))
    assert len(nets) == count
    return Grid(size=(columns, rows, layers), nets=nets)


def scene_of(grid: Grid) -> Scene:
    """Return an instance as a scene: a run for every net, from any port to any port."""
    return scenes.scene(
        *(
            _cell(f"net {number} {end}", cell)
            for number, net in enumerate(grid.nets, start=1)
            for end, cell in zip(("from", "to"), net, strict=True)
        ),
        inner=point((n - 1) * PITCH + 2.0 * TO_WALL for n in grid.size),
        title="A published grid",
        tube=scenes.tube(
            outer_diameter=OUTER,
            inner_diameter=2.0,
            bend_radii=(8.0,),
            stock_length=5000.0,
            trim_allowance=0.0,
        ),
        rules=scenes.rules(
            clearance=CLEARANCE,
            straight_between_bends=0.0,
            max_bends=12,
            turn_step_deg=90.0,
        ),
        runs=tuple(
            scenes.wanted(
                f"net {number}",
                tuple(f"net {number} from.{way}" for way in AXES),
                tuple(f"net {number} to.{way}" for way in AXES),
            )
            for number in range(1, len(grid.nets) + 1)
        ),
    )


def _cell(name: str, cell: Cell) -> Component:
    """Return an end cell: a part without bodies, with a port in each direction."""
    middle: Point = point(TO_WALL + PITCH * index for index in cell)
    return scenes.part(
        name,
        *(
            scenes.port(f"{name}.{way}", middle, way, fittings=(FITTING,))
            for way in AXES
        ),
    )


def _cells_and_bends(candidate: Candidate) -> tuple[float]:
    length = sum(legs(candidate.centreline).lengths)
    return (round(length / PITCH, 6) + candidate.bends,)


cells_and_bends: Final = CostOf(
    _cells_and_bends, lambda below, bends, _elbows: PITCH * (below[0] - bends)
)
"""What a tube costs: its length in cells, and as much for a bend as for one."""
