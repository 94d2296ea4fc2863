"""A build taken apart the plain way: every order, every set, judged by python-fcl.

Only the family of motions is the program's: some of what is loose slides so far along a
fitting's axis that one end of a tube is free, the tube is drawn off the other, swung there
before if it must be, and carried out in one of 26 directions. Nothing of the program
decides what is in the way, which sets are tried, or in which order.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import fcl
import numpy as np
from scipy.spatial.transform import Rotation

from loopsolver.geometry.solids import Box, Solid
from loopsolver.plan import Plan
from loopsolver.tube.centreline import BendArc, Centreline, pieces

SKIN = 0.3
"""By so much all is thinner, so that what touches is not met [mm]."""

LOOK = 1.5
"""Ways are looked at by so much from look to look [mm]."""

DEPTH = 12.0

Body = tuple[fcl.CollisionGeometry, np.ndarray, np.ndarray]
"""A shape, how it is turned, and where its middle is."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Socket:
    """A fitting: the part and tube it joins, which way the tube goes in, its mouth."""

    part: str
    tube: str
    into: np.ndarray
    mouth: np.ndarray


def turned_to(z: np.ndarray) -> np.ndarray:
    """Return a rotation whose third axis is a direction."""
    helper = np.eye(3)[int(np.argmin(np.abs(z)))]
    x = np.cross(helper, z)
    x /= np.linalg.norm(x)
    return np.column_stack([x, np.cross(z, x), z])


def stretches(line: Centreline, radius: float) -> list[Body]:
    """Return a tube's stretches as capsules, its ends less a radius for their rounding."""
    points = [np.array(line.vertices[0])]
    for piece in pieces(line):
        if isinstance(piece, BendArc):
            for angle in np.linspace(0.0, piece.angle, 9)[1:]:
                spoke = np.cos(angle) * np.array(piece.u)
                spoke += np.sin(angle) * np.array(piece.v)
                points.append(np.array(piece.centre) + piece.radius * spoke)
        else:
            points.append(np.array(piece.end))
    for place, beside in ((0, 1), (-1, -2)):
        way = points[beside] - points[place]
        points[place] = points[place] + way * radius / np.linalg.norm(way)
    found: list[Body] = []
    for start, end in itertools.pairwise(points):
        length = float(np.linalg.norm(end - start))
        if length > 1e-6:
            shape = fcl.Capsule(radius - SKIN, length)
            found.append(
                (shape, turned_to((end - start) / length), (start + end) / 2.0)
            )
    return found


def in_library(solid: Solid) -> Body:
    """Return a box as the library's, smaller all round."""
    assert isinstance(solid, Box)
    shape = fcl.Box(*(length - 2.0 * SKIN for length in solid.size))
    return shape, solid.frame.rotation, np.array(solid.frame.origin)


def moved(bodies: Iterable[Body], by: np.ndarray) -> list[Body]:
    return [(shape, turn, at + by) for shape, turn, at in bodies]


def swung(bodies: Iterable[Body], centre, axis, angle: float) -> list[Body]:
    swing = Rotation.from_rotvec(angle * np.asarray(axis)).as_matrix()
    return [
        (shape, swing @ turn, centre + swing @ (at - centre))
        for shape, turn, at in bodies
    ]


def manager(bodies: Iterable[Body]) -> fcl.DynamicAABBTreeCollisionManager:
    found = fcl.DynamicAABBTreeCollisionManager()
    found.registerObjects(
        [fcl.CollisionObject(one, fcl.Transform(turn, at)) for one, turn, at in bodies]
    )
    found.setup()
    return found


def meets(bodies: Iterable[Body], around: fcl.DynamicAABBTreeCollisionManager) -> bool:
    told = fcl.CollisionData()
    manager(bodies).collide(around, told, fcl.defaultCollisionCallback)
    return bool(told.result.is_collision)


def looks(by: float) -> Iterator[float]:
    yield from np.linspace(0.0, by, max(math.ceil(by / LOOK), 1) + 1)[1:]


class Plain:
    """What stands in a plan's case, as the library's bodies."""

    def __init__(self, plan: Plan) -> None:
        scene = plan.scene
        assert scene.case_inner is not None
        self.inner = np.array(scene.case_inner)
        self.radius = scene.tube.radius
        self.bodies: dict[str, list[Body]] = {
            part.name: [in_library(body.solid) for body in part.bodies]
            for part in scene.components
        }
        self.parts = set(self.bodies)
        self.sockets: list[Socket] = []
        for run in plan.runs:
            tube = run.chosen_candidate
            assert tube is not None
            self.bodies[run.name] = stretches(tube.centreline, self.radius)
            self.sockets += [
                Socket(
                    part=end.port.split(".")[0],
                    tube=run.name,
                    into=-np.array(end.outlet),
                    mouth=np.array(end.mouth),
                )
                for end in tube.ends
            ]
        self.tubes = set(self.bodies) - self.parts
        self.loose = set(scene.assembly.movable) if scene.assembly else set()

    def placed(self, name: str, but: Iterable[Socket] = ()) -> list[Body]:
        """Return a tube, or a part with its collars of 20 mm by 22."""
        left_out = set(map(id, but))
        return self.bodies[name] + [
            (
                fcl.Cylinder(11.0 - SKIN, 20.0 - 2.0 * SKIN),
                turned_to(one.into),
                one.mouth + 10.0 * one.into,
            )
            for one in self.sockets
            if one.part == name and id(one) not in left_out
        ]

    def walls(self, open_to: np.ndarray | None = None) -> list[Body]:
        """Return the walls as thick slabs, those that lie along a way left out."""
        found = []
        for axis, sign in itertools.product(range(3), (1.0, -1.0)):
            normal = sign * np.eye(3)[axis]
            if open_to is not None and normal @ open_to > 0.0:
                continue
            size = 5000.0 * (1.0 - np.eye(3)[axis]) + 500.0 * np.eye(3)[axis]
            middle = self.inner / 2.0 + normal * (self.inner[axis] / 2.0 + 250.0 + SKIN)
            found.append((fcl.Box(*size), np.eye(3), middle))
        return found

    def slides(
        self, some: set[str], way: np.ndarray, by: float, here: set[str]
    ) -> bool:
        """Whether some things slide along a way, all others here and the walls still."""
        for socket in self.sockets:
            if socket.tube not in here:
                continue
            has_tube, has_part = socket.tube in some, socket.part in some
            if has_tube != has_part:
                out = -socket.into if has_tube else socket.into
                if not np.allclose(out, way):
                    return False
        for name in some:
            own = {one for one in self.sockets if name in {one.part, one.tube}}
            around = manager(
                [
                    *self.walls(),
                    *(
                        body
                        for other in here - some
                        for body in self.placed(
                            other, [one for one in own if one.part == other]
                        )
                    ),
                ]
            )
            shared = [one for one in own if one.part == name and one.tube not in some]
            mine = self.placed(name, shared)
            if any(meets(moved(mine, way * at), around) for at in looks(by)):
                return False
        return True

    def leaves(
        self,
        tube: str,
        held: list[Socket],
        some: set[str],
        by: np.ndarray,
        here: set[str],
    ) -> bool:
        """Whether a tube, held by some sockets yet, leaves; some things stand aside."""
        others = here - {tube}

        def around(but: Iterable[Socket]) -> list[Body]:
            return [
                body
                for other in others
                for body in moved(
                    self.placed(other, but), by if other in some else np.zeros(3)
                )
            ]

        draw = -held[0].into
        mine = moved(self.bodies[tube], by if tube in some else np.zeros(3))
        close = manager([*around(held), *self.walls()])
        free = around(())
        for angle in (
            0.0,
            *(math.radians(s * a) for a in (45, 90, 135, 180) for s in (1, -1)),
        ):
            if angle and len(held) > 1:
                break
            centre = held[0].mouth + (by if tube in some else 0.0)
            swing = np.linspace(0.0, angle, 60 if angle else 1)
            if any(meets(swung(mine, centre, draw, a), close) for a in swing if a):
                continue
            stands = swung(mine, centre, draw, angle)
            if any(meets(moved(stands, draw * at), close) for at in looks(DEPTH)):
                continue
            drawn = moved(stands, draw * DEPTH)
            for steps in itertools.product((1.0, -1.0, 0.0), repeat=3):
                if any(steps):
                    way = np.array(steps) / np.linalg.norm(steps)
                    beyond = manager([*free, *self.walls(open_to=way)])
                    far = self.far(drawn, way)
                    if not any(
                        meets(moved(drawn, way * at), beyond) for at in looks(far)
                    ):
                        return True
        return False

    def far(self, bodies: list[Body], way: np.ndarray) -> float:
        """Return how far something goes to be wholly outside the case along a way."""
        points = np.array([at for _, _, at in bodies])
        low, high = points.min(axis=0) - 150.0, points.max(axis=0) + 150.0
        return min(
            float(self.inner[axis] - low[axis] if part > 0.0 else high[axis])
            / abs(part)
            for axis, part in enumerate(way)
            if part
        )

    def out(self, tube: str, here: set[str]) -> tuple[int, int] | None:
        """Return the fewest parts and other tubes that move for a tube to come out."""
        own = [one for one in self.sockets if one.tube == tube]
        found: list[tuple[int, int]] = []
        if (
            np.allclose(own[0].into, own[1].into)
            and self.slides({tube}, -own[0].into, DEPTH, here)
            and self.leaves(tube, own, set(), np.zeros(3), here)
        ):
            return (0, 0)
        things = sorted(self.loose | (here & self.tubes))
        for size in range(1, len(things) + 1):
            for chosen in itertools.combinations(things, size):
                some = set(chosen)
                cost = (len(some & self.parts), len((some & self.tubes) - {tube}))
                if any(best <= cost for best in found):
                    continue
                if self._frees(tube, own, some, here):
                    found.append(cost)
        return min(found, default=None)

    def _frees(
        self, tube: str, own: list[Socket], some: set[str], here: set[str]
    ) -> bool:
        """Whether one end of a tube comes free by sliding some things, and it leaves."""
        for socket, other in (own, own[::-1]):
            if (tube in some) == (socket.part in some) or (tube in some) != (
                other.part in some
            ):
                continue
            way = -socket.into if tube in some else socket.into
            towards = max(-float(socket.into @ other.into), 0.0)
            for spare in (0.0, DEPTH):
                by = DEPTH + towards * DEPTH + spare
                if self.slides(some, way, by, here) and self.leaves(
                    tube, [other], some, way * by, here
                ):
                    return True
        return False

    def apart(self) -> tuple[int, int, int]:
        """Return how many tubes stay in at best, and then the fewest moves in all."""
        known: dict[tuple[str, frozenset[str]], tuple[int, int] | None] = {}
        best = (len(self.tubes), 0, 0)
        for order in itertools.permutations(sorted(self.tubes)):
            here, parts, tubes = set(self.bodies), 0, 0
            left = len(order)
            for name in order:
                key = (name, frozenset(here))
                if key not in known:
                    known[key] = self.out(name, here)
                cost = known[key]
                if cost is None:
                    break
                here = here - {name}
                parts, tubes, left = parts + cost[0], tubes + cost[1], left - 1
            best = min(best, (left, parts, tubes))
        return best
