"""A small scene and a plan of it, reckoned by hand, that is true in every figure.

The tube leaves the pump's front port along -y, goes over to x = 160 and on along -y into
the card: legs of 60, 90 and 140 mm and two bends of 90 degrees round 28 mm. That makes two
quarter arcs of 43.982297 mm and straights of 32, 34 and 112 mm. The collars are 20 mm high
and hold 12 mm of the tube, so it sits 8 mm in front of each port. Below its middle leg, at
x = 115, lies a round tank whose top is 56.8 mm high; the tube's underside is at 63 mm.
"""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from tests.builders.texts import BOUGHT, cylinder, head, part, port, run

SCENE: Final = "".join(
    [
        head(inner=[300, 300, 300], tube=BOUGHT),
        part(
            "pump",
            [50, 270, 50],
            port("out", [20, 0, 20], "-y"),
            port("top", [20, 20, 40], "+z"),
        ),
        part(
            "tank",
            [0, 0, 0],
            cylinder(diameter=20, height=20, centre=[115, 202, 46.8], axis="+y"),
        ),
        part("card", [140, 40, 50], port("in", [20, 14, 20], "+y")),
        run(["pump.out", "pump.top"], "card.in", name="pump to card"),
    ]
)

GOOD: Final[dict[str, Any]] = {
    "format": 1,
    "loopsolver": "0.1.0",
    "scene": "invented.toml",
    "scene_sha256": hashlib.sha256(SCENE.encode()).hexdigest(),
    "units": "mm",
    "tube": {
        "material": "acrylic",
        "outer_diameter": 14,
        "inner_diameter": 10,
        "stock_length": 500,
    },
    "clearance": 3,
    "runs": [
        {
            "name": "pump to card",
            "from": "pump.out",
            "to": "card.in",
            "chosen": 1,
            "candidates": [
                {
                    "rank": 1,
                    "bends": 2,
                    "planes": 1,
                    "length": 265.964594,
                    "blank": 325.964594,
                    "trim_allowance": 30,
                    "gap": 6.2,
                    "nearest": {"name": "tank", "at": [115, 202, 70]},
                    "bend_radius": 28.0,
                    "elbows": 0,
                    "ends": [
                        {
                            "port": "pump.out",
                            "fitting": "collar",
                            "outlet": [0, -1, 0],
                            "mouth": [70, 250, 70],
                            "elbow": False,
                        },
                        {
                            "port": "card.in",
                            "fitting": "collar",
                            "outlet": [0, 1, 0],
                            "mouth": [160, 74, 70],
                            "elbow": False,
                        },
                    ],
                    "vertices": [
                        [70, 262, 70],
                        [70, 202, 70],
                        [160, 202, 70],
                        [160, 62, 70],
                    ],
                    "bend_table": [
                        {"straight": 32, "rotation": 0, "angle": 90},
                        {"straight": 34, "rotation": 180, "angle": 90},
                        {"straight": 112},
                    ],
                }
            ],
        }
    ],
}

RUN: Final = ("runs", 0)
CANDIDATE: Final = (*RUN, "candidates", 0)

Change = Callable[[dict[str, Any]], None]


def setting(value: Any, *keys: Any) -> Change:
    """Return what puts a value at a place of the file."""

    def change(content: Any) -> None:
        for key in keys[:-1]:
            content = content[key]
        content[keys[-1]] = value

    return change


def dropping(*keys: Any) -> Change:
    """Return what takes a key out of the file."""

    def change(content: Any) -> None:
        for key in keys[:-1]:
            content = content[key]
        del content[keys[-1]]

    return change


def several(*changes: Change) -> Change:
    """Return what makes one change after the other."""

    def change(content: dict[str, Any]) -> None:
        for one in changes:
            one(content)

    return change


def written(folder: Path, *changes: Change, scene: str = SCENE) -> Path:
    """Write a scene, and the plan of it with changes; return the plan's path."""
    (folder / "invented.toml").write_text(scene, encoding="utf-8")
    content = copy.deepcopy(GOOD)
    content["scene_sha256"] = hashlib.sha256(scene.encode()).hexdigest()
    several(*changes)(content)
    path = folder / "bad.plan.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    return path
