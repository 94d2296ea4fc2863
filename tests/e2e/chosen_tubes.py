"""How near the chosen tubes of a plan file come to each other and to all else.

Decided by points along the tubes, from the numbers in the file and the scene's bodies,
without the package's help.
"""

from dataclasses import dataclass
from itertools import combinations, permutations, product
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from loopsolver.scene.model import Fitting, Scene
from loopsolver.scene.walls import room
from tests.property.laid_tubes import Tube, points_on
from tests.unit.routing.touching import clipped_distance

Array = NDArray[np.float64]

APART = 0.5
"""Points stand this near on a centre line: they miss less than 0.005 mm [mm]."""

READ = 2e-4
"""What gaps are resolved to, and what is lost in writing [mm]."""


@dataclass(frozen=True)
class Holder:
    """A straight fitting on a port: from the port's face along to the mouth."""

    port: Array
    along: Array
    height: float
    diameter: float

    def away(self, points: Array) -> float:
        """Least distance of points to its body, 0 inside."""
        from_port = points - self.port
        along = from_port @ self.along
        across = np.linalg.norm(from_port - along[:, None] * self.along, axis=1)
        beyond = np.maximum(np.maximum(-along, along - self.height), 0.0)
        beside = np.maximum(across - self.diameter / 2.0, 0.0)
        return float(np.hypot(beyond, beside).min())

    def rims(self) -> Array:
        """Points on its side."""
        helper = np.eye(3)[int(np.argmin(np.abs(self.along)))]
        u = np.cross(self.along, helper)
        u /= np.linalg.norm(u)
        v = np.cross(self.along, u)
        turns = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)
        ring = np.cos(turns)[:, None] * u + np.sin(turns)[:, None] * v
        heights = np.linspace(0.0, self.height, 20)
        rings = [ring * self.diameter / 2.0 + h * self.along for h in heights]
        return self.port + np.concatenate(rings)


@dataclass(frozen=True)
class Laid:
    """A chosen tube: points of its centre line outside its fittings, its fittings."""

    name: str
    points: Array
    holders: tuple[Holder, Holder]


def laid(run: dict[str, Any], scene: Scene) -> Laid:
    """The chosen candidate of a run in a plan file."""
    entry = run["candidates"][run["chosen"] - 1]
    vertices = np.array(entry["vertices"])
    holders = (_holder(entry["ends"][0], scene), _holder(entry["ends"][1], scene))
    covered = [
        float(np.linalg.norm(np.array(end["mouth"]) - vertex))
        for end, vertex in zip(entry["ends"], (vertices[0], vertices[-1]), strict=True)
    ]
    tube = Tube(vertices=vertices, radius=entry["bend_radius"])
    points = points_on(tube, apart=APART, covered=(covered[0], covered[1]))
    return Laid(name=run["name"], points=points, holders=holders)


def _holder(end: dict[str, Any], scene: Scene) -> Holder:
    assert not end["elbow"], "elbows are not checked here"
    port = scene.port(end["port"])
    fitting: Fitting = next(f for f in port.fittings if f.name == end["fitting"])
    along = np.array(port.direction)
    base = np.array(port.position)
    assert np.linalg.norm(base + fitting.height * along - end["mouth"]) < 1e-5
    return Holder(
        port=base, along=along, height=fitting.height, diameter=fitting.diameter
    )


def complaints(plan: dict[str, Any], scene: Scene) -> list[str]:
    """What is nearer to a chosen tube than the clearance."""
    runs = [run for run in plan["runs"] if run["chosen"] is not None]
    tubes = [laid(run, scene) for run in runs]
    return [*_each_other(tubes, scene), *_all_else(tubes, scene)]


def _each_other(tubes: list[Laid], scene: Scene) -> list[str]:
    radius, wanted = scene.tube.radius, scene.rules.clearance - READ
    found = []
    for one, two in combinations(tubes, 2):
        apart = float(cKDTree(one.points).query(two.points)[0].min())
        if apart - 2.0 * radius < wanted:
            found.append(f"{one.name} and {two.name}: {apart - 2.0 * radius:.4f} mm")
        found += [
            f"fittings of {one.name} and {two.name} meet"
            for first, second in product(one.holders, two.holders)
            if min(first.away(second.rims()), second.away(first.rims())) == 0.0
        ]
    for one, two in permutations(tubes, 2):
        gaps = [holder.away(one.points) - radius for holder in two.holders]
        if min(gaps) < wanted:
            found.append(f"{one.name} and a fitting of {two.name}: {min(gaps):.4f} mm")
    return found


def _all_else(tubes: list[Laid], scene: Scene) -> list[str]:
    wanted = scene.tube.radius + scene.rules.clearance - READ
    bodies = [body for part in scene.components for body in part.bodies]
    found = []
    for tube in tubes:
        for body in (*bodies, *scene.keep_outs):
            away = float(clipped_distance(body.solid, tube.points).min())
            if away < wanted:
                found.append(f"{tube.name} and {body.name}: {away:.4f} mm off its line")
        away = min(tube.points.min(), (room(scene)[1] - tube.points).min())
        if away < wanted:
            found.append(f"{tube.name} and a case wall: {away:.4f} mm off its line")
    return found
