"""The text of a small build, to be changed as somebody does who follows its file."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from loopsolver.report.planning import route_scene
from loopsolver.scene.reader import load_scene

FOLLOWED: Final = """\
format = 1
title = "Dotterel: a small cube that is measured while it is looked at"
units = "mm"

[case]
inner = [180, 300, 280]
axes = ["left", "near", "up"]

[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
bend_radius = 28
stock_length = 500
trim_allowance = 40

[rules]
clearance = 3
straight_between_bends = 15
bend_angles = [90]
max_bends = 5
candidates = 6

[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5

[fittings.elbow]
turn = 90
height = 22
reach = 24
depth = 12
diameter = 22
straight_beyond = 5

[components.tank]
position = [90, 205, 0]

[[components.tank.bodies]]
box = [60, 60, 55]
centre = [30, 30, 27.5]

[[components.tank.bodies]]
cylinder = { diameter = 60, height = 105 }
centre = [30, 30, 107.5]
axis = "+z"

[components.tank.ports.out]
position = [30, 0, 30]
direction = "-y"
flow = "out"
fitting = "collar"

[components.tank.ports.in]
position = [30, 30, 160]
direction = "+z"
flow = "in"
fitting = ["collar", "elbow"]

[components.board]
position = [8, 16, 20]

[[components.board.bodies]]
box = [2, 244, 244]
centre = [1, 122, 122]

[components.block]
position = [10, 80, 150]

[[components.block.bodies]]
box = [32, 70, 70]
centre = [16, 35, 35]

[components.block.ports.in]
position = [32, 55, 55]
direction = "+x"
flow = "in"
fitting = "collar"

[components.block.ports.out]
position = [32, 15, 15]
direction = "+x"
flow = "out"
fitting = "collar"

[components.supply]
position = [20, 10, 0]

[[components.supply.bodies]]
box = [140, 80, 80]
centre = [70, 40, 40]

[[keep_outs]]
name = "side panel cables"
box = [10, 300, 280]
centre = [175, 150, 140]

[loop]
order = ["tank", "block"]

[[runs]]
name = "tank to block"
from = "tank.out"
to = "block.in"
"""
"""Two tubes between a tank with its pump and a block; x points left, y near, z up."""


def routed_files(folder: Path, *, text: str = FOLLOWED) -> tuple[Path, Path]:
    """Write the scene and its plan into a folder, and return where they are."""
    scene = folder / "followed.toml"
    scene.write_text(text, encoding="utf-8")
    plan = folder / "followed.plan.json"
    route_scene(load_scene(scene)).write(plan, scene_path=scene)
    return scene, plan
